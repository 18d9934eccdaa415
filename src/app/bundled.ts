/** The scenarios that come with the program, as the files they are. */
const files = import.meta.glob<string>('../../scenarios/*/scenario.json', { query: '?raw', import: 'default', eager: true });

export interface Bundled {
  readonly id: string;
  readonly text: string;
}

export const bundled: readonly Bundled[] = Object.entries(files)
  .map(([path, text]) => ({ id: path.split('/').at(-2)!, text }))
  .sort((a, b) => a.id.localeCompare(b.id));
