/** The caller stopped the run. Not a failure of the tube or of the circuit. */
export class Stopped extends Error {
  constructor() {
    super('stopped');
    this.name = 'Stopped';
  }
}
