/** How the grid's windings are spread: one section for sharp cutoff, a smooth family of them for remote cutoff. */
export interface SectionLaw {
  /** Grid-to-screen amplification factor of the densest part. */
  readonly mu: number;
  /** Rounding of its cutoff, as in a triode. */
  readonly kp: number;
  /** How many sections: 1 sharp cutoff, 6 remote cutoff. */
  readonly sections: number;
  /** Each section's mu over the one before, below 1. */
  readonly muStep: number;
  /** Weight of the second section over the first. */
  readonly weightStep: number;
  /** By which each next weight ratio differs from the one before. */
  readonly weightBend: number;
}

export interface ControlSection {
  /** Share of the grid's length with this pitch, the first = 1. */
  readonly weight: number;
  readonly mu: number;
  /** Rounding of this section's cutoff. */
  readonly kp: number;
}

/**
 * A variable-pitch grid as sections in parallel, geometric in mu, near-geometric in weight. Three numbers describe the
 * whole family, so the transfer curve stays smooth: a few free sections would meet single points and be a staircase
 * between them. kp falls with mu, so each section is rounded in proportion to its own cutoff voltage.
 */
export function controlSections(law: SectionLaw): readonly ControlSection[] {
  const sections: ControlSection[] = [];
  let weight = 1;
  let ratio = law.weightStep;
  let mu = law.mu;
  for (let j = 0; j < law.sections; j += 1) {
    sections.push({ weight, mu, kp: (law.kp * mu) / law.mu });
    weight *= ratio;
    ratio *= law.weightBend;
    mu *= law.muStep;
  }
  return sections;
}
