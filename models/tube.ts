import { Problem } from '../src/problem.ts';
import type { TubeModel } from '../src/types.ts';
import type { Device, GridPrior, Ratings, Unit } from './device.ts';
import { diodeModel, pentagridModel, pentodeModel, triodeModel } from './model.ts';

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
  return { ratings: { ...asked(ratings), source: ratings.source } };
}

/** Those of the ratings that a stage asks for, in its units. */
function asked(ratings: Ratings): Omit<NonNullable<TubeModel['ratings']>, 'source'> {
  const { plate_V, plate_W, screen_V, screen_W, heaterCathode_V, inverse_V } = ratings;
  const { platePeak_mA, dcOutput_mA } = ratings;
  const named = {
    plate_V,
    plate_W,
    screen_V,
    screen_W,
    heaterCathode_V,
    inverse_V,
    platePeak_A: platePeak_mA === undefined ? undefined : platePeak_mA * 1e-3,
    output_A: dcOutput_mA === undefined ? undefined : dcOutput_mA * 1e-3,
  };
  return Object.fromEntries(Object.entries(named).filter(([, value]) => value !== undefined));
}

/** A model with the ratings of a variant in place of the type's, where the variant has its own. */
export function withRatings(model: TubeModel, own: Ratings | undefined): TubeModel {
  if (own === undefined) return model;
  return { ...model, ratings: { ...model.ratings, ...asked(own), source: own.source } };
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
  const given = cathodeAndGrid(unit);
  const name = device.id;
  if (unit.family === 'diode')
    return {
      ...diodeModel(
        name,
        { perveance: get('perveance'), vct: get('vct'), ns: given.ns, isat_mA: given.isat_mA },
        capacitances,
      ),
      ...ratings,
    };
  const common = { ...given, mu: get('mu'), ex: get('ex'), kg1: get('kg1') };
  switch (unit.family) {
    case 'triode':
      return {
        ...triodeModel(
          name,
          {
            ...common,
            kp: get('kp'),
            kvb: get('kvb'),
            vct: get('vct'),
            tail: parameters['tail'] === undefined ? 0 : get('tail'),
          },
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
            ks: get('ks'),
            kn: get('kn'),
            m: get('m'),
            rise: get('rise'),
            kappa: get('kappa'),
            division: get('division'),
          },
          capacitances,
        ),
        ...ratings,
      };
    case 'pentagrid':
      return {
        ...pentagridModel(
          name,
          {
            ...common,
            kp: get('kp'),
            vct: get('vct'),
            kvb: get('kvb'),
            kn: get('kn'),
            m: get('m'),
            lambda: get('lambda'),
            kappa: get('kappa'),
            pass: get('pass'),
            mu3: get('mu3'),
            mu3Step: get('mu3Step'),
            weight3: get('weight3'),
            kp3: get('kp3'),
            m3: get('m3'),
            kg3: get('kg3'),
          },
          capacitances,
          (unit.capacitances_pF.oscillatorInput ?? input) * 1e-12,
        ),
        ...ratings,
      };
  }
}
