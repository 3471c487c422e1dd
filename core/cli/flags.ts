import type { ProjectCrs } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import type { CommandContext } from './command.ts';

export function usage(message: string): AppError {
  return new AppError('BAD_USAGE', message);
}

export function text(context: CommandContext, name: string): string | undefined {
  const value = context.flags[name];
  return typeof value === 'string' ? value : undefined;
}

export function required(context: CommandContext, name: string): string {
  const value = text(context, name);
  if (value === undefined) throw usage(`--${name} is needed.`);
  return value;
}

export function numberFlag(
  context: CommandContext,
  name: string,
  check: { readonly integer?: boolean; readonly above?: number } = {},
): number | undefined {
  const raw = text(context, name);
  if (raw === undefined) return undefined;
  const value = Number(raw);
  const bad =
    raw.trim() === '' ||
    !Number.isFinite(value) ||
    (check.integer === true && !Number.isInteger(value)) ||
    (check.above !== undefined && value <= check.above);
  if (bad) {
    const kind = check.integer === true ? 'a whole number' : 'a number';
    const limit = check.above === undefined ? '' : ` above ${check.above}`;
    throw usage(`--${name} takes ${kind}${limit}, not "${raw}".`);
  }
  return value;
}

export function choice<T extends string>(
  context: CommandContext,
  name: string,
  allowed: readonly T[],
  fallback: T,
): T {
  const raw = text(context, name);
  if (raw === undefined) return fallback;
  const found = allowed.find((a) => a === raw);
  if (found === undefined) throw usage(`--${name} takes ${allowed.join(', ')}, not "${raw}".`);
  return found;
}

export function positional(context: CommandContext, index: number, what: string): string {
  const value = context.positionals[index];
  if (value === undefined) throw usage(`${what} is missing.`);
  return value;
}

export function list(context: CommandContext, name: string): readonly string[] {
  const value = context.flags[name];
  return Array.isArray(value) ? value : [];
}

/** "EPSG:32631", "32631", or "local:ft" for a grid of one's own. */
export function parseCrs(raw: string): ProjectCrs {
  const epsg = /^(?:epsg:)?(\d{4,6})$/i.exec(raw.trim());
  if (epsg !== null) return { kind: 'epsg', code: Number(epsg[1]) };
  const local = /^local:(m|ft|ft-us)$/.exec(raw.trim());
  if (local !== null) return { kind: 'local', unit: local[1] as 'm' | 'ft' | 'ft-us', label: '' };
  throw usage(`A coordinate system is written EPSG:CODE or local:m, local:ft, local:ft-us, not "${raw}".`);
}
