/** "Did you mean …?": the known names closest to what was written. */
import { listed } from '../units/title.ts';

/** Known names within about a third of their length of `written`, closest first; letter case and spacing do not count. */
export function nearNames(written: string, known: readonly string[], most = 3): readonly string[] {
  const wanted = folded(written).slice(0, 60);
  const allowed = Math.max(1, Math.floor(wanted.length / 3));
  return known
    .map((name) => ({ name, distance: editDistance(wanted, folded(name)) }))
    .filter(({ name, distance }) => distance <= allowed || isPartOf(wanted, folded(name)))
    .sort((a, b) => a.distance - b.distance)
    .slice(0, most)
    .map(({ name }) => name);
}

/** "Did you mean a, b or c?", or undefined where nothing is near. */
export function didYouMean(written: string, known: readonly string[]): string | undefined {
  const names = nearNames(written, known);
  if (names.length === 0) return undefined;
  return `Did you mean ${orList(names)}?`;
}

/** "a, b or c" */
export const orList = (names: readonly string[]): string => listed(names, 'or');

function folded(name: string): string {
  return name.toLowerCase().replaceAll(/[\s_.-]/g, '');
}

function isPartOf(wanted: string, name: string): boolean {
  return (
    Math.min(wanted.length, name.length) >= 4 && (name.includes(wanted) || wanted.includes(name))
  );
}

/** Optimal string alignment: insert, delete, change and swap of neighbours cost 1. */
function editDistance(a: string, b: string): number {
  let before: number[] = [];
  let row = Array.from({ length: b.length + 1 }, (_, index) => index);
  for (let i = 1; i <= a.length; i += 1) {
    const next = [i];
    for (let j = 1; j <= b.length; j += 1) {
      const change = (row[j - 1] ?? 0) + (a[i - 1] === b[j - 1] ? 0 : 1);
      const swapped = i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1];
      const swap = swapped ? (before[j - 2] ?? 0) + 1 : Infinity;
      next.push(Math.min(change, swap, (row[j] ?? 0) + 1, (next[j - 1] ?? 0) + 1));
    }
    before = row;
    row = next;
  }
  return row[b.length] ?? 0;
}
