import { LitElement, css, html, nothing } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { LESSONS } from '../../src/decide/learn/lessons.ts';
import type { LessonAnswer, Slider } from '../../src/decide/learn/lesson.ts';
import { formatQuantity } from '../../src/units/format.ts';
import '../curve-chart/curve-chart.ts';
import { base } from '../look/base.styles.ts';
import { form } from '../look/form.styles.ts';
import '../work-line/work-line.ts';
import type { WorkState } from '../work-line/work-line.ts';

const STEPS = 100;

const toStep = ({ low, high, scale }: Slider, value: number): number =>
  Math.round(
    STEPS *
      (scale === 'log'
        ? Math.log(value / low) / Math.log(high / low)
        : (value - low) / (high - low)),
  );

const toValue = ({ low, high, scale }: Slider, step: number): number =>
  Number(
    (scale === 'log'
      ? low * (high / low) ** (step / STEPS)
      : low + ((high - low) * step) / STEPS
    ).toPrecision(2),
  );

/**
 * Lessons: one question at a time, with a live circuit, a slider, the equation, a picture and a finding.
 *
 * @property lesson id of the open lesson
 * @property values where its sliders stand; those not moved stand at their start
 * @property answer the last answer; of another lesson's sliders while the new one is on its way
 * @fires lesson-ask `{lesson, values}`, desk-stop, desk-again
 */
@customElement('learn-view')
export class LearnView extends LitElement {
  static override styles = [
    base,
    form,
    css`
      section {
        max-width: 1080px;
      }
      .two {
        display: grid;
        grid-template-columns: 250px minmax(0, 1fr);
        gap: 0 40px;
        margin-top: 14px;
      }
      nav li {
        border-top: 1px solid var(--rule);
      }
      nav button {
        text-align: left;
        text-decoration: none;
        padding: 8px 0;
        width: 100%;
      }
      nav button[aria-current] {
        font-weight: 650;
        text-decoration: underline;
        text-decoration-thickness: 2px;
        text-underline-offset: 5px;
      }
      .eq {
        font: italic var(--t-lead) / 1.5 var(--serif);
        margin-top: 10px;
      }
      .finding {
        font: 600 var(--t-lead) / 1.45 var(--serif);
        margin-top: 12px;
        max-width: var(--measure);
        min-height: 3em;
      }
      .slider {
        margin-top: 14px;
        max-width: 460px;
      }
      .slider input {
        width: 100%;
        accent-color: var(--ink);
        min-height: 32px;
      }
      .slider output {
        font-weight: 650;
      }
      h3 {
        border: 0;
        margin: 0;
        padding: 0;
      }
      curve-chart {
        margin-top: 14px;
        --chart-height: 340px;
        --paper-width: 680px;
      }
      @media print {
        nav,
        .slider input {
          display: none;
        }
      }
      @media (max-width: 800px) {
        .two {
          display: block;
        }
        nav {
          margin-bottom: 18px;
        }
      }
    `,
  ];

  @property() lesson = '';
  @property({ attribute: false }) values: Readonly<Record<string, number>> = {};
  @property({ attribute: false }) answer: LessonAnswer | undefined;
  @property({ attribute: false }) state: WorkState = { kind: 'idle' };

  override render() {
    const lesson = LESSONS.find(({ id }) => id === this.lesson) ?? LESSONS[0]!;
    return html`<section aria-labelledby="h">
      <h2 id="h">Learn</h2>
      <p class="lead">
        Why leakage, bias and emission matter as they do. Every figure is computed as you look, by
        the engine that the verdicts come from.
      </p>
      <div class="two">
        <nav aria-label="Lessons">
          <ul>
            ${LESSONS.map(
              ({ id, title }) =>
                html`<li>
                  <button
                    type="button"
                    aria-current=${id === lesson.id ? 'true' : nothing}
                    @click=${() => this.ask(id, {})}
                  >
                    ${title}
                  </button>
                </li>`,
            )}
          </ul>
        </nav>
        <div>
          <h3>${lesson.question}</h3>
          <p class="eq">${lesson.equation}</p>
          <p class="note">${lesson.where}</p>
          ${lesson.sliders.map((slider) => this.slider(slider))}
          <work-line .state=${this.state}></work-line>
          ${
            this.answer === undefined
              ? nothing
              : html`<curve-chart .picture=${this.answer.picture}></curve-chart>
                  <p class="finding" aria-live="polite">${this.answer.finding}</p>`
          }
        </div>
      </div>
    </section>`;
  }

  private slider(slider: Slider) {
    const value = this.values[slider.key] ?? slider.start;
    const text = formatQuantity(value, slider.unit, { digits: 2 });
    return html`<p class="slider">
      <label for=${slider.key}>${slider.title}</label>: <output for=${slider.key}>${text}</output>
      <input
        id=${slider.key}
        type="range"
        min="0"
        max=${STEPS}
        .value=${String(toStep(slider, value))}
        aria-valuetext=${text}
        @input=${(event: Event) =>
          this.ask(this.lesson, {
            ...this.values,
            [slider.key]: toValue(slider, Number((event.target as HTMLInputElement).value)),
          })}
      />
    </p>`;
  }

  private ask(lesson: string, values: Readonly<Record<string, number>>): void {
    this.dispatchEvent(
      new CustomEvent('lesson-ask', { detail: { lesson, values }, bubbles: true, composed: true }),
    );
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'learn-view': LearnView;
  }
}
