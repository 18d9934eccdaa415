/** `npm run accuracy:readings`: how often the 90 % intervals hold the truth, as the block that the README carries. */
import { BENCHES, OUTPUT, SMALL } from './benches.ts';
import { cases, holds, PLANS, type Quantity } from './round-trip.ts';

/** Tubes a bench and plan, half of them output tubes. */
const EACH = 500;
const TITLES: Readonly<Record<Quantity, string>> = {
  area: 'area of the cathode',
  saturation: 'saturation current',
  leak: 'grid leakage, hot in the set',
  gas: 'gas ratio',
  gridEmission: 'emission of the grid',
  heaterCathode: 'heater to cathode leakage',
};

type Tally = { held: number; told: number };
type Column = Map<Quantity, Tally>;
const all: Column = new Map();
const byPlan = new Map<string, Column>(Object.keys(PLANS).map((plan) => [plan, new Map()]));
const byBench = new Map<string, Column>(Object.keys(BENCHES).map((bench) => [bench, new Map()]));
let tubes = 0;
for (const [bench, profile] of Object.entries(BENCHES))
  for (const [plan, readings] of Object.entries(PLANS))
    for (const tube of [OUTPUT, SMALL])
      for (const one of cases(
        EACH / 2,
        `${bench} ${plan} ${tube.device}`,
        profile,
        tube,
        readings,
      )) {
        tubes += 1;
        for (const [quantity, held] of Object.entries(holds(one, profile, tube)))
          for (const column of [all, byPlan.get(plan), byBench.get(bench)]) {
            const before = column?.get(quantity as Quantity) ?? { held: 0, told: 0 };
            column?.set(quantity as Quantity, {
              held: before.held + (held ? 1 : 0),
              told: before.told + 1,
            });
          }
      }

const cell = (tally: Tally | undefined): string =>
  tally === undefined || tally.told === 0
    ? 'not told'
    : `${String(Math.round((100 * tally.held) / tally.told))} % of ${String(tally.told)}`;

function table(columns: ReadonlyMap<string, Column>): string[] {
  const names = [...columns.keys()];
  return [
    `| wear | ${names.join(' | ')} |`,
    `|---|${names.map(() => '---|').join('')}`,
    ...(Object.keys(TITLES) as Quantity[]).map(
      (quantity) =>
        `| ${TITLES[quantity]} | ${names.map((name) => cell(columns.get(name)?.get(quantity))).join(' | ')} |`,
    ),
  ];
}

const lines = [
  '<!-- round-trip:start -->',
  `${String(tubes)} invented tubes of known wear, read on ${String(byBench.size)} invented benches with their errors and read back: how often the 90 % interval holds the truth. By what was read:`,
  '',
  ...table(new Map([['all', all], ...byPlan])),
  '',
  'By the bench:',
  '',
  ...table(byBench),
  '<!-- round-trip:end -->',
];
process.stdout.write(`${lines.join('\n')}\n`);
