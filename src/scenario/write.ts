/** A scenario -> text of a file. */
import type { JsonValue } from './json.ts';
import type { Scenario } from './scenario.ts';

const LINE = 100;

/** The document as it was read: the same keys in the same order, unknown ones too; written in one layout. */
export function writeScenario({ original }: Pick<Scenario, 'original'>): string {
  return writeJson(original);
}

/** JSON text with what fits a line on one line; ends with a line break. Reading it back gives an equal document. */
export function writeJson(value: JsonValue): string {
  return `${print(value, '', 0)}\n`;
}

function print(value: JsonValue, indent: string, before: number): string {
  if (typeof value !== 'object' || value === null)
    return Object.is(value, -0) ? '-0' : JSON.stringify(value);
  const inner = `${indent}  `;
  const entries: readonly (readonly [string, JsonValue])[] = Array.isArray(value)
    ? (value as readonly JsonValue[]).map((item) => ['', item] as const)
    : Object.entries(value).map(([key, item]) => [`${JSON.stringify(key)}: `, item] as const);
  const [open, close] = Array.isArray(value) ? ['[', ']'] : ['{', '}'];
  if (entries.length === 0) return `${open}${close}`;
  const parts = entries.map(
    ([key, item]) => `${key}${print(item, inner, inner.length + key.length)}`,
  );
  const pad = Array.isArray(value) ? '' : ' ';
  const short = `${open}${pad}${parts.join(', ')}${pad}${close}`;
  if (indent !== '' && before + short.length <= LINE && !short.includes('\n')) return short;
  return `${open}\n${parts.map((part) => inner + part).join(',\n')}\n${indent}${close}`;
}
