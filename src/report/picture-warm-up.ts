import type { WearLine } from '../types.ts';
import type { InstrumentProfile } from '../wear/profile.ts';
import type { LeakageReading } from '../wear/readings.ts';
import { formatInterval, formatQuantity } from '../units/format.ts';
import type { Picture, PictureMark } from './picture.ts';

const MEGOHM = 1e6;
/** Where the hot value is drawn at the least, minutes. */
const HOT_AT_LEAST_MIN = 20;

interface Point {
  readonly minutes: number;
  readonly megohms: number;
  readonly above: boolean;
}

/**
 * Leakage against minutes as it was read, and the hot value that it comes to in the set. Undefined until a reading has its
 * time.
 *
 * @param wear the report's wear; its `gridLeak` is the hot value
 */
export function warmUpPicture(
  readings: readonly LeakageReading[] | undefined,
  bench: InstrumentProfile,
  wear: readonly WearLine[] | undefined,
): Picture | undefined {
  const points = (readings ?? []).flatMap((reading): Point[] => {
    const megohms = megohmsOf(reading, bench);
    return reading.minutes === undefined || megohms === undefined || megohms <= 0
      ? []
      : [{ minutes: reading.minutes, megohms, above: reading.aboveMegohms !== undefined }];
  });
  const last = points.at(-1);
  if (last === undefined) return undefined;
  const line = wear?.find(
    ({ id, value }) => (id === 'gridLeak' || id.startsWith('leak')) && value !== null,
  );
  const hot =
    line?.value === undefined || line.value === null
      ? undefined
      : { value: line.value, low: line.low, high: line.high };
  const end = Math.max(HOT_AT_LEAST_MIN, Math.ceil(last.minutes * 1.5));
  const read = points.filter(({ above }) => !above);
  const marks: PictureMark[] = points.map(({ minutes, megohms, above }) => ({
    title: above ? 'read, above' : 'read',
    role: 'reading',
    x: minutes,
    y: megohms,
    ...(above ? { label: `above ${megohms}` } : {}),
  }));
  if (hot !== undefined)
    marks.push({
      title: 'hot in the set',
      role: 'this',
      x: end,
      y: hot.value / MEGOHM,
      label: `${formatQuantity(hot.value, 'ohm', { digits: 2 })} hot`,
      ...(hot.low === null || hot.high === null
        ? {}
        : { low: hot.low / MEGOHM, high: hot.high / MEGOHM }),
    });
  const said = points
    .map(
      ({ minutes, megohms, above }) =>
        `${above ? 'above ' : ''}${megohms} MΩ at ${minutes} minutes`,
    )
    .join(', ');
  const projected =
    hot === undefined
      ? ''
      : `; hot in the set ${formatQuantity(hot.value, 'ohm', { digits: 2 })}${hot.low === null || hot.high === null ? '' : `, 90 % interval ${formatInterval(hot.low, hot.high, 'ohm')}`}`;
  const sizes = [
    ...points.map(({ megohms }) => megohms),
    ...(hot === undefined
      ? []
      : [hot.value / MEGOHM, (hot.low ?? hot.value) / MEGOHM, (hot.high ?? hot.value) / MEGOHM]),
  ];
  return {
    id: 'warm-up',
    caption: 'Leakage while the tube warms up, and where it ends in the set.',
    alt: `Leakage against minutes since switch-on: ${said}${projected}.`,
    x: { title: 'minutes', scale: 'linear', low: 0, high: end * 1.04 },
    y: {
      title: 'leakage, MΩ',
      scale: 'log',
      low: Math.min(...sizes) / 1.6,
      high: Math.max(...sizes) * 1.6,
    },
    lines: [
      ...(read.length > 1
        ? [
            {
              title: 'as read',
              role: 'this' as const,
              points: read.map(({ minutes, megohms }) => [minutes, megohms] as const),
            },
          ]
        : []),
      ...(hot !== undefined && read.length > 0
        ? [
            {
              title: 'not yet read',
              role: 'projected' as const,
              points: [
                [read.at(-1)!.minutes, read.at(-1)!.megohms],
                [end, hot.value / MEGOHM],
              ] as const,
            },
          ]
        : []),
    ],
    marks,
  };
}

function megohmsOf(reading: LeakageReading, bench: InstrumentProfile): number | undefined {
  if (reading.microamps !== undefined)
    return reading.microamps > 0
      ? (reading.atVolts ?? bench.leakage.volts) / reading.microamps
      : undefined;
  return reading.megohms ?? reading.aboveMegohms;
}
