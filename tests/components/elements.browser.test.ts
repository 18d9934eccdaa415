import axe from 'axe-core';
import { afterEach, beforeAll, describe, expect, test } from 'vitest';
import { userEvent } from 'vitest/browser';
import '../../components/look/tokens.css';
import '../../components/look/page.css';
import type { AnswerPlace } from '../../components/answer-place/answer-place.ts';
import '../../components/answer-place/answer-place.ts';
import type { CurveChart } from '../../components/curve-chart/curve-chart.ts';
import '../../components/curve-chart/curve-chart.ts';
import type { StatusMark } from '../../components/status-mark/status-mark.ts';
import '../../components/status-mark/status-mark.ts';
import type { TubePlace } from '../../components/tube-place/tube-place.ts';
import '../../components/tube-place/tube-place.ts';
import type { ValueField } from '../../components/value-field/value-field.ts';
import '../../components/value-field/value-field.ts';
import type { Picture } from '../../src/report/picture.ts';
import type { Judged, Report, Status } from '../../src/types.ts';
import { Chart } from 'chart.js';

/** The elements on their own: accessibility first, then what a user does and which events come of it, then leaving. */

let host: HTMLElement;
beforeAll(() => {
  document.documentElement.lang = 'en';
  document.title = 'elements';
});
afterEach(() => host.remove());

async function put<T extends HTMLElement>(name: string, properties: Partial<T>): Promise<T> {
  host = document.createElement('main');
  const heading = document.createElement('h1');
  heading.textContent = 'elements';
  const element = Object.assign(document.createElement(name) as T, properties);
  host.append(heading, element);
  document.body.append(host);
  await (element as unknown as { updateComplete: Promise<unknown> }).updateComplete;
  return element;
}

async function violations(): Promise<string[]> {
  const { violations: found } = await axe.run(host);
  return found.map(
    ({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 80)).join(' ')}`,
  );
}

function heard<T>(element: HTMLElement, name: string): T[] {
  const all: T[] = [];
  element.addEventListener(name, (event) => all.push((event as CustomEvent<T>).detail));
  return all;
}

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

describe('a value', () => {
  const spec = {
    title: 'plate load',
    unit: 'ohm',
    default: 1e5,
    low: 1e3,
    high: 5e6,
    tolerance_percent: 10,
  } as const;
  const now = { value: 1e5, tolerance_percent: 10, measured: false };

  test('is read back while it is typed, taken by Enter, restored by Escape', async () => {
    const element = await put<ValueField>('value-field', { key: 'plateLoad', spec, now });
    const edits = heard(element, 'value-edit');
    const field = element.renderRoot.querySelector('input')!;
    await userEvent.fill(field, '2M2');
    await element.updateComplete;
    expect(element.renderRoot.querySelector('.pop')!.textContent).toContain('read as 2.2\u00a0MΩ');
    expect(await violations()).toEqual([]);
    await userEvent.keyboard('{Escape}');
    await element.updateComplete;
    expect(field.value).toBe('100\u00a0kΩ');
    await userEvent.fill(field, '2M2');
    await userEvent.keyboard('{Enter}');
    expect(edits).toEqual([{ key: 'plateLoad', value: '2M2' }]);
  });

  test('that is wrong is told and never taken, also not on leaving', async () => {
    const element = await put<ValueField>('value-field', { key: 'plateLoad', spec, now });
    const edits = heard(element, 'value-edit');
    const field = element.renderRoot.querySelector('input')!;
    await userEvent.fill(field, '2.2 mΩ');
    await userEvent.keyboard('{Enter}');
    await element.updateComplete;
    expect(element.renderRoot.querySelector('[role=alert]')!.textContent).toContain('Did you mean');
    expect(field.getAttribute('aria-invalid')).toBe('true');
    field.blur();
    expect(edits).toEqual([]);
  });

  test('steps by arrows, and takes a tolerance and "measured"', async () => {
    const element = await put<ValueField>('value-field', { key: 'plateLoad', spec, now });
    const edits = heard(element, 'value-edit');
    element.focus();
    await userEvent.keyboard('{ArrowUp}');
    await element.updateComplete;
    await userEvent.click(element.renderRoot.querySelector('[type=checkbox]')!);
    expect(edits).toEqual([
      { key: 'plateLoad', value: 120e3 },
      { key: 'plateLoad', measured: true },
    ]);
  });

  test('that has drifted shows what the part is marked, and takes it; nonsense is not taken', async () => {
    const drifted = { value: 22e4, tolerance_percent: 1, measured: true, marked: 1e5 };
    const element = await put<ValueField>('value-field', { key: 'plateLoad', spec, now: drifted });
    const edits = heard(element, 'value-edit');
    expect(element.renderRoot.querySelector('.n')!.textContent).toContain('marked 100\u00a0kΩ');
    for (const typed of ['150k', 'brown', '']) {
      element.focus();
      await element.updateComplete;
      const field = element.renderRoot.querySelector<HTMLInputElement>('.marked')!;
      expect(field.value).toBe('100\u00a0kΩ');
      await userEvent.fill(field, typed);
      await userEvent.keyboard('{Tab}');
    }
    element.focus();
    await element.updateComplete;
    expect(await violations()).toEqual([]);
    expect(edits).toEqual([
      { key: 'plateLoad', marked: '150k' },
      { key: 'plateLoad', marked: null },
    ]);
  });
});

describe('the tube', () => {
  const rows = [
    { key: 'emission', label: 'Emission', text: '80', unit: '% of new' },
    { key: 'drop', label: 'Drop', text: '', unit: '%', wrong: 'What is that?' },
  ];

  test('Enter takes a reading and goes to the next; a new leakage stays in its place', async () => {
    const element = await put<TubePlace>('tube-place', {
      rows,
      tubes: [{ id: 'a', type: '12AX7' }],
      tube: 'a',
      benches: ['b'],
      bench: 'b',
      leakage: [{ minutes: '1', text: '900' }],
    });
    expect(await violations()).toEqual([]);
    const [readings, leakage] = [heard(element, 'reading-edit'), heard(element, 'leakage-edit')];
    await userEvent.fill(element.renderRoot.querySelector('#emission')!, '71');
    await userEvent.keyboard('{Enter}');
    expect(element.renderRoot.querySelector('input:focus')!.id).toBe('drop');
    expect(readings[0]).toEqual({ key: 'emission', typed: '71' });
    const next = element.renderRoot.querySelector<HTMLInputElement>('.next .field')!;
    await userEvent.fill(element.renderRoot.querySelector('.next .min')!, '3');
    await userEvent.fill(next, '430');
    await userEvent.keyboard('{Enter}');
    expect(leakage).toEqual([{ index: null, minutes: '3', typed: '430' }]);
    expect(element.renderRoot.querySelector('input:focus')).toBe(next);
    expect(next.value).toBe('');
  });

  test('the clock stops ticking when the element leaves', async () => {
    const element = await put<TubePlace>('tube-place', { rows, switchedOn: Date.now() - 150_000 });
    expect(element.renderRoot.querySelector('.clock')!.textContent).toContain('2.5 min');
    element.stamp();
    expect(element.renderRoot.querySelector<HTMLInputElement>('.next .min')!.value).toBe('2.5');
    element.remove();
    expect((element as unknown as { ticking: unknown }).ticking).toBeUndefined();
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
    element.remove();
    expect(charts()).toBe(before);
    host.append(element);
    await element.updateComplete;
    expect(charts()).toBe(before + 1);
  });
});
