import type { Character, OperatingPoint, Unit } from './device.ts';

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
  /** Set where the prior is on value/mu, about this. */
  readonly overMu?: number;
}

type Bounds = readonly [low: number, high: number];

const log = (name: string, typical: number, [low, high]: Bounds, spread?: number): Prior => ({
  name,
  typical: Math.min(high, Math.max(low, typical)),
  low,
  high,
  scale: 'log',
  ...(spread === undefined ? {} : { spread }),
});
const linear = (name: string, typical: number, [low, high]: Bounds, spread: number): Prior => ({
  name,
  typical,
  low,
  high,
  scale: 'linear',
  spread,
});
const held = (name: string, value: number): Prior => ({
  name,
  typical: value,
  low: value,
  high: value,
  scale: 'linear',
  fixed: true,
});
const rounding = (mu: number, overMu: number, spread: number): Prior => ({
  ...log('kp', overMu * mu, [1, 5000], spread),
  overMu,
});

/**
 * Parameters of a unit with their bounds and typical values, by its character. The typical values lie among those of
 * Koren's 1996 table (mu, ex, kp, kvb) and of this project's own fits; the family's README says how far they reach.
 */
export function priorsOf(unit: Unit): readonly Prior[] {
  const first = unit.points.find(
    (point): point is OperatingPoint => point.kind === 'operating' && point.use === 'fit',
  );
  if (unit.character === 'triode') {
    const mu = first?.mu ?? (first?.gm_mS ?? 2) * 1e-3 * (first?.rp_ohm ?? 10e3);
    return [
      log('mu', mu, [2, 200]),
      linear('ex', 1.4, [1.2, 1.75], 0.1),
      log('kg1', 1000, [20, 50e3]),
      rounding(mu, 5, 0.6),
      log('kvb', 300, [1, 3e4], 1),
      linear('vct', 0.2, [-1, 1.5], 0.4),
      // Only a published cutoff tells how the tail ends.
      unit.points.some(({ kind, use }) => kind === 'cutoff' && use === 'fit')
        ? linear('tail', 0, [0, 2], 0.3)
        : held('tail', 0),
    ];
  }
  if (unit.character === 'pentagrid') return PENTAGRID;
  // A published drop decides one number; the start of the current rests on the cathode's contact potential.
  if (unit.character === 'diode') return [log('perveance', 0.5, [1e-3, 100]), held('vct', 0)];
  const typical = PENTODES[unit.character];
  return typical === undefined ? [] : pentodePriors(typical, unit.character, first);
}

interface Typical {
  readonly mu: number;
  readonly ex: number;
  readonly kpOverMu: number;
  readonly ks: number;
  readonly m: number;
  readonly rise: number;
}

const PENTODES: Readonly<Partial<Record<Character, Typical>>> = {
  sharp: { mu: 30, ex: 1.4, kpOverMu: 5.5, ks: 0.05, m: 1.2, rise: 0.02 },
  remote: { mu: 60, ex: 1.5, kpOverMu: 2, ks: 0.05, m: 1.2, rise: 0.02 },
  beam: { mu: 9.5, ex: 1.4, kpOverMu: 6, ks: 0.03, m: 1.6, rise: 0.2 },
};

/**
 * Two or three rows, the triode of oscillator grid and screens, and one far bias of the signal grid: the form of the
 * signal grid's control beyond `mu3` and `pass` rests on this project's trial fits.
 */
const PENTAGRID: readonly Prior[] = [
  log('mu', 22, [5, 150]),
  linear('ex', 1.4, [1.2, 1.8], 0.1),
  log('kg1', 900, [100, 10e3]),
  { ...log('kp', 35, [5, 500], 0.5), overMu: 1.4 },
  linear('vct', 0.2, [-1, 1.5], 0.4),
  log('kvb', 8, [0.5, 60], 0.5),
  held('kn', 0.3),
  held('m', 1.2),
  log('lambda', 1e-4, [1e-6, 3e-3], 1),
  held('kappa', 0.8),
  linear('pass', 0.43, [0.05, 0.95], 0.1),
  log('mu3', 32, [5, 200], 0.4),
  log('mu3Step', 0.08, [0.02, 0.5], 0.4),
  log('weight3', 0.07, [0.005, 1], 0.7),
  held('kp3', 28),
  linear('m3', 2, [0.5, 5], 0.6),
  held('kg3', 0.05),
];

/**
 * The grid's control fades where the screen is near the cathode's own potential, as a triode's does at low plate voltage (its
 * `kvb`). It matters below some 50 V of screen, where resistance-coupled stages put sharp-cutoff pentodes. The others are not
 * used there, and the one with rows at 45 V (1T4) asks for none.
 */
export const screenSoftening_V2 = (character: Character): number =>
  character === 'sharp' ? 150 : 0;

function pentodePriors(
  typical: Typical,
  character: Character,
  first: OperatingPoint | undefined,
): readonly Prior[] {
  const current_mA = first?.plate_mA ?? 5;
  const kg1 = Math.min(20e3, Math.max(60, 15e3 / current_mA));
  const share = (first?.screen_mA ?? current_mA / 4) / current_mA;
  const beam = character === 'beam';
  return [
    log('mu', typical.mu, [3, 250]),
    linear('ex', typical.ex, [1.2, 1.8], 0.1),
    log('kg1', kg1, [20, 50e3]),
    log('kg2', kg1 / Math.PI / share, [20, 1e6]),
    // A remote cutoff that is rounded too little is a staircase.
    rounding(typical.mu, typical.kpOverMu, character === 'remote' ? 0.25 : 0.5),
    held('kvs', screenSoftening_V2(character)),
    linear('vct', 0.2, [-1, 1.5], 0.4),
    held('kvb', 0.5),
    // The power of nine types decides it within a factor of 1.4 either way; a plate resistance is the rise's to explain.
    log('ks', typical.ks, [0.005, 0.4], 0.4),
    log('kn', 0.2, [0.01, 2], 0.5),
    linear('m', typical.m, [beam ? 1.3 : 1, 3], beam ? 0.15 : 0.1),
    log('rise', typical.rise, [1e-3, 1], 2),
    linear('kappa', 0.8, [0.6, 0.95], 0.08),
    beam ? linear('division', 0.8, [0, 3], 0.6) : held('division', 0),
    ...(character === 'remote'
      ? [
          held('sections', 6),
          linear('muStep', 0.6, [0.4, 0.75], 0.05),
          linear('weightStep', 0.45, [0.1, 0.8], 0.15),
          linear('weightBend', 0.95, [0.6, 1], 0.05),
        ]
      : [held('sections', 1), held('muStep', 1), held('weightStep', 0), held('weightBend', 1)]),
  ];
}
