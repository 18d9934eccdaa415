import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readerContext } from '../../src/cases.ts';
import { Problem } from '../../src/problem.ts';
import { FileProblem } from '../../src/scenario/check.ts';
import { readScenario } from '../../src/scenario/read.ts';
import { defaultValues } from '../../src/stage/values.ts';
import { modelOf, NEW, subjectOf } from '../stage/bench.ts';
import { AMPLIFIER, definition, issuesOf, stageFrom } from './fixtures.ts';

const withLine = (line: string, at = 3): string[] => [
  ...AMPLIFIER.slice(0, at),
  line,
  ...AMPLIFIER.slice(at),
];

/** Netlists as they go to the engine. */
function printed(lines: readonly string[]): string {
  const stage = stageFrom(definition(lines));
  const values = defaultValues(stage.values);
  const circuit = stage.circuit(values, [modelOf('12AX7')]);
  return stage
    .own!.requests(circuit, subjectOf(values, NEW).row, 'x')
    .map(({ request }) => request.netlist)
    .join('\n');
}

describe('a line that could reach a file, a command or no end', () => {
  it.for([
    '.control',
    '.endc',
    '.include /etc/passwd',
    '.inc x.cir',
    '.INCLUDE x.cir',
    '.lib models.lib tt',
    '.exec ls',
    '.shell ls',
    '.csparam a=1',
    '.param r=1k',
    '.func f(x)={x}',
    '.subckt tube a b c',
    '.if (1)',
    '.global p',
    '.options gmin=1',
    '.temp 300',
    '.ic v(p)=1',
    '.save all',
    '.print tran v(p)',
    '.measure tran x max v(p)',
    '.probe alli',
    '.ac dec 10 1 10k',
    '.noise v(p) VIN dec 10 1 10k',
    '.dc VB 0 250 0.001',
    '.dc VB 0 250 -1',
    '.dc VB 0 1 0.1 VIN 0 1 0.1',
    '.tran 1p 1',
    '.model T NPN(BF=100)',
    '.model D1 D(LEVEL=3)',
    '.model D1 D(IS=1)',
    '.model D1 D(file="x")',
    'B1 p 0 V=v(g)',
    'A1 [p] [g] filesrc',
    'Q1 p g k npn',
    'M1 p g k 0 nmos',
    'S1 p g k 0 sw',
    'T1 p 0 g 0 Z0=50',
    'O1 p 0 g 0 lossy',
    'U1 p 0 g urc',
    'W1 p 0 VIN sw',
    'Y1 p 0 g txl',
    'X9 p g k opamp',
    'X9 p g k TUBE $(ls)',
    'R9 p 0 r="rand()"',
    'R9 p 0 {1k}',
    "R9 p 0 '1k'",
    'R9 p 0 `ls`',
    'R9 p 0 1k\\',
    'R9 p 0 @file',
    'R9 p 0 1k tc=1',
    'R9 p 0 1k | ls',
    'R9 p 0 1k > out',
    'R9 p 0 1k & ls',
    'R9 p 0 ../x',
    'V9 p 0 PWL file=x',
    'V9 p 0 PULSE(0 1 0 1n 1n 1u 2u)',
    'V9 p 0 EXP(0 1 1u)',
    'V9 p 0 TRRANDOM(2 1m 0 1)',
    'E9 p 0 POLY(1) g 0 0 1',
    'E9 p 0 VOL=v(g)',
    'G9 p 0 TABLE g 0 1 1',
    'F9 p 0 POLY(1) VIN 0 1',
    'set x=1',
    'shell ls',
    'source x.cir',
    'R9 р 0 1k', // a Cyrillic letter
    'R９ p 0 1k', // full-width digit
    'R9 p 0 1\u00b5',
    'R9 p\u00a00 1k',
    'R9 p 0 1k\u202e',
    'R9 p 0 1e308',
    'R9 p 0 1e99999999999999999999',
    'R9 p 0 0',
    'R9 p 0 -1k',
    'R9 p 0 NaN',
    'R9 p 0 inf',
    'R9 p 0 0x10',
    'R9 p 0 4k7',
    'R9 p 0 1M',
    'C9 p 0 1F',
    `R9 p 0 ${'1'.repeat(190)}`,
    `R9 p 0 1k ${'x'.repeat(300)}`,
    `R${'9'.repeat(40)} p 0 1k`,
    'R9 p 0',
    'R9 p 0 1k 2k',
    'R9 p;0 1k',
    'K9 RA RK 0.5',
    'F9 p 0 RA 2',
    'D9 p 0 nomodel',
  ])('"%s" is refused with its line named', (line) => {
    const issues = issuesOf(definition(withLine(line)));
    expect(issues[0], line).toMatchObject({ place: 'circuit', line: 4 });
    for (const issue of issues) {
      expect(issue.found).toMatch(/\S/);
      expect(issue.expected).toMatch(/\w/);
      expect(JSON.stringify(issue)).not.toContain('undefined');
    }
  });

  it('is told with the file, its line there, the circuit’s line, what was found and expected', () => {
    const text = JSON.stringify(scenario({ circuit: withLine('.include secrets.txt') }), null, 1);
    const [problem] = problemsOf(text);
    const line = text.split('\n').findIndex((one) => one.includes('.include')) + 1;
    expect(problem!.toText()).toBe(
      [
        `set.json, line ${line}, sockets[0].circuit, line 4 of the circuit: a circuit reaches no file and runs no command`,
        '  found:    ".include secrets.txt"',
        '  expected: .dc, .tran, .model (a diode), .op, .end',
        '  Put the element itself into the circuit.',
      ].join('\n'),
    );
  });

  it('may be written in any case, with tabs, continued or hidden behind a comment, and is still refused', () => {
    for (const lines of [
      withLine('.InClUdE x'),
      withLine('\t .include x'),
      [...AMPLIFIER.slice(0, 3), 'R9 p 0', '+ 1k @x', ...AMPLIFIER.slice(3)],
      [...AMPLIFIER.slice(0, 3), '.', '+include x', ...AMPLIFIER.slice(3)],
    ])
      expect(issuesOf(definition(lines)).length, lines[3]).toBeGreaterThan(0);
  });
});

describe('what a circuit may hold', () => {
  it('comments vanish, continued lines are joined, case does not matter', () => {
    const plain = printed(AMPLIFIER);
    expect(
      printed([
        '* .include x `ls`',
        'vb B 0 250 ; .control',
        'ra b P 100K $ a comment @x',
        'x1 p G',
        '+ k tube',
        '',
        'Rg g GND 1MEG',
        'RK K 0 1.5kohm',
        'cin IN g 22nF',
        'VIN in 0 DC 0 ac 1 0',
        '.op',
        '.end',
      ]),
    ).toBe(plain);
  });

  it('names that are ours, or words of the engine, stay the user’s', () => {
    const names = ['row', 'drive', 'time', 'gt', 'temper', 'n_p', 'k_x1_area', 'v1', 'all', '00'];
    for (const name of names) {
      const lines = [...AMPLIFIER, `R${name} p ${name} 1k`, `Rb${name} ${name} 0 1k`];
      const netlist = printed(lines).toLowerCase();
      expect(netlist).toContain(`rb${name}`.toLowerCase());
      // every name of theirs has its prefix: nothing stands bare
      for (const line of netlist.split('\n').filter((one) => one.startsWith('r_')))
        for (const node of line.split(' ').slice(1, 3)) expect(node).toMatch(/^(0|n_\w+)$/);
    }
  });

  it('whatever the text, it is read or refused with a line, and only our own lines reach the engine', () => {
    const word = fc.oneof(
      fc.constantFrom('R1', 'C1', 'V1', 'X1', 'p', 'g', '0', '1k', '.include', '.control', 'TUBE'),
      fc.constantFrom('=', '+', '*', ';', '$', '@', '`', '\\', '"', 'AC', 'SIN(0 1 1k)', '\u202e'),
      fc.string({ maxLength: 6 }),
    );
    const line = fc.array(word, { maxLength: 7 }).map((words) => words.join(' '));
    fc.assert(
      fc.property(fc.array(line, { maxLength: 4 }), fc.nat(6), (lines, at) => {
        const all = [...AMPLIFIER.slice(0, at), ...lines, ...AMPLIFIER.slice(at)];
        const issues = issuesOf(definition(all));
        if (issues.length > 0) {
          for (const issue of issues) expect(issue.found && issue.expected).toBeTruthy();
          return;
        }
        for (const own of printed(all).split('\n'))
          expect(own).toMatch(
            /^(?:\* stagefit x\.\w+|\.(?:subckt|ends|model|save|options|op|end|func|nodeset)\b.*|\*.*|[A-Za-z+].*)$/,
          );
        expect(printed(all)).not.toMatch(/^\s*\.(?:include|inc|lib|control|exec|csparam)/im);
      }),
      { seed: 21, numRuns: 1500 },
    );
  });

  it('very many lines are refused in a moment', () => {
    const lines = Array.from({ length: 100_000 }, (_, i) => `R${i} p 0 1k`);
    expect(issuesOf(definition(lines))).toMatchObject([{ code: 'too-large' }]);
    expect(problemsOf(JSON.stringify(scenario({ circuit: lines })))[0]!.code).toBe('too-large');
    expect(problemsOf(JSON.stringify(scenario({ circuit: lines.join('\n') })))[0]!.code).toBe(
      'too-large',
    );
    const many = [...AMPLIFIER, ...lines.slice(0, 250)];
    expect(issuesOf(definition(many))[0]).toMatchObject({ code: 'too-large' });
  });
});

describe('a circuit that cannot work', () => {
  const refused = (lines: readonly string[]) => issuesOf(definition(lines))[0];
  const without = (name: string): string[] => AMPLIFIER.filter((line) => !line.startsWith(name));

  it('has no tube', () =>
    expect(refused(without('X1'))).toMatchObject({ message: 'the circuit has no tube' }));
  it('has no chassis', () =>
    expect(refused(AMPLIFIER.map((line) => line.replaceAll(' 0 ', ' ch ')))).toMatchObject({
      message: 'nothing is connected to chassis',
    }));
  it('has a grid that floats', () =>
    expect(refused(without('RG'))).toMatchObject({
      line: 3,
      message: 'the node "g" floats',
      found: 'only X1, CIN there: no way for direct current to chassis',
    }));
  it('has a name mistyped', () =>
    expect(refused(AMPLIFIER.map((line) => line.replace('RA b p', 'RA b q')))).toMatchObject({
      line: 2,
      message: 'the node "q" leads nowhere',
    }));
  it('has two sources against each other', () =>
    expect(refused([...AMPLIFIER, 'VX b 0 240'])).toMatchObject({
      line: 8,
      message: 'sources or coils in a loop without resistance',
    }));
  it('has a name twice, case apart', () =>
    expect(refused([...AMPLIFIER, 'ra b p 1k'])).toMatchObject({ line: 8, code: 'contradiction' }));
  it('has two tubes in one place, or a place without one', () => {
    expect(refused([...AMPLIFIER, 'X2 b g k TUBE'])).toMatchObject({
      message: 'two tubes in one place',
    });
    expect(refused([...AMPLIFIER, 'X2 b g k TUBE3'])).toMatchObject({
      message: 'a place without a tube',
    });
  });
  it('begins with a title line, and the hint says what to do', () =>
    expect(refused(['Cascode amplifier', ...AMPLIFIER])).toMatchObject({
      line: 1,
      hint: 'If it is the title, put * in front of it.',
    }));
});

describe('a formula', () => {
  it.for([
    ['v(q)', 'the circuit has no such node', 'p'],
    ['i(R7)', 'the circuit has no such element', 'RA'],
    ['i(X1)', 'which electrode of the tube?', 'i(X1.plate)'],
    ['i(X1.screen)', 'which electrode of the tube?', 'i(X1.grid)'],
    ['i(RA.plate)', 'only tubes have electrodes', 'i(RA)'],
    ['v(p) + q', 'this name is not known here', 'v(node)'],
    ['v(p) / 4k', 'this name is not known here', 'v(node)'],
    ['f(v(p))', 'there is no such function', 'v(node)'],
    ['at(v(p), 3)', 'at() looks along a sweep, and there is none', '.dc'],
    ['thd(v(p))', 'thd() looks at a transient, and there is none', '.tran'],
    ['gain(v(p), 1e12)', 'the frequency is out of range', '1e9'],
    ['gain(v(p), v(g))', 'a number is needed here', '1000'],
    ['gain(gain(v(p), 1), 1)', 'gain() cannot stand inside another analysis', 'v()'],
    ['x = 3', 'this is not allowed in a formula', 'v(node)'],
    ['v(p) > 3', 'this is not allowed in a formula', 'v(node)'],
    ['import("x")', 'there is no such function', 'v(node)'],
    ['constructor', 'this name is not known here', 'v(node)'],
    ['"a"', 'this is no number', 'v(node)'],
    ['[1, 2]', 'this is not allowed in a formula', 'v(node)'],
    ['v(p).x', 'this is not allowed in a formula', 'v(node)'],
    ['', 'the formula', ''],
    ['1 +', 'the formula cannot be read', 'a formula'],
    ['('.repeat(499), 'the formula cannot be read', 'a formula'],
    ['1e999', 'this is no number', 'v(node)'],
  ] as const)('"%s" is refused by name', ([formula, message, expected]) => {
    const [issue] = issuesOf(definition(AMPLIFIER, { m: formula }));
    if (formula === '') {
      expect(issue).toBeDefined();
      return;
    }
    expect(issue).toMatchObject({ place: 'measures.m.formula', message });
    expect(issue!.expected).toContain(expected);
  });

  it('needs a source with a small signal for a gain', () => {
    const quiet = AMPLIFIER.map((line) => line.replace(' AC 1', ''));
    expect(issuesOf(definition(quiet, { m: 'gain(v(p), 1e3)' }))[0]).toMatchObject({
      message: 'gain() needs a small signal, and no source has one',
    });
  });

  it('may name nodes by any word, and the measures above it', () => {
    expect(
      issuesOf(definition(AMPLIFIER, { a: 'v(in) + v( p , K ) + V(gnd)', b: 'a * 2 - i(ra)' })),
    ).toEqual([]);
    expect(issuesOf(definition(AMPLIFIER, { b: 'a * 2', a: 'v(p)' }))[0]).toMatchObject({
      message: 'this name is not known here',
    });
  });

  it('whatever the text, it is read or refused', () => {
    const piece = fc.constantFrom(
      'v(p)',
      'i(RA)',
      'gain(',
      'at(',
      ')',
      '+',
      '^',
      '1e3',
      ',',
      'newTube.a',
      '(',
      'm',
      '"',
      '=',
      ';',
      '\n',
      '?',
    );
    fc.assert(
      fc.property(fc.array(piece, { maxLength: 9 }), (pieces) => {
        for (const issue of issuesOf(definition(AMPLIFIER, { a: 'v(p)', m: pieces.join(' ') })))
          expect(issue).toMatchObject({ place: 'measures.m.formula' });
      }),
      { seed: 22, numRuns: 1500 },
    );
  });
});

describe('the other keys', () => {
  it('name what the circuit does not have', () => {
    expect(
      issuesOf(
        definition(AMPLIFIER, undefined, { watch: ['zz'], tolerances: { R7: 5 }, steady: ['RA'] }),
      ).map(({ place }) => place),
    ).toEqual(['tolerances.R7', 'steady[0]', 'watch[0]']);
  });

  it('limits are over the circuit’s own measures', () => {
    const text = JSON.stringify(scenario({ limits: { plat: 'plat >= 3' } }), null, 1);
    expect(problemsOf(text)[0]!.fields).toMatchObject({
      place: 'sockets[0].limits.plat',
      expected: 'plate',
      hint: 'Did you mean plate?',
    });
  });

  it('an own circuit without a netlist or measures says so; the keys elsewhere are a warning', () => {
    const text = JSON.stringify(scenario({ circuit: undefined, measures: undefined }));
    expect(problemsOf(text).map(({ fields }) => fields.place)).toEqual([
      'sockets[0].circuit',
      'sockets[0].measures',
    ]);
    const other = JSON.stringify(scenario({ stage: 'rc-amplifier', limits: {} }));
    expect(
      readScenario(other, readerContext('set.json')).warnings.map(({ place }) => place),
    ).toEqual(['sockets[0].circuit', 'sockets[0].measures']);
  });
});

function scenario(socket: Readonly<Record<string, unknown>>): object {
  return {
    format: 'stagefit-scenario',
    version: 1,
    title: 'invented',
    bench: {
      name: 'invented',
      emission: { scale: { kind: 'percent' }, accuracy_percent: 5 },
      starvedHeater: { heater_percent: 90, accuracy_points: 2 },
      leakage: {
        volts: 90,
        grid: 'negative',
        withPlateCurrent: false,
        top_ohm: '250M',
        short_ohm: '150k',
        accuracy_percent: 10,
      },
    },
    sockets: [
      {
        id: 'V1',
        stage: 'own-circuit',
        tube: 'ECC83',
        circuit: AMPLIFIER,
        measures: { plate: { formula: 'v(p)', unit: 'V' } },
        ...socket,
      },
    ],
  };
}

function problemsOf(text: string): readonly Problem[] {
  try {
    readScenario(text, readerContext('set.json'));
  } catch (error) {
    if (error instanceof FileProblem) return error.problems;
    if (error instanceof Problem) return [error];
    throw error;
  }
  throw new Error('it was read');
}
