import { LitElement, html, nothing } from 'lit';
import { customElement, property, query, state } from 'lit/decorators.js';
import { base } from '../look/base.styles.ts';
import { matches, type TypeName } from './matches.ts';
import { styles } from './type-search.styles.ts';

/**
 * The type of a tube, found by typing any of its designations.
 *
 * @property types every designation
 * @property value the designation in force
 * @fires type-pick the chosen `TypeName`
 */
@customElement('type-search')
export class TypeSearch extends LitElement {
  static override styles = [base, styles];

  @property({ attribute: false }) types: readonly TypeName[] = [];
  @property() value = '';

  @state() private typed: string | undefined;
  @state() private active = 0;
  @query('input') private field!: HTMLInputElement;

  override focus() {
    this.field.focus();
    this.field.select();
  }

  override render() {
    const open = this.typed !== undefined;
    const found = open ? matches(this.types, this.typed!) : [];
    return html`<input
        class="field"
        role="combobox"
        aria-label="Type of tube"
        aria-expanded=${open}
        aria-controls="list"
        aria-autocomplete="list"
        aria-activedescendant=${open && found.length > 0 ? `o${this.active}` : nothing}
        autocomplete="off"
        spellcheck="false"
        value=${this.value}
        .value=${this.typed ?? this.value}
        @focus=${() => this.field.select()}
        @input=${() => {
          this.typed = this.field.value;
          this.active = 0;
        }}
        @keydown=${(event: KeyboardEvent) => this.onKey(event, found)}
        @blur=${() => (this.typed = undefined)}
      />
      <ul id="list" role="listbox" aria-label="Types" ?hidden=${!open}>
        ${found.map(
          (type, i) =>
            html`<li
              id="o${i}"
              role="option"
              aria-selected=${i === this.active}
              @mousedown=${(event: MouseEvent) => {
                event.preventDefault();
                this.pick(type);
              }}
            >
              <b>${type.name}</b
              ><span>${type.title}${type.device === type.name ? '' : ` (${type.device})`}</span>
            </li>`,
        )}
        ${open && found.length === 0 ? html`<li class="nothing" role="option" aria-selected="false" aria-disabled="true"><span>No such type in the list. The type in force stays.</span></li>` : nothing}
      </ul>`;
  }

  private onKey(event: KeyboardEvent, found: readonly TypeName[]): void {
    if (event.key === 'ArrowDown' || event.key === 'ArrowUp') {
      event.preventDefault();
      if (this.typed === undefined) this.typed = '';
      const count = Math.max(1, found.length);
      this.active = (this.active + (event.key === 'ArrowDown' ? 1 : count - 1)) % count;
    } else if (event.key === 'Enter' && this.typed !== undefined) {
      const type = found[this.active];
      // a type that is not known keeps the list open and the focus here
      if (type === undefined) event.stopPropagation();
      else this.pick(type);
    } else if (event.key === 'Escape' && this.typed !== undefined) {
      event.stopPropagation();
      this.typed = undefined;
    }
  }

  private pick(type: TypeName): void {
    this.typed = undefined;
    if (type.name === this.value) return;
    this.dispatchEvent(
      new CustomEvent<TypeName>('type-pick', { detail: type, bubbles: true, composed: true }),
    );
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'type-search': TypeSearch;
  }
}
