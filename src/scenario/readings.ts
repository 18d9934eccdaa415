/** Shapes of the readings of one tube section. Keys and units are those of `wear/readings.ts`. */
import type { Electrode } from '../types.ts';
import { NOTICED } from '../wear/readings.ts';
import type { LeakageReading, LeakValue, Readings } from '../wear/readings.ts';
import { describeNode } from './json.ts';
import type { JsonNode } from './json.ts';
import { exactlyOne, list, object, oneOrMany } from './containers.ts';
import { flag, quantity, text, word, wrongKind } from './shapes.ts';
import type { Read, Shape } from './shapes.ts';
import { ourElectrode } from './terms.ts';

const ELECTRODES: readonly Electrode[] = [
  'plate',
  'screen',
  'grid',
  'cathode',
  'heater',
  'oscillatorGrid',
  'signalGrid',
];
const electrodeWord = word(ELECTRODES);

/** The grids that only a pentagrid brings to a pin; its g1 is named by what it does, since "grid" is another's. */
const ofPentagrid = (written: string): Electrode | undefined =>
  ({ g3: 'signalGrid', g4: 'screen' })[written.trim().toLowerCase()] as Electrode | undefined;

export const electrode: Shape<Electrode> = {
  schema: electrodeWord.schema,
  read(node, place, check) {
    const known =
      node.kind === 'text'
        ? ELECTRODES.find((name) => name === (ofPentagrid(node.value) ?? ourElectrode(node.value)))
        : undefined;
    return known ?? electrodeWord.read(node, place, check);
  },
};

/** Two different electrodes: a list of two, or one text such as "grid-cathode". */
export const electrodePair: Shape<readonly [Electrode, Electrode]> = {
  schema: {
    anyOf: [
      { type: 'array', items: electrode.schema, minItems: 2, maxItems: 2, uniqueItems: true },
      { type: 'string', pattern: '[A-Za-z0-9]\\s*[-/ ]\\s*[A-Za-z]', maxLength: 60 },
    ],
  },
  read(node, place, check) {
    const expected = 'two electrodes, such as ["grid", "cathode"] or "grid-cathode"';
    const items = pairItems(node);
    if (items === undefined) return wrongKind(node, place, check, expected);
    const [first, second] = items.map((item) => electrode.read(item, place, check));
    if (first === undefined || second === undefined) return undefined;
    if (first !== second) return [first, second];
    return check.wrong('contradiction', node, place, 'a path from an electrode to itself', {
      found: describeNode(node),
      expected,
    });
  },
};

function pairItems(node: JsonNode): readonly JsonNode[] | undefined {
  if (node.kind === 'list') return node.items.length === 2 ? node.items : undefined;
  if (node.kind !== 'text' || node.value.length > 60) return undefined;
  const names = node.value.split(/\s*[-–—/,+]\s*|\s+(?:to|and)\s+/);
  if (names.length !== 2) return undefined;
  return names.map((value) => ({ ...node, value }));
}

const minutes = quantity('s', { low: 0, high: 1e5, scale: 60, title: 'minutes since switch-on' });
const volts = (low: number, high: number, title: string): Shape<number> =>
  quantity('V', { low, high, title });
const percentOfNew = quantity('%', { low: 0, high: 1000, title: 'percent of a new tube' });

const emission = exactlyOne(
  object(
    {},
    {
      percent: percentOfNew,
      milliamps: quantity('A', { low: 0, high: 1e5, scale: 1e-3, title: 'emission, mA' }),
      divisions: quantity('', { low: 0, high: 1e5, title: 'divisions on the scale' }),
      zone: text({ max: 60, title: 'a zone of the bench instrument' }),
      minutes,
    },
  ),
  ['percent', 'milliamps', 'divisions', 'zone'],
);

const starvedHeater = object(
  {
    drop_percent: quantity('%', {
      low: -50,
      high: 100,
      title: 'loss of emission, percent of the reading at rated heater volts',
    }),
  },
  {
    heater_percent: quantity('%', { low: 50, high: 99.9, title: 'heater volts, percent of rated' }),
    heldSeconds: quantity('s', { low: 0, high: 86_400, title: 'how long the heater was starved' }),
  },
);

/** A leakage, "above the top of the scale" written in its own key or as ">500M". */
const megohms = quantity('ohm', { low: 0, high: 1e9, scale: 1e6, title: 'megohms' });
type Megohms = { readonly value: number; readonly above: boolean };
const boundedMegohms: Shape<Megohms> = {
  schema: megohms.schema,
  read(node, place, check) {
    const above =
      node.kind === 'text'
        ? /^\s*(?:>=|[>≥]|above\b|over\b|more than\b)\s*(?=\d)/i.exec(node.value)?.[0]
        : undefined;
    const bare =
      node.kind === 'text' && above !== undefined
        ? { ...node, value: node.value.slice(above.length) }
        : node;
    const value = megohms.read(bare, place, check);
    return value === undefined ? undefined : { value, above: above !== undefined };
  },
};

const leakKeys = {
  megohms: boundedMegohms,
  aboveMegohms: boundedMegohms,
  microamps: quantity('A', { low: 0, high: 1e6, scale: 1e-6, title: 'microamperes' }),
  atVolts: volts(0.1, 2000, 'test voltage'),
  minutes,
};
const LEAK_VALUES = ['megohms', 'aboveMegohms', 'microamps'] as const;
const leakage = leak(object({}, { ...leakKeys, path: electrodePair }));
const heaterCathode = leak(object({}, leakKeys));

type LeakAsWritten = { readonly megohms?: Megohms; readonly aboveMegohms?: Megohms };

function leak<T extends LeakAsWritten>(
  shape: Shape<T>,
): Shape<Omit<T, keyof LeakAsWritten> & LeakValue> {
  const one = exactlyOne(shape, LEAK_VALUES);
  return {
    schema: one.schema,
    read(node, place, check) {
      const written = one.read(node, place, check);
      if (written === undefined) return undefined;
      const { megohms: read, aboveMegohms, ...rest } = written;
      const above = aboveMegohms?.value ?? (read?.above === true ? read.value : undefined);
      return {
        ...rest,
        ...(above === undefined ? {} : { aboveMegohms: above }),
        ...(read === undefined || read.above ? {} : { megohms: read.value }),
      };
    },
  };
}

const short = object(
  {
    between: electrodePair,
    ohms: quantity('ohm', { low: 0, high: 1e9, title: 'ohms' }),
  },
  { hot: flag('read with the heater on') },
);

const gridCurrent = object(
  {
    microamps: quantity('A', {
      low: -1e5,
      high: 1e5,
      scale: 1e-6,
      title: 'current out of the grid, µA',
    }),
    plateVolts: volts(0, 2000, 'plate to cathode'),
    gridVolts: volts(-500, 50, 'grid to cathode'),
  },
  { screenVolts: volts(0, 1000, 'screen to cathode'), minutes },
);

const transconductance = exactlyOne(
  object(
    {},
    {
      mS: quantity('S', { low: 0, high: 1000, scale: 1e-3, title: 'transconductance, mS' }),
      percent: percentOfNew,
      plateVolts: volts(0, 2000, 'plate to cathode'),
      screenVolts: volts(0, 1000, 'screen to cathode'),
      gridVolts: volts(-500, 50, 'grid to cathode'),
    },
  ),
  ['mS', 'percent'],
);

const readingsAsWritten = object(
  {},
  {
    emission: oneOrMany(emission, {
      max: 1000,
      title: 'emission, one reading or several over time',
    }),
    starvedHeater,
    leakage: oneOrMany(leakage, { max: 1000, title: 'leakage, one reading or several over time' }),
    shorts: list(short, { max: 50, title: 'shorts and other low resistances' }),
    heaterCathode: oneOrMany(heaterCathode, { max: 1000, title: 'leakage from heater to cathode' }),
    gridCurrent,
    transconductance,
    noticed: list(word(NOTICED), {
      max: 20,
      title: 'seen, not measured',
    }),
    hoursSinceLastUsed: quantity('s', {
      low: 0,
      high: 1e7,
      scale: 3600,
      title: 'hours since last used',
    }),
  },
);

/** Series come out in the order of time where every reading has its time, else in the order of the file. */
export const readingsShape: Shape<Readings> = {
  schema: readingsAsWritten.schema,
  read(node, place, check) {
    const written: Read<typeof readingsAsWritten> | undefined = readingsAsWritten.read(
      node,
      place,
      check,
    );
    if (written === undefined) return undefined;
    if (Object.keys(written).length === 0) {
      check.warn(node, place, 'No readings: nothing can be said of this tube before one is taken.');
    }
    return {
      ...written,
      ...(written.emission === undefined ? {} : { emission: inTime(written.emission) }),
      ...(written.leakage === undefined
        ? {}
        : { leakage: inTime<LeakageReading>(written.leakage) }),
      ...(written.heaterCathode === undefined
        ? {}
        : { heaterCathode: inTime<LeakValue>(written.heaterCathode) }),
    };
  },
};

function inTime<T extends { readonly minutes?: number }>(series: readonly T[]): readonly T[] {
  if (series.some((reading) => reading.minutes === undefined)) return series;
  return [...series].sort((a, b) => (a.minutes ?? 0) - (b.minutes ?? 0));
}
