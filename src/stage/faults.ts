import type {
  Circuit,
  Leak,
  Node,
  Part,
  Stage,
  StageValue,
  StageValues,
  TubePart,
  TwoPin,
  ValueSpec,
} from '../types.ts';
import { lower, plainTitle } from '../units/title.ts';

/**
 * Faults of the set that can pass for faults of the tube, as values of a stage: what a sound set has at its default. A leak
 * that is none is no part, so that a sound circuit stays as it is.
 */

/** Beyond anything that a person could measure: no leak. */
export const NO_LEAK_ohm = 1e12;

export function leakValue(title: string, help: string): ValueSpec {
  return {
    title,
    unit: 'ohm',
    default: NO_LEAK_ohm,
    low: 1e4,
    high: 1e13,
    tolerance_percent: 0,
    fault: true,
    help: `${help} 1e12: none to speak of.`,
  };
}

export const WINDING_LEAKAGE: Readonly<Record<string, ValueSpec>> = {
  windingLeakage: leakValue(
    'leakage inside the transformer, from B+ to the grid winding',
    'Measured with the set off and both windings free.',
  ),
};

const SOCKET_LEAKAGE: Readonly<Record<string, ValueSpec>> = {
  socketLeakage: leakValue(
    'leakage of the socket, from plate to control grid',
    'A damp or carbonised socket or wafer; it stays when the tube is pulled.',
  ),
};

/** Bypass capacitors whose leak pulls at an electrode, by the value that a capacitor edits. */
const BYPASSES: Readonly<Record<string, ValueSpec>> = {
  screenBypass: leakValue(
    'leakage of the screen bypass',
    'It pulls the screen down through its resistor.',
  ),
  cathodeBypass: leakValue(
    'leakage of the cathode bypass',
    'It stands beside the cathode resistor: the bias falls.',
  ),
};
const leakageOf = (key: string): string => `${key}Leakage`;

/** A leak that a value states, ohm; undefined where there is none. */
export function statedLeak(values: StageValues, key: string): number | undefined {
  const value = values[key]?.value;
  return typeof value === 'number' && value < NO_LEAK_ohm ? value : undefined;
}

/** The leak of a value as a part that is not drawn; nothing where there is none. */
export function leakPart(
  values: StageValues,
  key: string,
  nodes: readonly [Node, Node],
): readonly TwoPin[] {
  const ohms = statedLeak(values, key);
  return ohms === undefined
    ? []
    : [
        {
          kind: 'resistor',
          id: key,
          nodes,
          value: ohms,
          at: [0, 0],
          drawn: false,
          edits: key,
        },
      ];
}

/** A stage with the faults that every set can have: of the socket where there is a grid, of its bypass capacitors where it has any. */
export function withFaults(stage: Stage): Stage {
  const bypasses = Object.entries(BYPASSES).filter(([key]) => stage.values[key] !== undefined);
  return {
    ...stage,
    values: {
      ...stage.values,
      ...Object.fromEntries(bypasses.map(([key, spec]) => [leakageOf(key), spec])),
      ...(stage.families.some((family) => family !== 'diode') ? SOCKET_LEAKAGE : {}),
    },
    circuit: (values, tubes) => withBypassLeaks(values, stage.circuit(values, tubes)),
    doubts: (values) => [...(stage.doubts?.(values) ?? []), ...weakCapacitors(stage, values)],
  };
}

/** Measures that take capacitors as they are: at the lowest frequency, at the one that the stage is tuned to, on an AGC line, within a line of the picture, and where an oscillator starts. */
export const LOW_LOSS = 'lowLoss';
export const CARRIER_LOSS = 'carrierLoss';
export const LOW_NOTES = 'lowNotesTaken';
export const BY_CAPACITORS = 'contrastByCapacitors';
const REAL_CAPACITORS: readonly string[] = [
  LOW_LOSS,
  CARRIER_LOSS,
  LOW_NOTES,
  BY_CAPACITORS,
  'startMargin',
];

/** The signal is looked at with all capacitors as shorts, but for a measure or two: what a weak one costs is not seen, an open one is left out. */
function weakCapacitors(
  { values: specs, measures, noTransient }: Stage,
  values: StageValues,
): string[] {
  const told = measures
    .filter(({ id }) => REAL_CAPACITORS.includes(id))
    .map(({ title }) => `the ${lower(title)}`)
    .join(' and ');
  const seen = [
    'what a weak capacitor costs',
    told === '' ? ' the signal' : ` shows in ${told}`,
    noTransient !== undefined
      ? told === ''
        ? ' is not told'
        : ' and nowhere else'
      : told === ''
        ? ' shows only with --transient'
        : ', and in all else only with --transient',
  ].join('');
  return faultsIn(specs, values)
    .filter(({ spec, value, marked }) => spec.unit === 'F' && marked !== undefined && value !== 0)
    .map(({ spec }) => `The ${plainTitle(spec.title)} is not what it is marked: ${seen}.`);
}

/** A circuit with the leaks of its bypass capacitors, as the values state them. */
export function withBypassLeaks(values: StageValues, circuit: Circuit): Circuit {
  const leaks = Object.keys(BYPASSES).flatMap((key) =>
    circuit.parts
      .filter((part) => part.kind === 'capacitor' && part.edits === key)
      .slice(0, 1)
      .flatMap((part) => leakPart(values, leakageOf(key), (part as TwoPin).nodes)),
  );
  return leaks.length === 0 ? circuit : { ...circuit, parts: [...circuit.parts, ...leaks] };
}

const isInQuestion =
  (tube: number) =>
  (part: Part): part is TubePart =>
    part.kind === 'tube' &&
    part.tube === tube &&
    part.state === undefined &&
    part.elsewhere === undefined;

/**
 * What the socket of a tube leaks, as if it were inside the tube: whatever tube stands in it has that leak. Empty where
 * the socket is sound, or the tube has no control grid.
 */
export function socketLeaks(values: StageValues, circuit: Circuit, tube: number): readonly Leak[] {
  const ohms = statedLeak(values, 'socketLeakage');
  const nodes = circuit.parts.find(isInQuestion(tube))?.nodes;
  if (ohms === undefined || nodes?.plate === undefined) return [];
  const control = nodes.grid === undefined ? 'signalGrid' : 'grid';
  return nodes[control] === undefined ? [] : [{ between: ['plate', control], siemens: 1 / ohms }];
}

/** Leaks of a tube in its socket without the socket's own. */
export function withoutSocketLeak(values: StageValues, leaks: readonly Leak[]): readonly Leak[] {
  const ohms = statedLeak(values, 'socketLeakage');
  // `socketLeaks` come last
  return ohms === undefined || leaks.at(-1)?.siemens !== 1 / ohms ? leaks : leaks.slice(0, -1);
}

/** A value that is not what it is in a sound set. */
export interface Fault {
  readonly key: string;
  readonly spec: ValueSpec;
  readonly value: StageValue['value'];
  /** Of a part that is no longer what it is marked. */
  readonly marked?: number;
}

const isSound = (spec: ValueSpec, value: StageValue['value']): boolean =>
  value === spec.default ||
  (spec.default === NO_LEAK_ohm && typeof value === 'number' && value >= NO_LEAK_ohm);

/** A part is not called drifted within the ordinary tolerance of its kind. */
const hasDrifted = ({ tolerance_percent }: ValueSpec, value: number, marked: number): boolean =>
  Math.abs(value - marked) > (tolerance_percent / 100 + 1e-9) * Math.abs(marked);

export function faultsIn(
  specs: Readonly<Record<string, ValueSpec>>,
  values: StageValues,
): readonly Fault[] {
  return Object.entries(specs).flatMap(([key, spec]): Fault[] => {
    const { value, marked } = values[key] ?? {};
    if (typeof value === 'number' && marked !== undefined)
      return hasDrifted(spec, value, marked) ? [{ key, spec, value, marked }] : [];
    return spec.fault !== true || value === undefined || isSound(spec, value)
      ? []
      : [{ key, spec, value }];
  });
}

/** The values of the circuit as it should be: without its faults, or without those of them that `mended` picks. */
export function soundValues(
  specs: Readonly<Record<string, ValueSpec>>,
  values: StageValues,
  mended: (key: string) => boolean = () => true,
): StageValues {
  return {
    ...values,
    ...Object.fromEntries(
      faultsIn(specs, values)
        .filter(({ key }) => mended(key))
        .map(({ key, spec, marked }) => [
          key,
          {
            value: marked ?? spec.default,
            tolerance_percent: spec.tolerance_percent,
            measured: false,
          },
        ]),
    ),
  };
}
