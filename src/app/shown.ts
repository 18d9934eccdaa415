import type { LeakOptions } from '../drawing/drawing.ts';
import type { Report } from '../types.ts';
import { formatQuantity } from '../units/format.ts';
import { hasReading, type State } from './state.ts';

/** Pieces of the state as the bench's elements take them. */

export function titleOf(text: string): string {
  return (JSON.parse(text) as { title?: string }).title ?? 'example';
}

export function newLeakage({ drafts }: State) {
  const draft = drafts['leakage.new'];
  return draft === undefined
    ? { minutes: '', text: '' }
    : { minutes: '', text: draft.typed, wrong: draft.message };
}

export function wrongLimits({ drafts }: State): Readonly<Record<string, string>> {
  return Object.fromEntries(
    Object.entries(drafts).flatMap(([key, { message }]) =>
      key.startsWith('limit.') ? [[key.slice(6), message]] : [],
    ),
  );
}

/**
 * Direct volts across a leak from which its current is told: from a heater on alternating volts comes hum, and where the
 * simulation failed nothing is known.
 */
const STANDING_V = 0.01;

/** The leak, where one was read: its path or the likeliest, its resistance, its current, and what it decides. */
export function leakOf(
  report: Report,
  known: readonly [string, string] | undefined,
): LeakOptions | undefined {
  const line = report.wear.find(
    ({ id, value }) => (id === 'gridLeak' || id.startsWith('leak')) && value !== null,
  );
  const likeliest = [...report.paths].sort((a, b) => b.weight - a.weight)[0]?.between;
  const between = (known as LeakOptions['between'] | undefined) ?? likeliest;
  const part = report.circuit.parts.find((one) => one.kind === 'tube');
  if (line === undefined || line.value === null || between === undefined || part === undefined)
    return undefined;
  const status = report.measures.find(({ id }) => id === 'biasShift')?.status ?? report.verdict;
  const [a, b] = between.map((electrode) => voltsAt(report, part.nodes[electrode]));
  const amps = (a! - b!) / line.value;
  const flows = Math.abs(a! - b!) > STANDING_V;
  return {
    tube: part.id,
    between,
    status,
    lines: [
      'leak',
      formatQuantity(line.value, 'ohm', { digits: 2 }),
      ...(flows ? [formatQuantity(Math.abs(amps), 'A', { digits: 2 })] : []),
    ],
    from: flows ? between[amps > 0 ? 0 : 1] : null,
  };
}

const voltsAt = ({ nodeVolts }: Report, node: string | undefined): number =>
  node === '0' ? 0 : node === undefined ? NaN : (nodeVolts.thisTube[node] ?? NaN);

/** The last report, where it is about the tube and the socket that are chosen. */
export const ownReport = ({ report, tube, socket }: State): Report | undefined =>
  report?.tube.id === tube && report.socket.id === socket ? report : undefined;

/** Of a tube that nobody read only what a new one has there is shown. */
export const voltsOf = (
  state: State,
  report: Report | undefined,
): Report['nodeVolts'] | undefined =>
  report === undefined || hasReading(state)
    ? report?.nodeVolts
    : { newTube: report.nodeVolts.newTube, thisTube: {} };

/** Until its causes are there a report shows the paths of the last one about the same tube, so that nothing jumps. */
export const toShow = (
  { report, causes }: { readonly report: Report; readonly causes: boolean },
  last: Report | undefined,
): Report =>
  !causes && last?.tube.id === report.tube.id && last.socket.id === report.socket.id
    ? { ...report, paths: last.paths }
    : report;
