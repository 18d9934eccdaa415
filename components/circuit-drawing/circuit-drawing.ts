import { LitElement, html, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import type { Drawing, DrawnCircuit, LeakOptions, ValueLabel } from '../../src/drawing/drawing.ts';
import { layOut } from '../../src/drawing/layout.ts';
import { toSvg } from '../../src/drawing/svg.ts';
import type { Electrode, Report, StageValues, ValueSpec } from '../../src/types.ts';
import { base } from '../look/base.styles.ts';
import { differs } from '../look/differs.ts';
import { shownValue } from '../value-field/typed-value.ts';
import '../value-field/value-field.ts';
import { drawing as drawingStyle, styles } from './circuit-drawing.styles.ts';

/** A tube of the circuit: its type, and base pins of the electrodes of the section at work. */
export interface DrawnTube {
  readonly type: string;
  readonly pins: Readonly<Partial<Record<Electrode, string>>>;
}

/**
 * The circuit as it is simulated, with a field at every value that can be edited and the voltages of a new tube and of
 * this one. On the phone the fields leave the drawing and become a list under it.
 *
 * @property circuit parts with their places
 * @property specs, values the stage's values and what the socket has
 * @property volts voltages to chassis by node; undefined until known
 * @property fresh false while the volts belong to earlier values
 * @property leak the leak that is drawn
 * @property tubes by tube index
 */
@customElement('circuit-drawing')
export class CircuitDrawing extends LitElement {
  static override styles = [base, drawingStyle, styles];

  @property({ attribute: false, hasChanged: differs }) circuit: DrawnCircuit | undefined;
  @property({ attribute: false }) specs: Readonly<Record<string, ValueSpec>> = {};
  @property({ attribute: false, hasChanged: differs }) values: StageValues = {};
  @property({ attribute: false, hasChanged: differs }) volts: Report['nodeVolts'] | undefined;
  @property({ attribute: false, hasChanged: differs }) tubes: readonly DrawnTube[] = [];
  @property({ attribute: false, hasChanged: differs }) leak: LeakOptions | undefined;
  @property() heading = '';
  @property({ type: Boolean }) fresh = true;

  override focus() {
    this.renderRoot.querySelector<HTMLElement>('value-field')?.focus();
  }

  override render() {
    const { circuit, leak } = this;
    if (circuit === undefined) return nothing;
    const pinNumbers = Object.fromEntries(
      circuit.parts.flatMap((part) =>
        part.kind === 'tube' ? [[part.id, this.tubes[part.tube]?.pins ?? {}] as const] : [],
      ),
    );
    const drawing = layOut(circuit, {
      values: this.values,
      tubeTypes: this.tubes.map(({ type }) => type),
      pinNumbers,
      ...(leak === undefined ? {} : { leak }),
    });
    const none = { newTube: {}, thisTube: {} };
    const svg = toSvg(drawing, {
      values: 'none',
      nodeVolts: this.volts ?? none,
      description: `${this.heading}. Values are fields after this drawing; voltages are in the table below it.`,
    });
    return html`<div
      class="sheet ${this.fresh ? '' : 'stale'}"
      .style=${`--height: ${drawing.height}; --wide: ${drawing.width}`}
    >
      <div class="key">
        <p class="ttl">${this.heading}</p>
        <p>
          <svg viewBox="0 0 10 10" aria-hidden="true">
            <circle class="new" cx="5" cy="5" r="3.2" /></svg
          ><span class="dim">new tube</span>
        </p>
        <p>
          <svg viewBox="0 0 10 10" aria-hidden="true">
            <circle class="this" cx="5" cy="5" r="3.6" /></svg
          ><b>this tube</b>
        </p>
        <p class="dim">volts to chassis</p>
      </div>
      ${elementOf(svg)}
      <div class="vals" role="group" aria-label="Values on the drawing">
        ${this.fields(drawing)}
      </div>
    </div>`;
  }

  private fields(drawing: Drawing) {
    return drawing.values.map((label) => this.field(label, drawing));
  }

  private field(label: ValueLabel, drawing: Drawing) {
    const key = label.edits;
    const spec = key === undefined ? undefined : this.specs[key];
    const now = key === undefined ? undefined : this.values[key];
    // a list may say more in its field than there is room for beside its part
    const letters =
      spec?.list === true && now !== undefined ? shownValue(now.value, spec).length : 0;
    const place = `--x: ${(100 * label.at[0]) / drawing.width}%; --y: ${(100 * label.at[1]) / drawing.height}%; --w: ${Math.max(label.width_ch, letters)}ch`;
    if (key === undefined || spec === undefined || now === undefined)
      return html`<span class="val ${label.anchor}" .style=${place}>${label.text}</span>`;
    return html`<value-field
      class="val ${label.anchor}"
      .style=${place}
      ?drawn=${true}
      .key=${key}
      .name=${`${label.of}, ${spec.title}`}
      .spec=${spec}
      .now=${now}
    ></value-field>`;
  }
}

/** Our own text, escaped where it was made; parsed as XML it can only be what it says. */
function elementOf(svg: string): Element {
  return document.importNode(
    new DOMParser().parseFromString(svg, 'image/svg+xml').documentElement,
    true,
  );
}

declare global {
  interface HTMLElementTagNameMap {
    'circuit-drawing': CircuitDrawing;
  }
}
