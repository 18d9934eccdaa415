import { fundamental, meanOf, thdPercent } from '../src/numerics/harmonics.ts';
import type { TubeModel } from '../src/types.ts';
import { newTubeState } from './cathode.ts';

/** A single output tube at full drive: voltages of the electrodes to the cathode, as handbooks give typical operation. */
export interface Drive {
  readonly plate_V: number;
  readonly screen_V?: number;
  readonly grid_V: number;
  /** Peak of the sine on the grid. */
  readonly drive_V: number;
  readonly load_ohm: number;
}

export interface Driven {
  /** Of the fundamental. */
  readonly power_W: number;
  readonly distortion_percent: number;
  /** Means over the cycle. */
  readonly plate_mA: number;
  readonly screen_mA: number;
}

/** Instants of the half cycle at (k + 1/2)π/8; the other half is its mirror. As the stages take it. */
const INSTANTS = 8;
const MOST_STEPS = 100;
/** Voltages are settled within this share of the supply. */
const SETTLED = 1e-11;
/** For the slope of the plate current, V. */
const STEP_V = 1e-3;

/**
 * The tube goes along its load line, plate = supply − load·(current − mean current): the transformer passes the mean, and
 * no grid current flows through any resistance. NaN where the voltages do not settle.
 */
export function drivenTube(model: TubeModel, at: Drive): Driven {
  const state = newTubeState(model);
  const { load_ohm } = at;
  const grids_V = Array.from(
    { length: INSTANTS },
    (_, k) => at.grid_V + at.drive_V * Math.cos(((k + 0.5) * Math.PI) / INSTANTS),
  );
  const amps = (plate: number, grid: number) =>
    model.currents({ plate, screen: at.screen_V ?? 0, grid, cathode: 0 }, state);
  let plates_V = grids_V.map(() => at.plate_V);
  let mean_A = amps(at.plate_V, at.grid_V).plate ?? 0;
  let moved_V = Infinity;
  // Newton's steps for all plate voltages and the mean together: each plate hangs on the mean only.
  for (let step = 0; step < MOST_STEPS && moved_V > SETTLED * at.plate_V; step += 1) {
    const instants = plates_V.map((plate_V, k) => {
      const grid_V = grids_V[k] ?? NaN;
      const here_A = amps(plate_V, grid_V).plate ?? 0;
      const slope_S =
        ((amps(plate_V + STEP_V, grid_V).plate ?? 0) -
          (amps(plate_V - STEP_V, grid_V).plate ?? 0)) /
        (2 * STEP_V);
      const missed_V = plate_V - at.plate_V - load_ohm * (mean_A - here_A);
      return { plate_V, here_A, slope_S, missed_V, stiffness: 1 + load_ohm * slope_S };
    });
    const meanMissed_A =
      mean_A - meanOf(instants.map((i) => i.here_A - (i.slope_S * i.missed_V) / i.stiffness));
    const move_A = -meanMissed_A / meanOf(instants.map(({ stiffness }) => 1 / stiffness));
    plates_V = instants.map(({ plate_V, missed_V, stiffness }) =>
      // Beyond the knee the plate draws hardly anything, and the next step would come back from far above.
      Math.max(0.6 * plate_V, plate_V + (load_ohm * move_A - missed_V) / stiffness),
    );
    mean_A += move_A;
    moved_V = Math.max(...plates_V.map((v, k) => Math.abs(v - (instants[k]?.plate_V ?? NaN))));
  }
  if (!(moved_V <= SETTLED * at.plate_V)) plates_V = plates_V.map(() => NaN);
  const cycle = plates_V.map((plate_V, k) => amps(plate_V, grids_V[k] ?? NaN));
  return {
    power_W: fundamental(plates_V) ** 2 / (2 * load_ohm),
    distortion_percent: thdPercent(plates_V),
    plate_mA: 1e3 * meanOf(cycle.map(({ plate }) => plate ?? NaN)),
    screen_mA: 1e3 * meanOf(cycle.map(({ screen }) => screen ?? 0)),
  };
}
