import type { Explained } from '../decide/in-set/diagnose.ts';
import type { InSetLine } from '../decide/in-set/in-set.ts';
import { formatInterval, formatQuantity } from '../units/format.ts';

/** What the text and the page both say of a check in the set. */

export const unitOf = ({ point }: Pick<InSetLine, 'point'>): 'V' | '%' =>
  point === 'heater' ? '%' : 'V';

/** A meter shows hundredths of a volt. */
const told = (volt: number): number => Math.round(volt * 100) / 100 + 0;

export const voltsText = (value: number, line: Pick<InSetLine, 'point'>): string =>
  formatQuantity(told(value), unitOf(line), { digits: 3 });

export const intervalText = (
  value: { readonly low: number; readonly high: number } | null,
  line: Pick<InSetLine, 'point'>,
): string =>
  value === null ? 'not computed' : formatInterval(told(value.low), told(value.high), unitOf(line));

/** "222 V (205 … 239 V)": what it should read, and how far that may be off. */
export const shownText = (
  value: { readonly value: number; readonly low: number; readonly high: number } | null,
  line: Pick<InSetLine, 'point'>,
): string =>
  value === null || told(value.low) === told(value.high)
    ? intervalText(value, line)
    : `${voltsText(value.value, line)} (${intervalText(value, line)})`;

/** What is to be said below the figures. */
export function remarks(lines: readonly InSetLine[]): string[] {
  const lost = lines.filter(({ newTube, thisTube }) => newTube === null || thisTube === null);
  return [
    ...lines.flatMap((line) => loadingText(line) ?? []),
    ...(lost.length === 0
      ? []
      : [
          `Not computed (${lost.map(({ title }) => title).join(', ')}): the simulation found no state of rest there, and nothing is concluded from it.`,
        ]),
  ];
}

/** Said where the meter itself moves the reading by a twentieth or more. */
function loadingText({ title, thisTube, unloaded }: InSetLine): string | undefined {
  if (thisTube === null || unloaded === null) return undefined;
  const change = Math.abs(thisTube.value - unloaded);
  if (change < 0.05 * Math.abs(unloaded) || change < 0.02) return undefined;
  return `The meter loads the ${title}: ${voltsText(unloaded, { point: '' })} without it, ${voltsText(thisTube.value, { point: '' })} with it.`;
}

/** The first, and what is not far behind it. */
const TOLD = 5;
const LEAST_TOLD = 0.02;

export const worthTelling = (all: readonly Explained[]): readonly Explained[] =>
  all.filter(({ likelihood }, i) => i < TOLD && likelihood >= LEAST_TOLD);

export function sizeText({ size, fits }: Explained): string {
  const about =
    size === null
      ? ''
      : `${size.title} about ${formatQuantity(size.value, size.unit, { digits: 2 })}, ${formatInterval(size.low, size.high, size.unit)}`;
  return [about, fits ? '' : 'even this does not fit well'].filter((one) => one !== '').join('; ');
}

export const NONE_FITS =
  'None of the explanations fits these readings: read again, check the socket’s values, or there is more than one fault.';
