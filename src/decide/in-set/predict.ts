import { atHeaterVoltage } from '../../../models/cathode.ts';
import { printRun, printStart, startFrom, type StartVolts } from '../../circuit/print.ts';
import { readRows } from '../../circuit/read.ts';
import { Stopped } from '../../measure/subjects.ts';
import { socketLeaks } from '../../stage/faults.ts';
import { heaterFactor, LINE, lineFactor } from '../../stage/values.ts';
import type { Draw, Row, RunOptions, Simulator, StageValues, TubeCondition } from '../../types.ts';
import { knobsUnder } from '../../uncertainty/draws.ts';
import type { SetState } from './explanations.ts';
import type { MeterPoint, SetCircuit } from './set-circuit.ts';

/** Volts that a meter reads in the set at rest, out of the same circuit and engine as every verdict. */

/** A state under a draw of tolerances and line, with the probe at a point or nowhere. */
export interface Look {
  readonly state: SetState;
  readonly draw?: Draw;
  readonly meter?: { readonly point: MeterPoint; readonly ohms: number };
}

/** Volts of every point to chassis (the heater's: percent of rated), in the order of `SetCircuit.points`; undefined where the simulation did not finish. */
export type Volts = readonly number[] | undefined;

const ROWS_PER_REQUEST = 250;

export interface Predictor {
  volts(looks: readonly Look[], runId: string): Promise<Volts[]>;
}

/**
 * @param others conditions of the further tubes of the stage, in their places
 * @throws Stopped when the caller's signal stops it; a simulation that fails gives `undefined` for its looks alone
 */
export function predictor(
  set: SetCircuit,
  values: StageValues,
  others: readonly TubeCondition[],
  simulator: Simulator,
  options: RunOptions = {},
): Predictor {
  const rowOf = (look: Look): Row => rowFor(set, values, others, look);
  const startFor = async (look: Look, runId: string): Promise<StartVolts> => {
    const request = printStart(set.circuit, `${runId}.start`, rowOf(look));
    const result = await simulator.run(request, options);
    if (!result.ok && result.why === 'cancelled') throw new Stopped();
    return result.ok ? startFrom(result.vectors) : {};
  };

  const run = async (
    looks: readonly Look[],
    runId: string,
    first: StartVolts,
  ): Promise<Volts[]> => {
    const view = { as: 'quiescent' } as const;
    const printed = printRun(set.circuit, runId, view, looks.map(rowOf), first);
    const result = await simulator.run(printed.request, options);
    if (result.ok) {
      const rows = readRows(set.circuit, view, looks.length, result);
      return rows.map((row, i) =>
        set.points.map(({ node, heater }) =>
          heater === true ? 100 * heaterOf(values, looks[i]!) : row.of(node)[0]!,
        ),
      );
    }
    if (result.why === 'cancelled') throw new Stopped();
    if (looks.length === 1 || result.why === 'parse' || result.why === 'timeout')
      return looks.map(() => undefined);
    const middle = Math.ceil(looks.length / 2);
    const halves = await Promise.all([
      run(looks.slice(0, middle), `${runId}a`, first),
      run(looks.slice(middle), `${runId}b`, first),
    ]);
    return halves.flat();
  };

  return {
    async volts(looks, runId) {
      if (looks.length === 0) return [];
      const first = await startFor(looks[0]!, runId);
      const chunks: Promise<Volts[]>[] = [];
      for (let i = 0; i < looks.length; i += ROWS_PER_REQUEST)
        chunks.push(
          run(looks.slice(i, i + ROWS_PER_REQUEST), `${runId}.${i / ROWS_PER_REQUEST}`, first),
        );
      return (await Promise.all(chunks)).flat();
    },
  };
}

/** Heater volts over rated. */
function heaterOf(values: StageValues, { state, draw = {} }: Look): number {
  return heaterFactor(values, draw[LINE] ?? 0) * state.line;
}

function rowFor(
  set: SetCircuit,
  values: StageValues,
  others: readonly TubeCondition[],
  look: Look,
): Row {
  const { circuit } = set;
  const { state, draw = {}, meter } = look;
  const z = draw[LINE] ?? 0;
  const factor = lineFactor(values, z) * state.line;
  const supplies = Object.fromEntries(
    Object.entries(circuit.knobs).flatMap(([name, { nominal, unknown }]) =>
      unknown === LINE ? [[name, nominal * factor * (nominal > 0 ? state.supply : 1)]] : [],
    ),
  );
  return {
    knobs: {
      ...knobsUnder(circuit, draw),
      ...supplies,
      ...state.knobs,
      ...(meter === undefined || meter.point.heater === true
        ? {}
        : { [set.meterKnob(meter.point)]: meter.ohms }),
    },
    tubes: [state.condition, ...others].map((condition, tube) => ({
      state: atHeaterVoltage(condition, heaterOf(values, look)),
      leaks: [...condition.leaks, ...socketLeaks(values, circuit, tube)],
    })),
    drive: 0,
  };
}
