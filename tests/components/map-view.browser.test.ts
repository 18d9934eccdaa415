import axe from 'axe-core';
import { Chart } from 'chart.js';
import { afterEach, beforeAll, expect, test } from 'vitest';
import { userEvent } from 'vitest/browser';
import '../../components/look/tokens.css';
import '../../components/look/page.css';
import type { MapView } from '../../components/map-view/map-view.ts';
import '../../components/map-view/map-view.ts';
import { MAP } from '../report/map-fixture.ts';

/** The acceptance map on the page: accessibility, what it says beside the picture, what a user does, leaving. */

let host: HTMLElement;
beforeAll(() => {
  document.documentElement.lang = 'en';
  document.title = 'map';
});
afterEach(() => {
  host.remove();
  delete document.documentElement.dataset['theme'];
});

async function put(properties: Partial<MapView>): Promise<MapView> {
  host = document.createElement('main');
  const heading = document.createElement('h1');
  heading.textContent = 'map';
  const element = Object.assign(document.createElement('map-view'), {
    sockets: [
      { id: 'V3', title: 'a socket' },
      { id: 'V4', title: '' },
    ],
    socket: 'V3',
    tubes: [
      { id: 'tin 1', type: '12AX7' },
      { id: 'tin 2', type: '12AX7' },
    ],
    tube: 'tin 1',
    ...properties,
  });
  host.append(heading, element);
  document.body.append(host);
  await element.updateComplete;
  return element;
}

function heard<T>(element: HTMLElement, name: string): T[] {
  const all: T[] = [];
  element.addEventListener(name, (event) => all.push((event as CustomEvent<T>).detail));
  return all;
}

const one = <T extends Element>(element: MapView, selector: string): T =>
  element.renderRoot.querySelector<T>(selector)!;

test('has no violation that axe-core finds, computing and answered, by day and by night', async () => {
  for (const theme of ['light', 'dark']) {
    document.documentElement.dataset['theme'] = theme;
    for (const properties of [
      { map: MAP },
      { state: { kind: 'computing', what: 'points', done: 1, all: 2 } as const, note: 'A note.' },
    ]) {
      await put(properties);
      const { violations } = await axe.run(host);
      expect(violations.map(({ id, nodes }) => `${id}: ${nodes[0]?.html}`)).toEqual([]);
      host.remove();
    }
  }
});

test('the finding, the boundary as a table and the key say in words what is drawn', async () => {
  const element = await put({ map: MAP });
  const text = element.renderRoot.textContent;
  for (const sentence of [...MAP.finding.sentences, ...MAP.sentences])
    expect(text).toContain(sentence);
  expect(one(element, '.key').textContent).toMatch(/marginal[\s\S]*unsuitable/);
  expect(element.renderRoot.querySelectorAll('tbody tr')).toHaveLength(3);
  const chart = one<HTMLElement & { updateComplete: Promise<unknown> }>(element, 'curve-chart');
  await chart.updateComplete;
  expect(chart.shadowRoot!.querySelector('canvas')!.getAttribute('aria-label')).toContain(
    MAP.finding.sentences[0],
  );
});

test('socket, tube, path, documents and Stop are told as events', async () => {
  const element = await put({ map: MAP, state: { kind: 'computing', what: 'x', done: 0, all: 0 } });
  const told = ['socket-pick', 'tube-pick', 'map-path', 'map-keep', 'desk-stop'].map((name) =>
    heard<unknown>(element, name),
  );
  await userEvent.selectOptions(one(element, '#socket'), 'V4');
  await userEvent.selectOptions(one(element, '#tube'), 'tin 2');
  await userEvent.selectOptions(one(element, '#path'), 'grid-cathode');
  for (const button of element.renderRoot.querySelectorAll('.buttons button'))
    await userEvent.click(button);
  await userEvent.click(
    one<HTMLElement>(element, 'work-line').shadowRoot!.querySelector('button')!,
  );
  expect(told).toEqual([
    [{ id: 'V4' }],
    [{ id: 'tin 2' }],
    [{ path: ['grid', 'cathode'] }],
    [{ as: 'csv' }, { as: 'json' }],
    [null],
  ]);
});

test('draws once a map, and leaves no chart behind', async () => {
  const charts = (): number => Object.keys(Chart.instances).length;
  const before = charts();
  const element = await put({ map: MAP });
  const chart = one<HTMLElement & { updateComplete: Promise<unknown>; picture: unknown }>(
    element,
    'curve-chart',
  );
  await chart.updateComplete;
  const { picture } = chart;
  expect(charts()).toBe(before + 1);
  element.state = { kind: 'stopped' };
  await element.updateComplete;
  expect(chart.picture).toBe(picture);
  element.remove();
  expect(charts()).toBe(before);
});
