import { describe, expect, test } from 'vitest';
import { userEvent } from 'vitest/browser';
import '../../components/look/tokens.css';
import '../../components/look/page.css';
import type { TubePlace } from '../../components/tube-place/tube-place.ts';
import '../../components/tube-place/tube-place.ts';
import type { ValueField } from '../../components/value-field/value-field.ts';
import '../../components/value-field/value-field.ts';
import { heard, put, violations } from './put.ts';

/** Where something is typed: a value of the socket, and the readings of the tube. */

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

  test('that may be absent is emptied', async () => {
    const clamp = { ...spec, unit: 'V' as const, default: null, low: -1, high: 20 };
    const set = { value: 12, tolerance_percent: 0, measured: false };
    const element = await put<ValueField>('value-field', {
      key: 'lineClamp',
      spec: clamp,
      now: set,
    });
    const edits = heard(element, 'value-edit');
    await userEvent.fill(element.renderRoot.querySelector('input')!, '');
    await element.updateComplete;
    expect(element.renderRoot.querySelector('.pop')!.textContent).toContain('read as none');
    await userEvent.keyboard('{Enter}');
    expect(edits).toEqual([{ key: 'lineClamp', value: null }]);
  });

  test('that must be there keeps its message after leaving', async () => {
    const load = await put<ValueField>('value-field', { key: 'plateLoad', spec, now });
    await userEvent.fill(load.renderRoot.querySelector('input')!, '');
    load.renderRoot.querySelector('input')!.blur();
    await load.updateComplete;
    expect(load.renderRoot.querySelector('[role=alert]')!.textContent).toContain('Nothing typed');
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

  test('Enter takes a reading and goes to the next; after a leakage comes the next one', async () => {
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
    expect(next.value).toBe('');
    // after a minute that was written, the next one; after none, the next reading
    expect(element.renderRoot.querySelector('input:focus')!.classList.contains('min')).toBe(true);
    await userEvent.fill(next, '210');
    await userEvent.keyboard('{Enter}');
    expect(element.renderRoot.querySelector('input:focus')).toBe(next);
  });

  test('Escape brings back what was there', async () => {
    const element = await put<TubePlace>('tube-place', { rows });
    const field = element.renderRoot.querySelector<HTMLInputElement>('#emission')!;
    const readings = heard(element, 'reading-edit');
    await userEvent.fill(field, '7');
    await userEvent.keyboard('{Escape}');
    expect(field.value).toBe('80');
    field.blur();
    expect(readings).toEqual([]);
  });

  test('arrow keys pass over the instruments; Enter, leaving or the pointer chooses one', async () => {
    const element = await put<TubePlace>('tube-place', {
      rows,
      benches: ['a', 'b', 'c'],
      bench: 'a',
    });
    const picked = heard(element, 'bench-pick');
    const list = element.renderRoot.querySelector<HTMLSelectElement>('#bench')!;
    list.focus();
    await userEvent.keyboard('{ArrowDown}');
    await userEvent.keyboard('{ArrowDown}');
    expect(picked).toEqual([]);
    await userEvent.keyboard('{Enter}');
    expect(picked).toEqual([{ name: 'c' }]);
    await userEvent.keyboard('{ArrowDown}');
    list.blur();
    await userEvent.selectOptions(list, 'c');
    expect(picked).toEqual([{ name: 'c' }, { name: 'b' }, { name: 'c' }]);
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
