#!/usr/bin/env node
import { parseArgs } from 'node:util';
import { Problem } from '../problem.ts';
import { Stopped } from '../measure/subjects.ts';
import type { Command, Invocation } from './command.ts';
import { acceptCommand } from './commands/accept.ts';
import { assessCommand } from './commands/assess.ts';
import { batchCommand } from './commands/batch.ts';
import { characteristicsCommand } from './commands/characteristics.ts';
import { fitCommand } from './commands/fit.ts';
import { inSetCommand } from './commands/in-set.ts';
import { learnCommand } from './commands/learn.ts';
import { mapCommand } from './commands/map.ts';
import { modelCommand } from './commands/model.ts';
import { netlistCommand } from './commands/netlist.ts';
import { placeCommand } from './commands/place.ts';
import { stagesCommand } from './commands/stages.ts';
import { tubesCommand } from './commands/tubes.ts';

/** The command line: finds the command, reads its options, turns problems into messages and exit codes. */

const COMMANDS: readonly Command[] = [
  assessCommand,
  acceptCommand,
  mapCommand,
  placeCommand,
  batchCommand,
  inSetCommand,
  characteristicsCommand,
  learnCommand,
  tubesCommand,
  fitCommand,
  stagesCommand,
  modelCommand,
  netlistCommand,
];

const OVERVIEW = `stagefit: does this worn tube work in this circuit?

Usage: stagefit COMMAND …

${COMMANDS.map(({ name, summary }) => `  ${name.padEnd(17)} ${summary}`).join('\n')}
  help COMMAND      what it does, with examples

Start here: copy one of the scenarios, put in your own tube's readings and your socket's values
("stagefit stages" lists what a socket can be), and assess it:

  stagefit assess scenarios/table-radio/scenario.json

Values are written as people write them: 470k, 4M7, 0.05 µF, -12.5 V.
The voltages in these sets kill. Follow local codes and a licensed practitioner.
`;

async function main(args: readonly string[]): Promise<number> {
  const [name, ...rest] = args;
  if (name === undefined || name === 'help' || name === '--help' || name === '-h') {
    const about = COMMANDS.find((command) => command.name === rest[0]);
    process.stdout.write(about === undefined ? OVERVIEW : helpOf(about));
    return name === undefined ? 2 : 0;
  }
  const command = COMMANDS.find((each) => each.name === name);
  if (command === undefined)
    throw new Problem('usage', 'no such command', {
      found: name,
      expected: COMMANDS.map((each) => each.name).join(', '),
      hint: 'stagefit help lists them.',
    });
  const { values, positionals } = parsed(command, rest);
  if (values['help'] === true) {
    process.stdout.write(helpOf(command));
    return 0;
  }
  if (
    positionals.length < command.positionals.least ||
    positionals.length > command.positionals.most
  )
    throw new Problem(
      'usage',
      positionals.length < command.positionals.least
        ? 'something is missing'
        : 'too much was given',
      {
        found: positionals.length === 0 ? 'nothing' : positionals.join(' '),
        expected: `stagefit ${command.usage}`,
      },
    );
  try {
    return await command.run({ positionals, options: values });
  } catch (error) {
    throw error instanceof Problem ? inFile(error, positionals[0]) : error;
  }
}

/** What is wrong between a tube and a socket is found long after their file was read: it is named here. */
function inFile(problem: Problem, file: string | undefined): Problem {
  const { code, fields } = problem;
  return code !== 'does-not-fit' ||
    file === undefined ||
    fields.file !== undefined ||
    fields.place === undefined ||
    fields.place.startsWith('--')
    ? problem
    : new Problem(code, problem.message, { ...fields, file }, { cause: problem });
}

function parsed(
  command: Command,
  rest: readonly string[],
): { values: Invocation['options']; positionals: string[] } {
  const kinds: Command['options'] = { ...command.options, help: 'flag' };
  const options = Object.fromEntries(
    Object.entries(kinds).map(([option, kind]) => [
      option,
      {
        type: kind === 'flag' ? ('boolean' as const) : ('string' as const),
        multiple: kind === 'list',
      },
    ]),
  );
  try {
    // "--grid -2": a negative number is a value, not an option
    const joined = rest.flatMap((arg, i) => {
      const before = rest[i - 1];
      if (/^-[\d.,]/.test(arg) && before?.startsWith('--') === true && !before.includes('='))
        return [];
      const after = rest[i + 1];
      return arg.startsWith('--') &&
        !arg.includes('=') &&
        after !== undefined &&
        /^-[\d.,]/.test(after)
        ? [`${arg}=${after}`]
        : [arg];
    });
    const { values, positionals } = parseArgs({ args: joined, options, allowPositionals: true });
    return { values: values as Invocation['options'], positionals };
  } catch (cause) {
    throw new Problem(
      'usage',
      cause instanceof Error ? cause.message.split('\n')[0]! : 'the options cannot be read',
      { expected: `stagefit ${command.usage}` },
      { cause },
    );
  }
}

const helpOf = (command: Command): string => `stagefit ${command.usage}\n\n${command.help}\n`;

try {
  process.exitCode = await main(process.argv.slice(2));
} catch (error) {
  if (error instanceof Problem) {
    const all =
      'problems' in error && Array.isArray(error.problems)
        ? (error.problems as Problem[])
        : [error];
    process.stderr.write(`${all.map((problem) => problem.toText()).join('\n\n')}\n`);
    process.exitCode = 2;
  } else if (error instanceof Stopped) {
    process.stderr.write('Stopped.\n');
    process.exitCode = 3;
  } else throw error;
}
