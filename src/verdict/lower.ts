/** A title within a sentence: its first letter small, unless it begins with an abbreviation. */
export const lower = (title: string): string =>
  /^\p{Lu}[^\p{Ll} ]/u.test(title) ? title : title.charAt(0).toLowerCase() + title.slice(1);
