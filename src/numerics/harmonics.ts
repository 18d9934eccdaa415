/**
 * Harmonics from samples of one cycle. Two ways of sampling:
 * - phase samples: K values of an even function at θk = (k + ½)π/K, half a cycle (functions without "cycle" in the name);
 * - cycle samples: N values equally spaced over a whole cycle, the first at phase 0 (`cycleHarmonics`).
 */

/** Mean over the cycle, in the samples' unit. NaN without samples. */
export function meanOf(samples: ArrayLike<number>): number {
  let sum = 0;
  for (let k = 0; k < samples.length; k++) sum += samples[k] as number;
  return sum / samples.length;
}

/**
 * Cosine amplitude of one harmonic (1 = fundamental), signed, peak, in the samples' unit:
 * aₙ = (2/K) Σ xₖ cos(nθₖ). Exact for functions without harmonics from K on. NaN where K samples cannot tell (order ≥ K).
 * Source: the discrete cosine transform, type II (K. Rao, P. Yip, "Discrete Cosine Transform", 1990).
 */
export function harmonic(samples: ArrayLike<number>, order: number): number {
  const count = samples.length;
  if (!(Number.isInteger(order) && order >= 1 && order < count)) return NaN;
  let sum = 0;
  for (let k = 0; k < count; k++) {
    sum += (samples[k] as number) * Math.cos((order * (k + 0.5) * Math.PI) / count);
  }
  return (2 * sum) / count;
}

/** Fundamental, signed, peak: negative where the function falls as the drive's cosine rises. NaN below two samples. */
export function fundamental(samples: ArrayLike<number>): number {
  return harmonic(samples, 1);
}

/** Total harmonic distortion, percent of the fundamental, from orders 2 … K − 1. NaN below three samples or without a fundamental. */
export function thdPercent(samples: ArrayLike<number>): number {
  if (samples.length < 3) return NaN;
  const overtones = Array.from({ length: samples.length - 2 }, (_, k) => harmonic(samples, k + 2));
  return share(overtones, Math.abs(fundamental(samples)), peakSize(samples));
}

/** Value at phase 0, the positive peak of the drive: mean and all harmonics that the samples tell, summed. */
export function valueAtPeak(samples: ArrayLike<number>): number {
  return valueAtPhase(samples, 0);
}

/** The same at another phase, radians. */
export function valueAtPhase(samples: ArrayLike<number>, theta: number): number {
  let sum = meanOf(samples);
  for (let order = 1; order < samples.length; order++)
    sum += harmonic(samples, order) * Math.cos(order * theta);
  return sum;
}

export interface CycleHarmonics {
  readonly mean: number;
  /** Peak amplitude of order 1, 2, … at index 0, 1, …, unsigned. */
  readonly amplitudes: readonly number[];
  /** Percent of the fundamental; NaN without one. */
  readonly thdPercent: number;
}

/**
 * Harmonics of N equally spaced samples of a whole cycle, orders 1 … below N/2 (or up to `orders`).
 * Exact for functions without harmonics from N/2 on.
 */
export function cycleHarmonics(samples: ArrayLike<number>, orders = Infinity): CycleHarmonics {
  const count = samples.length;
  const highest = Math.min(orders, Math.ceil(count / 2) - 1);
  const amplitudes = Array.from({ length: Math.max(0, highest) }, (_, index) => {
    let real = 0;
    let imaginary = 0;
    for (let k = 0; k < count; k++) {
      // The product is taken modulo the cycle first, so that high orders keep their precision.
      const angle = (2 * Math.PI * (((index + 1) * k) % count)) / count;
      real += (samples[k] as number) * Math.cos(angle);
      imaginary += (samples[k] as number) * Math.sin(angle);
    }
    return (2 * Math.hypot(real, imaginary)) / count;
  });
  return {
    mean: meanOf(samples),
    amplitudes,
    thdPercent: share(amplitudes.slice(1), amplitudes[0] ?? 0, peakSize(samples)),
  };
}

/** A fundamental that is only rounding of the samples is none. */
function share(overtones: readonly number[], base: number, size: number): number {
  if (overtones.length === 0 || !(base > 1e-14 * size)) return NaN;
  return (100 * Math.hypot(...overtones)) / base;
}

function peakSize(samples: ArrayLike<number>): number {
  let largest = 0;
  for (let k = 0; k < samples.length; k++)
    largest = Math.max(largest, Math.abs(samples[k] as number));
  return largest;
}
