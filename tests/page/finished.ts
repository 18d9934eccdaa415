import type { AcceptanceCard } from '../../src/decide/accept.ts';
import type { PlacingReport } from '../../src/decide/place.ts';

/** Answers that take the engine minutes, for pictures of the views that show them: invented, with everything that such an answer may hold. */

const OUTPUT = 'Single-ended output stage';
const LONG =
  'Power output 2.16 W (1.5 … 2.8 W), at least 1.91 W: the limit lies inside the interval. The cathode has 81 % of the area of a new cathode (90 %: 65 % to 99 %).';
const COMMON = { version: 1, engine: 'an engine', seed: 1, draws: 64 } as const;

export const PLACED: PlacingReport = {
  ...COMMON,
  format: 'stagefit-placing',
  sockets: [
    { id: 'V1', title: OUTPUT, stageTitle: OUTPUT, takes: ['6V6GT'], places: 1 },
    { id: 'PP', title: 'Output', stageTitle: 'Push-pull', takes: ['6V6GT'], places: 2 },
  ],
  tubes: ['spare A', 'the one from the attic', 'C', 'D'].map((id) => ({
    id,
    type: '6V6GT',
    section: '1',
  })),
  cells: [
    { tube: 'spare A', verdict: 'marginal', margin: -0.2, measure: 'powerOutput', sentence: LONG },
    {
      tube: 'the one from the attic',
      verdict: 'unsuitable',
      margin: -7.6,
      measure: 'biasShift',
      sentence: LONG,
    },
  ].map((cell) => ({ socket: 'V1', ...cell })) as PlacingReport['cells'],
  placing: [
    {
      socket: 'V1',
      tubes: ['spare A'],
      verdict: 'marginal',
      margin: -0.2,
      sentence: `V1: spare A. ${LONG}`,
    },
    {
      socket: 'PP',
      tubes: [],
      verdict: null,
      margin: null,
      sentence: 'PP: empty, no pair of the box is usable there.',
    },
  ],
  worst: -0.2,
  sentence: '0 of 2 sockets get a usable tube, 1 a marginal one, to be tried.',
  spare: ['the one from the attic', 'C', 'D'],
  pairs: [
    {
      socket: 'PP',
      pairs: [
        {
          tubes: ['C', 'D'],
          difference: 0.1,
          verdict: 'unsuitable',
          margin: -0.4,
          sentence: LONG,
        },
      ],
    },
  ],
  order: [{ socket: 'V1', types: ['6V6GT'], sentence: 'For V1 order a 6V6GT (also 6V6, 6V6GTA).' }],
  notes: ['Sockets for two tubes take their pair before single tubes are placed.'],
};

export const CARD: AcceptanceCard = {
  ...COMMON,
  format: 'stagefit-acceptance',
  // the socket of the set that the pictures are taken of: the card of another one is not shown
  socket: { id: '', title: OUTPUT, stage: 'output-single-ended', stageTitle: OUTPUT },
  tube: { type: '6V6GT', section: '1' },
  bench: 'bench by the window (invented)',
  newTube: [{ title: 'Emission', text: '100 %' }],
  verdict: 'usable',
  sentence: 'A 6V6GT that reads as a new one is usable here.',
  limits: ['Emission', 'Drop at 90 % of the heater voltage'].map((title) => ({
    reading: 'emission',
    path: null,
    title,
    sense: 'atLeast',
    value: 70,
    unit: '%',
    text: 'at least 70 %',
    microamps: null,
    beyond: { value: 68, text: '68 %' },
    measure: 'powerOutput',
    sentence: `${title} at least 70 %: at 68 % “power output” is marginal.`,
  })),
  trades: [
    {
      title: 'With less emission, the drop and the leakage that are still usable',
      columns: ['emission', 'drop, with no leakage', 'leakage, with a new tube’s drop'],
      rows: [['70 %', 'at most 11 %', 'at least 220 MΩ']],
      values: [[70, 11, 220]],
    },
  ],
  notes: ['Leakage is read at 100 V, ten minutes after switch-on.'],
  notJudged: ['microphony, hiss'],
  cautions: ['A verdict is a calculation from a model, not a promise.'],
};
