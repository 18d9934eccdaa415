import type { Stage } from '../types.ts';
import { agcIfAmplifier } from './agc-if-amplifier.ts';
import { gridLeakDetector } from './grid-leak-detector.ts';
import { outputPushPull } from './output-push-pull.ts';
import { outputSingleEnded } from './output-single-ended.ts';
import { rcAmplifier } from './rc-amplifier.ts';
import { rectifier } from './rectifier.ts';

/** Every stage, in the order in which they are listed to people. A new stage is one file and one line here. */
export const STAGES: readonly Stage[] = [
  rcAmplifier,
  agcIfAmplifier,
  outputSingleEnded,
  outputPushPull,
  gridLeakDetector,
  rectifier,
];

export function findStage(id: string): Stage | undefined {
  return STAGES.find((stage) => stage.id === id);
}
