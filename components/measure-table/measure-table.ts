import { LitElement, html, nothing, svg } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Judged } from '../../src/types.ts';
import { formatInterval, formatQuantity } from '../../src/units/format.ts';
import { base } from '../look/base.styles.ts';
import { differs } from '../look/differs.ts';
import { STATUS_WORD } from '../status-mark/status-mark.ts';
import { styles } from './measure-table.styles.ts';
import { onScale } from './scale.ts';

/** A limit as the user typed it: a bare number in the measure's unit, or a relation. Empty: the stage's own again. */
export interface LimitEdit {
  readonly measure: string;
  readonly typed: string;
}

const NEW_PX = 16;
const LIMIT_PX = 50;
const LEFT_PX = 4;
const RIGHT_PX = 94;

/**
 * The measures: new tube, this tube with its 90 % interval, limit, and a bar on a scale where the new tube and the limit
 * stand on two common lines.
 *
 * @property measures as in the report
 * @property decides id of the measure that decides
 * @property told what is said above the table: not repeated under a measure
 * @property settled false while the intervals are still being computed
 * @property ownLimits measures whose limit is the user's own
 * @property wrong message for a limit that was not understood, by measure
 * @fires limit-edit `LimitEdit`, when the user commits a limit
 */
@customElement('measure-table')
export class MeasureTable extends LitElement {
  static override styles = [base, styles];

  @property({ attribute: false, hasChanged: differs }) measures: readonly Judged[] = [];
  @property({ attribute: false }) decides: string | null = null;
  @property() told = '';
  @property({ type: Boolean }) settled = false;
  @property({ attribute: false, hasChanged: differs }) ownLimits: readonly string[] = [];
  @property({ attribute: false, hasChanged: differs }) wrong: Readonly<Record<string, string>> = {};

  @state() private opened: string | undefined;
  @state() private more = false;

  override render() {
    return html`<table>
      <caption class="unseen">
        Measures of a new tube and of this tube in this socket, with limits
      </caption>
      <thead>
        <tr>
          <th scope="col">Measure</th>
          <th scope="col" class="c-new">new</th>
          <th scope="col" class="c-this">this tube</th>
          <th scope="col" class="c-limit">limit</th>
          <th scope="col" class="c-pic pich">
            <span class="a" aria-hidden="true">new</span
            ><span class="b" aria-hidden="true">limit</span
            ><span class="c" aria-hidden="true">→</span><span class="unseen">picture</span>
          </th>
        </tr>
      </thead>
      ${this.bodies()}
    </table>`;
  }

  /** What is judged; what is only told is folded away, but where one of its limits is not understood. */
  private bodies() {
    const told = new Set(sentencesOf(this.told));
    const rows = (measures: readonly Judged[]) =>
      measures.map((measure) => {
        const why = whyOf(measure).filter((sentence) => !told.has(sentence));
        why.forEach((sentence) => told.add(sentence));
        return this.row(measure, why.join(' '));
      });
    const judged = this.measures.filter(({ status }) => status !== 'unjudged');
    const others = this.measures.filter(({ status }) => status === 'unjudged');
    if (others.length === 0)
      return html`<tbody>
        ${rows(judged)}
      </tbody>`;
    const shown = this.more || others.some(({ id }) => this.wrong[id] !== undefined);
    return html`<tbody>
        ${rows(judged)}
        <tr class="more">
          <td colspan="5">
            <button type="button" aria-expanded=${shown} @click=${() => (this.more = !this.more)}>
              ${others.length} more, for information
            </button>
          </td>
        </tr>
      </tbody>
      <tbody ?hidden=${!shown}>
        ${rows(others)}
      </tbody>`;
  }

  private row(measure: Judged, why: string) {
    const decides = measure.id === this.decides;
    return html`<tr
        class="s-${measure.status} ${decides ? 'decides' : ''}"
        data-measure=${measure.id}
      >
        <th scope="row">
          <span class="title">
            <status-mark .status=${measure.status}></status-mark>
            <span
              ><span class="name">${measure.title}</span
              ><span class=${measure.status === 'unjudged' ? 'unseen' : 'word'}
                >${STATUS_WORD[measure.status]}${decides ? ', decides' : ''}</span
              ></span
            >
          </span>
        </th>
        <td class="new">
          ${measure.newTube === null ? '—' : figure(measure.newTube, measure.unit)}
        </td>
        <td class="this ${this.settled ? '' : 'so-far'}">
          <b>${measure.value === null ? '—' : figure(measure.value, measure.unit)}</b>
          <small>${this.interval(measure)}</small>
        </td>
        <td class="lim">${this.limitField(measure)}</td>
        <td class="pic ${measure.limit === null ? 'plain' : ''}">${bar(measure)}</td>
      </tr>
      ${this.note(measure, why)}`;
  }

  private interval({ low, high, unit, value, status }: Judged) {
    // a figure of the handbook has no interval
    if (low !== null && low === high && low === value) return '';
    if (low !== null && high !== null)
      return formatInterval(coarse(low, unit), coarse(high, unit), unit);
    if (status === 'undetermined') return 'not read';
    if (status === 'failed' || value === null) return 'no number';
    return this.settled ? '' : 'so far';
  }

  private limitField(measure: Judged) {
    const { limit, title, unit } = measure;
    const shown =
      limit === null ? '' : `${limit.sense === 'atLeast' ? '≥' : '≤'} ${figure(limit.bound, unit)}`;
    const wrong = this.wrong[measure.id] !== undefined;
    return html`<input
      value=${shown}
      .value=${shown}
      aria-label="Limit of ${title}"
      aria-invalid=${wrong}
      aria-describedby=${this.opened === measure.id || wrong ? `about-${measure.id}` : nothing}
      placeholder="none"
      autocomplete="off"
      @focus=${(event: FocusEvent) => {
        this.opened = measure.id;
        (event.target as HTMLInputElement).select();
      }}
      @blur=${(event: FocusEvent) => {
        this.commit(measure.id, event.target as HTMLInputElement, shown);
        this.opened = undefined;
      }}
      @keydown=${(event: KeyboardEvent) => {
        const field = event.target as HTMLInputElement;
        if (event.key === 'Enter') this.commit(measure.id, field, shown);
        if (event.key === 'Escape' && field.value !== shown) {
          field.value = shown;
          event.preventDefault();
        }
      }}
    />`;
  }

  private commit(measure: string, field: HTMLInputElement, shown: string) {
    const typed = field.value.trim();
    if (typed === shown) return;
    this.dispatchEvent(
      new CustomEvent<LimitEdit>('limit-edit', {
        detail: { measure, typed },
        bubbles: true,
        composed: true,
      }),
    );
    field.value = shown;
  }

  /** What is behind every measure that is not simply usable; the limit's origin while its field is open. */
  private note(measure: Judged, why: string) {
    const wrong = this.wrong[measure.id];
    const opened = this.opened === measure.id;
    return html`${
      opened || wrong !== undefined
        ? html`<tr class="note">
            <td class="about" colspan="5" id="about-${measure.id}">
              ${wrong === undefined ? nothing : html`<b role="alert">${wrong}</b><br />`}
              ${
                measure.limit === null
                  ? html`No limit. Give one as <code>${measure.id} >= …</code> or
                      <code>${measure.id} &lt;= …</code>.`
                  : html`<code>${measure.limit.text}</code>: ${measure.limit.reason}
                      (${measure.limit.source}). Empty restores the stage’s own.`
              }
            </td>
          </tr>`
        : nothing
    }${
      why !== ''
        ? html`<tr class="note s-${measure.status}">
            <td class="why" colspan="5">${why}</td>
          </tr>`
        : nothing
    }`;
  }
}

/** Finer steps than these tell nobody anything: hundredths of a decibel, thousandths of a share. */
const LEAST_STEPS: Partial<Record<Judged['unit'], number>> = { dB: 100, '': 1000 };

function coarse(value: number, unit: Judged['unit']): number {
  const steps = LEAST_STEPS[unit];
  return steps === undefined ? value : Math.round(value * steps) / steps;
}

const figure = (value: number, unit: Judged['unit']): string =>
  formatQuantity(coarse(value, unit), unit, { digits: 3 });

const sentencesOf = (text: string): string[] =>
  text.split(/(?<=[.!?])\s+(?=\p{Lu})/u).filter((sentence) => sentence !== '');

/** Reasons begin with the measure's numbers and its limit, which stand in its row: told is what is behind them. */
function whyOf({ reason, status, title }: Judged): string[] {
  if (status === 'usable' || status === 'unjudged') return [];
  return sentencesOf(reason).filter((sentence) => !sentence.startsWith(`${title} `));
}

/** The bar of one measure, with arrowheads where it runs beyond the picture. */
function bar(measure: Judged) {
  const at = onScale(measure);
  if (at === undefined) return nothing;
  const px = (position: number): number => NEW_PX + (LIMIT_PX - NEW_PX) * position;
  const clamp = (x: number): number => Math.min(RIGHT_PX, Math.max(LEFT_PX, x));
  const dot = at.value === null ? undefined : clamp(px(at.value));
  const [low, high] = [
    at.low === null ? undefined : px(at.low),
    at.high === null ? undefined : px(at.high),
  ];
  const noNumber = measure.status === 'undetermined' || at.value === null;
  return html`<svg viewBox="0 0 100 34" aria-hidden="true">
    ${noNumber ? svg`<path class="none-line" d="M${NEW_PX} 17H${RIGHT_PX}"/>` : nothing}
    ${low !== undefined && high !== undefined && !noNumber ? whisker(low, high, clamp) : nothing}
    <circle class="o" cx=${clamp(px(at.newTube))} cy="17" r="3" />
    ${dot === undefined || noNumber ? nothing : svg`<circle class="f" cx=${dot} cy="17" r="3.6"/>`}
  </svg>`;
}

function whisker(low: number, high: number, clamp: (x: number) => number) {
  const [a, b] = [clamp(low), clamp(high)];
  const end = (x: number, real: number): string =>
    real > RIGHT_PX ? `M${x} 13l5 4l-5 4` : real < LEFT_PX ? `M${x} 13l-4 4l4 4` : `M${x} 13V21`;
  return svg`<path class="iv" d="M${a} 17H${b}${end(a, low)}${end(b, high)}"/>`;
}

declare global {
  interface HTMLElementTagNameMap {
    'measure-table': MeasureTable;
  }
}
