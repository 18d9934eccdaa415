import { accuracyRows, conditions } from '../../models/accuracy.ts';
import { allDevices, findDevice } from '../../models/catalogue.ts';
import type { Device, Quantity } from '../../models/device.ts';
import { summariseErrors, type ErrorSummary, type NamedError } from '../../models/error-summary.ts';
import { outputSingleEnded } from '../../src/stage/output-single-ended.ts';
import { rcAmplifier } from '../../src/stage/rc-amplifier.ts';
import type { Outcome } from '../../src/measure/subjects.ts';
import type { Simulator } from '../../src/types.ts';
import { measured, modelOf, NEW } from '../stage/bench.ts';
import {
  CHART,
  CONTRADICTED_CHARTS,
  TYPICAL_OPERATION,
  drivenSeenByFit,
  seenByFit,
} from './published-stages.ts';

/** The tracked figures: how far the models and the stages built on them are from what is published. */

export type Accuracy = Readonly<Record<string, ErrorSummary>>;

const TITLES: Readonly<Record<Quantity, string>> = {
  plate_mA: 'plate current',
  screen_mA: 'screen current',
  cathode_mA: 'cathode current, pentagrid at rest',
  gm_mS: 'transconductance',
  rp_ohm: 'plate resistance',
  mu: 'amplification factor',
  cutoff_V: 'cutoff voltage',
  gmAt_V: 'remote cutoff voltage',
  gc_uS: 'conversion transconductance',
  gcAt_V: 'remote cutoff of conversion',
  drop_V: 'rectifier drop',
  power_W: 'power output, fitted rows',
  distortion_percent: 'distortion, fitted rows',
  drivenPlate_mA: 'plate current at full drive',
  drivenScreen_mA: 'screen current at full drive',
  gain: 'resistance-coupled gain, fitted rows',
};

/** Points that decided the fit and points that are only compared, all together: the fit has seen most of them. */
export function modelAccuracy(): Accuracy {
  const rows = accuracyRows(allDevices());
  return Object.fromEntries(
    (Object.keys(TITLES) as Quantity[]).flatMap((quantity) => {
      const errors = rows
        .filter(({ residual }) => residual.quantity === quantity)
        .map(({ device, unit, point, residual }) => ({
          name: `${device} ${unit}, ${conditions(point)}`,
          error_percent: residual.error_percent,
        }));
      return errors.length === 0 ? [] : [[TITLES[quantity], summariseErrors(errors)]];
    }),
  );
}

/** Stages whose figures no fit has seen, simulated with the engine. A simulation that does not finish is an error, never a figure. */
export async function stageAccuracy(simulator: Simulator): Promise<Accuracy> {
  const [gain, agreeing, output, power, distortion]: NamedError[][] = [[], [], [], [], []];
  const compare = (
    list: NamedError[] | undefined,
    name: string,
    value: unknown,
    published: number,
    points = false,
  ) => {
    if (typeof value !== 'number') throw new Error(`${name}: no figure`);
    list?.push({
      name,
      error_percent: points ? value - published : 100 * (value / published - 1),
    });
  };
  for (const row of CHART) {
    const seen = seenByFit(deviceOf(row.type), row);
    const name = `${row.type} ${row.supply_V} V, ${row.plate_Mohm}/${row.next_Mohm} Mohm, ${row.cathode_ohm} ohm`;
    const [outcome] = await measured(
      rcAmplifier,
      row.type,
      {
        supply: row.supply_V,
        plateLoad: row.plate_Mohm * 1e6,
        nextGridResistor: row.next_Mohm * 1e6,
        cathodeResistor: row.cathode_ohm,
        cathodeBypass: 1e-3,
        outputCapacitor: 1e-6,
        sourceResistance: 0,
        // The chart speaks of the grid's own voltage: through a large resistor the grid current would move the bias before its onset.
        gridResistor: 1e3,
        ...(row.screen_Mohm === undefined
          ? {}
          : { screenDropper: row.screen_Mohm * 1e6, screenBypass: 1e-5 }),
      },
      [newTube(row.type)],
      simulator,
    );
    finished(name, outcome);
    if (!seen.gain) {
      compare(gain, name, outcome?.measures['gain'], row.gain);
      if (!CONTRADICTED_CHARTS.includes(row.type))
        compare(agreeing, name, outcome?.measures['gain'], row.gain);
    }
    if (!seen.output) compare(output, name, outcome?.measures['outputAtGridCurrent'], row.output_V);
  }
  for (const row of TYPICAL_OPERATION) {
    if (drivenSeenByFit(deviceOf(row.type), row)) continue;
    const name = `${row.type} ${row.plate_V}/${row.screen_V}/${row.grid_V} V, ${row.load_ohm} ohm`;
    const [outcome] = await measured(
      outputSingleEnded,
      row.type,
      {
        plateSupply: row.plate_V,
        screenSupply: row.screen_V,
        fixedBias: row.grid_V,
        drive: row.drive_V ?? -row.grid_V,
        loadResistance: row.load_ohm,
        // The published voltages are those of the electrodes.
        primaryResistance: 1,
        sourceResistance: 1,
        gridResistor: 100e3,
      },
      [newTube(row.type)],
      simulator,
      ['rest', 'driven'],
    );
    finished(name, outcome);
    compare(power, name, outcome?.measures['powerOutput'], row.power_W);
    compare(distortion, name, outcome?.measures['distortion'], row.distortion_percent, true);
  }
  return {
    'resistance-coupled gain': summariseErrors(gain ?? []),
    'the same, charts that agree with their characteristics': summariseErrors(agreeing ?? []),
    'peak output at the onset of grid current': summariseErrors(output ?? []),
    'power output': summariseErrors(power ?? []),
    'distortion (percentage points)': summariseErrors(distortion ?? []),
  };
}

function deviceOf(type: string): Device {
  const found = findDevice(type);
  if (found === undefined) throw new Error(`no type ${type}`);
  return found.device;
}

function finished(name: string, outcome: Outcome | undefined): void {
  if (outcome?.failed !== undefined) throw new Error(`${name}: ${outcome.failed}`);
}

function newTube(type: string) {
  return { ...NEW, saturation_A: (modelOf(type).parameters['isat_mA'] ?? NaN) * 1e-3 };
}

/** The table of the README. */
export function accuracyTable(accuracy: Accuracy): string {
  return [
    '| figure | published | median error | 90 % within | furthest away |',
    '|---|---:|---:|---:|---|',
    ...Object.entries(accuracy).map(
      ([title, { points, median_percent, p90_percent, worst }]) =>
        `| ${title} | ${points} | ${median_percent} % | ${p90_percent} % | ${worst[0] ?? ''} |`,
    ),
    '',
    'Most points of single tubes also decided their fit, and so did the rows that say so; the figures of whole stages (the last five lines) no fit has seen, but one number of all sharp-cutoff pentodes was chosen with the chart of the 6SJ7 in view (`models/pentode/README.md`). The second gain line leaves out the charts of the 6SN7GT and 6SQ7: the characteristics of the same books alone, without any model, give 7 to 15 % more than these.',
  ].join('\n');
}
