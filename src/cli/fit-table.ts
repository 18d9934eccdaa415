import { plateResiduals, type OwnFit } from '../../models/own-fit.ts';
import { compare } from '../../models/predict.ts';
import { tubeModel } from '../../models/tube.ts';
import { columnsOf, type Table } from '../report/csv.ts';
import type { ReadPoints } from './fit-points.ts';

/** Every measured point beside the fitted model. Parameters and their errors are in the device file (--json). */
export function fitTable({ points }: ReadPoints, { device, outliers }: OwnFit): Table {
  const model = tubeModel(device);
  const residuals = plateResiduals(
    device,
    points.map(({ point }) => point),
  );
  return {
    columns: columnsOf(
      `line plate_V screen_V grid_V plate_mA plateModel_mA screen_mA screenModel_mA
       errorOverReadingError farOut`,
    ),
    rows: points.map(({ line, point }, i) => {
      const told = compare(model, point);
      const modelled = (quantity: string) => told.find((one) => one.quantity === quantity)?.model;
      const { plate_V, screen_V, grid_V, plate_mA, screen_mA } = point;
      return {
        line,
        plate_V,
        screen_V,
        grid_V,
        plate_mA,
        plateModel_mA: modelled('plate_mA'),
        screen_mA,
        screenModel_mA: modelled('screen_mA'),
        errorOverReadingError: residuals[i],
        farOut: outliers.includes(i),
      };
    }),
  };
}
