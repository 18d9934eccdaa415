import { subjectOf, tubesOf, type Case, type CaseTube } from './central.ts';
import { measureSubjects } from './measure/subjects.ts';
import { Problem } from './problem.ts';
import { withBeside, type Beside } from './stage/bias-line-beside.ts';
import { socketLeaks } from './stage/faults.ts';
import type { Circuit, LineNeighbour, RunOptions, Simulator } from './types.ts';

/** The circuit of a case, with what stands in other sockets on its bias line. */
export function circuitIn(given: Case): Circuit {
  const { stage, values } = given.socket;
  const tubes = tubesOf(given);
  const circuit = stage.circuit(
    values,
    tubes.map(({ model }) => model),
  );
  if (given.line?.carries !== 'bias') return circuit;
  const ids = tubes.map(({ socket }) => socket?.id);
  const others = tubes.flatMap(({ socket }, firstTube): Beside[] =>
    socket === undefined || ids.indexOf(socket.id) < firstTube
      ? []
      : [
          {
            ...socket,
            firstTube,
            models: tubes.flatMap(({ model }, i) => (ids[i] === socket.id ? [model] : [])),
          },
        ],
  );
  return withBeside(circuit, stage, values, others);
}

/**
 * The same, and on an AGC line what hangs on it in other sockets: each neighbour's own stage, with its own values, is
 * simulated at rest on a held line, as a new tube and as read. In a draw the tube's state and leaks are the draw's, its
 * screen, cathode and plate stand where they stand in the central case.
 *
 * @throws Problem `simulation` where a neighbour's stage did not come to rest
 */
export async function circuitOf(
  given: Case,
  simulator: Simulator,
  run: RunOptions,
): Promise<Circuit> {
  const tubes = tubesOf(given);
  const circuit = circuitIn(given);
  const { line } = given;
  if (line?.carries !== 'AGC') return circuit;
  const neighbours = await Promise.all(
    tubes.flatMap((tube, index) =>
      tube.socket === undefined ? [] : [neighbourOf(tube, tube.socket, index, simulator, run)],
    ),
  );
  return {
    ...circuit,
    line: { ahead: neighbours.slice(0, line.ahead), behind: neighbours.slice(line.ahead) },
  };
}

async function neighbourOf(
  { id, model, wear }: CaseTube,
  { id: place, stage, values }: Case['socket'],
  index: number,
  simulator: Simulator,
  run: RunOptions,
): Promise<LineNeighbour> {
  const { agcLine } = stage;
  if (agcLine === undefined) throw new Error(`stage ${stage.id} has no AGC line`);
  // on a line, though nobody's yet: the steps that show it are then done
  const circuit: Circuit = {
    ...stage.circuit(values, [model]),
    line: { ahead: [], behind: [] },
  };
  const ids = stage.steps.map((step) => step.id);
  const outcomes = await measureSubjects(
    stage,
    circuit,
    values,
    [wear.newTube({}), wear.condition({})].map((condition, i) =>
      subjectOf(values, circuit, [condition], {}, i === 0 ? undefined : 0),
    ),
    simulator,
    { ...run, runId: `line${index}`, steps: ids.slice(0, ids.indexOf(agcLine.step) + 1) },
  );
  const failed = outcomes.find((outcome) => outcome.failed !== undefined)?.failed;
  if (failed !== undefined)
    throw new Problem('simulation', 'a neighbour on the AGC line could not be simulated', {
      place: `${id} in ${place}`,
      found: failed,
    });
  const [newTube, asRead] = outcomes;
  return {
    tube: index,
    curve: (state, leaks, isNew) => {
      const { traces } = isNew ? newTube! : asRead!;
      return agcLine.curve({
        values: traces.values,
        models: traces.models,
        states: [state],
        leaks: [[...leaks, ...socketLeaks(values, circuit, 0)]],
        knob: (name) => traces.knob(name),
        settings: (step) => traces.settings(step),
        volts: (step, setting, node) => traces.volts(step, setting, node),
        newTube: undefined,
        line: undefined,
      });
    },
  };
}
