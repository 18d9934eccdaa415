/** A socket's `values` and `limits` against what its stage says of them. */
import type { StageValue, ValueSpec } from '../types.ts';
import type { Check } from './check.ts';
import { describeNode, quote } from './json.ts';
import type { JsonNode } from './json.ts';
import { didYouMean, orList } from './near.ts';
import type { SocketValue, StageSchema } from './scenario.ts';
import { join, membersOf } from './containers.ts';
import { flag, inRange, quantity, readQuantity, text, word, wrongKind } from './shapes.ts';
import type { JsonSchema, Shape } from './shapes.ts';
import { ourKey } from './terms.ts';

type Bare = StageValue['value'];

/** Tolerance of a value that was measured, percent, unless stated. */
const MEASURED_PERCENT = 1;
const MOST_IN_LIST = 200;

const tolerance = quantity('%', { low: 0, high: 100, title: 'tolerance, plus or minus percent' });
const measuredFlag = flag(
  'measured, not read off the part: a resistor that has drifted, a weak capacitor',
);

/** The value itself: a number, a text with a unit, one of the choices, a list, or null where it may be absent. */
function bareShape(spec: ValueSpec): Shape<Bare> {
  const one = oneShape(spec);
  const schemas: JsonSchema[] = [one.schema];
  if (spec.list === true)
    schemas.push({ type: 'array', items: one.schema, minItems: 1, maxItems: MOST_IN_LIST });
  if (spec.default === null) schemas.push({ type: 'null' });
  return {
    schema: schemas.length === 1 ? one.schema : { anyOf: schemas },
    read(node, place, check) {
      if (node.kind === 'null' && spec.default === null) return null;
      if (spec.list !== true) return one.read(node, place, check);
      if (node.kind !== 'list') {
        const value = one.read(node, place, check);
        return typeof value === 'number' ? [value] : undefined;
      }
      if (node.items.length === 0 || node.items.length > MOST_IN_LIST) {
        return check.wrong('bad-value', node, place, 'a list of the wrong length', {
          found: describeNode(node),
          expected: `a list of 1 to ${MOST_IN_LIST}`,
        });
      }
      const values = node.items.map((item, index) => one.read(item, `${place}[${index}]`, check));
      return values.every((value) => typeof value === 'number') ? values : undefined;
    },
  };
}

function oneShape(spec: ValueSpec): Shape<number | string> {
  if (spec.choices !== undefined) return word(spec.choices);
  // A stage whose value is free text (a netlist) checks it itself; many lines are its business only.
  if (typeof spec.default === 'string') return text({ max: 20_000, manyLines: true });
  return {
    schema: quantity(spec.unit, spec).schema,
    read(node, place, check) {
      if (
        node.kind === 'object' ||
        node.kind === 'list' ||
        node.kind === 'flag' ||
        node.kind === 'null'
      ) {
        return wrongKind(
          node,
          place,
          check,
          `${rangeText(spec)}, or a text with its unit such as "470k"`,
        );
      }
      const value = readQuantity(node, spec.unit, 1, place, check);
      return value === undefined ? undefined : inRange(value, node, spec.unit, spec, place, check);
    },
  };
}

function rangeText({ low, high, unit }: ValueSpec): string {
  return `a number from ${low} to ${high}${unit === '' ? '' : ` ${unit}`}`;
}

/** Resistors, capacitors and coils bear their value; voltages and signals do not, and a fault has none that it should have. */
export const canBeMarked = ({ unit, list, fault, choices }: ValueSpec): boolean =>
  ['ohm', 'F', 'H'].includes(unit) && list !== true && fault !== true && choices === undefined;

const markedShape = (spec: ValueSpec): Shape<number> =>
  quantity(spec.unit, {
    low: spec.low,
    high: spec.high,
    title: 'what the part is marked, where it was measured to be no longer that',
  });

const WRAPPED_KEYS = ['value', 'tolerance_percent', 'measured', 'marked'];

/** A value with or without its tolerance, `measured` and what the part is marked. */
export function valueShape(spec: ValueSpec): Shape<SocketValue> {
  const bare = bareShape(spec);
  return {
    schema: {
      title: spec.title,
      ...(spec.help === undefined ? {} : { description: spec.help }),
      ...(spec.default === null ? {} : { default: spec.default }),
      anyOf: [
        bare.schema,
        {
          type: 'object',
          properties: {
            value: bare.schema,
            tolerance_percent: tolerance.schema,
            measured: measuredFlag.schema,
            marked: canBeMarked(spec) ? markedShape(spec).schema : false,
          },
          required: ['value'],
        },
      ],
    },
    read(node, place, check) {
      if (node.kind !== 'object') {
        const value = bare.read(node, place, check);
        if (value === undefined) return undefined;
        return { value, tolerance_percent: spec.tolerance_percent, measured: false, given: true };
      }
      const members = membersOf(node, WRAPPED_KEYS, place, check);
      const valueMember = members.get('value');
      if (valueMember === undefined) {
        return check.wrong('missing', node, place, '"value" is missing', {
          found: describeNode(node),
          expected:
            'an object with "value" and, if known, "tolerance_percent", "measured" and "marked"',
        });
      }
      const value = bare.read(valueMember.value, join(place, 'value'), check);
      const marked = members.get('marked')?.value;
      const measured = readMember(
        members.get('measured')?.value,
        measuredFlag,
        join(place, 'measured'),
        check,
        marked !== undefined,
      );
      const usual = measured === true ? MEASURED_PERCENT : spec.tolerance_percent;
      const stated = members.get('tolerance_percent')?.value;
      const tolerance_percent = readMember(
        stated,
        tolerance,
        join(place, 'tolerance_percent'),
        check,
        usual,
      );
      if (value === undefined || measured === undefined || tolerance_percent === undefined)
        return undefined;
      const read = { value, tolerance_percent, measured, given: true };
      return marked === undefined ? read : withMarked(read, marked, spec, place, check);
    },
  };
}

/** A value with what its part is marked. Only a measured part is known to be something else. */
function withMarked(
  read: SocketValue,
  node: JsonNode,
  spec: ValueSpec,
  place: string,
  check: Check,
): SocketValue | undefined {
  const at = join(place, 'marked');
  const found = describeNode(node);
  if (!canBeMarked(spec))
    return check.wrong('does-not-fit', node, at, `${quote(spec.title)} is no part with a marking`, {
      found,
      expected: '"marked" only beside a resistance, a capacitance or an inductance',
    });
  if (!read.measured || typeof read.value !== 'number')
    return check.wrong('contradiction', node, at, 'a marking beside a value that nobody measured', {
      found: `${found}, with ${read.measured ? 'no number as "value"' : '"measured": false'}`,
      expected: 'the part as measured in "value", and "measured" true or left out',
    });
  const marked = markedShape(spec).read(node, at, check);
  return marked === undefined ? undefined : { ...read, marked };
}

function readMember<T>(
  node: JsonNode | undefined,
  shape: Shape<T>,
  place: string,
  check: Check,
  otherwise: T,
): T | undefined {
  return node === undefined ? otherwise : shape.read(node, place, check);
}

/** All values of a stage: those of the file, and the stage's defaults for the rest. */
export function readValues(
  node: JsonNode | undefined,
  stage: StageSchema,
  place: string,
  check: Check,
): Readonly<Record<string, SocketValue>> {
  const values: Record<string, SocketValue> = {};
  for (const [key, { default: value, tolerance_percent }] of Object.entries(stage.values)) {
    values[key] = { value, tolerance_percent, measured: false, given: false };
  }
  if (node === undefined) return values;
  if (node.kind !== 'object') {
    wrongKind(
      node,
      place,
      check,
      `an object with values of the stage, such as ${orList(Object.keys(stage.values).slice(0, 3).map(quote))}`,
    );
    return values;
  }
  for (const [key, member] of membersOf(node, Object.keys(stage.values), place, check)) {
    const spec = stage.values[key];
    if (spec === undefined) continue;
    const read = valueShape(spec).read(member.value, join(place, member.key), check);
    if (read !== undefined) values[key] = read;
  }
  return values;
}

const FORMULA = /^[A-Za-z0-9_.,+\-*/^%()<>=!&|?: ]{1,300}$/;

const limitShape: Shape<number | string> = {
  schema: {
    anyOf: [{ type: 'number' }, { type: 'string', pattern: FORMULA.source }],
    title: "a bound in the measure's unit, or a formula over measures",
  },
  read(node, place, check) {
    if (node.kind === 'number') return node.value;
    const expected =
      'a number, or a formula such as "gain > 0.7 * newTube.gain" (one line, at most 300 characters)';
    if (node.kind !== 'text') return wrongKind(node, place, check, expected);
    if (FORMULA.test(node.value) && node.value.trim() !== '') return node.value;
    return check.wrong('bad-value', node, place, 'not a limit', {
      found: describeNode(node),
      expected,
    });
  },
};

export function measureIds(stage: StageSchema): readonly string[] {
  return stage.measures.map((measure) => (typeof measure === 'string' ? measure : measure.id));
}

/** The user's limits by measure. A name that is no measure of the stage is an error: a limit that is not applied would mislead. */
export function readLimits(
  node: JsonNode | undefined,
  stage: StageSchema,
  place: string,
  check: Check,
): Readonly<Record<string, number | string>> {
  if (node === undefined) return {};
  const known = measureIds(stage);
  if (node.kind !== 'object') {
    wrongKind(
      node,
      place,
      check,
      `an object with limits by measure, such as ${orList(known.slice(0, 3).map(quote))}`,
    );
    return {};
  }
  const limits: Record<string, number | string> = {};
  for (const member of node.members) {
    const own = join(place, member.key);
    const measure = known.includes(member.key) ? member.key : (ourKey(member.key) ?? member.key);
    if (known.length > 0 && !known.includes(measure)) {
      const hint = didYouMean(member.key, known);
      check.wrong(
        'unknown-name',
        member,
        own,
        `the stage ${stage.id} has no measure ${quote(member.key)}`,
        {
          found: quote(member.key),
          expected: orList(known),
          ...(hint === undefined ? {} : { hint }),
        },
      );
      continue;
    }
    if (Object.hasOwn(limits, measure)) {
      check.wrong('contradiction', member, own, 'the same limit is given twice', {
        found: quote(member.key),
        expected: `only ${quote(measure)}`,
      });
    }
    const limit = limitShape.read(member.value, own, check);
    if (limit !== undefined) limits[measure] = limit;
  }
  return limits;
}

/** Schema of `values` and `limits` of one stage. */
export function stageSchemas(stage: StageSchema): {
  readonly values: JsonSchema;
  readonly limits: JsonSchema;
} {
  const known = measureIds(stage);
  return {
    values: {
      type: 'object',
      properties: Object.fromEntries(
        Object.entries(stage.values).map(([key, spec]) => [key, valueShape(spec).schema]),
      ),
    },
    limits: {
      type: 'object',
      additionalProperties: limitShape.schema,
      ...(known.length === 0 ? {} : { propertyNames: { enum: known } }),
    },
  };
}
