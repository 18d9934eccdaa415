import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/numerics/random.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import type { Electrode, SimRequest, Simulator, TubeModel } from '../../src/types.ts';
import { modelOf } from './samples.ts';

const NODE: Readonly<Partial<Record<Electrode, string>>> = {
  plate: 'p',
  screen: 's',
  grid: 'g',
  oscillatorGrid: 'g',
  signalGrid: 'g3',
  cathode: 'k',
};

/** A stage of random resistances, supply and drive around a tube in any state of wear. Invented, wider than any set. */
function randomCircuit(model: TubeModel, index: number): SimRequest {
  const random = seededRandom(`${model.device} ${index}`);
  const log = (low: number, high: number) => (low * (high / low) ** random.next()).toPrecision(6);
  const linear = (low: number, high: number) => (low + (high - low) * random.next()).toPrecision(6);
  const spice = model.spice();
  const runId = `random-${index}`;
  return {
    runId,
    netlist: [
      `* stagefit ${runId}`,
      spice.text,
      `Xt ${spice.pins.map((pin) => NODE[pin]).join(' ')} wa ws wg we wc wi ${spice.name}`,
      `Vb b 0 ${linear(20, 450)}`,
      `Rp b p ${log(1e3, 1e6)}`,
      ...(spice.pins.includes('screen') ? [`Rs b s ${log(100, 2e6)}`] : []),
      ...(spice.pins.includes('signalGrid')
        ? [`Vg3 in3 0 ${linear(-30, 5)}`, `Rg3 in3 g3 ${log(1e3, 5e6)}`]
        : []),
      `Rk k 0 ${log(10, 100e3)}`,
      `Vg in 0 ${linear(-50, 50)}`,
      `Rg in g ${log(1e3, 22e6)}`,
      `Rpg p g ${log(1e6, 1e12)}`,
      `Rgk g k ${log(1e6, 1e12)}`,
      `Vwa wa 0 ${linear(0.1, 1)}`,
      `Vws ws 0 ${log(0.1, 1000)}`,
      `Vwg wg 0 ${log(0.1, 1000)}`,
      `Vwe we 0 ${log(1e-3, 10)}`,
      `Vwc wc 0 ${linear(-0.4, 0.4)}`,
      `Vwi wi 0 ${random.next() < 0.5 ? 0 : log(1, 2000)}`,
      '.options klu reltol=1e-4 vntol=1e-6 abstol=1e-12 itl1=300 itl2=200',
      '.save v(p) v(g) v(k)',
      '.op',
      '.end',
    ].join('\n'),
    analysis: 'op',
    need: ['v(p)', 'v(g)', 'v(k)'],
    points: 1,
  };
}

describe('random circuits', () => {
  let engine: Simulator;
  beforeAll(() => {
    engine = nodeSimulator();
  });
  afterAll(() => {
    engine.close();
  });

  it.each(['12AX7', '6AU6', '6BA6', '6V6GT', '6BE6'])(
    'around a %s, worn in every way, all find an operating point',
    async (type) => {
      const model = modelOf(type);
      const failed: string[] = [];
      for (let index = 0; index < 100; index += 1) {
        const result = await engine.run(randomCircuit(model, index), { timeout_ms: 20_000 });
        if (!result.ok) failed.push(`${index}: ${result.why} ${result.text.slice(0, 80)}`);
      }
      expect(failed).toEqual([]);
    },
    60_000,
  );
});
