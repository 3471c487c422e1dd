/** Issuing a report: its state is frozen in the project, numbered, and never altered or taken back. */
import { existsSync, rmSync } from 'node:fs';
import { basename } from 'node:path';
import type { IssueView } from '../contract/requests.ts';
import { AppError } from '../errors.ts';
import type { JobRunner } from '../jobs/runner.ts';
import { compareIssues } from '../report/compare-issues.ts';
import {
  ISSUED_MEDIA_TYPE,
  type IssuedState,
  isSamePerson,
  issuedReportMediaType,
  issueState,
  preparerOf,
  reviewLine,
} from '../report/issue-state.ts';
import type { ReportFormat } from '../report/render-report.ts';
import type { ReportInput } from '../report/report-model.ts';
import { sha256 } from '../store/canonical.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';
import { COMMAND_ISSUE, COMMAND_REVIEW } from '../store/record.ts';
import type { IssuedRow } from '../store/rows.ts';
import type { RequestContext } from './engine.ts';
import { writeWhole } from './files.ts';
import { recordHash } from './record.ts';
import { gatherReport, type ReportOptions } from './report.ts';

/** Oldest first. */
export function listIssues(store: ReadableStore): IssueView[] {
  const actors = new Map(store.actors().map((a) => [a.id, a.name]));
  const nameOf = (id: string) => actors.get(id) ?? id;
  return issuedRows(store).map((row) => ({
    number: row.number,
    preparedBy: preparerOf(stateOf(store, row)),
    files: store.rows('issued_file', { issued_id: row.id }).map((file) => ({
      name: file.name,
      format: file.format,
      sha256: file.file_sha256,
      bytes: file.byte_count,
      isKept: file.file_sha256 === row.report_sha256,
    })),
    sha256: row.state_sha256,
    recordHash: row.record_hash,
    actor: nameOf(row.actor_id),
    issuedUtc: row.issued_utc,
    reviews: store.rows('review', { issued_id: row.id }).map((review) => ({
      reviewer: nameOf(review.actor_id),
      reviewedUtc: review.reviewed_utc,
      note: review.note,
      statement: reviewLine(stateOf(store, row), nameOf(review.actor_id), review.reviewed_utc).statement,
    })),
  }));
}

/** A file that an issue goes out as. */
export interface IssueTarget {
  readonly path: string;
  readonly format: ReportFormat;
}

/** The same name with the ending of each format: several files of one frozen state. */
export function issueTargets(path: string, formats: readonly ReportFormat[]): IssueTarget[] {
  const base = path.replace(/\.(pdf|html|docx)$/i, '');
  return formats.map((format) => ({ format, path: formats.length === 1 ? path : `${base}.${format}` }));
}

/**
 * Gathers the report, writes its files, then freezes what it says with the hash of each file; the first file is kept
 * whole. No issue is left behind where a file cannot be written, and no file of an issue that was not kept.
 * @param targets - made from the number the issue gets
 * @param mayReplace - a file that stands there already and may be written over; any other is refused
 * @throws AppError STORE_DAMAGED where the record does not hold; CONFLICT where the project changed meanwhile;
 *   BAD_INPUT where a file is there already or cannot be written
 */
export async function issueReport(
  store: ProjectStore,
  jobs: JobRunner,
  options: Omit<ReportOptions, 'previous' | 'issueNumber'>,
  context: RequestContext,
  version: string,
  targets: (number: number) => readonly IssueTarget[],
  mayReplace: string | null = null,
): Promise<{
  readonly issue: IssueView;
  readonly differences: readonly string[];
  readonly files: readonly { readonly path: string; readonly bytes: number }[];
}> {
  const revision = store.revision;
  const last = issuedRows(store).at(-1);
  const number = (last?.number ?? 0) + 1;
  const wanted = targets(number);
  for (const { path } of wanted)
    if (path !== mayReplace && existsSync(path))
      throw new AppError('BAD_INPUT', `${path} is there already: an issue writes over no other file.`, {
        file: path,
      });
  const previous =
    last === undefined
      ? {}
      : { previous: { number: last.number, issuedUtc: last.issued_utc, state: stateOf(store, last) } };
  const input = await gatherReport(
    store,
    jobs,
    { ...options, ...previous, issueNumber: number },
    context,
    version,
  );
  if (!input.recordIntact) {
    throw new AppError(
      'STORE_DAMAGED',
      'The record of this project does not hold: something was altered outside the program. No report is issued from it.',
      { file: store.path },
    );
  }
  const render = async (format: ReportFormat) => {
    const asked = { report: input, format, page: options.page ?? 'A4' } as const;
    return (await jobs.run('render-report', asked, context)).bytes;
  };
  const rendered = [];
  for (const target of wanted) rendered.push({ ...target, bytes: await render(target.format) });
  if (store.revision !== revision) {
    throw new AppError(
      'CONFLICT',
      'The project changed while its report was set: it is not issued, and no file was written. Issue it again.',
    );
  }
  const hash = recordHash(store);
  if (hash === null) throw new AppError('STORE_DAMAGED', `${store.path} has no record.`);
  const written: string[] = [];
  try {
    for (const { path, bytes } of rendered) {
      writeWhole(path, bytes);
      written.push(path);
    }
    keepIssue(store, input, number, hash, rendered);
  } catch (error) {
    for (const path of written) rmSync(path, { force: true });
    throw error;
  }
  const issue = listIssues(store).at(-1);
  if (issue === undefined) throw new AppError('INTERNAL', `Issue ${number} was not kept`);
  return {
    issue,
    differences: input.issue?.differences ?? [],
    files: rendered.map(({ path, bytes }) => ({ path, bytes: bytes.length })),
  };
}

function keepIssue(
  store: ProjectStore,
  input: ReportInput,
  number: number,
  hash: string,
  files: readonly (IssueTarget & { readonly bytes: Uint8Array })[],
): void {
  const state = issueState(input);
  store.change(COMMAND_ISSUE, `Issue ${number} of the report`, (tx) => {
    const kept = store.putAttachment(
      new TextEncoder().encode(state.json),
      `issued-${number}.json`,
      ISSUED_MEDIA_TYPE,
    );
    const [first] = files;
    const issuedId = tx.insert('issued', {
      number,
      state_sha256: kept,
      record_hash: hash,
      report_sha256:
        first === undefined
          ? null
          : store.putAttachment(first.bytes, basename(first.path), issuedReportMediaType(first.format)),
      actor_id: store.actorId,
      issued_utc: input.figure.createdUtc,
    });
    for (const { path, format, bytes } of files) {
      tx.insert('issued_file', {
        issued_id: issuedId,
        format,
        name: basename(path),
        file_sha256: sha256(bytes),
        byte_count: bytes.length,
      });
    }
  });
}

/**
 * Writes the file that the project kept of an issue, byte for byte.
 * @throws AppError NOT_FOUND where there is no such issue, or none of its files was kept
 */
export function copyIssue(store: ReadableStore, number: number, path: string): number {
  const row = issuedRow(store, number);
  if (row.report_sha256 === null)
    throw new AppError(
      'NOT_FOUND',
      `No file of issue ${number} is kept in the project: an older version of the program issued it.`,
    );
  return writeWhole(path, store.attachment(row.report_sha256).bytes);
}

export interface CheckedReport {
  readonly state: 'unaltered' | 'altered' | 'not-checkable' | 'draft' | 'unknown';
  /** Number of the issue it is, or says it is; null for anything else. */
  readonly number: number | null;
  readonly statement: string;
}

/**
 * Whether a file is an issue of this project, unaltered. Anything else that it says of itself is told too: the hash of
 * a state or of a record stands in every report.
 */
export function checkReportFile(store: ReadableStore, bytes: Uint8Array, name: string): CheckedReport {
  const own = sha256(bytes);
  const issues = listIssues(store);
  const issue = issues.find((one) => one.files.some((file) => file.sha256 === own));
  if (issue !== undefined) {
    const reviews = issue.reviews.map((r) => `${r.reviewer} on ${r.reviewedUtc.slice(0, 10)}`).join(', ');
    const later = issues.at(-1)?.number ?? issue.number;
    const newer = later > issue.number ? ` It is not the last one: issue ${later} is.` : '';
    return {
      state: 'unaltered',
      number: issue.number,
      statement: `${name} is issue ${issue.number} of this project, unaltered: issued by ${issue.actor} on ${issue.issuedUtc.slice(0, 10)}, ${reviews === '' ? 'not reviewed' : `reviewed by ${reviews}`}.${newer}`,
    };
  }
  const content = Buffer.from(bytes);
  // A later issue names the one before it as well.
  const named = issues.findLast((one) => content.includes(one.sha256));
  if (named !== undefined) {
    const { number } = named;
    return named.files.length === 0
      ? {
          state: 'not-checkable',
          number,
          statement: `${name} names issue ${number} of this project, but the version of the program that issued it kept no hash of its file: whether it is unaltered cannot be told.`,
        }
      : {
          state: 'altered',
          number,
          statement: `${name} names issue ${number} of this project, but is none of the files that were written then: it was altered, or saved anew by another program.`,
        };
  }
  if (
    store.record({ beforeSeq: Number.MAX_SAFE_INTEGER, limit: 100_000 }).some((e) => content.includes(e.hash))
  )
    return {
      state: 'draft',
      number: null,
      statement: `${name} was made from this project, but is no issue of it: a draft, or another kind of file. Whether it is unaltered cannot be told.`,
    };
  return {
    state: 'unknown',
    number: null,
    statement: `${name} is no issue of this project, and says nothing that would tie it to the project.`,
  };
}

/**
 * What the report would say otherwise than its last issue, were it issued now, in words.
 * @returns null where there is no issue yet
 */
export async function compareWithLastIssue(
  store: ProjectStore,
  jobs: JobRunner,
  options: Omit<ReportOptions, 'previous' | 'issueNumber'>,
  context: RequestContext,
  version: string,
): Promise<{ readonly number: number; readonly differences: readonly string[] } | null> {
  const last = issuedRows(store).at(-1);
  if (last === undefined) return null;
  const now = issueState(await gatherReport(store, jobs, options, context, version));
  return { number: last.number, differences: compareIssues(stateOf(store, last), now) };
}

/**
 * The word of a second person, whoever is at work now, that they looked at an issue.
 * @throws AppError NOT_FOUND; BAD_INPUT where it is their own, or reviewed by them already
 */
export function reviewIssue(store: ProjectStore, number: number, note: string): void {
  const row = issuedRow(store, number);
  if (row.actor_id === store.actorId) {
    throw new AppError('BAD_INPUT', `Issue ${number} is your own: a review is the word of a second person.`);
  }
  const state = stateOf(store, row);
  const preparer = preparerOf(state);
  if (preparer !== null && isSamePerson(preparer, store.actorName))
    throw new AppError(
      'BAD_INPUT',
      `Issue ${number} names ${preparer} as its preparer: a review is the word of a second person.`,
    );
  const own = { issued_id: row.id, actor_id: store.actorId };
  if (store.rows('review', own).length > 0)
    throw new AppError('BAD_INPUT', `You have reviewed issue ${number} already.`);
  store.change(COMMAND_REVIEW, `Review issue ${number} of the report`, (tx) => {
    tx.insert('review', {
      ...own,
      state_sha256: state.sha256,
      note: note.trim() === '' ? null : note.trim(),
      reviewed_utc: new Date().toISOString(),
    });
  });
}

/** @throws AppError NOT_FOUND */
function issuedRow(store: ReadableStore, number: number): IssuedRow {
  const [row] = store.rows('issued', { number });
  if (row === undefined) throw new AppError('NOT_FOUND', `There is no issue ${number}.`);
  return row;
}

function issuedRows(store: ReadableStore): IssuedRow[] {
  return store.rows('issued').sort((a, b) => a.number - b.number);
}

/** @throws AppError STORE_DAMAGED where the kept text no longer has its hash */
function stateOf(store: ReadableStore, row: IssuedRow): IssuedState {
  const { bytes } = store.attachment(row.state_sha256);
  return { sha256: row.state_sha256, json: new TextDecoder().decode(bytes) };
}
