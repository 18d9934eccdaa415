import type {
  Measures,
  MeasureSpec,
  MeasureValue,
  Setting,
  StageValues,
  Step,
  Traces,
} from '../types.ts';
import { gridPath_ohm, hasFixedBias, HEALTHY, isSoft } from './bias-line.ts';
import { BIAS_NODE, electrodeNodes, hasCathodeResistor } from './output-single-ended-circuit.ts';
import {
  ALLOWANCE,
  dissipationSlope,
  heldPoints,
  HOLDING_OHM,
  runawayMargin,
  thermalLoopGain,
  type HeldPoint,
} from './runaway.ts';
import {
  distortionPercent,
  drives,
  fundamentalVolts,
  isNumber,
  meanVolts,
  noValue,
  numberOr,
  outputWhere,
  gridShift,
} from './signals.ts';
import { gridCurrent, loadOf, pinVolts, type Load } from './tube-currents.ts';
import { numberOf } from './values.ts';

/** What is simulated of a single-ended output stage, and what is measured of it. */

export const REST = 'rest';
export const DRIVEN = 'driven';
const HELD = 'held';

/** Points along the held grid's way up: 12 tell the margin within 0.1 %, 8 within 1 %. */
const HELD_POINTS = 12;
const HELD_POINTS_OF_DRAWS = 8;

const returnVolts = (v: StageValues): number => (hasFixedBias(v) ? numberOf(v, 'fixedBias') : 0);

const bias = (own: Measures): number => Math.abs(numberOr(own, 'undisturbedGridBias', 10)) + 1;

export const OUTPUT_SINGLE_ENDED_STEPS: readonly Step[] = [
  {
    id: REST,
    view: () => ({ as: 'quiescent' }),
    // each subject comes after the healthy state of the one before, and not after one that ran away
    settings: () => [{ drive: 0 }, { drive: 0, knobs: HEALTHY }],
    inOrder: true,
  },
  {
    id: DRIVEN,
    view: () => ({ as: 'phases', count: 8, substeps: 2 }),
    settings: (v, own, central) => {
      const stated: Setting = { drive: numberOf(v, 'drive') };
      const others = drivesFor10Percent(own, central);
      return [...others, stated].sort((a, b) => a.drive - b.drive);
    },
  },
  {
    id: HELD,
    view: () => ({ as: 'quiescent' }),
    settings: (v, own, central) => {
      // without reverse current there is nothing to run away
      if (numberOr(own, 'reverseGridCurrent', 0) <= 0) return [];
      const from = 1.15 * returnVolts(v);
      const span = (hasCathodeResistor(v) ? 2.5 : 1.3) * bias(own) + 2;
      const points = central === undefined ? HELD_POINTS : HELD_POINTS_OF_DRAWS;
      return Array.from({ length: points }, (_, i) => ({
        drive: 0,
        knobs: {
          couplingLeakage: HOLDING_OHM,
          couplingFrom: from + span * (i / (points - 1)) ** 1.5,
        },
      }));
    },
  },
];

/** Drives around the one that gives 10 % distortion: a wide search, or near the central answer. */
function drivesFor10Percent(own: Measures, central: Measures | undefined): Setting[] {
  if (central === undefined) return drives(0.2 * bias(own), 2.2 * bias(own), 9);
  const near = central['driveAt10PercentDistortion'];
  return isNumber(near) ? drives(0.8 * near, 1.25 * near, 2) : [];
}

const tubeAt = (t: Traces, step: string, setting: number): Load =>
  loadOf(t, pinVolts(t, step, setting, electrodeNodes(t.values, t.models[0]!)));

const gridToCathode = (t: Traces, setting: number): number =>
  meanVolts(t, REST, setting, 'g') -
  (hasCathodeResistor(t.values) ? meanVolts(t, REST, setting, 'k') : 0);

/** Index of the stated drive among the settings. */
const stated = (t: Traces): number =>
  t.settings(DRIVEN).findIndex(({ drive }) => drive === numberOf(t.values, 'drive'));

/** Power of the fundamental in the load, W: the plate's swing less what the winding's own resistance takes. */
function power(t: Traces, setting: number): number {
  const load = t.knob('loadResistance');
  const swing =
    (fundamentalVolts(t, DRIVEN, setting, 'p') * load) / (load + t.knob('primaryResistance'));
  return swing ** 2 / (2 * load);
}

const held = (t: Traces): HeldPoint[] =>
  heldPoints(t, HELD, electrodeNodes(t.values, t.models[0]!), {
    gridResistor: 'gridResistor',
    couplingFrom: 'couplingFrom',
    couplingLeakage: 'couplingLeakage',
    return_V: isSoft(t.values) ? BIAS_NODE : hasFixedBias(t.values) ? t.knob('fixedBias') : 0,
  });

const rated = (t: Traces, of: 'plate_W' | 'screen_W'): MeasureValue =>
  t.models[0]!.ratings?.[of] ?? noValue('the rating of this type is not known');

export const OUTPUT_SINGLE_ENDED_MEASURES: readonly MeasureSpec[] = [
  {
    id: 'plateCurrent',
    title: 'Plate current',
    unit: 'A',
    step: REST,
    what: 'Into the plate, no signal.',
    of: (t) => tubeAt(t, REST, 0).plate_A,
    readings: ['emission', 'leakage', 'gridCurrent'],
  },
  {
    id: 'screenCurrent',
    title: 'Screen current',
    unit: 'A',
    step: REST,
    what: 'Into the screen grid, no signal; 0 in a triode.',
    of: (t) => tubeAt(t, REST, 0).screen_A,
    readings: ['emission', 'leakage', 'gridCurrent'],
  },
  {
    id: 'plateDissipation',
    title: 'Plate dissipation',
    unit: 'W',
    step: REST,
    what: 'Plate current times plate to cathode voltage, no signal.',
    of: (t) => tubeAt(t, REST, 0).plate_W,
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'screenDissipation',
    title: 'Screen dissipation',
    unit: 'W',
    step: REST,
    what: 'Screen current times screen to cathode voltage, no signal.',
    of: (t) => tubeAt(t, REST, 0).screen_W,
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'plateRating',
    title: 'Rated plate dissipation',
    unit: 'W',
    step: REST,
    what: "The type's published maximum.",
    of: (t) => rated(t, 'plate_W'),
    readings: [],
  },
  {
    id: 'screenRating',
    title: 'Rated screen dissipation',
    unit: 'W',
    step: REST,
    what: "The type's published maximum.",
    of: (t) => rated(t, 'screen_W'),
    readings: [],
  },
  {
    id: 'gridVoltage',
    title: 'Grid voltage',
    unit: 'V',
    step: REST,
    what: 'Grid to chassis, no signal.',
    of: (t) => meanVolts(t, REST, 0, 'g'),
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'gridBias',
    title: 'Grid bias',
    unit: 'V',
    step: REST,
    what: 'Grid to cathode, no signal.',
    of: (t) => gridToCathode(t, 0),
    readings: ['leakage', 'gridCurrent', 'emission'],
  },
  {
    id: 'undisturbedGridBias',
    title: 'Grid bias without grid current',
    unit: 'V',
    step: REST,
    what: 'Grid to cathode with the grid on its return through 1 kΩ, no signal.',
    of: (t) => gridToCathode(t, 1),
    readings: ['emission'],
  },
  {
    id: 'biasShift',
    title: 'Grid bias shift',
    unit: 'V',
    step: REST,
    what: 'How far the grid (to chassis) stands from where a new tube puts it.',
    of: (_, own, newTube) => gridShift(own, newTube),
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'reverseGridCurrent',
    title: 'Reverse grid current',
    unit: 'A',
    step: REST,
    what: 'Gas, grid emission and leakage together, out of the grid, with the grid where the bias puts it.',
    of: (t) =>
      gridCurrent(t, pinVolts(t, REST, 1, electrodeNodes(t.values, t.models[0]!))[0]!).reverse_A,
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'powerOutput',
    title: 'Power output',
    unit: 'W',
    step: DRIVEN,
    what: 'Fundamental, into the load, at the stated drive.',
    of: (t) => power(t, stated(t)),
    readings: ['emission', 'leakage', 'gridCurrent'],
  },
  {
    id: 'distortion',
    title: 'Distortion',
    unit: '%',
    step: DRIVEN,
    what: 'Harmonics over the fundamental, at the stated drive.',
    of: (t) => distortionPercent(t, DRIVEN, stated(t), 'p'),
    readings: ['emission', 'leakage', 'gridCurrent'],
  },
  {
    id: 'powerAt10PercentDistortion',
    title: 'Power at 10 % distortion',
    unit: 'W',
    step: DRIVEN,
    what: 'Power output at the drive that gives 10 % distortion.',
    of: (t) => whereDistorted(t, (i) => power(t, i)),
    readings: ['emission', 'leakage', 'gridCurrent'],
  },
  {
    id: 'driveAt10PercentDistortion',
    title: 'Drive at 10 % distortion',
    unit: 'V',
    step: DRIVEN,
    what: 'Peak drive at the source that gives 10 % distortion.',
    of: (t) => whereDistorted(t, (i) => t.settings(DRIVEN)[i]!.drive),
    readings: ['emission', 'leakage', 'gridCurrent'],
  },
  {
    id: 'drivenPlateCurrent',
    title: 'Plate current, driven',
    unit: 'A',
    step: DRIVEN,
    what: 'Mean plate current at the stated drive.',
    of: (t) => tubeAt(t, DRIVEN, stated(t)).plate_A,
    readings: ['emission', 'leakage', 'gridCurrent'],
  },
  {
    id: 'drivenScreenCurrent',
    title: 'Screen current, driven',
    unit: 'A',
    step: DRIVEN,
    what: 'Mean screen current at the stated drive; 0 in a triode.',
    of: (t) => tubeAt(t, DRIVEN, stated(t)).screen_A,
    readings: ['emission', 'leakage', 'gridCurrent'],
  },
  {
    id: 'drivenPlateDissipation',
    title: 'Plate dissipation, driven',
    unit: 'W',
    step: DRIVEN,
    what: 'Mean over the cycle at the stated drive.',
    of: (t) => tubeAt(t, DRIVEN, stated(t)).plate_W,
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'drivenScreenDissipation',
    title: 'Screen dissipation, driven',
    unit: 'W',
    step: DRIVEN,
    what: 'Mean over the cycle at the stated drive.',
    of: (t) => tubeAt(t, DRIVEN, stated(t)).screen_W,
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'runawayMargin',
    title: 'Margin to runaway',
    unit: '×',
    step: HELD,
    what: 'How many times more reverse grid current (gas, grid emission and leakage together) it would take before there is no stable operating point within the rated dissipation.',
    of: (t) => {
      if (t.settings(HELD).length === 0) return noValue('no reverse grid current', 1000);
      const healthy = tubeAt(t, REST, 1);
      const allowed = (of: 'plate_W' | 'screen_W'): number =>
        Math.max(t.models[0]!.ratings?.[of] ?? Infinity, ALLOWANCE * healthy[of]);
      return runawayMargin(held(t), {
        plate_W: allowed('plate_W'),
        screen_W: allowed('screen_W'),
      });
    },
    readings: ['leakage', 'gridCurrent'],
  },
  {
    id: 'thermalLoopGain',
    title: 'Loop gain of the grid’s heating',
    unit: '',
    step: HELD,
    what: 'The slow loop of grid emission: more plate dissipation, a hotter grid, more emission, less bias. From 1 on it runs away by itself within minutes.',
    of: (t, own) => {
      const emission_A = t.states[0]!.gridEmission_A;
      if (emission_A === 0) return 0;
      const rating = rated(t, 'plate_W');
      if (!isNumber(rating)) return rating;
      const slope = dissipationSlope(held(t), numberOr(own, 'gridVoltage', NaN));
      if (slope === undefined) return noValue('the grid stands beyond the voltages tried');
      return thermalLoopGain(gridPath_ohm(t), emission_A, rating, slope);
    },
    readings: ['gridCurrent'],
  },
];

const whereDistorted = (t: Traces, output: (i: number) => number): MeasureValue =>
  outputWhere(
    t,
    DRIVEN,
    output,
    (i) => distortionPercent(t, DRIVEN, i, 'p'),
    10,
    '10 % distortion',
  );
