/** `npm run accuracy`: every published number beside the model's, misses marked. */
import { accuracyRows, conditions } from './accuracy.ts';
import { allDevices } from './catalogue.ts';

const rows = accuracyRows(allDevices());
let heading = '';
for (const { device, unit, point, residual, within } of rows) {
  if (heading !== `${device} ${unit}`) {
    heading = `${device} ${unit}`;
    console.log(`\n${heading}`);
  }
  console.log(
    [
      `  ${conditions(point).padEnd(38)}`,
      residual.quantity.padEnd(10),
      String(residual.published).padStart(9),
      String(residual.model).padStart(10),
      `${residual.error_percent.toFixed(1)} %`.padStart(9),
      point.use === 'check' ? ' not fitted' : '',
      point.provenance === 'fromMemory' ? ' from memory' : ' published',
      within ? '' : '  MISS',
    ].join(' '),
  );
}
const misses = rows.filter(({ within }) => !within).length;
console.log(
  `\n${rows.length} published numbers, ${rows.length - misses} within the aim, ${misses} misses.`,
);
