/** One plot of an ngspice raw file, binary form. */
export interface RawPlot {
  /** The netlist's title line. */
  readonly title: string;
  /** "Operating Point", "DC transfer characteristic", "AC Analysis", "Transient Analysis", … */
  readonly plotName: string;
  readonly complex: boolean;
  readonly points: number;
  /** Name of the sweep's vector, the file's first. */
  readonly scale: string;
  /** Lower-case names. Complex values are interleaved: real, imaginary, real, … */
  readonly vectors: Readonly<Record<string, Float64Array>>;
}

const BINARY = new TextEncoder().encode('Binary:\n');

/**
 * Reads the plots of a raw file as `write` and `-r` make it (8-byte little-endian reals).
 * All vectors of a plot share one buffer, so that a worker can hand it over whole.
 * Throws on a file that is cut off or has no binary part.
 */
export function parseRaw(file: Uint8Array): RawPlot[] {
  const plots: RawPlot[] = [];
  const latin = new TextDecoder('latin1');
  let offset = 0;
  while (offset < file.length) {
    const data = indexOf(file, BINARY, offset);
    if (data < 0) throw new Error('raw file: a plot without its binary part');
    const head = latin.decode(file.subarray(offset, data));
    const field = (name: string): string =>
      new RegExp(`^${name}:[ \\t]*(.*?)\\s*$`, 'm').exec(head)?.[1] ?? '';
    const complex = field('Flags').includes('complex');
    const count = Number(field('No\\. Variables'));
    const points = Number(field('No\\. Points'));
    const names = [...head.slice(head.indexOf('Variables:\n')).matchAll(/^\s*\d+\t(\S+)\t/gm)].map(
      (match) => match[1]!.toLowerCase(),
    );
    if (names.length !== count)
      throw new Error(`raw file: ${count} vectors announced, ${names.length} named`);
    const width = complex ? 2 : 1;
    const start = data + BINARY.length;
    const bytes = count * points * width * 8;
    if (start + bytes > file.length)
      throw new Error(`raw file: cut off, ${file.length - start} of ${bytes} bytes`);
    plots.push({
      title: field('Title'),
      plotName: field('Plotname'),
      complex,
      points,
      scale: names[0] ?? '',
      vectors: columns(
        new DataView(file.buffer, file.byteOffset + start, bytes),
        names,
        points,
        width,
      ),
    });
    offset = start + bytes;
    while (file[offset] === 10) offset++;
  }
  return plots;
}

function columns(
  rows: DataView,
  names: readonly string[],
  points: number,
  width: number,
): Record<string, Float64Array> {
  const length = points * width;
  const all = new Float64Array(length * names.length);
  const vectors: Record<string, Float64Array> = {};
  names.forEach((name, column) => {
    const vector = all.subarray(column * length, (column + 1) * length);
    for (let i = 0; i < length; i++) {
      const point = Math.floor(i / width);
      const cell = (point * names.length + column) * width + (i % width);
      vector[i] = rows.getFloat64(cell * 8, true);
    }
    vectors[name] = vector;
  });
  return vectors;
}

function indexOf(bytes: Uint8Array, wanted: Uint8Array, from: number): number {
  for (let at = bytes.indexOf(wanted[0]!, from); at >= 0; at = bytes.indexOf(wanted[0]!, at + 1))
    if (wanted.every((byte, i) => bytes[at + i] === byte)) return at;
  return -1;
}
