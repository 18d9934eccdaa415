import { LitElement, css, html, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { AcceptanceCard } from '../../src/decide/accept.ts';
import { notJudgedSentence } from '../../src/report/cautions.ts';
import { unbroken } from '../../src/units/format.ts';
import { base } from '../look/base.styles.ts';
import { form } from '../look/form.styles.ts';
import { tables } from '../look/table.styles.ts';
import '../status-mark/status-mark.ts';
import '../sheet-tools/sheet-tools.ts';
import '../work-line/work-line.ts';
import type { WorkState } from '../work-line/work-line.ts';
import { lower } from '../../src/units/title.ts';

/**
 * The acceptance card of a socket: which readings it still takes, before any tube is measured.
 *
 * @property card the last answer for this socket; undefined while none is there
 * @property sockets, socket the set's sockets, and which one is looked at
 * @property state what the computation is at
 * @fires socket-pick `{id}`, desk-stop, desk-again
 */
@customElement('accept-view')
export class AcceptView extends LitElement {
  static override styles = [
    base,
    form,
    tables,
    css`
      .card {
        border: 1px solid var(--ink);
        padding: 12px 18px 14px;
        margin-top: 14px;
        break-inside: avoid;
      }
      .card h3 {
        border: 0;
        margin: 0;
        padding: 0;
      }
      .pick {
        max-width: 30em;
        margin-top: 10px;
      }
      p.plain {
        font: var(--t-body) / 1.45 var(--serif);
        margin-top: 6px;
      }
      @media print {
        .pick,
        h2,
        .lead {
          display: none;
        }
        .card {
          margin-top: 5mm;
        }
      }
    `,
  ];

  @property({ attribute: false }) card: AcceptanceCard | undefined;
  @property({ attribute: false }) sockets: readonly {
    readonly id: string;
    readonly title: string;
  }[] = [];
  @property() socket = '';
  @property({ attribute: false }) state: WorkState = { kind: 'idle' };

  override render() {
    return html`<section aria-labelledby="h">
      <h2 id="h">What a socket accepts</h2>
      <p class="lead">
        The last readings on your own instrument that this socket still takes, before any tube is
        measured: to have beside the bench while you sort.
      </p>
      <p class="pick">
        <label for="socket">Socket</label>
        <select id="socket" @change=${this.onSocket}>
          ${this.sockets.map(({ id, title }) => html`<option value=${id} ?selected=${id === this.socket}>${id}${title === '' ? '' : `, ${title}`}</option>`)}
        </select>
      </p>
      <work-line .state=${this.state}></work-line>
      ${this.card === undefined ? nothing : this.body(this.card)}
      ${this.card === undefined ? nothing : html`<sheet-tools></sheet-tools>`}
    </section>`;
  }

  private body(card: AcceptanceCard) {
    const newTube = new Map(card.newTube.map(({ title, text }) => [title, text]));
    return html`<article class="card" aria-label="Card for ${card.socket.id}">
        <h3>${card.socket.id}: ${card.socket.title}</h3>
        <p class="note">
          ${card.tube.type}${card.tube.section === '' ? '' : `, section ${card.tube.section}`};
          ${lower(card.socket.stageTitle)}; ${card.bench}
        </p>
        ${
          card.verdict === 'usable'
            ? html`<div class="scroll">
                  <table>
                    <thead>
                      <tr>
                        <th scope="col">reading</th>
                        <th scope="col">usable</th>
                        <th scope="col">a new tube</th>
                      </tr>
                    </thead>
                    <tbody>
                      ${card.limits.map(
                        ({ title, text, beyond }) =>
                          html`<tr>
                            <th scope="row">${title}</th>
                            <td><b>${unbroken(beyond === null ? `any (${text})` : text)}</b></td>
                            <td>${newTube.get(title) ?? ''}</td>
                          </tr>`,
                      )}
                    </tbody>
                  </table>
                </div>
                ${card.trades.map(
                  (trade) =>
                    html`<p class="plain">${trade.title}</p>
                      <div class="scroll">
                        <table>
                          <thead>
                            <tr>
                              ${trade.columns.map((column) => html`<th scope="col">${column}</th>`)}
                            </tr>
                          </thead>
                          <tbody>
                            ${trade.rows.map(
                              (row) =>
                                html`<tr>
                                  ${row.map((cell) => html`<td>${unbroken(cell)}</td>`)}
                                </tr>`,
                            )}
                          </tbody>
                        </table>
                      </div>`,
                )}`
            : html`<p class="plain">
                <status-mark .status=${card.verdict}></status-mark> ${card.sentence}
              </p>`
        }
      </article>
      <h3>What gives way first</h3>
      ${card.limits.map(({ sentence }) => html`<p class="plain">${unbroken(sentence)}</p>`)}
      <h3>How to read it</h3>
      ${[...card.notes, ...card.notJudged.map(notJudgedSentence), ...card.cautions].map((line) => html`<p class="note">${unbroken(line)}</p>`)}
      <p class="note">Tried with ${card.draws} draws, first seed ${card.seed}. ${card.engine}.</p>`;
  }

  private readonly onSocket = (event: Event): void => {
    this.dispatchEvent(
      new CustomEvent('socket-pick', {
        detail: { id: (event.target as HTMLSelectElement).value },
        bubbles: true,
        composed: true,
      }),
    );
  };
}

declare global {
  interface HTMLElementTagNameMap {
    'accept-view': AcceptView;
  }
}
