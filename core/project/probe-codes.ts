import { createHash } from 'node:crypto';
import { AppError } from '../errors.ts';
import { CODE_LETTERS, codePart, joinCode } from '../survey/probe-code.ts';

/** Two probes whose first choices agree are told apart by further ones; each try is free but for one code in three. */
const MOST_TRIES = 1000;

function numberOf(text: string, below: number): number {
  return createHash('sha256').update(text).digest().readUIntBE(0, 6) % below;
}

/**
 * The code of each probe by its id. It follows from the ids alone, so that a printed sheet stays good whatever is renamed,
 * moved or undone, and the code of a probe that is gone names no other one.
 * @param probeIds in the order of making: an earlier probe keeps its code whatever comes later
 */
export function probeCodes(projectId: string, probeIds: readonly string[]): ReadonlyMap<string, string> {
  const projectPart = codePart(2, numberOf(`project ${projectId}`, CODE_LETTERS.length ** 2));
  const taken = new Set<string>();
  const codes = new Map<string, string>();
  for (const id of probeIds) {
    const code = firstFree(id, projectPart, taken);
    taken.add(code);
    codes.set(id, code);
  }
  return codes;
}

function firstFree(probeId: string, projectPart: string, taken: ReadonlySet<string>): string {
  for (let k = 0; k < MOST_TRIES; k++) {
    const part = codePart(4, numberOf(`probe ${probeId} ${k}`, CODE_LETTERS.length ** 4));
    const code = joinCode(projectPart, part);
    if (code !== null && !taken.has(code)) return code;
  }
  throw new AppError('INTERNAL', `No code is left for probe ${probeId} among ${taken.size}.`);
}
