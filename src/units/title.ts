/** A title within a sentence: its first letter small, unless it begins with an abbreviation. */
export const lower = (title: string): string =>
  /^\p{Lu}[^\p{Ll} ]/u.test(title) ? title : title.charAt(0).toLowerCase() + title.slice(1);

/** At the beginning of a sentence. */
export const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** A title without the remark in parentheses at its end. */
export const plainTitle = (title: string): string => title.replace(/ \([^)]*\)$/, '');

/** "a, b and c", "a, b or c". */
export const listed = (words: readonly string[], word: 'and' | 'or'): string =>
  words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} ${word} ${words.at(-1)}`;
