import type { Case } from '../central.ts';
import { circuitIn } from '../line-neighbours.ts';
import type { Picture } from '../report/picture.ts';
import type { Report, Simulator, StopSignal } from '../types.ts';
import { biasPicture } from './picture-bias.ts';
import { platePicture } from './picture-plate.ts';
import { agcPicture, signalPictures } from './picture-signal.ts';

export interface PictureOptions {
  readonly signal: StopSignal;
  /** Told with all pictures so far, each time one more is ready. */
  onPictures(pictures: readonly Picture[]): void;
}

/**
 * The pictures that explain one report: plate curves, transfer curve and waveform, gain against AGC voltage, bias against
 * grid resistance. One that a stage has no answer for, or whose run did not finish, is left out.
 */
export async function picturesOf(
  given: Case,
  report: Report,
  simulator: Simulator,
  options: PictureOptions,
): Promise<void> {
  const { signal } = options;
  const circuit = circuitIn(given);
  // their runs have no oscillation: what they would show is not this stage
  if (circuit.parts.some(({ kind }) => kind === 'oscillatorTank')) return;
  // a netlist has no parts to take a load line or a grid resistance from
  if (given.socket.stage.own !== undefined) return;
  const pictures: Picture[] = [];
  const add = (more: readonly (Picture | undefined)[]): void => {
    pictures.push(...more.filter((one) => one !== undefined));
    options.onPictures([...pictures]);
  };
  add([platePicture(given, report)]);
  if (report.verdict === 'failed') return;
  add([await biasPicture(given, circuit, report, simulator, signal)]);
  add(await signalPictures(given, circuit, report, simulator, signal));
  add([await agcPicture(given, circuit, simulator, signal)]);
}
