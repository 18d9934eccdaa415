import { findDevice } from '../../models/catalogue.ts';
import { tubeModel } from '../../models/tube.ts';
import type { Case } from '../assess.ts';
import { caseOf, factsOf, sectionsOf, stageOf, type FindDevice } from '../cases.ts';
import { Problem } from '../problem.ts';
import type { Scenario, Socket } from '../scenario/scenario.ts';
import type { Electrode, Report } from '../types.ts';
import { readBench } from '../wear/bench.ts';
import type { Readings } from '../wear/readings.ts';
import {
  dropLadder,
  emissionLadder,
  gridCurrentLadder,
  leakageLadder,
  type Ladder,
} from './reading-ladder.ts';
import { pathWords } from '../units/electrode.ts';

/** A tube that nobody has measured yet, on the scenario's instrument, for one socket: any set of readings makes it a case. */
export interface BenchSet {
  readonly type: string;
  readonly section: string;
  readonly heaterPercent: number | null;
  /** Everything read that the socket asks for, as a new tube reads it. */
  readonly newTube: Readings;
  readonly emission: Ladder;
  /** Absent where the instrument has no test with a starved heater. */
  readonly drop?: Ladder;
  /** The grid leakage with its path unknown; absent where the instrument's test says nothing of it. */
  readonly leakage?: Ladder;
  /** The same on each path. */
  readonly onPath: readonly Ladder[];
  readonly heaterCathode?: Ladder;
  readonly gridCurrent?: Ladder;
  caseOf(readings: Readings): Case;
}

/**
 * @param type designation; without it the first that the socket takes
 * @throws Problem `unknown-tube` or `does-not-fit`
 */
export function benchSet(
  scenario: Scenario,
  socket: Socket,
  find: FindDevice = findDevice,
  type: string = socket.tube[0] ?? '',
): BenchSet {
  const stage = stageOf(socket);
  const found = find(type);
  if (found === undefined)
    throw new Problem('unknown-tube', 'no such type', {
      found: type,
      expected: socket.tube.join(', '),
    });
  const { device } = found;
  const sections = sectionsOf(device);
  const section = sections.find(({ unit }) => stage.families.includes(unit.family));
  if (section === undefined)
    throw new Problem('does-not-fit', 'this type does not fit this socket', {
      place: socket.id,
      found: type,
      expected: `a ${stage.families.join(' or ')}`,
    });
  const model = tubeModel(device, section.unit.id);
  const facts = factsOf(device, section, model);
  const { bench } = scenario;
  const starved = bench.starvedHeater;

  const made = (readings: Readings): Case =>
    caseOf(
      scenario,
      { id: 'any tube', type: found.designation, section: section.id, readings },
      socket,
      find,
    );
  const asked = new Set(
    stage.measures
      .filter(({ id }) => limited(socket, stage, id, made({}).tube.model.ratings))
      .flatMap(({ readings }) => readings),
  );
  // a bogey tube without a leak, read without an error
  const truth = {
    area: 1,
    saturation_A: facts.newSaturation_A,
    gasRatio: 0,
    gridEmission_A: 0,
    contactShift_V: 0,
    interface_ohm: 0,
    leaks: [],
  };
  const read = readBench(truth, bench, facts, {}, { starvedHeater: true });
  const emission = emissionLadder(bench, read.emission?.[0] ?? {});
  const newDrop = read.starvedHeater?.drop_percent;
  const drop =
    starved === undefined || newDrop === undefined ? undefined : dropLadder(starved, newDrop);
  const grids = bench.leakage.grid === 'negative' && facts.family !== 'diode';
  const leakage = grids ? leakageLadder(bench, 'Grid leakage', {}) : undefined;
  const heaterCathode =
    asked.has('heaterCathode') && facts.electrodes.includes('heater')
      ? leakageLadder(bench, 'Heater to cathode', 'heaterCathode')
      : undefined;
  const point = section.unit.points.find(
    (one) => one.kind === 'operating' && one.grid_V !== undefined,
  );
  const gridCurrent =
    asked.has('gridCurrent') && facts.isOutputTube && point?.kind === 'operating'
      ? gridCurrentLadder({
          plateVolts: point.plate_V,
          gridVolts: point.grid_V ?? 0,
          ...(point.screen_V === undefined ? {} : { screenVolts: point.screen_V }),
        })
      : undefined;
  const newTube = [emission, drop, leakage, heaterCathode, gridCurrent].reduce<Readings>(
    (readings, ladder) => ladder?.ticks[0]?.put(readings) ?? readings,
    {},
  );
  const paths: readonly (readonly [Electrode, Electrode])[] = grids
    ? made(newTube).tube.wear.paths.map(({ between }) => between)
    : [];
  return {
    type: found.designation,
    section: sections.length > 1 ? section.id : '',
    heaterPercent: starved?.heater_percent ?? null,
    newTube,
    emission,
    ...(drop === undefined ? {} : { drop }),
    ...(leakage === undefined ? {} : { leakage }),
    onPath: paths.map((path) => leakageLadder(bench, `Grid leakage, ${pathWords(path)}`, { path })),
    ...(heaterCathode === undefined ? {} : { heaterCathode }),
    ...(gridCurrent === undefined ? {} : { gridCurrent }),
    caseOf: made,
  };
}

/** Whether a measure has a limit in this socket. */
function limited(
  socket: Socket,
  stage: Case['socket']['stage'],
  measure: string,
  ratings: Case['tube']['model']['ratings'],
): boolean {
  return (
    Object.hasOwn(socket.limits, measure) ||
    stage.limits.some(
      (limit) =>
        limit.measure === measure &&
        (limit.needs ?? []).every((rating) => ratings?.[rating] !== undefined),
    )
  );
}

/** What a card or a map says of where it comes from. */
export const originOf = (report: Report): Pick<Report, 'engine' | 'seed' | 'draws'> => ({
  engine: report.engine,
  seed: report.seed,
  draws: report.draws,
});
