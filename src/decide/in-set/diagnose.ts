import { Z90 } from '../../numerics/normal.ts';
import { quantile } from '../../numerics/quantiles.ts';
import { LINE } from '../../stage/values.ts';
import type { Draw, TubeCondition, Unit } from '../../types.ts';
import type { About, Explanation, SetState } from './explanations.ts';
import { fitReadings, foresee, sizeOf, type Expectation, type Order } from './likelihood.ts';
import type { Look, Predictor } from './predict.ts';
import type { MeterPoint, SetCircuit } from './set-circuit.ts';

/** Which explanation fits what a meter read in the set, and which measurement would tell the likeliest ones apart. */

/** A reading taken in the set, volts to chassis. */
export interface SetReading {
  readonly point: MeterPoint;
  readonly procedure: Procedure;
  readonly volts: number;
}

export interface Meter {
  readonly ohms: number;
  /** Plus or minus, of the reading. */
  readonly accuracy_percent: number;
}

export interface Explained {
  readonly id: string;
  readonly title: string;
  readonly about: About;
  /** Probability among the explanations tried. */
  readonly likelihood: number;
  /** How large it would have to be: null where it has no size. */
  readonly size: {
    readonly title: string;
    readonly unit: Unit;
    readonly value: number;
    readonly low: number;
    readonly high: number;
  } | null;
  /** Whether the readings lie where this explanation puts them. */
  readonly fits: boolean;
}

export interface Diagnosis {
  /** Likeliest first. */
  readonly explanations: readonly Explained[];
  /** Faults that these readings cannot show, and so cannot exclude. */
  readonly unseen: readonly string[];
  /** What would tell the likeliest ones apart; null where one stands alone or nothing here separates them. */
  readonly next: NextMeasurement | null;
}

export interface NextMeasurement {
  readonly point: string;
  readonly procedure: string;
  /** What to do and read. */
  readonly what: string;
  /** What the meter should show under each of the likeliest explanations, volts with a 90 % interval. */
  readonly expected: readonly {
    readonly id: string;
    readonly title: string;
    readonly volts: number;
    readonly low: number;
    readonly high: number;
  }[];
}

/** Something a person does before reading a point. */
export interface Procedure {
  readonly id: string;
  /** "with the tube pulled"; empty for the set as it stands. */
  readonly title: string;
  /** Where it is worth reading. */
  readonly points: readonly MeterPoint[];
  /** Trouble it takes, against a plain reading: 0 none, 1 a part unsoldered. */
  readonly trouble: number;
  apply(state: SetState): SetState;
}

const SEVERITIES = 12;
/** Severities at which the pull of every tolerance is worked out; in between it is interpolated. */
const PULL_EVERY = 6;
/** New tubes of a type, standard deviation of ln current; and contact potential, V. See the wear step's priors. */
const AREA_sd = 0.12;
const CONTACT_sd_V = 0.15;
/** A model is not the tube: share of a point's voltage that it may miss, standard deviation. */
const MODEL_SHARE = 0.015;
const FLOOR_V = 0.02;
/** A uniform error's standard deviation over its half width. */
const UNIFORM_sd = 0.577;
/** Readings further than this mean square of standard deviations from every explanation fit none. */
const FAR = 4;
/** An explanation that at its worst moves no reading by as many standard deviations cannot show. */
const SHOWS = 2;
/** Explanations less likely than the first by more than this are not worth a measurement; nor are more than a few. */
const WORTH = 0.05;
const RIVALS = 6;
/** Standard deviations between two expected readings beyond which more is no gain. */
const CLEAR = 3;

export interface DiagnosisInput {
  readonly set: SetCircuit;
  readonly predictor: Predictor;
  readonly explanations: readonly Explanation[];
  /** The set as it stands comes first. */
  readonly procedures: readonly Procedure[];
  readonly readings: readonly SetReading[];
  readonly meter: Meter;
  /** Unknowns of the parts and the line, by name. */
  readonly unknowns: readonly string[];
}

interface Tried {
  readonly explanation: Explanation;
  readonly along: readonly Expectation[];
  readonly order: Order;
}

type Weighed = Tried & { readonly likelihood: number };

/** Weighs every explanation against the readings. */
export async function diagnose(input: DiagnosisInput): Promise<Diagnosis> {
  const { readings, meter } = input;
  const tried = await expectAll(input, input.explanations, readings);
  const sound = tried.find(({ explanation }) => explanation.id === 'asScreened');
  const errors = readings.map(({ volts }, i) =>
    errorOf(meter, volts, sound?.along[0]?.expected[i] ?? volts),
  );
  const shown = tried.filter(
    ({ explanation, along }) =>
      explanation.id === 'asScreened' || sound === undefined || shows(along, sound.along, errors),
  );
  const fitted = shown.map((one) => ({
    ...one,
    fit: fitReadings(
      readings.map(({ volts }) => volts),
      errors,
      one.along,
      one.order,
    ),
  }));
  const top = Math.max(...fitted.map(({ fit }) => fit.logLikelihood));
  const raw = fitted.map(
    ({ fit, explanation }) => explanation.prior * Math.exp(fit.logLikelihood - top),
  );
  const sum = raw.reduce((a, b) => a + b, 0);
  const weighed = fitted
    .map((one, i) => ({ ...one, likelihood: raw[i]! / sum }))
    .toSorted((a, b) => b.likelihood - a.likelihood);
  return {
    explanations: weighed.map(({ explanation, likelihood, fit }) => ({
      id: explanation.id,
      title: explanation.title,
      about: explanation.about,
      likelihood,
      size: explanation.size.title === '' ? null : { ...explanation.size, ...sizeOf(fit) },
      fits: fit.distance <= FAR,
    })),
    unseen: tried.filter((one) => !shown.includes(one)).map(({ explanation }) => explanation.title),
    next: await nextMeasurement(input, weighed, errors),
  };
}

type Probe = Pick<SetReading, 'point' | 'procedure'>;

function errorOf(meter: Meter, volts: number, expected: number): number {
  return Math.hypot(
    (UNIFORM_sd * meter.accuracy_percent * Math.abs(volts)) / 100,
    MODEL_SHARE * expected,
    FLOOR_V,
  );
}

function shows(
  along: readonly Expectation[],
  sound: readonly Expectation[],
  errors: readonly number[],
): boolean {
  const usual = middleOf(sound, errors);
  return along.some(({ expected }) =>
    expected.some((volts, i) => {
      const spread = usual.moves.reduce((all, move) => all + move[i]! ** 2, errors[i]! ** 2);
      return Math.abs(volts - usual.expected[i]!) > SHOWS * Math.sqrt(spread);
    }),
  );
}

/** The draw that lies nearest the median of all at every reading. */
function middleOf(draws: readonly Expectation[], errors: readonly number[]): Expectation {
  const medians = errors.map((_, i) =>
    quantile(
      draws.map(({ expected }) => expected[i]!),
      0.5,
    ),
  );
  const away = ({ expected }: Expectation): number =>
    medians.reduce((sum, median, i) => sum + ((expected[i]! - median) / errors[i]!) ** 2, 0);
  return draws.reduce((best, one) => (away(one) < away(best) ? one : best));
}

/** Expected readings at probes for every explanation, along its severities, and the pull of each unknown. */
async function expectAll(
  { set, predictor, unknowns, meter }: DiagnosisInput,
  explanations: readonly Explanation[],
  probes: readonly Probe[],
): Promise<Tried[]> {
  const pulls: readonly ((state: SetState) => Pick<Look, 'state' | 'draw'>)[] = [
    ...unknowns.map((name) => (state: SetState) => ({ state, draw: { [name]: 1 } satisfies Draw })),
    (state) => ({
      state: withCondition(state, (one) => ({ ...one, area: one.area * (1 + AREA_sd) })),
    }),
    (state) => ({
      state: withCondition(state, (one) => ({
        ...one,
        contactShift_V: one.contactShift_V + CONTACT_sd_V,
      })),
    }),
  ];
  const procedures = [...new Set(probes.map(({ procedure }) => procedure))];
  const places = probes.map(({ point }) => set.points.indexOf(point));
  const plan = explanations.flatMap((explanation) => {
    const length = explanation.draws ?? SEVERITIES;
    return Array.from({ length }, (_, i) => ({
      explanation,
      ...explanation.at(i / (length - 1)),
      pulled: i % PULL_EVERY === 0 || i === length - 1,
    }));
  });
  const looks = plan.flatMap(({ state, pulled }) =>
    procedures.flatMap((procedure): Look[] => {
      const here = procedure.apply(state);
      const probed = probes
        .filter((probe) => probe.procedure === procedure)
        .map(({ point }) => ({ point, ohms: meter.ohms }));
      // the meter moves the pulls little, but where it is all that hangs on a point: such points are read alone
      const alone = probed.length === 1 ? { meter: probed[0]! } : {};
      return [
        { state: here, ...alone },
        ...probed.map((one) => ({ state: here, meter: one })),
        ...(pulled ? pulls.map((pull) => ({ ...pull(here), ...alone })) : []),
      ];
    }),
  );
  const volts = await predictor.volts(looks, `set.${procedures.map(({ id }) => id).join('.')}`);
  let next = 0;
  const found = plan.flatMap(({ explanation, size, pulled }) => {
    const expected: (number | undefined)[] = probes.map(() => undefined);
    const moves: (number | undefined)[][] = pulls.map(() => probes.map(() => undefined));
    for (const procedure of procedures) {
      const bare = volts[next++];
      const mine = probes.flatMap((probe, k) => (probe.procedure === procedure ? [k] : []));
      for (const k of mine) expected[k] = volts[next++]?.[places[k]!];
      if (!pulled) continue;
      for (const move of moves) {
        const moved = volts[next++];
        for (const k of mine)
          if (moved !== undefined && bare !== undefined)
            move[k] = moved[places[k]!]! - bare[places[k]!]!;
      }
    }
    const good =
      expected.every((one) => one !== undefined) &&
      (!pulled || moves.every((move) => move.every((one) => one !== undefined)));
    return good
      ? [
          {
            explanation,
            size,
            expected: expected as number[],
            moves: pulled ? (moves as number[][]) : undefined,
          },
        ]
      : [];
  });
  return explanations.flatMap((explanation): Tried[] => {
    const own = found.filter((one) => one.explanation === explanation);
    const pulled = own.flatMap(({ moves }, i) => (moves === undefined ? [] : [{ i, moves }]));
    // an explanation under which the engine finds no rest nearly everywhere has no expected readings
    if (own.length < 2 || pulled.length === 0) return [];
    return [
      {
        explanation,
        along: own.map(({ size, expected }, i) => ({ size, expected, moves: nearest(pulled, i) })),
        order: explanation.draws === undefined ? 'severities' : 'draws',
      },
    ];
  });
}

function withCondition(state: SetState, change: (one: TubeCondition) => TubeCondition): SetState {
  return { ...state, condition: change(state.condition) };
}

function nearest<T extends { readonly i: number; readonly moves: readonly (readonly number[])[] }>(
  pulled: readonly T[],
  i: number,
): T['moves'] {
  return pulled.reduce((best, one) => (Math.abs(one.i - i) < Math.abs(best.i - i) ? one : best))
    .moves;
}

/** The reading, in the set as it stands or after a procedure, that tells the likeliest explanations apart best. */
async function nextMeasurement(
  input: DiagnosisInput,
  weighed: readonly Weighed[],
  errors: readonly number[],
): Promise<NextMeasurement | null> {
  const least = WORTH * (weighed[0]?.likelihood ?? 1);
  const rivals = weighed.filter(({ likelihood }) => likelihood >= least).slice(0, RIVALS);
  if (rivals.length < 2) return null;
  const { meter, readings } = input;
  let best: { score: number; next: NextMeasurement } | null = null;
  for (const procedure of input.procedures) {
    const probes = procedure.points
      .filter(
        (point) => !readings.some((one) => one.point === point && one.procedure === procedure),
      )
      .map((point): Probe => ({ point, procedure }));
    if (probes.length === 0) continue;
    const expected = await expectAll(
      input,
      rivals.map(({ explanation }) => explanation),
      probes,
    );
    for (const [k, { point }] of probes.entries()) {
      const seen = rivals.flatMap(({ explanation, along, likelihood, order }) => {
        const found = expected.find((one) => one.explanation === explanation);
        // severities at which both states have a rest
        const both = found?.along.filter(({ size }) => along.some((one) => one.size === size));
        if (both === undefined || both.length < 2) return [];
        const taken = {
          readings: readings.map(({ volts }) => volts),
          errors,
          along: along.filter(({ size }) => both.some((one) => one.size === size)),
        };
        const { weights } = fitReadings(taken.readings, errors, taken.along, order);
        const { mean, sd } = foresee(both, taken, weights, k, order);
        return [{ explanation, likelihood, mean, sd: Math.hypot(sd, errorOf(meter, mean, mean)) }];
      });
      const score = gain(seen, rivals) * (1 - 0.3 * procedure.trouble);
      if (score > (best?.score ?? LEAST_GAIN))
        best = {
          score,
          next: {
            point: point.id,
            procedure: procedure.id,
            what: `the ${point.title}${procedure.title === '' ? '' : ` ${procedure.title}`}`,
            expected: seen.map(({ explanation, mean, sd }) => ({
              id: explanation.id,
              title: explanation.title,
              volts: mean,
              low: mean - Z90 * sd,
              high: mean + Z90 * sd,
            })),
          },
        };
    }
  }
  return best?.next ?? null;
}

/** A measurement that hardly separates is not worth the walk. */
const LEAST_GAIN = 0.15;

/** 0 where every explanation leads one to expect the same reading, 1 where all are clearly apart. */
function gain(
  seen: readonly { readonly likelihood: number; readonly mean: number; readonly sd: number }[],
  rivals: readonly Weighed[],
): number {
  const pairs = <T extends { readonly likelihood: number }>(
    all: readonly T[],
    of: (a: T, b: T) => number,
  ): number =>
    all.reduce(
      (sum, a, i) =>
        all.slice(i + 1).reduce((more, b) => more + a.likelihood * b.likelihood * of(a, b), sum),
      0,
    );
  const apart = pairs(seen, (a, b) =>
    Math.min(1, Math.abs(a.mean - b.mean) / Math.hypot(a.sd, b.sd) / CLEAR),
  );
  return apart / pairs(rivals, () => 1);
}

/** Every circuit's own unknowns and the line. */
export function unknownsOfSet(set: SetCircuit): string[] {
  const names = new Set<string>([LINE]);
  for (const knob of Object.values(set.circuit.knobs))
    if (knob.unknown !== LINE && knob.toValue(1) !== knob.nominal) names.add(knob.unknown);
  return [...names];
}
