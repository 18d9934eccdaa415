import { whyNotSaved, type Storage, type StoredSet } from './storage.ts';

/** What the keeper tells the workbench. */
export interface KeeperEvents {
  saving(): void;
  /** Everything given so far is written. */
  saved(revision: number): void;
  notSaved(why: string): void;
  /** Another tab had saved this set meanwhile: what was here goes on as a set of its own. */
  parted(copy: StoredSet): void;
}

export type Kept = Omit<StoredSet, 'revision' | 'modified'>;

const WAIT_ms = 250;

/**
 * Saves the set on the desk soon after each change. A save on an older revision than the stored one never overwrites:
 * the work goes on as a copy, so that neither tab loses anything.
 */
export class Keeper {
  private revision = 0;
  private waiting: Kept | undefined;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private queue: Promise<void> = Promise.resolve();

  constructor(
    private readonly storage: Storage,
    private readonly events: KeeperEvents,
    private readonly newId: () => string,
  ) {}

  /** Nothing of this tab waits to be written. */
  get clean(): boolean {
    return this.waiting === undefined;
  }

  /** From now on saves follow this revision of the set. */
  follow(revision: number): void {
    clearTimeout(this.timer);
    this.waiting = undefined;
    this.revision = revision;
  }

  save(set: Kept): void {
    this.waiting = set;
    this.events.saving();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.flush(), WAIT_ms);
  }

  /** Writes at once what waits: before the page goes away, before another set is opened. */
  flush(): Promise<void> {
    clearTimeout(this.timer);
    this.queue = this.queue.then(() => this.write());
    return this.queue;
  }

  private async write(): Promise<void> {
    const set = this.waiting;
    if (set === undefined) return;
    try {
      const result = await this.storage.save({
        ...set,
        revision: this.revision,
        modified: Date.now(),
      });
      if (result.ok) {
        this.revision = result.revision;
        // a change that came while this one was written is not saved yet: only its own write says "saved"
        if (this.waiting !== set) return;
        this.waiting = undefined;
        this.events.saved(result.revision);
        return;
      }
      const copy: StoredSet = {
        ...set,
        id: this.newId(),
        title: `${set.title} (other tab)`,
        revision: 0,
        modified: Date.now(),
      };
      const second = await this.storage.save(copy);
      this.revision = second.ok ? second.revision : 0;
      if (this.waiting === set) this.waiting = undefined;
      else if (this.waiting !== undefined) this.waiting = { ...this.waiting, id: copy.id };
      this.events.parted({ ...copy, revision: this.revision });
    } catch (error) {
      // stays in `waiting`: the next change, or the next try, writes it
      this.events.notSaved(whyNotSaved(error));
    }
  }
}
