/** What one instrument's emission test does to a tube of one type: test current, compression, gain of the scale. */
import { normalCdf, Z90 } from '../numerics/normal.ts';
import { Problem } from '../problem.ts';
import type { Known } from '../types.ts';
import { isNamed, type TubeFacts } from './facts.ts';
import { REJECT_MARK, TEST_CURRENT_SD, UNKNOWN_TEST_CURRENT } from './priors.ts';
import type { EmissionTest } from './profile.ts';
import type { EmissionReading } from './readings.ts';
import { driveGain } from './split.ts';

export interface TestCurrent {
  readonly median_A: number;
  /** Of the natural logarithm. */
  readonly sd: number;
  readonly known: Known;
  /** Volts across a new tube at that current, by the tube's own diode law. */
  readonly tube_V?: number;
}

/**
 * Current X of a new tube in the emission test. A percentage says nothing of saturation in amperes without it.
 * From the profile's table, else from test volts and load through the tube's own diode law, else a wide prior.
 */
export function testCurrent(test: EmissionTest, tube: TubeFacts): TestCurrent {
  const listed = Object.entries(test.testCurrents_A ?? {}).find(([name]) =>
    isNamed(tube, name),
  )?.[1];
  if (listed !== undefined) {
    return { median_A: listed, sd: TEST_CURRENT_SD.table, known: 'read', ...voltsAt(listed, tube) };
  }
  const point = loadedPoint(test, tube);
  if (point !== undefined) {
    return {
      median_A: point.current_A,
      sd: TEST_CURRENT_SD.model,
      known: 'read',
      tube_V: point.tube_V,
    };
  }
  const median_A = tube.newSaturation_A / UNKNOWN_TEST_CURRENT.reserve;
  return {
    median_A,
    sd: UNKNOWN_TEST_CURRENT.sd,
    known: 'prior',
    ...voltsAt(median_A, tube),
  };
}

/** No emission test goes higher. */
const MOST_V = 500;

/** Volts at which a new tube, all electrodes tied, gives a current; nothing where its law does not go so far. */
function voltsAt(amps: number, { diodeCurrent_A }: TubeFacts): { readonly tube_V?: number } {
  if (diodeCurrent_A === undefined || !(diodeCurrent_A(MOST_V) > amps)) return {};
  let low = 0;
  let high = MOST_V;
  for (let i = 0; i < 40; i += 1) {
    const middle = (low + high) / 2;
    if (diodeCurrent_A(middle) < amps) low = middle;
    else high = middle;
  }
  return { tube_V: high };
}

/** Where a new tube, all electrodes tied, meets the test's load line. */
function loadedPoint(
  test: EmissionTest,
  tube: TubeFacts,
): { current_A: number; tube_V: number } | undefined {
  const { test_V, load_ohm } = test;
  if (test_V === undefined || load_ohm === undefined || tube.diodeCurrent_A === undefined) return;
  let low = 0;
  let high = test_V;
  for (let i = 0; i < 60; i += 1) {
    const middle = (low + high) / 2;
    if (middle + load_ohm * tube.diodeCurrent_A(middle) < test_V) low = middle;
    else high = middle;
  }
  return { current_A: tube.diodeCurrent_A(low), tube_V: low };
}

export interface Compression {
  /** q of the test under one standard normal; 1 = stiff. */
  at(z: number): number;
  readonly known: Known;
}

/** Share of the open-circuit test volts that a new tube sees. From terminal volts, the load, two or more known tubes, else a prior. */
export function compression(test: EmissionTest, tube: TubeFacts): Compression {
  const own = ownCompression(test, tube);
  if (own !== undefined) return measured(own.median, own.sd);
  const fit = calibration(test, tube);
  if (fit?.q !== undefined) return measured(fit.q.median, fit.q.sd);
  // Median 0.80, 90 % within 0.43–0.99: instruments of every kind, no source.
  return { at: (z) => 0.35 + 0.65 * normalCdf(0.5 + z), known: 'prior' };
}

/** From the terminal volts, or from test volts and load through the tube's own diode law. */
function ownCompression(
  test: EmissionTest,
  tube: TubeFacts,
): { readonly median: number; readonly sd: number } | undefined {
  const { openTerminal_V, newTubeTerminal_V } = test;
  if (openTerminal_V !== undefined && newTubeTerminal_V !== undefined)
    return { median: newTubeTerminal_V / openTerminal_V, sd: 0.02 };
  const point = loadedPoint(test, tube);
  return point === undefined || test.test_V === undefined
    ? undefined
    : { median: point.tube_V / test.test_V, sd: 0.05 };
}

function measured(q: number, sd: number): Compression {
  return { at: (z) => Math.min(Math.max(q + sd * z, 0.2), 1), known: 'read' };
}

export interface Calibration {
  /** ln of (scale reading over true emission as a fraction of new). */
  readonly lnGain: number;
  readonly sd: number;
  /** Set where two or more known tubes far enough apart tell the compression. */
  readonly q?: { readonly median: number; readonly sd: number };
}

/** Scatter of the scale between tube types, of the logarithm: common practice, no source. */
const BETWEEN_TYPES_SD = 0.08;

/**
 * Gain and compression of the scale from tubes of known emission: weighted least squares in the logarithm for each q
 * of a grid, weighed by its likelihood and by what else is known of q. Tubes of another type count less.
 */
export function calibration(test: EmissionTest, tube: TubeFacts): Calibration | undefined {
  const known = test.knownTubes ?? [];
  if (known.length === 0) return undefined;
  const reading_sd = test.accuracy_percent / 100 / Z90;
  const rows = known.map((one) => ({
    truth: one.true_percent / 100,
    lnReading: Math.log(plainScale(test, one.reading)),
    weight: 1 / (reading_sd ** 2 + (isNamed(tube, one.type) ? 0 : BETWEEN_TYPES_SD ** 2)),
  }));
  const total = rows.reduce((sum, { weight }) => sum + weight, 0);
  const fits = Array.from({ length: 36 }, (_, i) => {
    const q = 0.3 + 0.02 * i;
    const logs = rows.map((row) => row.lnReading - Math.log(compressedReading(row.truth, q)));
    const lnGain = rows.reduce((sum, row, k) => sum + row.weight * (logs[k] ?? 0), 0) / total;
    const chi2 = rows.reduce((sum, row, k) => sum + row.weight * ((logs[k] ?? 0) - lnGain) ** 2, 0);
    return { q, lnGain, chi2, likelihood: 0 };
  });
  const best = Math.min(...fits.map(({ chi2 }) => chi2));
  const given = ownCompression(test, tube);
  for (const fit of fits) {
    const off = given === undefined ? 0 : (fit.q - given.median) / given.sd;
    fit.likelihood = Math.exp(-(fit.chi2 - best + off ** 2) / 2);
  }
  const mean = (of: (fit: (typeof fits)[number]) => number): number =>
    fits.reduce((sum, fit) => sum + fit.likelihood * of(fit), 0) /
    fits.reduce((sum, fit) => sum + fit.likelihood, 0);
  const q = mean((fit) => fit.q);
  const q_sd = Math.sqrt(mean((fit) => (fit.q - q) ** 2));
  const lnGain = mean((fit) => fit.lnGain);
  // Scatter beyond the stated accuracy widens the error (Birge ratio).
  const birge = rows.length > 2 ? Math.sqrt(Math.max(1, best / (rows.length - 2))) : 1;
  const own = known.some(({ type }) => isNamed(tube, type));
  const sd = Math.hypot(
    birge / Math.sqrt(total),
    own ? 0 : BETWEEN_TYPES_SD,
    Math.sqrt(mean((fit) => (fit.lnGain - lnGain) ** 2)),
  );
  return { lnGain, sd, ...(rows.length > 1 && q_sd < 0.12 ? { q: { median: q, sd: q_sd } } : {}) };
}

/** Reading (over new) of a tube that has lost area alone: e = a·W(e). */
function compressedReading(area: number, q: number): number {
  let low = 0;
  let high = q < 1 ? Math.min(1 / (1 - q), 10) : 10;
  for (let i = 0; i < 50; i += 1) {
    const e = (low + high) / 2;
    if (area * driveGain(e, q) > e) low = e;
    else high = e;
  }
  return (low + high) / 2;
}

/** Scale reading as it stands: a fraction for percent, divisions over the new tube's where the profile has them. */
function plainScale(test: EmissionTest, reading: number): number {
  const { scale } = test;
  if (scale.kind === 'percent') return reading / 100;
  if (scale.kind === 'divisions' && scale.newTube !== undefined) return reading / scale.newTube;
  return reading;
}

export interface EmissionMeaning {
  /** Emission over a new tube's, under the reading error and the error of the scale; X is the draw's test current. */
  e(zReading: number, zScale: number, testCurrent_A: number): number;
  /** The scale itself is uncertain: reject mark or calibration. */
  readonly scaleUncertain: boolean;
  /** Set when only an interval is known, its ends under the error of the scale: the drop says where in it. */
  interval?(zScale: number): readonly [number, number];
}

/** What one emission reading means, over a new tube's. The reading has been checked. */
export function emissionMeaning(
  reading: EmissionReading,
  test: EmissionTest,
  tube: TubeFacts,
  place: string,
): EmissionMeaning {
  const sd = test.accuracy_percent / 100 / Z90;
  const error = (z: number): number => Math.exp(sd * z);
  if (reading.zone !== undefined) return zoneMeaning(reading.zone, test, place);
  if (reading.milliamps !== undefined) {
    const { milliamps } = reading;
    return {
      e: (z, _zScale, testCurrent_A) => (milliamps * 1e-3 * error(z)) / testCurrent_A,
      scaleUncertain: false,
    };
  }
  const { scale } = test;
  if (reading.divisions !== undefined && scale.kind !== 'divisions') {
    throw new Problem('does-not-fit', 'Divisions were read, but the profile has no divisions.', {
      place,
      found: `${String(reading.divisions)} divisions`,
      expected: `a reading in ${scale.kind}`,
    });
  }
  const fit = calibration(test, tube);
  const given = reading.percent ?? reading.divisions ?? Number.NaN;
  if (reading.percent !== undefined && scale.kind !== 'percent') {
    // A percentage worked out by the user: the scale's own gain does not apply.
    return { e: (z) => (given / 100) * error(z), scaleUncertain: false };
  }
  if (fit !== undefined) {
    const plain = plainScale(test, given);
    return {
      e: (z, zScale) => plain * error(z) * Math.exp(-fit.lnGain - fit.sd * zScale),
      scaleUncertain: true,
    };
  }
  if (scale.kind !== 'divisions')
    return { e: (z) => (given / 100) * error(z), scaleUncertain: false };
  if (scale.newTube !== undefined) {
    const { newTube } = scale;
    return { e: (z) => (given / newTube) * error(z), scaleUncertain: false };
  }
  if (scale.rejectMark === undefined) {
    throw new Problem('missing', 'The profile does not say what a division means.', {
      place,
      expected: 'newTube, rejectMark or knownTubes in the profile',
      hint: 'Read a known good tube of this type once and enter it.',
    });
  }
  const atMark = (scale.reject_percent ?? REJECT_MARK.percent) / 100 / scale.rejectMark;
  return {
    e: (z, zScale) => given * atMark * error(z) * Math.exp(REJECT_MARK.sd * zScale),
    scaleUncertain: true,
  };
}

function zoneMeaning(name: string, test: EmissionTest, place: string): EmissionMeaning {
  const zones = test.scale.kind === 'zones' ? test.scale.zones : [];
  const zone = zones.find((one) => one.name === name);
  if (zone === undefined) {
    throw new Problem('unknown-name', 'The profile has no zone of this name.', {
      place,
      found: name,
      expected:
        zones.length === 0 ? 'a profile with zones' : zones.map((one) => one.name).join(', '),
    });
  }
  // The pointer errs as on any other scale, so a tube near an edge may stand in the next zone.
  const sd = test.accuracy_percent / 100 / Z90;
  const interval = (zScale: number): readonly [number, number] => {
    const error = Math.exp(sd * zScale);
    return [(Math.max(zone.from_percent, 0.5) / 100) * error, (zone.to_percent / 100) * error];
  };
  return {
    e: (z, zScale) => {
      const [from, to] = interval(zScale);
      return from + (to - from) * normalCdf(z);
    },
    scaleUncertain: true,
    interval,
  };
}
