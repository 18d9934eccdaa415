import { atHeaterVoltage } from '../../models/cathode.ts';
import type { Case } from '../assess.ts';
import type { Picture, PictureLine } from '../report/picture.ts';
import { heaterFactor, numberOf } from '../stage/values.ts';
import type { NodeVolts, Part, Report, TubePart, TubeState } from '../types.ts';
import { formatInterval, formatQuantity } from '../units/format.ts';

const POINTS = 60;
const mA = 1e3;
/** Steps between the family's grid voltages, V. */
const STEPS = [0.1, 0.25, 0.5, 1, 2, 5, 10, 20];
const CURVES = 5;
/** How far the family goes, of the grid's volts at rest. */
const BEYOND_REST = 2.2;
/** How far above rest the picture reaches, where the curves do. */
const OVER_REST = 2.2;
const HEADROOM = 1.05;
/** Two computations of one current differ by less. */
const SAME = 0.02;

interface Rest {
  readonly plate_V: number;
  readonly grid_V: number;
  readonly screen_V: number | undefined;
}

/**
 * Plate curves of this tube with the load line and both operating points, from the tube's own equations. Undefined where
 * the circuit has no single plate, or an operating point is missing.
 */
export function platePicture({ socket, tube }: Case, report: Report): Picture | undefined {
  const part = report.circuit.parts.find(
    (one): one is TubePart => one.kind === 'tube' && one.tube === 0,
  );
  const rest = part === undefined ? undefined : restOf(part, report.nodeVolts.thisTube);
  const restNew = part === undefined ? undefined : restOf(part, report.nodeVolts.newTube);
  if (part === undefined || rest === undefined || restNew === undefined) return undefined;
  const heater = heaterFactor(socket.values, 0);
  const state = atHeaterVoltage(tube.wear.condition({}), heater);
  const stateNew = atHeaterVoltage(tube.wear.newTube({}), heater);
  const load = loadOf(part, report.circuit.parts, socket.values);
  const rail_V = railOf(part, report);
  const high_V = niceAbove(Math.max(1.25 * rest.plate_V, 1.25 * restNew.plate_V, rail_V));
  const current = (at: Rest, plate_V: number, grid_V: number, of: TubeState): number =>
    mA *
    (tube.model.currents(
      {
        plate: plate_V,
        grid: grid_V,
        cathode: 0,
        ...(at.screen_V === undefined ? {} : { screen: at.screen_V }),
      },
      of,
    ).plate ?? 0);
  const curve = (at: Rest, grid_V: number, of: TubeState): (readonly [number, number])[] =>
    Array.from({ length: POINTS + 1 }, (_, i) => {
      const plate_V = (high_V * i) / POINTS;
      return [plate_V, current(at, plate_V, grid_V, of)] as const;
    });
  const here = current(rest, rest.plate_V, rest.grid_V, state);
  const there = current(restNew, restNew.plate_V, restNew.grid_V, stateNew);
  const interval = intervalOf(report, here);
  const family = familyVolts(rest.grid_V).map((grid_V): PictureLine => ({
    title: `this tube, grid ${bias(grid_V)}`,
    role: 'family',
    points: curve(rest, grid_V, state),
    label: bias(grid_V),
  }));
  const loadLine: PictureLine[] =
    load === undefined
      ? []
      : [
          {
            title: `load ${formatQuantity(load, 'ohm')}`,
            role: 'load',
            points: [0, high_V].map((v) => [v, here + (mA * (rest.plate_V - v)) / load] as const),
          },
        ];
  const lines: PictureLine[] = [
    ...family,
    {
      title: `new tube, grid ${bias(restNew.grid_V)}`,
      role: 'new',
      points: curve(restNew, restNew.grid_V, stateNew),
    },
    {
      title: `this tube, grid ${bias(rest.grid_V)}`,
      role: 'this',
      points: curve(rest, rest.grid_V, state),
    },
    ...loadLine,
  ];
  const highest = Math.max(
    ...lines.flatMap(({ points }) => points.map(([, current_mA]) => current_mA)),
  );
  const top = niceAbove(Math.min(OVER_REST * Math.max(here, there, 1e-3), HEADROOM * highest));
  return {
    id: 'plate-curves',
    caption: `Plate curves of this tube${rest.screen_V === undefined ? '' : `, screen ${volts(rest.screen_V)}`}, with ${load === undefined ? '' : `the load of ${formatQuantity(load, 'ohm')} and `}both operating points. Volts to the cathode.`,
    alt: `Plate current against plate voltage. This tube rests at ${volts(rest.plate_V)}, grid ${volts(rest.grid_V)}, ${milliamps(here)}${interval === undefined ? '' : `, 90 % interval ${formatInterval(interval.low / mA, interval.high / mA, 'A')}`}; a new one at ${volts(restNew.plate_V)}, grid ${volts(restNew.grid_V)}, ${milliamps(there)}.`,
    x: { title: 'plate, V', scale: 'linear', low: 0, high: high_V },
    y: { title: 'plate current, mA', scale: 'linear', low: 0, high: top },
    lines,
    marks: [
      {
        title: 'new tube at rest',
        role: 'new',
        x: restNew.plate_V,
        y: there,
        label: `new, ${bias(restNew.grid_V)}: ${milliamps(there)}`,
      },
      {
        title: 'this tube at rest',
        role: 'this',
        x: rest.plate_V,
        y: here,
        ...interval,
        label: `this, ${bias(rest.grid_V)}: ${milliamps(here)}`,
      },
    ],
  };
}

/** The interval of the current at rest, mA, where the stage measures this very current. */
function intervalOf(
  report: Report,
  here_mA: number,
): { readonly low: number; readonly high: number } | undefined {
  const found = report.measures.find(({ id }) => id === 'plateCurrent');
  if (found?.value == null || found.low === null || found.high === null) return undefined;
  const same = Math.abs(mA * found.value - here_mA) <= SAME * here_mA;
  return same ? { low: mA * found.low, high: mA * found.high } : undefined;
}

const volts = (value: number): string => formatQuantity(value, 'V', { digits: 3 });
/** All of them in volts, so that they compare at a glance. */
const bias = (value: number): string => {
  const rounded = Number(Math.abs(value) < 1 ? value.toFixed(3) : value.toPrecision(3));
  return `${String(rounded).replace('-', '\u2212')}\u00a0V`;
};
const milliamps = (value: number): string => formatQuantity(value / mA, 'A', { digits: 3 });

function restOf(part: TubePart, nodeVolts: NodeVolts): Rest | undefined {
  const at = (node: string | undefined): number | undefined =>
    node === '0' ? 0 : node === undefined ? undefined : nodeVolts[node];
  const [plate, grid, cathode] = [
    at(part.nodes.plate),
    at(part.nodes.grid ?? part.nodes.signalGrid),
    at(part.nodes.cathode),
  ];
  if (plate === undefined || grid === undefined || cathode === undefined) return undefined;
  const screen = at(part.nodes.screen);
  return {
    plate_V: plate - cathode,
    grid_V: grid - cathode,
    screen_V: screen === undefined ? undefined : screen - cathode,
  };
}

/** What stands between the plate and its supply: a resistor, or a tuned circuit for the signal. */
function loadOf(
  part: TubePart,
  parts: readonly Part[],
  values: Case['socket']['values'],
): number | undefined {
  const rails = new Set(parts.flatMap((one) => (one.kind === 'supply' ? [one.nodes[0]] : [])));
  const load = parts.find(
    (one) =>
      (one.kind === 'resistor' || one.kind === 'tank' || one.kind === 'outputTransformer') &&
      one.nodes.includes(part.nodes.plate!) &&
      one.nodes.some((node) => rails.has(node)),
  );
  if (load === undefined || !('edits' in load) || load.edits === undefined) return undefined;
  return values[load.edits] === undefined ? undefined : numberOf(values, load.edits);
}

function railOf(part: TubePart, report: Report): number {
  const rails = report.circuit.parts.flatMap((one) =>
    one.kind === 'supply' ? [report.nodeVolts.thisTube[one.nodes[0]] ?? 0] : [],
  );
  return Math.max(0, ...rails.filter((volts_V) => part.nodes.plate !== undefined && volts_V > 0));
}

function familyVolts(rest_V: number): number[] {
  const step =
    STEPS.find((one) => one * (CURVES - 1) >= BEYOND_REST * Math.abs(rest_V)) ?? STEPS.at(-1)!;
  return Array.from({ length: CURVES }, (_, i) => -i * step).filter(
    (one) => Math.abs(one - rest_V) > 0.15 * step,
  );
}

/** 1, 1.5, 2, 3, 4, 5, 6, 8 of a decade. */
function niceAbove(value: number): number {
  const decade = 10 ** Math.floor(Math.log10(value));
  return (
    decade *
    ([1, 1.5, 2, 3, 4, 5, 6, 8, 10].find((one) => one * decade >= value * (1 - 1e-9)) ?? 10)
  );
}
