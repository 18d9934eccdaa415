import type { ChosenValue, Circuit, StageValues } from '../types.ts';
import { formatQuantity } from '../units/format.ts';
import { CENTRE_TAPPED, DC, GROUNDED, STRING, usualHeaterRating_V } from './heater-supply.ts';
import { numberOf, textOf } from './values.ts';

/**
 * What is done about hum by leakage from the heater: a bypass across a bare cathode resistor, a tap in the middle of the
 * heater's supply, the supply raised, or DC (common practice, no source). Whether it helps is simulated.
 */

const HUM = ['humLevel'];
/** Steps in which a supply is raised by a divider from a rail. */
const RAISED_V = [20, 30, 40, 60];
/** Electrolytics that are sold (E6). */
const BYPASS_F = [22e-6, 47e-6, 100e-6, 220e-6, 470e-6];

const volts = (value: number): string => formatQuantity(value, 'V', { digits: 2 });

/** The most between heater and cathode while the tube warms up: the cathode is at chassis then. */
function mostVolts(v: StageValues, raised_V: number): number {
  const alternating = textOf(v, 'heaterSupply') !== DC;
  return Math.abs(raised_V) + (alternating ? Math.SQRT2 : 1) * numberOf(v, 'heaterVolts');
}

const ratingOf = ({ tubes }: Circuit): number => Math.min(...tubes.map(usualHeaterRating_V));

/** Centre tap, raised supply, DC: of every stage whose cathode is not on chassis. */
export const HEATER_CHANGES: readonly ChosenValue[] = [
  {
    key: 'heaterSupply',
    cures: HUM,
    parts: 2,
    tries: (v) => (textOf(v, 'heaterSupply') === GROUNDED ? [CENTRE_TAPPED] : []),
    price: () =>
      'It takes a tap in the middle of the winding, or one made of two equal resistors across it; it holds for all tubes of that winding.',
  },
  {
    key: 'heaterRaisedBy',
    cures: HUM,
    parts: 3,
    tries(v, circuit) {
      const now = numberOf(v, 'heaterRaisedBy');
      // the end of a string is the line itself
      if (now < 0 || textOf(v, 'heaterSupply') === STRING) return [];
      return RAISED_V.filter((to) => to > now && mostVolts(v, to) <= ratingOf(circuit));
    },
    price(v, circuit) {
      const known = circuit.tubes.every(({ ratings }) => ratings?.heaterCathode_V !== undefined);
      const most = volts(mostVolts(v, numberOf(v, 'heaterRaisedBy')));
      return `It takes a divider from a rail, and no other point of that winding at chassis; up to ${most} then stand between heater and cathode, of ${volts(ratingOf(circuit))} that ${known ? 'the type is rated for' : 'are let pass (common practice; the rating of the type is not known)'}.`;
    },
  },
  {
    key: 'heaterSupply',
    cures: HUM,
    parts: 6,
    tries: (v) => ([GROUNDED, CENTRE_TAPPED].includes(textOf(v, 'heaterSupply')) ? [DC] : []),
    price: (v) =>
      `It takes a rectifier and a filter that leave ${volts(numberOf(v, 'heaterRipple'))} of ripple.`,
  },
];

/** Of stages whose cathode resistor may have a bypass. */
export const CATHODE_BYPASS: ChosenValue = {
  key: 'cathodeBypass',
  cures: HUM,
  parts: 1,
  tries: (v, { parts }) =>
    parts.some((part) => 'edits' in part && part.edits === 'cathodeResistor')
      ? BYPASS_F.filter((farads) => farads > numberOf(v, 'cathodeBypass'))
      : [],
  // told where there was none
  price: (_, __, before) =>
    numberOf(before, 'cathodeBypass') === 0
      ? 'The bare resistor’s feedback is gone with it: more gain, and more distortion at the same output.'
      : undefined,
};
