import type { TypeName } from '../../components/type-search/matches.ts';
import { allDevices, findDevice } from '../../models/catalogue.ts';
import { readerContext, sectionsOf } from '../cases.ts';
import { readScenario } from '../scenario/read.ts';
import type { Scenario } from '../scenario/scenario.ts';
import { STAGES } from '../stage/catalogue.ts';
import type { Family, Stage } from '../types.ts';
import { EXAMPLE_PROFILE } from '../wear/profile.ts';

/** What the page has to know of tubes and stages to show and read a scenario. */
export function typeNames(): readonly TypeName[] {
  return allDevices().flatMap((device) => {
    const own = new Set([device.id, ...device.designations]);
    return [
      ...[...own].map((name) => ({ name, title: device.title, device: device.id })),
      ...(device.variants ?? []).flatMap(({ designations, differs }) =>
        designations.map((name) => ({ name, title: `${device.title}; ${differs}`, device: device.id })),
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
    : { title: found.device.title, sections: sectionsOf(found.device).map(({ id, unit }) => ({ id, family: unit.family })) };
}

/** The section to begin with: the first whose family the stage takes, else the first; undefined where the type has one only. */
export function firstSection(type: string, families: readonly Family[]): string | undefined {
  const { sections } = typeInfo(type);
  if (sections.length < 2) return undefined;
  return (sections.find(({ family }) => families.includes(family)) ?? sections[0])?.id;
}

export const stages = (): readonly Stage[] => STAGES;

/** @throws Problem naming line, place, what was found and what was expected */
export const read = (text: string, file: string): Scenario => readScenario(text, { ...readerContext(file), bench: EXAMPLE_PROFILE });
