import { deleteDB, openDB, type DBSchema, type IDBPDatabase } from 'idb';

/** One set as it is kept: the scenario file's own text, and where the work stood. */
export interface StoredSet {
  readonly id: string;
  readonly title: string;
  readonly text: string;
  /** Grows by one with every save; a save on an older one was overtaken by another tab. */
  readonly revision: number;
  /** Epoch milliseconds. */
  readonly modified: number;
  readonly tube: string;
  readonly socket: string;
}

export interface StoredBench {
  readonly name: string;
  /** The profile as JSON text, as under `bench` in a scenario. */
  readonly text: string;
}

interface Schema extends DBSchema {
  sets: { key: string; value: StoredSet };
  benches: { key: string; value: StoredBench };
  settings: { key: string; value: string };
}

const NAME = 'stagefit';
const VERSION = 1;

export type SaveResult =
  | { readonly ok: true; readonly revision: number }
  /** Another tab saved this set meanwhile. */
  | { readonly ok: false; readonly overtaken: StoredSet };

/** Every call may reject: storage can be blocked, full or broken. The caller says so and offers the file. */
export interface Storage {
  sets(): Promise<StoredSet[]>;
  set(id: string): Promise<StoredSet | undefined>;
  /** Writes when `set.revision` is still the stored one; gives the new revision. */
  save(set: StoredSet): Promise<SaveResult>;
  remove(id: string): Promise<void>;
  benches(): Promise<StoredBench[]>;
  saveBench(bench: StoredBench): Promise<void>;
  setting(key: string): Promise<string | undefined>;
  saveSetting(key: string, value: string): Promise<void>;
}

/** Opens the database; a newer tab that needs to change it gets it. */
export function openStorage(onLost: (why: string) => void): Storage {
  let opened: Promise<IDBPDatabase<Schema>> | undefined;
  const database = (): Promise<IDBPDatabase<Schema>> => {
    opened ??= openDB<Schema>(NAME, VERSION, {
      upgrade(db) {
        db.createObjectStore('sets', { keyPath: 'id' });
        db.createObjectStore('benches', { keyPath: 'name' });
        db.createObjectStore('settings');
      },
      blocked: () =>
        onLost('an older version of this page in another tab holds the storage: close it'),
      blocking: (_current, _blocked, event) => {
        (event.target as IDBDatabase).close();
        onLost('a newer version of this page took the storage: reload this tab');
      },
      terminated: () => {
        opened = undefined;
        onLost('the browser closed the storage');
      },
    });
    // a failed opening is tried again with the next save
    opened.catch(() => {
      opened = undefined;
    });
    return opened;
  };
  return {
    sets: async () => (await database()).getAll('sets'),
    set: async (id) => (await database()).get('sets', id),
    async save(set) {
      const transaction = (await database()).transaction('sets', 'readwrite', {
        durability: 'strict',
      });
      const stored = await transaction.store.get(set.id);
      if (stored !== undefined && stored.revision !== set.revision) {
        await transaction.done;
        return { ok: false, overtaken: stored };
      }
      const revision = set.revision + 1;
      await transaction.store.put({ ...set, revision });
      await transaction.done;
      return { ok: true, revision };
    },
    remove: async (id) => (await database()).delete('sets', id),
    benches: async () => (await database()).getAll('benches'),
    saveBench: async (bench) => {
      await (await database()).put('benches', bench);
    },
    setting: async (key) => (await database()).get('settings', key),
    saveSetting: async (key, value) => {
      await (await database()).put('settings', value, key);
    },
  };
}

export const forgetEverything = (): Promise<void> => deleteDB(NAME);

/** In words, for the line where "saved" stands. */
export function whyNotSaved(error: unknown): string {
  const name = error instanceof DOMException ? error.name : '';
  if (name === 'QuotaExceededError') return 'the browser’s storage is full';
  if (name === 'SecurityError' || name === 'InvalidStateError')
    return 'the browser blocks storage for this page';
  if (name === 'VersionError') return 'the storage belongs to a newer version of this page';
  return `the storage failed (${error instanceof Error ? error.message : String(error)})`;
}
