import { describe, expect, test } from 'vitest';
import { userEvent } from 'vitest/browser';
import '../../components/look/tokens.css';
import '../../components/look/page.css';
import type { AnswerPlace } from '../../components/answer-place/answer-place.ts';
import '../../components/answer-place/answer-place.ts';
import type { CurveChart } from '../../components/curve-chart/curve-chart.ts';
import '../../components/curve-chart/curve-chart.ts';
import type { StatusMark } from '../../components/status-mark/status-mark.ts';
import '../../components/status-mark/status-mark.ts';
import type { Picture } from '../../src/report/picture.ts';
import type { Judged, Report, Status } from '../../src/types.ts';
import { Chart } from 'chart.js';
import { heard, put, violations } from './put.ts';

/** The elements on their own: accessibility first, then what a user does and which events come of it, then leaving. */

const judged = (id: string, status: Status, part: Partial<Judged> = {}): Judged => ({
  id,
  title: id,
  unit: 'V',
  value: 2,
  low: 1.5,
  high: 2.5,
  newTube: 1,
  margin: 0,
  status,
  reason: `why ${id}`,
  limit: { text: `${id} <= 3`, sense: 'atMost', bound: 3, reason: 'because', source: 'a book' },
  ...part,
});

/** A report with every status, for looking at; its numbers mean nothing. */
const REPORT: Report = {
  format: 'stagefit-report',
  version: 1,
  engine: 'engine',
  seed: 1,
  draws: 64,
  method: 'phase copies',
  socket: { id: 'V3', title: 'a socket', stage: 'rc-amplifier', stageTitle: 'a stage' },
  tube: { id: 'tin 1', type: '12AX7', section: '1' },
  companions: [],
  verdict: 'unsuitable',
  decidedBy: { measure: 'beyond', sentence: 'It is <b>beyond</b> the limit.' },
  circuitFault: null,
  measures: [
    judged('beyond', 'unsuitable', { value: 9, low: 8, high: 12 }),
    judged('near', 'marginal', { value: 3, low: 2, high: 4 }),
    judged('within', 'usable'),
    judged('unread', 'undetermined', { value: null, low: null, high: null }),
    judged('broken', 'failed', { value: null, low: null, high: null, newTube: null }),
    judged('told', 'unjudged', { limit: null }),
  ],
  wear: [],
  wearSentences: [],
  paths: [
    {
      between: ['grid', 'screen'],
      title: 'grid to screen',
      weight: 0.7,
      why: 'neighbours',
      status: 'marginal',
      sentence: 'So.',
    },
  ],
  wouldChange: [
    {
      sentence: 'With 430 kΩ it is usable.',
      key: 'gridResistor',
      from: 1e6,
      to: 430e3,
      verdict: 'usable',
    },
  ],
  notJudged: ['hiss'],
  cautions: ['care'],
  warnings: ['mind'],
  circuit: { title: 'c', parts: [] },
  nodeVolts: { newTube: {}, thisTube: {} },
};

describe('the answer', () => {
  test('has no violation that axe-core finds, in any state, by day and by night', async () => {
    const element = await put<AnswerPlace>('answer-place', {
      report: REPORT,
      state: { kind: 'settled' },
      questions: [{ id: 'q', text: 'Tapped', answer: false }],
    });
    for (const theme of ['light', 'dark']) {
      document.documentElement.dataset['theme'] = theme;
      for (const state of [
        { kind: 'settled' },
        { kind: 'computing', what: 'intervals', done: 3, all: 5, long: true },
        { kind: 'stopped' },
        { kind: 'empty' },
        { kind: 'problem', title: 'Broken', text: 'why', retry: true },
      ] as const) {
        element.state = state;
        await element.updateComplete;
        expect(await violations(), `${theme} ${state.kind}`).toEqual([]);
      }
    }
    delete document.documentElement.dataset['theme'];
  });

  test('tells every status by a word and by a shape of its own', async () => {
    const element = await put<AnswerPlace>('answer-place', {
      report: REPORT,
      state: { kind: 'settled' },
    });
    const rows = [
      ...element.renderRoot
        .querySelector('measure-table')!
        .shadowRoot!.querySelectorAll('tr[data-measure]'),
    ];
    const words = rows.map((row) =>
      row.querySelector('.word, .unseen')!.textContent!.replace(', decides', ''),
    );
    expect(words).toEqual([
      'unsuitable',
      'marginal',
      'usable',
      'undetermined',
      'not computed',
      'for information',
    ]);
    const shapes = rows.map((row) =>
      (row.querySelector('status-mark') as StatusMark).renderRoot
        .querySelector('svg')!
        .innerHTML.replaceAll(/<!--.*?-->/g, ''),
    );
    expect(new Set(shapes).size).toBe(6);
  });

  test('says no number where there is none, and shows text as text', async () => {
    const element = await put<AnswerPlace>('answer-place', {
      report: REPORT,
      state: { kind: 'settled' },
    });
    expect(element.renderRoot.querySelector('.lead')!.textContent).toBe(
      'It is <b>beyond</b> the limit.',
    );
    const row = element.renderRoot
      .querySelector('measure-table')!
      .shadowRoot!.querySelector('[data-measure=broken]')!;
    expect(row.querySelector('.this b')!.textContent).toBe('—');
    expect(row.querySelector('.pic svg')).toBeNull();
  });

  test('how sure is told, what to read next beside a marginal verdict; nothing is said twice', async () => {
    const sentence = 'It is beyond the limit. The grid sits too high.';
    const howSure = {
      within: 30,
      of: 64,
      share: 0.47,
      low: 0.4,
      high: 0.6,
      sentence: '30 of 64 draws are within.',
      measure: 'beyond',
      inputs: [],
      advice: 'Read the leakage again.',
      source: '',
    };
    const element = await put<AnswerPlace>('answer-place', {
      report: {
        ...REPORT,
        verdict: 'marginal',
        decidedBy: { measure: 'beyond', sentence },
        howSure,
        measures: [
          judged('beyond', 'marginal', { reason: sentence }),
          judged('near', 'marginal', { reason: 'near 3 V. The grid sits too high. It is weak.' }),
          judged('far', 'marginal', { reason: 'far 3 V. It is weak.' }),
        ],
      },
      state: { kind: 'settled' },
    });
    expect(element.renderRoot.querySelector('.next')!.textContent).toBe('Read the leakage again.');
    const text = element.renderRoot.textContent;
    expect(text.match(/Read the leakage again/g)).toHaveLength(1);
    expect(text).toContain(howSure.sentence);
    const notes = element.renderRoot
      .querySelector('measure-table')!
      .shadowRoot!.querySelectorAll('.why');
    expect([...notes].map((note) => note.textContent)).toEqual(['It is weak.']);
  });

  test('announces the settled verdict only', async () => {
    const element = await put<AnswerPlace>('answer-place', {
      report: REPORT,
      state: { kind: 'computing', what: 'x', done: 0, all: 1, long: false },
    });
    const live = element.renderRoot.querySelector('[aria-live=polite]')!;
    expect(live.textContent!.trim()).toBe('');
    element.state = { kind: 'settled' };
    await element.updateComplete;
    expect(live.textContent).toContain('tin 1 in V3: unsuitable. It is');
  });

  test('a fault of the circuit stands beside the verdict and is announced with it', async () => {
    const sentence = 'A new tube would be unsuitable here too.';
    const element = await put<AnswerPlace>('answer-place', {
      report: {
        ...REPORT,
        circuitFault: {
          status: 'unsuitable',
          inSoundCircuit: 'usable',
          faults: ['a'],
          enough: ['a'],
          sentence,
        },
      },
      state: { kind: 'settled' },
    });
    const verdict = element.renderRoot.querySelector('.verdict')!;
    expect(verdict.querySelector('.fault')!.textContent).toBe(`The circuit. ${sentence}`);
    expect(verdict.querySelector('[aria-live=polite]')!.textContent).toContain(sentence);
    expect(await violations()).toEqual([]);
    element.report = REPORT;
    await element.updateComplete;
    expect(verdict.querySelector('.fault')).toBeNull();
  });

  test('without a reading there is no verdict', async () => {
    const element = await put<AnswerPlace>('answer-place', {
      report: REPORT,
      state: { kind: 'empty' },
    });
    expect(element.renderRoot.querySelector('h3')!.textContent).toBe('No reading yet');
    const table = element.renderRoot.querySelector('measure-table')!.shadowRoot!;
    expect(table.textContent).not.toMatch(/unsuitable|\busable|marginal/);
    expect(table.querySelector('[data-measure=within] .this b')!.textContent).toBe('—');
  });

  test('a limit, a change and a question are told as events, and only when the user does something', async () => {
    const element = await put<AnswerPlace>('answer-place', {
      report: REPORT,
      state: { kind: 'settled' },
      questions: [{ id: 'blueGlow', text: 'Blue glow', answer: false }],
    });
    const [limits, changes, answers] = [
      heard(element, 'limit-edit'),
      heard<{ key: string }>(element, 'try-change'),
      heard(element, 'answer-question'),
    ];
    element.report = { ...REPORT, verdict: 'usable' };
    await element.updateComplete;
    expect([limits, changes, answers]).toEqual([[], [], []]);
    const field = element.renderRoot
      .querySelector('measure-table')!
      .shadowRoot!.querySelector<HTMLInputElement>('[aria-label="Limit of within"]')!;
    await userEvent.fill(field, '0.7 V');
    await userEvent.keyboard('{Enter}');
    await userEvent.click(element.renderRoot.querySelector('.list button')!);
    await userEvent.click(element.renderRoot.querySelector('.nj button')!);
    expect(limits).toEqual([{ measure: 'within', typed: '0.7 V' }]);
    expect(changes[0]!.key).toBe('gridResistor');
    expect(answers).toEqual([{ id: 'blueGlow', answer: true }]);
  });
});

describe('a chart', () => {
  const picture: Picture = {
    id: 'p',
    caption: 'A curve.',
    alt: 'It rises from 0 to 4.',
    x: { title: 'volts', scale: 'linear' },
    y: { title: 'amps', scale: 'linear' },
    lines: [
      {
        title: 'this tube',
        role: 'this',
        points: [
          [0, 0],
          [1, 4],
        ],
      },
    ],
    marks: [],
  };
  const charts = (): number => Object.keys(Chart.instances).length;

  test('has its words, and its numbers on request', async () => {
    const element = await put<CurveChart>('curve-chart', { picture });
    expect(element.renderRoot.querySelector('canvas')!.getAttribute('aria-label')).toBe(
      'It rises from 0 to 4.',
    );
    await userEvent.click(element.renderRoot.querySelector('button')!);
    await element.updateComplete;
    expect(element.renderRoot.querySelectorAll('tbody tr')).toHaveLength(2);
    expect(await violations()).toEqual([]);
  });

  test('draws something, follows a new picture, and leaves nothing behind', async () => {
    const before = charts();
    const element = await put<CurveChart>('curve-chart', { picture });
    expect(charts()).toBe(before + 1);
    const canvas = element.renderRoot.querySelector('canvas')!;
    const inked = (): number =>
      canvas
        .getContext('2d')!
        .getImageData(0, 0, canvas.width, canvas.height)
        .data.reduce((sum, byte) => sum + Number(byte > 0), 0);
    expect(inked()).toBeGreaterThan(1000);
    element.picture = { ...picture, caption: 'Another.' };
    await element.updateComplete;
    expect(charts()).toBe(before + 1);
    const main = element.parentElement!;
    element.remove();
    expect(charts()).toBe(before);
    main.append(element);
    await element.updateComplete;
    expect(charts()).toBe(before + 1);
  });
});
