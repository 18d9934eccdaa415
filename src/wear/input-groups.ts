import type { InputGroup } from '../types.ts';

/** Which reading an unknown of the tube belongs to: the one whose repetition, or better set-up, would narrow it. */

const GROUPS: readonly (readonly [RegExp, InputGroup])[] = [
  [/^(emission|transconductance|testCurrent|compression|recovery|largestArea|newSaturation|newTubeArea|blendSharpness)/, 'emission'],
  [/^(saturation|drop|cathodeLag|workFunction|heaterExponent|spaceChargeFall|interface)/, 'starvedHeater'],
  [/^leakPath$/, 'leakPath'],
  [/^leakGasShare$|^gas|^grid/, 'gridCurrent'],
  [/^heater(Cathode|Emission|Place)/, 'heaterCathode'],
  [/^leak|^pairLeak/, 'leakage'],
  [/^contactPotential$/, 'contactPotential'],
]; // prettier-ignore

/** @throws Error for a name that belongs nowhere: whoever adds an unknown says here what it belongs to. */
export function inputGroup(name: string): InputGroup {
  const found = GROUPS.find(([names]) => names.test(name));
  if (found === undefined) throw new Error(`the unknown ${name} belongs to no reading`);
  return found[1];
}
