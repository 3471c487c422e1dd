import { existsSync, statSync } from 'node:fs';
import type { ProjectView } from '../contract/model.ts';
import type { RecordEntryView, ReportSaveOptions } from '../contract/requests.ts';
import type { SheetTexts } from '../contract/sheet.ts';
import { AppError, toWire } from '../errors.ts';
import type { PageName } from '../figure/figure-model.ts';
import type { JobRunner } from '../jobs/runner.ts';
import { compareIssues } from '../report/compare-issues.ts';
import { type IssuedState, isOfIssue, issueState } from '../report/issue-state.ts';
import type { ReportFormat } from '../report/render-report.ts';
import type { ReportInput, ReportPeople } from '../report/report-model.ts';
import type { ProjectStore } from '../store/open-project.ts';
import { classNames } from './classify-lot.ts';
import { compareKept } from './compare-kept.ts';
import { listDayLogs } from './day-log.ts';
import type { RequestContext } from './engine.ts';
import { figureInput, gatherFigure } from './figure.ts';
import { extendFigure } from './figure-extras.ts';
import { writeWhole } from './files.ts';
import { classifyFootprint } from './footprint-class.ts';
import { createGroundKeeper, type GroundKeeper } from './held-ground.ts';
import { listInstruments } from './instruments.ts';
import { summariseProject } from './quality.ts';
import { figureSheet, sheetTextsOf } from './sheet-texts.ts';

export interface ReportOptions {
  readonly page?: PageName;
  /** In place of those the project keeps. */
  readonly texts?: SheetTexts;
  /** The realisations that kept placements are compared on, where they are held already; drawn anew where absent. */
  readonly ground?: GroundKeeper;
  /** ISO 8601, UTC; now where absent. The same date gives the same bytes. */
  readonly createdUtc?: string;
  /** The state issued before, for what changed since; where present the report counts as an issue. */
  readonly previous?: { readonly number: number; readonly issuedUtc: string; readonly state: IssuedState };
  /** Number of this issue; absent in a draft. */
  readonly issueNumber?: number;
}

/** As the window gives them. */
export function reportOptionsOf({ page, ...texts }: ReportSaveOptions): ReportOptions {
  return { texts, ...(page === undefined ? {} : { page }) };
}

function peopleOf({ preparedBy, licenceNumber, organisation, client, reviewedBy }: SheetTexts): ReportPeople {
  return {
    preparedBy: preparedBy ?? null,
    ...(licenceNumber === undefined ? {} : { licenceNumber }),
    ...(organisation === undefined ? {} : { organisation }),
    ...(client === undefined ? {} : { client }),
    ...(reviewedBy === undefined ? {} : { reviewedBy }),
  };
}

/** Everything the report says of the project as it stands, computed anew or taken from what the project keeps. */
export async function gatherReport(
  store: ProjectStore,
  jobs: JobRunner,
  options: ReportOptions,
  context: RequestContext,
  version: string,
): Promise<ReportInput> {
  const texts = sheetTextsOf(store, options.texts ?? {});
  const parts = await gatherFigure(store, jobs, texts, context, version);
  const figure = extendFigure(figureInput(parts), store, { ...parts, sheet: figureSheet(texts) });
  const draft: ReportInput = {
    figure: { ...figure, createdUtc: options.createdUtc ?? figure.createdUtc },
    view: parts.view,
    surface: parts.surface,
    classResult: parts.classResult,
    classNames: classNames(parts.view),
    record: wholeRecord(store),
    recordIntact: store.verifyRecord().intact,
    // A state issued before is no source of what this one says.
    files: store.attachments().filter((f) => !isOfIssue(f.mediaType)),
    people: peopleOf(texts),
    purpose: texts.purpose ?? null,
    instruments: listInstruments(store),
    quality: summariseProject(store, parts.view),
    days: listDayLogs(store),
    footprintClass: parts.view.footprint === null ? null : classifyFootprint(parts.view),
    placements: await comparedPlacements(store, jobs, parts.view, options.ground, context),
    issue: null,
  };
  const { previous, issueNumber } = options;
  if (issueNumber === undefined) return draft;
  const state = issueState(draft);
  return {
    ...draft,
    issue: {
      sha256: state.sha256,
      number: issueNumber,
      previous:
        previous === undefined
          ? null
          : { number: previous.number, sha256: previous.state.sha256, issuedUtc: previous.issuedUtc },
      differences: previous === undefined ? [] : compareIssues(previous.state, state),
    },
  };
}

/** The same seed for every report: what is printed can be printed again. */
async function comparedPlacements(
  store: ProjectStore,
  jobs: JobRunner,
  view: ProjectView,
  ground: GroundKeeper | undefined,
  context: RequestContext,
): Promise<ReportInput['placements']> {
  if ((view.footprint?.placements.length ?? 0) === 0) return null;
  const keeper = ground ?? createGroundKeeper(jobs);
  try {
    const held = await keeper.prepare(store, context);
    return await compareKept(keeper.facts(store), held, jobs, context.signal);
  } catch (error) {
    const { code, message } = toWire(error);
    if (code !== 'BAD_INPUT' && code !== 'SINGULAR') throw error;
    return { notCompared: message };
  }
}

const RECORD_PAGE = 500;

/** Oldest first. */
function wholeRecord(store: ProjectStore): RecordEntryView[] {
  const entries: RecordEntryView[] = [];
  for (let beforeSeq = Number.MAX_SAFE_INTEGER; ; ) {
    const page = store.record({ beforeSeq, limit: RECORD_PAGE });
    entries.push(
      ...page.map(({ seq, atUtc, actor, command, summary, hash, undone }) => ({
        seq,
        atUtc,
        actor,
        command,
        summary,
        hash,
        undone,
      })),
    );
    const last = page.at(-1);
    if (page.length < RECORD_PAGE || last === undefined) return entries.reverse();
    beforeSeq = last.seq;
  }
}

export function reportFormatOf(path: string): ReportFormat {
  const ending = /\.([a-z]+)$/i.exec(path)?.[1]?.toLowerCase();
  if (ending === 'pdf' || ending === 'html' || ending === 'docx') return ending;
  throw new AppError('BAD_INPUT', `A report is written as .pdf, .html or .docx, not "${path}".`, {
    file: path,
  });
}

/** @returns bytes written. The file appears whole or not at all. */
export async function saveReport(
  jobs: JobRunner,
  path: string,
  input: ReportInput,
  format: ReportFormat,
  page: PageName = 'A4',
  context?: RequestContext,
): Promise<number> {
  const { bytes } = await jobs.run('render-report', { report: input, format, page }, context);
  return writeWhole(path, bytes);
}

/** Whether a report is there, is not older than its project, and was made from this state of the record. */
export function isReportCurrent(
  reportPath: string,
  projectPath: string,
  recordHash: string | null,
  read: (path: string) => Uint8Array,
): boolean {
  if (recordHash === null || !existsSync(reportPath)) return false;
  if (statSync(reportPath).mtimeMs < statSync(projectPath).mtimeMs) return false;
  return Buffer.from(read(reportPath)).includes(recordHash);
}
