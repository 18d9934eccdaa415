import { parentPort, workerData } from 'node:worker_threads';
import { catalogueWith, findDevice } from '../../../models/catalogue.ts';
import { readDevice } from '../../../models/device-read.ts';
import { readerContext } from '../../cases.ts';
import { readScenario } from '../../scenario/read.ts';
import { rememberingSimulator } from '../../simulation/remembering.ts';
import { nodeSimulator } from '../../simulation/node/simulator.ts';
import { answerLine } from './answer.ts';
import type { FromBatch, Setup, ToBatch } from './threads.ts';

/** A thread of the batch: the whole flow, with an engine of its own. */
const { file, text, devices, options } = workerData as Setup;
const port = parentPort!;
const find =
  devices.length === 0
    ? findDevice
    : catalogueWith(devices.map((one) => readDevice(JSON.parse(one.text), one.file)));
const scenario = readScenario(text, readerContext(file, find));
// one worker, whatever the number of threads: a line's answer must not depend on how its rows are shared out
const simulator = rememberingSimulator(nodeSimulator({ workers: 1 }));

port.on('message', ({ id, line }: ToBatch) => {
  void answerLine(line, scenario, find, simulator, options).then((answered) =>
    port.postMessage({ id, answered } satisfies FromBatch),
  );
});
