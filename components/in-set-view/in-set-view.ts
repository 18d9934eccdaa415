import { LitElement, css, html, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { InSetLine, InSetReport } from '../../src/decide/in-set/in-set.ts';
import type { Diagnosis, NextMeasurement } from '../../src/decide/in-set/diagnose.ts';
import {
  intervalText,
  NONE_FITS,
  remarks,
  sizeText,
  unitOf,
  voltsText,
  worthTelling,
} from '../../src/report/in-set-words.ts';
import { formatQuantity } from '../../src/units/format.ts';
import { base } from '../look/base.styles.ts';
import { form } from '../look/form.styles.ts';
import { tables } from '../look/table.styles.ts';
import '../sheet-tools/sheet-tools.ts';
import '../work-line/work-line.ts';
import type { WorkState } from '../work-line/work-line.ts';
import { capital } from '../../src/units/title.ts';

/** A reading as it was typed, or the meter. */
export interface CheckEdit {
  readonly point: string;
  readonly after?: string;
  readonly typed: string;
}

/** A reading that was taken after something was done. */
export interface AfterReading {
  readonly point: string;
  readonly after: string;
  readonly volts: number;
}

/**
 * Check in the set: what a meter should read at each pin, fields for what it did read, and what explains it.
 *
 * @property report the last answer for this tube in this socket; undefined while none is there
 * @property state what the computation is at
 * @property taken readings that were taken after something was done
 * @property wrong what was typed and not understood, by "point" or "point@after"
 * @fires check-edit `CheckEdit`, check-meter `{key, typed}`, desk-stop, desk-again
 */
@customElement('in-set-view')
export class InSetView extends LitElement {
  static override styles = [
    base,
    form,
    tables,
    css`
      section {
        max-width: 860px;
      }
      .cautions {
        border: 1px solid var(--ink);
        padding: 8px 14px;
        margin-top: 12px;
        font: var(--t-small) / 1.45 var(--serif);
      }
      .cautions li {
        padding: 2px 0;
      }
      td .field {
        width: 7.5em;
        text-align: right;
      }
      .bad {
        display: block;
        white-space: normal;
        max-width: 22em;
        font-size: var(--t-small);
      }
      ol {
        margin: 8px 0 0;
        padding: 0;
        list-style: none;
      }
      ol li {
        display: grid;
        grid-template-columns: 4.5em minmax(0, 1fr);
        gap: 0 10px;
        border-top: 1px solid var(--rule);
        padding: 6px 0;
      }
      ol .share {
        text-align: right;
        font-variant-numeric: tabular-nums;
        font-weight: 650;
      }
      ol .bar {
        grid-column: 2;
        height: 3px;
        margin-top: 4px;
        background: var(--ink-3);
      }
      .first b {
        font: 600 var(--t-lead) / 1.35 var(--serif);
      }
      .next {
        border-top: 1.5px solid var(--ink);
        border-bottom: 1.5px solid var(--ink);
        margin-top: 16px;
        padding: 8px 0 10px;
      }
      .ask {
        display: flex;
        flex-wrap: wrap;
        gap: 4px 12px;
        align-items: baseline;
        margin-top: 8px;
      }
      .ask .field {
        width: 8em;
      }
      .meter {
        display: flex;
        flex-wrap: wrap;
        gap: 4px 22px;
        margin-top: 12px;
        align-items: baseline;
      }
      .meter .field {
        width: 6em;
      }
      .narrow {
        display: none;
        color: var(--ink-3);
        font-size: var(--t-small);
      }
      @media (max-width: 640px) {
        .wide {
          display: none;
        }
        .narrow {
          display: block;
        }
      }
      @media print {
        .ask,
        summary {
          display: none;
        }
        .next,
        .cautions {
          break-inside: avoid;
        }
        details {
          margin-top: 10px;
        }
        details::before {
          content: 'What these readings cannot show, and so do not exclude';
          font-weight: 650;
        }
        details::details-content {
          display: block;
          content-visibility: visible;
          block-size: auto;
        }
        .bad {
          display: none;
        }
      }
    `,
  ];

  @property({ attribute: false }) report: InSetReport | undefined;
  @property({ attribute: false }) state: WorkState = { kind: 'idle' };
  @property() heading = '';
  @property({ attribute: false }) taken: readonly AfterReading[] = [];
  @property({ attribute: false }) wrong: Readonly<
    Record<string, { readonly typed: string; readonly message: string }>
  > = {};

  override render() {
    const { report } = this;
    return html`<section aria-labelledby="h">
      <h2 id="h">Check in the set</h2>
      <p class="lead">${this.heading}</p>
      <work-line .state=${this.state}></work-line>
      ${
        report === undefined
          ? nothing
          : html`<ul class="cautions" aria-label="Cautions">
                ${report.cautions.map((caution) => html`<li>${caution}</li>`)}
              </ul>
              ${this.meter(report)} ${this.table(report)}
              ${report.diagnosis === null ? html`<p class="lead">Type what you read; two or three points are often enough. The likeliest explanation and the next measurement follow.</p>` : this.diagnosis(report.diagnosis, report)}
              <p class="note">
                90 % intervals: readings of the tube, tolerances, line voltage; seed ${report.seed}.
                ${report.engine}.
              </p>
              <sheet-tools></sheet-tools>`
      }
    </section>`;
  }

  private meter({ meter }: InSetReport) {
    const field = (key: string, label: string, value: string) => {
      const wrong = this.wrong[`meter.${key}`];
      return html`<span
        ><label for=${key}>${label}</label>
        <input
          class="field"
          id=${key}
          value=${wrong?.typed ?? value}
          .value=${wrong?.typed ?? value}
          autocomplete="off"
          @change=${(event: Event) => this.tell('check-meter', { key, typed: (event.target as HTMLInputElement).value })}
        />${wrong === undefined ? nothing : html`<span class="bad" role="alert">${wrong.message}</span>`}</span
      >`;
    };
    return html`<div class="meter">
      ${field('meter', 'Input resistance of your meter', formatQuantity(meter.ohms, 'ohm', { digits: 3 }))}
      ${field('accuracy_percent', 'its error, plus or minus', `${meter.accuracy_percent} %`)}
    </div>`;
  }

  private table(report: InSetReport) {
    return html`<div class="scroll">
        <table>
          <caption class="unseen">
            Volts to chassis at rest, without a signal
          </caption>
          <thead>
            <tr>
              <th scope="col">to chassis, no signal</th>
              <th scope="col" class="n wide">pin</th>
              <th scope="col" class="n wide">new tube ○</th>
              <th scope="col" class="n">this tube ●</th>
              <th scope="col" class="n">you read</th>
            </tr>
          </thead>
          <tbody>
            ${report.lines.map((line) => this.row(line))}
            ${this.taken.map((reading) => this.afterRow(reading, report))}
          </tbody>
        </table>
      </div>
      ${remarks(report.lines).map((text) => html`<p class="note">${text}</p>`)}`;
  }

  private row(line: InSetLine) {
    return html`<tr>
      <th scope="row">
        ${line.title}
        <span class="narrow"
          >${line.pins.length === 0 ? nothing : html`pin ${line.pins.join(', ')}<br />`}new:
          ${intervalText(line.newTube, line)}</span
        >
      </th>
      <td class="n wide">${line.pins.join(', ')}</td>
      <td class="n wide">${intervalText(line.newTube, line)}</td>
      <td class="n"><b>${intervalText(line.thisTube, line)}</b></td>
      <td class="n">
        ${this.field(line.title, { point: line.point, typed: '' }, line.read === null ? '' : voltsText(line.read, line))}
      </td>
    </tr>`;
  }

  private afterRow({ point, after, volts }: AfterReading, report: InSetReport) {
    const title = report.procedures.find(({ id }) => id === after)?.title ?? after;
    return html`<tr>
      <th scope="row" colspan="2">${point} ${title}</th>
      <td class="wide"></td>
      <td class="wide"></td>
      <td class="n">
        ${this.field(`${point} ${title}`, { point, after, typed: '' }, voltsText(volts, { point }))}
      </td>
    </tr>`;
  }

  private field(title: string, edit: CheckEdit, value: string) {
    const wrong = this.wrong[edit.after === undefined ? edit.point : `${edit.point}@${edit.after}`];
    return html`<input
        class="field"
        aria-label="You read: ${title}"
        placeholder=${unitOf(edit)}
        value=${wrong?.typed ?? value}
        .value=${wrong?.typed ?? value}
        autocomplete="off"
        @change=${(event: Event) => this.tell('check-edit', { ...edit, typed: (event.target as HTMLInputElement).value })}
      />${wrong === undefined ? nothing : html`<span class="bad" role="alert">${wrong.message}</span>`}`;
  }

  private diagnosis(found: Diagnosis, report: InSetReport) {
    const told = worthTelling(found.explanations);
    return html`<h3>What explains the readings</h3>
      ${told[0]?.fits === false ? html`<p class="lead">${NONE_FITS}</p>` : nothing}
      <ol aria-live="polite">
        ${told.map((one, i) => {
          const size = sizeText(one);
          return html`<li class=${i === 0 ? 'first' : ''}>
            <span class="share">${Math.round(100 * one.likelihood)} %</span>
            <span>
              <b>${capital(one.title)}</b
              >${size === '' ? nothing : html`<br /><span class="note">${size}</span>`}
            </span>
            <span
              class="bar"
              aria-hidden="true"
              .style=${`width:${(100 * one.likelihood).toFixed(0)}%`}
            ></span>
          </li>`;
        })}
      </ol>
      ${found.next === null ? nothing : this.next(found.next)}
      ${
        found.unseen.length === 0
          ? nothing
          : html`<details>
              <summary>What these readings cannot show, and so do not exclude</summary>
              <ul>
                ${found.unseen.map((title) => html`<li class="note">${title}</li>`)}
              </ul>
            </details>`
      }
      <p class="note">${report.tube.id} in ${report.socket.id}: ${report.socket.stageTitle}.</p>`;
  }

  private next(next: NextMeasurement) {
    const after = next.procedure === 'as-it-stands' ? undefined : next.procedure;
    const edit: CheckEdit = {
      point: next.point,
      typed: '',
      ...(after === undefined ? {} : { after }),
    };
    return html`<div class="next">
      <b>The measurement that would tell them apart</b>
      <p class="lead">Read ${next.what}.</p>
      <table>
        <thead>
          <tr>
            <th scope="col">the meter shows</th>
            <th scope="col">if</th>
          </tr>
        </thead>
        <tbody>
          ${next.expected.map(
            (one) =>
              html`<tr>
                <td>${intervalText(one, next)}</td>
                <td>${one.title}</td>
              </tr>`,
          )}
        </tbody>
      </table>
      <p class="ask"><span>You read</span> ${this.field(next.what, edit, '')}</p>
    </div>`;
  }

  private tell(name: string, detail: object): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'in-set-view': InSetView;
  }
}
