import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { readDevice } from '../../models/device-read.ts';
import { tubeModel } from '../../models/tube.ts';
import { slimDevice } from '../../src/build/slim-devices.ts';

const folder = fileURLToPath(new URL('../../models/devices', import.meta.url));

test('every type that the page carries still reads, and has the model of its file', () => {
  const files = readdirSync(folder).filter((name) => name.endsWith('.json'));
  expect(files.length).toBeGreaterThan(10);
  for (const name of files) {
    const text = readFileSync(join(folder, name), 'utf8');
    const [whole, slim] = [readDevice(JSON.parse(text)), readDevice(JSON.parse(slimDevice(text)))];
    expect(slim.designations, name).toEqual(whole.designations);
    for (const { id, fit } of whole.units)
      if (fit !== undefined)
        expect(tubeModel(slim, id).parameters, `${name} ${id}`).toEqual(
          tubeModel(whole, id).parameters,
        );
  }
});
