/** Boltzmann's constant, eV/K (CODATA). */
export const BOLTZMANN_EV_PER_K = 8.617333e-5;
