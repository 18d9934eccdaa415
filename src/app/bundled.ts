/** The scenarios that come with the program, as the files they are. */
const files = import.meta.glob<string>('../../scenarios/*/scenario.json', {
  query: '?raw',
  import: 'default',
  eager: true,
});

export interface Bundled {
  readonly id: string;
  readonly text: string;
}

/** Shown first: an example with a leak that one socket forgives and another does not. */
const FIRST = 'table-radio';

export const bundled: readonly Bundled[] = Object.entries(files)
  .map(([path, text]) => ({ id: path.split('/').at(-2)!, text }))
  .sort((a, b) => Number(b.id === FIRST) - Number(a.id === FIRST) || a.id.localeCompare(b.id));
