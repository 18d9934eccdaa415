import type { Circuit, Part, StageValues, TubeModel } from '../types.ts';
import { biasLineKnobs, biasLineParts, hasFixedBias, isSoft } from './bias-line.ts';
import { capacitorInput, gridInputKnobs } from './grid-input.ts';
import { heaterKnobs, heaterNode, heaterParts } from './heater-supply.ts';
import type { ElectrodeNodes } from './tube-currents.ts';
import { numberOf, partKnob, supplyKnob } from './values.ts';

/** The parts of a single-ended output stage, and which node each electrode is on. */

/** Where the grid resistor leads with fixed bias. */
export const BIAS_NODE = 'c';

export const hasCathodeResistor = (v: StageValues): boolean =>
  !hasFixedBias(v) && numberOf(v, 'cathodeResistor') > 0;

const hasScreenDropper = (v: StageValues): boolean => numberOf(v, 'screenDropper') > 0;

export function electrodeNodes(v: StageValues, tube: TubeModel): ElectrodeNodes {
  return {
    plate: 'p',
    grid: 'g',
    cathode: hasCathodeResistor(v) ? 'k' : '0',
    ...(tube.family === 'pentode' ? { screen: hasScreenDropper(v) ? 's' : 'sb' } : {}),
  };
}

export function outputSingleEndedParts(v: StageValues, tube: TubeModel): Part[] {
  const pentode = tube.family === 'pentode';
  const dropper = pentode && hasScreenDropper(v);
  const row = pentode ? 24 : 22;
  const parts: (Part | false)[] = [
    {
      kind: 'supply',
      id: 'B',
      nodes: ['b', '0'],
      value: { knob: 'plateSupply' },
      at: [33, 3],
      name: 'B+',
      edits: 'plateSupply',
    },
    pentode && {
      kind: 'supply',
      id: 'SB',
      nodes: ['sb', '0'],
      value: { knob: 'screenSupply' },
      at: [48, 14],
      name: 'screen supply',
      edits: 'screenSupply',
    },
    ...(hasFixedBias(v)
      ? biasLineParts(v, BIAS_NODE, [19, row + 6], { supply: 'C', resistor: 'R6', bypass: 'C4' })
      : []),
    ...capacitorInput(v, row, hasFixedBias(v) ? BIAS_NODE : '0'),
    {
      kind: 'tube',
      id: 'V1',
      nodes: { ...electrodeNodes(v, tube), heater: heaterNode(v) },
      tube: 0,
      at: [33, 22],
    },
    {
      kind: 'outputTransformer',
      id: 'T1',
      nodes: ['b', 'core', 'p'],
      inductance_H: numberOf(v, 'primaryInductance'),
      resistance: { knob: 'primaryResistance' },
      load: { knob: 'loadResistance' },
      at: [33, 3],
      edits: 'loadResistance',
    },
    hasCathodeResistor(v) && {
      kind: 'resistor',
      id: 'R4',
      nodes: ['k', '0'],
      value: { knob: 'cathodeResistor' },
      at: [36, 30],
      edits: 'cathodeResistor',
    },
    hasCathodeResistor(v) &&
      numberOf(v, 'cathodeBypass') > 0 && {
        kind: 'capacitor',
        id: 'C2',
        nodes: ['k', '0'],
        value: numberOf(v, 'cathodeBypass'),
        at: [43, 30],
        edits: 'cathodeBypass',
      },
    dropper && {
      kind: 'resistor',
      id: 'R5',
      nodes: ['sb', 's'],
      value: { knob: 'screenDropper' },
      at: [48, 16],
      edits: 'screenDropper',
    },
    dropper &&
      numberOf(v, 'screenBypass') > 0 && {
        kind: 'capacitor',
        id: 'C3',
        nodes: ['s', '0'],
        value: numberOf(v, 'screenBypass'),
        at: [48, 22],
        edits: 'screenBypass',
      },
    ...heaterParts(v),
  ];
  return parts.filter((part): part is Part => part !== false);
}

export function outputSingleEndedCircuit(
  title: string,
  v: StageValues,
  tubes: readonly TubeModel[],
): Circuit {
  const tube = tubes[0]!;
  const pentode = tube.family === 'pentode';
  const watched = Object.values(electrodeNodes(v, tube)).filter((node) => node !== '0');
  return {
    title,
    parts: outputSingleEndedParts(v, tube),
    tubes,
    knobs: {
      plateSupply: supplyKnob(v, 'plateSupply'),
      ...(pentode ? { screenSupply: supplyKnob(v, 'screenSupply') } : {}),
      ...(pentode && hasScreenDropper(v) ? { screenDropper: partKnob(v, 'screenDropper') } : {}),
      ...biasLineKnobs(v),
      ...(hasCathodeResistor(v) ? { cathodeResistor: partKnob(v, 'cathodeResistor') } : {}),
      ...gridInputKnobs(v),
      primaryResistance: partKnob(v, 'primaryResistance'),
      loadResistance: partKnob(v, 'loadResistance'),
      ...heaterKnobs(v),
    },
    spine: { g: ['h', pentode ? 24 : 22] },
    watch: [...new Set(['b', ...(isSoft(v) ? [BIAS_NODE] : []), ...watched])],
  };
}
