/** An instrument as a scenario file says it; invented. */
export const WRITTEN_BENCH = {
  name: 'invented',
  emission: { scale: { kind: 'percent' }, test_V: 30, load_ohm: 220, accuracy_percent: 5 },
  leakage: {
    volts: 100,
    grid: 'negative',
    withPlateCurrent: false,
    top_ohm: 1e9,
    short_ohm: 2e5,
    accuracy_percent: 10,
  },
};
