import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { tubeKnobValue } from '../../src/circuit/knobs.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import type { OptionalKnob, SimRequest, Simulator, TubeModel } from '../../src/types.ts';
import { modelOf, samplesFor, type Sample } from './samples.ts';

/** One `.dc` table: every row sets the pin voltages and the knobs, ammeters read the pins. */
function request(
  model: TubeModel,
  samples: readonly Sample[],
  zero?: ReadonlySet<OptionalKnob>,
): SimRequest {
  const spice = model.spice(zero);
  const column = (name: string, value: (sample: Sample) => number) =>
    `B${name} ${name} 0 V=pwl(v(row),${samples.map((sample, i) => `${i},${value(sample)}`).join(',')})`;
  const runId = `parity-${model.device}`;
  return {
    runId,
    netlist: [
      `* stagefit ${runId}`,
      spice.text,
      `Xtube ${spice.pins.map((pin) => `pin_${pin}`).join(' ')} ${spice.knobs.map((knob) => `knob_${knob}`).join(' ')} ${spice.name}`,
      ...spice.pins.flatMap((pin) => [
        column(`set_${pin}`, ({ volts }) => volts[pin] ?? 0),
        `V${pin} set_${pin} pin_${pin} 0`,
      ]),
      ...spice.knobs.map((knob) =>
        column(`knob_${knob}`, ({ state }) => tubeKnobValue(state, knob)),
      ),
      'Vrow row 0 0',
      '.options reltol=1e-9 vntol=1e-13 abstol=1e-17 itl1=500 itl2=500',
      `.save ${spice.pins.map((pin) => `i(v${pin})`).join(' ')}`,
      `.dc Vrow 0 ${samples.length - 1} 1`,
      '.end',
    ].join('\n'),
    analysis: 'dc',
    need: spice.pins.map((pin) => `i(v${pin})`.toLowerCase()),
    points: samples.length,
    end: samples.length - 1,
  };
}

describe('the two texts of one equation', () => {
  let engine: Simulator;
  beforeAll(() => {
    engine = nodeSimulator();
  });
  afterAll(() => {
    engine.close();
  });

  /** Where text and equations differ by more than 1e-6, above 1 nA. */
  async function apart(
    model: TubeModel,
    samples: readonly Sample[],
    zero?: ReadonlySet<OptionalKnob>,
  ): Promise<string[]> {
    const result = await engine.run(request(model, samples, zero), { timeout_ms: 60_000 });
    if (!result.ok) throw new Error(`${result.why}: ${result.text}`);
    let compared = 0;
    const found: string[] = [];
    samples.forEach(({ volts, state }, row) => {
      const pins = model.currents(volts, state);
      for (const pin of model.electrodes) {
        const expected = pins[pin] ?? NaN;
        const seen = result.vectors[`i(v${pin})`.toLowerCase()]?.[row] ?? NaN;
        if (Math.abs(expected) < 1e-9 && Math.abs(seen) < 1e-9) continue;
        compared += 1;
        if (!(Math.abs(seen - expected) <= 1e-6 * Math.abs(expected)))
          found.push(
            `${JSON.stringify(volts)} ${JSON.stringify(state)} ${pin}: ${seen} for ${expected}`,
          );
      }
    });
    // The grid of voltages must really reach conduction.
    expect(compared).toBeGreaterThan(samples.length);
    return found;
  }

  it.each([
    ['triode', '12AX7'],
    ['triode with a long tail', '12AU7'],
    ['sharp-cutoff pentode', '6AU6'],
    ['remote-cutoff pentode', '6BA6'],
    ['beam tube', '6V6GT'],
    ['pentagrid converter', '6BE6'],
    ['rectifier', '5Y3GT'],
  ])(
    'agree to 1e-6 above 1 nA for a %s, worn and new, far beyond its ratings',
    async (_, type) => {
      const model = modelOf(type);
      expect(await apart(model, samplesFor(model.electrodes))).toEqual([]);
    },
    60_000,
  );

  it.each<[string, OptionalKnob[]]>([
    ['no interface', ['interface_ohm']],
    ['none of them', ['gas_ppm', 'gridEmission_uA', 'interface_ohm']],
  ])(
    'agree where the text leaves out what no row asks for: %s',
    async (_, knobs) => {
      for (const type of ['12AX7', '6V6GT', '6BE6', '5Y3GT']) {
        const model = modelOf(type);
        const samples = samplesFor(model.electrodes).map(({ volts, state }) => ({
          volts,
          state: {
            ...state,
            ...(knobs.includes('gas_ppm') ? { gasRatio: 0 } : {}),
            ...(knobs.includes('gridEmission_uA') ? { gridEmission_A: 0 } : {}),
            ...(knobs.includes('interface_ohm') ? { interface_ohm: 0 } : {}),
          },
        }));
        expect(await apart(model, samples, new Set(knobs))).toEqual([]);
        expect(model.spice(new Set(knobs)).text.length).toBeLessThan(model.spice().text.length);
      }
    },
    60_000,
  );
});

describe('SPICE text of a tube', () => {
  it('never names two nodes alike after lower-casing, nor after an operator', () => {
    for (const type of ['12AX7', '6BA6', '6V6GT', '6BE6', '6AL5']) {
      const { text, name } = modelOf(type).spice();
      const nodes = [...text.matchAll(/^R\S+ (\S+) 0 1$/gm)].map((match) =>
        match[1]?.toLowerCase(),
      );
      const pins = /^\.subckt \S+ (.*)$/m.exec(text)?.[1]?.split(' ') ?? [];
      expect(new Set([...nodes, ...pins]).size).toBe(nodes.length + pins.length);
      for (const operator of ['gt', 'lt', 'ge', 'le', 'eq', 'ne', 'and', 'or', 'not', 'mod'])
        expect([...nodes, ...pins]).not.toContain(operator);
      expect(name).toMatch(/^T[A-Za-z0-9_]+$/);
    }
  });

  it('has another name for another set of parameters', () => {
    expect(modelOf('6SN7GT').spice().name).not.toBe(modelOf('12AX7').spice().name);
  });
});
