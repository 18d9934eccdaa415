import { describe, expect, test } from 'vitest';
import { parseRaw } from '../../src/simulation/raw.ts';

/** A raw file as the ngspice manual describes it: header lines, "Binary:", then points of little-endian doubles. */
function rawFile(
  flags: 'real' | 'complex',
  names: readonly string[],
  rows: readonly (readonly number[])[],
): Uint8Array {
  const head = [
    'Title: * stagefit r ~1',
    'Date: today',
    'Plotname: DC transfer characteristic',
    `Flags: ${flags}`,
    `No. Variables: ${names.length}`,
    `No. Points: ${rows.length}`,
    'Variables:',
    ...names.map((name, i) => `\t${i}\t${name}\tvoltage`),
    'Binary:\n',
  ].join('\n');
  const values = rows.flat();
  const bytes = new Uint8Array(head.length + values.length * 8);
  bytes.set(new TextEncoder().encode(head));
  const view = new DataView(bytes.buffer, head.length);
  values.forEach((value, i) => view.setFloat64(i * 8, value, true));
  return bytes;
}

describe('the raw file', () => {
  test('holds vectors by lower-case name', () => {
    const [plot] = parseRaw(
      rawFile(
        'real',
        ['v(sweep)', 'V(Out)'],
        [
          [0, 5],
          [1, -6.25],
        ],
      ),
    );
    expect(plot).toMatchObject({
      title: '* stagefit r ~1',
      plotName: 'DC transfer characteristic',
      complex: false,
      points: 2,
      scale: 'v(sweep)',
    });
    expect([...plot!.vectors['v(out)']!]).toEqual([5, -6.25]);
  });

  test('complex vectors are interleaved', () => {
    const [plot] = parseRaw(
      rawFile(
        'complex',
        ['frequency', 'v(1)'],
        [
          [10, 0, 1, 2],
          [20, 0, 3, 4],
        ],
      ),
    );
    expect([...plot!.vectors['v(1)']!]).toEqual([1, 2, 3, 4]);
  });

  test('several plots follow one another, whatever bytes the first ends with', () => {
    const one = rawFile('real', ['v(1)'], [[-6.25]]);
    const both = new Uint8Array([...one, ...one]);
    expect(parseRaw(both)).toHaveLength(2);
  });

  test('a file that is cut off is an error, not a shorter answer', () => {
    const whole = rawFile(
      'real',
      ['v(1)', 'v(2)'],
      [
        [1, 2],
        [3, 4],
      ],
    );
    expect(() => parseRaw(whole.subarray(0, whole.length - 1))).toThrow(/cut off, 31 of 32 bytes/);
    expect(() => parseRaw(whole.subarray(0, 40))).toThrow(/without its binary part/);
  });
});
