/**
 * The worker of the flow is started before the page's own script is there, and its engines with it: the first answer
 * waits for them longest.
 */
let early: Worker | undefined;

export const newFlowWorker = (): Worker =>
  new Worker(new URL('./flow.worker.ts', import.meta.url), { type: 'module', name: 'flow' });

export function startEarly(): void {
  const worker = newFlowWorker();
  early = worker;
  // nobody listens yet: one that could not be started is started again by whoever needs it, and told then
  worker.addEventListener('error', () => {
    if (early === worker) early = undefined;
  });
}

/** The early worker, once; after that new ones. */
export function takeFlowWorker(): Worker {
  const worker = early ?? newFlowWorker();
  early = undefined;
  return worker;
}
