import { Problem } from '../src/problem.ts';
import type { Device, Heater, Ratings } from './device.ts';
import { readDevice } from './device-read.ts';
import { deviceFiles } from './devices/index.ts';

/** A type as the user named it: the device, and the heater of that designation (12SN7GT is a 6SN7GT on 12.6 V). */
export interface FoundDevice {
  readonly device: Device;
  /** As the catalogue writes it. */
  readonly designation: string;
  readonly heater: Heater;
  /** What sets this variant apart, where it is one. */
  readonly differs?: string;
  /** Ratings of this variant; those it does not name are the unit's. */
  readonly ratings?: Ratings;
}

interface Shelf {
  readonly devices: readonly Device[];
  readonly byName: ReadonlyMap<string, FoundDevice>;
}

let shelf: Shelf | undefined;

/** Every type of the catalogue, in the order of the files. */
export function allDevices(): readonly Device[] {
  return theShelf().devices;
}

/** Every designation that `findDevice` knows. */
export function designations(): readonly string[] {
  return [...theShelf().byName.values()].map(({ designation }) => designation);
}

/** A type by any of its names; case, spaces and punctuation do not count. Undefined where it is not known. */
export function findDevice(name: string): FoundDevice | undefined {
  return theShelf().byName.get(folded(name));
}

/** The catalogue with devices of the user's own in front, who thereby may replace ours. */
export function catalogueWith(own: readonly Device[]): (name: string) => FoundDevice | undefined {
  const names = indexOf(own);
  return (name) => names.get(folded(name)) ?? findDevice(name);
}

function theShelf(): Shelf {
  if (shelf === undefined) {
    const devices = deviceFiles.map((file) => readDevice(file));
    shelf = { devices, byName: indexOf(devices, true) };
  }
  return shelf;
}

function indexOf(devices: readonly Device[], strict = false): Map<string, FoundDevice> {
  const byName = new Map<string, FoundDevice>();
  const put = (found: FoundDevice) => {
    const key = folded(found.designation);
    const other = byName.get(key);
    if (strict && other !== undefined && other.device !== found.device)
      throw new Problem('contradiction', `two devices answer to ${found.designation}`, {
        found: `${other.device.id} and ${found.device.id}`,
      });
    byName.set(key, found);
  };
  for (const device of devices) {
    for (const designation of [device.id, ...device.designations])
      put({ device, designation, heater: device.heater });
    for (const variant of device.variants ?? [])
      for (const designation of variant.designations)
        put({
          device,
          designation,
          heater: variant.heater ?? device.heater,
          differs: variant.differs,
          ...(variant.ratings === undefined ? {} : { ratings: variant.ratings }),
        });
  }
  return byName;
}

/** A designation without what people write differently: "12ax7-A" and "12AX7A" are one name. */
function folded(name: string): string {
  return name.toUpperCase().replaceAll(/[^A-Z0-9]/g, '');
}
