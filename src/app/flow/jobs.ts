import { acceptanceCard } from '../../decide/accept.ts';
import { inSet, keptCheck } from '../../decide/in-set/in-set.ts';
import { findLesson } from '../../decide/learn/lessons.ts';
import { placing } from '../../decide/place.ts';
import { Problem } from '../../problem.ts';
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
      const scenario = scenarioFrom(job.text);
      const socket = scenario.sockets.find(({ id }) => id === job.socket);
      if (socket === undefined)
        throw new Problem('missing', 'there is no such socket in this set', { found: job.socket });
      return {
        about: 'accept',
        answer: await acceptanceCard(scenario, socket, simulator, { signal, onProgress }),
      };
    }
  }
}
