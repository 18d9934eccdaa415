import { LitElement, html, nothing, svg, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { AcceptanceMap } from '../../src/decide/map.ts';
import { boundaryRows, mapPicture } from '../../src/report/picture-map.ts';
import type { Picture } from '../../src/report/picture.ts';
import type { Electrode } from '../../src/types.ts';
import '../curve-chart/curve-chart.ts';
import { base } from '../look/base.styles.ts';
import { form } from '../look/form.styles.ts';
import { tables } from '../look/table.styles.ts';
import '../status-mark/status-mark.ts';
import '../work-line/work-line.ts';
import type { WorkState } from '../work-line/work-line.ts';
import { styles } from './map-view.styles.ts';
import { pathWords } from '../../src/units/electrode.ts';

const line = (kind: string): TemplateResult =>
  svg`<line class=${kind} x1="1" y1="8" x2="35" y2="8"/>`;
const cross = svg`<path class="bars" d="M18 1V15M14 1H22M14 15H22M6 8H30M6 4V12M30 4V12"/>`;

/** What is drawn how: nothing is told by its colour alone. */
const KEY: readonly (readonly [drawn: TemplateResult, says: TemplateResult | string])[] = [
  [line('limit'), 'a limit is met, at central values'],
  [
    line('edge'),
    html`the ends of <b>marginal</b>: between them, hatched, the limit lies inside the 90 % interval`,
  ],
  [svg`<rect class="refused" x="1" y="1" width="34" height="14"/>`, html`<b>unsuitable</b>`],
  [line('level'), 'the least margin elsewhere, as a share of its limit'],
  [svg`${cross}<circle class="this" cx="18" cy="8" r="4"/>`, 'this tube, with its 90 % interval'],
  [svg`<circle class="new" cx="18" cy="8" r="5.5"/>`, 'a new tube'],
];

/**
 * The acceptance map of a socket: emission against grid leakage, where it is usable, marginal and unsuitable, with this tube on it.
 *
 * @property map the last answer for this socket and tube; undefined while none is there
 * @property sockets, socket, tubes, tube the set's, and which are looked at
 * @property note why this tube is not on the map
 * @property state what the computation is at
 * @fires socket-pick `{id}`, tube-pick `{id}`, map-path `{path}`, map-keep `{as}`, desk-stop, desk-again
 */
@customElement('map-view')
export class MapView extends LitElement {
  static override styles = [base, form, tables, styles];

  @property({ attribute: false }) map: AcceptanceMap | undefined;
  @property({ attribute: false }) sockets: readonly {
    readonly id: string;
    readonly title: string;
  }[] = [];
  @property() socket = '';
  @property({ attribute: false }) tubes: readonly { readonly id: string; readonly type: string }[] =
    [];
  @property() tube = '';
  @property() note = '';
  @property({ attribute: false }) state: WorkState = { kind: 'idle' };

  /** Made once a map: a new picture is a new chart. */
  private drawn: { readonly of: AcceptanceMap; readonly picture: Picture } | undefined;

  override render() {
    return html`<section aria-labelledby="h">
      <h2 id="h">What goes together</h2>
      <p class="lead">
        Emission against grid leakage, as your own instrument reads them: how much of one this
        socket forgives for the other.
      </p>
      <div class="picks">
        <p>
          <label for="socket">Socket</label>
          <select id="socket" @change=${(event: Event) => this.tell('socket-pick', event)}>
            ${this.sockets.map(({ id, title }) => html`<option value=${id} ?selected=${id === this.socket}>${id}${title === '' ? '' : `, ${title}`}</option>`)}
          </select>
        </p>
        <p>
          <label for="tube">Tube</label>
          <select id="tube" @change=${(event: Event) => this.tell('tube-pick', event)}>
            ${this.tubes.map(({ id, type }) => html`<option value=${id} ?selected=${id === this.tube}>${id}, ${type}</option>`)}
          </select>
        </p>
        ${this.map === undefined ? nothing : this.pathPick(this.map)}
      </div>
      ${this.note === '' ? nothing : html`<p class="note">${this.note}</p>`}
      <work-line .state=${this.state}></work-line>
      ${this.map === undefined ? nothing : this.body(this.map)}
    </section>`;
  }

  private pathPick({ path, paths }: AcceptanceMap) {
    if (paths.length < 2) return nothing;
    return html`<p>
      <label for="path">Leakage goes</label>
      <select id="path" @change=${this.onPath}>
        ${paths.map((one) => html`<option value=${one.join('-')} ?selected=${one.join() === path?.join()}>${pathWords(one)}</option>`)}
      </select>
    </p>`;
  }

  private body(map: AcceptanceMap) {
    if (this.drawn?.of !== map) this.drawn = { of: map, picture: mapPicture(map) };
    return html`${map.finding.sentences.map((sentence) => html`<p class="finding">${sentence}</p>`)}
      <curve-chart class="map" .picture=${this.drawn.picture}></curve-chart>
      <ul class="key" aria-label="What is drawn how">
        ${KEY.map(
          ([drawn, says]) =>
            html`<li>
              <svg viewBox="0 0 36 16" aria-hidden="true">${drawn}</svg><span>${says}</span>
            </li>`,
        )}
      </ul>
      <h3>The boundary</h3>
      <div class="scroll">
        <table>
          <thead>
            <tr>
              <th scope="col">emission</th>
              <th scope="col">leakage that is usable</th>
              <th scope="col">leakage that is unsuitable</th>
            </tr>
          </thead>
          <tbody>
            ${boundaryRows(map).map(
              ({ emission, usable, unsuitable }) =>
                html`<tr>
                  <th scope="row">${emission}</th>
                  <td>${usable}</td>
                  <td>${unsuitable}</td>
                </tr>`,
            )}
          </tbody>
        </table>
      </div>
      <h3>How to read it</h3>
      ${[...map.sentences, ...(map.point === null ? [] : [map.point.sentence])].map((sentence) => html`<p class="plain">${sentence}</p>`)}
      <p class="note">
        ${map.simulated} points simulated for ${map.cells.length} × ${map.leakage.values.length}
        cells; intervals from ${map.intervals.draws} draws at ${map.intervals.points} points, seed
        ${map.intervals.seed}. ${map.engine}. A verdict is a calculation from a model, not a
        promise.
      </p>
      <p class="buttons">
        <button class="act" type="button" @click=${() => this.keep('csv')}>Keep as CSV</button>
        <button class="act" type="button" @click=${() => this.keep('json')}>Keep as JSON</button>
      </p>`;
  }

  private tell(name: 'socket-pick' | 'tube-pick', event: Event): void {
    this.send(name, { id: (event.target as HTMLSelectElement).value });
  }

  private readonly onPath = (event: Event): void => {
    const path = (event.target as HTMLSelectElement).value.split('-') as [Electrode, Electrode];
    this.send('map-path', { path });
  };

  private keep(as: 'csv' | 'json'): void {
    this.send('map-keep', { as });
  }

  private send(name: string, detail: object): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'map-view': MapView;
  }
}
