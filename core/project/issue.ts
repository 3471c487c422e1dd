/** Issuing a report: its state is frozen in the project, numbered, and never altered or taken back. */
import type { IssueView } from '../contract/requests.ts';
import { AppError } from '../errors.ts';
import type { JobRunner } from '../jobs/runner.ts';
import { compareIssues } from '../report/compare-issues.ts';
import { ISSUED_MEDIA_TYPE, type IssuedState, issueState, reviewLine } from '../report/issue-state.ts';
import type { ReportInput } from '../report/report-model.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';
import { COMMAND_ISSUE, COMMAND_REVIEW } from '../store/record.ts';
import type { IssuedRow } from '../store/rows.ts';
import type { RequestContext } from './engine.ts';
import { recordHash } from './record.ts';
import { gatherReport, type ReportOptions } from './report.ts';

/** Oldest first. */
export function listIssues(store: ReadableStore): IssueView[] {
  const actors = new Map(store.actors().map((a) => [a.id, a.name]));
  const nameOf = (id: string) => actors.get(id) ?? id;
  return issuedRows(store).map((row) => ({
    number: row.number,
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

/**
 * Gathers the report, hands it to `save`, then freezes what it says. No issue is left behind where saving fails.
 * @throws AppError STORE_DAMAGED where the record does not hold; CONFLICT where the project changed meanwhile
 */
export async function issueReport<R>(
  store: ProjectStore,
  jobs: JobRunner,
  options: Omit<ReportOptions, 'previous' | 'issueNumber'>,
  context: RequestContext,
  version: string,
  save: (input: ReportInput, number: number) => Promise<R>,
): Promise<{ readonly issue: IssueView; readonly differences: readonly string[]; readonly saved: R }> {
  const revision = store.revision;
  const last = issuedRows(store).at(-1);
  const number = (last?.number ?? 0) + 1;
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
  const saved = await save(input, number);
  if (store.revision !== revision) {
    throw new AppError(
      'CONFLICT',
      'The project changed while its report was set: it is not issued, and a file just written is no issue. Issue it again.',
    );
  }
  const hash = recordHash(store);
  if (hash === null) throw new AppError('STORE_DAMAGED', `${store.path} has no record.`);
  const state = issueState(input);
  store.change(COMMAND_ISSUE, `Issue ${number} of the report`, (tx) => {
    const kept = store.putAttachment(
      new TextEncoder().encode(state.json),
      `issued-${number}.json`,
      ISSUED_MEDIA_TYPE,
    );
    tx.insert('issued', {
      number,
      state_sha256: kept,
      record_hash: hash,
      actor_id: store.actorId,
      issued_utc: input.figure.createdUtc,
    });
  });
  const issue = listIssues(store).at(-1);
  if (issue === undefined) throw new AppError('INTERNAL', `Issue ${number} was not kept`);
  return { issue, differences: input.issue?.differences ?? [], saved };
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
  const [row] = store.rows('issued', { number });
  if (row === undefined) throw new AppError('NOT_FOUND', `There is no issue ${number}.`);
  if (row.actor_id === store.actorId) {
    throw new AppError('BAD_INPUT', `Issue ${number} is your own: a review is the word of a second person.`);
  }
  const own = { issued_id: row.id, actor_id: store.actorId };
  if (store.rows('review', own).length > 0)
    throw new AppError('BAD_INPUT', `You have reviewed issue ${number} already.`);
  const state = stateOf(store, row);
  store.change(COMMAND_REVIEW, `Review issue ${number} of the report`, (tx) => {
    tx.insert('review', {
      ...own,
      state_sha256: state.sha256,
      note: note.trim() === '' ? null : note.trim(),
      reviewed_utc: new Date().toISOString(),
    });
  });
}

function issuedRows(store: ReadableStore): IssuedRow[] {
  return store.rows('issued').sort((a, b) => a.number - b.number);
}

/** @throws AppError STORE_DAMAGED where the kept text no longer has its hash */
function stateOf(store: ReadableStore, row: IssuedRow): IssuedState {
  const { bytes } = store.attachment(row.state_sha256);
  return { sha256: row.state_sha256, json: new TextDecoder().decode(bytes) };
}
