/** The command line: the whole job without a window. Runs straight from TypeScript on Node >= 22.18. */
import { readFileSync } from 'node:fs';
import { userInfo } from 'node:os';
import { parseArgs } from 'node:util';
import { AppError, toWire } from '../errors.ts';
import { createJobRunner } from '../jobs/runner.ts';
import { resourcePath } from '../resources.ts';
import type { Command, CommandContext, FlagValue } from './command.ts';
import { helpText, parseConfig } from './command.ts';
import { commands } from './commands/index.ts';
import { createProgressLine } from './progress.ts';

const EXIT = { done: 0, badInput: 1, badUsage: 2, internal: 3 } as const;

function exitCode(code: AppError['code']): number {
  if (code === 'BAD_USAGE') return EXIT.badUsage;
  if (code === 'INTERNAL') return EXIT.internal;
  return EXIT.badInput;
}

function overview(version: string): string {
  const width = Math.max(...commands.map((c) => c.name.length)) + 3;
  const rows = commands.map((c) => `  ${c.name.padEnd(width)}${c.summary}`).join('\n');
  return `Gasplat ${version}: radon in the ground of a building lot.\n\nUsage: gasplat COMMAND [options]\n\n${rows}\n\n'gasplat COMMAND --help' shows the options. Exit codes: 0 done, 1 bad input, 2 bad usage, 3 internal.\n`;
}

/** A whole line of text as stdout takes it, waited for: process.exit must not cut a pipe short. */
function print(stream: NodeJS.WriteStream, content: string): Promise<void> {
  return new Promise((resolve) => stream.write(content, () => resolve()));
}

async function main(argv: readonly string[]): Promise<number> {
  const version = (JSON.parse(readFileSync(resourcePath('package.json'), 'utf8')) as { version: string })
    .version;
  const [name, ...rest] = argv;
  if (name === undefined || name === 'help' || name === '--help' || name === '-h') {
    await print(process.stdout, overview(version));
    return name === undefined ? EXIT.badUsage : EXIT.done;
  }
  if (name === '--version') {
    await print(process.stdout, `${version}\n`);
    return EXIT.done;
  }
  const command = commands.find((c) => c.name === name);
  const wantsJson = rest.includes('--json');
  if (command === undefined) {
    const known = commands.map((c) => c.name).join(', ');
    return fail(new AppError('BAD_USAGE', `There is no command "${name}". Commands: ${known}.`), wantsJson);
  }
  return runCommand(command, rest, version, wantsJson);
}

async function runCommand(
  command: Command,
  rest: readonly string[],
  version: string,
  wantsJson: boolean,
): Promise<number> {
  const abort = new AbortController();
  process.once('SIGINT', () => abort.abort());
  const line = createProgressLine(process.stderr, rest.includes('--quiet'));
  const jobs = createJobRunner();
  try {
    const { values, positionals } = readArguments(command, rest);
    if (values['help'] === true) {
      await print(process.stdout, helpText(command));
      return EXIT.done;
    }
    if (positionals.length < command.positionals.min || positionals.length > command.positionals.max) {
      throw new AppError('BAD_USAGE', `Usage: gasplat ${command.usage}`);
    }
    const context: CommandContext = {
      positionals,
      flags: values,
      jobs,
      signal: abort.signal,
      actor: process.env['GASPLAT_ACTOR'] ?? userInfo().username,
      version,
      note: line.note,
      progress: line.update,
    };
    const output = await command.run(context);
    line.end();
    await print(
      process.stdout,
      wantsJson ? `${JSON.stringify(output.json, null, 2)}\n` : `${output.text.trimEnd()}\n`,
    );
    return EXIT.done;
  } catch (error) {
    line.end();
    return fail(error, wantsJson);
  } finally {
    await jobs.close();
  }
}

function readArguments(command: Command, rest: readonly string[]) {
  try {
    return parseArgs({
      args: joinNegatives(rest, command),
      options: parseConfig(command),
      allowPositionals: true,
      strict: true,
    }) as { values: Record<string, FlagValue>; positionals: string[] };
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    // What the library adds about arguments after '--' only leads astray here.
    const [said = reason] = reason.split(/\. To specify|\n/);
    throw new AppError('BAD_USAGE', `${said.replace(/\.$/, '')}. Usage: gasplat ${command.usage}`);
  }
}

/** A value that begins with a minus and a digit belongs to the option before it: places west and south are negative. */
function joinNegatives(rest: readonly string[], command: Command): string[] {
  const config = parseConfig(command);
  const out: string[] = [];
  for (const arg of rest) {
    const last = out.at(-1) ?? '';
    const takesValue = last.startsWith('--') && config[last.slice(2)]?.type === 'string';
    if (takesValue && /^-[\d.]/.test(arg)) out[out.length - 1] = `${last}=${arg}`;
    else out.push(arg);
  }
  return out;
}

async function fail(error: unknown, wantsJson: boolean): Promise<number> {
  const wire = toWire(error);
  if (wantsJson) await print(process.stdout, `${JSON.stringify({ error: wire }, null, 2)}\n`);
  await print(process.stderr, `gasplat: ${wire.message}\n`);
  if (wire.code === 'INTERNAL' && typeof wire.details['stack'] === 'string') {
    await print(process.stderr, `${wire.details['stack']}\n`);
  }
  return exitCode(wire.code);
}

process.exitCode = await main(process.argv.slice(2));
