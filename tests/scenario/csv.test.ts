import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Problem } from '../../src/problem.ts';
import { FileProblem } from '../../src/scenario/check.ts';
import { readTubesCsv } from '../../src/scenario/csv.ts';
import { readTable } from '../../src/scenario/csv-table.ts';
import { readScenario } from '../../src/scenario/read.ts';
import { writeJson } from '../../src/scenario/write.ts';
import { CONTEXT, GOOD } from './fixtures.ts';

const context = { ...CONTEXT, file: 'box.csv' };
const read = (text: string) => readTubesCsv(text, context);

function problemsOf(text: string): readonly Problem[] {
  try {
    read(text);
  } catch (error) {
    expect(error).toBeInstanceOf(Problem);
    return error instanceof FileProblem ? error.problems : [error as Problem];
  }
  throw new Error('the table was read without a problem');
}

describe('a table of readings', () => {
  it('has one line a tube', () => {
    const { tubes, warnings } = read(
      'tube,type,section,emission_percent,drop_percent,heater_percent,leakage_megohms,short_between,short_ohms,short_hot,noticed\n' +
        'T1,XT1,2,65,12,90,>500,heater-cathode,2 Mohm,yes,blueGlow; changesWhenTapped\n' +
        '"T2, spare",XP2,,90,,,60,,,,\n'.replace('"T2, spare"', 'T2'),
    );
    expect(warnings).toEqual([]);
    expect(tubes).toEqual([
      {
        id: 'T1',
        type: 'XT1',
        section: '2',
        readings: {
          emission: [{ percent: 65 }],
          starvedHeater: { drop_percent: 12, heater_percent: 90 },
          leakage: [{ aboveMegohms: 500 }],
          shorts: [{ between: ['heater', 'cathode'], ohms: 2e6, hot: true }],
          noticed: ['blueGlow', 'changesWhenTapped'],
        },
      },
      {
        id: 'T2',
        type: 'XP2',
        section: 'pentode',
        readings: { emission: [{ percent: 90 }], leakage: [{ megohms: 60 }] },
      },
    ]);
  });

  it('has several lines for a series over time', () => {
    const { tubes } = read(
      'tube,type,minutes,leakage_megohms,emission_percent\nT1,XT1,5,60,\nT1,,1,200,80\nT2,XT1,1,90,\nT1,XT1,10,20,\n',
    );
    expect(tubes.map(({ id }) => id)).toEqual(['T1', 'T2']);
    expect(tubes[0]?.readings).toEqual({
      emission: [{ percent: 80, minutes: 1 }],
      leakage: [
        { megohms: 200, minutes: 1 },
        { megohms: 60, minutes: 5 },
        { megohms: 20, minutes: 10 },
      ],
    });
  });

  it('may have semicolons, decimal commas, a byte order mark, CRLF and quoted cells', () => {
    const { tubes } = read(
      '\uFEFFValve;Type;title;leakage_microamps;leakage volts\r\nT1;XT1;"a ""good""; one\r\nof two";1,4;90\r\n'.replace(
        '\r\nof',
        ' of',
      ),
    );
    expect(tubes[0]).toMatchObject({
      title: 'a "good"; one of two',
      readings: { leakage: [{ microamps: 1.4, atVolts: 90 }] },
    });
  });

  it('may have tabs', () => {
    expect(read('tube\ttype\temission_percent\nT1\tXT1\t70').tubes[0]?.readings).toEqual({
      emission: [{ percent: 70 }],
    });
  });

  it('gives a document that a scenario reads to the same tubes', () => {
    const { tubes, original } = read(
      'tube,type,minutes,leakage_megohms,grid_current_microamps,grid_current_plate_volts,grid_current_grid_volts\nT1,XT1,1,60,"1.4 uA",200,-2\n',
    );
    expect(readScenario(writeJson({ ...GOOD, tubes: original } as never), CONTEXT).tubes).toEqual(
      tubes,
    );
  });
});

describe('nothing is dropped in silence', () => {
  it('a column that is not known is told, with a near name', () => {
    const { warnings } = read('tube,type,emision_percent,colour\nT1,XT1,60,red\n');
    expect(warnings.map(({ place, line }) => [place, line])).toEqual([
      ['column 3', 1],
      ['column 4', 1],
      ['tubes[0].readings', 2],
    ]);
    expect(warnings[0]?.text).toContain('Did you mean emission_percent?');
  });

  it('a time without a reading is told', () => {
    expect(read('tube,type,minutes,drop_percent\nT1,XT1,5,12\n').warnings[0]?.place).toBe(
      'minutes',
    );
  });

  it.each([
    ['a bad number', 'tube,type,leakage_megohms\nT1,XT1,60\nT2,XT1,sixty\n', 3, 'leakage_megohms'],
    ['a value out of range', 'tube,type,drop_percent\nT1,XT1,900\n', 2, 'drop_percent'],
    [
      'a comma that can be read two ways',
      'tube;type;leakage_megohms\nT1;XT1;1,500\n',
      2,
      'leakage_megohms',
    ],
    ['an unknown type', 'tube,type\nT1,XT1\n\nT2,XQ\n', 4, 'type'],
    ['an unknown section', 'tube,type,section\nT1,XT1,7\n', 2, 'section'],
    ['a line without a tube', 'tube,type,minutes\n,XT1,5\n', 2, 'tube'],
    ['two lines that disagree', 'tube,type,section\nT1,XT1,1\nT1,XT1,2\n', 3, 'section'],
    ['a cell too few', 'tube,type,minutes\nT1,XT1\n', 2, 'the line'],
    ['a cell too many', 'tube,type\nT1,XT1,5\n', 2, 'the line'],
    ['a cell in a column without a name', 'tube,type,\nT1,XT1,5\n', 2, 'column 3'],
    ['a column that stands twice', 'tube,type,type\nT1,XT1,XT1\n', 1, 'column 3'],
    ['no column of types', 'tube,emission_percent\nT1,5\n', 1, 'the first line'],
    ['no tube at all', 'tube,type\n', 1, 'the table'],
    ['a quotation mark that is not closed', 'tube,type\nT1,"XT1\n', 2, 'column 4 of the text'],
    ['text after a closing quotation mark', 'tube,type\n"T1"x,XT1\n', 2, 'column 5 of the text'],
    [
      'two kinds of leakage',
      'tube,type,leakage_megohms,leakage_microamps\nT1,XT1,5,3\n',
      2,
      'leakage',
    ],
    ['a prototype key as a name', 'tube,type,emission_percent\nT 1/,XT1,3\n', 2, 'tube'],
  ])('%s is refused with its line and column', (_what, text, line, place) => {
    const [problem] = problemsOf(text);
    expect(problem?.fields).toMatchObject({ file: 'box.csv', line, place });
    expect(problem?.fields.found).toBeTruthy();
    expect(problem?.fields.expected).toBeTruthy();
  });

  it('all errors are told at once', () => {
    expect(
      problemsOf('tube,type,drop_percent\nT1,XQ,5\nT2,XT1,x\n').map(({ fields }) => fields.line),
    ).toEqual([2, 3]);
  });

  it('a table of 100 MB is refused at once', () => {
    expect(problemsOf('a,'.repeat(50 * 1024 * 1024))[0]?.code).toBe('too-large');
  });
});

describe('the table itself (RFC 4180)', () => {
  const cell = fc.string({
    unit: fc.constantFrom('a', '"', ',', ';', ' ', '\n', '\r\n', 'é'),
    maxLength: 6,
  });

  it('any cells that are quoted come back', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(cell, cell, cell), { minLength: 1, maxLength: 5 }),
        fc.constantFrom(',', ';'),
        (rows, separator) => {
          const header = ['x', 'y', 'z'].join(separator);
          const text = [
            header,
            ...rows.map((row) =>
              row.map((each) => `"${each.replaceAll('"', '""')}"`).join(separator),
            ),
          ].join('\r\n');
          expect(readTable(text, 'a').rows.map((row) => row.map((each) => each.text))).toEqual(
            rows,
          );
        },
      ),
      { seed: 5 },
    );
  });

  it('any text is read or refused with a Problem, and every cell knows where it stands', () => {
    fc.assert(
      fc.property(
        fc.string({
          unit: fc.constantFrom('a', '"', ',', ';', ' ', '\n', '\r', '\uFEFF'),
          maxLength: 40,
        }),
        (text) => {
          try {
            const { header, rows } = readTable(text, 'a');
            for (const { text: content, offset } of [header, ...rows].flat()) {
              if (!text.slice(offset).startsWith(content))
                expect(text.slice(offset).trimStart().startsWith('"')).toBe(true);
            }
          } catch (error) {
            if (!(error instanceof Problem)) throw error;
          }
        },
      ),
      { seed: 6, numRuns: 2000 },
    );
  });
});
