/** Shape of the instrument profile (`bench`). Keys and units are those of `wear/profile.ts`. */
import {
  UNSTATED_ACCURACY,
  type EmissionTest,
  type InstrumentProfile,
  type LeakageTest,
  type StarvedHeaterTest,
  type Zone,
} from '../wear/profile.ts';
import { describeNode, quote } from './json.ts';
import { orList } from './near.ts';
import { electrode } from './readings.ts';
import { defaulted, list, object, record, refined } from './containers.ts';
import { flag, quantity, text, word } from './shapes.ts';
import type { Shape } from './shapes.ts';

const percent = (low: number, high: number, title: string): Shape<number> =>
  quantity('%', { low, high, title });
const volts = (title: string): Shape<number> => quantity('V', { low: 0.1, high: 2000, title });

const zone: Shape<Zone> = refined(
  object(
    {
      name: text({ max: 60, title: 'as the user calls it' }),
      from_percent: percent(0, 1000, 'lower end, percent of a new tube'),
      to_percent: percent(0, 1000, 'upper end, percent of a new tube'),
    },
    {},
  ),
  {},
  (value, node, place, check) => {
    if (value.from_percent < value.to_percent) return true;
    check.wrong('contradiction', node, place, 'a zone that ends before it begins', {
      found: `${value.from_percent} to ${value.to_percent} %`,
      expected: 'from_percent below to_percent',
    });
    return false;
  },
);

/** The scale by its `kind`; each kind has its own keys. */
const scales = {
  percent: object({ kind: word(['percent']) }, {}),
  milliamps: object({ kind: word(['milliamps']) }, {}),
  divisions: object(
    {
      kind: word(['divisions']),
      fullScale: quantity('', { low: 0.1, high: 1e5, title: 'divisions of the whole scale' }),
    },
    {
      newTube: quantity('', { low: 0.01, high: 1e5, title: 'divisions of a new tube' }),
      rejectMark: quantity('', {
        low: 0,
        high: 1e5,
        title: 'divisions below which a tube is called bad',
      }),
      reject_percent: percent(1, 100, 'what the reject mark means, percent of new'),
    },
  ),
  zones: object({ kind: word(['zones']), zones: list(zone, { min: 1, max: 20 }) }, {}),
} as const;
type Scale = InstrumentProfile['emission']['scale'];
const scaleKind = word(['percent', 'milliamps', 'divisions', 'zones'], 'what the pointer means');

const scale: Shape<Scale> = {
  schema: { oneOf: Object.values(scales).map(({ schema }) => schema) },
  read(node, place, check) {
    const kindNode =
      node.kind === 'object' ? node.members.find(({ key }) => key === 'kind')?.value : undefined;
    if (kindNode === undefined) {
      return check.wrong('missing', node, place, 'the kind of scale is missing', {
        found: describeNode(node),
        expected: 'an object with "kind": "percent", "milliamps", "divisions" or "zones"',
      });
    }
    const kind = scaleKind.read(kindNode, `${place}.kind`, check);
    return kind === undefined ? undefined : scales[kind].read(node, place, check);
  },
};

const knownTube = object(
  {
    type: text({ max: 60 }),
    true_percent: percent(1, 300, 'true emission, percent of new'),
    reading: quantity('', {
      low: 0,
      high: 1e5,
      title: "what the instrument read, in the scale's unit",
    }),
  },
  {},
);

const ACCURACY = 'half-width that nine readings in ten keep, percent of the reading';
const unstated = (place: string, value: unknown): string =>
  `${place} is not stated: ${String(value)} is taken.`;

const emission: Shape<EmissionTest> = defaulted(
  object(
    { scale },
    {
      accuracy_percent: percent(
        0,
        100,
        `${ACCURACY}; ${UNSTATED_ACCURACY.emission.accuracy_percent} where it is not stated`,
      ),
      testCurrents_A: record(
        quantity('A', { low: 1e-6, high: 10, title: 'test current of a new tube' }),
        { max: 2000 },
      ),
      test_V: volts('open-circuit test voltage'),
      load_ohm: quantity('ohm', { low: 0, high: 1e7, title: 'series resistance of the test' }),
      halfWave: flag('the test voltage is alternating'),
      openTerminal_V: volts('terminal volts without a tube'),
      newTubeTerminal_V: volts('terminal volts with a new tube'),
      knownTubes: list(knownTube, { max: 200 }),
    },
  ),
  UNSTATED_ACCURACY.emission,
  unstated,
);

const starvedHeater: Shape<StarvedHeaterTest> = defaulted(
  object(
    { heater_percent: percent(50, 99.9, 'heater volts, percent of rated') },
    {
      accuracy_points: quantity('%', {
        low: 0,
        high: 50,
        title: `percentage points of drop; ${UNSTATED_ACCURACY.starvedHeater.accuracy_points} where it is not stated`,
      }),
      heldSeconds: quantity('s', { low: 0, high: 86_400, title: 'how long the heater is starved' }),
    },
  ),
  UNSTATED_ACCURACY.starvedHeater,
  unstated,
);

const leakage: Shape<LeakageTest> = refined(
  defaulted(
    object(
      {
        volts: volts('test voltage'),
        grid: word(['negative', 'positive'], 'polarity of the control grid'),
        withPlateCurrent: flag('the tube conducts during the test: gas is included'),
        top_ohm: quantity('ohm', { low: 1e3, high: 1e15, title: 'top of the scale' }),
        short_ohm: quantity('ohm', {
          low: 0,
          high: 1e9,
          title: 'at or below this it is called a short',
        }),
      },
      {
        accuracy_percent: percent(
          0,
          100,
          `${ACCURACY}; ${UNSTATED_ACCURACY.leakage.accuracy_percent} where it is not stated`,
        ),
        tied: list(electrode, {
          max: 7,
          min: 1,
          title: 'electrodes tied together against the control grid',
        }),
        cathodeCurrent_A: quantity('A', {
          low: 0,
          high: 10,
          title: 'plate and screen current during the test',
        }),
      },
    ),
    UNSTATED_ACCURACY.leakage,
    unstated,
  ),
  {},
  (value, node, place, check) => {
    if (value.short_ohm < value.top_ohm) return true;
    check.wrong(
      'contradiction',
      node,
      place,
      'what is called a short lies above the top of the scale',
      {
        found: `short_ohm ${value.short_ohm}, top_ohm ${value.top_ohm}`,
        expected: 'short_ohm below top_ohm',
      },
    );
    return false;
  },
);

export const profileShape: Shape<InstrumentProfile> = refined(
  object(
    { name: text({ max: 120 }), emission, leakage },
    { starvedHeater },
    { title: 'the bench instrument' },
  ),
  {},
  ({ emission: { openTerminal_V, newTubeTerminal_V } }, node, place, check) => {
    if (
      openTerminal_V === undefined ||
      newTubeTerminal_V === undefined ||
      newTubeTerminal_V <= openTerminal_V
    )
      return true;
    check.wrong(
      'contradiction',
      node,
      `${place}.emission`,
      'a tube that raises the terminal voltage',
      {
        found: `${newTubeTerminal_V} V with a tube, ${openTerminal_V} V without`,
        expected: 'newTubeTerminal_V at most openTerminal_V',
      },
    );
    return false;
  },
);

/** Names of a profile's zones, for readings that name one. */
export function zoneNames({ scale: read }: InstrumentProfile['emission']): readonly string[] {
  return read.kind === 'zones' ? read.zones.map(({ name }) => name) : [];
}

export const zoneList = (names: readonly string[]): string => orList(names.map(quote));
