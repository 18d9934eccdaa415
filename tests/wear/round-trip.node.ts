/** `npm run accuracy:readings`: how often the 90 % intervals hold the truth, as the block that the README carries. */
import { BENCHES, OUTPUT, SMALL } from './benches.ts';
import { cases, holds, PLANS, type Quantity } from './round-trip.ts';

/** 5 benches × 3 plans × 68 tubes, half of them output tubes. */
const EACH = 68;
const TITLES: Readonly<Record<Quantity, string>> = {
  area: 'area of the cathode',
  saturation: 'saturation current',
  leak: 'grid leakage, hot in the set',
  gas: 'gas ratio',
  heaterCathode: 'heater to cathode leakage',
};

type Tally = { held: number; told: number };
const all = new Map<Quantity, Tally>();
const byPlan = new Map<string, Map<Quantity, Tally>>();
let tubes = 0;
for (const [bench, profile] of Object.entries(BENCHES))
  for (const [plan, readings] of Object.entries(PLANS)) {
    const own = byPlan.get(plan) ?? new Map<Quantity, Tally>();
    byPlan.set(plan, own);
    const of = [OUTPUT, SMALL].map((tube) =>
      cases(EACH / 2, `${bench} ${plan} script`, profile, tube, readings).map((one) => ({
        one,
        tube,
      })),
    );
    for (const { one, tube } of of.flat()) {
      tubes += 1;
      for (const [quantity, held] of Object.entries(holds(one, profile, tube)))
        for (const tally of [all, own]) {
          const before = tally.get(quantity as Quantity) ?? { held: 0, told: 0 };
          tally.set(quantity as Quantity, {
            held: before.held + (held ? 1 : 0),
            told: before.told + 1,
          });
        }
    }
  }

const cell = (tally: Tally | undefined): string =>
  tally === undefined || tally.told === 0
    ? 'not told'
    : `${String(Math.round((100 * tally.held) / tally.told))} % of ${String(tally.told)}`;
const plans = Object.keys(PLANS);
const lines = [
  '<!-- round-trip:start -->',
  `${String(tubes)} invented tubes of known wear, read on ${String(Object.keys(BENCHES).length)} invented benches with their errors and read back: how often the 90 % interval holds the truth.`,
  '',
  `| wear | all | ${plans.join(' | ')} |`,
  `|---|---|${plans.map(() => '---|').join('')}`,
  ...(Object.keys(TITLES) as Quantity[]).map(
    (quantity) =>
      `| ${TITLES[quantity]} | ${cell(all.get(quantity))} | ${plans.map((plan) => cell(byPlan.get(plan)?.get(quantity))).join(' | ')} |`,
  ),
  '<!-- round-trip:end -->',
];
process.stdout.write(`${lines.join('\n')}\n`);
