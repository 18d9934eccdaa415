import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { Keeper, type KeeperEvents } from '../../src/app/keeper.ts';
import type { Storage, StoredSet } from '../../src/app/storage.ts';

/** Storage in memory, with the same rule of revisions as the real one. */
class Memory {
  readonly sets = new Map<string, StoredSet>();
  full = false;
  async save(set: StoredSet) {
    if (this.full) throw new DOMException('full', 'QuotaExceededError');
    const stored = this.sets.get(set.id);
    if (stored !== undefined && stored.revision !== set.revision)
      return { ok: false as const, overtaken: stored };
    this.sets.set(set.id, { ...set, revision: set.revision + 1 });
    return { ok: true as const, revision: set.revision + 1 };
  }
}

const SET = { id: 'a', title: 'set', text: '1', tube: '', socket: '' };

function tab(memory: Memory): { keeper: Keeper; told: string[] } {
  const told: string[] = [];
  const events: KeeperEvents = {
    saving: () => told.push('saving'),
    saved: (revision) => told.push(`saved ${revision}`),
    notSaved: (why) => told.push(`not saved: ${why}`),
    parted: (copy) => told.push(`parted ${copy.id} ${copy.text}`),
  };
  let copies = 0;
  return {
    keeper: new Keeper(memory as unknown as Storage, events, () => `copy ${(copies += 1)}`),
    told,
  };
}

beforeEach(() => vi.useFakeTimers());
afterEach(() => vi.useRealTimers());

test('changes in quick order are written once, within a second', async () => {
  const memory = new Memory();
  const { keeper, told } = tab(memory);
  for (const text of ['1', '2', '3']) keeper.save({ ...SET, text });
  expect(keeper.clean).toBe(false);
  await vi.advanceTimersByTimeAsync(1000);
  expect(memory.sets.get('a')).toMatchObject({ text: '3', revision: 1 });
  expect(told.filter((line) => line.startsWith('saved'))).toEqual(['saved 1']);
  expect(keeper.clean).toBe(true);
});

test('“saved” is not said while a change that came during the writing waits', async () => {
  const memory = new Memory();
  const { keeper, told } = tab(memory);
  const write = memory.save.bind(memory);
  let slow = true;
  memory.save = async (set) => {
    if (slow) keeper.save({ ...SET, text: 'later' });
    slow = false;
    return write(set);
  };
  keeper.save({ ...SET, text: 'sooner' });
  await keeper.flush();
  expect(memory.sets.get('a')!.text).toBe('sooner');
  expect(told.at(-1)).toBe('saving');
  await vi.advanceTimersByTimeAsync(1000);
  expect(memory.sets.get('a')).toMatchObject({ text: 'later', revision: 2 });
  expect(told.filter((line) => line.startsWith('saved'))).toEqual(['saved 2']);
});

test('a tab that was overtaken writes a copy and goes on with it; the other’s work is untouched', async () => {
  const memory = new Memory();
  const [one, two] = [tab(memory), tab(memory)];
  one.keeper.save({ ...SET, text: 'one' });
  await one.keeper.flush();
  two.keeper.follow(1);
  one.keeper.save({ ...SET, text: 'one more' });
  await one.keeper.flush();
  two.keeper.save({ ...SET, text: 'two' });
  await two.keeper.flush();
  expect(two.told.at(-1)).toBe('parted copy 1 two');
  expect(memory.sets.get('a')!.text).toBe('one more');
  two.keeper.save({ ...SET, id: 'copy 1', text: 'two more' });
  await two.keeper.flush();
  expect(memory.sets.get('copy 1')!.text).toBe('two more');
});

test('full storage is said, the work stays, and is written when there is room', async () => {
  const memory = new Memory();
  const { keeper, told } = tab(memory);
  memory.full = true;
  keeper.save(SET);
  await keeper.flush();
  expect(told.at(-1)).toBe('not saved: the browser’s storage is full');
  expect(keeper.clean).toBe(false);
  memory.full = false;
  await keeper.flush();
  expect(told.at(-1)).toBe('saved 1');
});
