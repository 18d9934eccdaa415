import type { LeakageCell, ReadingRow } from '../../components/tube-place/tube-place.ts';
import type { InstrumentProfile } from '../wear/profile.ts';
import type { Readings } from '../wear/readings.ts';
import type { Draft } from './state.ts';
import { shownEmission, shownLeak, shownShorts } from './typed-readings.ts';

/** What the tube's readings look like in the fields of the page. */

const MINUS = '\u2212';

export function readingRows(
  readings: Readings,
  bench: InstrumentProfile,
  drafts: Readonly<Record<string, Draft>>,
): readonly ReadingRow[] {
  const {
    emission,
    starvedHeater,
    shorts,
    heaterCathode,
    gridCurrent,
    transconductance,
    hoursSinceLastUsed,
  } = readings;
  const { scale } = bench.emission;
  const percent = starvedHeater?.heater_percent ?? bench.starvedHeater?.heater_percent;
  const lowered =
    percent === undefined ? 'starved' : `${MINUS}${Number((100 - percent).toFixed(1))} %`;
  const number = (value: number | undefined): string =>
    value === undefined ? '' : String(value).replace('-', MINUS);
  const rows: ReadingRow[] = [
    {
      key: 'emission',
      label: 'Emission',
      text: shownEmission(emission?.at(-1), scale),
      unit: {
        percent: '% of new',
        milliamps: 'mA',
        divisions: scale.kind === 'divisions' ? `of ${scale.fullScale} div` : '',
        zones: '',
      }[scale.kind],
      ...(scale.kind === 'zones' ? { choices: scale.zones.map(({ name }) => name) } : {}),
    },
    {
      key: 'drop',
      label: `Drop, ${lowered} heat`,
      text: number(starvedHeater?.drop_percent),
      unit: '%',
    },
    {
      key: 'shorts',
      label: 'Shorts',
      text: shownShorts(shorts),
      unit: 'none, or which',
    },
    {
      key: 'heaterCathode',
      label: 'Heater to cathode',
      text: heaterCathode === undefined ? '' : shownLeak(heaterCathode.at(-1)!),
      unit: 'MΩ',
      more: true,
    },
    {
      key: 'gridCurrent.microamps',
      label: 'Grid current, conducting',
      text: number(gridCurrent?.microamps),
      unit: 'µA',
      more: true,
    },
    {
      key: 'gridCurrent.plateVolts',
      label: 'at plate volts',
      text: number(gridCurrent?.plateVolts),
      unit: 'V',
      more: true,
    },
    {
      key: 'gridCurrent.gridVolts',
      label: 'and grid volts',
      text: number(gridCurrent?.gridVolts),
      unit: 'V',
      more: true,
    },
    {
      key: 'transconductance',
      label: 'Transconductance',
      text:
        transconductance?.percent === undefined
          ? number(transconductance?.mS)
          : `${transconductance.percent} %`,
      unit: 'mS or %',
      more: true,
    },
    {
      key: 'transconductance.plateVolts',
      label: 'at plate volts',
      text: number(transconductance?.plateVolts),
      unit: 'V',
      more: true,
    },
    {
      key: 'transconductance.screenVolts',
      label: 'screen volts',
      text: number(transconductance?.screenVolts),
      unit: 'V',
      more: true,
    },
    {
      key: 'transconductance.gridVolts',
      label: 'and grid volts',
      text: number(transconductance?.gridVolts),
      unit: 'V',
      more: true,
    },
    {
      key: 'hoursSinceLastUsed',
      label: 'Last used, hours ago',
      text: number(hoursSinceLastUsed),
      unit: 'h',
      more: true,
    },
  ];
  return rows.map((row) => {
    const draft = drafts[row.key];
    return draft === undefined
      ? row
      : { ...row, text: draft.typed, ...(draft.message === '' ? {} : { wrong: draft.message }) };
  });
}

export function leakageCells(
  readings: Readings,
  drafts: Readonly<Record<string, Draft>>,
): readonly LeakageCell[] {
  return (readings.leakage ?? []).map((reading, i) => {
    const draft = drafts[`leakage.${i}`];
    const minutes = reading.minutes === undefined ? '' : String(Number(reading.minutes.toFixed(2)));
    return draft === undefined
      ? { minutes, text: shownLeak(reading) }
      : { minutes, text: draft.typed, wrong: draft.message };
  });
}

export const PATHS = [
  { id: '', title: 'not known' },
  { id: 'screen', title: 'screen' },
  { id: 'cathode', title: 'cathode' },
  { id: 'plate', title: 'plate' },
  { id: 'heater', title: 'heater' },
] as const;
