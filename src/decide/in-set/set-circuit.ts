import type { Circuit, Electrode, Part, TubePart, TwoPin, Uncertain } from '../../types.ts';

/** The circuit as a person with a meter meets it: places to put the probe, and where a set's own parts can leak. */

/** A place for the probe, against chassis. */
export interface MeterPoint {
  /** "grid", "B+": what the person writes. */
  readonly id: string;
  readonly title: string;
  readonly node: string;
  /** The heater is read in percent of its rated volts, and at no node. */
  readonly heater?: true;
  /** Undefined for a supply. */
  readonly electrode?: Electrode;
  /** Index into `Circuit.tubes`. */
  readonly tube?: number;
}

/** A leak that a sound set does not have. Its knob stands at `OPEN_ohm` until an explanation moves it. */
export interface LeakPlace {
  readonly knob: string;
  readonly kind: 'capacitor' | 'winding' | 'socket';
  readonly between: readonly [string, string];
  /** The part that leaks, where it is one. */
  readonly part?: string;
  /** Value key of that part, for its title. */
  readonly edits?: string;
  /** Least resistance at either end: against it a leak counts. */
  readonly against_ohm: number;
  /** Of a winding: knob of its lead to the grid, which a person can take off. */
  readonly lead?: string;
}

export interface SetCircuit {
  readonly circuit: Circuit;
  readonly points: readonly MeterPoint[];
  readonly leaks: readonly LeakPlace[];
  /** Knob of the meter at a point. */
  meterKnob(point: MeterPoint): string;
}

/** A resistance that is none: what a knob stands at where nothing leaks and no probe touches. */
export const OPEN_ohm = 1e13;
/** A lead that is on. */
const LEAD_ohm = 0.1;

const ELECTRODES: readonly { readonly electrode: Electrode; readonly title: string }[] = [
  { electrode: 'plate', title: 'plate' },
  { electrode: 'screen', title: 'screen' },
  { electrode: 'grid', title: 'grid' },
  { electrode: 'oscillatorGrid', title: 'oscillator grid' },
  { electrode: 'signalGrid', title: 'signal grid' },
  { electrode: 'cathode', title: 'cathode' },
];
/** Where nothing else tells how large a leak is felt. */
const DEFAULT_AGAINST_ohm = 100e3;

const isTube = (part: Part): part is TubePart => part.kind === 'tube' && part.elsewhere !== true;
const isResistor = (part: Part): part is TwoPin => part.kind === 'resistor';

/** Adds to a stage's circuit, at rest, a meter at every electrode and supply and every leak that a set's parts can have. */
export function setCircuit(given: Circuit): SetCircuit {
  const circuit = withLeads(given);
  const probed = meterPoints(circuit);
  const points: readonly MeterPoint[] = [
    ...probed,
    { id: 'heater', title: 'heater volts, percent of rated', node: '', heater: true },
  ];
  const leaks = leakPlaces(circuit);
  const meterKnob = ({ node }: MeterPoint): string => `meter_${node}`;
  const open: Uncertain = { nominal: OPEN_ohm, unknown: 'open', toValue: () => OPEN_ohm };
  const hidden = { at: [0, 0], drawn: false } as const;
  const extra: TwoPin[] = [
    ...probed.map((point): TwoPin => ({
      kind: 'resistor',
      id: `meter_at_${point.node}`,
      nodes: [point.node, '0'],
      value: { knob: meterKnob(point) },
      ...hidden,
    })),
    ...leaks.map(({ knob, between }): TwoPin => ({
      kind: 'resistor',
      id: `${knob}_path`,
      nodes: between,
      value: { knob },
      ...hidden,
    })),
  ];
  return {
    circuit: {
      ...circuit,
      parts: [...circuit.parts, ...extra],
      knobs: {
        ...circuit.knobs,
        ...Object.fromEntries(probed.map((point) => [meterKnob(point), open])),
        ...Object.fromEntries(leaks.map(({ knob }) => [knob, open])),
      },
      watch: probed.map(({ node }) => node),
    },
    points,
    leaks,
    meterKnob,
  };
}

const leadOf = (tube: string): string => `lead_${tube}`;
const isLead = (part: TwoPin): boolean =>
  typeof part.value === 'object' && part.value.knob.startsWith('lead_');

/** The winding at a grid: a tuned circuit, whose leak comes and goes with its lead. */
const windingAt = (circuit: Circuit, grid: string) =>
  circuit.parts.find((part) => part.kind === 'tank' && part.nodes.includes(grid));

/** Between every grid and the winding that feeds it a lead that can be taken off. */
function withLeads(circuit: Circuit): Circuit {
  return circuit.parts.filter(isTube).reduce((whole, { id, nodes }) => {
    const grid = nodes.grid ?? nodes.signalGrid;
    const winding = grid === undefined ? undefined : windingAt(whole, grid);
    if (grid === undefined || winding === undefined) return whole;
    const end = `${grid}_${leadOf(id)}`;
    const moved = (part: Part): Part =>
      part === winding || ('edits' in part && part.edits === 'windingLeakage')
        ? ({
            ...part,
            nodes: (part as TwoPin).nodes.map((node) => (node === grid ? end : node)),
          } as Part)
        : part;
    const lead: TwoPin = {
      kind: 'resistor',
      id: `${leadOf(id)}_on`,
      nodes: [grid, end],
      value: { knob: leadOf(id) },
      at: [0, 0],
      drawn: false,
    };
    const on: Uncertain = { nominal: LEAD_ohm, unknown: 'open', toValue: () => LEAD_ohm };
    return {
      ...whole,
      parts: [...whole.parts.map(moved), lead],
      knobs: { ...whole.knobs, [leadOf(id)]: on },
    };
  }, circuit);
}

function meterPoints(circuit: Circuit): MeterPoint[] {
  const tubes = circuit.parts.filter(isTube);
  const electrodes = tubes.flatMap((part) =>
    ELECTRODES.flatMap(({ electrode, title }): MeterPoint[] => {
      const node = part.nodes[electrode];
      if (node === undefined || node === '0') return [];
      const name = tubes.length > 1 ? `${part.id} ${title}` : title;
      return [{ id: name, title: name, node, electrode, tube: part.tube }];
    }),
  );
  const supplies = circuit.parts.flatMap((part): MeterPoint[] =>
    part.kind === 'supply' && part.drawn !== false
      ? [{ id: part.name ?? part.id, title: part.name ?? part.id, node: part.nodes[0] }]
      : [],
  );
  const seen = new Set<string>();
  return [...electrodes, ...supplies].filter(({ node }) => !seen.has(node) && seen.add(node));
}

function leakPlaces(circuit: Circuit): LeakPlace[] {
  const resistors = circuit.parts.filter(isResistor);
  const against = (node: string): number =>
    resistors.reduce((least, part) => {
      const ohms = nominalOf(circuit, part);
      return part.nodes.includes(node) && ohms < least ? ohms : least;
    }, Infinity);
  const atEnds = (a: string, b: string): number => {
    const ends = [a, b].filter((node) => node !== '0').map(against);
    const found = Math.max(...ends.filter(Number.isFinite));
    return Number.isFinite(found) ? found : DEFAULT_AGAINST_ohm;
  };
  const bridged = new Set(
    resistors.filter(isLeakageResistor).map(({ nodes }) => nodes.toSorted().join(' ')),
  );
  const places: LeakPlace[] = [];
  for (const part of circuit.parts)
    if (
      part.kind === 'capacitor' &&
      part.drawn !== false &&
      !bridged.has(part.nodes.toSorted().join(' '))
    )
      places.push({
        knob: `leak_${part.id}`,
        kind: 'capacitor',
        between: part.nodes,
        part: part.id,
        ...(part.edits === undefined ? {} : { edits: part.edits }),
        against_ohm: atEnds(...part.nodes),
      });
  const rail = circuit.parts
    .filter((part) => part.kind === 'supply')
    .map((part) => ({ node: part.nodes[0], volts: nominalOf(circuit, part) }))
    .toSorted((a, b) => b.volts - a.volts)[0]?.node;
  for (const tube of circuit.parts.filter(isTube)) {
    const { plate, grid, signalGrid } = tube.nodes;
    const control = grid ?? signalGrid;
    if (control === undefined || control === '0' || plate === undefined) continue;
    places.push({
      knob: `socket_${tube.id}`,
      kind: 'socket',
      between: [plate, control],
      against_ohm: gridResistance(circuit, control),
    });
    const end = `${control}_${leadOf(tube.id)}`;
    const winding = windingAt(circuit, end);
    if (winding !== undefined && rail !== undefined)
      places.push({
        knob: `winding_${tube.id}`,
        kind: 'winding',
        between: [rail, end],
        part: winding.id,
        against_ohm: gridResistance(circuit, control),
        lead: leadOf(tube.id),
      });
  }
  return places;
}

/** Resistance from the grid to its return: what hangs on it, through a coil if need be. */
function gridResistance(circuit: Circuit, grid: string): number {
  const through = circuit.parts.flatMap((part) =>
    part.kind === 'tank' || (isResistor(part) && isLead(part)) ? [part.nodes] : [],
  );
  const nodes = new Set([grid]);
  for (let before = 0; before < nodes.size;) {
    before = nodes.size;
    for (const ends of through)
      if (ends.some((node) => nodes.has(node))) for (const node of ends) nodes.add(node);
  }
  const found = circuit.parts
    .filter(isResistor)
    .filter(
      (part) =>
        !isLeakageResistor(part) && !isLead(part) && part.nodes.some((node) => nodes.has(node)),
    )
    .map((part) => nominalOf(circuit, part));
  return found.length === 0 ? DEFAULT_AGAINST_ohm : Math.min(...found);
}

/** A resistor that stands for a leak: the stage has a value for it, normally beyond anything. */
export function isLeakageResistor(part: Part): boolean {
  return part.kind === 'resistor' && /leakage$/i.test(part.edits ?? '');
}

/** Value of a part with its knobs at their nominals. */
export function nominalOf(circuit: Circuit, part: Part): number {
  if (!('value' in part)) return NaN;
  return typeof part.value === 'number' ? part.value : circuit.knobs[part.value.knob]!.nominal;
}
