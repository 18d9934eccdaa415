/** Readings taken in the set itself: `inSet`, one entry a tube in a socket. */
import type { Check } from './check.ts';
import { join, list, object } from './containers.ts';
import { quote } from './json.ts';
import type { JsonNode } from './json.ts';
import { didYouMean } from './near.ts';
import type { InSetCheck } from './scenario.ts';
import { identifier, quantity, text } from './shapes.ts';

const MOST_READINGS = 40;
const MOST_CHECKS = 5000;

const reading = object(
  {
    point: text({ max: 60, title: 'where the probe was: "grid", "B+"' }),
    volts: quantity('V', {
      low: -1e5,
      high: 1e5,
      title: 'to chassis; of the heater, percent of rated',
    }),
  },
  { after: identifier('what was done before reading, as the check names it: "pulled"') },
);

const entry = object(
  { tube: identifier('id of a tube'), socket: identifier('id of a socket') },
  {
    meter: quantity('ohm', { low: 1e3, high: 1e12, title: 'input resistance of the meter' }),
    accuracy_percent: quantity('%', {
      low: 0.01,
      high: 20,
      title: 'error of the meter, plus or minus',
    }),
    readings: list(reading, { max: MOST_READINGS, title: 'what it read' }),
  },
);

export const inSetShape = list(entry, { max: MOST_CHECKS, title: 'readings taken in the set' });

/** The entries whose tube and socket exist; notes a problem for each that does not. */
export function checkInSetNames(
  entries: readonly InSetCheck[] | undefined,
  node: JsonNode | undefined,
  known: {
    readonly tubes: readonly string[] | undefined;
    readonly sockets: readonly string[] | undefined;
  },
  check: Check,
): void {
  entries?.forEach(({ tube, socket }, index) => {
    const at = node?.kind === 'list' ? node.items[index] : undefined;
    if (at === undefined) return;
    for (const [key, id, ids] of [
      ['tube', tube, known.tubes],
      ['socket', socket, known.sockets],
    ] as const) {
      if (ids === undefined || ids.includes(id)) continue;
      const hint = didYouMean(id, ids);
      check.wrong(
        'unknown-name',
        at,
        join(`inSet[${index}]`, key),
        `there is no ${key} of that name`,
        {
          found: quote(id),
          expected: ids.join(', '),
          ...(hint === undefined ? {} : { hint }),
        },
      );
    }
  });
}
