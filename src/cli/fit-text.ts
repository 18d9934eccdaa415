import { plateResiduals, type OwnFit } from '../../models/own-fit.ts';
import { compare } from '../../models/predict.ts';
import { tubeModel } from '../../models/tube.ts';
import type { ReadPoints } from './fit-points.ts';

/** What `stagefit fit` prints: parameters with their errors, every point beside the model, and what to doubt. */
export function fitText(read: ReadPoints, result: OwnFit): string {
  const { device, fit, outliers } = result;
  const points = read.points.map(({ point }) => point);
  const model = tubeModel(device);
  const short = (x: number) => String(Number(x.toPrecision(4)));
  const parameters = Object.entries(fit.parameters)
    .filter(([name]) => !fit.held.includes(name) || result.heldForWant.includes(name))
    .map(([name, value]) => {
      const error = fit.standardErrors[name];
      const said = result.heldForWant.includes(name)
        ? 'held at a typical value'
        : [
            error === undefined ? 'cannot be told' : `± ${short(error)}`,
            ...(fit.restOnPrior.includes(name) ? ['rests on a typical value'] : []),
            ...(fit.atBound.includes(name) ? ['at its bound'] : []),
          ].join(', ');
      return `  ${name.padEnd(11)}${short(value).padStart(10)}   ${said}`;
    });
  const residuals = plateResiduals(device, points);
  const rows = read.points.map(({ line, point }, i) => {
    const value = compare(model, point)[0]?.model ?? NaN;
    const off = point.plate_mA === 0 ? '' : `${(100 * (value / point.plate_mA - 1)).toFixed(1)} %`;
    const screen = point.screen_V === undefined ? '' : `${point.screen_V}`.padStart(7);
    return `  ${`${line}`.padStart(4)}${`${point.plate_V}`.padStart(8)}${screen}${`${point.grid_V}`.padStart(8)}${short(point.plate_mA).padStart(10)}${short(value).padStart(10)}${off.padStart(9)}  ${bar(residuals[i] ?? NaN)}${outliers.includes(i) ? '  far out' : ''}`;
  });
  const screenHead = model.family === 'pentode' ? 'screen'.padStart(7) : '';
  return [
    `${device.id}: ${model.family} fitted to ${points.length} measured points`,
    ...read.notes.map((note) => `  ${note}`),
    '',
    'Parameters',
    ...parameters,
    '',
    `Points: volts, mA; the picture is the model's error, in steps of what the meter leaves open (1 % and 0.2 % of the largest)`,
    `  line${'plate'.padStart(8)}${screenHead}${'grid'.padStart(8)}${'read'.padStart(10)}${'model'.padStart(10)}${'off by'.padStart(9)}  ${'−5'.padEnd(10)}0${'+5'.padStart(10)}`,
    ...rows,
    '',
    `Scatter above a tenth of the largest current: ${result.scatter_percent.toFixed(1)} %.`,
    ...outlierLines(read, result),
    ...wantLines(result),
    '',
  ].join('\n');
}

/** "·····│··*··" from −5 to +5, ends marked where the error is larger. */
function bar(error: number): string {
  const cells = Array.from({ length: 21 }, (_, i): string => (i === 10 ? '│' : '·'));
  const place = Math.round(10 + 2 * error);
  if (place < 0) cells[0] = '<';
  else if (place > 20) cells[20] = '>';
  else cells[place] = '*';
  return cells.join('');
}

function outlierLines(read: ReadPoints, result: OwnFit): readonly string[] {
  if (result.outliers.length === 0) return [];
  const lines = result.outliers.map((i) => read.points[i]?.line).join(', ');
  const without =
    result.scatterWithout_percent === undefined
      ? ''
      : ` Without, the scatter is ${result.scatterWithout_percent.toFixed(1)} %.`;
  return [
    `Far outside the others: line ${lines}. It took part in the fit.${without}`,
    `Read it again, or leave it out yourself: --without ${result.outliers.map((i) => read.points[i]?.line).join(',')}`,
  ];
}

function wantLines(result: OwnFit): readonly string[] {
  if (result.heldForWant.length === 0) return [];
  return [
    `Held at typical values: ${result.heldForWant.join(', ')}. ${result.conditionsForAll} different conditions, at low and high plate voltage and from zero bias to cutoff${result.unit.family === 'pentode' ? ', with screen_mA' : ''}, decide them all.`,
  ];
}
