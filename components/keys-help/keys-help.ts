import { LitElement, css, html } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { base } from '../look/base.styles.ts';
import { form } from '../look/form.styles.ts';

const KEYS: readonly (readonly [string, string])[] = [
  ['Enter', 'in a reading: take it and go to the next; in the last leakage: a new one'],
  ['M', 'stamp the minute since switch-on beside the next leakage reading; starts the clock'],
  ['1, 2, 3', 'the tube, the socket, the answer'],
  ['[ and ]', 'the socket before, the next socket'],
  ['/', 'search the type of tube'],
  ['Ctrl+Z, Ctrl+Shift+Z', 'undo, redo'],
  ['↑ ↓', 'in a part’s value: the next of the E12 series'],
  ['Esc', 'in a field: what stood there before; again: out of the field, where single keys work'],
  ['?', 'this list'],
];

/**
 * The keys, and whether single keys work.
 *
 * @property single whether keys without Ctrl do anything (WCAG 2.1.4)
 * @fires single-keys `{on}`
 */
@customElement('keys-help')
export class KeysHelp extends LitElement {
  static override styles = [
    base,
    form,
    css`
      dl {
        display: grid;
        grid-template-columns: max-content 1fr;
        gap: 6px 20px;
        margin-top: 14px;
      }
      dt {
        font-weight: 600;
      }
      dd {
        color: var(--ink-2);
      }
      .row {
        margin-top: 12px;
      }
    `,
  ];

  @property({ type: Boolean }) single = true;

  override render() {
    return html`<section aria-labelledby="h">
      <h2 id="h">Keys</h2>
      <dl>
        ${KEYS.map(
          ([key, what]) =>
            html`<dt>${key}</dt>
              <dd>${what}</dd>`,
        )}
      </dl>
      <div class="row">
        <label for="single">Single keys work outside fields</label>
        <input
          id="single"
          type="checkbox"
          .checked=${this.single}
          @change=${(event: Event) =>
            this.dispatchEvent(
              new CustomEvent('single-keys', {
                detail: { on: (event.target as HTMLInputElement).checked },
                bubbles: true,
                composed: true,
              }),
            )}
        />
      </div>
    </section>`;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'keys-help': KeysHelp;
  }
}
