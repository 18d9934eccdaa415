import { LitElement, html, nothing, type PropertyValues } from 'lit';
import { customElement, property, query, state } from 'lit/decorators.js';
import { ref } from 'lit/directives/ref.js';
import type { Picture } from '../../src/report/picture.ts';
import type { WearLine } from '../../src/types.ts';
import { unbroken } from '../../src/units/format.ts';
import { base, place } from '../look/base.styles.ts';
import { differs } from '../look/differs.ts';
import { Chosen } from '../look/chosen.ts';
import type { TypeName } from '../type-search/matches.ts';
import '../type-search/type-search.ts';
import { styles } from './tube-place.styles.ts';
import { wearTable } from './wear-table.ts';

/** One reading to be entered. `text` is what is in force or, where `wrong` is set, what was typed and not understood. */
export interface ReadingRow {
  readonly key: string;
  readonly label: string;
  readonly text: string;
  readonly unit: string;
  readonly wrong?: string;
  readonly placeholder?: string;
  /** The user's own zones, where emission is read in zones. */
  readonly choices?: readonly string[];
  /** Among the readings that few instruments give. */
  readonly more?: boolean;
}

export interface LeakageCell {
  readonly minutes: string;
  readonly text: string;
  readonly wrong?: string;
}

export interface ReadingEdit {
  readonly key: string;
  readonly typed: string;
}

/** `index` null: a new reading. */
export interface LeakageEdit {
  readonly index: number | null;
  readonly minutes: string;
  readonly typed: string;
}

/**
 * The tube: its type and section, the readings in the order of the work, the warm-up curve and what the readings say.
 *
 * @property tubes, tube the tubes of this scenario and the one shown
 * @property rows, leakage, paths, path what is entered
 * @property switchedOn epoch milliseconds of switch-on, while the warm-up clock runs
 * @fires tube-pick, tube-add, tube-remove, tube-rename, type-pick, section-pick, bench-pick, bench-edit, reading-edit, leakage-edit, path-pick, clock
 */
@customElement('tube-place')
export class TubePlace extends LitElement {
  static override styles = [base, place, styles];

  @property({ attribute: false, hasChanged: differs }) tubes: readonly {
    readonly id: string;
    readonly type: string;
  }[] = [];
  @property() tube = '';
  @property({ attribute: false }) types: readonly TypeName[] = [];
  @property() type = '';
  @property() typeTitle = '';
  @property({ attribute: false, hasChanged: differs }) sections: readonly string[] = [];
  @property() section = '';
  @property({ attribute: false, hasChanged: differs }) benches: readonly string[] = [];
  @property() bench = '';
  @property({ attribute: false, hasChanged: differs }) rows: readonly ReadingRow[] = [];
  @property({ attribute: false, hasChanged: differs }) leakage: readonly LeakageCell[] = [];
  @property({ attribute: false }) paths: readonly {
    readonly id: string;
    readonly title: string;
  }[] = [];
  @property() path = '';
  @property({ attribute: false, hasChanged: differs }) newLeakage: LeakageCell = {
    minutes: '',
    text: '',
  };
  @property() nameWrong = '';
  @property({ type: Number }) switchedOn: number | undefined;
  @property({ attribute: false, hasChanged: differs }) warmUp: Picture | undefined;
  @property({ attribute: false, hasChanged: differs }) sentences: readonly string[] = [];
  @property({ attribute: false, hasChanged: differs }) wear: readonly WearLine[] = [];

  @state() private elapsed = '';
  @query('type-search') private search!: HTMLElement;
  @query('.next .field') private nextField!: HTMLInputElement;
  @query('.next .min') private nextMinute!: HTMLInputElement;
  private ticking: ReturnType<typeof setInterval> | undefined;

  override disconnectedCallback() {
    super.disconnectedCallback();
    clearInterval(this.ticking);
    this.ticking = undefined;
  }

  override connectedCallback() {
    super.connectedCallback();
    this.tick();
  }

  override willUpdate(changed: PropertyValues<this>) {
    if (changed.has('switchedOn')) this.tick();
  }

  focusSearch() {
    this.search.focus();
  }

  override focus() {
    this.search.focus();
  }

  /** Writes the minute since switch-on beside the next leakage reading and goes there; starts the clock where none runs. */
  stamp() {
    if (this.switchedOn === undefined) {
      this.tell('clock', { run: true });
      this.nextMinute.value = '';
    } else this.nextMinute.value = minutesSince(this.switchedOn);
    this.nextField.focus();
  }

  override render() {
    const first = this.rows.filter((row) => row.more !== true);
    const more = this.rows.filter((row) => row.more === true);
    return html`<div class="head">
        <h2><span class="no" aria-hidden="true">1</span>The tube</h2>
        <span>
          <select
            aria-label="Tube"
            @change=${(event: Event) => this.tell('tube-pick', { id: (event.target as HTMLSelectElement).value })}
          >
            ${this.tubes.map(({ id, type }) => html`<option value=${id} ?selected=${id === this.tube}>${id}, ${type}</option>`)}
          </select>
          <button type="button" @click=${() => this.tell('tube-add')}>add</button>
        </span>
      </div>
      <div class="form" @keydown=${this.onKey}>
        <div class="row type">
          <span class="label" aria-hidden="true">Type</span>
          <type-search .types=${this.types} .value=${this.type}></type-search>
          <span class="u">${this.typeTitle}</span>
        </div>
        ${
          this.sections.length > 1
            ? html`<div class="row wide">
                <label for="section">Section</label>
                <select
                  id="section"
                  @change=${(event: Event) => this.tell('section-pick', { section: (event.target as HTMLSelectElement).value })}
                >
                  ${this.sections.map((section) => html`<option ?selected=${section === this.section}>${section}</option>`)}
                </select>
              </div>`
            : nothing
        }
        <div class="row wide">
          <label for="bench">Bench</label>
          <select id="bench" ${ref(this.benchList.attach)}>
            ${this.benches.map((name) => html`<option value=${name} ?selected=${name === this.bench}>${name}</option>`)}
            <option value="">set up an instrument …</option>
          </select>
          <b class="written">${this.bench}</b>
        </div>
        <div class="rows">${first.map((row) => this.row(row))}</div>
        <fieldset>
          <legend>
            Leakage, grid to
            <select
              aria-label="Electrode that the leakage goes to"
              @change=${(event: Event) => this.tell('path-pick', { path: (event.target as HTMLSelectElement).value })}
            >
              ${this.paths.map(({ id, title }) => html`<option value=${id} ?selected=${id === this.path}>${title}</option>`)}
            </select>
          </legend>
          <div class="times">
            ${this.leakage.map((cell, index) => this.cell(cell, index))}
            ${this.cell(this.newLeakage, null)}
          </div>
          ${[...this.leakage, this.newLeakage].map(({ wrong }) => (wrong === undefined ? nothing : html`<p class="err" role="alert">${wrong}</p>`))}
          <p class="hint">
            <span class="keys"><kbd>Enter</kbd> next</span
            ><span class="keys"><kbd>M</kbd> stamp the minute</span>
            <span>minutes over MΩ</span>
            <span class="clock"
              >${
                this.switchedOn === undefined
                  ? html`<button type="button" @click=${() => this.tell('clock', { run: true })}>
                      switched on now
                    </button>`
                  : html`${this.elapsed} min
                      <button type="button" @click=${() => this.tell('clock', { run: false })}>
                        stop clock
                      </button>`
              }</span
            >
          </p>
        </fieldset>
        ${
          more.length === 0
            ? nothing
            : html`<details ?open=${more.some((row) => row.text !== '')}>
                <summary>More readings, name</summary>
                ${more.map((row) => this.row(row))}
                <div class="row wide">
                  <label for="name">Name</label>
                  <input
                    class="field"
                    id="name"
                    value=${this.tube}
                    .value=${this.tube}
                    autocomplete="off"
                    @change=${(event: Event) =>
                      this.tell('tube-rename', { id: (event.target as HTMLInputElement).value })}
                  />
                </div>
                ${this.nameWrong === '' ? nothing : html`<p class="err" role="alert">${this.nameWrong}</p>`}
                <p>
                  <button
                    type="button"
                    ?disabled=${this.tubes.length < 2}
                    @click=${() => this.tell('tube-remove')}
                  >
                    remove this tube
                  </button>
                </p>
              </details>`
        }
      </div>
      ${this.warmUp === undefined ? nothing : html`<curve-chart class="warm" .picture=${this.warmUp}></curve-chart>`}
      ${this.sentences.map((sentence) => html`<p class="say">${unbroken(sentence)}</p>`)}
      ${wearTable(this.wear)}`;
  }

  private row(row: ReadingRow) {
    const wrong = row.wrong !== undefined;
    const label = row.label;
    return html`<div class="row ${row.text === '' ? 'unread' : ''}">
      <label for=${row.key}>${label}</label>
      ${
        row.choices === undefined
          ? html`<input
              class="field"
              id=${row.key}
              value=${row.text}
              .value=${row.text}
              aria-invalid=${wrong}
              aria-describedby="u-${row.key}${wrong ? ` e-${row.key}` : ''}"
              placeholder=${row.placeholder ?? ''}
              autocomplete="off"
              spellcheck="false"
              @focus=${(event: FocusEvent) => (event.target as HTMLInputElement).select()}
              @change=${(event: Event) => this.tell<ReadingEdit>('reading-edit', { key: row.key, typed: (event.target as HTMLInputElement).value })}
            />`
          : html`<select
              id=${row.key}
              @change=${(event: Event) => this.tell<ReadingEdit>('reading-edit', { key: row.key, typed: (event.target as HTMLSelectElement).value })}
            >
              <option value="" ?selected=${row.text === ''}>not read</option>
              ${row.choices.map((choice) => html`<option ?selected=${choice === row.text}>${choice}</option>`)}
            </select>`
      }
      <span class="u" id="u-${row.key}">${row.unit}</span>
      ${wrong ? html`<span class="err" id="e-${row.key}" role="alert">${row.wrong}</span>` : nothing}
    </div>`;
  }

  private cell(cell: LeakageCell, index: number | null) {
    const nth = index === null ? 'new reading' : `reading ${index + 1}`;
    const change = (event: Event): void => {
      const box = (event.target as HTMLElement).closest('.cell')!;
      const [minutes, value] = box.querySelectorAll('input');
      if (index === null && value!.value.trim() === '') return;
      const stamped =
        index === null && minutes!.value.trim() === '' && this.switchedOn !== undefined;
      this.tell<LeakageEdit>('leakage-edit', {
        index,
        minutes: stamped ? minutesSince(this.switchedOn!) : minutes!.value,
        typed: value!.value,
      });
      if (index === null) {
        minutes!.value = this.newLeakage.minutes;
        value!.value = this.newLeakage.text;
      }
    };
    return html`<div class="cell ${index === null ? 'next' : ''}">
      <input
        class="min"
        aria-label="Minutes since switch-on, ${nth}"
        value=${cell.minutes}
        .value=${cell.minutes}
        placeholder=${index === null ? (this.switchedOn === undefined ? 'min' : 'now') : '—'}
        inputmode="decimal"
        autocomplete="off"
        @change=${index === null ? nothing : change}
      />
      <input
        class="field"
        aria-label="Leakage in megohms, ${nth}"
        value=${cell.text}
        .value=${cell.text}
        aria-invalid=${cell.wrong !== undefined}
        placeholder=${index === null ? 'MΩ' : ''}
        autocomplete="off"
        spellcheck="false"
        @focus=${(event: FocusEvent) => (event.target as HTMLInputElement).select()}
        @change=${change}
      />
    </div>`;
  }

  /** Enter commits and moves on; in the last leakage it makes a new one and stays. */
  private readonly onKey = (event: KeyboardEvent): void => {
    const from = event.composedPath()[0];
    if (!(from instanceof HTMLInputElement)) return;
    if (
      event.key === 'Escape' &&
      from.getRootNode() === this.renderRoot &&
      from.value !== from.defaultValue
    ) {
      from.value = from.defaultValue;
      event.preventDefault();
    }
    if (event.key !== 'Enter') return;
    event.preventDefault();
    const inSearch = from.getRootNode() !== this.renderRoot;
    // who writes minutes by hand writes the next one too
    const byHand = this.switchedOn === undefined && this.nextMinute.value.trim() !== '';
    if (!inSearch) from.dispatchEvent(new Event('change'));
    if (from === this.nextField) return (byHand ? this.nextMinute : this.nextField).focus();
    const fields = [
      ...this.renderRoot.querySelectorAll<HTMLElement>(
        '.rows .field, .rows select, .cell .field, details[open] .field',
      ),
    ];
    const at = inSearch ? -1 : fields.indexOf(from);
    if (from.classList.contains('min'))
      from.closest('.cell')?.querySelector<HTMLElement>('.field')?.focus();
    else fields[at + 1]?.focus();
  };

  /** On the way through the list with the arrow keys no instrument is put in force: readings it has no words for would go. */
  private readonly benchList = new Chosen((name) => {
    if (name === '') this.tell('bench-edit');
    else this.tell('bench-pick', { name });
  }, 'take');

  private tick(): void {
    clearInterval(this.ticking);
    this.ticking = undefined;
    if (this.switchedOn === undefined) return;
    this.elapsed = minutesSince(this.switchedOn);
    this.ticking = setInterval(() => (this.elapsed = minutesSince(this.switchedOn!)), 5000);
  }

  private tell<T>(name: string, detail?: T): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}

/** To a tenth of a minute under ten, whole minutes after. */
function minutesSince(start: number): string {
  const minutes = (Date.now() - start) / 60_000;
  return String(minutes < 10 ? Math.round(minutes * 10) / 10 : Math.round(minutes));
}

declare global {
  interface HTMLElementTagNameMap {
    'tube-place': TubePlace;
  }
}
