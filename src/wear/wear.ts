import { Z90 } from '../numerics/normal.ts';
import { latinHypercube } from '../numerics/latin-hypercube.ts';
import type {
  Draw,
  Leak,
  ReadingKind,
  TubeCondition,
  Unknown,
  Wear,
  WeightedPath,
} from '../types.ts';
import { newSaturation_A, readCathode, type CathodeState } from './cathode.ts';
import { checkReadings } from './check.ts';
import { controlGrid, type TubeFacts } from './facts.ts';
import { inputGroup } from './input-groups.ts';
import { badGrid, readGas } from './gas.ts';
import { heaterLeak, readLeaks } from './leak.ts';
import { words } from '../units/electrode.ts';
import { newTubeSpread, type NewTubeCharacter } from './population.ts';
import { BAD, CONTACT_POTENTIAL, INTERFACE, UNREAD_EMISSION } from './priors.ts';
import type { InstrumentProfile } from './profile.ts';
import type { Readings } from './readings.ts';
import { blindDrop, sentencesOf, summaryOf, untoldOf, type Parts, type Sampled } from './say.ts';

/** Draws for the 90 % intervals of the summary: their ends are rounded to two figures. */
const SUMMARY_DRAWS = 100;

/**
 * What the readings of one tube section say of its wear. Pure: the same input gives the same answer.
 *
 * @param place path of keys to the readings, for messages
 * @param prefix goes before every name of an unknown, so that two tubes of one circuit draw apart: "V2."
 * @throws Problem `bad-value`, `missing`, `contradiction`, `unknown-name` or `does-not-fit`
 */
export function wearFrom(
  readings: Readings,
  profile: InstrumentProfile,
  tube: TubeFacts,
  place = 'readings',
  prefix = '',
): Wear {
  const wear = plainWear(readings, profile, tube, place);
  return prefix === '' ? wear : prefixed(wear, prefix);
}

const contactShift_V = (tube: TubeFacts, draw: Draw): number =>
  (tube.contactPotential_sd ?? CONTACT_POTENTIAL.sd) * (draw['contactPotential'] ?? 0);

const CONTACT_UNKNOWN: Unknown = {
  name: 'contactPotential',
  known: 'prior',
  title: 'contact potential',
};

const grouped = (one: Unknown): Unknown => ({ ...one, group: inputGroup(one.name) });

const newCondition = (tube: TubeFacts, saturation_A: number, draw: Draw): TubeCondition => ({
  area: 1,
  saturation_A,
  gasRatio: 0,
  gridEmission_A: 0,
  contactShift_V: contactShift_V(tube, draw),
  interface_ohm: 0,
  leaks: [],
});

/**
 * A tube that nobody has read and that is taken as new: what stands in a place of a stage for which no tube was named. Any of the
 * population of new tubes, while the new tube it is compared with is bogey.
 */
export function newTubeWear(tube: TubeFacts, character: NewTubeCharacter, prefix = ''): Wear {
  const { area_sd } = newTubeSpread(character);
  const newTube = (draw: Draw): TubeCondition =>
    newCondition(tube, newSaturation_A(tube, draw), draw);
  const condition = (draw: Draw): TubeCondition => ({
    ...newTube(draw),
    area: Math.exp(area_sd * (draw['newTubeArea'] ?? 0)),
  });
  const wear: Wear = {
    unknowns: [
      { name: 'newTubeArea', known: 'prior' as const, title: 'emission of new tubes' },
      {
        name: 'newSaturation',
        known: 'prior' as const,
        title: 'saturation current of new cathodes',
      },
      CONTACT_UNKNOWN,
    ].map(grouped),
    condition,
    newTube,
    plausiblyBad: () => [],
    onPath: () => condition({}),
    paths: [],
    summary: [],
    sentences: [],
    untold: [],
  };
  return prefix === '' ? wear : prefixed(wear, prefix);
}

/** The same tube under other names of its unknowns, the contact potential included. */
function prefixed(wear: Wear, prefix: string): Wear {
  const own = (draw: Draw): Draw =>
    Object.fromEntries(wear.unknowns.map(({ name }) => [name, draw[prefix + name] ?? 0]));
  return {
    unknowns: wear.unknowns.map((one) => ({ ...one, name: prefix + one.name })),
    condition: (draw) => wear.condition(own(draw)),
    newTube: (draw) => wear.newTube(own(draw)),
    plausiblyBad: (reading) => wear.plausiblyBad(reading),
    ...(wear.blind === undefined ? {} : { blind: wear.blind }),
    onPath: (path) => wear.onPath(path),
    paths: wear.paths,
    get summary() {
      return wear.summary;
    },
    get sentences() {
      return wear.sentences;
    },
    untold: wear.untold,
  };
}

function plainWear(
  readings: Readings,
  profile: InstrumentProfile,
  tube: TubeFacts,
  place: string,
): Wear {
  checkReadings(readings, profile, tube, place);
  const cathode = readCathode(readings, profile, tube, place);
  const leaks = readLeaks(readings, profile, tube);
  const gas = readGas(readings, profile, tube, leaks);
  const heldCutOff = readings.noticed?.includes('heldCutOff') === true;

  const interface_ohm = (draw: Draw): number =>
    heldCutOff ? INTERFACE.heldCutOff_ohm * Math.exp(INTERFACE.sd * (draw['interface'] ?? 0)) : 0;

  const conditionOf = (
    draw: Draw,
    { area, saturation_A }: CathodeState,
    placed?: WeightedPath,
  ): TubeCondition => {
    const { gasRatio, gridEmission_A, leakShare } = gas.at(draw, area);
    return {
      area,
      saturation_A,
      gasRatio,
      gridEmission_A,
      contactShift_V: contactShift_V(tube, draw),
      interface_ohm: interface_ohm(draw),
      leaks: leaks.at(draw, leakShare, placed?.between),
    };
  };
  const condition = (draw: Draw): TubeCondition => conditionOf(draw, cathode.at(draw));

  const unknowns: Unknown[] = [
    ...cathode.unknowns,
    ...leaks.unknowns,
    ...gas.unknowns,
    CONTACT_UNKNOWN,
  ];
  if (heldCutOff) {
    unknowns.push({ name: 'interface', known: 'prior', title: 'interface layer of the cathode' });
  }

  const plausiblyBad = (reading: ReadingKind): TubeCondition[] => {
    const central = condition({});
    switch (reading) {
      case 'emission':
        // the drop may say worse already, the more so the less there is left; a weaker cathode is kinder to some ratings
        return cathode.emissionKnown === 'unread'
          ? [badSaturation_A(tube), cathode.at(LITTLE_EMISSION).saturation_A].map((bad_A) => ({
              ...central,
              area: Math.min(central.area, BAD.area),
              saturation_A: Math.min(central.saturation_A, bad_A),
            }))
          : [];
      case 'starvedHeater':
        // the emission that was read may be lost to saturation or to area, and either may be what a circuit minds
        return cathode.dropKnown === 'unread' || cathode.blind !== undefined
          ? [cathode.weakest({}), cathode.at(MOST_SATURATION)].map(({ area, saturation_A }) => ({
              ...central,
              area,
              saturation_A,
            }))
          : [];
      case 'leakage':
        return leaks.known === 'unread' && tube.family !== 'diode'
          ? [{ ...central, leaks: [...placed(central.leaks, tube), badLeak(tube)] }]
          : [];
      case 'gridCurrent':
        return gas.known === 'unread' ? [{ ...central, ...badGrid() }] : [];
      case 'heaterCathode':
        return leaks.heaterCathodeKnown === 'unread'
          ? [
              {
                ...central,
                leaks: [
                  ...central.leaks.filter(({ between }) => !between.includes('heater')),
                  heaterLeak(['heater', 'cathode'], 1 / BAD.heaterCathode_ohm),
                ],
              },
            ]
          : [];
    }
  };

  const parts: Parts = { readings, profile, tube, cathode, leaks, gas };
  const blind = blindDrop(parts);
  let taken: Sampled | undefined;
  const sampled = (): Sampled => (taken ??= sampledOf(parts, unknowns, conditionOf));
  let summary: Wear['summary'] | undefined;
  let sentences: Wear['sentences'] | undefined;

  return {
    unknowns: unknowns.map(grouped),
    condition,
    newTube: (draw) => newCondition(tube, cathode.newSaturation_A(draw), draw),
    plausiblyBad,
    ...(blind === undefined ? {} : { blind }),
    onPath: (path) => conditionOf({}, cathode.at({}), path),
    paths: leaks.paths,
    get summary() {
      return (summary ??= summaryOf(parts, sampled()));
    },
    get sentences() {
      return (sentences ??= sentencesOf(parts, sampled()));
    },
    untold: untoldOf(parts),
  };
}

/** Summary and sentences look at the same draws of the same tube. */
function sampledOf(
  { cathode }: Parts,
  unknowns: readonly Unknown[],
  conditionOf: (draw: Draw, state: CathodeState) => TubeCondition,
): Sampled {
  const names = unknowns.map(({ name }) => name);
  const draws = [{}, ...latinHypercube(names, SUMMARY_DRAWS, 'wear summary')];
  const states = draws.map((draw) => cathode.at(draw));
  const conditions = draws.map((draw, i) => conditionOf(draw, states[i] as CathodeState));
  return {
    draws: draws.slice(1),
    states: states.slice(1),
    conditions: conditions.slice(1),
    state: states[0] as CathodeState,
    condition: conditions[0] as TubeCondition,
  };
}

/** The smallest area that an emission leaves where no drop, or one that tells nothing, goes with it. */
const MOST_SATURATION: Draw = { saturation: Z90, dropReading: -Z90 };

/** A tube with little emission left, where nobody has read it. */
const LITTLE_EMISSION: Draw = {
  emission: Math.log(BAD.emission / UNREAD_EMISSION.median) / UNREAD_EMISSION.sd,
};

function badSaturation_A(tube: TubeFacts): number {
  return Math.min(BAD.saturationOverTypical * tube.typicalCathode_A, 0.3 * tube.newSaturation_A);
}

/** Leaks without the unread one from the grid: the bad leak takes its place. */
function placed(leaks: readonly Leak[], tube: TubeFacts): Leak[] {
  const grid = controlGrid(tube);
  return leaks.filter(({ between }) => !between.includes(grid));
}

/** A bad grid leakage goes to the most positive neighbour: the worst case when the path is unknown. */
function badLeak(tube: TubeFacts): Leak {
  const other = tube.electrodes.includes('plate') ? 'plate' : 'cathode';
  return { between: [controlGrid(tube), other], siemens: 1 / BAD.leak_ohm };
}

/**
 * A hard short: such a tube is never put to a socket, not even in a calculation.
 * In words with place and figure; undefined where there is none.
 */
export function hardShort(readings: Readings, profile: InstrumentProfile): string | undefined {
  const limit = profile.leakage.short_ohm;
  const short = readings.shorts?.find(({ ohms }) => ohms <= limit);
  if (short !== undefined) {
    return `${words(short.between[0])} to ${words(short.between[1])}: ${String(short.ohms)} Ω, a short on this instrument (at or below ${String(limit)} Ω)`;
  }
  const low = readings.leakage?.find((one) => {
    const ohms =
      one.megohms === undefined
        ? one.microamps === undefined || one.microamps === 0
          ? Infinity
          : ((one.atVolts ?? profile.leakage.volts) / one.microamps) * 1e6
        : one.megohms * 1e6;
    return ohms <= limit;
  });
  if (low === undefined) return undefined;
  const between =
    low.path === undefined ? 'the control grid' : `${words(low.path[0])} to ${words(low.path[1])}`;
  return `leakage of ${between} at or below ${String(limit)} Ω, which this instrument calls a short`;
}
