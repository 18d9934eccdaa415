import { LitElement, html, svg, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Status } from '../../src/types.ts';
import { base } from '../look/base.styles.ts';
import { styles } from './status-mark.styles.ts';

/** Every status has a shape of its own, so that it is told without its hue. */
const SHAPES: Readonly<Record<Status, TemplateResult>> = {
  usable: svg`<circle cx="8" cy="8" r="7" class="fill"/><path class="cut" d="M4.6 8.3L7.1 10.8L11.6 5.6"/>`,
  marginal: svg`<path class="line" d="M8 1L15 8L8 15L1 8Z"/><path class="fill" d="M8 1V15L1 8Z"/>`,
  unsuitable: svg`<rect x="1.5" y="1.5" width="13" height="13" class="fill"/><path class="cut" d="M4.5 8H11.5"/>`,
  undetermined: svg`<circle cx="8" cy="8" r="6.2" class="line" stroke-dasharray="3.2 2.36"/>`,
  failed: svg`<path class="line" d="M9.2 4.2L8 2L1.2 14.2H14.8L11.2 7.8"/>`,
  unjudged: svg`<circle cx="8" cy="8" r="1.6" class="fill"/>`,
};

export const STATUS_WORD: Readonly<Record<Status, string>> = {
  usable: 'usable',
  marginal: 'marginal',
  unsuitable: 'unsuitable',
  undetermined: 'undetermined',
  failed: 'not computed',
  unjudged: 'for information',
};

/**
 * The shape of a status: disc with tick, half diamond, square with bar, dashed ring, broken triangle. Decoration beside
 * the word; hidden from screen readers.
 *
 * @property status which
 * @cssproperty --mark width and height, 16px by default
 */
@customElement('status-mark')
export class StatusMark extends LitElement {
  static override styles = [base, styles];

  @property() status: Status = 'undetermined';

  override render() {
    return html`<svg class="s-${this.status}" viewBox="0 0 16 16" aria-hidden="true">
      ${SHAPES[this.status]}
    </svg>`;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'status-mark': StatusMark;
  }
}
