import type { Circuit, Node, Part, StageValues, TubeModel, Uncertain } from '../types.ts';
import { biasLineKnobs, biasLineParts, hasFixedBias, isSoft } from './bias-line.ts';
import { heaterKnobs, heaterNode, heaterParts } from './heater-supply.ts';
import type { ElectrodeNodes } from './tube-currents.ts';
import { SEPARATE } from './output-push-pull-values.ts';
import { exactKnob, numberOf, partKnob, supplyKnob, textOf } from './values.ts';

/** The parts of a push-pull output stage, and which node each electrode of each tube is on. */

/** Places of the stage: the tube index, and what names of nodes, knobs and measures end in. */
export const PLACES = [0, 1] as const;
export type Place = (typeof PLACES)[number];

/** Knobs and measures of the first place are bare, of the second end in 2. */
export const ofPlace = (name: string, place: Place): string => (place === 0 ? name : `${name}2`);

/** Whether each tube's bias is adjusted by itself. */
export const isAdjusted = (v: StageValues): boolean =>
  hasFixedBias(v) && v['idleCurrent']!.value !== null;

/** Where both grid resistors lead with a bias supply that has a resistance, and no adjusters. */
export const BIAS_NODE = 'c';
export const hasCommonSupply = (v: StageValues): boolean => isSoft(v) && !isAdjusted(v);

/** Where the grid resistor of a place leads. */
export const returnNode = (v: StageValues, place: Place): Node =>
  !hasFixedBias(v) ? '0' : hasCommonSupply(v) ? BIAS_NODE : `c${place + 1}`;

export const hasCathodeResistor = (v: StageValues): boolean =>
  !hasFixedBias(v) && numberOf(v, 'cathodeResistor') > 0;

const isSeparate = (v: StageValues): boolean => textOf(v, 'cathodes') === SEPARATE;

/** Share of each half at which the screens are tapped; 0 where they have a supply. */
const tapShare = (v: StageValues): number => numberOf(v, 'screenTap') / 100;

export const hasFeedback = (v: StageValues): boolean => numberOf(v, 'feedback') > 0;

const plate = (place: Place): Node => `p${place + 1}`;
const grid = (place: Place): Node => `g${place + 1}`;

/** Where a screen or its resistor gets its current. */
function screenSource(v: StageValues, place: Place): Node {
  const share = tapShare(v);
  return share <= 0 ? 'sb' : share >= 1 ? plate(place) : `u${place + 1}`;
}

/** A screen that is tied to its plate is drawn as through a resistor, be it of nothing. */
const hasScreenResistor = (v: StageValues): boolean =>
  numberOf(v, 'screenResistor') > 0 || tapShare(v) >= 1;

/** The same with at least an ohm: no part is a short. */
const atLeastOneOhm = (knob: Uncertain): Uncertain => ({
  ...knob,
  nominal: Math.max(1, knob.nominal),
  toValue: (z) => Math.max(1, knob.toValue(z)),
});

export function electrodeNodes(v: StageValues, tube: TubeModel, place: Place): ElectrodeNodes {
  return {
    plate: plate(place),
    grid: grid(place),
    cathode: !hasCathodeResistor(v) ? '0' : isSeparate(v) ? `k${place + 1}` : 'k',
    ...(tube.family === 'pentode'
      ? { screen: hasScreenResistor(v) ? `s${place + 1}` : screenSource(v, place) }
      : {}),
  };
}

/** Centres of the tubes on the sheet. */
const CENTRES = [
  [18, 30],
  [45, 30],
] as const;
const TRANSFORMER_Y = 14;
const COMMON_SUPPLY_AT = [47, 46] as const;
/** Where both cathodes meet. */
const CATHODE_Y = 59;

function placeParts(v: StageValues, tube: TubeModel, place: Place): (Part | false)[] {
  const pentode = tube.family === 'pentode';
  const [x, y] = CENTRES[place];
  const row = pentode ? y + 2 : y;
  const n = place * 4;
  const [g, a, source, before] = [
    grid(place),
    `a${place + 1}`,
    `in${place + 1}`,
    `before${place + 1}`,
  ];
  return [
    {
      kind: 'signal',
      id: `S${place + 1}`,
      nodes: [source, hasFeedback(v) ? `fb${place + 1}` : '0'],
      at: [x - 16, row + 16],
      name: 'signal',
      ...(place === 0 ? {} : { factor: -1 }),
    },
    {
      kind: 'resistor',
      id: `R${n + 1}`,
      nodes: [source, a],
      value: { knob: 'sourceResistance' },
      at: [x - 16, row + 16],
      orientation: 180,
      edits: 'sourceResistance',
    },
    {
      kind: 'capacitor',
      id: `C${place + 1}`,
      nodes: [a, g],
      value: numberOf(v, 'couplingCapacitor'),
      at: [x - 16, row + 10],
      orientation: 270,
      edits: 'couplingCapacitor',
    },
    {
      kind: 'resistor',
      id: `R${n + 2}`,
      nodes: [before, g],
      value: { knob: ofPlace('couplingLeakage', place) },
      at: [x, row],
      drawn: false,
      edits: ofPlace('couplingLeakage', place),
    },
    {
      kind: 'resistor',
      id: `R${n + 3}`,
      nodes: [g, returnNode(v, place)],
      value: { knob: 'gridResistor' },
      at: [x - 9, row + 11],
      edits: 'gridResistor',
    },
    {
      kind: 'tube',
      id: `V${place + 1}`,
      nodes: { ...electrodeNodes(v, tube, place), heater: heaterNode(v) },
      tube: place,
      at: [x, y],
    },
    pentode &&
      hasScreenResistor(v) && {
        kind: 'resistor',
        id: `R${n + 4}`,
        nodes: [screenSource(v, place), `s${place + 1}`],
        value: { knob: 'screenResistor' },
        at: [x + 8, y - 9],
        edits: 'screenResistor',
      },
    ...(isSeparate(v) ? cathodeParts(v, place, [x + 3, CATHODE_Y]) : []),
    ...(hasFixedBias(v) && !hasCommonSupply(v)
      ? biasLineParts(v, returnNode(v, place), [x - 9, row + 17], {
          supply: `BIAS${place + 1}`,
          resistor: `R${11 + place}`,
          bypass: `C${5 + place}`,
          knob: ofPlace('fixedBias', place),
        })
      : []),
    {
      kind: 'supply',
      id: `D${place + 1}`,
      nodes: [before, '0'],
      value: { knob: ofPlace('couplingFrom', place) },
      at: [x, row],
      drawn: false,
      name: `before C${place + 1}`,
      edits: 'couplingFrom',
    },
    hasFeedback(v) && {
      kind: 'feedback',
      id: `FB${place + 1}`,
      nodes: [`fb${place + 1}`, '0'],
      from: 'out',
      share: { knob: ofPlace('feedbackShare', place) },
      at: [0, 0],
      drawn: false,
    },
  ];
}

/** A cathode resistor and its bypass; of a place, or of both. */
function cathodeParts(
  v: StageValues,
  place: Place | undefined,
  [x, y]: readonly [number, number],
): (Part | false)[] {
  if (!hasCathodeResistor(v)) return [];
  const node = place === undefined ? 'k' : `k${place + 1}`;
  return [
    {
      kind: 'resistor',
      id: `R${9 + (place ?? 0)}`,
      nodes: [node, '0'],
      value: { knob: ofPlace('cathodeResistor', place ?? 0) },
      at: [x, y],
      edits: 'cathodeResistor',
    },
    numberOf(v, 'cathodeBypass') > 0 && {
      kind: 'capacitor',
      id: `C${3 + (place ?? 0)}`,
      nodes: [node, '0'],
      value: numberOf(v, 'cathodeBypass'),
      at: [x + 5, y],
      edits: 'cathodeBypass',
    },
  ];
}

function partsOf(v: StageValues, tube: TubeModel): Part[] {
  const pentode = tube.family === 'pentode';
  const share = pentode ? tapShare(v) : 0;
  const parts: (Part | false)[] = [
    {
      kind: 'supply',
      id: 'B',
      nodes: ['b', '0'],
      value: { knob: 'plateSupply' },
      at: [32, TRANSFORMER_Y],
      name: 'B+',
      edits: 'plateSupply',
    },
    pentode &&
      share <= 0 && {
        kind: 'supply',
        id: 'SB',
        nodes: ['sb', '0'],
        value: { knob: 'screenSupply' },
        at: [25, 30],
        name: 'screens',
        edits: 'screenSupply',
      },
    {
      kind: 'pushPullTransformer',
      id: 'T1',
      nodes: ['b', 'p1', 'p2', 'out'],
      ...(share > 0 && share < 1 ? { taps: { nodes: ['u1', 'u2'], share } } : {}),
      inductance_H: numberOf(v, 'primaryInductance'),
      resistance: { knob: 'primaryResistance' },
      load: { knob: 'loadPlateToPlate' },
      at: [28, TRANSFORMER_Y],
      orientation: 270,
      edits: 'loadPlateToPlate',
    },
    ...PLACES.flatMap((place) => placeParts(v, tube, place)),
    ...(isSeparate(v) ? [] : cathodeParts(v, undefined, [36, CATHODE_Y])),
    ...(hasCommonSupply(v)
      ? biasLineParts(v, BIAS_NODE, COMMON_SUPPLY_AT, {
          supply: 'BIAS',
          resistor: 'R11',
          bypass: 'C5',
        })
      : []),
    ...heaterParts(v),
  ];
  return parts.filter((part): part is Part => part !== false);
}

function spinesOf(): NonNullable<Circuit['spine']> {
  return Object.fromEntries([
    ...PLACES.flatMap((place) => {
      const [x] = CENTRES[place];
      return [
        [plate(place), ['h', TRANSFORMER_Y]],
        [grid(place), ['v', x - 9]],
        [`s${place + 1}`, ['v', x + 8]],
        [`k${place + 1}`, ['h', CATHODE_Y]],
      ] as const;
    }),
    ['k', ['h', CATHODE_Y]],
  ]);
}

/** The same value with an unknown of its own: another part of the same kind. */
const another = (knob: Uncertain): Uncertain => ({ ...knob, unknown: `${knob.unknown}2` });

export function outputPushPullCircuit(
  title: string,
  v: StageValues,
  tubes: readonly TubeModel[],
): Circuit {
  const tube = tubes[0]!;
  const pentode = tube.family === 'pentode';
  const watched = PLACES.flatMap((place) =>
    Object.values(electrodeNodes(v, tubes[place] ?? tube, place)),
  ).filter((node) => node !== '0');
  const returns = isSoft(v) ? PLACES.map((place) => returnNode(v, place)) : [];
  return {
    title,
    parts: partsOf(v, tube),
    tubes,
    knobs: {
      plateSupply: supplyKnob(v, 'plateSupply'),
      ...(pentode && tapShare(v) <= 0 ? { screenSupply: supplyKnob(v, 'screenSupply') } : {}),
      ...(pentode && hasScreenResistor(v)
        ? { screenResistor: atLeastOneOhm(partKnob(v, 'screenResistor')) }
        : {}),
      ...biasLineKnobs(v),
      ...(hasFixedBias(v) ? { fixedBias2: supplyKnob(v, 'fixedBias') } : {}),
      ...(hasCathodeResistor(v) ? { cathodeResistor: partKnob(v, 'cathodeResistor') } : {}),
      ...(hasCathodeResistor(v) && isSeparate(v)
        ? { cathodeResistor2: another(partKnob(v, 'cathodeResistor')) }
        : {}),
      ...(hasFeedback(v)
        ? {
            feedbackShare: exactKnob(0, 'feedbackShare'),
            feedbackShare2: exactKnob(0, 'feedbackShare'),
          }
        : {}),
      couplingFrom: supplyKnob(v, 'couplingFrom'),
      couplingFrom2: supplyKnob(v, 'couplingFrom'),
      couplingLeakage: exactKnob(numberOf(v, 'couplingLeakage'), 'couplingLeakage'),
      couplingLeakage2: exactKnob(numberOf(v, 'couplingLeakage2'), 'couplingLeakage2'),
      gridResistor: partKnob(v, 'gridResistor'),
      sourceResistance: atLeastOneOhm(partKnob(v, 'sourceResistance')),
      primaryResistance: partKnob(v, 'primaryResistance'),
      loadPlateToPlate: partKnob(v, 'loadPlateToPlate'),
      ...heaterKnobs(v),
    },
    spine: spinesOf(),
    named: {
      ...(pentode && tapShare(v) > 0 && tapShare(v) < 1
        ? { u1: 'tap of T1', u2: 'tap of T1' }
        : {}),
      ...(hasFeedback(v) ? { fb1: 'feedback', fb2: 'feedback' } : {}),
      ...(hasCommonSupply(v) ? { [BIAS_NODE]: 'bias line' } : {}),
    },
    watch: [...new Set(['b', 'out', ...returns, ...watched])],
  };
}
