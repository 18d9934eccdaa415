import type { BoxLabel } from '../../components/tube-label/tube-label.ts';
import type { Report } from '../types.ts';
import { formatInterval, formatQuantity } from '../units/format.ts';
import { safeMargin } from '../verdict/margins.ts';
import type { InstrumentProfile } from '../wear/profile.ts';
import type { Readings } from '../wear/readings.ts';
import { shownEmission, shownLeak, shownShorts } from './typed-readings.ts';
import { capital } from '../units/title.ts';

const WORD: Readonly<Record<Report['verdict'], string>> = {
  usable: 'Usable',
  marginal: 'Marginal',
  unsuitable: 'Unsuitable',
  undetermined: 'Undetermined',
  failed: 'Not computed',
};

/** @param date as it is printed */
export function boxLabel(
  report: Pick<Report, 'tube' | 'socket' | 'companions' | 'verdict' | 'measures' | 'decidedBy'>,
  readings: Readings,
  bench: InstrumentProfile,
  date: string,
): BoxLabel {
  const { tube, socket, companions, verdict } = report;
  const others = companions.map(({ id }) => id).join(' and ');
  return {
    type: tube.type,
    name: tube.section === '' ? tube.id : `${tube.id}, section ${tube.section}`,
    verdict,
    word: WORD[verdict],
    socket: `in ${socket.id}: ${socket.title}${others === '' ? '' : `, together with ${others}`}`,
    margin: marginText(report),
    readings: readingsText(readings, bench),
    date,
  };
}

/** At the unsafe end of the interval. A verdict without a number says its reason instead. */
function marginText({
  measures,
  decidedBy,
  verdict,
}: Pick<Report, 'verdict' | 'measures' | 'decidedBy'>): string {
  const decider = measures.find(({ id }) => id === decidedBy.measure);
  const margin = decider === undefined ? undefined : safeMargin(decider);
  if (decider === undefined || margin === undefined || decider.limit === null)
    return decidedBy.sentence;
  if (verdict === 'undetermined' || verdict === 'failed') return decidedBy.sentence;
  const { title, unit, low, high, value, limit } = decider;
  const shown =
    low !== null && high !== null
      ? formatInterval(low, high, unit)
      : formatQuantity(value ?? NaN, unit);
  const side = margin < 0 ? 'beyond by' : 'inside by';
  return `Decides: ${title} ${shown}, ${limit.sense === 'atLeast' ? 'at least' : 'at most'} ${formatQuantity(limit.bound, unit, { digits: 2 })}; least margin: ${side} ${formatQuantity(Math.abs(100 * margin), '%', { digits: 2 })}`;
}

const minutes = (time: number | undefined): string =>
  time === undefined ? '' : ` after ${Number(time.toFixed(1))} min`;

function readingsText(readings: Readings, bench: InstrumentProfile): string {
  const { emission, starvedHeater, leakage, heaterCathode, gridCurrent, shorts } = readings;
  const { scale } = bench.emission;
  const unit = { percent: ' %', milliamps: ' mA', divisions: ' div', zones: '' }[scale.kind];
  const last = emission?.at(-1);
  const shown = shownEmission(last, scale);
  const leak = (one: NonNullable<typeof leakage>[number] | undefined, what: string): string => {
    if (one === undefined) return '';
    const text = shownLeak(one);
    return `${what} ${/\d$/.test(text) ? `${text} MΩ` : text}${minutes(one.minutes)}`;
  };
  const said = [
    last === undefined
      ? ''
      : `emission ${/^[\d.]+$/.test(shown) ? `${shown}${unit}` : shown}${minutes(last.minutes)}`,
    starvedHeater === undefined ? '' : `drop ${starvedHeater.drop_percent} %`,
    leak(leakage?.at(-1), 'grid leakage'),
    leak(heaterCathode?.at(-1), 'heater to cathode'),
    gridCurrent === undefined ? '' : `grid current ${gridCurrent.microamps} µA`,
    shorts === undefined ? '' : `shorts ${shownShorts(shorts)}`,
  ].filter((one) => one !== '');
  const missing = [
    last === undefined ? 'emission' : '',
    starvedHeater === undefined ? 'drop' : '',
    leakage === undefined ? 'grid leakage' : '',
    gridCurrent === undefined ? 'grid current' : '',
  ].filter((one) => one !== '');
  const text = said.join(', ');
  return `${text === '' ? 'Nothing was read' : capital(text)}${missing.length === 0 ? '' : `; not read: ${missing.join(', ')}`}.`;
}
