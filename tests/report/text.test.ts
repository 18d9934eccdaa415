import { describe, expect, test } from 'vitest';
import { reportsText, reportText, wrap } from '../../src/report/text.ts';
import type { Judged, Report, Status } from '../../src/types.ts';

/** Invented reports whose numbers mean nothing: what the words do with them. */
const judged = (id: string, status: Status, part: Partial<Judged> = {}): Judged => ({
  id,
  title: `Title of ${id}`,
  unit: 'V',
  value: 2,
  low: 1.5,
  high: 3.5,
  newTube: 1,
  margin: 0,
  status,
  reason: `why ${id}.`,
  limit: { text: `${id} <= 3`, sense: 'atMost', bound: 3, reason: 'because', source: 'a book' },
  ...part,
});
const LEAK = 'The grid sits at −1.3 V instead of −4 V.';
const CATHODE = 'The cathode has 42 % of the area of a new cathode (90 %: 35 % to 53 %).';

const report = (id: string, part: Partial<Report> = {}): Report => ({
  format: 'stagefit-report',
  version: 1,
  engine: 'engine',
  seed: 1,
  draws: 64,
  method: 'phase copies',
  socket: { id: 'V3', title: 'a socket', stage: 'rc-amplifier', stageTitle: 'AGC stage' },
  tube: { id, type: '12AX7', section: '1' },
  companions: [],
  verdict: 'marginal',
  decidedBy: { measure: 'shift', sentence: `Too near. ${LEAK}` },
  circuitFault: null,
  measures: [
    judged('shift', 'marginal', { cause: LEAK }),
    judged('line', 'marginal', { cause: LEAK }),
    judged('range', 'marginal', { cause: LEAK }),
    judged('gain', 'unsuitable', { cause: CATHODE, low: 4, high: 5 }),
    judged('doubted', 'marginal', { cause: CATHODE, low: 1, high: 2.9 }),
    judged('a name that is far longer than any column has room for', 'usable', {
      unit: '',
      low: 0.25,
      high: 0.75,
    }),
    judged('rating', 'unjudged', { limit: null, low: 12, high: 12, value: 12, newTube: 12 }),
  ],
  wear: [],
  wearSentences: [CATHODE],
  paths: (['screen', 'plate', 'cathode'] as const).map((other) => ({
    between: ['grid', other] as const,
    title: `grid to ${other}`,
    weight: 0.3,
    why: 'neighbours',
    status: other === 'plate' ? ('unsuitable' as const) : ('usable' as const),
    sentence: `So by the ${other}.`,
  })),
  wouldChange: [],
  notJudged: ['hiss'],
  cautions: ['Take care.'],
  warnings: ['A warning.'],
  circuit: { title: 'c', parts: [] },
  nodeVolts: { newTube: {}, thisTube: {} },
  ...part,
});

describe('a report in words', () => {
  const lines = reportText(report('tin 1')).split('\n');
  const flat = lines.join(' ').replaceAll(/\s+/g, ' ');

  test('has at most 80 columns, whole titles and a space between any two figures', () => {
    for (const line of lines) expect(Array.from(line).length, line).toBeLessThanOrEqual(80);
    const words = lines
      .slice(lines.findIndex((line) => line.includes('Title of a name')))
      .slice(0, 4)
      .join(' ');
    for (const word of 'a name that is far longer than any column has room for'.split(' '))
      expect(words).toContain(word);
    expect(flat).toMatch(/ 2 0\.25 … 0\.75 /);
  });

  test('the verdict comes first, what decides it next', () => {
    expect(lines[0]).toBe('tin 1 (12AX7, section 1) in V3: a socket (AGC stage)');
    expect(lines[2]).toBe('◆ MARGINAL');
    expect(lines[3]).toContain('Too near.');
  });

  test('says each cause once, with all that comes of it; what the table does not show says why itself', () => {
    expect(flat.split(LEAK)).toHaveLength(2);
    expect(flat).toContain('For the same reason marginal: title of line; title of range.');
    expect(flat).toContain(`Unsuitable: title of gain. ${CATHODE}`);
    expect(flat).toContain('Marginal: why doubted.');
  });

  test('leaves out a rating among the measures, and tells the paths that are alike together', () => {
    expect(flat).not.toContain('Title of rating');
    expect(flat).toContain('Unsuitable by grid to plate (30 %), neighbours. So by the plate.');
    expect(flat).toContain('Usable by grid to screen (30 %), grid to cathode (30 %).');
  });
});

test('a leakage that nobody read takes no path', () => {
  const unread = { id: 'gridLeak', title: 'Leakage', unit: 'ohm', known: 'unread' } as const;
  const text = reportText(
    report('tin 1', { wear: [{ ...unread, value: null, low: 1e6, high: 1e9 }] }),
  );
  expect(text).not.toMatch(/one path|[Uu]sable by/);
});

test('what would change it: what was found, or that nothing was; nothing of a tube that holds', () => {
  const nothing = /What would change it\n {2}No single change/;
  expect(reportText(report('tin 1'))).toMatch(nothing);
  const found = {
    sentence: 'With 430 kΩ it is usable.',
    key: 'r',
    from: 1e6,
    to: 430e3,
    verdict: 'usable' as const,
  };
  expect(reportText(report('tin 1', { wouldChange: [found] }))).toMatch(
    /What would change it\n {2}With 430.kΩ/,
  );
  const fault = { inSoundCircuit: 'usable', sentence: 'A leak.' } as Report['circuitFault'];
  expect(reportText(report('tin 1', { circuitFault: fault, wouldChange: [found] }))).toMatch(
    /What would change it\n {2}First mend the circuit: .*\n {2}With 430.kΩ/,
  );
  for (const part of [{ verdict: 'usable' as const }, { draws: 0 }])
    expect(reportText(report('tin 1', part))).not.toContain('What would change it');
});

test('several reports: first every verdict, last and once the cautions; one report has no such list', () => {
  const text = reportsText([
    report('tin 1'),
    report('tin 2', { verdict: 'usable' }),
    report('tin 3', { verdict: 'failed' }),
  ]);
  expect(text.split('\n').slice(0, 4)).toEqual([
    'Verdicts',
    '  ◆ tin 1 in V3: marginal: title of shift',
    '  ● tin 2 in V3: usable',
    '  △ tin 3 in V3: not computed: title of shift',
  ]);
  expect(text.match(/Take care\./g)).toHaveLength(1);
  expect(text.match(/A warning\./g)).toHaveLength(3);
  expect(text.match(/Hiss/g)).toHaveLength(3);
  expect(reportText(report('tin 1'))).not.toContain('Verdicts');
});

test('a number is not parted from its unit at the end of a line', () => {
  expect(wrap('saturates (90 %: 13 % to 37 %) or 240 MΩ', 0, 16)).toEqual([
    'saturates (90\u00A0%:',
    '13\u00A0% to 37\u00A0%) or',
    '240\u00A0MΩ',
  ]);
});
