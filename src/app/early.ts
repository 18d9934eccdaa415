import { startEarly } from './flow/early.ts';

/** The document's own script: first the worker with its engines, then the page, which is ten times as large. */
startEarly();
void import('./main.ts');
