import { readFileSync, writeFileSync } from 'node:fs';

const marks = (name: string): [string, string] => [
  `<!-- ${name}:start -->`,
  `<!-- ${name}:end -->`,
];

/** The README with the text between a block's marks replaced. @throws where it has no such block */
export function withBlock(readme: string, name: string, text: string): string {
  const [start, end] = marks(name);
  const [from, to] = [readme.indexOf(start), readme.indexOf(end)];
  if (from < 0 || to < from) throw new Error(`README.md has no block ${name}`);
  return `${readme.slice(0, from + start.length)}\n${text}\n${readme.slice(to)}`;
}

/** Rewrites a block of the README in the working folder. */
export function writeBlock(name: string, text: string): void {
  writeFileSync('README.md', withBlock(readFileSync('README.md', 'utf8'), name, text));
}
