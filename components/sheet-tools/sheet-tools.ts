import { LitElement, css, html, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { base } from '../look/base.styles.ts';

/**
 * What can be taken away of an answer: on paper, as a label for the tube's box, as a table, as JSON.
 *
 * @property label whether there is a label to print
 * @fires sheet-print, label-print, sheet-save `{as: 'csv' | 'json'}`
 */
@customElement('sheet-tools')
export class SheetTools extends LitElement {
  static override styles = [
    base,
    css`
      p {
        display: flex;
        flex-wrap: wrap;
        gap: 2px 18px;
        margin-top: 10px;
        font-size: var(--t-small);
      }
      @media print {
        :host {
          display: none;
        }
      }
    `,
  ];

  @property({ type: Boolean }) label = false;

  override render() {
    return html`<p>
      <button type="button" @click=${() => this.tell('sheet-print')}>Print sheet</button>
      ${
        this.label
          ? html`<button type="button" @click=${() => this.tell('label-print')}>
              Print label
            </button>`
          : nothing
      }
      <button type="button" @click=${() => this.tell('sheet-save', { as: 'csv' })}>Save CSV</button>
      <button type="button" @click=${() => this.tell('sheet-save', { as: 'json' })}>
        Save JSON
      </button>
    </p>`;
  }

  private tell(name: string, detail?: object): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'sheet-tools': SheetTools;
  }
}
