import { heaterAmps } from '../../models/heater-leak.ts';
import { phasorAt, smallSignal } from '../circuit/small-signal.ts';
import type {
  Circuit,
  Leak,
  MeasureSpec,
  Measures,
  MeasureValue,
  Node,
  StageValues,
  SupplyPart,
  Traces,
  TubeModel,
  Uncertain,
  ValueSpec,
} from '../types.ts';
import { withBypassLeaks } from './faults.ts';
import { isNumber, meanVolts, noValue } from './signals.ts';
import { exactKnob, numberOf, textOf } from './values.ts';

/**
 * Hum from the leakage between heater and cathode (and heater and grid), for any stage whose cathode is not on chassis.
 *
 * The heater's AC drives a current through the leakage; about the operating point the circuit turns it into volts at the
 * output. The current is taken from the law of `models/heater-leak.ts` over a cycle, with the direct voltage between heater
 * and cathode that the socket has; the answer of the circuit from its small-signal view at the mains frequency and twice
 * and three times that. The cathode's own hum is small against the heater's volts and does not change the current.
 */

export const GROUNDED = 'one side grounded';
export const CENTRE_TAPPED = 'centre-tapped';
export const DC = 'DC';
export const STRING = 'series string';

/** Heater to cathode that is let pass where the type's rating is not known (common practice, no source). */
export const USUAL_HEATER_RATING_V = 90;

export const usualHeaterRating_V = ({ ratings }: TubeModel): number =>
  ratings?.heaterCathode_V ?? USUAL_HEATER_RATING_V;

export const HEATER_VALUES: Readonly<Record<string, ValueSpec>> = {
  heaterSupply: {
    title: 'heater supply',
    unit: '',
    default: GROUNDED,
    low: 0,
    high: 0,
    tolerance_percent: 0,
    choices: [GROUNDED, CENTRE_TAPPED, DC, STRING],
    help: 'Which point of it is at chassis, or at the volts it is raised by.',
  },
  heaterVolts: {
    title: 'heater volts of this tube',
    unit: 'V',
    default: 6.3,
    low: 0.5,
    high: 150,
    tolerance_percent: 0,
  },
  heaterRaisedBy: {
    title: 'direct volts that the heater supply is raised by',
    unit: 'V',
    default: 0,
    low: -200,
    high: 400,
    tolerance_percent: 0,
    help: 'Some 20 to 40 V above the cathode stop the emission between heater and cathode.',
  },
  heaterStringVolts: {
    title: 'volts of the series string from chassis up to this heater',
    unit: 'V',
    default: 0,
    low: 0,
    high: 250,
    tolerance_percent: 0,
    help: 'Series string only: the heaters between this one and chassis, rms.',
  },
  heaterRipple: {
    title: 'ripple of a DC heater supply, rms',
    unit: 'V',
    default: 0.3,
    low: 0,
    high: 20,
    tolerance_percent: 0,
    help: 'DC only: twice the mains frequency.',
  },
  mainsFrequency: {
    title: 'mains frequency',
    unit: 'Hz',
    default: 60,
    low: 10,
    high: 1000,
    tolerance_percent: 0,
  },
};

/** The node that the heater's insulation leads to at rest. */
export const heaterNode = (v: StageValues): Node =>
  numberOf(v, 'heaterRaisedBy') === 0 ? '0' : 'h';

/** The raised supply as a part: the set's own, so it is not drawn. Spread into the parts. */
export function heaterParts(v: StageValues): SupplyPart[] {
  return heaterNode(v) === '0'
    ? []
    : [
        {
          kind: 'supply',
          id: 'H',
          nodes: ['h', '0'],
          value: { knob: 'heaterRaisedBy' },
          at: [0, 0],
          drawn: false,
          edits: 'heaterRaisedBy',
        },
      ];
}

export function heaterKnobs(v: StageValues): Readonly<Record<string, Uncertain>> {
  return heaterNode(v) === '0'
    ? {}
    : { heaterRaisedBy: exactKnob(numberOf(v, 'heaterRaisedBy'), 'heaterRaisedBy') };
}

interface HeaterDrive {
  readonly amplitude_V: number;
  readonly frequency_Hz: number;
  readonly direct_V: number;
}

/** Volts of a place of the heater to chassis. */
function heaterDrive(v: StageValues, place: number): HeaterDrive {
  const volts = numberOf(v, 'heaterVolts');
  const mains = numberOf(v, 'mainsFrequency');
  const kind = textOf(v, 'heaterSupply');
  const rms =
    kind === GROUNDED
      ? place * volts
      : kind === CENTRE_TAPPED
        ? Math.abs(place - 0.5) * volts
        : kind === STRING
          ? numberOf(v, 'heaterStringVolts') + place * volts
          : place * numberOf(v, 'heaterRipple');
  return {
    amplitude_V: Math.SQRT2 * rms,
    frequency_Hz: kind === DC ? 2 * mains : mains,
    direct_V: numberOf(v, 'heaterRaisedBy') + (kind === DC ? place * volts : 0),
  };
}

/** Where a path sits of which that is not known: the middle of the half that hums. */
const USUAL_PLACE = 0.75;
const HARMONICS = 3;
const POINTS = 32;

/** The first harmonics of the current through a path, A, with `direct_V` from its far end to the heater's supply. */
export function humCurrents(leak: Leak, amplitude_V: number, direct_V: number): number[] {
  const sums = Array.from({ length: HARMONICS }, () => 0);
  // even in the phase: half a cycle says all
  for (let k = 0; k < POINTS; k++) {
    const theta = ((k + 0.5) * Math.PI) / POINTS;
    const amps = heaterAmps(leak, direct_V + amplitude_V * Math.cos(theta));
    for (let m = 0; m < HARMONICS; m++) sums[m]! += (2 / POINTS) * amps * Math.cos((m + 1) * theta);
  }
  return sums;
}

interface HumPath {
  readonly leak: Leak;
  /** Where it leads to from the heater. */
  readonly into: Node;
}

/** Paths from a tube's heater that end on a node that can hum. */
function humPaths(t: Traces, circuit: Circuit, tube: number): HumPath[] {
  const part = circuit.parts.find((each) => each.kind === 'tube' && each.tube === tube);
  if (part?.kind !== 'tube') throw new Error(`${circuit.title} has no tube ${tube}`);
  return t.leaks[tube]!.flatMap((leak) => {
    const other = leak.between.find((electrode) => electrode !== 'heater');
    const into = other === undefined ? undefined : part.nodes[other];
    return leak.between.includes('heater') && into !== undefined && into !== '0'
      ? [{ leak, into }]
      : [];
  });
}

/**
 * Hum at a node by leakage from the heaters of one supply, V rms; 0 where there is none or all of it ends on chassis.
 *
 * All heaters swing together: what the paths bring to the output adds or cancels by the circuit. With the centre of the supply
 * at chassis the halves swing against each other, and which half a path sits in is not known: then as noises add.
 *
 * @param circuit of the stage itself, without the faults that every set can have
 * @param step a step whose first setting is at rest, or next to it
 */
export function humAt(
  t: Traces,
  circuit: Circuit,
  step: string,
  output: Node,
  tubes: readonly number[] = [0],
): number {
  const paths = tubes.flatMap((tube) => humPaths(t, circuit, tube));
  if (paths.length === 0) return 0;
  const rest = (node: Node): number => (node === '0' ? 0 : meanVolts(t, step, 0, node));
  const linear = smallSignal(withBypassLeaks(t.values, circuit), { ...t, rest });
  const { frequency_Hz } = heaterDrive(t.values, 0);
  const currents = paths.map(({ leak, into }) => {
    const drive = heaterDrive(t.values, leak.heater?.place ?? USUAL_PLACE);
    return humCurrents(leak, drive.amplitude_V, drive.direct_V - rest(into));
  });
  const together = textOf(t.values, 'heaterSupply') !== CENTRE_TAPPED;
  let square = 0;
  for (let m = 0; m < HARMONICS; m++) {
    const answer = phasorAt(linear, (m + 1) * frequency_Hz);
    const volts = paths.map(({ into }, i) =>
      answer({ into }, output).map((x) => x * currents[i]![m]!),
    );
    const [re, im] = [0, 1].map((part) =>
      together
        ? volts.reduce((sum, each) => sum + each[part]!, 0)
        : Math.hypot(...volts.map((each) => each[part]!)),
    );
    square += (re! ** 2 + im! ** 2) / 2;
  }
  return Math.sqrt(square);
}

/** Hum this far below the signal and less is said as this much, dB. */
const FLOOR_dB = -120;

/** Hum over the signal in decibels. */
export function levelOf(hum_V: MeasureValue | undefined, signal_V: number): MeasureValue {
  if (!isNumber(hum_V)) return noValue('the hum is not known');
  return Math.max(FLOOR_dB, 20 * Math.log10(Math.max(hum_V / Math.max(signal_V, 1e-12), 1e-9)));
}

/** The two measures of hum of a stage; `signal_V` is the wanted signal at the same place, V rms. */
export function humMeasures(
  step: string,
  hum: { readonly of: (t: Traces, own: Measures) => MeasureValue; readonly where: string },
  signal: { readonly of: (t: Traces, own: Measures) => number; readonly what: string },
): MeasureSpec[] {
  return [
    {
      id: 'hum',
      title: 'Hum of the heater',
      unit: 'V',
      step,
      what: `Rms, ${hum.where}, by leakage from the heater to the cathode or the grid; hum of the supplies and of wiring is not in it.`,
      alternating: true,
      of: (t, own) => hum.of(t, own),
      readings: ['heaterCathode'],
    },
    {
      id: 'humLevel',
      title: 'Hum of the heater, to the signal',
      unit: 'dB',
      step,
      what: `The same over ${signal.what}; ${FLOOR_dB} dB stands for that and less.`,
      of: (t, own) => levelOf(own['hum'], signal.of(t, own)),
      readings: ['heaterCathode'],
    },
  ];
}
