import { LitElement, html, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { notJudgedLine } from '../../src/report/cautions.ts';
import { pathsByTube, percentOf } from '../../src/report/paths.ts';
import type { Change, Judged, PathVerdict, Report, Status } from '../../src/types.ts';
import { unbroken } from '../../src/units/format.ts';
import { base, place } from '../look/base.styles.ts';
import { differs } from '../look/differs.ts';
import '../measure-table/measure-table.ts';
import '../sheet-tools/sheet-tools.ts';
import { STATUS_WORD } from '../status-mark/status-mark.ts';
import { styles } from './answer-place.styles.ts';

/** What is known of the run behind the answer. */
export type AnswerState =
  /** No reading yet: nothing may be said of this tube. */
  | { readonly kind: 'empty' }
  /** Central values are shown, intervals follow. `done` of `all` is null until progress is known. */
  | {
      readonly kind: 'computing';
      readonly what: string;
      readonly done: number;
      readonly all: number;
      readonly long: boolean;
    }
  | { readonly kind: 'settled' }
  /** The user stopped the run: what is shown is central values only. */
  | { readonly kind: 'stopped' }
  /** The input cannot be computed, or the run broke: what was found, what was expected. */
  | {
      readonly kind: 'problem';
      readonly title: string;
      readonly text: string;
      readonly retry: boolean;
    };

/** What only a person can tell, asked as yes or no. */
export interface Question {
  readonly id: string;
  readonly text: string;
  readonly answer: boolean;
}

const HEADLINE: Readonly<Record<Report['verdict'], string>> = {
  usable: 'Usable in this socket',
  marginal: 'Marginal in this socket',
  unsuitable: 'Unsuitable in this socket',
  undetermined: 'Undetermined in this socket',
  failed: 'Not computed',
};

/** Nothing was read: a new tube and the limit are shown, and nothing of this tube. */
const unread = (measure: Judged): Judged => ({
  ...measure,
  value: null,
  low: null,
  high: null,
  margin: null,
  reason: '',
  status: measure.limit === null ? 'unjudged' : 'undetermined',
});

/**
 * The answer: verdict, what decides it, the measures, what would change it, what was not judged.
 *
 * @property report the last report; stays until the next replaces it
 * @property state how far the run behind it is
 * @property questions what only a person can tell
 * @property ownLimits, wrongLimits passed to the table
 * @fires stop-run, retry-run, answer-question `{id, answer}`, try-change `Change`, limit-edit `LimitEdit`
 */
@customElement('answer-place')
export class AnswerPlace extends LitElement {
  static override styles = [base, place, styles];

  @property({ attribute: false }) report: Report | undefined;
  @property({ attribute: false }) state: AnswerState = { kind: 'empty' };
  @property({ attribute: false, hasChanged: differs }) questions: readonly Question[] = [];
  @property({ attribute: false, hasChanged: differs }) ownLimits: readonly string[] = [];
  @property({ attribute: false, hasChanged: differs }) wrongLimits: Readonly<
    Record<string, string>
  > = {};

  override render() {
    const { report, state } = this;
    const computed = report !== undefined && state.kind !== 'empty';
    return html`<div class="head">
        <h2><span class="no" aria-hidden="true">3</span>The answer</h2>
        <span class="sub"
          >${report !== undefined && report.draws > 0 && state.kind !== 'empty' ? '90 % intervals' : ''}</span
        >
      </div>
      <div class="cols">
        <div class="left">
          ${this.problem()}
          ${computed ? this.verdict(report) : state.kind === 'problem' ? nothing : this.empty()}
          ${this.progress()}
        </div>
        <div class="right">
          ${
            report === undefined
              ? nothing
              : html`<measure-table
                  .measures=${state.kind === 'empty' ? report.measures.map(unread) : report.measures}
                  .decides=${state.kind === 'empty' ? null : report.decidedBy.measure}
                  .told=${report.decidedBy.sentence}
                  .settled=${report.draws > 0}
                  .ownLimits=${this.ownLimits}
                  .wrong=${this.wrongLimits}
                ></measure-table>`
          }
        </div>
        <div class="after">${report === undefined ? nothing : this.details(report)}</div>
      </div>`;
  }

  /** Only the settled verdict is announced; what is on the way is not worth an interruption. */
  private verdict(report: Report) {
    const settled = this.state.kind === 'settled';
    const soFar = this.state.kind === 'computing' || this.state.kind === 'stopped';
    return html`<div class="verdict">
      <h3 class="s-${report.verdict}">
        <status-mark .status=${report.verdict}></status-mark>
        <span
          >${HEADLINE[report.verdict]}${soFar ? html` <small>${this.state.kind === 'stopped' ? 'central values only' : 'so far'}</small>` : nothing}</span
        >
      </h3>
      <p class="lead">${report.decidedBy.sentence}</p>
      ${report.verdict === 'marginal' && report.howSure?.advice != null ? html`<p class="say next">${report.howSure.advice}</p>` : nothing}
      ${report.circuitFault === null ? nothing : html`<p class="lead fault"><b>The circuit.</b> ${report.circuitFault.sentence}</p>`}
      ${this.together(report)}
      <p class="unseen" role="status" aria-live="polite">
        ${settled ? `${report.tube.id} in ${report.socket.id}: ${STATUS_WORD[report.verdict]}. ${report.decidedBy.sentence}${report.circuitFault === null ? '' : ` ${report.circuitFault.sentence}`}` : ''}
      </p>
    </div>`;
  }

  /** What else stands in the stage: a verdict of several tubes is not one tube's alone. */
  private together({ companions, line }: Report) {
    if (companions.length === 0) return nothing;
    const names = companions.map(({ id, type, section, taken, socket }) =>
      taken === 'new'
        ? id
        : `${id} (${type}${section === '' ? '' : `, section ${section}`})${socket === undefined ? '' : ` in ${socket}`}`,
    );
    return html`<p class="dim">
      Judged together with ${names.join(' and ')}.${line === undefined ? '' : ` ${line.sentence}`}
    </p>`;
  }

  private empty() {
    return this.state.kind === 'computing'
      ? html`<p class="lead dim">Computing the first answer…</p>`
      : html`<div class="verdict">
          <h3 class="dim">No reading yet</h3>
          <p class="lead">
            One reading is enough to begin: emission, or leakage to the grid. What is not read
            widens the answer; it never counts as good.
          </p>
        </div>`;
  }

  private problem() {
    const { state } = this;
    if (state.kind !== 'problem') return nothing;
    return html`<div class="wrong" role="alert">
      <h3>${state.title}</h3>
      <p>${state.text}</p>
      ${this.report === undefined ? nothing : html`<p class="dim">What is shown below is the last answer, for the last good values.</p>`}
      ${state.retry ? html`<p><button class="act" type="button" @click=${() => this.tell('retry-run')}>Try again</button></p>` : nothing}
    </div>`;
  }

  /** A line, not a spinner, and only when the work is long enough to be waited for. */
  private progress() {
    const { state } = this;
    if (state.kind === 'stopped')
      return html`<p class="prog">
        <span>Stopped before the intervals.</span
        ><button type="button" @click=${() => this.tell('retry-run')}>go on</button>
      </p>`;
    if (state.kind !== 'computing' || !state.long) return html`<p class="prog"></p>`;
    const percent = state.all > 0 ? Math.round((100 * state.done) / state.all) : 0;
    return html`<p class="prog">
      <span
        class="track"
        role="progressbar"
        aria-label="Computing"
        aria-valuemin="0"
        aria-valuemax="100"
        aria-valuenow=${percent}
        ><span .style=${`--done: ${percent}`}></span
      ></span>
      <span>${state.all > 0 ? `${state.what}: ${state.done} of ${state.all}` : state.what}</span>
      <button type="button" @click=${() => this.tell('stop-run')}>Stop</button>
    </p>`;
  }

  private details(report: Report) {
    // of a tube that nobody read there is no leakage to follow, and nothing that would change an answer
    const unreadTube = this.state.kind === 'empty';
    const paths = unreadTube ? [] : pathLines(report);
    return html`${
        report.warnings.length === 0
          ? nothing
          : html`<h4>Mind</h4>
              <ul class="mind">
                ${report.warnings.map((line) => html`<li>${line}</li>`)}
              </ul>`
      }${unreadTube ? nothing : this.howSure(report)}${
        unreadTube || report.wouldChange.length === 0
          ? nothing
          : html`<h4>What would change it</h4>
              <ul class="list">
                ${report.wouldChange.map(
                  (change) =>
                    html`<li>
                      <status-mark
                        class="s-${change.verdict}"
                        .status=${change.verdict}
                      ></status-mark>
                      <span>${change.sentence}</span>
                      ${
                        change.key === null || change.to === null
                          ? nothing
                          : html`<button
                              type="button"
                              aria-label="Try it: ${change.sentence}"
                              @click=${() => this.tell<Change>('try-change', change)}
                            >
                              try
                            </button>`
                      }
                    </li>`,
                )}
              </ul>`
      }
      ${
        paths.length === 0
          ? nothing
          : html`<h4>The leakage alone, if all of it took one path</h4>
              <ul class="list">
                ${paths.map(
                  ({ status, before, dim, after }) =>
                    html`<li>
                      <status-mark .status=${status}></status-mark>
                      <span
                        >${before}${dim === '' ? nothing : html` <span class="dim">${dim}</span>`}${after}</span
                      >
                    </li>`,
                )}
              </ul>`
      }
      ${report.companions
        .filter(({ wearSentences }) => wearSentences.length > 0)
        .map(
          ({ id, section, wearSentences }) =>
            html`<h4>${id}${section === '' ? '' : `, section ${section}`}, from its readings</h4>
              <ul class="mind">
                ${wearSentences.map((line) => html`<li>${line}</li>`)}
              </ul>`,
        )}
      <h4>Not judged</h4>
      <ul class="mind">
        ${report.notJudged.map((line) => html`<li>${unbroken(notJudgedLine(line))}</li>`)}
      </ul>
      <div class="nj">
        ${this.questions.map(
          (question) =>
            html`<div
              class="q ${question.answer ? 'noted' : ''}"
              role="group"
              aria-label=${question.text}
            >
              <span>${question.text}</span>
              ${[true, false].map(
                (answer) =>
                  html`<button
                    type="button"
                    aria-pressed=${question.answer === answer}
                    @click=${() => this.tell('answer-question', { id: question.id, answer })}
                  >
                    ${answer ? 'yes' : 'no'}
                  </button>`,
              )}
            </div>`,
        )}
      </div>
      <ul class="mind">
        ${report.cautions.map((line) => html`<li>${line}</li>`)}
      </ul>
      <p class="print">
        ${report.draws === 0 ? 'Central values' : `${report.draws} draws, seed ${report.seed}`},
        ${report.method}, ${report.engine}
      </p>
      ${this.state.kind === 'settled' ? html`<sheet-tools label></sheet-tools>` : nothing}`;
  }

  /** What leaves it open, and what to read again where more would be known by it. */
  private howSure({ howSure, verdict }: Report) {
    if (howSure === undefined) return nothing;
    return html`<h4>How sure</h4>
      <p class="say">
        ${howSure.sentence}
        ${verdict === 'marginal' || howSure.advice === null ? '' : howSure.advice}
      </p>`;
  }

  private tell<T>(name: string, detail?: T) {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}

interface PathLine {
  readonly status: Status;
  readonly before: string;
  readonly dim: string;
  readonly after: string;
}

/** A path that does harm with what it does; those of a tube that do none in one line. */
function pathLines(report: Report): PathLine[] {
  const tubes = pathsByTube(report);
  const likely = (path: PathVerdict): string => `${percentOf(path)}\u00a0% likely`;
  return [
    ...tubes.flatMap(({ whose, harmful }) =>
      harmful.map((path) => ({
        status: path.status,
        before: `${whose}${path.title}`,
        dim: `(${likely(path)}, ${path.why})`,
        after: `: ${STATUS_WORD[path.status]}. ${path.sentence}`,
      })),
    ),
    ...tubes.flatMap(({ whose, harmful, harmless }): PathLine[] => {
      if (harmless.length === 0) return [];
      const named = harmless.map((path) => `${path.title} (${likely(path)})`).join(', ');
      const any = harmful.length === 0 && harmless.length > 1 ? ' by any' : '';
      return [{ status: 'usable', before: `${whose}usable${any}: ${named}.`, dim: '', after: '' }];
    }),
  ];
}

declare global {
  interface HTMLElementTagNameMap {
    'answer-place': AnswerPlace;
  }
}
