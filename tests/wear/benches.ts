/** Invented instruments and a tube for the tests of wear. */
import type { TubeFacts } from '../../src/wear/facts.ts';
import { EXAMPLE_PROFILE, type InstrumentProfile } from '../../src/wear/profile.ts';

export const OUTPUT: TubeFacts = {
  device: '6V6GT',
  family: 'pentode',
  isOutputTube: true,
  electrodes: ['plate', 'screen', 'grid', 'cathode', 'heater'],
  pins: { plate: [3], screen: [4], grid: [5], cathode: [8], heater: [2, 7] },
  pinPlaces: 8,
  newSaturation_A: 0.4,
  typicalCathode_A: 0.0495,
  // Three halves law through 45 + 4.5 mA at an effective 17 V or so; good enough for a load line.
  diodeCurrent_A: (volts) => 0.7e-3 * Math.max(volts, 0) ** 1.5,
};

export const SMALL: TubeFacts = {
  device: '6SN7GT',
  family: 'triode',
  isOutputTube: false,
  electrodes: ['plate', 'grid', 'cathode', 'heater'],
  pins: { plate: [2], grid: [1], cathode: [3], heater: [7, 8] },
  pinPlaces: 8,
  newSaturation_A: 0.1,
  typicalCathode_A: 0.009,
  diodeCurrent_A: (volts) => 0.6e-3 * Math.max(volts, 0) ** 1.5,
};

const { emission, leakage } = EXAMPLE_PROFILE;
const starvedHeater = { heater_percent: 90, heldSeconds: 75, accuracy_points: 2 };

export const BENCHES: Readonly<Record<string, InstrumentProfile>> = {
  'percent, X and q known': {
    ...EXAMPLE_PROFILE,
    name: 'percent, X and q known',
    starvedHeater,
    emission: {
      ...emission,
      testCurrents_A: { '6V6GT': 0.08, '6SN7GT': 0.02 },
      openTerminal_V: 30,
      newTubeTerminal_V: 25,
    },
  },
  'percent, nothing known': { ...EXAMPLE_PROFILE, name: 'percent, nothing known', starvedHeater },
  'divisions with a reject mark, held short': {
    ...EXAMPLE_PROFILE,
    name: 'divisions with a reject mark, held short',
    starvedHeater: { ...starvedHeater, heldSeconds: 25 },
    emission: {
      scale: { kind: 'divisions', fullScale: 60, rejectMark: 24 },
      test_V: 15,
      load_ohm: 100,
      accuracy_percent: 5,
    },
  },
  'milliamperes, half wave, plate current in the leakage test': {
    name: 'milliamperes, half wave, plate current in the leakage test',
    emission: {
      scale: { kind: 'milliamps' },
      halfWave: true,
      test_V: 12,
      load_ohm: 40,
      accuracy_percent: 4,
    },
    starvedHeater: { heater_percent: 85, heldSeconds: 90, accuracy_points: 2 },
    leakage: { ...leakage, withPlateCurrent: true, cathodeCurrent_A: 0.01, top_ohm: 1e9 },
  },
  'three zones': {
    ...EXAMPLE_PROFILE,
    name: 'three zones',
    starvedHeater,
    emission: {
      scale: {
        kind: 'zones',
        zones: [
          { name: 'low', from_percent: 0, to_percent: 45 },
          { name: 'middle', from_percent: 45, to_percent: 75 },
          { name: 'high', from_percent: 75, to_percent: 135 },
        ],
      },
      testCurrents_A: { '6V6GT': 0.08, '6SN7GT': 0.02 },
      accuracy_percent: 5,
    },
  },
};
