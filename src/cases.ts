import { characteristics } from '../models/characteristics.ts';
import { newTubeState } from '../models/cathode.ts';
import { designations, findDevice } from '../models/catalogue.ts';
import type { Device } from '../models/device.ts';
import { electrodesOf } from '../models/model.ts';
import { tubeModel, withRatings } from '../models/tube.ts';
import type { Case, CaseTube } from './central.ts';
import { Problem } from './problem.ts';
import {
  inSection,
  placesOf,
  sectionsOf,
  type DeviceSection,
  type FindDevice,
  type Place,
} from './places.ts';
import { nearNames } from './scenario/near.ts';
import type { Context, Line, Scenario, Socket, TestedTube, TubeType } from './scenario/scenario.ts';
import { OWN_SCHEMA, ownCircuitStage } from './own-circuit/stage.ts';
import { findStage, STAGES } from './stage/catalogue.ts';
import type { Electrode, PinVolts, Stage, TubeModel } from './types.ts';
import type { ReadingVolts, TubeFacts } from './wear/facts.ts';
import { spreadOf } from './wear/priors.ts';
import { hardShort, newTubeWear, wearFrom } from './wear/wear.ts';

export { sectionsOf, type FindDevice } from './places.ts';

/** From a scenario to cases: the tube's device, its model and what its readings say, the socket's stage and values. */

/** What the scenario reader has to know of the stages and tubes of this program. */
export function readerContext(file: string, find: FindDevice = findDevice): Context {
  return {
    file,
    stages: [...STAGES, OWN_SCHEMA],
    ownStage: ownCircuitStage,
    findTube(name): TubeType | undefined {
      const found = find(name);
      return found === undefined
        ? undefined
        : {
            id: found.designation,
            sections: sectionsOf(found.device).map(({ id, unit }) => ({
              id,
              family: unit.family,
              electrodes: [...electrodesOf(unit.family), ...heaterOf(found.device)],
            })),
          };
    },
    nearTubes: (name) => nearNames(name, designations()),
  };
}

/**
 * Pairs that belong together: each tube in each socket that it is meant for or that its family fits. A socket with tubes
 * `fitted` gives one pair, of its first place; and one for each other tube that says it is meant for this socket, which then
 * stands in the first place. `caseOf` finds the tubes of the other places.
 */
export function pairsOf(
  scenario: Scenario,
  only: { readonly tube?: string; readonly socket?: string } = {},
  find: FindDevice = findDevice,
): { tube: TestedTube; socket: Socket }[] {
  const sockets = chosen(scenario.sockets, only.socket, 'socket');
  const tubes = chosen(scenario.tubes, only.tube, 'tube');
  const named = only.tube !== undefined && only.socket !== undefined;
  const meant = (tube: TestedTube, socket: Socket): boolean => {
    const first = socket.fitted?.[0];
    if (named) return true;
    if (first === undefined) return tube.sockets?.includes(socket.id) ?? fits(tube, socket, find);
    if (socket.fitted!.some((one) => one.tube === tube.id))
      return only.tube !== undefined || tube.id === first.tube;
    return (
      tube.sockets?.includes(socket.id) ?? (only.tube !== undefined && fits(tube, socket, find))
    );
  };
  return sockets.flatMap((socket) =>
    tubes.filter((tube) => meant(tube, socket)).map((tube) => ({ tube, socket })),
  );
}

function chosen<T extends { readonly id: string }>(
  all: readonly T[],
  id: string | undefined,
  what: string,
): readonly T[] {
  if (id === undefined) return all;
  const found = all.filter((each) => each.id === id);
  if (found.length > 0) return found;
  throw new Problem('unknown-name', `the scenario has no ${what} of that name`, {
    found: id,
    expected: all.map((each) => each.id).join(', '),
  });
}

/** Meant for the socket by its type: the same device, or one of the types that the socket takes. */
function fits(tube: TestedTube, socket: Socket, find: FindDevice): boolean {
  const device = find(tube.type)?.device;
  return socket.tube.some((name) => find(name)?.device === device);
}

/**
 * Makes one case: this tube in the socket's first place, with the tubes of its other places.
 *
 * @throws Problem `does-not-fit` when the stage cannot take a section; what `wearFrom` throws for its readings;
 *   `contradiction` for a hard short, which is never put to a socket
 */
export function caseOf(
  scenario: Scenario,
  tube: TestedTube,
  socket: Socket,
  find: FindDevice = findDevice,
): Case {
  const stage = stageOf(socket);
  const [first, ...others] = placesOf(scenario, tube, socket, stage, find);
  const at = { scenario, socket, stage, find };
  const line = scenario.lines.find(({ sockets }) => sockets.includes(socket.id));
  const inFirst = caseTube(first!, 0, at);
  const beside = others.map((one, i) => caseTube(one, i + 1, at));
  // the circuits of the catalogue are built for one kind; a netlist of the user's names a type for each place
  const unlike = beside.find(({ model }) => model.family !== inFirst.model.family);
  if (unlike !== undefined && stage.own === undefined)
    throw new Problem('does-not-fit', 'the tubes of one stage must be of one kind', {
      place: `${unlike.id} in ${socket.id}`,
      found: `${unlike.type}, a ${unlike.model.family}`,
      expected: `a ${inFirst.model.family}, as ${inFirst.id} is`,
    });
  const companions = [...beside, ...(line === undefined ? [] : onLine(line, tube, at))];
  return {
    socket: caseSocket(socket, stage),
    tube: inFirst,
    ...(companions.length === 0 ? {} : { companions }),
    ...(line === undefined
      ? {}
      : {
          line: {
            id: line.id,
            carries: line.carries ?? 'AGC',
            ahead: line.sockets.indexOf(socket.id),
          },
        }),
  };
}

const caseSocket = (socket: Socket, stage: Stage): Case['socket'] => ({
  id: socket.id,
  title: socket.title ?? stage.title,
  stage,
  values: socket.values,
  limits: socket.limits,
});

/** The tubes in the other sockets of a line, in its order: what is fitted there, else new tubes of the socket's type. */
function onLine(line: Line, judged: TestedTube, { scenario, socket, find }: At): CaseTube[] {
  return line.sockets
    .filter((id) => id !== socket.id)
    .flatMap((id, i) => {
      const other = scenario.sockets.find((one) => one.id === id)!;
      const stage = stageOf(other);
      const at = { scenario, socket: other, stage, find };
      return placesBeside(line, judged, at).map((place, n) => ({
        ...caseTube(place, n, at, `L${i + 1}.${n === 0 ? '' : `V${n + 1}.`}`),
        socket: caseSocket(other, stage),
      }));
    });
}

/** The places of another socket on the line. One tube is not in two sockets: the one that is judged leaves the other. */
function placesBeside(
  line: Line,
  judged: TestedTube,
  { scenario, socket, stage, find }: At,
): Place[] {
  const fitted = (socket.fitted ?? []).filter(({ tube }) => tube !== judged.id);
  const first = fitted[0];
  if (first === undefined) {
    const type = find(socket.tube[0]!)!;
    const tube = newTubeFor(socket, type, stage);
    const said = `No tube is stated for ${socket.id} on line ${line.id}: ${stage.tubes > 1 ? `${stage.tubes} new ${type.designation} were` : `a new ${type.designation} was`} taken.`;
    return Array.from({ length: stage.tubes }, (_, n): Place =>
      n === 0
        ? { tube, taken: 'new', said }
        : { tube: { ...tube, id: tube.id.replace(/^a new/, 'another new') }, taken: 'new' },
    );
  }
  const inFirst = inSection(
    scenario.tubes.find(({ id }) => id === first.tube)!,
    first.section,
  );
  return placesOf(scenario, inFirst.tube, { ...socket, fitted }, stage, find).map((place) => ({
    ...place,
    ...(place.taken === undefined
      ? {}
      : { tube: { ...place.tube, id: `${place.tube.id} in ${socket.id}` } }),
    ...(place.said === undefined ? {} : { said: `${socket.id}: ${place.said}` }),
  }));
}

function newTubeFor(
  socket: Socket,
  { designation, device }: NonNullable<ReturnType<FindDevice>>,
  { families }: Stage,
): TestedTube {
  const section = sectionsOf(device).find(({ unit }) => families.includes(unit.family));
  return {
    id: `a new ${designation} in ${socket.id}`,
    type: designation,
    section: section?.id ?? sectionsOf(device)[0]!.id,
    readings: {},
  };
}

/** The stage of a socket that was read: one of the catalogue, or what its own netlist describes. */
export function stageOf(socket: Pick<Socket, 'stage' | 'own'>): Stage {
  const made = socket.own === undefined ? undefined : ownCircuitStage(socket.own);
  const stage =
    made === undefined ? findStage(socket.stage) : 'stage' in made ? made.stage : undefined;
  if (stage === undefined)
    throw new Error(`stage ${socket.stage} passed the reader and is not known`);
  return stage;
}

/** The tubes in the places of a socket with this tube in the first, by tube index: what is not stated is taken as `caseOf` takes it. */
export const tubesIn = (
  scenario: Scenario,
  tube: TestedTube,
  socket: Socket,
  find: FindDevice = findDevice,
): TestedTube[] =>
  placesOf(scenario, tube, socket, stageOf(socket), find).map((place) => place.tube);

interface At {
  readonly scenario: Scenario;
  readonly socket: Socket;
  readonly stage: Stage;
  readonly find: FindDevice;
}

function caseTube(
  { tube, taken, said }: Place,
  index: number,
  { scenario, socket, stage, find }: At,
  prefix = index === 0 ? '' : `V${index + 1}.`,
): CaseTube {
  const found = find(tube.type);
  if (found === undefined) throw new Error(`type ${tube.type} passed the reader and is not known`);
  const { device } = found;
  const section = sectionsOf(device).find(({ id }) => id === tube.section);
  if (section === undefined)
    throw new Error(`section ${tube.section} passed the reader and is not known`);
  const families = stage.own === undefined ? stage.families : [stage.own.families[index]!];
  if (!families.includes(section.unit.family))
    throw new Problem('does-not-fit', 'this tube does not fit this socket', {
      place: `${tube.id} in ${socket.id}${index === 0 ? '' : `, place ${index + 1}`}`,
      found: `${tube.type}, a ${section.unit.family}`,
      expected: `a ${families.join(' or ')}, as “${stage.title}” needs`,
    });
  const short = hardShort(tube.readings, scenario.bench);
  if (short !== undefined)
    throw new Problem('contradiction', 'a tube with a hard short is never put to a socket', {
      place: `${tube.id}.readings`,
      found: short,
      hint: 'Scrap it, or read the short again with the heater cold and hot.',
    });
  const model = withRatings(tubeModel(device, section.unit.id), found.ratings);
  const facts = factsOf(device, section, model);
  const unlike = taken === undefined && !socket.tube.some((name) => find(name)?.device === device);
  return {
    id: tube.id,
    type: tube.type,
    section: sectionsOf(device).length > 1 ? tube.section : '',
    model,
    ...(facts.pins === undefined ? {} : { pins: facts.pins }),
    wear:
      taken === 'new'
        ? newTubeWear(facts, section.unit.character, prefix)
        : wearFrom(tube.readings, scenario.bench, facts, `${tube.id}.readings`, prefix),
    warnings: [
      ...(unlike
        ? [
            `This socket was built for ${socket.tube.join(' or ')}; ${tube.type} is another type: check the base and the heater.`,
          ]
        : []),
      ...(said === undefined ? [] : [said]),
    ],
    ...(taken === undefined ? {} : { taken }),
  };
}

/** The heater is an electrode of its own where the cathode is heated indirectly. */
const heaterOf = ({ heater }: Device): readonly Electrode[] =>
  heater.filament === true ? [] : ['heater'];

/** What the readings' reader has to know of a type. */
export function factsOf(
  device: Device,
  { unit, section }: DeviceSection,
  model: TubeModel,
): TubeFacts {
  const typical = unit.points.find(
    (point) => point.kind === 'operating' || point.kind === 'conversion',
  );
  const typical_mA =
    (typical?.kind === 'operating' || typical?.kind === 'conversion') &&
    typical.plate_mA !== undefined
      ? typical.plate_mA + (typical.screen_mA ?? 0)
      : unit.saturation.newCathode_mA / 10;
  const pins: Partial<Record<Electrode, number[]>> = {};
  for (const [electrode, pin] of Object.entries(section.pins)) pins[electrode as Electrode] = [pin];
  if (device.base.heaterPins !== undefined) pins.heater = [...device.base.heaterPins];
  const places = pinPlaces(device.base.socket);
  const state = newTubeState(model);
  const volts = (at: ReadingVolts): PinVolts => ({
    plate: at.plate_V,
    grid: at.grid_V,
    cathode: 0,
    ...(model.electrodes.includes('screen') ? { screen: at.screen_V ?? at.plate_V } : {}),
    ...(model.family === 'pentagrid'
      ? { oscillatorGrid: at.grid_V, signalGrid: Math.min(0, at.grid_V) }
      : {}),
  });
  return {
    device: device.id,
    otherNames: [
      ...device.designations,
      ...(device.variants ?? []).flatMap((variant) => variant.designations),
    ],
    family: unit.family,
    isOutputTube: unit.character === 'beam' || (unit.ratings?.plate_W ?? 0) >= 5,
    electrodes: [...model.electrodes, ...heaterOf(device)],
    pins,
    ...(places === undefined ? {} : { pinPlaces: places }),
    ...(device.base.topCap === undefined ? {} : { topCap: device.base.topCap }),
    newSaturation_A: unit.saturation.newCathode_mA * 1e-3,
    newSaturation_sd: spreadOf(unit.saturation.spreadFactor),
    ...(unit.grid?.vcSpread_V === undefined ? {} : { contactPotential_sd: unit.grid.vcSpread_V }),
    typicalCathode_A: typical_mA * 1e-3,
    diodeCurrent_A: (all_V) =>
      -(
        model.currents(volts({ plate_V: all_V, screen_V: all_V, grid_V: all_V }), state).cathode ??
        0
      ),
    cathodeCurrent_A: (at) => -(model.currents(volts(at), state).cathode ?? 0),
    transconductance_S: (at) => characteristics(model, at).gm_mS * 1e-3,
  };
}

/** Pin places around a socket by its trade name: an octal base has eight, whatever pins are left out. */
function pinPlaces(socket: string): number | undefined {
  if (/octal|loctal/i.test(socket)) return 8;
  const pins = /(\d+)-pin/.exec(socket)?.[1];
  return pins === undefined ? undefined : Number(pins);
}
