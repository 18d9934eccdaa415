/** Said with every answer. */
export const CAUTIONS: readonly string[] = [
  'A verdict is a calculation from a model, not a promise.',
  'The voltages in such a set kill, also from charged capacitors after it is switched off; a transformerless chassis can be live. Follow local codes and a licensed practitioner.',
];
