import type { Unit } from '../../src/types.ts';
import { formatQuantity } from '../../src/units/format.ts';
import { parseQuantity } from '../../src/units/quantity.ts';
import {
  UNSTATED_ACCURACY,
  type EmissionScale,
  type InstrumentProfile,
  type Zone,
} from '../../src/wear/profile.ts';

/** The short set-up of an instrument as texts in fields, and the profile they make. */
export interface ProfileForm {
  readonly name: string;
  readonly scale: EmissionScale['kind'];
  readonly fullScale: string;
  readonly newTube: string;
  readonly rejectMark: string;
  /** "bad 0-40; doubtful 40-65; good 65-130". */
  readonly zones: string;
  readonly emissionAccuracy: string;
  readonly test_V: string;
  readonly load_ohm: string;
  readonly openTerminal_V: string;
  readonly newTubeTerminal_V: string;
  readonly halfWave: boolean;
  readonly starved: boolean;
  readonly heater: string;
  readonly held: string;
  readonly points: string;
  readonly leakVolts: string;
  readonly gridNegative: boolean;
  readonly withPlateCurrent: boolean;
  readonly top: string;
  readonly short: string;
  readonly leakAccuracy: string;
}

const show = (value: number | undefined, unit: Unit): string =>
  value === undefined ? '' : formatQuantity(value, unit, { digits: 4 });

export function formOf(profile: InstrumentProfile): ProfileForm {
  const { emission, starvedHeater, leakage } = profile;
  const { scale } = emission;
  return {
    name: profile.name,
    scale: scale.kind,
    fullScale: scale.kind === 'divisions' ? String(scale.fullScale) : '100',
    newTube: scale.kind === 'divisions' && scale.newTube !== undefined ? String(scale.newTube) : '',
    rejectMark:
      scale.kind === 'divisions' && scale.rejectMark !== undefined ? String(scale.rejectMark) : '',
    zones:
      scale.kind === 'zones'
        ? scale.zones
            .map(({ name, from_percent, to_percent }) => `${name} ${from_percent}-${to_percent}`)
            .join('; ')
        : '',
    emissionAccuracy: show(emission.accuracy_percent, '%'),
    test_V: show(emission.test_V, 'V'),
    load_ohm: show(emission.load_ohm, 'ohm'),
    openTerminal_V: show(emission.openTerminal_V, 'V'),
    newTubeTerminal_V: show(emission.newTubeTerminal_V, 'V'),
    halfWave: emission.halfWave === true,
    starved: starvedHeater !== undefined,
    heater: show(starvedHeater?.heater_percent ?? 90, '%'),
    held: show(starvedHeater?.heldSeconds, 's'),
    points: show(starvedHeater?.accuracy_points ?? 2, '%'),
    leakVolts: show(leakage.volts, 'V'),
    gridNegative: leakage.grid === 'negative',
    withPlateCurrent: leakage.withPlateCurrent,
    top: show(leakage.top_ohm, 'ohm'),
    short: show(leakage.short_ohm, 'ohm'),
    leakAccuracy: show(leakage.accuracy_percent, '%'),
  };
}

/** Another instrument: nothing of it is known yet, and nothing is taken over. */
export const EMPTY_FORM: ProfileForm = {
  name: '',
  scale: 'percent',
  fullScale: '',
  newTube: '',
  rejectMark: '',
  zones: '',
  emissionAccuracy: '',
  test_V: '',
  load_ohm: '',
  openTerminal_V: '',
  newTubeTerminal_V: '',
  halfWave: false,
  starved: true,
  heater: '90 %',
  held: '',
  points: '',
  leakVolts: '',
  gridNegative: true,
  withPlateCurrent: false,
  top: '',
  short: '',
  leakAccuracy: '',
};

/** What is taken where nothing is said. */
export const UNSTATED = {
  emissionAccuracy: show(UNSTATED_ACCURACY.emission.accuracy_percent, '%'),
  points: show(UNSTATED_ACCURACY.starvedHeater.accuracy_points, '%'),
  leakAccuracy: show(UNSTATED_ACCURACY.leakage.accuracy_percent, '%'),
} as const;

export type Made =
  | { readonly ok: true; readonly profile: InstrumentProfile }
  | { readonly ok: false; readonly field: string; readonly message: string };

class NotReadable extends Error {
  constructor(
    readonly field: string,
    message: string,
  ) {
    super(message);
  }
}

type Divisions = Extract<EmissionScale, { readonly kind: 'divisions' }>;

/** Keys of the old profile that the form does not show (test currents, known tubes) are kept; another instrument has none. */
export function profileFrom(form: ProfileForm, old: InstrumentProfile | undefined): Made {
  const need = (field: keyof ProfileForm, unit: Unit): number => {
    const value = maybe(field, unit);
    if (value === undefined) throw new NotReadable(field, 'This is needed.');
    return value;
  };
  const maybe = (field: keyof ProfileForm, unit: Unit): number | undefined => {
    const text = String(form[field]).trim();
    if (text === '') return undefined;
    const parsed = parseQuantity(text, unit);
    if (!parsed.ok)
      throw new NotReadable(
        field,
        `“${text}” is not understood. ${parsed.hint ?? `Expected ${parsed.expected}.`}`,
      );
    return parsed.value;
  };
  const given = <K extends string>(key: K, value: number | undefined): Partial<Record<K, number>> =>
    value === undefined ? {} : ({ [key]: value } as Record<K, number>);
  const scaleOf = (): EmissionScale => {
    if (form.scale === 'divisions') {
      const before = old?.emission.scale.kind === 'divisions' ? old.emission.scale : {};
      const { newTube: _, rejectMark: __, ...kept } = before as Partial<Divisions>;
      const [newTube, rejectMark] = [maybe('newTube', ''), maybe('rejectMark', '')];
      const calibrated = (old?.emission.knownTubes ?? []).length > 0;
      if (newTube === undefined && rejectMark === undefined && !calibrated)
        throw new NotReadable(
          'newTube',
          'One of the two is needed, this or the mark: else a division means nothing.',
        );
      return {
        ...kept,
        kind: 'divisions',
        fullScale: need('fullScale', ''),
        ...given('newTube', newTube),
        ...given('rejectMark', rejectMark),
      };
    }
    return form.scale === 'zones'
      ? { kind: 'zones', zones: zonesFrom(form.zones) }
      : { kind: form.scale };
  };
  try {
    if (form.name.trim() === '')
      throw new NotReadable('name', 'The instrument needs a name of yours.');
    const { testCurrents_A, knownTubes } = old?.emission ?? {};
    return {
      ok: true,
      profile: {
        name: form.name.trim(),
        emission: {
          scale: scaleOf(),
          accuracy_percent:
            maybe('emissionAccuracy', '%') ?? UNSTATED_ACCURACY.emission.accuracy_percent,
          ...given('test_V', maybe('test_V', 'V')),
          ...given('load_ohm', maybe('load_ohm', 'ohm')),
          ...given('openTerminal_V', maybe('openTerminal_V', 'V')),
          ...given('newTubeTerminal_V', maybe('newTubeTerminal_V', 'V')),
          ...(testCurrents_A === undefined ? {} : { testCurrents_A }),
          ...(knownTubes === undefined ? {} : { knownTubes }),
          ...(form.halfWave ? { halfWave: true } : {}),
        },
        ...(form.starved
          ? {
              starvedHeater: {
                heater_percent: need('heater', '%'),
                accuracy_points:
                  maybe('points', '%') ?? UNSTATED_ACCURACY.starvedHeater.accuracy_points,
                ...given('heldSeconds', maybe('held', 's')),
              },
            }
          : {}),
        leakage: {
          volts: need('leakVolts', 'V'),
          grid: form.gridNegative ? 'negative' : 'positive',
          withPlateCurrent: form.withPlateCurrent,
          top_ohm: need('top', 'ohm'),
          short_ohm: need('short', 'ohm'),
          accuracy_percent:
            maybe('leakAccuracy', '%') ?? UNSTATED_ACCURACY.leakage.accuracy_percent,
          ...(old?.leakage.tied === undefined ? {} : { tied: old.leakage.tied }),
          ...(form.withPlateCurrent && old?.leakage.cathodeCurrent_A !== undefined
            ? { cathodeCurrent_A: old.leakage.cathodeCurrent_A }
            : {}),
        },
      },
    };
  } catch (error) {
    if (error instanceof NotReadable)
      return { ok: false, field: error.field, message: error.message };
    throw error;
  }
}

function zonesFrom(text: string): readonly Zone[] {
  const zones = text
    .split(';')
    .map((part) => part.trim())
    .filter((part) => part !== '')
    .map((part): Zone => {
      const found = /^(.+?)\s+(\d+(?:[.,]\d+)?)\s*(?:-|–|to)\s*(\d+(?:[.,]\d+)?)\s*%?$/.exec(part);
      if (found === null)
        throw new NotReadable(
          'zones',
          `“${part}” is not understood. Write each zone as its name and its percent: doubtful 40-65.`,
        );
      const number = (one: string): number => Number(one.replace(',', '.'));
      return { name: found[1]!, from_percent: number(found[2]!), to_percent: number(found[3]!) };
    });
  if (zones.length === 0) throw new NotReadable('zones', 'At least one zone is needed.');
  return zones;
}
