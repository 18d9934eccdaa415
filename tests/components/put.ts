import axe from 'axe-core';
import { afterEach, beforeAll } from 'vitest';

/** One element on a page of its own, taken away after the test. */

let host: HTMLElement | undefined;
beforeAll(() => {
  document.documentElement.lang = 'en';
  document.title = 'elements';
});
afterEach(() => host?.remove());

export async function put<T extends HTMLElement>(name: string, properties: Partial<T>): Promise<T> {
  host?.remove();
  host = document.createElement('main');
  const heading = document.createElement('h1');
  heading.textContent = 'elements';
  const element = Object.assign(document.createElement(name) as T, properties);
  host.append(heading, element);
  document.body.append(host);
  await (element as unknown as { updateComplete: Promise<unknown> }).updateComplete;
  return element;
}

export async function violations(): Promise<string[]> {
  const { violations: found } = await axe.run(host!);
  return found.map(
    ({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 80)).join(' ')}`,
  );
}

export function heard<T>(element: HTMLElement, name: string): T[] {
  const all: T[] = [];
  element.addEventListener(name, (event) => all.push((event as CustomEvent<T>).detail));
  return all;
}
