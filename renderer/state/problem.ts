import { AppError } from '../../core/errors.ts';
import type { Problem } from './app-state.ts';

/** A failure as a person reads it: what was being done, and what the engine or the program says of it. */
export function problemOf(doing: string, error: unknown): Problem {
  if (error instanceof AppError) return { doing, message: error.message, details: error.details };
  return { doing, message: error instanceof Error ? error.message : String(error), details: {} };
}
