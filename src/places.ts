import { findDevice } from '../models/catalogue.ts';
import type { Device, Section, Unit } from '../models/device.ts';
import type { FittedTube, Scenario, Socket, TestedTube } from './scenario/scenario.ts';
import type { Stage } from './types.ts';

/** Which tube, and which of its sections, stands in which place of a socket. */

/** The catalogue, or the catalogue with devices of the user's own (`catalogueWith`). */
export type FindDevice = typeof findDevice;

export interface DeviceSection {
  readonly id: string;
  readonly unit: Unit;
  readonly section: Section;
}

/** Sections of a type as a scenario names them: "1" and "2" of a twin; by unit name where units differ. */
export function sectionsOf(device: Device): DeviceSection[] {
  return device.units.flatMap((unit) =>
    unit.sections.map((section) => ({
      id:
        device.units.length === 1
          ? section.id
          : unit.sections.length === 1
            ? unit.id
            : `${unit.id} ${section.id}`,
      unit,
      section,
    })),
  );
}

/** A tube for one place, read or taken as new, and what is said of how it came there. */
export interface Place {
  readonly tube: TestedTube;
  readonly taken?: 'new';
  readonly said?: string;
}

/** This tube in the first place; the others as the socket has them, the other section of a twin, or new tubes of its type. */
export function placesOf(
  scenario: Scenario,
  tube: TestedTube,
  socket: Socket,
  stage: Stage,
  find: FindDevice,
): Place[] {
  const fitted = socket.fitted ?? [];
  const here = fitted.findIndex((one) => one.tube === tube.id);
  const inPlace = ({ tube: id, section }: FittedTube): Place => ({
    ...inSection(
      scenario.tubes.find((one) => one.id === id)!,
      section,
    ),
  });
  // another bottle takes the place of a whole twin, or else of the tube in the first place
  const oneBottle = fitted.length > 1 && fitted.every((one) => one.tube === fitted[0]!.tube);
  const places: Place[] =
    here >= 0 && stage.own !== undefined
      ? fitted.map(inPlace) // the places of a netlist are not alike
      : here >= 0
        ? [fitted[here]!, ...fitted.filter((_, i) => i !== here)].map(inPlace)
        : [{ tube }, ...(oneBottle ? [] : fitted.slice(1).map(inPlace))];
  const first = places[0]!.tube;
  const twins = sectionsLike(first, find).filter(
    (id) => !places.some((one) => one.tube.id === first.id && one.tube.section === id),
  );
  for (const section of twins) {
    if (places.length >= stage.tubes || places.some((one) => one.tube.id !== first.id)) break;
    places.push(inSection(first, section));
  }
  while (places.length < stage.tubes)
    places.push({
      tube: { ...first, id: `a new ${first.type}`, readings: {} },
      taken: 'new',
      said: `${stage.tubes === 2 ? 'The other place' : `Place ${places.length + 1}`} was taken as a new ${first.type}.`,
    });
  return places;
}

/** A tube with one of its sections at work. What was read on another section is taken for this one, and said to be. */
export function inSection(tube: TestedTube, section: string): Place {
  return section === tube.section
    ? { tube }
    : {
        tube: { ...tube, section },
        said: `Section ${section} was taken to read like section ${tube.section}: give it as a tube of its own where it does not.`,
      };
}

/** Sections of the same unit as the tube's own, in order: those that can do its work. */
function sectionsLike(tube: TestedTube, find: FindDevice): string[] {
  const sections = sectionsOf(find(tube.type)!.device);
  const unit = sections.find(({ id }) => id === tube.section)?.unit;
  return sections.filter((one) => one.unit === unit).map(({ id }) => id);
}
