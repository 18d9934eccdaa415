import { densityQuantile } from '../numerics/density.ts';
import { normalCdf, Z90 } from '../numerics/normal.ts';
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
  evidence,
  lineOf,
  saturationAt,
  weakestAt,
  type DropSeen,
  type Line,
} from './saturation.ts';
import { dropFor, starvedRatio, type SplitAssumptions } from './split.ts';

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

export interface BlindDrop {
  readonly testCurrent_A: number;
  readonly least_A: number;
  readonly new_A: number;
  /** A test current at which the drop would tell. */
  readonly wanted_A: number;
}

export interface CathodeReading {
  readonly unknowns: readonly Unknown[];
  at(draw: Draw): CathodeState;
  /** The least saturation that the readings allow; for a drop nobody has read, or that does not tell. */
  weakest(draw: Draw): CathodeState;
  newSaturation_A(draw: Draw): number;
  /** The emission is a lower bound: it was rising, or the tube comes from a shelf. */
  readonly rising: boolean;
  readonly testCurrentKnown: Known;
  readonly compressionKnown: Known;
  readonly emissionKnown: Known;
  readonly dropKnown: Known;
  /**
   * Set where the test current is too small for the drop to tell the saturation: anything from `least_A` up to a new
   * cathode's goes with it.
   */
  readonly blind: BlindDrop | undefined;
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
  const shift_V =
    SPACE_CHARGE_FALL.volts *
    Math.max(0, 1 + SPACE_CHARGE_FALL.sd * z('spaceChargeFall')) *
    (1 - v);
  const test_V = current.tube_V ?? SPACE_CHARGE_FALL.usual_V;
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
      c: Math.max(1 - shift_V / test_V, 0.3) ** 1.5,
      largestArea: LARGEST_AREA.median * Math.exp(LARGEST_AREA.sd * z('largestArea')),
    },
  };
}

/** Hours after which a tube counts as shelf stock. */
const SHELF_HOURS = 2000;
/** The area is a prior once the drive exceeds saturation by this: (drive/saturation)^n. */
const SATURATED_Y = 6;
/** A drop that leaves the saturation open by more than this, up to a new cathode's, does not tell it. */
const OPEN_FACTOR = 4;
/** A drop this many of its 90 % errors above a new cathode's is none: 99 of 100. */
const SURE_NOT_NEW = 1.5;
/** A new cathode's saturation over a test current that tells it. */
const TELLING_RESERVE = 5;

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

  const lineUnder = (draw: Draw) => {
    const z = (name: string): number => draw[name] ?? 0;
    const { of, testCurrent_A: x_A } = assumptions(profile, tube, context, draw);
    const drop =
      starved === undefined
        ? undefined
        : dropOf(readings, profile, starved.drop_percent, z('cathodeLag'));
    const zone = meaning?.interval?.(z('emissionScale'));
    const read =
      zone !== undefined && drop !== undefined
        ? withinZone(zone, normalCdf(z('emissionReading')), of, drop)
        : (meaning?.e(z('emissionReading'), meaning.scaleUncertain ? z('emissionScale') : 0, x_A) ??
          UNREAD_EMISSION.median * Math.exp(UNREAD_EMISSION.sd * z('emission')));
    const recovered = rising ? Math.exp(RECOVERY.sd * Math.max(0, z('recovery'))) : 1;
    // A compressing test cannot read beyond its own open-circuit limit.
    const e = Math.min(Math.max(read * recovered, 1e-3), of.q < 1 ? 0.98 / (1 - of.q) : 10, 3);
    return { z, of, x_A, e, drop, line: lineFor(e, of) };
  };

  const at = (draw: Draw): CathodeState => {
    const { z, of, x_A, e, drop, line } = lineUnder(draw);
    const u = normalCdf(drop === undefined ? -z('saturation') : z('dropReading'));
    const { area, s, y } = saturationAt(u, line, drop);
    const saturation_A = s * x_A;
    const state = { saturation_A, reserve: s, areaUndetermined: false, saturationBeyond: true };
    if (drop === undefined && meaning === undefined && relativeGm !== undefined)
      return {
        ...state,
        area: areaFromGm(relativeGm, saturation_A, of.n, z('transconductanceReading'), tube),
        emission: Number.NaN,
      };
    return {
      ...state,
      area,
      emission: e,
      areaUndetermined: drop !== undefined && y > SATURATED_Y,
      saturationBeyond:
        drop === undefined || drop.fraction - Z90 * drop.sd < dropFor(e, line.least_y, of),
    };
  };

  const weakest = (draw: Draw): CathodeState => {
    const { x_A, e, drop, line } = lineUnder(draw);
    const { area, s } = weakestAt(line, drop);
    return {
      area,
      saturation_A: s * x_A,
      reserve: s,
      emission: e,
      areaUndetermined: false,
      saturationBeyond: false,
    };
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
    );
  }
  const blind = (): BlindDrop | undefined => {
    const ofNew = (draw: Draw): number => {
      const { e, of, line } = lineUnder(draw);
      return dropFor(e, line.least_y, of);
    };
    const { drop, x_A } = lineUnder({});
    if (drop === undefined) return undefined;
    const doubt = Math.hypot(Z90 * drop.sd, ofNew({ spaceChargeFall: Z90 }) - ofNew({}));
    const least_A = weakest({}).saturation_A;
    const new_A = newSaturation_A(tube, {});
    return drop.fraction - SURE_NOT_NEW * doubt > ofNew({}) || OPEN_FACTOR * least_A >= new_A
      ? undefined
      : { testCurrent_A: x_A, least_A, new_A, wanted_A: new_A / TELLING_RESERVE };
  };
  return {
    unknowns,
    at,
    weakest,
    blind: blind(),
    newSaturation_A: (draw) => newSaturation_A(tube, draw),
    rising,
    testCurrentKnown: current.known,
    compressionKnown: q.known,
    emissionKnown,
    dropKnown,
  };
}

const lineFor = (e: number, of: SplitAssumptions): Line => lineOf(e, Math.max(of.s0, 1.3 * e), of);

/** Points of a zone at which the drop is weighed. */
const ZONE_POINTS = 9;

/** A reading within a zone, all of it as likely until the drop is weighed, at a share of what that leaves likely. */
function withinZone(
  [from, to]: readonly [number, number],
  share: number,
  of: SplitAssumptions,
  drop: DropSeen,
): number {
  const density = Array.from({ length: ZONE_POINTS }, (_, i) =>
    evidence(lineFor(from + ((to - from) * i) / (ZONE_POINTS - 1), of), drop),
  );
  return densityQuantile(from, to, density, share);
}

/** Fractional drop with its reading error, corrected for a low heater voltage that was not held long enough. */
function dropOf(
  readings: Readings,
  profile: InstrumentProfile,
  drop_percent: number,
  zLag: number,
): DropSeen {
  const held = readings.starvedHeater?.heldSeconds ?? profile.starvedHeater?.heldSeconds;
  const points = profile.starvedHeater?.accuracy_points ?? 3;
  const share = 100 * heldShare(held, zLag);
  return { fraction: Math.min(drop_percent / share, 0.99), sd: points / Z90 / share };
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
