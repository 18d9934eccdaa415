import { tubesOf, type Case, type Central } from '../central.ts';
import type { LineReport } from '../types.ts';
import { formatQuantity } from '../units/format.ts';

/** Less than this is nothing to speak of on a line, V. */
const LITTLE_V = 0.02;

/** What each tube on a shared AGC line does to it: the line with all tubes as read against the line with that one cured. */
export function lineReport(given: Case, id: string, central: Central): LineReport {
  const here = central.thisTube.measures['gridVoltage'];
  const tubes = tubesOf(given).map((tube, i) => {
    const cured = central.each[i]!.withoutLeak.measures['gridVoltage'];
    return {
      tube: tube.id,
      socket: tube.socket?.id ?? given.socket.id,
      lifts_V:
        typeof here === 'number' && typeof cured === 'number'
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
