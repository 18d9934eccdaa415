import {
  faultsOf,
  measuresBeside,
  soundCase,
  type Case,
  type CaseFault,
  type Central,
} from './central.ts';
import type { FaultParts } from './report/compose.ts';
import type { Circuit } from './types.ts';
import { spoiled } from './verdict/circuit-fault.ts';
import { overall, type Judgement } from './verdict/judge.ts';
import type { Limit } from './verdict/limit.ts';

/** A case whose central values were computed, and what they say. */
export interface Looked {
  readonly given: Case;
  readonly circuit: Circuit;
  readonly central: Central;
  readonly judgements: readonly Judgement[];
}

export interface FaultTools {
  central(given: Case): Promise<Looked>;
  /** The same case judged with draws. */
  drawn(looked: Looked): Promise<readonly Judgement[]>;
}

/** Both are given this tube's judgements in the circuit as it is; undefined where the circuit is not to blame. */
export interface FaultSearch {
  central(here: readonly Judgement[]): Promise<FaultParts | undefined>;
  drawn(here: readonly Judgement[]): Promise<FaultParts | undefined>;
}

const verdictOf = (judgements: readonly Judgement[]) =>
  overall(judgements.map(({ status }) => status));

const isUsable = (judgements: readonly Judgement[]): boolean => verdictOf(judgements) === 'usable';

/**
 * What faults of the circuit spoil: a new tube in this circuit against a new one in the circuit as it should be, and this
 * tube there; where there are several faults, also with each of them mended alone. Undefined where no value is a fault.
 */
export async function searchFaults(
  given: Case,
  central: Central,
  limits: readonly Limit[],
  tools: FaultTools,
): Promise<FaultSearch | undefined> {
  const faults = faultsOf(given);
  if (faults.length === 0) return undefined;
  const { stage } = given.socket;
  const there = await tools.central(soundCase(given));
  const failed = central.newTube.failed ?? there.central.newTube.failed;
  const newTubes = {
    here: failed === undefined ? measuresBeside(stage, central.newTube, there.central.newTube) : {},
    sound: there.central.newTube.measures,
    failed,
  };
  const found = spoiled(stage.measures, limits, newTubes);
  const alone = new Map<CaseFault, Looked>();
  const mended = async (fault: CaseFault): Promise<Looked> => {
    const looked = alone.get(fault) ?? (await tools.central(soundCase(given, fault)));
    alone.set(fault, looked);
    return looked;
  };
  const blame =
    (judge: (looked: Looked) => Promise<readonly Judgement[]>) =>
    async (here: readonly Judgement[]): Promise<FaultParts | undefined> => {
      // a new tube bears the faults: then they matter only to a tube that does not
      const verdict = verdictOf(here);
      if (found.length === 0 && (verdict === 'usable' || verdict === 'failed')) return undefined;
      const judgements = await judge(there);
      if (found.length === 0 && !isUsable(judgements)) return undefined;
      const enough: CaseFault[] = [];
      if (verdict !== 'usable' && isUsable(judgements))
        for (const fault of faults)
          if (faults.length === 1 || isUsable(await judge(await mended(fault)))) enough.push(fault);
      const { given: sound, central: inSound } = there;
      return { faults, enough, newTubes, found, judgements, sound, central: inSound };
    };
  return {
    central: blame(({ judgements }) => Promise.resolve(judgements)),
    drawn: blame((looked) => tools.drawn(looked)),
  };
}
