import type {
  Circuit,
  Electrode,
  Leak,
  Part,
  StageValues,
  TubeCondition,
  Unit,
  ValueSpec,
} from '../../types.ts';
import { isLeakageResistor, nominalOf, type SetCircuit } from './set-circuit.ts';

/** What can be behind the readings in a set: the tube as screened, another fault of it, or a fault of the set. */

/** The set and the tube in one state at rest. */
export interface SetState {
  /** Part values that differ from what the socket says, by knob. */
  readonly knobs: Readonly<Record<string, number>>;
  /** Line voltage over nominal: supplies and heater together. */
  readonly line: number;
  /** Supplies over what the line makes of them: a weak rectifier, a tired filter. */
  readonly supply: number;
  readonly condition: TubeCondition;
}

/** How much an explanation weighs before any reading. Common practice, no source; only the order matters much. */
const PRIOR = {
  asScreened: 3,
  couplingLeak: 2,
  capacitorLeak: 1,
  drift: 0.5,
  gas: 1,
  gridEmission: 0.5,
  leakPath: 1.5,
  /** The bench has looked for leaks and found what it found: a worse one has come since, or comes with heat. */
  leakPathRead: 0.6,
  lowEmission: 1,
  winding: 0.3,
  socket: 0.2,
  line: 0.5,
  supply: 0.5,
} as const;

export type About = 'tube' | 'part' | 'supply';

export interface Explanation {
  readonly id: string;
  /** A clause: "the coupling capacitor leaks". */
  readonly title: string;
  readonly about: About;
  readonly prior: number;
  /** How its size is told; empty title where it has none. */
  readonly size: { readonly title: string; readonly unit: Unit };
  /** How many states stand for it, where they are draws and not severities. */
  readonly draws?: number;
  /** The state and the size at a severity 0 (slight) … 1 (gross). */
  at(severity: number): { readonly state: SetState; readonly size: number };
}

export interface TubeKnown {
  /** Central condition as screened, and one under each of a few draws of what the readings leave open. */
  readonly condition: TubeCondition;
  readonly draws: readonly TubeCondition[];
  readonly newTube: TubeCondition;
  readonly electrodes: readonly Electrode[];
  /** Whether the bench has read leakage to the grid. */
  readonly leakageRead: boolean;
  /** Cathode current of a new tube in this set, A. */
  readonly cathode_A: number;
}

const logBetween = (low: number, high: number, share: number): number =>
  low * (high / low) ** share;
const plain = (condition: TubeCondition): SetState => ({
  knobs: {},
  line: 1,
  supply: 1,
  condition,
});

/** Severe means a low resistance. */
const falling = (low: number, high: number, severity: number): number =>
  logBetween(high, low, severity);

/** Every explanation that this circuit and this tube allow. */
export function explanationsOf(
  set: SetCircuit,
  values: StageValues,
  specs: Readonly<Record<string, ValueSpec>>,
  gridCircuit_ohm: number,
  tube: TubeKnown,
): Explanation[] {
  return [
    ...tubeExplanations(tube, gridCircuit_ohm),
    ...leakExplanations(set, specs, tube.condition),
    ...driftExplanations(set.circuit, values, specs, tube.condition),
    ...supplyExplanations(tube.condition),
  ];
}

function tubeExplanations(tube: TubeKnown, grid_ohm: number): Explanation[] {
  const { condition, draws, newTube } = tube;
  const last = draws.length - 1;
  const sound = { leaks: [], gasRatio: newTube.gasRatio, gridEmission_A: newTube.gridEmission_A };
  const grid = (['grid', 'signalGrid'] as const).find((one) => tube.electrodes.includes(one));
  // plate and screen both pull the grid up: in the set they read alike, on the bench by pair
  const paths = tube.electrodes.filter(
    (one) => grid !== undefined && one !== grid && one !== 'screen',
  );
  const pathTo = (other: Electrode): string =>
    other === 'plate' && tube.electrodes.includes('screen') ? 'plate or screen' : other;
  return [
    {
      id: 'asScreened',
      title: 'nothing beyond what the bench read: the set is sound and the tube is as screened',
      about: 'tube',
      prior: PRIOR.asScreened,
      size: { title: '', unit: '' },
      draws: draws.length,
      at: (severity) => ({ state: plain(draws[Math.round(severity * last)]!), size: severity }),
    },
    ...paths.map((other): Explanation => ({
      id: `leak.${other}`,
      title: `a leak inside the tube from grid to ${pathTo(other)}, worse than the bench read`,
      about: 'tube',
      prior: (tube.leakageRead ? PRIOR.leakPathRead : PRIOR.leakPath) / paths.length,
      size: { title: 'leak', unit: 'ohm' },
      at(severity) {
        const ohms = falling(0.3 * grid_ohm, 150 * grid_ohm, severity);
        const leak: Leak = { between: [grid!, other], siemens: 1 / ohms };
        return { state: plain({ ...condition, ...sound, leaks: [leak] }), size: ohms };
      },
    })),
    {
      id: 'gas',
      title: 'gas in the tube: reverse grid current that follows the plate current',
      about: 'tube',
      prior: PRIOR.gas,
      size: { title: 'reverse grid current', unit: 'A' },
      at(severity) {
        // from a tenth of a volt across the grid circuit to where the stage is lost
        const amps = logBetween(0.1, 30, severity) / grid_ohm;
        return {
          state: plain({ ...condition, ...sound, gasRatio: amps / Math.max(tube.cathode_A, 1e-6) }),
          size: amps,
        };
      },
    },
    {
      id: 'gridEmission',
      title: 'the grid itself emits',
      about: 'tube',
      prior: PRIOR.gridEmission,
      size: { title: 'reverse grid current', unit: 'A' },
      at(severity) {
        const amps = logBetween(0.1, 30, severity) / grid_ohm;
        return { state: plain({ ...condition, ...sound, gridEmission_A: amps }), size: amps };
      },
    },
    {
      id: 'lowEmission',
      title: 'emission lower than the bench read',
      about: 'tube',
      prior: PRIOR.lowEmission,
      size: { title: 'emission of a new tube', unit: '%' },
      at(severity) {
        const factor = logBetween(0.75, 0.15, severity);
        return {
          state: plain({
            ...condition,
            area: condition.area * factor,
            saturation_A: condition.saturation_A * factor,
          }),
          size: 100 * condition.area * factor,
        };
      },
    },
  ];
}

const partName = (part: string | undefined, title: string): string =>
  part === undefined ? title : `${part} (${title})`;

function titleOf(specs: Readonly<Record<string, ValueSpec>>, key: string | undefined): string {
  const title = key === undefined ? undefined : specs[key]?.title;
  // what stands in brackets in a form explains the form, not the part
  return title?.replace(/\s*\(.*$/, '') ?? 'part';
}

function leakExplanations(
  set: SetCircuit,
  specs: Readonly<Record<string, ValueSpec>>,
  condition: TubeCondition,
): Explanation[] {
  const stageLeaks = set.circuit.parts.filter(isLeakageResistor).flatMap((part): Explanation[] => {
    const knob = knobOf(part);
    if (knob === undefined || part.kind !== 'resistor') return [];
    const coupling = /coupling/i.test(part.edits!);
    const against = Math.min(
      ...set.circuit.parts
        .filter(
          (other) =>
            other.kind === 'resistor' &&
            !isLeakageResistor(other) &&
            other.nodes.includes(part.nodes[coupling ? 1 : 0]) &&
            !other.id.startsWith('meter_'),
        )
        .map((other) => nominalOf(set.circuit, other))
        .filter((ohms) => ohms < 1e11),
    );
    return [
      {
        id: `leak.${part.edits}`,
        title: coupling
          ? 'the coupling capacitor before the grid leaks'
          : `${titleOf(specs, part.edits).replace(/^leakage of /, '')} leaks`,
        about: 'part',
        prior: coupling ? PRIOR.couplingLeak : PRIOR.capacitorLeak,
        size: { title: 'leak', unit: 'ohm' },
        at(severity) {
          const ohms = falling(0.3 * against, 300 * against, severity);
          return { state: { ...plain(condition), knobs: { [knob]: ohms } }, size: ohms };
        },
      },
    ];
  });
  const own = set.leaks.map((place): Explanation => {
    const { knob, against_ohm } = place;
    const wide = place.kind === 'capacitor' && place.between.includes('0') ? 10 : 150;
    return {
      id: `leak.${place.kind === 'capacitor' ? place.part! : place.kind}`,
      title:
        place.kind === 'capacitor'
          ? `capacitor ${partName(place.part, titleOf(specs, place.edits))} leaks`
          : place.kind === 'winding'
            ? 'B+ leaks inside the IF transformer onto the grid winding'
            : 'the socket leaks from plate to grid: damp or carbonised',
      about: 'part',
      prior:
        place.kind === 'capacitor'
          ? PRIOR.capacitorLeak
          : place.kind === 'winding'
            ? PRIOR.winding
            : PRIOR.socket,
      size: { title: 'leak', unit: 'ohm' },
      at(severity) {
        const ohms = falling(0.1 * against_ohm, wide * against_ohm, severity);
        return { state: { ...plain(condition), knobs: { [knob]: ohms } }, size: ohms };
      },
    };
  });
  return [...stageLeaks, ...own];
}

const knobOf = (part: Part): string | undefined =>
  'value' in part && typeof part.value === 'object' ? part.value.knob : undefined;

/** Carbon resistors of that age drift upward (common practice, no source). A value that was measured does not. */
function driftExplanations(
  circuit: Circuit,
  values: StageValues,
  specs: Readonly<Record<string, ValueSpec>>,
  condition: TubeCondition,
): Explanation[] {
  return circuit.parts.flatMap((part): Explanation[] => {
    if (part.kind !== 'resistor' || part.edits === undefined || isLeakageResistor(part)) return [];
    const knob = knobOf(part);
    if (knob === undefined || values[part.edits]?.measured === true) return [];
    const nominal = nominalOf(circuit, part);
    return [
      {
        id: `drift.${part.edits}`,
        title: `${partName(part.id, titleOf(specs, part.edits))} has drifted upward`,
        about: 'part',
        prior: PRIOR.drift,
        size: { title: titleOf(specs, part.edits), unit: 'ohm' },
        at(severity) {
          const ohms = nominal * logBetween(1.25, 10, severity);
          return { state: { ...plain(condition), knobs: { [knob]: ohms } }, size: ohms };
        },
      },
    ];
  });
}

function supplyExplanations(condition: TubeCondition): Explanation[] {
  const low = (severity: number): number => 0.92 - 0.32 * severity;
  return [
    {
      id: 'line.low',
      title: 'the line voltage is low: supplies and heater together',
      about: 'supply',
      prior: PRIOR.line,
      size: { title: 'line voltage, of nominal', unit: '%' },
      at: (severity) => ({
        state: { ...plain(condition), line: 0.93 - 0.18 * severity },
        size: 100 * (0.93 - 0.18 * severity),
      }),
    },
    {
      id: 'line.high',
      title: 'the line voltage is high: supplies and heater together',
      about: 'supply',
      prior: PRIOR.line,
      size: { title: 'line voltage, of nominal', unit: '%' },
      at: (severity) => ({
        state: { ...plain(condition), line: 1.07 + 0.13 * severity },
        size: 100 * (1.07 + 0.13 * severity),
      }),
    },
    {
      id: 'supply.low',
      title: 'the supply is low: rectifier, filter capacitors, or a load elsewhere',
      about: 'supply',
      prior: PRIOR.supply,
      size: { title: 'supply, of nominal', unit: '%' },
      at: (severity) => ({
        state: { ...plain(condition), supply: low(severity) },
        size: 100 * low(severity),
      }),
    },
  ];
}
