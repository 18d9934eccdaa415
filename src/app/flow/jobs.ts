import { acceptanceCard } from '../../decide/accept.ts';
import { inSet, keptCheck } from '../../decide/in-set/in-set.ts';
import { findLesson } from '../../decide/learn/lessons.ts';
import { acceptanceMap } from '../../decide/map.ts';
import { placing } from '../../decide/place.ts';
import { Problem } from '../../problem.ts';
import type { Scenario, Socket } from '../../scenario/scenario.ts';
import type { Simulator, StopSignal } from '../../types.ts';
import { caseFrom, scenarioFrom } from './case-from.ts';
import type { AnswerTo, Job } from './protocol.ts';

/** Fetched by the worker when one of the further places is opened. */

export interface JobRun {
  readonly simulator: Simulator;
  readonly signal: StopSignal;
  readonly onProgress: (what: string, done: number, all: number) => void;
}

/** @throws Problem for what the set or the typed readings say; rejects when stopped */
export async function answerTo(job: Job, run: JobRun): Promise<AnswerTo> {
  const { simulator, signal, onProgress } = run;
  switch (job.about) {
    case 'learn': {
      const lesson = findLesson(job.lesson);
      if (lesson === undefined)
        throw new Problem('unknown-name', 'there is no such lesson', { found: job.lesson });
      return { about: 'learn', answer: await lesson.run(job.values, { simulator, signal }) };
    }
    case 'in-set': {
      const scenario = scenarioFrom(job.text);
      const given = caseFrom(job.text, job.tube, job.socket);
      return {
        about: 'in-set',
        answer: await inSet(given, simulator, { ...keptCheck(scenario, given), signal }),
      };
    }
    case 'place':
      return {
        about: 'place',
        answer: await placing(scenarioFrom(job.text), simulator, { signal, onProgress }),
      };
    case 'accept': {
      const { scenario, socket } = socketFrom(job.text, job.socket);
      return {
        about: 'accept',
        answer: await acceptanceCard(scenario, socket, simulator, { signal, onProgress }),
      };
    }
    case 'map': {
      const { scenario, socket } = socketFrom(job.text, job.socket);
      const tube = scenario.tubes.find(({ id }) => id === job.tube);
      onProgress('emission against leakage, the first points', 0, 0);
      return {
        about: 'map',
        answer: await acceptanceMap(scenario, socket, simulator, {
          signal,
          ...(tube === undefined ? {} : { tube }),
          ...(job.path === undefined ? {} : { path: job.path }),
          onProgress: (what, done, all) =>
            what === 'points'
              ? onProgress(`emission against leakage, ${done} points so far`, 0, 0)
              : onProgress('intervals along the boundary', done, all),
        }),
      };
    }
  }
}

/** @throws Problem */
function socketFrom(text: string, id: string): { scenario: Scenario; socket: Socket } {
  const scenario = scenarioFrom(text);
  const socket = scenario.sockets.find((one) => one.id === id);
  if (socket === undefined)
    throw new Problem('missing', 'there is no such socket in this set', { found: id });
  return { scenario, socket };
}
