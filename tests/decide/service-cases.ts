import type { Reading, Socket } from './sets.ts';

/**
 * Ten service cases as the trade describes them: symptom, what a meter reads, what it turned out to be. Common practice,
 * from memory; the volts are ordinary figures for such sets, written down without this program.
 */
export interface ServiceCase {
  readonly symptom: string;
  readonly socket: Socket;
  readonly readings: readonly Omit<Reading, 'procedure'>[];
  readonly after?: readonly Reading[];
  /** Explanations any of which is what the trade would call it. */
  readonly turnedOut: readonly string[];
}

const at = (volts: Readonly<Record<string, number>>): Omit<Reading, 'procedure'>[] =>
  Object.entries(volts).map(([point, value]) => ({ point, volts: value }));

const OUTPUT: Socket = {
  stage: 'output-single-ended',
  type: '6V6GT',
  values: { cathodeResistor: 250, gridResistor: 470e3 },
};
const FIRST_AUDIO: Socket = {
  stage: 'rc-amplifier',
  type: '6AV6',
  values: { cathodeResistor: 0, gridResistor: 10e6, plateLoad: 220e3 },
};

export const SERVICE_CASES: readonly ServiceCase[] = [
  {
    symptom: 'distorted, output tube hot; the grid is positive and stays so with the tube pulled',
    socket: OUTPUT,
    readings: at({ plate: 226, grid: 9.5, cathode: 19, 'B+': 246 }),
    after: [{ point: 'grid', procedure: 'pulled', volts: 10.5 }],
    turnedOut: ['leak.couplingLeakage'],
  },
  {
    symptom:
      'distorts after twenty minutes; the grid is positive, and at zero with the tube pulled',
    socket: OUTPUT,
    readings: at({ plate: 234, grid: 5.5, cathode: 16, 'B+': 248 }),
    after: [{ point: 'grid', procedure: 'pulled', volts: 0 }],
    // the trade calls both of them gas
    turnedOut: ['gas', 'gridEmission'],
  },
  {
    symptom: 'weak and distorted; cathode low, plate and screen high',
    socket: OUTPUT,
    readings: at({ plate: 249, screen: 256, grid: 0, cathode: 6.2, 'B+': 254 }),
    turnedOut: ['lowEmission'],
  },
  {
    symptom: 'weak; cathode high although little current flows',
    socket: OUTPUT,
    readings: at({ plate: 248, screen: 254, grid: 0, cathode: 18.5, 'B+': 253 }),
    turnedOut: ['drift.cathodeResistor'],
  },
  {
    symptom: 'all voltages low, dial lamps dim',
    socket: OUTPUT,
    readings: at({ plate: 202, screen: 211, grid: 0, cathode: 9.8, 'B+': 211, heater: 85 }),
    turnedOut: ['line.low'],
  },
  {
    symptom: 'all plate voltages low, heaters right: a tired rectifier',
    socket: OUTPUT,
    readings: at({ plate: 183, screen: 190, grid: 0, cathode: 8.6, 'B+': 190, heater: 101 }),
    turnedOut: ['supply.low'],
  },
  {
    symptom: 'first audio weak and distorted, plate far down although the tube is good',
    socket: FIRST_AUDIO,
    readings: at({ plate: 48, grid: -0.6, 'B+': 250 }),
    after: [{ point: 'plate', procedure: 'swapped', volts: 46 }],
    turnedOut: ['drift.plateLoad'],
  },
  {
    symptom: 'no bass, hot and distorted; nothing across the cathode resistor',
    socket: { stage: 'rc-amplifier', type: '12AX7' },
    readings: at({ plate: 88, grid: 0, cathode: 0.15, 'B+': 250 }),
    turnedOut: ['leak.C2'],
  },
  {
    symptom: 'pentode stage dead, screen nearly at zero, plate at B+',
    socket: { stage: 'rc-amplifier', type: '6AU6', values: { plateLoad: 220e3 } },
    readings: at({ plate: 243, screen: 3.5, grid: 0, cathode: 0.08, 'B+': 250 }),
    turnedOut: ['leak.C3', 'drift.screenDropper'],
  },
  {
    symptom: 'local station blares; the AGC line is positive, also with the IF tube pulled',
    socket: { stage: 'agc-if-amplifier', type: '6BA6' },
    readings: at({ plate: 244, screen: 91, grid: 0.9, cathode: 1.3, 'B+': 246 }),
    after: [{ point: 'grid', procedure: 'pulled', volts: 6 }],
    turnedOut: ['leak.winding', 'leak.socket'],
  },
];
