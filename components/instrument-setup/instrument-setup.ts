import { LitElement, html, nothing, type PropertyValues } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import type { InstrumentProfile } from '../../src/wear/profile.ts';
import { base } from '../look/base.styles.ts';
import { form } from '../look/form.styles.ts';
import { EMPTY_FORM, formOf, profileFrom, UNSTATED, type ProfileForm } from './profile-form.ts';

type Text = {
  [K in keyof ProfileForm]: ProfileForm[K] extends string ? K : never;
}[keyof ProfileForm];
type Flag = {
  [K in keyof ProfileForm]: ProfileForm[K] extends boolean ? K : never;
}[keyof ProfileForm];

const WITHIN = 'Nine readings in ten are right within';

/**
 * What the readings of one instrument mean, asked once.
 *
 * @property profile where the form begins
 * @fires bench-save the `InstrumentProfile`; bench-cancel
 */
@customElement('instrument-setup')
export class InstrumentSetup extends LitElement {
  static override styles = [base, form];

  @property({ attribute: false }) profile: InstrumentProfile | undefined;
  @property() refused = '';

  @state() private form: ProfileForm | undefined;
  /** The form was emptied: nothing of the instrument before is taken over. */
  private isAnother = false;
  @state() private wrong: { readonly field: string; readonly message: string } | undefined;

  override willUpdate(changed: PropertyValues<this>) {
    if (!changed.has('profile') || this.profile === undefined) return;
    this.form = formOf(this.profile);
    this.isAnother = false;
  }

  override render() {
    const { form: now } = this;
    if (now === undefined) return nothing;
    return html`<section aria-labelledby="h">
      <h2 id="h">An instrument, set up once</h2>
      <p class="lead">
        Readings mean something only with the instrument that gave them. Leave out what you do not
        know: it widens the answer and never counts as good.
      </p>
      <p class="buttons">
        <button type="button" @click=${this.another}>Another instrument: an empty form</button>
      </p>
      ${this.text('name', 'Your name for it', '')}
      <h3>Emission</h3>
      <div class="row">
        <label for="scale">The pointer shows</label>
        <select
          id="scale"
          @change=${(event: Event) => this.change({ scale: (event.target as HTMLSelectElement).value as ProfileForm['scale'] })}
        >
          ${(['percent', 'milliamps', 'divisions', 'zones'] as const).map((kind) => html`<option value=${kind} ?selected=${kind === now.scale}>${{ percent: 'percent of a new tube', milliamps: 'milliamperes', divisions: 'divisions', zones: 'zones' }[kind]}</option>`)}
        </select>
      </div>
      ${now.scale === 'divisions' ? html`${this.text('fullScale', 'Divisions of the whole scale', 'div')} ${this.text('newTube', 'A new tube reads, where known', 'div', '', 'The same for every type. Where it is not, leave it out.')} ${this.text('rejectMark', 'Mark below which it calls a tube bad', 'div')}` : nothing}
      ${now.scale === 'zones' ? this.text('zones', 'Your names for the zones, with their percent of new', '', 'weak 0-40; doubtful 40-65; fine 65-130') : nothing}
      ${this.text('emissionAccuracy', WITHIN, 'of the reading', UNSTATED.emissionAccuracy)}
      ${this.text('test_V', 'Test voltage without a tube, if known', '')}
      ${this.text('load_ohm', 'Series resistance of the test, if known', '')}
      ${this.text('openTerminal_V', 'Volts at the terminals without a tube', '')}
      ${this.text('newTubeTerminal_V', 'The same with a new tube', '', '', 'Two readings with a meter tell how hard the test loads a tube. Without them the answer is wider.')}
      ${this.flag('halfWave', 'The test voltage is alternating, and its mean is read')}
      <h3>Starved heater</h3>
      ${this.flag('starved', 'It reads the drop in emission with less heater voltage')}
      ${now.starved ? html`${this.text('heater', 'Heater volts then, of rated', '')} ${this.text('held', 'Held for, if known', '', '', 'Under a minute the drop is read too small.')} ${this.text('points', WITHIN, 'points of drop', UNSTATED.points)}` : nothing}
      <h3>Leakage to the grid</h3>
      ${this.text('leakVolts', 'Test voltage', '')}
      ${this.flag('gridNegative', 'The grid is the negative side', 'A positive grid draws its ordinary electron current: that says nothing of leakage.')}
      ${this.flag('withPlateCurrent', 'The tube conducts during the test', 'If not, gas is not tested, and every answer says so.')}
      ${this.text('top', 'Top of the scale', '')}
      ${this.text('short', 'Called a short at or below', '')}
      ${this.text('leakAccuracy', WITHIN, 'of the reading', UNSTATED.leakAccuracy)}
      ${this.refused === '' ? nothing : html`<p class="wrong" role="alert">${this.refused}</p>`}
      <div class="buttons">
        <button class="act" type="button" @click=${this.save}>Use and keep this instrument</button>
        <button
          type="button"
          @click=${() => this.dispatchEvent(new CustomEvent('bench-cancel', { bubbles: true, composed: true }))}
        >
          Leave it as it was
        </button>
      </div>
    </section>`;
  }

  private text(field: Text, label: string, unit: string, placeholder = '', note = '') {
    const wrong = this.wrong?.field === field;
    return html`<div class="row ${field === 'name' || field === 'zones' ? 'name' : ''}">
      <label for=${field}>${label}</label>
      <input
        class="field"
        id=${field}
        .value=${this.form![field]}
        placeholder=${placeholder}
        autocomplete="off"
        spellcheck="false"
        aria-invalid=${wrong}
        aria-describedby=${wrong ? `e-${field}` : note === '' ? nothing : `n-${field}`}
        @change=${(event: Event) => this.change({ [field]: (event.target as HTMLInputElement).value })}
      />
      ${unit === '' ? nothing : html`<span class="u">${unit}</span>`}
      ${wrong ? html`<span class="note" id="e-${field}" role="alert"><b>${this.wrong!.message}</b></span>` : note === '' ? nothing : html`<span class="note" id="n-${field}">${note}</span>`}
    </div>`;
  }

  private flag(field: Flag, label: string, note = '') {
    return html`<div class="row">
      <label for=${field}>${label}</label>
      <input
        id=${field}
        type="checkbox"
        .checked=${this.form![field]}
        @change=${(event: Event) => this.change({ [field]: (event.target as HTMLInputElement).checked })}
      />
      ${note === '' ? nothing : html`<span class="note">${note}</span>`}
    </div>`;
  }

  private change(part: Partial<ProfileForm>): void {
    // the message goes when the form is saved: were it to go now, the button would move away under the pointer
    this.form = { ...this.form!, ...part };
  }

  private readonly another = (): void => {
    this.form = EMPTY_FORM;
    this.isAnother = true;
    this.wrong = undefined;
    void this.updateComplete.then(() =>
      this.renderRoot.querySelector<HTMLElement>('#name')?.focus(),
    );
  };

  private readonly save = (): void => {
    const made = profileFrom(this.form!, this.isAnother ? undefined : this.profile);
    this.wrong = made.ok ? undefined : made;
    if (!made.ok) {
      void this.updateComplete.then(() =>
        this.renderRoot.querySelector<HTMLElement>(`#${made.field}`)?.focus(),
      );
      return;
    }
    this.dispatchEvent(
      new CustomEvent<InstrumentProfile>('bench-save', {
        detail: made.profile,
        bubbles: true,
        composed: true,
      }),
    );
  };
}

declare global {
  interface HTMLElementTagNameMap {
    'instrument-setup': InstrumentSetup;
  }
}
