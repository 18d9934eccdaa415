import { LitElement, css, html, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { base } from '../look/base.styles.ts';

export type WorkState =
  | { readonly kind: 'idle' }
  | {
      readonly kind: 'computing';
      readonly what: string;
      readonly done: number;
      readonly all: number;
    }
  | { readonly kind: 'stopped' }
  | { readonly kind: 'problem'; readonly title: string; readonly text: string };

/**
 * What a long computation is at, with Stop; or why there is no answer, with another try.
 *
 * @property state what is going on; nothing is shown when idle
 * @fires desk-stop, desk-again
 */
@customElement('work-line')
export class WorkLine extends LitElement {
  static override styles = [
    base,
    css`
      :host {
        min-height: 1.6em;
        margin-top: 10px;
        font-size: var(--t-small);
        color: var(--ink-3);
      }
      .bar {
        height: 2px;
        background: var(--rule);
        margin-top: 4px;
      }
      .bar i {
        display: block;
        height: 2px;
        background: var(--ink);
      }
      .wrong {
        color: var(--ink);
      }
      @media print {
        :host {
          display: none;
        }
      }
    `,
  ];

  @property({ attribute: false }) state: WorkState = { kind: 'idle' };

  override render() {
    const { state } = this;
    switch (state.kind) {
      case 'idle':
        return nothing;
      case 'computing': {
        const share = state.all === 0 ? 0 : (100 * state.done) / state.all;
        return html`<span role="status"
            >Computing:
            ${state.what}${state.all > 1 ? `, ${state.done} of ${state.all}` : ''}.</span
          >
          <button type="button" @click=${() => this.tell('desk-stop')}>Stop</button>
          <div class="bar" aria-hidden="true"><i .style=${`width:${share.toFixed(0)}%`}></i></div>`;
      }
      case 'stopped':
        return html`<span role="status">Stopped.</span>
          <button type="button" @click=${() => this.tell('desk-again')}>Go on</button>`;
      case 'problem':
        return html`<span class="wrong" role="alert"><b>${state.title}.</b> ${state.text}</span>
          <button type="button" @click=${() => this.tell('desk-again')}>Try again</button>`;
    }
  }

  private tell(name: string): void {
    this.dispatchEvent(new CustomEvent(name, { bubbles: true, composed: true }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'work-line': WorkLine;
  }
}
