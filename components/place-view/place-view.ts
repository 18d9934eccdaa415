import { LitElement, css, html, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { PlacingCell, PlacingReport } from '../../src/decide/place.ts';
import { formatQuantity, unbroken } from '../../src/units/format.ts';
import { base } from '../look/base.styles.ts';
import { form } from '../look/form.styles.ts';
import { tables } from '../look/table.styles.ts';
import { STATUS_WORD } from '../status-mark/status-mark.ts';
import '../sheet-tools/sheet-tools.ts';
import '../work-line/work-line.ts';
import type { WorkState } from '../work-line/work-line.ts';

const percent = (margin: number | null): string =>
  margin === null ? '' : formatQuantity(100 * margin, '%', { digits: 2 });

/**
 * A box of tubes over the sockets of a set: every tube in every socket, and the best placing.
 *
 * @property report the last answer; undefined while none is there
 * @property state what the computation is at
 * @fires cell-pick `{tube, socket}`, desk-stop, desk-again
 */
@customElement('place-view')
export class PlaceView extends LitElement {
  static override styles = [
    base,
    form,
    tables,
    css`
      section {
        max-width: 1080px;
      }
      td:has(> status-mark) {
        white-space: nowrap;
      }
      .placing li {
        font: var(--t-body) / 1.45 var(--serif);
        padding: 8px 0;
        border-bottom: 1px solid var(--rule);
        display: grid;
        grid-template-columns: 9.5em minmax(0, var(--measure));
        gap: 2px 14px;
      }
      .placing .status {
        font-family: var(--sans);
        font-weight: 650;
        white-space: nowrap;
      }
      .placing .status + span {
        grid-column: 2;
      }
      .placing li > span:only-child {
        grid-column: 1 / -1;
      }
      .why {
        font: var(--t-small) / 1.4 var(--serif);
        color: var(--ink-2);
        max-width: var(--measure);
      }
      td .m {
        color: var(--ink-3);
        font-size: var(--t-small);
      }
      td button {
        text-decoration: none;
        text-align: left;
        display: inline-flex;
        gap: 6px;
        align-items: baseline;
      }
      td button:hover span {
        text-decoration: underline;
      }
      @media (max-width: 640px) {
        .placing li {
          display: block;
        }
        td button {
          flex-wrap: wrap;
          row-gap: 0;
        }
        td:has(> button status-mark) {
          white-space: normal;
        }
      }
      .here {
        font-weight: 650;
        box-shadow: inset 0 -2px 0 var(--ink);
      }
      @media print {
        td button {
          text-decoration: none;
        }
        .hint {
          display: none;
        }
      }
      p.plain {
        font: var(--t-body) / 1.45 var(--serif);
        margin-top: 6px;
        max-width: var(--measure);
      }
    `,
  ];

  @property({ attribute: false }) report: PlacingReport | undefined;
  @property({ attribute: false }) state: WorkState = { kind: 'idle' };

  override render() {
    const { report } = this;
    return html`<section aria-labelledby="h">
      <h2 id="h">Compare and place</h2>
      <p class="lead">
        Every tube of the box in every socket that its type fits, and the placing that leaves the
        worst socket the most room.
      </p>
      <work-line .state=${this.state}></work-line>
      ${report === undefined ? nothing : this.body(report)}
      ${report === undefined ? nothing : html`<sheet-tools></sheet-tools>`}
    </section>`;
  }

  private body(report: PlacingReport) {
    const single = report.sockets.filter(({ id }) =>
      report.cells.some(({ socket }) => socket === id),
    );
    const tubes = report.tubes.filter(({ id }) => report.cells.some(({ tube }) => tube === id));
    return html`<h3>The best placing</h3>
      <p class="plain">${unbroken(report.sentence)}</p>
      <ul class="placing">
        ${report.placing.map(
          (one) =>
            html`<li>
              ${one.verdict === null ? nothing : html`<span class="status"><status-mark .status=${one.verdict}></status-mark> ${STATUS_WORD[one.verdict]}</span>`}
              <span>${unbroken(one.sentence)}</span>
            </li>`,
        )}
      </ul>
      ${
        tubes.length === 0
          ? nothing
          : html`<h3>Every tube in every socket</h3>
              <p class="note">
                The figure is the margin of the tightest measure: how far the unsafe end of its
                interval lies within its limit, in percent of the limit; with a minus, beyond it.
                <span class="hint">Pick a cell to open it on the bench.</span>
              </p>
              <div class="scroll">
                <table>
                  <thead>
                    <tr>
                      <th scope="col">tube</th>
                      ${single.map(({ id }) => html`<th scope="col">${id}</th>`)}
                    </tr>
                  </thead>
                  <tbody>
                    ${tubes.map(
                      ({ id, type }) =>
                        html`<tr>
                          <th scope="row">${id} <span class="dim">${type}</span></th>
                          ${single.map((socket) => this.cell(report, id, socket.id, single.length === 1))}
                        </tr>`,
                    )}
                  </tbody>
                </table>
              </div>`
      }
      ${report.pairs.map(
        ({ socket, pairs }) =>
          html`<h3>Pairs for ${socket}</h3>
            ${pairs.length === 0 ? html`<p class="plain">No pair in this box.</p>` : nothing}
            ${pairs.map(
              ({ tubes: two, verdict, sentence }) =>
                html`<p class="plain">
                  <b>${two.join(' and ')}</b
                  >${verdict === null ? nothing : html`, <status-mark .status=${verdict}></status-mark> ${STATUS_WORD[verdict]}`}.
                  ${sentence}
                </p>`,
            )}`,
      )}
      ${
        report.order.length === 0
          ? nothing
          : html`<h3>To order</h3>
              ${report.order.map(({ sentence }) => html`<p class="plain">${sentence}</p>`)}`
      }
      ${report.spare.length === 0 ? nothing : html`<p class="plain">Left in the box: ${report.spare.join(', ')}.</p>`}
      ${report.notes.map((note) => html`<p class="note">${note}</p>`)}
      <p class="note">${report.draws} draws, seed ${report.seed}. ${report.engine}.</p>`;
  }

  /** Where there is one socket only, a tube that is not placed says why: on a phone a title cannot be read. */
  private cell(report: PlacingReport, tube: string, socket: string, alone: boolean) {
    const cell = report.cells.find((one) => one.tube === tube && one.socket === socket);
    if (cell === undefined) return html`<td class="dim">–</td>`;
    const here = report.placing.some((one) => one.socket === socket && one.tubes.includes(tube));
    return html`<td>
      <button
        type="button"
        class=${here ? 'here' : ''}
        title=${cell.sentence}
        @click=${() => this.pick(cell)}
      >
        <span class="unseen">${tube} in ${socket}:</span>
        <status-mark .status=${cell.verdict}></status-mark>
        <span>${STATUS_WORD[cell.verdict]}</span> <span class="m">${percent(cell.margin)}</span>
        <span class="unseen">${here ? 'placed here, ' : ''}open on the bench</span>
      </button>
      ${alone && !here ? html`<p class="why">${unbroken(cell.sentence)}</p>` : nothing}
    </td>`;
  }

  private pick({ tube, socket }: PlacingCell): void {
    this.dispatchEvent(
      new CustomEvent('cell-pick', { detail: { tube, socket }, bubbles: true, composed: true }),
    );
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'place-view': PlaceView;
  }
}
