import { STAGES } from '../../src/stage/catalogue.ts';
import { defaultValues } from '../../src/stage/values.ts';
import type { Drawing, DrawingOptions, DrawnCircuit } from '../../src/drawing/drawing.ts';
import { layOut } from '../../src/drawing/layout.ts';
import type { Electrode, Family, Part, Stage, StageValues, TubeModel } from '../../src/types.ts';

/** Every stage as it can be drawn: each family it takes, its defaults, and each value at 0 or at another choice. */

const ELECTRODES: Readonly<Record<Family, readonly Electrode[]>> = {
  diode: ['plate', 'cathode', 'heater'],
  triode: ['plate', 'grid', 'cathode', 'heater'],
  pentode: ['plate', 'screen', 'grid', 'cathode', 'heater'],
  pentagrid: ['plate', 'screen', 'signalGrid', 'oscillatorGrid', 'cathode', 'heater'],
};

/** Circuits are drawn and never simulated here: a model without equations will do, and says so if it is asked. */
function modelOf(family: Family): TubeModel {
  const refuse = (): never => {
    throw new Error('a drawing asked a tube for its equations');
  };
  return {
    family,
    device: 'drawn',
    parameters: {},
    capacitances: { gridPlate: 1e-12, input: 1e-12, output: 1e-12 },
    electrodes: ELECTRODES[family],
    currents: refuse,
    spice: refuse,
  };
}

/** Invented; the widest numbers a base has. */
const PIN_NUMBERS: Readonly<Partial<Record<Electrode, string>>> = {
  plate: '10',
  screen: '11',
  grid: '12',
  signalGrid: '12',
  oscillatorGrid: '9',
  cathode: '8',
  heater: '4, 5',
};

export interface Variant {
  readonly name: string;
  readonly stage: Stage;
  readonly circuit: DrawnCircuit;
  readonly options: DrawingOptions;
  readonly drawing: Drawing;
}

/** Values that change which parts there are: zero where it is allowed, each choice, and the ends of the range. */
function otherValues(stage: Stage): (readonly [string, StageValues])[] {
  const base = defaultValues(stage.values);
  return Object.entries(stage.values).flatMap(([key, spec]): [string, StageValues][] => {
    const set = (value: number | string): [string, StageValues] => [
      `${key} ${value}`,
      { ...base, [key]: { ...base[key]!, value } },
    ];
    if (spec.choices !== undefined)
      return spec.choices.filter((choice) => choice !== spec.default).map(set);
    if (spec.list === true) return [];
    return [...(spec.low <= 0 && spec.high >= 0 ? [0] : []), spec.low, spec.high]
      .filter((value, i, all) => value !== spec.default && all.indexOf(value) === i)
      .map(set);
  });
}

/** Fixed bias behind a resistance, from one supply and, where the stage has adjusters, from each. */
function softBias({ values, biasLine }: Stage): (readonly [string, StageValues])[] {
  if (biasLine === undefined) return [];
  const base = defaultValues(values);
  const soft = { fixedBias: -19, biasSupplyResistance: 47e3 };
  return [soft, ...biasLine.excludes.eachTube.map((key) => ({ ...soft, [key]: 0.03 }))].map(
    (given) => [
      Object.keys(given).join(' '),
      {
        ...base,
        ...Object.fromEntries(
          Object.entries(given).map(([key, value]) => [key, { ...base[key]!, value }]),
        ),
      },
    ],
  );
}

function leakOf(circuit: DrawnCircuit, between: readonly [Electrode, Electrode]): DrawingOptions {
  const tube = circuit.parts.find((part: Part) => part.kind === 'tube');
  if (tube === undefined) return {};
  return {
    leak: {
      tube: tube.id,
      between,
      status: 'unsuitable',
      lines: ['leak', '290\u00a0MΩ', '0.51\u00a0µA'],
    },
  };
}

function variantOf(
  name: string,
  stage: Stage,
  values: StageValues,
  family: Family,
  between: readonly [Electrode, Electrode],
): Variant {
  const tubes = Array.from({ length: stage.tubes }, () => modelOf(family));
  const circuit = stage.circuit(values, tubes);
  const options = {
    values,
    tubeTypes: tubes.map((_, i) => `12AX7W${'ABCD'[i]}`),
    pinNumbers: Object.fromEntries(
      circuit.parts.filter((part) => part.kind === 'tube').map((part) => [part.id, PIN_NUMBERS]),
    ),
    ...leakOf(circuit, between),
  };
  return { name, stage, circuit, options, drawing: layOut(circuit, options) };
}

const toGrid = (family: Family): readonly [Electrode, Electrode] =>
  family === 'triode'
    ? ['plate', 'grid']
    : family === 'pentode'
      ? ['screen', 'grid']
      : family === 'pentagrid'
        ? ['screen', 'signalGrid']
        : ['heater', 'cathode'];

export const VARIANTS: readonly Variant[] = STAGES.flatMap((stage) =>
  stage.families.flatMap((family) => {
    const base = defaultValues(stage.values);
    const name = `${stage.id} ${family}`;
    return [
      variantOf(name, stage, base, family, toGrid(family)),
      variantOf(`${name} leak heater to cathode`, stage, base, family, ['heater', 'cathode']),
      ...[...otherValues(stage), ...softBias(stage)].map(([change, values]) =>
        variantOf(`${name} ${change}`, stage, values, family, toGrid(family)),
      ),
      variantOf(
        `${name} every optional part left out`,
        stage,
        zeroed(stage, base),
        family,
        toGrid(family),
      ),
    ];
  }),
);

function zeroed(stage: Stage, base: StageValues): StageValues {
  const may = Object.entries(stage.values).filter(
    ([, spec]) => spec.low === 0 && typeof spec.default === 'number',
  );
  return { ...base, ...Object.fromEntries(may.map(([key]) => [key, { ...base[key]!, value: 0 }])) };
}
