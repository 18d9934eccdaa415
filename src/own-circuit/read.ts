import {
  MOST,
  type DiodeModel,
  type Element,
  type OwnCircuit,
  type OwnIssue,
} from './definition.ts';
import { checkConnections } from './connections.ts';
import { directiveOf } from './directives.ts';
import { elementOf, Refused } from './elements.ts';
import { quoted, statementsOf } from './lines.ts';

/** More would bury the first. */
const MOST_ISSUES = 20;

/**
 * Reads a circuit: every line by the allow-list, then names, references and connections. Every fault is noted with its line.
 * Undefined when anything was wrong.
 */
export function readOwnCircuit(
  lines: readonly string[],
  note: (issue: OwnIssue) => void,
): OwnCircuit | undefined {
  let count = 0;
  const noted = (issue: OwnIssue): void => {
    count += 1;
    if (count <= MOST_ISSUES) note(issue);
  };
  const statements = statementsOf(lines, noted);
  const elements: Element[] = [];
  const models: DiodeModel[] = [];
  let sweep: OwnCircuit['sweep'];
  let transient: OwnCircuit['transient'];
  for (const [index, statement] of statements.entries()) {
    try {
      if (!statement.text.startsWith('.')) {
        elements.push(elementOf(statement));
        continue;
      }
      const directive = directiveOf(statement);
      if (directive.kind === 'model') models.push(directive.model);
      if (directive.kind === 'sweep') sweep = once(sweep, directive.sweep, '.dc');
      if (directive.kind === 'transient') transient = once(transient, directive.transient, '.tran');
      if (/^\.end\b/i.test(statement.text) && index < statements.length - 1)
        throw new Refused(
          'there are lines after .end',
          quoted(statements[index + 1]!.text),
          '.end as the last line',
        );
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      // a SPICE file's first line is its title, and so is a pasted one's
      const title =
        index === 0 && !/=|\.\w/.test(statement.text)
          ? 'If it is the title, put * in front of it.'
          : undefined;
      const hint = error.hint ?? title;
      noted({
        code: error.code,
        message: error.message,
        place: 'circuit',
        line: statement.line,
        found: error.found,
        expected: error.expected,
        ...(hint === undefined ? {} : { hint }),
      });
    }
  }
  if (count > 0) return undefined;
  const circuit: OwnCircuit = {
    elements,
    models,
    ...(sweep === undefined ? {} : { sweep }),
    ...(transient === undefined ? {} : { transient }),
  };
  checkNames(circuit, noted);
  if (count === 0) checkConnections(circuit, noted);
  return count === 0 ? circuit : undefined;
}

function once<T extends { readonly line: number }>(before: T | undefined, now: T, name: string): T {
  if (before !== undefined)
    throw new Refused(
      'this stands twice',
      `${name} on lines ${before.line} and ${now.line}`,
      `one ${name}`,
    );
  return now;
}

/** Names once each, references to what is there, numbers of parts within bounds, a tube. */
function checkNames(
  { elements, models, sweep, transient }: OwnCircuit,
  note: (issue: OwnIssue) => void,
): void {
  const at = (
    line: number | undefined,
    message: string,
    found: string,
    expected: string,
    code: OwnIssue['code'] = 'bad-value',
  ): void =>
    note({
      code,
      message,
      place: 'circuit',
      ...(line === undefined ? {} : { line }),
      found,
      expected,
    });
  const tubes = elements.filter((element) => element.kind === 'X');
  if (elements.length > MOST.elements)
    at(
      elements[MOST.elements]!.line,
      'the circuit has too many elements',
      `${elements.length}`,
      `at most ${MOST.elements}`,
      'too-large',
    );
  if (tubes.length === 0)
    at(
      undefined,
      'the circuit has no tube',
      `${elements.length} elements, none of them a TUBE`,
      'a line such as: X1 plate grid cathode TUBE',
      'missing',
    );
  if (tubes.length > MOST.tubes)
    at(
      tubes[MOST.tubes]!.line,
      'the circuit has too many tubes',
      `${tubes.length}`,
      `at most ${MOST.tubes}`,
      'too-large',
    );
  const seen = new Map<string, number>();
  for (const { name, line } of [
    ...elements,
    ...models.map((model) => ({ ...model, name: `.model ${model.name}` })),
  ]) {
    const key = name.toLowerCase();
    const before = seen.get(key);
    if (before !== undefined)
      at(
        line,
        `the name ${quoted(name)} is used twice (SPICE ignores case)`,
        `line ${before} has it too`,
        'each name once',
        'contradiction',
      );
    else seen.set(key, line);
  }
  const kindOf = new Map(elements.map((element) => [element.name.toLowerCase(), element.kind]));
  for (const element of elements) {
    if ((element.kind === 'F' || element.kind === 'H') && kindOf.get(element.control) !== 'V')
      at(
        element.line,
        'there is no such voltage source',
        quoted(element.control),
        'the name of a V element, whose current controls this one',
        'unknown-name',
      );
    if (element.kind === 'K')
      for (const coil of element.coils)
        if (kindOf.get(coil) !== 'L')
          at(
            element.line,
            'there is no such coil',
            quoted(coil),
            'the names of two L elements',
            'unknown-name',
          );
    if (element.kind === 'K' && element.coils[0] === element.coils[1])
      at(
        element.line,
        'a coil is coupled with itself',
        quoted(element.coils[0]),
        'two different L elements',
      );
    if (element.kind === 'D' && !models.some(({ name }) => name.toLowerCase() === element.model))
      at(
        element.line,
        'there is no such model',
        quoted(element.model),
        'the name on a .model line of this circuit',
        'unknown-name',
      );
  }
  const places = new Map<number, number>();
  for (const tube of tubes) {
    const before = places.get(tube.place);
    if (before !== undefined)
      at(
        tube.line,
        'two tubes in one place',
        `place ${tube.place}, as on line ${before}`,
        'TUBE for the first, TUBE2 for the second',
        'contradiction',
      );
    places.set(tube.place, tube.line);
  }
  for (let place = 1; place <= tubes.length && places.size === tubes.length; place++)
    if (!places.has(place))
      at(
        tubes[0]!.line,
        'a place without a tube',
        `places ${[...places.keys()].sort((a, b) => a - b).join(', ')}`,
        `places 1 to ${tubes.length}`,
        'missing',
      );
  if (sweep !== undefined && !['V', 'I'].includes(kindOf.get(sweep.source) ?? ''))
    at(
      sweep.line,
      'there is no such source',
      quoted(sweep.source),
      'the name of a V or I element',
      'unknown-name',
    );
  const sines = elements.flatMap((element) =>
    (element.kind === 'V' || element.kind === 'I') && element.sine !== undefined
      ? [element.sine[2]]
      : [],
  );
  if (transient === undefined) return;
  const [frequency] = sines;
  if (frequency === undefined)
    at(
      transient.line,
      'a transient without a signal',
      'no source with SIN',
      'a source such as: V1 in 0 0 SIN(0 1 1k)',
      'missing',
    );
  else if (sines.some((other) => other !== frequency))
    at(
      transient.line,
      'signals of different frequencies',
      sines.join(' and '),
      'one frequency: harmonics are told of the last whole cycles',
    );
  else if (transient.stop_s * frequency < 5 || transient.step_s * frequency > 1 / 20)
    at(
      transient.line,
      'the transient does not show whole cycles',
      `${(transient.stop_s * frequency).toPrecision(3)} cycles of ${(1 / (transient.step_s * frequency)).toPrecision(3)} steps`,
      'at least 5 cycles of at least 20 steps',
    );
}
