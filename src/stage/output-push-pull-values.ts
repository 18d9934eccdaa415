import type { ValueSpec } from '../types.ts';
import { HEATER_VALUES } from './heater-supply.ts';
import { OUTPUT_SINGLE_ENDED_VALUES } from './output-single-ended-values.ts';
import { COMMON_VALUES } from './values.ts';

export const COMMON = 'common';
export const SEPARATE = 'separate';

const of = (key: string): ValueSpec => OUTPUT_SINGLE_ENDED_VALUES[key]!;

/** What a socket of this stage can be told, with its defaults: a small amplifier with two beam tubes (from memory). */
export const OUTPUT_PUSH_PULL_VALUES: Readonly<Record<string, ValueSpec>> = {
  plateSupply: { ...of('plateSupply'), default: 285 },
  screenSupply: { ...of('screenSupply'), default: 285 },
  screenTap: {
    title: 'screens on taps of the primary (pentode; 0: on their supply)',
    unit: '%',
    default: 0,
    low: 0,
    high: 100,
    tolerance_percent: 0,
    help: 'Share of each half’s turns, from the centre: 20 to 45 is called ultralinear, 100 is the triode connection.',
  },
  screenResistor: {
    title: 'resistor in each screen lead (pentode; 0: none)',
    unit: 'ohm',
    default: 0,
    low: 0,
    high: 50e3,
    tolerance_percent: 10,
  },
  fixedBias: of('fixedBias'),
  biasSupplyResistance: {
    ...of('biasSupplyResistance'),
    help: `${of('biasSupplyResistance').help} With adjusters: of each.`,
  },
  biasBypass: of('biasBypass'),
  idleCurrent: {
    title: 'plate current that the bias is set to (with fixed bias)',
    unit: 'A',
    default: null,
    low: 0.1e-3,
    high: 1,
    tolerance_percent: 0,
    help: 'Each tube’s bias is then adjusted until it draws this; the fixed bias is the middle of the adjusters.',
  },
  adjusterRange: {
    title: 'how far the adjusters move the bias, of the fixed bias',
    unit: '%',
    default: 40,
    low: 1,
    high: 95,
    tolerance_percent: 0,
    help: 'Both ways. With a current to set the bias to.',
  },
  cathodes: {
    title: 'cathode resistors (without fixed bias)',
    unit: '',
    default: COMMON,
    low: 0,
    high: 0,
    tolerance_percent: 0,
    choices: [COMMON, SEPARATE],
  },
  cathodeResistor: {
    ...of('cathodeResistor'),
    title: 'cathode resistor, common or each (without fixed bias; 0: grounded)',
    default: 250,
  },
  cathodeBypass: of('cathodeBypass'),
  gridResistor: { ...of('gridResistor'), title: 'grid resistor of each tube', default: 220e3 },
  sourceResistance: {
    ...of('sourceResistance'),
    title: 'resistance of the signal source of each grid',
  },
  couplingCapacitor: {
    ...of('couplingCapacitor'),
    title: 'coupling capacitor at each grid',
    default: 100e-9,
  },
  couplingFrom: of('couplingFrom'),
  couplingLeakage: {
    ...of('couplingLeakage'),
    title: 'leakage of the coupling capacitor of the first tube',
  },
  couplingLeakage2: {
    ...of('couplingLeakage'),
    title: 'leakage of the coupling capacitor of the second tube',
  },
  loadPlateToPlate: { ...of('loadResistance'), title: 'load, from plate to plate', default: 8e3 },
  primaryResistance: {
    ...of('primaryResistance'),
    title: 'DC resistance of the primary, from plate to plate',
    default: 300,
  },
  primaryInductance: {
    ...of('primaryInductance'),
    title: 'primary inductance, from plate to plate',
    default: 40,
  },
  drive: {
    ...of('drive'),
    title: 'drive at the source of each grid, peak',
    default: 22,
    help: 'What the stage before gives at full output, before its own resistance. With feedback: at small signals, of what is left for the grids.',
  },
  feedback: {
    title: 'feedback around this stage from the output (0: none)',
    unit: 'dB',
    default: 0,
    low: 0,
    high: 40,
    tolerance_percent: 0,
    help: 'How far it lowers the gain of new tubes at small signals. The stages before are taken as without distortion and without end; they give what the loop asks for.',
  },
  signalFrequency: of('signalFrequency'),
  lowestFrequency: of('lowestFrequency'),
  ...HEATER_VALUES,
  ...COMMON_VALUES,
};
