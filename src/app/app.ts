import { LitElement, html, nothing } from 'lit';
import { customElement, query, state } from 'lit/decorators.js';
import type { AnswerPlace, Question } from '../../components/answer-place/answer-place.ts';
import '../../components/answer-place/answer-place.ts';
import '../../components/instrument-setup/instrument-setup.ts';
import '../../components/keys-help/keys-help.ts';
import { base } from '../../components/look/base.styles.ts';
import '../../components/sets-view/sets-view.ts';
import type { SocketPlace } from '../../components/socket-place/socket-place.ts';
import '../../components/socket-place/socket-place.ts';
import { STATUS_WORD } from '../../components/status-mark/status-mark.ts';
import type { TubePlace } from '../../components/tube-place/tube-place.ts';
import '../../components/tube-place/tube-place.ts';
import { CAUTIONS } from '../report/cautions.ts';
import { warmUpPicture } from '../report/picture-warm-up.ts';
import { EXAMPLE_PROFILE } from '../wear/profile.ts';
import { NOTICED } from '../wear/readings.ts';
import { ACTIONS, keepAsFile, presetsFor } from './actions.ts';
import { styles } from './app.styles.ts';
import { bundled } from './bundled.ts';
import { circuitOf, drawnTubes, stageFor, stages, typeInfo, typeNames } from './catalogue.ts';
import { deskView, fetchElements, jobFor } from './desk-view.ts';
import { listenToKeys } from './keys.ts';
import { hasReading, socketOf, tubeOf, type State, type View } from './state.ts';
import { leakOf, newLeakage, ownReport, titleOf, voltsOf, wrongLimits } from './shown.ts';
import { isDark, setTheme } from './theme.ts';
import { leakageCells, PATHS, readingRows } from './tube-view.ts';
import { Workbench } from './workbench.ts';
import { capital } from '../units/title.ts';

const QUESTIONS: Readonly<Record<(typeof NOTICED)[number], string>> = {
  changesWhenTapped: 'Changes when tapped',
  comesAndGoesWithHeat: 'Comes and goes with heat',
  blueGlow: 'Blue glow between the electrodes',
  shelfStock: 'Unused from the shelf',
  heldCutOff: 'Held cut off for years',
};

const VIEWS: readonly (readonly [View, string])[] = [
  ['bench', 'Bench'],
  ['in-set', 'In the set'],
  ['accept', 'Accepts'],
  ['map', 'Map'],
  ['place', 'Place'],
  ['learn', 'Learn'],
  ['sets', 'Sets'],
  ['instrument', 'Instrument'],
  ['keys', 'Keys'],
];

/** Their answers bring their own cautions onto the printed sheet. */
const HAS_CAUTIONS: ReadonlySet<View> = new Set(['bench', 'in-set', 'accept']);

/** The page: what is shown of the workbench's state, and what the user does handed to it. */
@customElement('stagefit-app')
export class StagefitApp extends LitElement {
  static override styles = [base, styles];

  @state() private shown: State;
  @state() private dark = isDark();
  @state() private singleKeys = true;
  private picturesReady = false;
  @query('tube-place') private tubePlace!: TubePlace | null;
  @query('socket-place') private socketPlace!: SocketPlace | null;
  @query('answer-place') private answerPlace!: AnswerPlace | null;

  readonly bench = new Workbench();
  private readonly types = typeNames();
  private unsubscribe: (() => void) | undefined;
  private stopKeys: (() => void) | undefined;

  constructor() {
    super();
    this.shown = this.bench.state;
    for (const [name, action] of Object.entries(ACTIONS))
      this.addEventListener(name, (event) =>
        action(this.bench, (event as CustomEvent).detail as never),
      );
    this.addEventListener(
      'single-keys',
      (event) => (this.singleKeys = (event as CustomEvent<{ on: boolean }>).detail.on),
    );
  }

  override connectedCallback() {
    super.connectedCallback();
    this.unsubscribe = this.bench.subscribe(() => (this.shown = this.bench.state));
    this.stopKeys = listenToKeys({
      single: () => this.singleKeys && this.shown.view === 'bench',
      place: (n) => this.toPlace(n),
      stamp: () => this.tubePlace?.stamp(),
      search: () => this.tubePlace?.focusSearch(),
      step: (by) => this.stepSocket(by),
      undo: () => this.bench.undo(),
      redo: () => this.bench.redo(),
      help: () => this.go('keys'),
    });
    addEventListener('hashchange', this.onRoute);
    addEventListener('pagehide', this.flush);
    document.addEventListener('visibilitychange', this.flush);
    this.onRoute();
    void this.bench.open();
  }

  override disconnectedCallback() {
    super.disconnectedCallback();
    this.unsubscribe?.();
    this.stopKeys?.();
    removeEventListener('hashchange', this.onRoute);
    removeEventListener('pagehide', this.flush);
    document.removeEventListener('visibilitychange', this.flush);
    this.bench.close();
  }

  override updated() {
    const { shown } = this;
    const title = shown.good?.scenario.title;
    document.title = title === undefined ? 'Stagefit' : `${title} – Stagefit`;
    const job = jobFor(shown);
    if (job !== undefined) this.bench.desk.ask(job);
    // charts wait until there is something to draw: the first answer comes without them
    if (!this.picturesReady && (shown.report?.draws ?? 0) > 0) {
      this.picturesReady = true;
      void import('../../components/curve-chart/curve-chart.ts');
    }
  }

  override render() {
    const { shown } = this;
    return html`<header class="top">
        <button class="skip" type="button" @click=${this.skip}>To the answer</button>
        <span class="mark">Stagefit</span>
        <h1 class="doc">${shown.good?.scenario.title ?? shown.broken?.title ?? ''}</h1>
        <nav aria-label="Places">
          ${VIEWS.map(([view, name]) => html`<a href="#${view}" aria-current=${shown.view === view ? 'page' : nothing}>${name}</a>`)}
        </nav>
        <span class="tools">
          ${this.saved()}
          <button
            type="button"
            title="Ctrl+Z"
            ?disabled=${shown.history.past.length === 0}
            @click=${() => this.bench.undo()}
          >
            Undo
          </button>
          <button
            type="button"
            title="Ctrl+Shift+Z"
            ?disabled=${shown.history.future.length === 0}
            @click=${() => this.bench.redo()}
          >
            Redo
          </button>
          <button type="button" @click=${() => print()}>Print</button>
          <button
            type="button"
            aria-label=${this.dark ? 'Day colours' : 'Night colours'}
            @click=${this.toggleTheme}
          >
            ${this.dark ? 'Day' : 'Night'}
          </button>
        </span>
      </header>
      ${
        shown.notice === undefined
          ? nothing
          : html`<p class="notice" role="status">
              ${shown.notice}
              <button type="button" @click=${() => this.bench.set({ notice: undefined })}>
                close
              </button>
            </p>`
      }
      <main>
        ${this.view()}
        <p class="paper">
          ${shown.good?.scenario.title ?? ''}; printed
          ${new Date().toLocaleDateString('en', { dateStyle: 'long' })}. Stagefit.
          ${HAS_CAUTIONS.has(shown.view) ? '' : CAUTIONS.join(' ')}
        </p>
      </main>
      ${this.dock()}`;
  }

  private view() {
    const { shown } = this;
    if (shown.view === 'sets')
      return html`<sets-view
        .sets=${shown.sets.map(({ id, title, modified }) => ({ id, title, when: new Date(modified).toLocaleString('en', { dateStyle: 'medium', timeStyle: 'short' }) }))}
        .current=${shown.setId}
        .heading=${shown.good?.scenario.title ?? ''}
        .socket=${shown.socket}
        .stages=${stages().map(({ id, title }) => ({ id, title }))}
        .examples=${bundled.map(({ id, text }) => ({ id, title: titleOf(text) }))}
        .refused=${shown.refused}
      ></sets-view>`;
    if (shown.view === 'instrument')
      return html`<instrument-setup
        .profile=${shown.good?.scenario.bench ?? EXAMPLE_PROFILE}
        .refused=${shown.drafts['instrument']?.message ?? ''}
      ></instrument-setup>`;
    const desk = deskView(shown);
    if (desk !== undefined) return desk;
    if (shown.view === 'keys') return html`<keys-help .single=${this.singleKeys}></keys-help>`;
    if (shown.broken !== undefined)
      return html`<div role="alert">
        <h2>This set cannot be read any more</h2>
        <p>Its text is untouched. ${shown.broken.why}</p>
        <p>
          <button class="act" type="button" @click=${() => keepAsFile(this.bench)}>
            Keep its text as a file
          </button>
          <a href="#sets">other sets</a>
        </p>
      </div>`;
    return shown.good === undefined ? html`<p class="plain">Opening…</p>` : this.benchView();
  }

  private benchView() {
    const { shown } = this;
    const { scenario } = shown.good!;
    const [tube, socket] = [tubeOf(shown), socketOf(shown)];
    const stage = stageFor(socket);
    const mine = ownReport(shown);
    const info = typeInfo(tube?.type ?? '');
    const benches = [
      ...new Set([
        scenario.bench.name,
        ...shown.benches.map(({ name }) => name),
        EXAMPLE_PROFILE.name,
      ]),
    ];
    const fresh = mine !== undefined && shown.run.kind !== 'computing';
    return html`<div class="bench">
      <tube-place
        id="tube"
        .tubes=${scenario.tubes}
        .tube=${tube?.id ?? ''}
        .types=${this.types}
        .type=${tube?.type ?? ''}
        .typeTitle=${info.title}
        .sections=${info.sections.map(({ id }) => id)}
        .section=${tube?.section ?? ''}
        .benches=${benches}
        .bench=${scenario.bench.name}
        .rows=${tube === undefined ? [] : readingRows(tube.readings, scenario.bench, shown.drafts)}
        .leakage=${tube === undefined ? [] : leakageCells(tube.readings, shown.drafts)}
        .newLeakage=${newLeakage(shown)}
        .paths=${PATHS}
        .path=${tube?.readings.leakage?.[0]?.path?.find((one) => one !== 'grid' && one !== 'signalGrid') ?? ''}
        .nameWrong=${shown.drafts['tube-name']?.message ?? ''}
        .switchedOn=${shown.clocks[shown.tube]}
        .warmUp=${warmUpPicture(tube?.readings.leakage, scenario.bench, mine?.wear)}
        .sentences=${mine?.wearSentences ?? []}
        .wear=${mine?.wear ?? []}
      ></tube-place>
      <socket-place
        id="socket"
        .sockets=${scenario.sockets.map(({ id, title, tube: takes }) => ({ id, title: title ?? '', takes }))}
        .socket=${socket?.id ?? ''}
        .stageTitle=${stage?.title ?? ''}
        .specs=${stage?.values ?? {}}
        .values=${socket?.values ?? {}}
        .circuit=${tube === undefined || socket === undefined ? undefined : circuitOf(tube, socket)}
        .netlist=${socket?.own?.lines.join('\n')}
        .volts=${voltsOf(shown, mine)}
        .leak=${mine === undefined || !hasReading(shown) ? undefined : leakOf(mine, tube?.readings.leakage?.[0]?.path)}
        .tubes=${tube === undefined || socket === undefined ? [] : drawnTubes(scenario, tube, socket)}
        .fresh=${fresh}
        .nameWrong=${shown.drafts['socket-name']?.message ?? ''}
        .takesWrong=${shown.drafts['socket-takes'] ?? { message: '' }}
        .presets=${[{ id: 'default', title: 'the stage’s own values' }, ...presetsFor(this.bench)]}
        .stages=${stages().map(({ id, title }) => ({ id, title }))}
      ></socket-place>
      <answer-place
        id="answer"
        tabindex="-1"
        .report=${mine}
        .state=${shown.run}
        .questions=${NOTICED.map((id): Question => ({ id, text: QUESTIONS[id], answer: tube?.readings.noticed?.includes(id) === true }))}
        .ownLimits=${Object.keys(socket?.limits ?? {})}
        .wrongLimits=${wrongLimits(shown)}
      ></answer-place>
      <section
        class="figs ${shown.picturesOld ? 'old' : ''}"
        aria-label="The pictures that explain"
        aria-busy=${shown.picturesOld}
      >
        ${shown.pictures.map((picture, i) => html`<curve-chart .picture=${picture} .label=${`Fig. ${i + 1}`}></curve-chart>`)}
      </section>
    </div>`;
  }

  private saved() {
    const { saved } = this.shown;
    if (saved.kind === 'notSaved')
      return html`<span class="saved not" role="alert"
        >Not saved: ${saved.why}.
        <button type="button" @click=${() => keepAsFile(this.bench)}>keep a file</button>
        <button type="button" @click=${() => void this.bench.saveNow()}>try again</button></span
      >`;
    const at =
      saved.kind === 'saved'
        ? new Date(saved.at).toLocaleTimeString('en-GB', { hour: '2-digit', minute: '2-digit' })
        : '';
    return html`<span class="saved" data-saved=${saved.kind}
      >${saved.kind === 'saved' ? `saved ${at}` : 'saving'}</span
    >`;
  }

  private dock() {
    const { run, view } = this.shown;
    const report = ownReport(this.shown);
    if (view !== 'bench' || report === undefined || run.kind === 'empty') return nothing;
    const word = STATUS_WORD[report.verdict];
    return html`<footer>
      <button class="dock" type="button" @click=${this.skip}>
        <status-mark .status=${report.verdict}></status-mark>
        <span><b>${capital(word)}</b><i>${report.decidedBy.sentence}</i></span>
      </button>
    </footer>`;
  }

  private toPlace(n: 1 | 2 | 3): void {
    if (n === 1) this.tubePlace?.focus();
    else if (n === 2) this.socketPlace?.focus();
    else this.answerPlace?.focus();
  }

  private stepSocket(by: 1 | -1): void {
    const sockets = this.shown.good?.scenario.sockets ?? [];
    const at = sockets.findIndex(({ id }) => id === this.shown.socket);
    const next = sockets[at + by];
    if (next !== undefined) this.bench.pick({ socket: next.id });
  }

  private go(view: View): void {
    location.hash = view;
  }

  private readonly skip = (event: Event): void => {
    event.preventDefault();
    if (this.shown.view !== 'bench') this.go('bench');
    void this.updateComplete.then(() => {
      this.answerPlace?.scrollIntoView();
      this.answerPlace?.focus();
    });
  };

  private readonly onRoute = (): void => {
    const view = VIEWS.find(([id]) => id === location.hash.slice(1))?.[0] ?? 'bench';
    const from = this.shown.view;
    fetchElements(view);
    this.bench.set({ view, refused: undefined });
    if (view === 'bench' && from !== view) void this.arrive(from);
  };

  /** What was pressed to come here is gone: the work goes on at the tube of another set, or at the answer that was picked. */
  private async arrive(from: View): Promise<void> {
    await this.updateComplete;
    const place = { sets: this.tubePlace, instrument: this.tubePlace, place: this.answerPlace }[
      from as string
    ];
    await place?.updateComplete;
    if (this.shadowRoot?.activeElement === null) place?.focus();
  }

  private readonly flush = (): void => void this.bench.flush();

  private readonly toggleTheme = (): void => {
    this.dark = !this.dark;
    setTheme(this.dark);
  };
}

declare global {
  interface HTMLElementTagNameMap {
    'stagefit-app': StagefitApp;
  }
}
