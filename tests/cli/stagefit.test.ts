import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, test } from 'vitest';
import { nativeVersion, testWithNative } from '../native-ngspice.ts';

/** The built command line as a user meets it: exit codes, one document on stdout, messages that say where. */
const root = fileURLToPath(new URL('../../', import.meta.url));
const program = join(root, 'dist/cli/stagefit.js');
const folder = mkdtempSync(join(tmpdir(), 'stagefit-cli-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

interface Ran {
  readonly code: number | null;
  readonly out: string;
  readonly err: string;
}
function stagefit(args: readonly string[], input?: string): Ran {
  const done = spawnSync(process.execPath, [program, ...args], {
    encoding: 'utf8',
    cwd: root,
    timeout: 170_000,
    maxBuffer: 1e8,
    ...(input === undefined ? {} : { input }),
  });
  return { code: done.status, out: done.stdout, err: done.stderr };
}
const RADIO = 'scenarios/table-radio/scenario.json';
const radio = (): { sockets: Record<string, unknown>[]; tubes: Record<string, unknown>[] } & Record<
  string,
  unknown
> => JSON.parse(readFileSync(join(root, RADIO), 'utf8')) as never;
const edited = (edit: (scenario: ReturnType<typeof radio>) => void): string => {
  const scenario = radio();
  edit(scenario);
  const path = join(folder, `${Math.random().toString(36).slice(2)}.json`);
  writeFileSync(path, JSON.stringify(scenario, null, 2));
  return path;
};

describe('assess', () => {
  test('prints a verdict that reads in 80 columns; exit 1 where not all are usable, 0 where they are', () => {
    const one = stagefit(['assess', RADIO, '--tube', 'tin 4']);
    expect(one.code).toBe(0);
    expect(one.out).toMatch(/USABLE/);
    expect(one.err).toBe('');
    const other = stagefit(['assess', RADIO, '--tube', 'tin 14']);
    expect(other.code).toBe(1);
    expect(other.out).toMatch(/UNSUITABLE/);
    for (const line of other.out.split('\n'))
      expect(Array.from(line).length, line).toBeLessThanOrEqual(80);
  }, 180_000);

  test('--json is one document with the fields that the README names', () => {
    const { code, out } = stagefit(['assess', RADIO, '--tube', 'tin 14', '--json']);
    expect(code).toBe(1);
    const document = JSON.parse(out) as {
      format: string;
      version: number;
      assessments: Record<string, unknown>[];
    };
    expect(document).toMatchObject({ format: 'stagefit-assessments', version: 1 });
    const found = document.assessments[0]!;
    expect(found).toMatchObject({ socket: 'V3', tube: 'tin 14', verdict: 'unsuitable' });
    for (const key of ['decidedBy', 'measures', 'wear', 'notJudged', 'wouldChange'])
      expect(found).toHaveProperty(key);
    const measures = found['measures'] as Record<string, unknown>[];
    for (const measure of measures)
      for (const key of [
        'id',
        'value',
        'low',
        'high',
        'newTube',
        'unit',
        'limit',
        'margin',
        'status',
        'reason',
      ])
        expect(measure).toHaveProperty(key);
  }, 180_000);

  test('reads standard input', () => {
    const { code, out } = stagefit(
      ['assess', '-', '--tube', 'tin 4'],
      readFileSync(join(root, RADIO), 'utf8'),
    );
    expect(code).toBe(0);
    expect(out).toMatch(/tin 4/);
  }, 180_000);
});

describe('bad input: exit 2, nothing on stdout, a message with place, found and expected', () => {
  const cases: readonly (readonly [string, () => readonly string[], RegExp])[] = [
    ['no such file', () => ['assess', 'nowhere.json'], /nowhere\.json.*no such file/],
    ['a folder', () => ['assess', 'scenarios/table-radio'], /this is a folder/],
    [
      'an unknown tube type, with near names',
      () => ['assess', edited((s) => void (s.tubes[0]!['type'] = '6BA6X'))],
      /6BA6X[\s\S]*6BA6/,
    ],
    [
      'a wrong unit',
      () => [
        'assess',
        edited(
          (s) => void ((s.sockets[0]!['values'] as Record<string, unknown>)['supply'] = '240 mA'),
        ),
      ],
      /supply[\s\S]*240 mA/,
    ],
    [
      'a value out of range',
      () => [
        'assess',
        edited(
          (s) => void ((s.sockets[0]!['values'] as Record<string, unknown>)['supply'] = 24_000),
        ),
      ],
      /supply[\s\S]*24000/,
    ],
    [
      'a wrong version',
      () => ['assess', edited((s) => void (s['version'] = 7))],
      /version[\s\S]*7/,
    ],
    [
      'contradicting readings',
      () => [
        'assess',
        edited(
          (s) =>
            void ((s.tubes[0]!['readings'] as Record<string, unknown>)['starvedHeater'] = {
              heater_percent: 90,
              drop_percent: 140,
            }),
        ),
      ],
      /drop_percent/,
    ],
    [
      'SPICE text inside a value',
      () => [
        'assess',
        edited(
          (s) =>
            void ((s.sockets[0]!['values'] as Record<string, unknown>)['screenDropper'] =
              '33k\n.include /etc/passwd'),
        ),
      ],
      /screenDropper/,
    ],
    [
      'a tube of a family that the stage cannot take',
      () => [
        'assess',
        edited((s) => void ((s.tubes[0]!['type'] = '12AX7'), (s.tubes[0]!['section'] = '1'))),
        '--tube',
        'tin 4',
        '--socket',
        'V3',
      ],
      /does not fit[\s\S]*triode[\s\S]*pentode/,
    ],
    [
      'a hard short',
      () => [
        'assess',
        edited(
          (s) =>
            void ((s.tubes[0]!['readings'] as Record<string, unknown>)['shorts'] = [
              { between: ['grid', 'cathode'], ohms: 200 },
            ]),
        ),
        '--tube',
        'tin 4',
        '--socket',
        'V3',
      ],
      /short/,
    ],
    [
      'a limit that is no limit',
      () => [
        'assess',
        edited((s) => void (s.sockets[0]!['limits'] = { gain: 'gain >= process.exit(1)' })),
        '--tube',
        'tin 4',
      ],
      /formula|limit/,
    ],
    ['an unknown command', () => ['asess', RADIO], /no such command/],
    ['an unknown option', () => ['assess', RADIO, '--fast'], /--fast/],
    ['a tube that is not there', () => ['assess', RADIO, '--tube', 'tin 99'], /tin 99[\s\S]*tin 4/],
    ['an unknown stage', () => ['stages', 'if-strip'], /if-strip[\s\S]*rc-amplifier/],
    [
      'an unknown type for its characteristics',
      () => ['characteristics', '12AX77'],
      /12AX77[\s\S]*12AX7/,
    ],
    [
      'a voltage that is none',
      () => ['characteristics', '12AX7', '--plate', '250 mA', '--grid', '-2'],
      /--plate/,
    ],
  ];
  test.for(cases)('%s', ([, args, message]) => {
    const { code, out, err } = stagefit(args());
    expect(code).toBe(2);
    expect(out).toBe('');
    expect(err).toMatch(message);
    expect(err).not.toMatch(/\n\s+at /); // no stack
  });

  test('truncated JSON is told with its line', () => {
    const path = join(folder, 'cut.json');
    writeFileSync(path, readFileSync(join(root, RADIO), 'utf8').slice(0, 900));
    const { code, err } = stagefit(['assess', path]);
    expect(code).toBe(2);
    expect(err).toMatch(/line \d+/);
  });

  test('a file of 100 MB is refused unread', () => {
    const path = join(folder, 'huge.json');
    writeFileSync(path, Buffer.alloc(100e6, 32));
    const { code, err } = stagefit(['assess', path]);
    expect(code).toBe(2);
    expect(err).toMatch(/too large/);
  });

  test('values as people write them are understood alike: 4.7 meg, 4,7M, 4M7', () => {
    const netlists = ['4.7 meg', '4,7M', '4M7'].map((written) =>
      stagefit([
        'netlist',
        edited(
          (s) =>
            void ((s.sockets[0]!['values'] as Record<string, unknown>)['agcLineResistance'] =
              written),
        ),
        '--tube',
        'tin 4',
        '--socket',
        'V3',
      ]),
    );
    for (const { code, out } of netlists) {
      expect(code).toBe(0);
      expect(out).toMatch(/R1 \S+ \S+ 4700000/);
    }
  });

  test('an unknown key is told and kept, and the work goes on', () => {
    const { code, out } = stagefit([
      'assess',
      edited((s) => void (s.sockets[0]!['colour'] = 'green')),
      '--tube',
      'tin 4',
    ]);
    expect(code).toBe(0);
    expect(out).toMatch(/colour/);
  }, 180_000);

  test('beside SPICE text it is told on standard error', () => {
    const path = edited((s) => void (s.sockets[0]!['colour'] = 'green'));
    const { code, out, err } = stagefit(['model', path, '--tube', 'tin 4']);
    expect(code).toBe(0);
    expect(err).toMatch(/colour/);
    expect(out).not.toMatch(/colour/);
  });
});

describe('the smaller commands', () => {
  test('help teaches every command', () => {
    const { code, out } = stagefit(['help']);
    expect(code).toBe(0);
    for (const name of ['assess', 'characteristics', 'tubes', 'stages', 'model', 'netlist']) {
      expect(out).toContain(name);
      const help = stagefit(['help', name]);
      expect(help.code).toBe(0);
      expect(help.out).toContain(`stagefit ${name}`);
    }
  });

  test('characteristics: a new 6V6GT at 250/250/−12.5 V draws the published 45 mA within 3 % (handbook, from memory)', () => {
    const { code, out } = stagefit([
      'characteristics',
      '6V6GT',
      '--plate',
      '250',
      '--screen',
      '250',
      '--grid',
      '-12.5',
      '--json',
    ]);
    expect(code).toBe(0);
    const figures = JSON.parse(out) as Record<string, number>;
    expect(Math.abs(figures['plateCurrent_mA']! / 45 - 1)).toBeLessThan(0.03);
    for (const key of ['plateCurrent_mA', 'screenCurrent_mA', 'gm_mS', 'rp_ohm', 'mu'])
      expect(figures[key]).toBeGreaterThan(0);
  });

  test('tubes finds a type by its European name, stages describes every value', () => {
    expect(stagefit(['tubes', 'ECC83']).out).toMatch(/12AX7/);
    expect(stagefit(['tubes', 'nothing like it']).code).toBe(1);
    expect(stagefit(['stages', 'agc-if-amplifier']).out).toMatch(
      /agcLineResistance[\s\S]*2\.2\sMΩ/,
    );
  });

  testWithNative(
    `netlist and model are open SPICE text that native ngspice ${nativeVersion ?? ''} runs`,
    () => {
      const { out } = stagefit(['netlist', RADIO, '--tube', 'tin 9', '--socket', 'V3']);
      const path = join(folder, 'v3.cir');
      writeFileSync(path, out.replace('.op', '.op\n.print op v(g)'));
      const done = spawnSync('ngspice', ['-n', '-b', path], { encoding: 'utf8', timeout: 60_000 });
      expect(done.status).toBe(0);
      expect(done.stdout + done.stderr).not.toMatch(/error|singular/i);
      expect(stagefit(['model', RADIO, '--tube', 'tin 9']).out).toMatch(/\.subckt/);
    },
  );
});
