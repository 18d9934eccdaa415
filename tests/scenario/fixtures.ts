/** Invented stages, tubes and a scenario for the tests of the reader. Nothing here is a real circuit or instrument. */
import type { Context, StageSchema, TubeType } from '../../src/scenario/scenario.ts';
import type { Unit, ValueSpec } from '../../src/types.ts';

const part = (title: string, unit: Unit, value: number, low: number, high: number): ValueSpec => ({
  title,
  unit,
  default: value,
  low,
  high,
  tolerance_percent: 10,
});

export const STAGES: readonly StageSchema[] = [
  {
    id: 'rc-amplifier',
    tubes: 1,
    values: {
      supply: part('supply', 'V', 250, 1, 1000),
      plateLoad: part('plate load', 'ohm', 220e3, 1e3, 10e6),
      gridResistor: part('grid resistor', 'ohm', 1e6, 1e3, 100e6),
      couplingLeakage: { ...part('leakage', 'ohm', 0, 1e3, 1e15), default: null },
      bias: { ...part('bias', 'V', 0, 0, 1), default: 'cathode', choices: ['cathode', 'contact'] },
    },
    measures: ['gain', 'biasShift'],
  },
  {
    id: 'agc-if-amplifier',
    tubes: 1,
    values: {
      screenSupply: part('screen supply', 'V', 100, 1, 500),
      agcLineResistance: part('AGC line', 'ohm', 2.2e6, 1e3, 100e6),
      agcVoltages: { ...part('AGC voltages', 'V', 0, -50, 0), default: [0, -5], list: true },
    },
    measures: [{ id: 'gridVoltage' }],
  },
  { id: 'own-circuit', tubes: 1, values: {}, measures: [] },
];

const TYPES: readonly TubeType[] = [
  {
    id: 'XT1',
    sections: [
      { id: '1', family: 'triode' },
      { id: '2', family: 'triode' },
    ],
  },
  { id: 'XP2', sections: [{ id: 'pentode', family: 'pentode' }] },
  {
    id: 'XTP3',
    sections: [
      { id: 'a', family: 'triode' },
      { id: 'b', family: 'pentode' },
    ],
  },
];

export const CONTEXT: Context = {
  file: 'test.json',
  stages: STAGES,
  findTube: (name) => TYPES.find(({ id }) => id === name.trim().toUpperCase()),
  nearTubes: (name) => (name.toUpperCase().startsWith('X') ? ['XT1', 'XP2'] : []),
};

export const GOOD = {
  format: 'stagefit-scenario',
  version: 1,
  title: 'An invented receiver',
  bench: {
    name: 'Invented instrument',
    emission: { scale: { kind: 'percent' }, accuracy_percent: 6 },
    starvedHeater: { heater_percent: 90, accuracy_points: 2 },
    leakage: {
      volts: 90,
      grid: 'negative',
      withPlateCurrent: false,
      top_ohm: '250M',
      short_ohm: '150k',
      accuracy_percent: 10,
    },
  },
  sockets: [
    {
      id: 'V1',
      stage: 'rc-amplifier',
      tube: 'XT1',
      values: {
        supply: 230,
        plateLoad: '470k',
        gridResistor: { value: '4M7', measured: true },
      },
      limits: { gain: 'gain > 0.7 * newTube.gain', biasShift: 0.5 },
    },
    {
      id: 'V2',
      stage: 'agc-if-amplifier',
      tube: ['XP2'],
      values: { agcVoltages: ['0', -3, '-9 V'] },
    },
  ],
  tubes: [
    {
      id: 'T1',
      type: 'XT1',
      section: '2',
      readings: {
        emission: { percent: 65, minutes: 5 },
        starvedHeater: { heater_percent: 90, drop_percent: 12 },
        leakage: [
          { minutes: 5, megohms: 60, path: ['grid', 'plate'] },
          { minutes: 1, aboveMegohms: 250 },
        ],
        shorts: [{ between: ['heater', 'cathode'], ohms: '2 Mohm', hot: true }],
        gridCurrent: { microamps: '1,4 µA', plateVolts: 200, gridVolts: -2 },
        transconductance: { mS: 1.6, plateVolts: 250, gridVolts: -2 },
        noticed: ['changesWhenTapped'],
        hoursSinceLastUsed: 2,
      },
      sockets: ['V1'],
    },
    { id: 'T2', type: 'XP2', readings: { emission: { percent: 90 } } },
  ],
};

/** A copy of the good scenario with one place changed. `undefined` removes the key. */
export function changed(path: readonly (string | number)[], value: unknown): unknown {
  const copy: unknown = structuredClone(GOOD);
  let holder = copy as Record<string | number, unknown>;
  for (const step of path.slice(0, -1)) holder = holder[step] as Record<string | number, unknown>;
  const last = path.at(-1) as string | number;
  if (value === undefined) delete holder[last];
  else holder[last] = value;
  return copy;
}

export const textOf = (document: unknown): string => JSON.stringify(document, null, 2);
