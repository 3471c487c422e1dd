import type { ParseArgsConfig } from 'node:util';
import type { JobRunner } from '../jobs/runner.ts';

export interface Option {
  readonly type: 'string' | 'boolean';
  readonly value?: string;
  /** May be given several times. */
  readonly multiple?: boolean;
  readonly help: string;
}

export type FlagValue = string | boolean | readonly string[] | undefined;

/** What a command may use. Results go to stdout, everything for the eye while waiting to stderr. */
export interface CommandContext {
  readonly positionals: readonly string[];
  readonly flags: Readonly<Record<string, FlagValue>>;
  readonly jobs: JobRunner;
  readonly signal: AbortSignal;
  readonly actor: string;
  readonly version: string;
  note(text: string): void;
  progress(done: number, stage: string): void;
}

export interface CommandOutput {
  /** For machines, printed by --json. */
  readonly json: unknown;
  /** For people. */
  readonly text: string;
}

export interface Command {
  readonly name: string;
  readonly usage: string;
  readonly summary: string;
  readonly positionals: { readonly min: number; readonly max: number };
  readonly options: Readonly<Record<string, Option>>;
  run(context: CommandContext): Promise<CommandOutput>;
}

export const commonOptions = {
  json: { type: 'boolean', help: 'print the result as JSON' },
  help: { type: 'boolean', help: 'show this help' },
  quiet: { type: 'boolean', help: 'no progress on stderr' },
} as const satisfies Record<string, Option>;

export function parseConfig(command: Command): NonNullable<ParseArgsConfig['options']> {
  const options: NonNullable<ParseArgsConfig['options']> = {};
  for (const [name, option] of Object.entries<Option>({ ...commonOptions, ...command.options })) {
    options[name] = { type: option.type, multiple: option.multiple ?? false };
  }
  return options;
}

export function helpText(command: Command): string {
  const rows = Object.entries<Option>({ ...command.options, ...commonOptions }).map(
    ([name, o]) => [`  --${name}${o.type === 'string' ? ` ${o.value ?? 'TEXT'}` : ''}`, o.help] as const,
  );
  const width = Math.max(...rows.map(([left]) => left.length)) + 2;
  const body = rows.map(([left, right]) => left.padEnd(width) + right).join('\n');
  return `${command.summary}\n\nUsage: gasplat ${command.usage}\n\n${body}\n`;
}
