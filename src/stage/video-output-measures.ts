import { smallSignal, stepResponse } from '../circuit/small-signal.ts';
import { valueAtPhase } from '../numerics/harmonics.ts';
import type {
  Circuit,
  MeasureSpec,
  MeasureValue,
  Node,
  PinVolts,
  StageValues,
  Step,
  Traces,
  TubeModel,
} from '../types.ts';
import { withBypassLeaks } from './faults.ts';
import { humAt, humMeasures } from './heater-supply.ts';
import { lowLossMeasure } from './low-loss.ts';
import { fundamentalVolts, gridShift, isNumber, meanVolts, noValue, numberOr } from './signals.ts';
import { loadOf, pinVolts, type ElectrodeNodes } from './tube-currents.ts';
import { numberOf } from './values.ts';

/** What is simulated of a video output stage, and what is measured of it. */

const SMALL = 'small';
const LARGE = 'large';
const SMALL_DRIVE_V = 0.02;

export const VIDEO_OUTPUT_STEPS: readonly Step[] = [
  {
    id: SMALL,
    view: () => ({ as: 'phases', count: 2 }),
    settings: () => [{ drive: SMALL_DRIVE_V }],
  },
  {
    id: LARGE,
    view: () => ({ as: 'phases', count: 8 }),
    settings: (v) => [{ drive: numberOf(v, 'drive') / 2 }],
  },
];

const electrodes = (v: StageValues): ElectrodeNodes => ({
  plate: 'p',
  grid: 'g',
  cathode: numberOf(v, 'cathodeResistor') > 0 ? 'k' : '0',
  screen: numberOf(v, 'screenDropper') > 0 ? 's' : 'sb',
});

/** Plate volts of the large signal where the grid's drive is at a cosine of its peak. */
const plateAt = (t: Traces, cosine: number): number =>
  valueAtPhase(t.volts(LARGE, 0, 'p'), Math.acos(cosine));

/** Cathode current at the whitest moment, A. */
function whiteCurrent(t: Traces): number {
  const nodes = electrodes(t.values);
  const volts: PinVolts = Object.fromEntries(
    Object.entries(nodes).map(([electrode, node]) => [
      electrode,
      node === '0' ? 0 : peakOf(t.volts(LARGE, 0, node)),
    ]),
  );
  return -(t.models[0]!.currents(volts, t.states[0]!).cathode ?? 0);
}

/** A rail has one value for all phases. */
const peakOf = (samples: Float64Array): number =>
  samples.length === 1 ? samples[0]! : valueAtPhase(samples, 0);

const STEP_COUNT = 160;
/** Length of the step response in time constants of load and capacitance. */
const STEP_SPAN = 9;

interface Edge {
  readonly rise_s: MeasureValue;
  readonly overshoot_percent: number;
}

/** The edge that a step at the source makes at the picture tube. */
function edge(t: Traces, circuit: Circuit, out: Node): Edge {
  const tube = t.models[0]!.capacitances;
  const linear = smallSignal(withBypassLeaks(t.values, circuit), {
    ...t,
    rest: (node) => (node === '0' ? 0 : meanVolts(t, SMALL, 0, node)),
  });
  const tau =
    t.knob('plateLoad') * (numberOf(t.values, 'strayCapacitance') + tube.output + tube.gridPlate) +
    t.knob('sourceResistance') * (tube.input + 20 * tube.gridPlate);
  const step = (STEP_SPAN * tau) / STEP_COUNT;
  const answer = stepResponse(linear, out, step, STEP_COUNT).map(Math.abs);
  const end = answer.at(-1)!;
  const reaches = (share: number): number | undefined => {
    const i = answer.findIndex((x) => x >= share * end);
    if (i < 0) return undefined;
    const before = i === 0 ? 0 : answer[i - 1]!;
    return (i - 1 + (share * end - before) / (answer[i]! - before)) * step;
  };
  const [low, high] = [reaches(0.1), reaches(0.9)];
  return {
    rise_s:
      low === undefined || high === undefined || !(end > 0)
        ? noValue('the output does not follow a step')
        : high - low,
    overshoot_percent: end > 0 ? 100 * (Math.max(...answer) / end - 1) : 0,
  };
}

export function videoOutputMeasures(
  circuitOf: (v: StageValues, tubes: readonly TubeModel[]) => Circuit,
): readonly MeasureSpec[] {
  const circuit = (t: Traces): Circuit => circuitOf(t.values, t.models);
  const out = (v: StageValues): Node => (numberOf(v, 'seriesPeaking') > 0 ? 'o' : 'p');
  return [
    {
      id: 'gain',
      title: 'Gain',
      unit: '×',
      step: SMALL,
      what: 'Plate over source signal, small signal, in the middle of the band.',
      of: (t) => fundamentalVolts(t, SMALL, 0, 'p') / SMALL_DRIVE_V,
      readings: ['emission', 'leakage'],
    },
    {
      id: 'plateVoltage',
      title: 'Plate voltage',
      unit: 'V',
      step: SMALL,
      what: 'Plate to chassis, no signal.',
      of: (t) => meanVolts(t, SMALL, 0, 'p'),
      readings: ['emission', 'leakage'],
    },
    {
      id: 'plateCurrent',
      title: 'Plate current',
      unit: 'A',
      step: SMALL,
      what: 'Through the plate load, no signal.',
      of: (t) => (meanVolts(t, SMALL, 0, 'b') - meanVolts(t, SMALL, 0, 'p')) / t.knob('plateLoad'),
      readings: ['emission', 'leakage'],
    },
    {
      id: 'plateDissipation',
      title: 'Plate dissipation',
      unit: 'W',
      step: SMALL,
      what: 'Plate current times plate to cathode voltage, no signal.',
      of: (t) => loadOf(t, pinVolts(t, SMALL, 0, electrodes(t.values))).plate_W,
      readings: ['leakage', 'gridCurrent'],
    },
    {
      id: 'plateRating',
      title: 'Rated plate dissipation',
      unit: 'W',
      step: SMALL,
      what: "The type's published maximum.",
      of: (t) => t.models[0]!.ratings?.plate_W ?? noValue('the rating of this type is not known'),
      readings: [],
    },
    {
      id: 'gridVoltage',
      title: 'Grid voltage',
      unit: 'V',
      step: SMALL,
      what: 'Grid to chassis, no signal.',
      of: (t) => meanVolts(t, SMALL, 0, 'g'),
      readings: ['leakage', 'gridCurrent'],
    },
    {
      id: 'gridBias',
      title: 'Grid bias',
      unit: 'V',
      step: SMALL,
      what: 'Grid to cathode, no signal.',
      of: (t) => {
        const { cathode } = electrodes(t.values);
        return meanVolts(t, SMALL, 0, 'g') - (cathode === '0' ? 0 : meanVolts(t, SMALL, 0, 'k'));
      },
      readings: ['leakage', 'gridCurrent', 'emission'],
    },
    {
      id: 'biasShift',
      title: 'Grid bias shift',
      unit: 'V',
      step: SMALL,
      what: 'How far the grid (to chassis) stands from where a new tube puts it.',
      of: (_, own, newTube) => gridShift(own, newTube),
      readings: ['leakage', 'gridCurrent'],
    },
    {
      id: 'brightnessShift',
      title: 'Shift of brightness',
      unit: 'V',
      step: SMALL,
      what: 'How far the plate stands from where a new tube puts it: coupled directly, the picture tube stands so too.',
      of: (_, own, newTube) => {
        if (newTube === undefined) return 0;
        const [mine, reference] = [own['plateVoltage'], newTube['plateVoltage']];
        return isNumber(mine) && isNumber(reference)
          ? Math.abs(mine - reference)
          : noValue('the new tube has no plate voltage to compare with');
      },
      readings: ['emission', 'leakage', 'gridCurrent'],
    },
    {
      id: 'riseTime',
      title: 'Rise time',
      unit: 's',
      step: SMALL,
      what: 'From 10 to 90 % of a step at the source, small signal: load, coils, stray and tube capacitances, the source’s resistance.',
      of: (t) => edge(t, circuit(t), out(t.values)).rise_s,
      readings: ['emission'],
    },
    {
      id: 'overshoot',
      title: 'Overshoot',
      unit: '%',
      step: SMALL,
      what: 'Of the same step, over its end.',
      of: (t) => edge(t, circuit(t), out(t.values)).overshoot_percent,
      readings: [],
    },
    {
      id: 'outputSwing',
      title: 'Output swing',
      unit: 'V',
      step: LARGE,
      what: 'Peak to peak at the plate, at the stated video.',
      of: (t) => Math.abs(plateAt(t, -1) - plateAt(t, 1)),
      readings: ['emission', 'leakage', 'gridCurrent'],
    },
    {
      id: 'whiteCompression',
      title: 'White compression',
      unit: '%',
      step: LARGE,
      what: 'How much less the plate moves over the whitest quarter of the stated video than over a quarter of it on average; negative where it moves more.',
      of: (t) => {
        const average = (plateAt(t, -1) - plateAt(t, 1)) / 4;
        const whitest = plateAt(t, 0.5) - plateAt(t, 1);
        return average > 0 ? 100 * (1 - whitest / average) : noValue('the plate does not move');
      },
      readings: ['emission', 'leakage', 'gridCurrent'],
    },
    {
      id: 'whiteCurrent',
      title: 'Cathode current in white',
      unit: 'A',
      step: LARGE,
      what: 'At the whitest moment of the stated video.',
      of: (t) => whiteCurrent(t),
      readings: ['emission'],
    },
    {
      id: 'whiteReserve',
      title: 'Saturation over it',
      unit: '×',
      step: LARGE,
      what: 'Saturation current of the cathode at this socket’s heater volts, over the cathode current in white.',
      of: (t, own) => {
        const amps = numberOr(own, 'whiteCurrent', 0);
        return amps > 0 ? t.states[0]!.saturation_A / amps : noValue('the tube is cut off');
      },
      readings: ['emission'],
    },
    lowLossMeasure('Loss at the field frequency', SMALL, (t) => ({
      t,
      rest: SMALL,
      circuit: circuit(t),
      output: ['p'],
    })),
    ...humMeasures(
      LARGE,
      { of: (t) => humAt(t, circuit(t), SMALL, 'p'), where: 'at the plate' },
      {
        of: (_, own) => numberOr(own, 'outputSwing', 0) / (2 * Math.SQRT2),
        what: 'the stated video at the plate, as a sine',
      },
    ),
  ];
}
