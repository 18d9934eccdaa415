import { tubesOf, type Case, type Central } from '../central.ts';
import type { Outcome } from '../measure/subjects.ts';
import type { LineReport } from '../types.ts';
import { formatQuantity } from '../units/format.ts';

/** Less than this is nothing to speak of on a line, V. */
const LITTLE_V = 0.02;

/** Of an AGC line where the grid stands, of a bias line where the grid resistors lead; undefined where it was not computed. */
function lineVolts(
  { socket, line }: Case,
  { measures, failed, traces }: Outcome,
): number | undefined {
  const { biasLine } = socket.stage;
  const grid = measures['gridVoltage'];
  if (line?.carries !== 'bias') return typeof grid === 'number' ? grid : undefined;
  const node = biasLine?.node(socket.values);
  if (failed !== undefined) return undefined;
  // a supply without a resistance stays where it is
  return node === undefined ? 0 : traces.volts(biasLine!.step, 0, node)[0];
}

/** What each tube on a shared line does to it: the line with all tubes as read against the line with that one cured. */
export function lineReport(given: Case, id: string, central: Central): LineReport {
  const here = lineVolts(given, central.thisTube);
  const tubes = tubesOf(given).map((tube, i) => {
    const cured = lineVolts(given, central.each[i]!.withoutLeak);
    return {
      tube: tube.id,
      socket: tube.socket?.id ?? given.socket.id,
      lifts_V:
        here !== undefined && cured !== undefined
          ? Math.round((here - cured) * 1e3) / 1e3 + 0
          : null,
    };
  });
  const parts = tubes.map(({ tube, socket, lifts_V }) => {
    const what =
      lifts_V === null
        ? 'not computed'
        : Math.abs(lifts_V) < LITTLE_V
          ? 'nothing to speak of'
          : `${formatQuantity(lifts_V, 'V', { digits: 2 })}`;
    return `${tube} in ${socket} ${what}`;
  });
  return {
    id,
    tubes,
    sentence: `Each tube lifts line ${id}, with the others as they are: ${parts.join('; ')}.`,
  };
}
