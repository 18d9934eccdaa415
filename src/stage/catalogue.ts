import type { Stage } from '../types.ts';
import { agcIfAmplifier } from './agc-if-amplifier.ts';
import { cathodeFollower } from './cathode-follower.ts';
import { diodeDetectorAgc } from './diode-detector-agc.ts';
import { withFaults } from './faults.ts';
import { frequencyConverter } from './frequency-converter.ts';
import { gridLeakDetector } from './grid-leak-detector.ts';
import { keyedAgc } from './keyed-agc.ts';
import { localOscillator } from './local-oscillator.ts';
import { outputPushPull } from './output-push-pull.ts';
import { outputSingleEnded } from './output-single-ended.ts';
import { phaseInverterLongTail } from './phase-inverter-long-tail.ts';
import { phaseInverterSplitLoad } from './phase-inverter-split-load.ts';
import { rcAmplifier } from './rc-amplifier.ts';
import { rectifier } from './rectifier.ts';
import { syncSeparator } from './sync-separator.ts';
import { videoOutput } from './video-output.ts';

/** Every stage, in the order in which they are listed to people. A new stage is one file and one line here. */
export const STAGES: readonly Stage[] = [
  rcAmplifier,
  cathodeFollower,
  phaseInverterSplitLoad,
  phaseInverterLongTail,
  frequencyConverter,
  localOscillator,
  agcIfAmplifier,
  outputSingleEnded,
  outputPushPull,
  gridLeakDetector,
  rectifier,
  diodeDetectorAgc,
  syncSeparator,
  keyedAgc,
  videoOutput,
].map(withFaults);

export function findStage(id: string): Stage | undefined {
  return STAGES.find((stage) => stage.id === id);
}
