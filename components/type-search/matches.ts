/** A designation that can be picked. */
export interface TypeName {
  readonly name: string;
  /** What it is: "twin triode, high mu". */
  readonly title: string;
  /** Id of the device, where the name is another one for it. */
  readonly device: string;
}

const fold = (text: string): string => text.toUpperCase().replaceAll(/[^A-Z0-9]/g, '');

/** Names that answer to what was typed: exact, then beginning with it, then holding it, then by words of the title. */
export function matches(types: readonly TypeName[], typed: string, most = 8): readonly TypeName[] {
  const wanted = fold(typed);
  const words = typed
    .toLowerCase()
    .split(/\s+/)
    .filter((word) => word.length > 1);
  if (wanted === '') return types.slice(0, most);
  const rank = ({ name, title }: TypeName): number => {
    const folded = fold(name);
    if (folded === wanted) return 0;
    if (folded.startsWith(wanted)) return 1;
    if (folded.includes(wanted)) return 2;
    return words.length > 0 && words.every((word) => title.toLowerCase().includes(word)) ? 3 : 9;
  };
  return types
    .map((type) => ({ type, at: rank(type) }))
    .filter(({ at }) => at < 9)
    .sort(
      (a, b) =>
        a.at - b.at ||
        a.type.name.length - b.type.name.length ||
        a.type.name.localeCompare(b.type.name),
    )
    .slice(0, most)
    .map(({ type }) => type);
}
