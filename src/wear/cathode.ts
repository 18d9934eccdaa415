import { normalCdf, Z90 } from '../numerics/normal.ts';
import { smoothStep } from '../numerics/smooth-step.ts';
import type { Draw, Known, Unknown } from '../types.ts';
import type { TubeFacts } from './facts.ts';
import {
  compression,
  emissionMeaning,
  testCurrent,
  type Compression,
  type TestCurrent,
} from './instrument.ts';
import { areaFromGm, gmRatio } from './transconductance.ts';
import {
  BLEND,
  CATHODE_LAG_S,
  HEATER_EXPONENT,
  LARGEST_AREA,
  NEW_SATURATION,
  RECOVERY,
  SPACE_CHARGE_FALL,
  UNREAD_EMISSION,
  WORK_FUNCTION,
} from './priors.ts';
import type { InstrumentProfile } from './profile.ts';
import type { Readings } from './readings.ts';
import {
  areaFor,
  driveGain,
  newTubeShare,
  saturationFor,
  split,
  starvedRatio,
  type SplitAssumptions,
} from './split.ts';

/** One cathode under one draw. */
export interface CathodeState {
  readonly area: number;
  /** At rated heater volts, A. */
  readonly saturation_A: number;
  /** Saturation over the test current of a new tube. */
  readonly reserve: number;
  /** Emission over a new tube's. */
  readonly emission: number;
  /** The readings gave saturation alone; the area is a prior. */
  readonly areaUndetermined: boolean;
  /** The drop is too small to tell a saturation from a new tube's. */
  readonly saturationBeyond: boolean;
}

export interface CathodeReading {
  readonly unknowns: readonly Unknown[];
  at(draw: Draw): CathodeState;
  /** The least saturation that the emission reading allows, the rest of the draw central; for a drop nobody has read. */
  weakest(draw: Draw): CathodeState;
  newSaturation_A(draw: Draw): number;
  /** The emission is a lower bound: it was rising, or the tube comes from a shelf. */
  readonly rising: boolean;
  readonly testCurrentKnown: Known;
  readonly compressionKnown: Known;
  readonly emissionKnown: Known;
  readonly dropKnown: Known;
}

/** Saturation current of a bogey tube under a draw, A. */
export function newSaturation_A(tube: TubeFacts, draw: Draw): number {
  const sd = tube.newSaturation_sd ?? NEW_SATURATION.sd;
  return tube.newSaturation_A * Math.exp(sd * (draw['newSaturation'] ?? 0));
}

/** What of the profile does not change with the draw. */
export interface Context {
  readonly current: TestCurrent;
  readonly compression: Compression;
  /** Of the reading; else the profile's. */
  readonly heater_percent?: number;
  /** A reading in mA bounds an unknown test current. */
  readonly milliamps?: number;
}

/** Everything that the emission test rests on, under a draw. */
export function assumptions(
  profile: InstrumentProfile,
  tube: TubeFacts,
  context: Context,
  draw: Draw,
): { of: SplitAssumptions; testCurrent_A: number } {
  const z = (name: string): number => draw[name] ?? 0;
  const { current } = context;
  let testCurrent_A = current.median_A * Math.exp(current.sd * z('testCurrent'));
  if (context.milliamps !== undefined && current.known !== 'read') {
    // No tube reads a third above new.
    testCurrent_A = Math.max(testCurrent_A, (context.milliamps * 1e-3) / 1.3);
  }
  const v = (context.heater_percent ?? profile.starvedHeater?.heater_percent ?? 90) / 100;
  const n = profile.emission.halfWave === true ? BLEND.halfWaveMedian : BLEND.median;
  const fall = SPACE_CHARGE_FALL.median + SPACE_CHARGE_FALL.sd * z('spaceChargeFall');
  return {
    testCurrent_A,
    of: {
      n: n * Math.exp(BLEND.sd * z('blendSharpness')),
      q: context.compression.at(z('compression')),
      s0: Math.max(newSaturation_A(tube, draw) / testCurrent_A, 1.05),
      r: starvedRatio(
        v,
        WORK_FUNCTION.median + WORK_FUNCTION.sd * z('workFunction'),
        HEATER_EXPONENT.median + HEATER_EXPONENT.sd * z('heaterExponent'),
      ),
      c: 1 - Math.max(0, fall) * (1 - v),
      largestArea: LARGEST_AREA.median * Math.exp(LARGEST_AREA.sd * z('largestArea')),
    },
  };
}

/** Hours after which a tube counts as shelf stock. */
const SHELF_HOURS = 2000;
/** The area is a prior once the drive exceeds saturation by this: (drive/saturation)^n from … to. */
const SATURATED_Y = [3, 12] as const;

/**
 * Emission and starved-heater readings -> area and saturation, every assumption an unknown of the draw.
 * A drop that was not read leaves the saturation anywhere between what the emission needs and a new tube's.
 */
export function readCathode(
  readings: Readings,
  profile: InstrumentProfile,
  tube: TubeFacts,
  place: string,
): CathodeReading {
  const test = profile.emission;
  const current = testCurrent(test, tube);
  const q = compression(test, tube);
  const emissions = readings.emission ?? [];
  const last = emissions.at(-1);
  const meaning =
    last === undefined
      ? undefined
      : emissionMeaning(last, test, tube, `${place}.emission[${String(emissions.length - 1)}]`);
  const relativeGm = gmRatio(readings, tube);
  const starved = readings.starvedHeater;
  const rising =
    isRising(readings, profile, tube, place) ||
    readings.noticed?.includes('shelfStock') === true ||
    (readings.hoursSinceLastUsed ?? 0) > SHELF_HOURS;

  const context: Context = {
    current,
    compression: q,
    ...(starved?.heater_percent === undefined ? {} : { heater_percent: starved.heater_percent }),
    ...(last?.milliamps === undefined ? {} : { milliamps: last.milliamps }),
  };

  const draw_ = (draw: Draw) => {
    const z = (name: string): number => draw[name] ?? 0;
    const { of, testCurrent_A: x_A } = assumptions(profile, tube, context, draw);
    const read =
      meaning?.e(z('emissionReading'), meaning.scaleUncertain ? z('emissionScale') : 0, x_A) ??
      UNREAD_EMISSION.median * Math.exp(UNREAD_EMISSION.sd * z('emission'));
    const recovered = rising ? Math.exp(RECOVERY.sd * Math.max(0, z('recovery'))) : 1;
    // A compressing test cannot read beyond its own open-circuit limit.
    const e = Math.min(Math.max(read * recovered, 1e-3), of.q < 1 ? 0.98 / (1 - of.q) : 10, 3);
    return { z, of, x_A, e };
  };

  const finish = (
    e: number,
    x_A: number,
    of: SplitAssumptions,
    s: number,
    flags: { areaUndetermined: boolean; saturationBeyond: boolean },
  ): CathodeState => ({
    area: areaFor(e, s, of),
    saturation_A: s * x_A,
    reserve: s,
    emission: e,
    ...flags,
  });

  const at = (draw: Draw): CathodeState => {
    const { z, of, x_A, e } = draw_(draw);
    const cap = Math.max(of.s0, 1.3 * e);
    if (starved === undefined) {
      const s = unreadSaturation(e, cap, of, normalCdf(z('saturation')));
      if (meaning === undefined && relativeGm !== undefined) {
        return {
          area: areaFromGm(relativeGm, s * x_A, of.n, z('transconductanceReading'), tube),
          saturation_A: s * x_A,
          reserve: s,
          emission: Number.NaN,
          areaUndetermined: false,
          saturationBeyond: true,
        };
      }
      return finish(e, x_A, of, s, { areaUndetermined: false, saturationBeyond: true });
    }
    const d = dropOf(readings, profile, z('dropReading'), z('cathodeLag'));
    const found = split(e, d, of);
    if (found.s >= cap) {
      return finish(e, x_A, of, cap, { areaUndetermined: false, saturationBeyond: true });
    }
    // Deep in saturation the area no longer shows: let it range from what the drive needs to the largest.
    const depth = smoothStep((found.y - SATURATED_Y[0]) / (SATURATED_Y[1] - SATURATED_Y[0]));
    const least = found.area * (1 + SATURATED_Y[0]) ** (1 / of.n) * (1 + found.y) ** (-1 / of.n);
    const area =
      found.area * Math.min(least / found.area, 1) ** (depth * normalCdf(z('areaUntold')));
    const s = depth > 0 ? saturationFor(e, area, of) : found.s;
    return {
      area,
      saturation_A: s * x_A,
      reserve: s,
      emission: e,
      areaUndetermined: found.areaUndetermined || depth > 0.5,
      saturationBeyond: false,
    };
  };

  const weakest = (draw: Draw): CathodeState => {
    const { of, x_A, e } = draw_(draw);
    return finish(e, x_A, of, Math.min(leastSaturation(e, of), Math.max(of.s0, 1.3 * e)), {
      areaUndetermined: false,
      saturationBeyond: false,
    });
  };

  const emissionKnown: Known =
    meaning !== undefined || relativeGm !== undefined ? 'read' : 'unread';
  const dropKnown: Known = starved === undefined ? 'unread' : 'read';
  const unknowns: Unknown[] = [
    { name: 'newSaturation', known: 'prior', title: 'saturation current of new cathodes' },
    { name: 'testCurrent', known: current.known, title: 'test current of a new tube' },
    { name: 'compression', known: q.known, title: 'how much the test voltage gives way' },
    { name: 'blendSharpness', known: 'prior', title: 'how sharply the cathode saturates' },
    { name: 'largestArea', known: 'prior', title: 'largest area of a tube of the type' },
  ];
  if (meaning === undefined) {
    unknowns.push(
      relativeGm === undefined
        ? { name: 'emission', known: 'unread', title: 'emission, not read' }
        : {
            name: 'transconductanceReading',
            known: 'read',
            title: 'error of the transconductance reading',
          },
    );
  } else {
    unknowns.push({
      name: 'emissionReading',
      known: 'read',
      title: 'error of the emission reading',
    });
    if (meaning.scaleUncertain) {
      unknowns.push({ name: 'emissionScale', known: 'prior', title: 'meaning of the scale' });
    }
  }
  if (rising) {
    unknowns.push({ name: 'recovery', known: 'prior', title: 'emission still to come back' });
  }
  if (starved === undefined) {
    unknowns.push({ name: 'saturation', known: 'unread', title: 'saturation, drop not read' });
  } else {
    unknowns.push(
      { name: 'dropReading', known: 'read', title: 'error of the drop reading' },
      { name: 'cathodeLag', known: 'prior', title: 'time the cathode takes to cool' },
      { name: 'workFunction', known: 'prior', title: 'work function of the cathode' },
      { name: 'heaterExponent', known: 'prior', title: 'cathode temperature over heater volts' },
      {
        name: 'spaceChargeFall',
        known: 'prior',
        title: 'share of the drop that is not saturation',
      },
      { name: 'areaUntold', known: 'prior', title: 'area that full saturation hides' },
    );
  }
  return {
    unknowns,
    at,
    weakest,
    newSaturation_A: (draw) => newSaturation_A(tube, draw),
    rising,
    testCurrentKnown: current.known,
    compressionKnown: q.known,
    emissionKnown,
    dropKnown,
  };
}

/** Fractional drop under its reading error, corrected for a low heater voltage that was not held long enough. */
function dropOf(
  readings: Readings,
  profile: InstrumentProfile,
  zReading: number,
  zLag: number,
): number {
  const held = readings.starvedHeater?.heldSeconds ?? profile.starvedHeater?.heldSeconds;
  const points = profile.starvedHeater?.accuracy_points ?? 3;
  const seen = (readings.starvedHeater?.drop_percent ?? 0) / 100 + (points / 100 / Z90) * zReading;
  return Math.min(Math.max(seen / heldShare(held, zLag), 0), 0.99);
}

/** Share of the final drop reached after `held` seconds; unknown holding is taken as a minute, less surely. */
export function heldShare(held: number | undefined, zLag: number): number {
  const tau =
    CATHODE_LAG_S.median * Math.exp(CATHODE_LAG_S.sd * (held === undefined ? 2 : 1) * zLag);
  return -Math.expm1(-(held ?? 60) / tau);
}

function isRising(
  readings: Readings,
  profile: InstrumentProfile,
  tube: TubeFacts,
  place: string,
): boolean {
  const timed = readings.emission ?? [];
  const first = timed[0];
  const last = timed.at(-1);
  if (first === undefined || last === undefined || timed.length < 2) return false;
  const of = (one: typeof first, i: number): number =>
    emissionMeaning(one, profile.emission, tube, `${place}.emission[${String(i)}]`).e(0, 0, 1);
  // Only a rise after the first minutes: every tube warms up.
  const before = timed.findLast((one, i) => i < timed.length - 1 && (one.minutes ?? 0) >= 2);
  return before !== undefined && of(last, timed.length - 1) > 1.04 * of(before, 0);
}

/** Saturation with the largest area there is: everything else that is missing is missing from the cathode. */
function leastSaturation(e: number, of: SplitAssumptions): number {
  const needed = (e * newTubeShare(of.s0, of.n)) / driveGain(e, of.q);
  return saturationFor(e, Math.max(of.largestArea, 1.02 * needed), of);
}

/**
 * Saturation where no drop was read. Area and the logarithm of saturation are taken as equally likely beforehand; along
 * the line of all pairs that give this emission the density of the drive x is then x²/(x² − w²), w the emission itself
 * (for a blend of n = 2, and near enough for the others). Integrated in closed form, inverted by bisection.
 *
 * @param u 0 … 1: 0 the least saturation, with the largest area; 1 that of a new cathode
 */
function unreadSaturation(e: number, cap: number, of: SplitAssumptions, u: number): number {
  const w = e * newTubeShare(of.s0, of.n);
  const least = leastSaturation(e, of);
  if (!(least < cap)) return cap;
  const drive = (s: number): number => (w ** -of.n - s ** -of.n) ** (-1 / of.n);
  const from = Math.max(drive(cap), w * (1 + 1e-9));
  const to = drive(least);
  const mass = (x: number): number => x + (w / 2) * Math.log((x - w) / (x + w));
  const wanted = mass(to) - u * (mass(to) - mass(from));
  let low = from;
  let high = to;
  for (let i = 0; i < 50; i += 1) {
    const x = (low + high) / 2;
    if (mass(x) < wanted) low = x;
    else high = x;
  }
  const rest = w ** -of.n - ((low + high) / 2) ** -of.n;
  return rest <= 0 ? cap : Math.min(rest ** (-1 / of.n), cap);
}
