import { Problem } from '../src/problem.ts';
import type { TubeModel } from '../src/types.ts';
import type { Device, GridPrior, Unit } from './device.ts';
import { pentodeModel, triodeModel } from './model.ts';

/** Grid law where a device says nothing: a small tube. Priors, from memory. */
export const SMALL_TUBE_GRID: GridPrior = {
  kgg_mA: 0.4,
  vc_V: -0.2,
  plateDivision: 1,
  source: 'prior for a small receiving tube',
  provenance: 'fromMemory',
};

/** Every parameter of the equations that does not come from the fit. */
export function cathodeAndGrid(unit: Unit): {
  kgg: number;
  vc: number;
  kr: number;
  ns: number;
  isat_mA: number;
} {
  const grid = unit.grid ?? SMALL_TUBE_GRID;
  return {
    kgg: grid.kgg_mA,
    vc: grid.vc_V,
    kr: grid.plateDivision,
    ns: 2,
    isat_mA: unit.saturation.newCathode_mA,
  };
}

/** What of a type's published ratings a stage asks for; nothing where none are known. */
function ratingsOf({ ratings }: Unit): Pick<TubeModel, 'ratings'> {
  if (ratings === undefined) return {};
  const { plate_V, plate_W, screen_V, screen_W, source } = ratings;
  return {
    ratings: {
      ...(plate_V === undefined ? {} : { plate_V }),
      ...(plate_W === undefined ? {} : { plate_W }),
      ...(screen_V === undefined ? {} : { screen_V }),
      ...(screen_W === undefined ? {} : { screen_W }),
      source,
    },
  };
}

/**
 * The model of one unit of a device.
 *
 * @param unitId which unit; the first by default
 * @param fitted parameters in place of those in the file
 * @throws Problem `unknown-name`, or `does-not-fit` for a unit without a fitted model
 */
export function tubeModel(
  device: Device,
  unitId?: string,
  fitted?: Readonly<Record<string, number>>,
): TubeModel {
  const unit =
    unitId === undefined ? device.units[0] : device.units.find(({ id }) => id === unitId);
  if (unit === undefined)
    throw new Problem('unknown-name', `${device.id} has no such unit`, {
      found: unitId ?? 'no units',
      expected: device.units.map(({ id }) => id).join(', '),
    });
  const parameters = fitted ?? unit.fit?.parameters;
  if (parameters === undefined)
    throw new Problem('does-not-fit', `${device.id} (${unit.id}) carries no fitted model`, {
      hint: 'Run npm run fit:devices, or fit it from measured points.',
    });
  const { gridPlate, input, output } = unit.capacitances_pF;
  const capacitances = {
    gridPlate: gridPlate * 1e-12,
    input: input * 1e-12,
    output: output * 1e-12,
  };
  const get = (name: string): number => {
    const value = parameters[name];
    if (value === undefined || !Number.isFinite(value))
      throw new Problem('missing', `${device.id} (${unit.id}): parameter is missing`, {
        place: `fit.parameters.${name}`,
        found: String(value),
        expected: 'a number',
      });
    return value;
  };
  const ratings = ratingsOf(unit);
  const common = { ...cathodeAndGrid(unit), mu: get('mu'), ex: get('ex'), kg1: get('kg1') };
  const name = device.id;
  switch (unit.family) {
    case 'triode':
      return {
        ...triodeModel(
          name,
          { ...common, kp: get('kp'), kvb: get('kvb'), vct: get('vct') },
          capacitances,
        ),
        ...ratings,
      };
    case 'pentode':
      return {
        ...pentodeModel(
          name,
          {
            ...common,
            sections: get('sections'),
            muStep: get('muStep'),
            weightStep: get('weightStep'),
            weightBend: get('weightBend'),
            kg2: get('kg2'),
            kp: get('kp'),
            kvs: get('kvs'),
            vct: get('vct'),
            kvb: get('kvb'),
            kn: get('kn'),
            m: get('m'),
            lambda: get('lambda'),
            kappa: get('kappa'),
            division: get('division'),
          },
          capacitances,
        ),
        ...ratings,
      };
    default:
      throw new Problem('does-not-fit', `no equations for ${unit.family} in ${device.id}`, {
        found: unit.family,
        expected: 'triode or pentode',
      });
  }
}
