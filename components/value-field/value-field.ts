import { LitElement, html, nothing } from 'lit';
import { customElement, property, query, state } from 'lit/decorators.js';
import { canBeMarked } from '../../src/scenario/values.ts';
import type { StageValue, ValueSpec } from '../../src/types.ts';
import { formatQuantity } from '../../src/units/format.ts';
import { capital } from '../../src/units/title.ts';
import { base } from '../look/base.styles.ts';
import { differs } from '../look/differs.ts';
import { canBeAbsent, readTyped, shownValue, stepValue, type Typed } from './typed-value.ts';
import { styles } from './value-field.styles.ts';

/** One value of the socket as the user set it. `value` is what goes into the scenario file: a number or the text as typed; null: none. */
export interface ValueEdit {
  readonly key: string;
  readonly value?: number | string | readonly number[] | null;
  readonly tolerance_percent?: number;
  readonly measured?: boolean;
  /** What the part is marked; null: nothing else than what was measured. */
  readonly marked?: number | string | null;
}

/**
 * A value that is edited where it is shown: typed with or without a unit, read back as understood, committed by Enter or
 * on leaving, restored by Escape, stepped through the E12 series by the arrow keys. Wrong input is told and never taken.
 *
 * @property key key in the stage's values
 * @property spec what the stage says of it
 * @property now what the socket has
 * @property drawn true on the drawing (label unseen), false in a list
 * @fires value-edit `ValueEdit`
 */
@customElement('value-field')
export class ValueField extends LitElement {
  static override styles = [base, styles];

  @property() key = '';
  @property({ attribute: false }) spec: ValueSpec | undefined;
  @property({ attribute: false, hasChanged: differs }) now: StageValue | undefined;
  @property() name = '';
  @property({ type: Boolean, reflect: true }) drawn = false;

  @state() private open = false;
  @state() private typed: string | undefined;
  @query('.v') private field!: HTMLInputElement | null;

  constructor() {
    super();
    this.addEventListener('focusin', () => (this.open = true));
    this.addEventListener('focusout', (event) => {
      if (event.relatedTarget instanceof Node && this.contains(event.relatedTarget)) return;
      this.commit();
      this.open = false;
    });
  }

  override focus() {
    this.field?.focus();
  }

  override render() {
    const { spec, now } = this;
    if (spec === undefined || now === undefined) return nothing;
    this.toggleAttribute('list', spec.list === true);
    const shown = shownValue(now.value, spec);
    const title = this.name === '' ? capital(spec.title) : this.name;
    if (spec.choices !== undefined) return this.choice(spec, now, title);
    const read = this.typed === undefined ? undefined : readTyped(this.typed, spec);
    return html`<label>
        <span class="n">${title}<small>${standing(now, spec)}</small></span>
        <input
          class="v"
          value=${shown}
          .value=${this.typed ?? shown}
          placeholder=${now.value === null ? 'none' : nothing}
          aria-invalid=${read?.ok === false}
          aria-describedby=${this.open || read?.ok === false ? 'pop' : nothing}
          autocomplete="off"
          spellcheck="false"
          @focus=${(event: FocusEvent) => (event.target as HTMLInputElement).select()}
          @input=${(event: InputEvent) => (this.typed = (event.target as HTMLInputElement).value)}
          @keydown=${this.onKey}
        />
      </label>
      ${
        this.open
          ? this.hint(spec, now, read)
          : read?.ok === false
            ? html`<div class="pop" id="pop">${told(read)}</div>`
            : nothing
      }`;
  }

  private choice(spec: ValueSpec, now: StageValue, title: string) {
    return html`<label>
      <span class="n">${title}</span>
      <select
        class="v"
        @change=${(event: Event) => this.tell({ key: this.key, value: (event.target as HTMLSelectElement).value })}
      >
        ${spec.choices!.map((choice) => html`<option value=${choice} ?selected=${choice === now.value}>${choice}</option>`)}
      </select>
    </label>`;
  }

  private hint(spec: ValueSpec, now: StageValue, read: Typed | undefined) {
    const range = `${formatQuantity(spec.low, spec.unit, { digits: 3 })} to ${formatQuantity(spec.high, spec.unit, { digits: 3 })}`;
    return html`<div class="pop" id="pop">
      ${this.drawn ? html`<p>${spec.title}</p>` : nothing}
      ${read === undefined ? nothing : told(read)}
      <p>
        ${range}${spec.list === true ? ', more than one with ; between' : ''}${canBeAbsent(spec) ? '; empty for none' : ''}
      </p>
      ${spec.help === undefined ? nothing : html`<p>${spec.help}</p>`}
      ${
        now.value !== null && (spec.tolerance_percent > 0 || now.measured || canBeMarked(spec))
          ? html`<div class="tol">
              <label
                ><input
                  type="checkbox"
                  .checked=${now.measured}
                  @change=${(event: Event) => this.tell({ key: this.key, measured: (event.target as HTMLInputElement).checked })}
                />
                measured</label
              >
              <label
                >±<input
                  inputmode="decimal"
                  aria-label="tolerance in percent"
                  .value=${String(now.tolerance_percent)}
                  @change=${this.onTolerance}
                />
                %</label
              >
              ${
                canBeMarked(spec)
                  ? html`<label
                      >marked
                      <input
                        class="marked"
                        aria-label="what the part is marked"
                        autocomplete="off"
                        spellcheck="false"
                        .value=${now.marked === undefined ? '' : shownValue(now.marked, spec)}
                        @change=${this.onMarked}
                    /></label>`
                  : nothing
              }
            </div>`
          : nothing
      }
    </div>`;
  }

  private readonly onKey = (event: KeyboardEvent): void => {
    if (event.key === 'Enter') {
      this.commit();
      event.preventDefault();
    } else if (event.key === 'Escape' && this.typed !== undefined) {
      this.typed = undefined;
      event.stopPropagation();
    } else if (
      (event.key === 'ArrowUp' || event.key === 'ArrowDown') &&
      this.spec !== undefined &&
      this.now !== undefined
    ) {
      const next = stepValue(this.now.value, this.spec, event.key === 'ArrowUp' ? 1 : -1);
      if (next === undefined) return;
      event.preventDefault();
      this.typed = undefined;
      this.tell({ key: this.key, value: next });
    }
  };

  private readonly onTolerance = (event: Event): void => {
    const field = event.target as HTMLInputElement;
    const percent = Number(field.value.replace(',', '.').replace('%', ''));
    if (Number.isFinite(percent) && percent >= 0 && percent <= 100 && field.value.trim() !== '')
      this.tell({ key: this.key, tolerance_percent: percent });
    else field.value = String(this.now?.tolerance_percent ?? '');
  };

  /** Empty: the part is what it is marked. What cannot be understood is not taken. */
  private readonly onMarked = (event: Event): void => {
    const field = event.target as HTMLInputElement;
    const { spec, now } = this;
    if (spec === undefined || now === undefined) return;
    if (field.value.trim() === '') return this.tell({ key: this.key, marked: null });
    const read = readTyped(field.value, spec);
    if (read.ok && (typeof read.value === 'string' || typeof read.value === 'number'))
      this.tell({ key: this.key, marked: read.value });
    else field.value = now.marked === undefined ? '' : shownValue(now.marked, spec);
  };

  /** Takes what was typed where it can be understood; keeps the last good value in force where it cannot. */
  private commit(): void {
    if (this.typed === undefined || this.spec === undefined) return;
    const read = readTyped(this.typed, this.spec);
    if (!read.ok) return;
    this.typed = undefined;
    const now = this.now?.value ?? null;
    const same =
      read.value === null || now === null
        ? read.value === now
        : read.shown === shownValue(now, this.spec);
    if (!same) this.tell({ key: this.key, value: read.value });
  }

  private tell(detail: ValueEdit): void {
    this.dispatchEvent(
      new CustomEvent<ValueEdit>('value-edit', { detail, bubbles: true, composed: true }),
    );
  }
}

/** What was typed, as it was understood or not. */
const told = (read: Typed) =>
  read.ok
    ? html`<p>read as <b>${read.shown}</b></p>`
    : html`<p role="alert"><b>${read.message}</b></p>`;

/** How the value is known, beside its name. */
function standing({ measured, marked, tolerance_percent }: StageValue, spec: ValueSpec): string {
  if (marked !== undefined) return `marked ${shownValue(marked, spec)}`;
  if (measured) return 'measured';
  return tolerance_percent > 0 ? `±${tolerance_percent} %` : '';
}

declare global {
  interface HTMLElementTagNameMap {
    'value-field': ValueField;
  }
}
