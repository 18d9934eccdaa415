import type { AnswerState } from '../../components/answer-place/answer-place.ts';
import type { Picture } from '../report/picture.ts';
import type { Scenario } from '../scenario/scenario.ts';
import type { Electrode, Report } from '../types.ts';
import { anyReading } from '../wear/readings.ts';
import { EMPTY_DESK, type DeskState } from './desk.ts';
import { noHistory, type History } from './history.ts';
import type { JsonObject } from './json-edit.ts';
import type { StoredBench, StoredSet } from './storage.ts';

/** A document that reads without error, in its three forms. */
export interface GoodDocument {
  readonly document: JsonObject;
  readonly text: string;
  readonly scenario: Scenario;
}

export type Saved =
  | { readonly kind: 'saving' }
  | { readonly kind: 'saved'; readonly at: number }
  | { readonly kind: 'notSaved'; readonly why: string };

/** What was typed into a field and not understood: shown there until it is mended; the last good value stays in force. */
export interface Draft {
  readonly typed: string;
  readonly message: string;
}

export type View =
  | 'bench'
  | 'in-set'
  | 'accept'
  | 'map'
  | 'place'
  | 'learn'
  | 'sets'
  | 'instrument'
  | 'keys';

/** Everything the page shows. Replaced as a whole, never changed in place. */
export interface State {
  readonly view: View;
  readonly setId: string;
  readonly good: GoodDocument | undefined;
  /** A kept set that no longer reads: its text, to be saved as a file, and why. */
  readonly broken:
    | { readonly title: string; readonly text: string; readonly why: string }
    | undefined;
  readonly history: History<GoodDocument>;
  readonly tube: string;
  readonly socket: string;
  readonly drafts: Readonly<Record<string, Draft>>;
  readonly run: AnswerState;
  readonly report: Report | undefined;
  readonly pictures: readonly Picture[];
  /** They are of the values before; the next are on their way. */
  readonly picturesOld: boolean;
  readonly desk: DeskState;
  /** The lesson that is open, and where its sliders stand. */
  readonly lesson: { readonly id: string; readonly values: Readonly<Record<string, number>> };
  /** Where the map's leakage goes, as long as it is of this tube and socket; else the likeliest path. */
  readonly mapPath:
    | {
        readonly tube: string;
        readonly socket: string;
        readonly path: readonly [Electrode, Electrode];
      }
    | undefined;
  readonly saved: Saved;
  readonly sets: readonly StoredSet[];
  readonly benches: readonly StoredBench[];
  /** A line over the work: what happened that the user did not ask for. */
  readonly notice: string | undefined;
  /** Epoch milliseconds of switch-on by tube. */
  readonly clocks: Readonly<Record<string, number>>;
  /** Set while an imported text is refused: every problem found in it. */
  readonly refused: { readonly name: string; readonly text: string } | undefined;
}

export const COMPUTING: AnswerState = {
  kind: 'computing',
  what: 'operating point',
  done: 0,
  all: 0,
  long: false,
};

export const START: State = {
  view: 'bench',
  setId: '',
  good: undefined,
  broken: undefined,
  history: noHistory,
  tube: '',
  socket: '',
  drafts: {},
  run: { ...COMPUTING, what: 'starting' },
  report: undefined,
  pictures: [],
  picturesOld: true,
  desk: EMPTY_DESK,
  lesson: { id: 'leak-and-resistance', values: {} },
  mapPath: undefined,
  saved: { kind: 'saving' },
  sets: [],
  benches: [],
  notice: undefined,
  clocks: {},
  refused: undefined,
};

export const tubeOf = ({ good, tube }: State) => good?.scenario.tubes.find(({ id }) => id === tube);
export const socketOf = ({ good, socket }: State) =>
  good?.scenario.sockets.find(({ id }) => id === socket);

/** Nothing was read of this tube: nothing may be said of it. */
export function hasReading(state: State): boolean {
  const readings = tubeOf(state)?.readings;
  return readings !== undefined && anyReading(readings);
}
