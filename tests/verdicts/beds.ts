import { STAGES } from '../../src/stage/catalogue.ts';
import { bedOf, type Bed } from './populations.ts';

/** A type that suits each stage; another stage takes the first of these whose family it takes. */
const SUITABLE: Readonly<Record<string, readonly string[]>> = {
  'rc-amplifier': ['12AX7', '6SJ7'],
  'agc-if-amplifier': ['6BA6'],
  'frequency-converter': ['6BE6'],
  'local-oscillator': ['6C4'],
  'grid-leak-detector': ['6J5'],
  'output-single-ended': ['6V6GT'],
  rectifier: ['5Y3GT'],
  'diode-detector-agc': ['6AV6'],
  'sync-separator': ['6SJ7'],
  'keyed-agc': ['6SJ7'],
  'output-push-pull': ['6V6GT'],
  'phase-inverter-long-tail': ['12AX7'],
  'video-output': ['6CL6'],
};
const FALLBACK = { triode: '12AU7', pentode: '6AU6', pentagrid: '6BE6', diode: '6AL5' };

/** Every stage of the catalogue at its default values, and the contact-biased first audio stage. */
export function allBeds(): Bed[] {
  return STAGES.flatMap((stage) => {
    const types = SUITABLE[stage.id] ?? [FALLBACK[stage.families[0] ?? 'triode']];
    const beds = types.map((type) => bedOf(stage, type));
    return stage.id === 'rc-amplifier'
      ? [
          ...beds,
          bedOf(
            stage,
            '6AV6',
            { cathodeResistor: 0, gridResistor: 10e6, plateLoad: 220e3 },
            '6AV6, contact bias',
          ),
        ]
      : beds;
  });
}
