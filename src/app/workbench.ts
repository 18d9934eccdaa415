import { FileProblem } from '../scenario/check.ts';
import { Problem } from '../problem.ts';
import { bundled } from './bundled.ts';
import { Desk } from './desk.ts';
import { FlowClient, startFlow } from './flow/client.ts';
import type { FromFlow } from './flow/protocol.ts';
import { changed, noHistory, redone, undone } from './history.ts';
import { goodFrom, goodFromFile, tryRead } from './good-document.ts';
import type { JsonObject } from './json-edit.ts';
import { Keeper } from './keeper.ts';
import { COMPUTING, hasReading, START, type GoodDocument, type State } from './state.ts';
import { toShow } from './shown.ts';
import { rememberedSet, rememberSet } from './this-tab.ts';
import {
  openStorage,
  whyNotSaved,
  type Storage,
  type StoredBench,
  type StoredSet,
} from './storage.ts';

/** Progress is shown only once the work is long enough to be waited for. */
const LONG_ms = 300;
const CHANNEL = 'stagefit';
const NO_BENCH =
  'The file names no instrument: an invented example stands in for it. Set up yours under Instrument.';

/**
 * The one owner of the page's state: documents, history, saving, the run behind the answer. Elements show `state` and
 * report what the user did; everything comes through here.
 */
export class Workbench {
  state: State = START;
  private readonly listeners = new Set<() => void>();
  private readonly storage: Storage;
  private readonly keeper: Keeper;
  private readonly flow: FlowClient;
  readonly desk: Desk;
  private readonly channel: BroadcastChannel | undefined;
  private longTimer: ReturnType<typeof setTimeout> | undefined;

  constructor(
    storage: Storage = openStorage((why) => this.set({ saved: { kind: 'notSaved', why } })),
    start = startFlow,
  ) {
    this.storage = storage;
    this.keeper = new Keeper(
      storage,
      {
        saving: () => this.set({ saved: { kind: 'saving' } }),
        saved: (revision) => {
          this.set({ saved: { kind: 'saved', at: Date.now() } });
          this.channel?.postMessage({ id: this.state.setId, revision });
          void this.refreshSets();
        },
        notSaved: (why) => this.set({ saved: { kind: 'notSaved', why } }),
        parted: (copy) => this.parted(copy),
      },
      () => crypto.randomUUID(),
    );
    this.flow = new FlowClient(start, {
      message: (message) => this.onFlow(message),
      crashed: (text, again) =>
        again
          ? this.set({
              notice: `The computation stopped unexpectedly (${text}) and was started again.`,
            })
          : this.set({
              run: {
                kind: 'problem',
                title: 'The computation broke twice on this input',
                text: `${text}. Nothing is lost; change a value or try again.`,
                retry: true,
              },
            }),
    });
    this.desk = new Desk((desk) => this.set({ desk }), start);
    this.flow.warmUp();
    this.channel =
      typeof BroadcastChannel === 'undefined' ? undefined : new BroadcastChannel(CHANNEL);
    this.channel?.addEventListener(
      'message',
      ({ data }: MessageEvent<{ id: string }>) => void this.onOtherTab(data.id),
    );
  }

  subscribe(listener: () => void): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  /** Opens what this tab had open, else what was open last, else the first bundled scenario. */
  async open(): Promise<void> {
    const [first] = bundled;
    // the bundled scenario answers at once; storage may take its time
    let kept: StoredSet | undefined;
    try {
      const id = rememberedSet() ?? (await this.storage.setting('current'));
      if (id !== undefined) kept = await this.storage.set(id);
      this.set({ benches: await this.storage.benches() });
    } catch (error) {
      this.set({ saved: { kind: 'notSaved', why: whyNotSaved(error) } });
    }
    if (kept !== undefined) this.take(kept);
    else if (first !== undefined) this.begin(first.text, first.id);
    await this.refreshSets();
  }

  close(): void {
    this.flow.close();
    this.desk.close();
    this.channel?.close();
  }

  // ---------------------------------------------------------------- edits

  /**
   * Changes the document. What comes out must read without error, else nothing is changed and the message stands at the
   * field (`draft`). Gives whether it was taken.
   */
  edit(
    change: (document: JsonObject) => JsonObject,
    draft?: { readonly key: string; readonly typed: string },
  ): boolean {
    const { good } = this.state;
    if (good === undefined) return false;
    const next = tryRead(change(good.document));
    if ('message' in next) {
      if (draft !== undefined) this.draft(draft.key, draft.typed, next.message);
      else this.set({ notice: next.message });
      return false;
    }
    if (draft !== undefined) this.undraft(draft.key);
    if (next.text === good.text) return true;
    this.set({ good: next, history: changed(this.state.history, good), notice: undefined });
    this.afterChange();
    return true;
  }

  draft(key: string, typed: string, message: string): void {
    this.set({ drafts: { ...this.state.drafts, [key]: { typed, message } } });
  }

  undraft(key: string): void {
    const { [key]: gone, ...drafts } = this.state.drafts;
    if (gone !== undefined) this.set({ drafts });
  }

  undo(): void {
    this.travel(undone);
  }

  redo(): void {
    this.travel(redone);
  }

  private travel(way: typeof undone<GoodDocument>): void {
    const { good, history } = this.state;
    const step = good === undefined ? undefined : way(history, good);
    if (step === undefined) return;
    this.set({ good: step.value, history: step.history, drafts: {} });
    this.afterChange();
  }

  pick(what: { readonly tube?: string; readonly socket?: string }): void {
    this.set({ ...what, drafts: {}, pictures: [] });
    this.afterChange();
  }

  set(part: Partial<State>): void {
    this.state = { ...this.state, ...part };
    for (const listener of this.listeners) listener();
  }

  // ---------------------------------------------------------------- sets and benches

  /** A set that is not stored yet: a bundled scenario, an imported file. */
  begin(text: string, name: string): boolean {
    try {
      const { good, lackedBench } = goodFromFile(text, name);
      this.keeper.follow(0);
      this.show(crypto.randomUUID(), good);
      this.afterChange();
      if (lackedBench) this.set({ notice: NO_BENCH });
      return true;
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      this.set({
        refused: { name, text: error instanceof FileProblem ? error.allText() : error.toText() },
      });
      return false;
    }
  }

  /** Opens a stored set after what is on the desk is written. */
  async openSet(id: string): Promise<void> {
    await this.keeper.flush();
    const kept = await this.storage.set(id);
    if (kept !== undefined) this.take(kept);
  }

  async copySet(id: string): Promise<void> {
    await this.keeper.flush();
    const kept = await this.storage.set(id);
    if (kept === undefined) return;
    await this.storage.save({
      ...kept,
      id: crypto.randomUUID(),
      title: `${kept.title} (copy)`,
      revision: 0,
      modified: Date.now(),
    });
    await this.refreshSets();
  }

  async removeSet(id: string): Promise<void> {
    await this.storage.remove(id);
    await this.refreshSets();
    if (id !== this.state.setId) return;
    const [other] = this.state.sets;
    if (other !== undefined) this.take(other);
    else if (bundled[0] !== undefined) this.begin(bundled[0].text, bundled[0].id);
  }

  async saveBench(bench: StoredBench): Promise<void> {
    try {
      await this.storage.saveBench(bench);
      this.set({ benches: await this.storage.benches() });
    } catch (error) {
      this.set({
        benches: [...this.state.benches.filter(({ name }) => name !== bench.name), bench],
        saved: { kind: 'notSaved', why: whyNotSaved(error) },
      });
    }
  }

  /** Tries again to write what could not be written. */
  saveNow(): Promise<void> {
    this.keep();
    return this.flush();
  }

  readonly flush = (): Promise<void> => this.keeper.flush();

  // ---------------------------------------------------------------- the run

  readonly stop = (): void => this.flow.stop();

  retry(): void {
    this.run();
  }

  private run(): void {
    const { good, tube, socket } = this.state;
    clearTimeout(this.longTimer);
    if (good === undefined || tube === '' || socket === '') {
      this.flow.cancel();
      return;
    }
    // of a tube that was not read nothing is said, on the way neither
    this.set({ run: hasReading(this.state) ? COMPUTING : { kind: 'empty' }, picturesOld: true });
    this.longTimer = setTimeout(() => {
      const { run } = this.state;
      if (run.kind === 'computing') this.set({ run: { ...run, long: true } });
    }, LONG_ms);
    this.flow.run({ kind: 'run', text: good.text, tube, socket });
  }

  private onFlow(message: FromFlow): void {
    const { run } = this.state;
    switch (message.kind) {
      case 'report':
        this.set({ report: toShow(message, this.state.report) });
        if (!message.settled) return;
        clearTimeout(this.longTimer);
        this.set({ run: { kind: hasReading(this.state) ? 'settled' : 'empty' } });
        return;
      case 'progress':
        if (run.kind === 'computing')
          this.set({ run: { ...run, what: message.what, done: message.done, all: message.all } });
        return;
      case 'pictures':
        this.set({ pictures: message.pictures, picturesOld: false });
        return;
      case 'stopped':
        clearTimeout(this.longTimer);
        if (run.kind === 'computing') this.set({ run: { kind: 'stopped' } });
        return;
      case 'problem':
        clearTimeout(this.longTimer);
        this.set({
          run: { kind: 'problem', title: message.title, text: message.text, retry: false },
        });
        return;
      case 'done':
        return;
    }
  }

  // ---------------------------------------------------------------- inside

  private take(kept: StoredSet): void {
    try {
      const good = goodFrom(kept.text, kept.title);
      this.keeper.follow(kept.revision);
      this.show(kept.id, good, kept.tube, kept.socket);
      this.set({ saved: { kind: 'saved', at: kept.modified } });
      this.run();
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      this.flow.cancel();
      this.keeper.follow(kept.revision);
      this.set({
        setId: kept.id,
        good: undefined,
        report: undefined,
        pictures: [],
        broken: { title: kept.title, text: kept.text, why: error.toText() },
      });
    }
    this.remember();
  }

  private show(setId: string, good: GoodDocument, tube?: string, socket?: string): void {
    this.set({
      setId,
      good,
      broken: undefined,
      refused: undefined,
      history: noHistory,
      drafts: {},
      report: undefined,
      pictures: [],
      tube: tube ?? '',
      socket: socket ?? '',
    });
    this.settleNames();
  }

  /** The tube and socket shown exist; the first ones where they do not. */
  private settleNames(): void {
    const { good, tube, socket } = this.state;
    if (good === undefined) return;
    const { tubes, sockets } = good.scenario;
    this.set({
      tube: tubes.some(({ id }) => id === tube) ? tube : (tubes[0]?.id ?? ''),
      socket: sockets.some(({ id }) => id === socket) ? socket : (sockets[0]?.id ?? ''),
    });
  }

  private afterChange(): void {
    this.settleNames();
    this.keep();
    this.run();
  }

  private keep(): void {
    const { setId, good, tube, socket } = this.state;
    if (good === undefined) return;
    this.keeper.save({ id: setId, title: good.scenario.title, text: good.text, tube, socket });
    this.remember();
  }

  private remember(): void {
    rememberSet(this.state.setId);
    this.storage.saveSetting('current', this.state.setId).catch(() => undefined);
  }

  private parted(copy: StoredSet): void {
    this.set({
      setId: copy.id,
      saved: this.keeper.clean ? { kind: 'saved', at: copy.modified } : { kind: 'saving' },
      notice: `This set was changed in another tab. What you have here goes on as “${copy.title}”; the other is kept under its own name.`,
    });
    this.remember();
    void this.refreshSets();
  }

  private async onOtherTab(id: string): Promise<void> {
    await this.refreshSets();
    if (id !== this.state.setId || !this.keeper.clean) return;
    const kept = await this.storage.set(id);
    if (kept === undefined || kept.text === this.state.good?.text) {
      if (kept !== undefined) this.keeper.follow(kept.revision);
      return;
    }
    this.take({ ...kept, tube: this.state.tube, socket: this.state.socket });
    this.set({ notice: 'This set was changed in another tab and is shown as it is now.' });
  }

  private async refreshSets(): Promise<void> {
    try {
      const sets = await this.storage.sets();
      this.set({ sets: sets.sort((a, b) => b.modified - a.modified) });
    } catch (error) {
      this.set({ saved: { kind: 'notSaved', why: whyNotSaved(error) } });
    }
  }
}
