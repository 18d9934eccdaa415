import createSpice, { type SpiceModule } from './generated/ngspice.mjs';
import { parseRaw, type RawPlot } from './raw.ts';

/** The instance is gone: it exited, aborted, or waits on its console. Start another. */
export class SpiceDied extends Error {}

export interface Line {
  readonly text: string;
  /** Written to the error stream. */
  readonly isError: boolean;
}

/** What the engine said and wrote for one netlist, unjudged: `check.ts` decides whether it is an answer. */
export interface EngineAnswer {
  readonly plots: readonly RawPlot[];
  readonly lines: readonly Line[];
}

/** The engine reads its memory from here to size its buffers; the values are plausible and nothing more. */
const MEMORY = 'MemTotal: 2097152 kB\nMemFree: 2097152 kB\nMemAvailable: 2097152 kB\n';
/** The last rung of the ladder to an operating point, a transient: it takes ten times as long as the others, and its end is no answer. */
const NO_TRANSIENT_OP = 'optran 1 1 1 0 0 0';
/** More blank reads of the console than any command of ours makes: it is asking a question. */
const CONSOLE_READS = 20;
/** A formula out of its range is told at every iteration; the first lines and the last ones say it all. */
const LINES_KEPT = 1000;

/**
 * One ngspice. Runs one netlist at a time. One instance a thread: it owns the thread while it computes,
 * and nothing but ending the thread stops it.
 */
export class Spice {
  #module: SpiceModule | undefined;
  #dead: string | undefined;
  #loaded = false;
  #lines: Line[] = [];
  #commands: string[] = [];
  #wake: (() => void) | undefined;
  #idle: (() => void) | undefined;
  #fail: ((error: SpiceDied) => void) | undefined;

  static async create(wasm: WebAssembly.Module): Promise<Spice> {
    const spice = new Spice();
    await spice.#start(wasm);
    return spice;
  }

  async #start(wasm: WebAssembly.Module): Promise<void> {
    const module = await createSpice({
      noInitialRun: true,
      print: (text) => this.#hear(text, false),
      printErr: (text) => this.#hear(text, true),
      onExit: (code) => this.#die(`the engine left with exit code ${code}`),
      onAbort: (why) => this.#die(`the engine aborted: ${String(why)}`),
      instantiateWasm: (imports, done) => {
        WebAssembly.instantiate(wasm, imports).then(done, (error: unknown) =>
          this.#die(`the engine did not start: ${String(error)}`),
        );
      },
    });
    this.#module = module;
    module.FS.writeFile('/spinit', '* none\n');
    module.FS.writeFile('/proc/meminfo', MEMORY);
    // ngspice asks on its console ("Run Spice anyway? y/n ?"): answered with no, and never for ever
    let asked = 0;
    module.setGetInput(() => {
      const command = this.#commands.shift();
      if (command !== undefined) {
        asked = 0;
        return command;
      }
      if (++asked > CONSOLE_READS) {
        this.#die('the engine waits for an answer on its console');
        throw new SpiceDied('console');
      }
      return 'n';
    });
    module.setHandleThings(() => {
      if (this.#commands.length > 0) return undefined;
      const done = this.#idle;
      this.#idle = undefined;
      done?.();
      return new Promise<void>((resolve) => {
        this.#wake = resolve;
      });
    });
    await this.#until(() => module.runThings());
    await this.#do(NO_TRANSIENT_OP);
  }

  /** Loads and runs a netlist. Throws SpiceDied; after that the instance is of no use. */
  async run(netlist: string): Promise<EngineAnswer> {
    const files = this.#module!.FS;
    this.#lines = [];
    files.writeFile('/run.cir', netlist);
    removeIfThere(files, '/run.raw');
    await this.#do('destroy all', ...(this.#loaded ? ['remcirc'] : []), 'source run.cir');
    this.#loaded = !this.#lines.some(({ text }) =>
      /circuit not parsed|(no|any) circuits? loaded/i.test(text),
    );
    await this.#do('run', 'write run.raw');
    let raw: Uint8Array;
    try {
      raw = files.readFile('/run.raw');
    } catch {
      return { plots: [], lines: this.#lines }; // an analysis that never began writes nothing
    }
    return { plots: parseRaw(raw).map(withoutAll), lines: this.#lines };
  }

  async #do(...commands: string[]): Promise<void> {
    for (const command of commands) {
      if (this.#dead !== undefined) throw new SpiceDied(this.#dead);
      await this.#until(() => {
        this.#commands.push(command);
        const wake = this.#wake;
        this.#wake = undefined;
        wake?.();
      });
    }
  }

  #hear(text: string, isError: boolean): void {
    if (this.#lines.length >= LINES_KEPT) this.#lines.splice(LINES_KEPT / 2, LINES_KEPT / 4);
    this.#lines.push({ text, isError });
  }

  /** Until the engine asks for its next command. */
  #until(begin: () => void): Promise<void> {
    return new Promise<void>((resolve, reject) => {
      this.#idle = () => {
        this.#fail = undefined;
        resolve();
      };
      this.#fail = (error) => {
        this.#idle = undefined;
        this.#fail = undefined;
        reject(error);
      };
      try {
        begin();
      } catch (error) {
        this.#die(`the engine threw: ${error instanceof Error ? error.message : String(error)}`);
      }
    });
  }

  #die(why: string): void {
    const said = this.#lines.filter(({ text, isError }) => isError && text.trim() !== '').slice(-4);
    this.#dead ??= [why, ...said.map(({ text }) => text.trim())].join('; ');
    this.#fail?.(new SpiceDied(this.#dead));
  }
}

/** `write` without names adds a copy of the first vector under the name of the wildcard. */
function withoutAll(plot: RawPlot): RawPlot {
  const { 'v(all)': _, ...vectors } = plot.vectors;
  return { ...plot, vectors };
}

function removeIfThere(files: SpiceModule['FS'], path: string): void {
  try {
    files.unlink(path);
  } catch {
    // it was not there
  }
}
