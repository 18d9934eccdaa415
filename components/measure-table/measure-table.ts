import { LitElement, html, nothing, svg } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { Judged } from '../../src/types.ts';
import { formatInterval, formatQuantity } from '../../src/units/format.ts';
import { base } from '../look/base.styles.ts';
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
 * @property settled false while the intervals are still being computed
 * @property ownLimits measures whose limit is the user's own
 * @property wrong message for a limit that was not understood, by measure
 * @fires limit-edit `LimitEdit`, when the user commits a limit
 */
@customElement('measure-table')
export class MeasureTable extends LitElement {
  static override styles = [base, styles];

  @property({ attribute: false }) measures: readonly Judged[] = [];
  @property({ attribute: false }) decides: string | null = null;
  @property({ type: Boolean }) settled = false;
  @property({ attribute: false }) ownLimits: readonly string[] = [];
  @property({ attribute: false }) wrong: Readonly<Record<string, string>> = {};

  @state() private opened: string | undefined;

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
      <tbody>
        ${judgedFirst(this.measures).map((measure) => this.row(measure))}
      </tbody>
    </table>`;
  }

  private row(measure: Judged) {
    const decides = measure.id === this.decides;
    const digits = { digits: 3 };
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
          ${measure.newTube === null ? '—' : formatQuantity(measure.newTube, measure.unit, digits)}
        </td>
        <td class="this ${this.settled ? '' : 'so-far'}">
          <b
            >${measure.value === null ? '—' : formatQuantity(measure.value, measure.unit, digits)}</b
          >
          <small>${this.interval(measure)}</small>
        </td>
        <td class="lim">${this.limitField(measure)}</td>
        <td class="pic ${measure.limit === null ? 'plain' : ''}">${bar(measure)}</td>
      </tr>
      ${this.note(measure)}`;
  }

  private interval({ low, high, unit, value, status }: Judged) {
    if (low !== null && high !== null) return formatInterval(low, high, unit);
    if (status === 'undetermined') return 'not read';
    if (status === 'failed' || value === null) return 'no number';
    return this.settled ? '' : 'so far';
  }

  private limitField(measure: Judged) {
    const { limit, title, unit } = measure;
    const shown =
      limit === null
        ? ''
        : `${limit.sense === 'atLeast' ? '≥' : '≤'} ${formatQuantity(limit.bound, unit, { digits: 2 })}`;
    const wrong = this.wrong[measure.id] !== undefined;
    return html`<input
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
        if (event.key === 'Escape') field.value = shown;
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

  /** Reason under every measure that is not simply usable; the limit's origin while its field is open. */
  private note(measure: Judged) {
    const wrong = this.wrong[measure.id];
    const opened = this.opened === measure.id;
    const said =
      measure.reason !== '' &&
      measure.status !== 'usable' &&
      measure.status !== 'unjudged' &&
      measure.id !== this.decides;
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
      said
        ? html`<tr class="note s-${measure.status}">
            <td class="why" colspan="5">${measure.reason}</td>
          </tr>`
        : nothing
    }`;
  }
}

/** What is judged stands before what is only told. */
const judgedFirst = (measures: readonly Judged[]): readonly Judged[] => [
  ...measures.filter(({ status }) => status !== 'unjudged'),
  ...measures.filter(({ status }) => status === 'unjudged'),
];

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
