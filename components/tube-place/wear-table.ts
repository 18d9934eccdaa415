import { html, nothing } from 'lit';
import type { WearLine } from '../../src/types.ts';
import { formatInterval, formatQuantity } from '../../src/units/format.ts';

/** What the readings come to, in figures: folded away on the page, open on paper. */
export function wearTable(wear: readonly WearLine[]) {
  if (wear.length === 0) return nothing;
  return html`<details>
    <summary>What the readings come to</summary>
    <table class="wear">
      <tbody>
        ${wear.map(
          (line) =>
            html`<tr>
              <th scope="row">${line.title}</th>
              <td>
                ${line.said ?? (line.value === null ? '—' : formatQuantity(line.value, line.unit, { digits: 3 }))}
                <small>${known(line)}</small>
              </td>
            </tr>`,
        )}
      </tbody>
    </table>
  </details>`;
}

/** How far a quantity may lie, and what says so. */
const known = ({ low, high, unit, known: by }: WearLine): string =>
  [
    low === null || high === null ? '' : formatInterval(low, high, unit),
    { read: '', prior: 'general knowledge', unread: 'not read' }[by],
  ]
    .filter((part) => part !== '')
    .join(', ');
