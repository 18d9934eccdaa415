import { detectedVolts } from './agc-detector.ts';
import { lineSlope_S, type Line } from './agc-line.ts';

/**
 * What an AGC line leaves of the modulation: it is to follow the carrier and not the audio, for which its capacitor is
 * there. With a weak one the control takes the low notes off.
 */

export interface LineAtLevel {
  readonly line: Line;
  readonly line_V: number;
  /** Carrier at the detector, V peak. */
  readonly detector_V: number;
  readonly contact_V: number;
  readonly delay_V: number;
}

const STEP_V = 1e-3;
const STEP = 1e-4;

/**
 * Loss of a shallow modulation by the control, dB. With the carrier at the detector d = s·G(V), the source −D(d) behind R
 * and C from the line to chassis: δd/d = (δs/s) / (1 + T/(R·(Y + jωC))), T = D′(d)·d·(ln G)′, Y the line's conductance, its
 * tubes included.
 *
 * Source: the loop of automatic gain control, linearised (any textbook); a capacitor that is a short for the audio leaves all of it.
 */
export function modulationLoss_dB(at: LineAtLevel, farads: number, audio_Hz: number): number {
  const { line, line_V, detector_V, contact_V, delay_V } = at;
  const logGain = (volts: number): number =>
    line.tubes.reduce((sum, tube) => sum + Math.log(tube.gain(volts)), 0);
  const slope = (logGain(line_V + STEP_V) - logGain(line_V - STEP_V)) / (2 * STEP_V);
  const detected = (share: number): number => detectedVolts(share * detector_V, contact_V, delay_V);
  const control_V = (detected(1 + STEP) - detected(1 - STEP)) / (2 * STEP);
  const loop = (control_V * slope) / line.resistance_ohm;
  const [g, b] = [lineSlope_S(line, line_V), 2 * Math.PI * audio_Hz * farads];
  const size = g * g + b * b;
  return 20 * Math.log10(Math.hypot(1 + (loop * g) / size, (loop * b) / size));
}
