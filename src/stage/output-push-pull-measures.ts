import { firstCrossing } from '../numerics/crossings.ts';
import type { MeasureSpec, Measures, MeasureValue, Traces } from '../types.ts';
import { gridPath_ohm, hasFixedBias, isSoft } from './bias-line.ts';
import {
  electrodeNodes,
  isAdjusted,
  ofPlace,
  PLACES,
  returnNode,
  type Place,
} from './output-push-pull-circuit.ts';
import { ADJUST, adjusterEnds, DRIVEN, HELD, REST, returnOf } from './output-push-pull-steps.ts';
import {
  ALLOWANCE,
  dissipationSlope,
  heldPoints,
  runawayMargin,
  thermalLoopGain,
  type HeldPoint,
} from './runaway.ts';
import { along, isNumber, meanVolts, noValue, numberOr } from './signals.ts';
import { CATHODE_AND_GRID, GRID, MEASURES_OF_BOTH, stated } from './output-push-pull-both.ts';
import { gridCurrent, loadOf, pinVolts, type ElectrodeNodes, type Load } from './tube-currents.ts';
import { numberOf } from './values.ts';

/** What is measured of a push-pull output stage: of each tube by its place, and of both. */

const nodesOf = (t: Traces, place: Place): ElectrodeNodes =>
  electrodeNodes(t.values, t.models[place]!, place);

const tubeAt = (t: Traces, step: string, setting: number, place: Place): Load =>
  loadOf(t, pinVolts(t, step, setting, nodesOf(t, place)), place);

const voltsOf = (t: Traces, setting: number, node: string): number =>
  node === '0' ? 0 : meanVolts(t, REST, setting, node);

function gridToCathode(t: Traces, setting: number, place: Place): number {
  const { grid, cathode } = nodesOf(t, place);
  return voltsOf(t, setting, grid!) - voltsOf(t, setting, cathode!);
}

const rated = (t: Traces, of: 'plate_W' | 'screen_W', place: Place): MeasureValue =>
  t.models[place]!.ratings?.[of] ?? noValue('the rating of this type is not known');

/** V; with adjusters, where the plate current is what the bias is set for, or the nearer end where it is nowhere that. */
function gridReturn(t: Traces, place: Place): number {
  if (!hasFixedBias(t.values)) return 0;
  if (!isAdjusted(t.values)) return t.knob(ofPlace('fixedBias', place));
  const wanted = numberOf(t.values, 'idleCurrent');
  const settings = t.settings(ADJUST);
  const bias = settings.map(({ knobs }) => knobs!['fixedBias']!);
  const amps = along(t, ADJUST, (i) => tubeAt(t, ADJUST, i, place).plate_A);
  const at = firstCrossing(
    bias,
    amps.map((a) => Math.log(Math.max(a, 1e-9))),
    Math.log(wanted),
    { method: 'monotoneCubic' },
  );
  if (at !== undefined) return at;
  const [low, high] = adjusterEnds(t.values);
  return amps[0]! > wanted ? low : high;
}

const held = (t: Traces, own: Measures, place: Place): HeldPoint[] =>
  heldPoints(
    t,
    HELD[place],
    nodesOf(t, place),
    {
      gridResistor: 'gridResistor',
      couplingFrom: ofPlace('couplingFrom', place),
      couplingLeakage: ofPlace('couplingLeakage', place),
      return_V: isSoft(t.values) ? returnNode(t.values, place) : returnOf(t.values, own, place),
    },
    place,
  );

function marginOf(t: Traces, own: Measures, place: Place): MeasureValue {
  if (t.settings(HELD[place]).length === 0) return noValue('no reverse grid current', 1000);
  const healthy = tubeAt(t, REST, 1, place);
  const allowed = (of: 'plate_W' | 'screen_W'): number =>
    Math.max(t.models[place]!.ratings?.[of] ?? Infinity, ALLOWANCE * healthy[of]);
  return runawayMargin(held(t, own, place), {
    plate_W: allowed('plate_W'),
    screen_W: allowed('screen_W'),
  });
}

function thermalOf(t: Traces, own: Measures, place: Place): MeasureValue {
  const emission_A = t.states[place]!.gridEmission_A;
  if (emission_A === 0) return 0;
  const rating = rated(t, 'plate_W', place);
  if (!isNumber(rating)) return rating;
  const at = numberOr(own, ofPlace('gridVoltage', place), NaN);
  const slope = dissipationSlope(held(t, own, place), at);
  if (slope === undefined) return noValue('the grid stands beyond the voltages tried');
  return thermalLoopGain(gridPath_ohm(t), emission_A, rating, slope);
}

/** The measures of one tube; those of the first place have bare names. */
function measuresOf(place: Place): MeasureSpec[] {
  const n = place + 1;
  const id = (name: string): string => ofPlace(name, place);
  const atRest = (of: keyof Load) => (t: Traces) => tubeAt(t, REST, 0, place)[of];
  const driven = (of: keyof Load) => (t: Traces) => tubeAt(t, DRIVEN, stated(t), place)[of];
  return [
    {
      id: id('gridReturn'),
      title: `Grid return ${n}`,
      unit: 'V',
      step: ADJUST,
      what: 'Where the grid’s resistor leads: chassis, the bias supply, or the bias at which the tube draws what it is set for (the nearer end of the adjuster where it draws that nowhere).',
      of: (t) => gridReturn(t, place),
      readings: ['emission'],
    },
    {
      id: id('plateCurrent'),
      title: `Plate current ${n}`,
      unit: 'A',
      step: REST,
      what: 'Into the plate, no signal.',
      of: atRest('plate_A'),
      readings: CATHODE_AND_GRID,
    },
    {
      id: id('screenCurrent'),
      title: `Screen current ${n}`,
      unit: 'A',
      step: REST,
      what: 'Into the screen grid, no signal; 0 in a triode.',
      of: atRest('screen_A'),
      readings: CATHODE_AND_GRID,
    },
    {
      id: id('plateDissipation'),
      title: `Plate dissipation ${n}`,
      unit: 'W',
      step: REST,
      what: 'Plate current times plate to cathode voltage, no signal.',
      of: atRest('plate_W'),
      readings: GRID,
    },
    {
      id: id('screenDissipation'),
      title: `Screen dissipation ${n}`,
      unit: 'W',
      step: REST,
      what: 'Screen current times screen to cathode voltage, no signal.',
      of: atRest('screen_W'),
      readings: GRID,
    },
    {
      id: id('plateRating'),
      title: `Rated plate dissipation ${n}`,
      unit: 'W',
      step: REST,
      what: "The type's published maximum.",
      of: (t) => rated(t, 'plate_W', place),
      readings: [],
    },
    {
      id: id('screenRating'),
      title: `Rated screen dissipation ${n}`,
      unit: 'W',
      step: REST,
      what: "The type's published maximum.",
      of: (t) => rated(t, 'screen_W', place),
      readings: [],
    },
    {
      id: id('gridVoltage'),
      title: `Grid voltage ${n}`,
      unit: 'V',
      step: REST,
      what: 'Grid to chassis, no signal.',
      of: (t) => voltsOf(t, 0, nodesOf(t, place).grid!),
      readings: GRID,
    },
    {
      id: id('gridBias'),
      title: `Grid bias ${n}`,
      unit: 'V',
      step: REST,
      what: 'Grid to cathode, no signal.',
      of: (t) => gridToCathode(t, 0, place),
      readings: CATHODE_AND_GRID,
    },
    {
      id: id('undisturbedGridBias'),
      title: `Bias without grid current ${n}`,
      unit: 'V',
      step: REST,
      what: 'Grid to cathode with both grids on their returns through 1 kΩ, no signal.',
      of: (t) => gridToCathode(t, 1, place),
      readings: ['emission'],
    },
    {
      id: id('biasShift'),
      title: `Grid bias shift ${n}`,
      unit: 'V',
      step: REST,
      what: 'How far grid current and leakage lift the grid (to chassis) from its return.',
      of: (t) =>
        Math.abs(voltsOf(t, 0, nodesOf(t, place).grid!) - voltsOf(t, 1, nodesOf(t, place).grid!)),
      readings: GRID,
    },
    {
      id: id('reverseGridCurrent'),
      title: `Reverse grid current ${n}`,
      unit: 'A',
      step: REST,
      what: 'Gas, grid emission and leakage together, out of the grid, with the grid where the bias puts it.',
      of: (t) => gridCurrent(t, pinVolts(t, REST, 1, nodesOf(t, place))[0]!, place).reverse_A,
      readings: GRID,
    },
    {
      id: id('drivenPlateCurrent'),
      title: `Plate current, driven ${n}`,
      unit: 'A',
      step: DRIVEN,
      what: 'Mean plate current at the stated drive.',
      of: driven('plate_A'),
      readings: CATHODE_AND_GRID,
    },
    {
      id: id('drivenScreenCurrent'),
      title: `Screen current, driven ${n}`,
      unit: 'A',
      step: DRIVEN,
      what: 'Mean screen current at the stated drive; 0 in a triode.',
      of: driven('screen_A'),
      readings: CATHODE_AND_GRID,
    },
    {
      id: id('drivenPlateDissipation'),
      title: `Driven plate dissipation ${n}`,
      unit: 'W',
      step: DRIVEN,
      what: 'Mean over the cycle at the stated drive.',
      of: driven('plate_W'),
      readings: GRID,
    },
    {
      id: id('drivenScreenDissipation'),
      title: `Driven screen dissipation ${n}`,
      unit: 'W',
      step: DRIVEN,
      what: 'Mean over the cycle at the stated drive.',
      of: driven('screen_W'),
      readings: GRID,
    },
    {
      id: id('runawayMargin'),
      title: `Margin to runaway ${n}`,
      unit: '×',
      step: HELD[place],
      what: 'How many times more reverse grid current of this tube it would take before there is no stable operating point within its rated dissipation.',
      of: (t, own) => marginOf(t, own, place),
      readings: GRID,
    },
    {
      id: id('thermalLoopGain'),
      title: `Grid’s heating loop ${n}`,
      unit: '',
      step: HELD[place],
      what: 'The slow loop of grid emission: more plate dissipation, a hotter grid, more emission, less bias. From 1 on it runs away by itself within minutes.',
      of: (t, own) => thermalOf(t, own, place),
      readings: ['gridCurrent'],
    },
  ];
}

export const OUTPUT_PUSH_PULL_MEASURES: readonly MeasureSpec[] = [
  ...PLACES.flatMap(measuresOf),
  ...MEASURES_OF_BOTH,
];
