import { LitElement, css, html } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Report } from '../../src/types.ts';
import { base } from '../look/base.styles.ts';
import '../status-mark/status-mark.ts';

/** What the label on a tube's box says of one verdict. */
export interface BoxLabel {
  readonly type: string;
  readonly name: string;
  readonly verdict: Report['verdict'];
  /** The verdict in words. */
  readonly word: string;
  readonly socket: string;
  /** The measure that decides and its least margin. */
  readonly margin: string;
  /** The readings that the verdict rests on, and which were not taken. */
  readonly readings: string;
  readonly date: string;
}

/**
 * A label for a tube's box, 70 × 36 mm: with an edge to cut along on a sheet, without one on label paper. What does not fit
 * makes it higher; nothing is cut.
 *
 * @property label what stands on it
 */
@customElement('tube-label')
export class TubeLabel extends LitElement {
  static override styles = [
    base,
    css`
      article {
        width: 70mm;
        min-height: 36mm;
        padding: 2.5mm 3mm 2mm;
        border: 0.2mm solid var(--ink);
        display: flex;
        flex-direction: column;
        gap: 0.7mm;
        break-inside: avoid;
        overflow-wrap: anywhere;
        color: var(--ink);
        font: 6.6pt / 1.22 var(--sans);
      }
      .two {
        display: flex;
        justify-content: space-between;
        align-items: baseline;
        gap: 3mm;
      }
      .type {
        font: 700 12pt / 1.1 var(--sans);
        white-space: nowrap;
      }
      .name {
        font-size: 9pt;
        font-weight: 650;
        text-align: right;
        line-height: 1.1;
      }
      .verdict {
        display: flex;
        align-items: center;
        gap: 1.5mm;
        font: 700 9pt / 1.1 var(--sans);
      }
      .verdict status-mark {
        --mark: 3.4mm;
      }
      .readings {
        border-top: 0.15mm solid var(--ink);
        padding-top: 0.6mm;
      }
      .foot {
        margin-top: auto;
        font-size: 5.8pt;
      }
      @media print and (max-width: 100mm) {
        article {
          width: 100%;
          min-height: 0;
          padding: 0;
          border: 0;
        }
      }
    `,
  ];

  @property({ attribute: false }) label!: BoxLabel;

  override render() {
    const { label } = this;
    return html`<article aria-label="Label for the box of ${label.name}">
      <p class="two">
        <span class="type">${label.type}</span><span class="name">${label.name}</span>
      </p>
      <p class="verdict">
        <status-mark .status=${label.verdict}></status-mark><span>${label.word}</span>
      </p>
      <p>${label.socket}</p>
      <p>${label.margin}</p>
      <p class="readings">${label.readings}</p>
      <p class="two foot">
        <span>Calculated from a model, no promise.</span><span>${label.date}</span>
      </p>
    </article>`;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'tube-label': TubeLabel;
  }
}
