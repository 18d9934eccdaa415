import { afterAll, describe, expect } from 'vitest';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import type { SimRequest, SimResult } from '../../src/types.ts';
import { BAD, CHARGING, DIVIDER, LOW_PASS, TABLE } from '../engine/circuits.ts';
import { runNative, testWithNative } from '../native-ngspice.ts';

const simulator = nodeSimulator();
afterAll(() => simulator.close());

/** A square-law device on a load, its grid swept by a table: every construct that a stage's netlist is made of. */
const SQUARE_LAW: SimRequest = {
  runId: 'squareLaw',
  netlist: `* stagefit squareLaw
.subckt square p g k
Bd d 0 V=v(g,k)+4
Bs s 0 V=v(d)>40 ? v(d) : ln(1+exp(v(d)))
Bi i 0 V=0.3*v(s)*v(s)*(1-exp(-(v(p,k)+abs(v(p,k)))/20))
Fp p k Vi 1e-3
Vi i i0 0
Ri i0 0 1
.ends
Vbb bb 0 250
Rload bb p 47k
Rk k 0 820
X1 p g k square
Vrow row 0 0
Bg g 0 V=pwl(v(row),0,-6,1,-3.5,2,-2,3,-0.5,4,1.5)
.save v(p) v(k) v(g)
.options reltol=1e-6 vntol=1e-7 abstol=1e-11
.dc Vrow 0 4 1
.end
`,
  analysis: 'dc',
  need: ['v(p)', 'v(k)', 'v(g)'],
  points: 5,
  end: 4,
};

function vectorsOf(result: SimResult): Readonly<Record<string, Float64Array>> {
  if (!result.ok) throw new Error(`${result.why}: ${result.text}`);
  return result.vectors;
}

describe('the port of the engine against the native ngspice on the very same netlist', () => {
  for (const request of [DIVIDER, TABLE, LOW_PASS, SQUARE_LAW])
    testWithNative(`${request.runId}: every needed vector, within 1e-6`, async () => {
      const ours = vectorsOf(await simulator.run(request));
      const native = vectorsOf(runNative(request));
      for (const name of request.need)
        ours[name]!.forEach((value, i) =>
          expect(Math.abs(value - native[name]![i]!)).toBeLessThanOrEqual(
            1e-6 * Math.max(1, Math.abs(value)),
          ),
        );
    });

  testWithNative('the square-law device really moves with its table', async () => {
    const plate = vectorsOf(await simulator.run(SQUARE_LAW))['v(p)']!;
    expect(Math.max(...plate) - Math.min(...plate)).toBeGreaterThan(50);
  });

  testWithNative('charging: the end of a transient, within 1e-4', async () => {
    const ours = vectorsOf(await simulator.run(CHARGING))['v(2)']!;
    const native = vectorsOf(runNative(CHARGING))['v(2)']!;
    expect(ours.at(-1)).toBeCloseTo(native.at(-1)!, 4);
  });

  const gaveUp = BAD.filter(({ why }) => why === 'noConvergence');
  for (const { what, request } of gaveUp)
    testWithNative(`${what}: refused there too`, () => {
      expect(runNative(request)).toMatchObject({ ok: false, why: 'noConvergence' });
    });
});
