import type {
  Circuit,
  MeasureSpec,
  Measures,
  Node,
  Part,
  StageValues,
  Step,
  Traces,
  TubeModel,
} from '../types.ts';
import { DIRECT, TAP } from './cathode-loaded-values.ts';
import { capacitorInput, directInput, gridInputKnobs } from './grid-input.ts';
import {
  heaterKnobs,
  heaterNode,
  heaterParts,
  USUAL_HEATER_RATING_V,
  usualHeaterRating_V,
} from './heater-supply.ts';
import {
  distortionPercent,
  drives,
  fundamentalVolts,
  isNumber,
  meanVolts,
  numberOr,
  outputWhere,
  rising,
} from './signals.ts';
import { numberOf, partKnob, supplyKnob, textOf } from './values.ts';

/**
 * What the cathode follower and the split-load phase inverter share: a triode with its load in the cathode, where the
 * cathode stands far above chassis. With a plate load it is the inverter, without one the follower.
 */

export const SMALL = 'small';
export const LARGE = 'large';
const SMALL_DRIVE_V = 0.1;

const isDirect = (v: StageValues): boolean => textOf(v, 'gridFeed') === DIRECT;
const tapOf = (v: StageValues): Node => (numberOf(v, 'biasResistor') > 0 ? 't' : 'k');
const hasPlateLoad = (v: StageValues): boolean => v['plateLoad'] !== undefined;

/** Node `o` is the output at the cathode, `op` that at the plate. */
export function cathodeLoadedCircuit(
  title: string,
  v: StageValues,
  tubes: readonly TubeModel[],
): Circuit {
  const row = 20;
  const tap = tapOf(v);
  const feed = textOf(v, 'gridFeed');
  const plate = hasPlateLoad(v);
  const below = tap === 't' ? 33 : 27;
  const parts: Part[] = [
    {
      kind: 'supply',
      id: 'B',
      nodes: ['b', '0'],
      value: { knob: 'supply' },
      at: [33, 3],
      name: 'B+',
      edits: 'supply',
    },
    ...(isDirect(v) ? directInput(row) : capacitorInput(v, row, undefined)),
    ...(isDirect(v)
      ? []
      : [
          {
            kind: 'resistor' as const,
            id: 'R3',
            nodes: ['g', feed === TAP ? tap : '0'] as const,
            value: { knob: 'gridResistor' },
            at: [19, row] as const,
            edits: 'gridResistor',
          },
        ]),
    {
      kind: 'tube',
      id: 'V1',
      nodes: { plate: plate ? 'p' : 'b', grid: 'g', cathode: 'k', heater: heaterNode(v) },
      tube: 0,
      at: [33, row],
    },
    ...(plate
      ? ([
          {
            kind: 'resistor',
            id: 'R4',
            nodes: ['b', 'p'],
            value: { knob: 'plateLoad' },
            at: [33, 3],
            edits: 'plateLoad',
          },
          {
            kind: 'capacitor',
            id: 'C4',
            nodes: ['p', 'op'],
            value: numberOf(v, 'outputCapacitor'),
            at: [42, 11],
            orientation: 270,
            edits: 'outputCapacitor',
          },
          {
            kind: 'resistor',
            id: 'R7',
            nodes: ['op', '0'],
            value: { knob: 'nextGridResistor' },
            at: [53, 11],
            edits: 'nextGridResistor',
          },
        ] as const)
      : []),
    ...(tap === 't'
      ? ([
          {
            kind: 'resistor',
            id: 'R5',
            nodes: ['k', 't'],
            value: { knob: 'biasResistor' },
            at: [36, 27],
            edits: 'biasResistor',
          },
        ] as const)
      : []),
    {
      kind: 'resistor',
      id: 'R6',
      nodes: [tap, '0'],
      value: { knob: 'cathodeResistor' },
      at: [36, below],
      edits: 'cathodeResistor',
    },
    {
      kind: 'capacitor',
      id: 'C5',
      nodes: ['k', 'o'],
      value: numberOf(v, 'outputCapacitor'),
      at: [42, 27],
      orientation: 270,
      ...(plate ? {} : { edits: 'outputCapacitor' }),
    },
    {
      kind: 'resistor',
      id: 'R8',
      nodes: ['o', '0'],
      value: { knob: 'nextGridResistor' },
      at: [53, 27],
      ...(plate ? {} : { edits: 'nextGridResistor' }),
    },
    ...heaterParts(v),
  ];
  return {
    title,
    parts,
    tubes,
    knobs: {
      supply: supplyKnob(v, 'supply'),
      ...gridInputKnobs(v, isDirect(v) ? 'direct' : 'capacitor'),
      ...(plate ? { plateLoad: partKnob(v, 'plateLoad') } : {}),
      ...(tap === 't' ? { biasResistor: partKnob(v, 'biasResistor') } : {}),
      cathodeResistor: partKnob(v, 'cathodeResistor'),
      nextGridResistor: partKnob(v, 'nextGridResistor'),
      ...heaterKnobs(v),
    },
    spine: { g: ['h', row] },
    watch: ['b', 'g', 'k', 'o', ...(plate ? ['p', 'op'] : [])],
  };
}

/** Largest signal worth trying: the cathode cut off at one end, the grid in current at the other. */
function largestDrive(v: StageValues, own: Measures): number {
  const cathode = Math.max(1, numberOr(own, 'cathodeVoltage', 1));
  const left = Math.max(1, numberOr(own, 'plateVoltage', numberOf(v, 'supply')) - cathode);
  return Math.min(1.3 * cathode, (hasPlateLoad(v) ? 0.7 : 1.2) * left) + 3;
}

/** `outputs`: measures in whose neighbourhood the draws look. */
export function cathodeLoadedSteps(outputs: readonly string[]): readonly Step[] {
  return [
    {
      id: SMALL,
      view: () => ({ as: 'phases', count: 2 }),
      settings: () => [{ drive: SMALL_DRIVE_V }],
    },
    {
      id: LARGE,
      view: () => ({ as: 'phases', count: 8, substeps: 2 }),
      // up from a small signal: the cathode follows it, and Newton runs away from a first row far from rest
      settings: (v, own, central) => {
        const largest = largestDrive(v, own);
        const near = outputs
          .map((id) => central?.[id])
          .filter(isNumber)
          .map((output) => output / Math.max(0.1, numberOr(own, 'gain', 1)));
        const from = [{ drive: SMALL_DRIVE_V }];
        if (near.length === 0)
          return rising([
            ...from,
            ...drives(0.03 * largest, largest, central === undefined ? 12 : 6),
          ]);
        const [low, high] = [Math.min(...near), Math.max(...near)];
        return rising([
          ...from,
          { drive: 0.12 * low },
          { drive: 0.35 * low },
          ...drives(0.72 * low, Math.min(1.35 * high, largest), 4),
        ]);
      },
    },
  ];
}

export const gainTo = (t: Traces, node: Node): number =>
  fundamentalVolts(t, SMALL, 0, node) / t.settings(SMALL)[0]!.drive;

/** Signal at the source at which a node reaches 5 % distortion, or the output there. */
export const whereDistorted = (
  t: Traces,
  nodes: readonly Node[],
  answer: (setting: number) => number,
) =>
  outputWhere(
    t,
    LARGE,
    answer,
    (i) => Math.max(...nodes.map((node) => distortionPercent(t, LARGE, i, node))),
    5,
    '5 % distortion',
  );

/** At rest, and against the rating. */
export const CATHODE_LOADED_MEASURES: readonly MeasureSpec[] = [
  {
    id: 'cathodeVoltage',
    title: 'Cathode voltage',
    unit: 'V',
    step: SMALL,
    what: 'Cathode to chassis, no signal.',
    of: (t) => meanVolts(t, SMALL, 0, 'k'),
    readings: ['emission', 'leakage', 'heaterCathode'],
  },
  {
    id: 'cathodeCurrent',
    title: 'Cathode current',
    unit: 'A',
    step: SMALL,
    what: 'Through the cathode load, no signal.',
    of: (t) =>
      meanVolts(t, SMALL, 0, 'k') /
      (t.knob('cathodeResistor') + (tapOf(t.values) === 't' ? t.knob('biasResistor') : 0)),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'gridBias',
    title: 'Grid bias',
    unit: 'V',
    step: SMALL,
    what: 'Grid to cathode, no signal.',
    of: (t) => meanVolts(t, SMALL, 0, 'g') - meanVolts(t, SMALL, 0, 'k'),
    readings: ['emission', 'leakage'],
  },
  {
    id: 'heaterCathodeVoltage',
    title: 'Heater to cathode voltage',
    unit: 'V',
    step: SMALL,
    what: 'Direct voltage between the cathode and the heater’s supply, either way, with the peak of the heater’s own beside it.',
    of: (t) => {
      const { values } = t;
      const own = Math.SQRT2 * (numberOf(values, 'heaterVolts') + stringVolts(values));
      const direct = meanVolts(t, SMALL, 0, 'k') - numberOf(values, 'heaterRaisedBy');
      return Math.abs(direct) + (textOf(values, 'heaterSupply') === 'DC' ? 0 : own);
    },
    readings: [],
  },
  {
    id: 'heaterCathodeRating',
    title: 'Rated heater to cathode voltage',
    unit: 'V',
    step: SMALL,
    what: `The type's published maximum; ${USUAL_HEATER_RATING_V} V, common practice, where it is not known.`,
    of: (t) => usualHeaterRating_V(t.models[0]!),
    readings: [],
  },
];

const stringVolts = (v: StageValues): number =>
  textOf(v, 'heaterSupply') === 'series string' ? numberOf(v, 'heaterStringVolts') : 0;

/** For a transient: the grid's time constant is multiplied where its resistor stands on the tap. */
const BOOTSTRAP = 15;

export function cathodeLoadedTransient(v: StageValues): {
  frequency_Hz: number;
  settling_s: number;
} {
  const grid = numberOf(v, 'gridResistor') * (textOf(v, 'gridFeed') === TAP ? BOOTSTRAP : 1);
  return {
    frequency_Hz: numberOf(v, 'signalFrequency'),
    settling_s:
      5 *
      Math.max(
        isDirect(v)
          ? 0
          : (grid + numberOf(v, 'sourceResistance')) * numberOf(v, 'couplingCapacitor'),
        (numberOf(v, 'nextGridResistor') + numberOf(v, 'cathodeResistor')) *
          numberOf(v, 'outputCapacitor'),
      ),
  };
}

export function cathodeLoadedDoubts(v: StageValues): string[] {
  return isDirect(v)
    ? [
        'Coupled directly: until the tube has warmed up, its grid stands at the full supply of the stage before and its cathode at chassis. A spark there kills it; no calculation at rest shows that.',
      ]
    : [];
}
