import { readFileSync } from 'node:fs';
import { afterAll, describe, expect, it } from 'vitest';
import { summariseErrors } from '../../models/error-summary.ts';
import { nodeSimulator } from '../../src/simulation/node/simulator.ts';
import { allDevices } from '../../models/catalogue.ts';
import { modelAccuracy, stageAccuracy, type Accuracy } from './figures.ts';
import { CHART, TYPICAL_OPERATION, drivenSeenByFit, seenByFit } from './published-stages.ts';

const simulator = nodeSimulator({ workers: 2 });
afterAll(() => {
  simulator.close();
});
const tracked = JSON.parse(
  readFileSync(new URL('../accuracy.json', import.meta.url), 'utf8'),
) as Accuracy;

/** Half a percentage point of room: another machine's last digits, never another model. */
function notWorse(now: Accuracy): void {
  for (const [title, figure] of Object.entries(now)) {
    const before = tracked[title];
    expect(before, `${title} is tracked: npm run accuracy`).toBeDefined();
    if (before === undefined) continue;
    expect(figure.points, `${title}: points`).toBeGreaterThanOrEqual(before.points);
    expect(figure.median_percent, `${title}: median`).toBeLessThanOrEqual(
      before.median_percent + 0.1,
    );
    expect(figure.p90_percent, `${title}: 90 %`).toBeLessThanOrEqual(before.p90_percent + 0.5);
  }
}

describe('the tracked accuracy', () => {
  it('leaves out exactly the stage rows that a fit has seen', () => {
    const devices = allDevices();
    const inFiles = (kind: string) =>
      devices.flatMap(({ units }) =>
        units.flatMap(({ points }) => points.filter((p) => p.kind === kind && p.use === 'fit')),
      ).length;
    const device = (type: string) => devices.find(({ id }) => id === type)!;
    expect(CHART.filter((row) => seenByFit(device(row.type), row).gain)).toHaveLength(
      inFiles('coupled'),
    );
    expect(TYPICAL_OPERATION.filter((row) => drivenSeenByFit(device(row.type), row))).toHaveLength(
      inFiles('driven'),
    );
  });

  it('of the models is no worse than tests/accuracy.json says', () => {
    notWorse(modelAccuracy());
  });

  it('of the stages is no worse than tests/accuracy.json says', { timeout: 300_000 }, async () => {
    notWorse(await stageAccuracy(simulator));
  });

  it('of plate current and transconductance meets its target', () => {
    const now = modelAccuracy();
    expect(now['plate current']?.median_percent).toBeLessThanOrEqual(1.5);
    expect(now['plate current']?.p90_percent).toBeLessThanOrEqual(4);
    expect(now['transconductance']?.median_percent).toBeLessThanOrEqual(3);
    expect(now['transconductance']?.p90_percent).toBeLessThanOrEqual(8);
    expect(now['plate resistance']?.p90_percent).toBeLessThanOrEqual(15);
  });
});

describe('a summary of errors', () => {
  it('counts sizes, by nearest rank, and names the worst first', () => {
    const errors = [1, -2, 3, -4, 5, -6, 7, -8, 9, -10].map((error_percent) => ({
      name: `row ${error_percent}`,
      error_percent,
    }));
    expect(summariseErrors(errors)).toEqual({
      points: 10,
      median_percent: 5,
      p90_percent: 9,
      worst: [
        'row -10: -10.0 %',
        'row 9: 9.0 %',
        'row -8: -8.0 %',
        'row 7: 7.0 %',
        'row -6: -6.0 %',
      ],
    });
  });
});
