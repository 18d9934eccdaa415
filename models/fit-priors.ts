import type { OperatingPoint, Unit } from './device.ts';

/** What is known of a parameter before any point of the type is seen. */
export interface Prior {
  readonly name: string;
  readonly typical: number;
  readonly low: number;
  readonly high: number;
  readonly scale: 'linear' | 'log';
  /** One standard deviation, in ln for a log scale. Without it the points alone decide. */
  readonly spread?: number;
  readonly fixed?: boolean;
  /** The prior is on value/mu, about `overMuTypical`. */
  readonly overMu?: boolean;
  readonly overMuTypical: number;
}

const log = (name: string, typical: number, low: number, high: number, spread?: number): Prior => ({
  name,
  typical: Math.min(high, Math.max(low, typical)),
  low,
  high,
  scale: 'log',
  overMuTypical: 1,
  ...(spread === undefined ? {} : { spread }),
});
const linear = (
  name: string,
  typical: number,
  low: number,
  high: number,
  spread: number,
): Prior => ({ name, typical, low, high, scale: 'linear', spread, overMuTypical: 1 });
const held = (name: string, value: number): Prior => ({
  name,
  typical: value,
  low: value,
  high: value,
  scale: 'linear',
  fixed: true,
  overMuTypical: 1,
});
const kp = (mu: number, overMu: number, spread: number): Prior => ({
  ...log('kp', overMu * mu, 1, 5000, spread),
  overMu: true,
  overMuTypical: overMu,
});

/**
 * Parameters of a unit with their bounds and typical values, by its character. The typical values are those of published
 * fits of such tubes (Koren 1996 for mu, ex, kp, kvb) and of this project's own fits; see the family's README.
 */
export function priorsOf(unit: Unit): readonly Prior[] {
  const operating = unit.points.filter(
    (point): point is OperatingPoint => point.kind === 'operating' && point.use === 'fit',
  );
  const first = operating[0];
  const current_mA = first?.plate_mA ?? 5;
  switch (unit.character) {
    case 'triode': {
      const mu = first?.mu ?? (first?.gm_mS ?? 2) * 1e-3 * (first?.rp_ohm ?? 10e3);
      return [
        log('mu', mu, 2, 200),
        linear('ex', 1.4, 1.2, 1.75, 0.1),
        log('kg1', 1000, 20, 50e3),
        kp(mu, 5, 0.6),
        log('kvb', 300, 1, 3e4, 1),
        linear('vct', 0.2, -1, 1.5, 0.4),
      ];
    }
    case 'sharp':
      return pentode(30, [1.4, 0.1], [5.5, 0.5], current_mA, [1.2, 0.1], 6e-5, [6, 0.7], first);
    case 'beam':
      return pentode(9.5, [1.4, 0.1], [6, 0.5], current_mA, [1.6, 0.2], 3e-4, [7, 0.7], first);
    case 'remote':
      return pentode(60, [1.5, 0.1], [4, 0.5], current_mA, [1.2, 0.1], 6e-5, [6, 0.7], first);
    default:
      return [];
  }
}

function pentode(
  mu: number,
  [ex, exSpread]: readonly [number, number],
  [kpOverMu, kpSpread]: readonly [number, number],
  current_mA: number,
  [m, mSpread]: readonly [number, number],
  lambda: number,
  [kvb, kvbSpread]: readonly [number, number],
  first: OperatingPoint | undefined,
): readonly Prior[] {
  const remote = mu === 60;
  const kg1 = Math.min(20e3, Math.max(60, 15e3 / current_mA));
  const share = (first?.screen_mA ?? current_mA / 4) / current_mA;
  return [
    log('mu', mu, 3, 250),
    linear('ex', ex, 1.2, 1.8, exSpread),
    log('kg1', kg1, 20, 50e3),
    log('kg2', kg1 / Math.PI / share, 20, 1e6),
    kp(mu, kpOverMu, kpSpread),
    held('kvs', 0),
    linear('vct', 0.2, -1, 1.5, 0.4),
    log('kvb', kvb, 0.5, 60, kvbSpread),
    linear('kn', 0.3, 0, 2, 0.2),
    linear('m', m, 1, 3, mSpread),
    log('lambda', lambda, 1e-6, 3e-3, 1),
    linear('kappa', 0.8, 0.5, 1, 0.1),
    ...(remote
      ? [
          held('sections', 6),
          linear('muStep', 0.55, 0.4, 0.75, 0.05),
          linear('weightStep', 0.45, 0.1, 0.8, 0.1),
          linear('weightBend', 0.95, 0.6, 1, 0.05),
        ]
      : [held('sections', 1), held('muStep', 1), held('weightStep', 0), held('weightBend', 1)]),
  ];
}
