import type { DrawnTube } from '../../components/circuit-drawing/circuit-drawing.ts';
import type { TypeName } from '../../components/type-search/matches.ts';
import { allDevices, findDevice } from '../../models/catalogue.ts';
import { readerContext, sectionsOf, stageOf, tubesIn } from '../cases.ts';
import { readScenario } from '../scenario/read.ts';
import { tubeModel } from '../../models/tube.ts';
import type { DrawnCircuit } from '../drawing/drawing.ts';
import type { Scenario, Socket, TestedTube } from '../scenario/scenario.ts';
import { findStage, STAGES } from '../stage/catalogue.ts';
import type { Electrode, Family, Stage } from '../types.ts';
import { EXAMPLE_PROFILE } from '../wear/profile.ts';

/** What the page has to know of tubes and stages to show and read a scenario. */
export function typeNames(): readonly TypeName[] {
  return allDevices().flatMap((device) => {
    const own = new Set([device.id, ...device.designations]);
    return [
      ...[...own].map((name) => ({ name, title: device.title, device: device.id })),
      ...(device.variants ?? []).flatMap(({ designations, differs }) =>
        designations.map((name) => ({
          name,
          title: `${device.title}; ${differs}`,
          device: device.id,
        })),
      ),
    ];
  });
}

export interface TypeInfo {
  readonly title: string;
  readonly sections: readonly { readonly id: string; readonly family: Family }[];
}

export function typeInfo(type: string): TypeInfo {
  const found = findDevice(type);
  return found === undefined
    ? { title: '', sections: [] }
    : {
        title: found.device.title,
        sections: sectionsOf(found.device).map(({ id, unit }) => ({ id, family: unit.family })),
      };
}

/** The section to begin with: the first whose family the stage takes, else the first; undefined where the type has one only. */
export function firstSection(type: string, families: readonly Family[]): string | undefined {
  const { sections } = typeInfo(type);
  if (sections.length < 2) return undefined;
  return (sections.find(({ family }) => families.includes(family)) ?? sections[0])?.id;
}

export const stages = (): readonly Stage[] => STAGES;

/** The stage of a socket, its own circuit's included. */
export const stageFor = (socket: Socket | undefined): Stage | undefined =>
  socket === undefined ? undefined : stageOf(socket);

/** @throws Problem naming line, place, what was found and what was expected */
export const read = (text: string, file: string): Scenario =>
  readScenario(text, { ...readerContext(file), bench: EXAMPLE_PROFILE });

/** The circuit of a tube in a socket, for the drawing: there at once, and also where the simulation fails. */
export function circuitOf(tube: TestedTube, socket: Socket): DrawnCircuit | undefined {
  const [stage, found] = [findStage(socket.stage), findDevice(tube.type)];
  const section =
    found === undefined
      ? undefined
      : sectionsOf(found.device).find(({ id }) => id === tube.section);
  if (
    stage === undefined ||
    found === undefined ||
    section === undefined ||
    !stage.families.includes(section.unit.family)
  )
    return undefined;
  const model = tubeModel(found.device, section.unit.id);
  return stage.circuit(
    socket.values,
    Array.from({ length: stage.tubes }, () => model),
  );
}

/** The tubes in a socket's places, for the drawing. */
export const drawnTubes = (scenario: Scenario, tube: TestedTube, socket: Socket): DrawnTube[] =>
  tubesIn(scenario, tube, socket).map((one) => ({ type: one.type, pins: pinsOf(one) }));

/** Base pins of the section's electrodes. */
function pinsOf(tube: TestedTube): Readonly<Partial<Record<Electrode, string>>> {
  const found = findDevice(tube.type);
  const section =
    found === undefined
      ? undefined
      : sectionsOf(found.device).find(({ id }) => id === tube.section);
  return Object.fromEntries(
    Object.entries(section?.section.pins ?? {}).map(([electrode, pin]) => [electrode, String(pin)]),
  );
}
