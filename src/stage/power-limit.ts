import type { LimitSpec } from '../types.ts';

/** What an output stage must still give, with one tube or two. */
export const POWER_LIMIT: LimitSpec = {
  measure: 'powerOutput',
  formula: 'powerOutput >= 0.6 * newTube.powerOutput',
  reason:
    'power tubes are at the end of their life at 60 to 70 % of the output of a new one; a data sheet lets new ones pass down to 71 %',
  source:
    'common practice, from memory; 3.2 of 4.5 W for the 6V6GT: New Sensor data sheet, current production, undated',
};
