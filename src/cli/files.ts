import { open, stat } from 'node:fs/promises';
import { Problem } from '../problem.ts';

/** Larger files than this are refused unread: no scenario is that long. */
const LARGEST_BYTES = 8 * 1024 * 1024;

/** Reads a UTF-8 text file; "-" is standard input. Throws `Problem`. */
export async function readTextFile(path: string): Promise<string> {
  if (path === '-') return readStandardInput();
  let bytes: Buffer;
  try {
    const info = await stat(path);
    if (info.isDirectory())
      throw new Problem('unreadable-file', 'this is a folder', {
        file: path,
        expected: 'a scenario file',
        hint: `Did you mean ${path.replace(/\/$/, '')}/scenario.json?`,
      });
    if (info.size > LARGEST_BYTES) throw tooLarge(path, info.size);
    const file = await open(path);
    try {
      bytes = await file.readFile();
    } finally {
      await file.close();
    }
  } catch (cause) {
    if (cause instanceof Problem) throw cause;
    const code = (cause as NodeJS.ErrnoException).code;
    throw new Problem(
      'unreadable-file',
      code === 'ENOENT'
        ? 'there is no such file'
        : `the file cannot be read (${code ?? String(cause)})`,
      { file: path, expected: 'a readable file' },
      { cause },
    );
  }
  return decode(bytes, path);
}

async function readStandardInput(): Promise<string> {
  const parts: Buffer[] = [];
  let size = 0;
  for await (const part of process.stdin) {
    const bytes = Buffer.from(part as Uint8Array);
    size += bytes.length;
    if (size > LARGEST_BYTES) throw tooLarge('standard input', size);
    parts.push(bytes);
  }
  return decode(Buffer.concat(parts), 'standard input');
}

function tooLarge(file: string, bytes: number): Problem {
  return new Problem('too-large', 'the file is too large to be a scenario', {
    file,
    found: `${(bytes / 1e6).toFixed(1)} MB`,
    expected: `at most ${LARGEST_BYTES / 1024 / 1024} MB`,
  });
}

function decode(bytes: Buffer, file: string): string {
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch (cause) {
    throw new Problem(
      'unreadable-file',
      'the file is not UTF-8 text',
      { file, expected: 'UTF-8' },
      { cause },
    );
  }
}
