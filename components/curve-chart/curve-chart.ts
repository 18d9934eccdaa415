import {
  Chart,
  Filler,
  LinearScale,
  LineController,
  LineElement,
  LogarithmicScale,
  PointElement,
  ScatterController,
  Tooltip,
} from 'chart.js';
import { LitElement, html, nothing, type PropertyValues } from 'lit';
import { customElement, property, query, state } from 'lit/decorators.js';
import { drawable, tableOf, type Picture } from '../../src/report/picture.ts';
import { base } from '../look/base.styles.ts';
import { differs } from '../look/differs.ts';
import { chartConfig, type Palette } from './chart-config.ts';
import { styles } from './curve-chart.styles.ts';

Chart.register(
  Filler,
  LinearScale,
  LineController,
  LineElement,
  LogarithmicScale,
  PointElement,
  ScatterController,
  Tooltip,
);

/** Per CSS pixel: about 300 to the inch. */
const DOTS_ON_PAPER = 3;

/**
 * The only place that knows Chart.js: draws a picture on a canvas in a sized box, with its caption, its text alternative
 * and, on request, its numbers as a table.
 *
 * @property picture what is drawn
 * @property label "Fig. 1", before the caption; empty for none
 * @cssproperty --chart-height, --paper-width, --paper-height
 */
@customElement('curve-chart')
export class CurveChart extends LitElement {
  static override styles = [base, styles];

  @property({ attribute: false, hasChanged: differs }) picture: Picture | undefined;
  @property() label = '';

  @state() private asTable = false;
  @query('canvas') private canvas!: HTMLCanvasElement | null;

  private chart: Chart<'line' | 'scatter', { x: number; y: number }[]> | undefined;
  private readonly scheme = matchMedia('(prefers-color-scheme: dark)');
  private readonly redraw = (): void => this.draw();
  /** Paper has more dots than a screen. */
  private readonly forPaper = (): void => this.draw(DOTS_ON_PAPER);

  override connectedCallback() {
    super.connectedCallback();
    this.scheme.addEventListener('change', this.redraw);
    document.addEventListener('theme-change', this.redraw);
    addEventListener('beforeprint', this.forPaper);
    addEventListener('afterprint', this.redraw);
    if (this.hasUpdated) this.draw();
  }

  override disconnectedCallback() {
    super.disconnectedCallback();
    this.scheme.removeEventListener('change', this.redraw);
    document.removeEventListener('theme-change', this.redraw);
    removeEventListener('beforeprint', this.forPaper);
    removeEventListener('afterprint', this.redraw);
    this.chart?.destroy();
    this.chart = undefined;
  }

  override firstUpdated() {
    this.draw();
  }

  override updated(changed: PropertyValues<this>) {
    if (changed.has('picture')) this.draw();
  }

  override render() {
    const { picture } = this;
    if (picture === undefined) return nothing;
    const { dropped } = drawable(picture);
    return html`<figure>
      <div class="box"><canvas role="img" aria-label=${picture.alt}></canvas></div>
      <figcaption>
        ${this.label === '' ? nothing : html`<b>${this.label}</b>`}${picture.caption}
        ${dropped > 0 ? html`<span>${dropped} points at or below 0 are not on this axis.</span>` : nothing}
        <button
          type="button"
          aria-expanded=${this.asTable}
          aria-label="table: ${picture.caption}"
          @click=${() => (this.asTable = !this.asTable)}
        >
          table
        </button>
      </figcaption>
      ${this.asTable ? this.table(picture) : nothing}
    </figure>`;
  }

  private table(picture: Picture) {
    const { head, rows } = tableOf(picture);
    return html`<div
      class="scroll"
      tabindex="0"
      role="region"
      aria-label="Numbers: ${picture.caption}"
    >
      <table>
        <thead>
          <tr>
            ${head.map((cell) => html`<th scope="col">${cell === '' ? html`<span class="unseen">curve</span>` : cell}</th>`)}
          </tr>
        </thead>
        <tbody>
          ${rows.map(
            ([first, ...others]) =>
              html`<tr>
                <th scope="row">${first}</th>
                ${others.map((cell) => html`<td>${cell}</td>`)}
              </tr>`,
          )}
        </tbody>
      </table>
    </div>`;
  }

  private draw(dots?: number): void {
    if (this.picture === undefined || this.canvas === null || !this.isConnected) {
      this.chart?.destroy();
      this.chart = undefined;
      return;
    }
    // laid out as wide as it is printed, so that its words are not scaled down with it
    const { style } = this.canvas.parentElement!;
    style.width = dots === undefined ? '' : 'min(100%, var(--paper-width, 330px))';
    style.height = dots === undefined ? '' : 'var(--paper-height, var(--chart-height, 248px))';
    const config = chartConfig(drawable(this.picture).picture, this.palette());
    // The annotations belong to the configuration, so a new picture needs a new chart; the canvas stays.
    this.chart?.destroy();
    this.chart = new Chart(
      this.canvas,
      dots === undefined
        ? config
        : { ...config, options: { ...config.options, devicePixelRatio: dots } },
    );
  }

  private palette(): Palette {
    const css = getComputedStyle(this);
    const token = (name: string): string => css.getPropertyValue(name).trim();
    return {
      ink: token('--ink'),
      ink2: token('--ink-2'),
      ink3: token('--ink-3'),
      rule: token('--rule'),
      wash: token('--wash'),
      paper: token('--paper'),
      sans: token('--sans'),
      serif: token('--serif'),
      tiny_px: matchMedia('(max-width: 640px)').matches ? 12 : 11.5,
    };
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'curve-chart': CurveChart;
  }
}
