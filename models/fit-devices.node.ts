/**
 * `npm run fit:devices [TYPE …]`: fits every unit of every device file and writes parameters, errors and residuals back
 * into it; then writes the list of devices that the catalogue imports.
 */
import { readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import process from 'node:process';
import type { Device } from './device.ts';
import { fitUnit } from './fit.ts';

const folder = join(process.cwd(), 'models/devices');
const wanted = process.argv.slice(2);
const files = readdirSync(folder)
  .filter((name) => name.endsWith('.json'))
  .sort();

for (const file of files) {
  const path = join(folder, file);
  const device = JSON.parse(readFileSync(path, 'utf8')) as Device;
  if (wanted.length > 0 && !wanted.includes(device.id)) continue;
  const units = device.units.map((unit) =>
    unit.points.some(({ use }) => use === 'fit') ? { ...unit, fit: fitUnit(device, unit) } : unit,
  );
  writeFileSync(path, `${JSON.stringify({ ...device, units }, null, 1)}\n`);
  for (const { id, fit } of units) {
    if (fit === undefined) continue;
    const worst = fit.residuals.toSorted(
      (a, b) => Math.abs(b.error_percent) - Math.abs(a.error_percent),
    )[0];
    console.log(
      `${device.id} ${id}: worst ${worst?.quantity} ${worst?.error_percent} %` +
        (fit.atBound.length > 0 ? `, at bound: ${fit.atBound.join(' ')}` : ''),
    );
  }
}

const names = files.map((file) => file.replace(/\.json$/, ''));
writeFileSync(
  join(folder, 'index.ts'),
  [
    '// Written by `npm run fit:devices`.',
    ...names.map(
      (name) => `import d${name.replace(/\W/g, '_')} from './${name}.json' with { type: 'json' };`,
    ),
    '',
    '/** Every device file of the project, unread: `catalogue.ts` checks and serves them. */',
    `export const deviceFiles: readonly unknown[] = [\n${names.map((name) => `  d${name.replace(/\W/g, '_')},`).join('\n')}\n];`,
    '',
  ].join('\n'),
);
