import type { Electrode, Leak, PinAmps, PinVolts } from '../src/types.ts';

/** Currents into the pins through ohmic paths, A. The circuit adds the same paths as parts. */
export function leakCurrents(volts: PinVolts, leaks: readonly Leak[]): PinAmps {
  const amps: Partial<Record<Electrode, number>> = {};
  for (const { between, siemens } of leaks) {
    const [a, b] = between;
    const i = siemens * ((volts[a] ?? 0) - (volts[b] ?? 0));
    amps[a] = (amps[a] ?? 0) + i;
    amps[b] = (amps[b] ?? 0) - i;
  }
  return amps;
}
