import type { Electrode, TubeModel, Family } from '../src/types.ts';
import { diodeCurrents, type DiodeParameters } from './diode/equation.ts';
import { diodeSpice } from './diode/spice.ts';
import { pentagridCurrents, type PentagridParameters } from './pentagrid/equation.ts';
import { pentagridSpice } from './pentagrid/spice.ts';
import { pentodeCurrents, type PentodeParameters } from './pentode/equation.ts';
import { pentodeSpice } from './pentode/spice.ts';
import { triodeCurrents, type TriodeParameters } from './triode/equation.ts';
import { triodeSpice } from './triode/spice.ts';

type Capacitances = TubeModel['capacitances'];
/** Saturation current of the new cathode, mA, travels with the parameters. */
type WithCathode<P> = P & { readonly isat_mA: number };

const TRIODE: readonly Electrode[] = ['plate', 'grid', 'cathode'];
const PENTODE: readonly Electrode[] = ['plate', 'screen', 'grid', 'cathode'];
const PENTAGRID: readonly Electrode[] = [
  'plate',
  'screen',
  'oscillatorGrid',
  'signalGrid',
  'cathode',
];
const DIODE: readonly Electrode[] = ['plate', 'cathode'];

/** Electrodes of a section of a family, without its heater. */
export function electrodesOf(family: Family): readonly Electrode[] {
  return { triode: TRIODE, pentode: PENTODE, pentagrid: PENTAGRID, diode: DIODE }[family];
}

/** A triode section as a model: its equations and the same as SPICE text. */
export function triodeModel(
  device: string,
  parameters: WithCathode<TriodeParameters>,
  capacitances: Capacitances,
): TubeModel {
  return {
    family: 'triode',
    device,
    parameters: { ...parameters },
    capacitances,
    electrodes: TRIODE,
    currents: (volts, state) => triodeCurrents(volts, state, parameters),
    spice: (zero) => triodeSpice(device, parameters, capacitances, zero),
  };
}

/** A pentode, beam or remote-cutoff section as a model. */
export function pentodeModel(
  device: string,
  parameters: WithCathode<PentodeParameters>,
  capacitances: Capacitances,
): TubeModel {
  return {
    family: 'pentode',
    device,
    parameters: { ...parameters },
    capacitances,
    electrodes: PENTODE,
    currents: (volts, state) => pentodeCurrents(volts, state, parameters),
    spice: (zero) => pentodeSpice(device, parameters, capacitances, zero),
  };
}

/** A pentagrid converter as a model. `capacitances` are the signal grid's; the oscillator grid's comes beside them, F. */
export function pentagridModel(
  device: string,
  parameters: WithCathode<PentagridParameters>,
  capacitances: Capacitances,
  oscillatorInput_F: number,
): TubeModel {
  return {
    family: 'pentagrid',
    device,
    parameters: { ...parameters },
    capacitances: { ...capacitances, oscillatorInput: oscillatorInput_F },
    electrodes: PENTAGRID,
    currents: (volts, state) => pentagridCurrents(volts, state, parameters),
    spice: (zero) => pentagridSpice(device, parameters, capacitances, oscillatorInput_F, zero),
  };
}

/** A rectifier or detector diode as a model. */
export function diodeModel(
  device: string,
  parameters: WithCathode<DiodeParameters>,
  capacitances: Capacitances,
): TubeModel {
  return {
    family: 'diode',
    device,
    parameters: { ...parameters },
    capacitances,
    electrodes: DIODE,
    currents: (volts, state) => diodeCurrents(volts, state, parameters),
    spice: (zero) => diodeSpice(device, parameters, capacitances, zero),
  };
}
