import { html, type TemplateResult } from 'lit';
import { stageFor, typeInfo } from './catalogue.ts';
import type { Job } from './flow/protocol.ts';
import { socketOf, tubeOf, type State, type View } from './state.ts';

/** The further places of the page: what each asks of the desk, and how its answer is shown. */

/** Places whose elements are fetched when they are opened. */
const ELEMENTS: Readonly<Partial<Record<View, () => Promise<unknown>>>> = {
  'in-set': () => import('../../components/in-set-view/in-set-view.ts'),
  accept: () => import('../../components/accept-view/accept-view.ts'),
  map: () => import('../../components/map-view/map-view.ts'),
  place: () => import('../../components/place-view/place-view.ts'),
  learn: () => import('../../components/learn-view/learn-view.ts'),
};

export const fetchElements = (view: View): void => void ELEMENTS[view]?.();

/** What a place needs to know; undefined where it has nothing to ask. */
export function jobFor(state: State): Job | undefined {
  const { good, tube, socket, view, lesson } = state;
  if (view === 'learn') return { about: 'learn', lesson: lesson.id, values: lesson.values };
  if (good === undefined || socket === '') return undefined;
  if (view === 'place') return { about: 'place', text: good.text };
  if (view === 'accept') return { about: 'accept', text: good.text, socket };
  if (view === 'map') {
    const { mapPath } = state;
    const mine = mapPath?.tube === tube && mapPath.socket === socket;
    return {
      about: 'map',
      text: good.text,
      socket,
      tube: fits(state) ? tube : '',
      ...(mine ? { path: mapPath.path } : {}),
    };
  }
  if (view === 'in-set' && tube !== '') return { about: 'in-set', text: good.text, tube, socket };
  return undefined;
}

/** Whether the tube's type goes into the socket. */
function fits(state: State): boolean {
  const families = stageFor(socketOf(state))?.families ?? [];
  return typeInfo(tubeOf(state)?.type ?? '').sections.some(({ family }) =>
    families.includes(family),
  );
}

/** The place, or undefined where the view is none of these. */
export function deskView(state: State): TemplateResult | undefined {
  const { good, desk, view, drafts, lesson } = state;
  const [tube, socket] = [tubeOf(state), socketOf(state)];
  const sockets = (good?.scenario.sockets ?? []).map((one) => ({
    id: one.id,
    title: one.title ?? stageFor(one)?.title ?? '',
  }));
  switch (view) {
    case 'in-set': {
      const answer = desk.answers['in-set'];
      const mine = answer?.tube.id === tube?.id && answer?.socket.id === socket?.id;
      const check = good?.scenario.inSet.find(
        (one) => one.tube === tube?.id && one.socket === socket?.id,
      );
      return html`<in-set-view
        .heading=${tube === undefined || socket === undefined ? 'There is no tube in this set yet.' : `${tube.id} (${tube.type}) in ${socket.id}${socket.title === undefined ? '' : `, ${socket.title}`}: what a meter should read, and what explains what it does read. Tube and socket are chosen on the bench.`}
        .report=${mine ? answer : undefined}
        .state=${desk.run}
        .taken=${(check?.readings ?? []).flatMap(({ point, volts, after }) => (after === undefined ? [] : [{ point, volts, after }]))}
        .wrong=${Object.fromEntries(Object.entries(drafts).flatMap(([key, draft]) => (key.startsWith('check.') ? [[key.slice(6), draft]] : [])))}
      ></in-set-view>`;
    }
    case 'accept': {
      const card = desk.answers.accept;
      return html`<accept-view
        .card=${card?.socket.id === socket?.id ? card : undefined}
        .sockets=${sockets}
        .socket=${socket?.id ?? ''}
        .state=${desk.run}
      ></accept-view>`;
    }
    case 'map': {
      const map = desk.answers.map;
      const asked = desk.asked?.about === 'map' ? desk.asked : undefined;
      const mine =
        map?.socket.id === socket?.id && (map?.point?.tube ?? asked?.tube) === asked?.tube;
      return html`<map-view
        .map=${mine && desk.run.kind !== 'problem' ? map : undefined}
        .sockets=${sockets}
        .socket=${socket?.id ?? ''}
        .tubes=${(good?.scenario.tubes ?? []).map(({ id, type }) => ({ id, type }))}
        .tube=${tube?.id ?? ''}
        .note=${tube === undefined || fits(state) ? '' : `${tube.id} (${tube.type}) does not go into this socket: the map is that of a new ${socket?.tube[0] ?? 'tube'}.`}
        .state=${desk.run}
      ></map-view>`;
    }
    case 'place':
      return html`<place-view
        .report=${desk.asked?.about === 'place' ? desk.answers.place : undefined}
        .state=${desk.run}
      ></place-view>`;
    case 'learn':
      return html`<learn-view
        .lesson=${lesson.id}
        .values=${lesson.values}
        .answer=${desk.answers.learn}
        .state=${desk.run}
      ></learn-view>`;
    default:
      return undefined;
  }
}
