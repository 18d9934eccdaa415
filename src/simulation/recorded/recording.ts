import type { SimRequest } from '../../types.ts';
import type { EngineAnswer, Line } from '../spice.ts';

/** What the real engine answered to one netlist, as data: for tests that must not depend on running it. */
export interface Recording {
  /** How it was made, in words. */
  readonly how: string;
  readonly engine: string;
  readonly request: SimRequest;
  /** Serial that the netlist's title carried. */
  readonly serial: number;
  /** Numbers that JSON cannot hold are words: "Infinity", "-Infinity", "NaN". */
  readonly answer: {
    readonly plots: readonly {
      readonly title: string;
      readonly plotName: string;
      readonly complex: boolean;
      readonly points: number;
      readonly scale: string;
      readonly vectors: Readonly<Record<string, readonly (number | string)[]>>;
    }[];
    readonly lines: readonly Line[];
  };
}

export function toRecording(
  how: string,
  engine: string,
  request: SimRequest,
  serial: number,
  answer: EngineAnswer,
): Recording {
  const asJson = (value: number): number | string =>
    Number.isFinite(value) ? value : String(value);
  const plots = answer.plots.map((plot) => ({
    ...plot,
    vectors: Object.fromEntries(
      Object.entries(plot.vectors).map(([name, values]) => [name, Array.from(values, asJson)]),
    ),
  }));
  return { how, engine, request, serial, answer: { plots, lines: answer.lines } };
}

export function answerOf({ answer }: Recording): EngineAnswer {
  const plots = answer.plots.map((plot) => ({
    ...plot,
    vectors: Object.fromEntries(
      Object.entries(plot.vectors).map(([name, values]) => [
        name,
        Float64Array.from(values, Number),
      ]),
    ),
  }));
  return { plots, lines: answer.lines };
}
