import { LitElement, html, nothing } from 'lit';
import { customElement, property, query } from 'lit/decorators.js';
import { ref } from 'lit/directives/ref.js';
import type { DrawnCircuit, LeakOptions } from '../../src/drawing/drawing.ts';
import { faultsIn } from '../../src/stage/faults.ts';
import type { Report, StageValues, ValueSpec } from '../../src/types.ts';
import { formatQuantity } from '../../src/units/format.ts';
import type { DrawnTube } from '../circuit-drawing/circuit-drawing.ts';
import '../circuit-drawing/circuit-drawing.ts';
import { base, place } from '../look/base.styles.ts';
import { differs } from '../look/differs.ts';
import { Chosen } from '../look/chosen.ts';
import '../value-field/value-field.ts';
import { styles } from './socket-place.styles.ts';

export interface SocketTab {
  readonly id: string;
  readonly title: string;
  /** Types that the socket takes. */
  readonly takes: readonly string[];
}

/** A ready set of values for the stage. */
export interface Preset {
  readonly id: string;
  readonly title: string;
}

/** Every socket has these; they stand under the drawing, not on it. */
const CONDITIONS = ['lineVoltage', 'linePercent', 'heaterPercent'];

/** Less is rounding, and no meter shows it. */
const NO_VOLTS = 1e-6;

/** How titles say that only a tube with a screen makes use of a value. */
const OF_A_SCREEN = /\(pentode\b/;

/**
 * The socket: the circuit drawn from the very parts that are simulated, its values edited on the drawing, the voltages of
 * a new tube and of this one.
 *
 * @property sockets, socket the sockets of this scenario and the one shown
 * @property specs, values the stage's values, and what the socket has
 * @property circuit the parts, with their places
 * @property netlist text of an own circuit, which has no drawing
 * @property volts voltages of the last answer for this tube in this socket
 * @property leak the leak that is drawn
 * @property tubes the tubes in its places, by tube index
 * @property fresh false while the voltages of this tube belong to earlier values
 * @fires socket-pick, socket-add `{stage}`, socket-rename `{id}`, socket-takes `{typed}`, socket-remove, preset-pick, value-edit
 */
@customElement('socket-place')
export class SocketPlace extends LitElement {
  static override styles = [base, place, styles];

  @property({ attribute: false, hasChanged: differs }) sockets: readonly SocketTab[] = [];
  @property() socket = '';
  @property() stageTitle = '';
  @property({ attribute: false }) specs: Readonly<Record<string, ValueSpec>> = {};
  @property({ attribute: false, hasChanged: differs }) values: StageValues = {};
  @property({ attribute: false, hasChanged: differs }) circuit: DrawnCircuit | undefined;
  @property({ attribute: false }) netlist: string | undefined;
  @property({ attribute: false, hasChanged: differs }) volts: Report['nodeVolts'] | undefined;
  @property({ attribute: false, hasChanged: differs }) leak: LeakOptions | undefined;
  @property({ attribute: false, hasChanged: differs }) tubes: readonly DrawnTube[] = [];
  @property({ attribute: false, hasChanged: differs }) presets: readonly Preset[] = [];
  @property({ attribute: false, hasChanged: differs }) stages: readonly Preset[] = [];
  /** Why the name that was typed is not taken. */
  @property() nameWrong = '';
  /** The same for the types, with what was typed. */
  @property({ attribute: false, hasChanged: differs }) takesWrong: {
    readonly typed?: string;
    readonly message: string;
  } = {
    message: '',
  };
  @property({ type: Boolean }) fresh = true;

  @query('circuit-drawing, value-field') private first!: HTMLElement | null;

  override focus() {
    this.first?.focus();
  }

  override render() {
    const current = this.sockets.find(({ id }) => id === this.socket);
    const heading = current === undefined || current.title === '' ? this.stageTitle : current.title;
    const takes = current?.takes.join(', ') ?? '';
    const drawn = this.drawnKeys();
    const screens = this.hasScreen();
    const listed = Object.keys(this.specs).filter(
      (key) =>
        !drawn.has(key) &&
        !CONDITIONS.includes(key) &&
        this.values[key] !== undefined &&
        (screens || !OF_A_SCREEN.test(this.specs[key]!.title)),
    );
    return html`<div class="head">
        <h2><span class="no" aria-hidden="true">2</span>The socket</h2>
        <div class="tabs" role="group" aria-label="Sockets of this set">
          ${this.sockets.map(
            ({ id, takes }) =>
              html`<button
                type="button"
                aria-current=${id === this.socket ? 'true' : nothing}
                @click=${() => this.tell('socket-pick', { id })}
              >
                ${id}<i>${takes[0]}</i>
              </button>`,
          )}
        </div>
      </div>
      ${
        this.circuit === undefined
          ? html`<p class="title">${heading}</p>
              ${this.netlist === undefined ? nothing : this.netlistView(this.netlist)}`
          : html`<circuit-drawing
              .circuit=${this.circuit}
              .volts=${this.volts}
              .leak=${this.leak}
              .tubes=${this.tubes}
              .specs=${this.specs}
              .values=${this.values}
              .heading=${heading}
              .fresh=${this.fresh}
            ></circuit-drawing>`
      }
      ${this.fields(
        listed.filter((key) => this.specs[key]!.fault !== true),
        'Values of the socket that are not drawn',
      )}
      ${this.faults(listed.filter((key) => this.specs[key]!.fault === true))}
      ${this.volts === undefined ? nothing : this.voltTable(this.volts)}
      <div class="cond">
        <label
          >Preset
          <select aria-label="Values from a preset" ${ref(this.presetList.attach)}>
            <option value="" selected>as entered</option>
            ${this.presets.map(({ id, title }) => html`<option value=${id}>${title}</option>`)}
          </select></label
        >
        ${CONDITIONS.filter((key) => this.specs[key] !== undefined).map((key) => html`<value-field .key=${key} .spec=${this.specs[key]} .now=${this.values[key]}></value-field>`)}
        <label
          >Add a socket
          <select aria-label="Add a socket with this stage" ${ref(this.stageList.attach)}>
            <option value="" selected>choose its stage</option>
            ${this.stages.map(({ id, title }) => html`<option value=${id}>${title}</option>`)}
          </select></label
        >
        <label
          >Name
          <input
            class="field"
            aria-label="Name of this socket"
            value=${this.socket}
            .value=${this.socket}
            autocomplete="off"
            @change=${(event: Event) => this.tell('socket-rename', { id: (event.target as HTMLInputElement).value })}
        /></label>
        <label
          >Takes the types
          <input
            class="field"
            aria-label="Types of tube that this socket takes"
            value=${this.takesWrong.typed ?? takes}
            .value=${this.takesWrong.typed ?? takes}
            aria-invalid=${this.takesWrong.message !== ''}
            autocomplete="off"
            spellcheck="false"
            @change=${(event: Event) => this.tell('socket-takes', { typed: (event.target as HTMLInputElement).value })}
        /></label>
        <button
          type="button"
          ?disabled=${this.sockets.length < 2}
          @click=${() => this.tell('socket-remove')}
        >
          remove this socket
        </button>
        ${[this.nameWrong, this.takesWrong.message].map((wrong) => (wrong === '' ? nothing : html`<p class="wrong" role="alert">${wrong}</p>`))}
      </div>`;
  }

  private fields(keys: readonly string[], label: string) {
    return keys.length === 0
      ? nothing
      : html`<div class="values" role="group" aria-label=${label}>
          ${keys.map((key) => html`<value-field .key=${key} .spec=${this.specs[key]} .now=${this.values[key]}></value-field>`)}
        </div>`;
  }

  /** What a sound set does not have: folded away until one of them is stated. */
  private faults(keys: readonly string[]) {
    if (keys.length === 0) return nothing;
    const stated = faultsIn(this.specs, this.values).some(({ key }) => keys.includes(key));
    return html`<details ?open=${stated}>
      <summary>Faults of the set that pass for faults of the tube</summary>
      ${this.fields(keys, 'Faults of the set')}
    </details>`;
  }

  /** Also true where it is not known. */
  private hasScreen(): boolean {
    const tubes = (this.circuit?.parts ?? []).filter((part) => part.kind === 'tube');
    return tubes.length === 0 || tubes.some(({ nodes }) => nodes.screen !== undefined);
  }

  /** An own circuit's netlist; the lines scroll where they do not fit, by keyboard too. */
  private netlistView(netlist: string) {
    return html`<p class="title">An own circuit has no drawing: this is its netlist.</p>
      <pre class="netlist" tabindex="0" role="region" aria-label="Netlist">${netlist}</pre>`;
  }

  /** Keys whose value stands on the drawing. */
  private drawnKeys(): ReadonlySet<string> {
    const parts = this.circuit?.parts ?? [];
    return new Set(
      parts.flatMap((part) =>
        'edits' in part && part.edits !== undefined && part.drawn !== false ? [part.edits] : [],
      ),
    );
  }

  /** For screen readers, and in sight on the phone, where the drawing has no room for every voltage. */
  private voltTable(nodeVolts: Report['nodeVolts']) {
    const names = namesOf(this.circuit?.parts ?? []);
    const nodes = [
      ...new Set([...Object.keys(nodeVolts.newTube), ...Object.keys(nodeVolts.thisTube)]),
    ];
    const volts = (value: number | undefined): string =>
      value === undefined
        ? '—'
        : formatQuantity(Math.abs(value) < NO_VOLTS ? 0 : value, 'V', { digits: 3 });
    return html`<div class="narrow">
      <table class="nodes">
        <caption>
          Volts to chassis, no signal
        </caption>
        <thead>
          <tr>
            <th scope="col">at</th>
            <th scope="col">new</th>
            <th scope="col">this tube</th>
          </tr>
        </thead>
        <tbody>
          ${nodes.map(
            (node) =>
              html`<tr>
                <th scope="row">${names.get(node) ?? node}</th>
                <td class="new">${volts(nodeVolts.newTube[node])}</td>
                <td class="this">${volts(nodeVolts.thisTube[node])}</td>
              </tr>`,
          )}
        </tbody>
      </table>
    </div>`;
  }

  private readonly presetList = new Chosen((id) => this.tell('preset-pick', { id }), 'forget');
  private readonly stageList = new Chosen((stage) => this.tell('socket-add', { stage }), 'forget');

  private tell<T>(name: string, detail?: T): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}

/** Words for the nodes: the electrode on them, else the part. */
function namesOf(parts: Report['circuit']['parts']): ReadonlyMap<string, string> {
  const names = new Map<string, string>();
  for (const part of parts)
    if (part.kind === 'tube')
      for (const [electrode, node] of Object.entries(part.nodes))
        if (node !== '0') names.set(node, electrode);
  for (const part of parts)
    if (part.kind === 'supply' && !names.has(part.nodes[0]))
      names.set(part.nodes[0], `supply ${part.id}`);
  for (const part of parts)
    if ('nodes' in part && Array.isArray(part.nodes))
      for (const node of part.nodes as readonly string[])
        if (node !== '0' && !names.has(node)) names.set(node, `at ${part.id}`);
  return names;
}

declare global {
  interface HTMLElementTagNameMap {
    'socket-place': SocketPlace;
  }
}
