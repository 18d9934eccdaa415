import { ourElectrode } from '../scenario/terms.ts';
import type { Electrode, Unit } from '../types.ts';
import { formatQuantity } from '../units/format.ts';
import { parseBounded, parseQuantity } from '../units/quantity.ts';
import type { EmissionScale } from '../wear/profile.ts';
import type { EmissionReading, LeakageReading, LeakValue, ShortReading } from '../wear/readings.ts';

/** What people type into the readings, as the scenario's keys; and back, as it is shown. Messages are for the person typing. */
export type Understood<T> =
  | { readonly ok: true; readonly value: T }
  | { readonly ok: false; readonly message: string };

const good = <T>(value: T): Understood<T> => ({ ok: true, value });
const bad = (message: string): { readonly ok: false; readonly message: string } => ({
  ok: false,
  message,
});

/** Without the digits that a change of unit brings. */
const tidy = (value: number): number => Number(value.toPrecision(12));
const MEGOHM = 1e6;
const isBare = (text: string): boolean => /^[-+\u2212]?[\d.,]+$/.test(text.trim());

/** A number in the key's unit: bare, or with a unit of its own. `scale` is one of the key's unit in SI. */
export function typedNumber(
  typed: string,
  unit: Unit,
  scale: number,
  low: number,
  high: number,
): Understood<number> {
  const text = typed.trim();
  const parsed = parseQuantity(text, isBare(text) ? '' : unit);
  if (!parsed.ok)
    return bad(`“${text}” is not understood. ${parsed.hint ?? `Expected ${parsed.expected}.`}`);
  const value = tidy(isBare(text) ? parsed.value : parsed.value / scale);
  return value >= low && value <= high
    ? good(value)
    : bad(`${text} is not between ${low} and ${high}.`);
}

/** Emission in whatever the instrument shows; milliamperes are understood on any scale. */
export function typedEmission(
  typed: string,
  scale: EmissionScale,
): Understood<Omit<EmissionReading, 'minutes'>> {
  const text = typed.trim();
  if (/a$/i.test(text)) {
    const amps = typedNumber(text, 'A', 1e-3, 0, 1e5);
    return amps.ok ? good({ milliamps: amps.value }) : amps;
  }
  if (scale.kind === 'zones') {
    const zone = scale.zones.find(({ name }) => name.toLowerCase() === text.toLowerCase());
    return zone === undefined
      ? bad(`“${text}” is none of ${scale.zones.map(({ name }) => name).join(', ')}.`)
      : good({ zone: zone.name });
  }
  if (text.endsWith('%') || scale.kind === 'percent') {
    const percent = typedNumber(text, '%', 1, 0, 1000);
    return percent.ok ? good({ percent: percent.value }) : percent;
  }
  if (scale.kind === 'milliamps') {
    const amps = typedNumber(text, 'A', 1e-3, 0, 1e5);
    return amps.ok ? good({ milliamps: amps.value }) : amps;
  }
  const divisions = typedNumber(
    text.replace(/\s*div(isions)?\.?$/i, ''),
    '',
    1,
    0,
    scale.fullScale,
  );
  return divisions.ok ? good({ divisions: divisions.value }) : divisions;
}

export function shownEmission(reading: EmissionReading | undefined, scale: EmissionScale): string {
  if (reading === undefined) return '';
  const { percent, milliamps, divisions, zone } = reading;
  if (percent !== undefined) return scale.kind === 'percent' ? String(percent) : `${percent} %`;
  if (milliamps !== undefined)
    return scale.kind === 'milliamps' ? String(milliamps) : `${milliamps} mA`;
  if (divisions !== undefined) return String(divisions);
  return zone ?? '';
}

/** "290", "12M", "1,4 µA", ">500M", "above 500": a bare number is megohms. */
export function typedLeak(
  typed: string,
): Understood<Pick<LeakValue, 'megohms' | 'aboveMegohms' | 'microamps'>> {
  const text = typed.trim();
  if (/^(∞|inf(inite|inity)?|open|none|no)$/i.test(text))
    return bad(
      'An instrument reads to the top of its scale and no further: write it as > and the top, such as >500M.',
    );
  if (/a$/i.test(text)) {
    const current = parseBounded(text, 'A');
    if (!current.ok)
      return bad(`“${text}” is not understood. ${current.hint ?? `Expected ${current.expected}.`}`);
    if (current.bound !== 'exact') return bad('Write a bound in megohms, such as >500M.');
    return current.value < 0
      ? bad('Write the current without its sign.')
      : good({ microamps: tidy(current.value / 1e-6) });
  }
  const ohms = parseBounded(/[\d.,]$/.test(text) ? `${text} Mohm` : text, 'ohm');
  if (!ohms.ok)
    return bad(
      `“${text}” is not understood. ${ohms.hint ?? 'Expected megohms such as 290 or 12M, a current such as 1.4 µA, or >500M.'}`,
    );
  if (ohms.bound === 'below') return bad('A leak below the scale is a short: enter it there.');
  if (ohms.value <= 0) return bad('A leak of 0 Ω is a short: enter it there.');
  const megohms = tidy(ohms.value / 1e6);
  return good(ohms.bound === 'above' ? { aboveMegohms: megohms } : { megohms });
}

export function shownLeak(reading: LeakValue): string {
  if (reading.microamps !== undefined) return `${reading.microamps} µA`;
  const megohms = reading.megohms ?? reading.aboveMegohms;
  if (megohms === undefined) return '';
  const plain = megohms >= 0.1 && megohms < 1000;
  // with its prefix and without its unit: "1.2G", "50k"
  const text = plain
    ? String(megohms)
    : formatQuantity(megohms * MEGOHM, 'ohm', { digits: 4 }).replaceAll(/[\u00a0Ω]/g, '');
  return reading.aboveMegohms === undefined ? text : `>${text}`;
}

/** Minutes since switch-on: "8", "2.5", "2:30", "90 s". Empty: not noted. */
export function typedMinutes(typed: string): Understood<number | undefined> {
  const text = typed.trim();
  if (text === '') return good(undefined);
  const clock = /^(\d{1,4}):([0-5]\d)$/.exec(text);
  if (clock !== null) return good(tidy(Number(clock[1]) + Number(clock[2]) / 60));
  const minutes = typedNumber(text.replace(/\s*min(utes?)?\.?$/i, ''), 's', 60, 0, 1e5);
  return minutes.ok
    ? minutes
    : bad(`“${text}” is no time. Minutes since switch-on, such as 8, 2.5 or 2:30.`);
}

const ELECTRODES: readonly Electrode[] = [
  'plate',
  'screen',
  'grid',
  'cathode',
  'heater',
  'oscillatorGrid',
  'signalGrid',
];

/** "none", or "grid-cathode 50k hot; plate-screen 2M": electrodes, ohms, and whether it was read with the heater on. */
export function typedShorts(typed: string): Understood<readonly ShortReading[] | undefined> {
  const text = typed.trim();
  if (text === '') return good(undefined);
  if (/^(none|no|0|-)$/i.test(text)) return good([]);
  const shorts: ShortReading[] = [];
  for (const part of text.split(/\s*;\s*|,\s+/).filter((one) => one !== '')) {
    const found = /^([\p{L}\d]+)\s*[-–/]\s*([\p{L}\d]+)\s+(.+?)(\s+hot|\s+cold)?$/iu.exec(part);
    const electrode = (name: string): Electrode | undefined =>
      ELECTRODES.find((one) => one === ourElectrode(name));
    const [a, b] = [electrode(found?.[1] ?? ''), electrode(found?.[2] ?? '')];
    if (found === null || a === undefined || b === undefined || a === b)
      return bad(
        `“${part}” is not understood. Write none, or two electrodes and ohms: grid-cathode 50k hot.`,
      );
    const ohms = parseQuantity(found[3]!, 'ohm');
    if (!ohms.ok)
      return bad(`“${found[3]!}” is not understood. ${ohms.hint ?? `Expected ${ohms.expected}.`}`);
    shorts.push({
      between: [a, b],
      ohms: ohms.value,
      ...(found[4]?.trim().toLowerCase() === 'hot' ? { hot: true } : {}),
    });
  }
  return good(shorts);
}

export function shownShorts(shorts: readonly ShortReading[] | undefined): string {
  if (shorts === undefined) return '';
  if (shorts.length === 0) return 'none';
  return shorts
    .map(
      ({ between, ohms, hot }) =>
        `${between.join('-')} ${formatQuantity(ohms, 'ohm', { digits: 4 })}${hot === true ? ' hot' : ''}`,
    )
    .join('; ');
}

/** In the order of time where every reading has its time. */
export function inTime(readings: readonly LeakageReading[]): readonly LeakageReading[] {
  if (readings.some(({ minutes }) => minutes === undefined)) return readings;
  return [...readings].sort((a, b) => a.minutes! - b.minutes!);
}

/** A limit as typed: a number in the measure's unit, a relation, or empty for the stage's own. */
export function typedLimit(
  typed: string,
  measure: string,
  unit: Unit,
): Understood<number | string | undefined> {
  const text = typed.trim();
  if (text === '') return good(undefined);
  const relation = /^(>=|<=|≥|≤|>|<)\s*(.+)$/.exec(text);
  const rest = (relation?.[2] ?? text).trim();
  const number = parseQuantity(rest, unit);
  if (relation === null) {
    if (number.ok) return good(number.value);
    return text.includes(measure)
      ? good(text.replaceAll('≥', '>=').replaceAll('≤', '<='))
      : bad(
          `“${text}” is no limit. A number${unit === '' ? '' : ` in ${unit}`}, or a relation such as ${measure} >= 0.7 * newTube.${measure}. Empty restores the stage’s own.`,
        );
  }
  const sign = relation[1]!.startsWith('>') || relation[1] === '≥' ? '>=' : '<=';
  return good(`${measure} ${sign} ${number.ok ? number.value : rest}`);
}
