import { MOST, type OwnIssue } from './definition.ts';

/** One statement: its continuation lines joined, comments gone. */
export interface Statement {
  readonly text: string;
  /** One-based line of the circuit where it begins. */
  readonly line: number;
}

/** What stands where a file, a shell or a variable could be reached; no element needs any of them. */
const FORBIDDEN_CHARACTERS: readonly (readonly [RegExp, string])[] = [
  [/[^\x20-\x7e\t]/, 'plain ASCII characters; µ is written u, Ω is left out'],
  [/[$/`\\"'{}[\]<>|&!?@~^#%]/, 'letters, digits and . , ( ) = + - _ *'],
];

/**
 * Splits a circuit into statements: `*` begins a comment line, `;` and ` $` a comment behind a statement, `+` continues the
 * line before. Everything else is kept as it stands, on one line.
 */
export function statementsOf(
  lines: readonly string[],
  note: (issue: OwnIssue) => void,
): Statement[] {
  if (lines.length > MOST.lines) {
    note({
      code: 'too-large',
      message: 'the circuit has too many lines',
      place: 'circuit',
      found: `${lines.length} lines`,
      expected: `at most ${MOST.lines}`,
    });
    return [];
  }
  const found: { text: string; line: number }[] = [];
  lines.forEach((raw, index) => {
    const line = index + 1;
    const wrong = (message: string, what: string, expected: string, hint?: string): void =>
      note({
        code: 'bad-value',
        message,
        place: 'circuit',
        line,
        found: what,
        expected,
        ...(hint === undefined ? {} : { hint }),
      });
    if (raw.length > MOST.lineCharacters) {
      wrong(
        'the line is too long',
        `${raw.length} characters`,
        `at most ${MOST.lineCharacters}; a line that begins with + continues the one before`,
      );
      return;
    }
    if (raw.trimStart().startsWith('*')) return;
    const text = raw.replace(/(?:;|(?:^|\s)\$(?:\s|$)).*$/, '').trim();
    if (text === '') return;
    for (const [pattern, expected] of FORBIDDEN_CHARACTERS) {
      const at = pattern.exec(text);
      if (at === null) continue;
      wrong('a character that is not allowed here', shownCharacter(at[0]), expected);
      return;
    }
    if (!text.startsWith('+')) {
      found.push({ text, line });
      return;
    }
    const before = found.at(-1);
    if (before === undefined)
      wrong('there is no line before this one to continue', quoted(text), 'an element');
    else {
      before.text += ` ${text.slice(1).trim()}`;
      if (before.text.length > 4 * MOST.lineCharacters)
        wrong(
          'the statement is too long',
          `${before.text.length} characters`,
          `at most ${4 * MOST.lineCharacters}`,
        );
    }
  });
  return found;
}

/** Text on one line and in quotes, cut to what fits a message. */
export function quoted(text: string): string {
  return JSON.stringify(text.length > 60 ? `${text.slice(0, 60)}…` : text);
}

function shownCharacter(character: string): string {
  const code = character.codePointAt(0)!.toString(16).toUpperCase().padStart(4, '0');
  return /[\x21-\x7e]/.test(character) ? `"${character}"` : `the character U+${code}`;
}
