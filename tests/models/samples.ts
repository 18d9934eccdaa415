import { findDevice } from '../../models/catalogue.ts';
import { tubeModel } from '../../models/tube.ts';
import type { Electrode, PinVolts, TubeModel, TubeState } from '../../src/types.ts';

export function modelOf(type: string, unit?: string): TubeModel {
  const found = findDevice(type);
  if (found === undefined) throw new Error(`no device ${type}`);
  return tubeModel(found.device, unit);
}

export const NEW: TubeState = {
  area: 1,
  saturation_A: 0.1,
  gasRatio: 0,
  gridEmission_A: 0,
  contactShift_V: 0,
  interface_ohm: 0,
};

/** States of wear in which every term of the equations takes part. Invented. */
export const STATES: readonly TubeState[] = [
  NEW,
  { ...NEW, area: 0.7, saturation_A: 0.03, gasRatio: 2e-5, contactShift_V: 0.1 },
  {
    area: 0.5,
    saturation_A: 0.004,
    gasRatio: 3e-4,
    gridEmission_A: 2e-6,
    contactShift_V: -0.25,
    interface_ohm: 400,
  },
];

export interface Sample {
  readonly volts: PinVolts;
  readonly state: TubeState;
}

/** A wide grid of pin voltages, far outside any rating too, in every state. */
export function samplesFor(electrodes: readonly Electrode[]): readonly Sample[] {
  if (electrodes.includes('signalGrid'))
    return STATES.flatMap((state) =>
      [-20, 1, 40, 120, 300].flatMap((plate) =>
        [0, 15, 100].flatMap((screen) =>
          [-30, -8, -2, 0, 4].flatMap((oscillatorGrid) =>
            [-40, -10, -2, 0, 1].map((signalGrid) => ({
              state,
              volts: {
                plate: plate + 2,
                screen: screen + 2,
                oscillatorGrid: oscillatorGrid + 2,
                signalGrid: signalGrid + 2,
                cathode: 2,
              },
            })),
          ),
        ),
      ),
    );
  const screens = electrodes.includes('screen') ? [0, 15, 100, 280] : [0];
  return STATES.flatMap((state) =>
    [-20, 0, 1, 8, 40, 120, 250, 450].flatMap((plate) =>
      screens.flatMap((screen) =>
        [-50, -12, -4, -1.5, -0.7, -0.2, 0, 0.6, 3, 12].map((grid) => ({
          state,
          volts: { plate: plate + 2, screen: screen + 2, grid: grid + 2, cathode: 2 },
        })),
      ),
    ),
  );
}
