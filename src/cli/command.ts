/** What a command gets and gives. A command prints exactly one document on stdout and returns the exit code. */
export interface Invocation {
  readonly positionals: readonly string[];
  readonly options: Readonly<Record<string, string | boolean | readonly string[] | undefined>>;
}

/** 0 all usable; 1 not all usable; 2 usage or input; 3 a simulation failed. */
export type ExitCode = 0 | 1 | 2 | 3;

export interface Command {
  readonly name: string;
  /** The line of usage, without the program's name. */
  readonly usage: string;
  /** One line for the list. */
  readonly summary: string;
  /** What `stagefit help <name>` teaches: when to use it, an example, how to read what it prints. */
  readonly help: string;
  /** Options by long name: whether they take a value, or several (given several times). */
  readonly options: Readonly<Record<string, 'flag' | 'value' | 'list'>>;
  readonly positionals: { readonly least: number; readonly most: number };
  run(invocation: Invocation): Promise<ExitCode>;
}
