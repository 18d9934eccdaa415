import { inSet, keptCheck, type InSetOptions } from '../../decide/in-set/in-set.ts';
import { Problem } from '../../problem.ts';
import { inSetTable } from '../../report/in-set-table.ts';
import { inSetText } from '../../report/in-set-text.ts';
import { nodeSimulator } from '../../simulation/node/simulator.ts';
import { parseQuantity } from '../../units/quantity.ts';
import type { Unit } from '../../types.ts';
import type { Command } from '../command.ts';
import { checkForms, document, FORMS } from '../forms.ts';
import { oneCaseOf } from '../one-case.ts';
import { seedOf } from '../options.ts';
import { doubts } from '../scenario.ts';

export const inSetCommand: Command = {
  name: 'in-set',
  usage:
    'in-set SCENARIO --tube ID --socket ID [--read "grid=-0.4 V"]… [--meter 10M] [--meter-accuracy 3] [--seed N] [--device FILE] [--json | --csv]',
  summary: 'what a meter should read in the set, and what explains what it did read',
  help: `Says what a meter should read at each pin, for a new tube and for this one, its own loading
included. Type what you read, and it says which explanation fits best: the tube as screened, a
leak, gas, a leaky capacitor, a drifted resistor, the line; and which measurement comes next.

  stagefit in-set my-radio.json --tube "tin 9" --socket V3
  stagefit in-set my-radio.json --tube "tin 9" --socket V3 --read "grid=-0.4 V" --read "plate=231 V"
  stagefit in-set my-radio.json --tube "tin 9" --socket V3 --read "grid=0.9" --read "grid@pulled=0.85"

--read POINT=VOLTS, any number of times, to chassis; the points are named in the table. A reading
taken after something was done is POINT@WHAT=VOLTS; the answer names what can be done.
Readings kept in the scenario under "inSet" are taken too.
--meter is the meter's input resistance (10M), --meter-accuracy its error in percent (3).

The voltages in these sets kill. Follow local codes and a licensed practitioner.

Exit code: 0 nothing read, or the readings are as expected of this tube; 1 something else explains
them better; 2 usage or input; 3 a simulation failed.`,
  options: {
    tube: 'value',
    socket: 'value',
    read: 'list',
    meter: 'value',
    'meter-accuracy': 'value',
    seed: 'value',
    device: 'list',
    ...FORMS,
  },
  positionals: { least: 1, most: 1 },
  async run({ positionals, options }) {
    checkForms(options);
    const { given, scenario } = await oneCaseOf(positionals[0]!, options, true);
    const kept = keptCheck(scenario, given);
    const read = options['read'];
    const simulator = nodeSimulator({ workers: 2 });
    try {
      const report = await inSet(given, simulator, {
        meter: {
          ohms: numberFrom(options['meter'], '--meter', 'ohm', 1e3, 1e12) ?? kept.meter.ohms,
          accuracy_percent:
            numberFrom(options['meter-accuracy'], '--meter-accuracy', '%', 0.01, 20) ??
            kept.meter.accuracy_percent,
        },
        readings: [
          ...kept.readings,
          ...(Array.isArray(read) ? (read as readonly string[]) : []).map(readingFrom),
        ],
        seed: seedOf(options['seed']) ?? 1,
      });
      process.stdout.write(
        document(options, {
          json: () => report,
          csv: () => inSetTable(report),
          text: () => `${doubts(scenario)}${inSetText(report)}`,
        }),
      );
      if (report.lines.some(({ thisTube }) => thisTube === null)) return 3;
      const first = report.diagnosis?.explanations[0];
      return first === undefined || first.id === 'asScreened' ? 0 : 1;
    } finally {
      simulator.close();
    }
  },
};

/** "grid=-0.4 V", "grid@pulled=0.85". */
function readingFrom(text: string): InSetOptions['readings'][number] {
  const parts = /^([^=@]+)(?:@([^=]+))?=(.+)$/.exec(text);
  const wrong = (found: string): Problem =>
    new Problem('usage', 'this is no reading', {
      place: '--read',
      found,
      expected: 'POINT=VOLTS, or POINT@WHAT=VOLTS',
      hint: '--read "grid=-0.4 V"',
    });
  if (parts === null) throw wrong(text);
  const [, point, procedure, value] = parts;
  const percent = point!.trim().toLowerCase() === 'heater';
  const parsed = parseQuantity(value!.trim(), percent ? '%' : 'V');
  if (!parsed.ok || Math.abs(parsed.value) > 1e5) throw wrong(text);
  return {
    point: point!.trim(),
    volts: parsed.value,
    ...(procedure === undefined ? {} : { procedure: procedure.trim() }),
  };
}

function numberFrom(
  text: unknown,
  place: string,
  unit: Unit,
  low: number,
  high: number,
): number | undefined {
  if (typeof text !== 'string') return undefined;
  const parsed = parseQuantity(text, unit);
  if (parsed.ok && parsed.value >= low && parsed.value <= high) return parsed.value;
  throw new Problem('usage', 'this value cannot be used', {
    place,
    found: text,
    expected: `${low} to ${high}${unit === '' ? '' : ` ${unit}`}`,
  });
}
