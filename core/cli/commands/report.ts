import { existsSync, mkdirSync, readFileSync, statSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { basename, extname, join } from 'node:path';
import { AppError, toWire } from '../../errors.ts';
import type { PageName } from '../../figure/figure-model.ts';
import { copyIssue, issueReport, listIssues, reviewIssue } from '../../project/issue.ts';
import { recordHash } from '../../project/record.ts';
import {
  gatherReport,
  isReportCurrent,
  type ReportOptions,
  reportFormatOf,
  saveReport,
} from '../../project/report.ts';
import type { ReportFormat } from '../../report/render-report.ts';
import { openProject, type ReadableStore } from '../../store/open-project.ts';
import type { Command, CommandContext, CommandOutput } from '../command.ts';
import { choice, numberFlag, required, text, usage } from '../flags.ts';
import { sheetTextFlags, sheetTextOptions } from '../sheet-text-flags.ts';

/** Projects worked on at once: the reports of all are set in threads of their own. */
const AT_ONCE = Math.max(2, Math.min(8, availableParallelism()));

const FORMAT_SETS = {
  pdf: ['pdf'],
  html: ['html'],
  docx: ['docx'],
  both: ['pdf', 'html'],
  all: ['pdf', 'html', 'docx'],
} as const satisfies Record<string, readonly ReportFormat[]>;

interface Target {
  readonly path: string;
  readonly format: ReportFormat;
}

interface Outcome {
  readonly project: string;
  readonly state: 'written' | 'skipped' | 'failed';
  readonly files: readonly { readonly path: string; readonly bytes: number }[];
  /** Number of the issue, and what is other than in the one before. */
  readonly issue?: {
    readonly number: number;
    readonly sha256: string;
    readonly differences: readonly string[];
  };
  readonly error: string | null;
}

export const reportCommand: Command = {
  name: 'report',
  usage:
    'report PROJECT.gasplat ... --out FOLDER|FILE.pdf|FILE.html|FILE.docx | --issues | --review N [--note TEXT] | --copy N --out FILE',
  summary: 'the report of one or many projects, as PDF and as editable HTML or DOCX',
  positionals: { min: 1, max: 10_000 },
  options: {
    out: { type: 'string', value: 'PATH', help: 'folder for the reports, or the file of a single one' },
    format: { type: 'string', value: 'pdf|html|docx|both|all', help: 'in a folder (both: PDF and HTML)' },
    page: { type: 'string', value: 'A4|Letter', help: 'paper of the PDF (A4)' },
    again: { type: 'boolean', help: 'also where a report of this very state is there already' },
    issue: {
      type: 'boolean',
      help: 'as the next issue: numbered, what it says frozen in the project, never taken back',
    },
    issues: { type: 'boolean', help: 'only list the issues of the project, with their reviews and files' },
    review: { type: 'string', value: 'N', help: 'sign issue N as a second person, who did not prepare it' },
    note: { type: 'string', value: 'TEXT', help: 'what the reviewer has to say' },
    copy: { type: 'string', value: 'N', help: 'write the kept file of issue N again, byte for byte' },
    ...sheetTextOptions,
    purpose: { type: 'string', value: 'TEXT', help: 'why the report was asked for' },
    date: {
      type: 'string',
      value: 'ISO',
      help: 'date of the report (now); the same date gives the same bytes',
    },
  },
  async run(context) {
    const asked = ['issues', 'review', 'copy'].filter((name) => context.flags[name] !== undefined);
    if (asked.length > 1) throw usage(`--${asked.join(' and --')} are asked for one at a time.`);
    if (asked.length === 1) return workOnIssues(context);
    const targets = planTargets(context);
    const options = reportOptions(context);
    const page = choice<PageName>(context, 'page', ['A4', 'Letter'], 'A4');
    const outcomes = await runAll(context, targets, options, page);
    const failed = outcomes.filter((o) => o.state === 'failed');
    if (failed.length > 0) {
      const lines = failed.map((o) => `${o.project}: ${o.error}`).join('\n  ');
      throw new AppError(
        'BAD_INPUT',
        `${failed.length} of ${outcomes.length} projects gave no report:\n  ${lines}`,
        { projects: outcomes },
      );
    }
    return { json: { projects: outcomes }, text: outcomes.map(outcomeText).join('\n') };
  },
};

/** The issues that a project holds: listed, reviewed, or written again. */
function workOnIssues(context: CommandContext): CommandOutput {
  const [project] = context.positionals;
  if (project === undefined || context.positionals.length > 1)
    throw usage('Issues are listed, reviewed and copied in one project at a time.');
  const review = numberFlag(context, 'review', { integer: true, above: 0 });
  const copy = numberFlag(context, 'copy', { integer: true, above: 0 });
  if (review !== undefined) {
    const store = openProject(project, { actor: context.actor });
    try {
      reviewIssue(store, review, text(context, 'note') ?? '');
      return issueList(store);
    } finally {
      store.close();
    }
  }
  const store = openProject(project, { readOnly: true });
  try {
    if (copy === undefined) return issueList(store);
    const path = required(context, 'out');
    const bytes = copyIssue(store, copy, path);
    return {
      json: { path, bytes, issue: copy },
      text: `${path} (${bytes} bytes), issue ${copy} as it was sent`,
    };
  } finally {
    store.close();
  }
}

function issueList(store: ReadableStore): CommandOutput {
  const issues = listIssues(store);
  const lines = issues.flatMap((issue) => [
    `Issue ${issue.number}, ${issue.issuedUtc.slice(0, 10)}, by ${issue.actor}${issue.preparedBy === null ? '' : `, prepared by ${issue.preparedBy}`}: SHA-256 ${issue.sha256}`,
    ...issue.files.map(
      (f) => `  file ${f.name}, ${f.bytes} bytes, SHA-256 ${f.sha256}${f.isKept ? ', kept' : ''}`,
    ),
    ...(issue.reviews.length === 0
      ? ['  not reviewed by a second person']
      : issue.reviews.map((r) => `  ${r.statement}${r.note === null ? '' : `; ${r.note}`}`)),
  ]);
  return { json: { issues }, text: lines.length === 0 ? 'Nothing was issued yet.' : lines.join('\n') };
}

function outcomeText({ project, state, files, issue }: Outcome): string {
  if (state === 'skipped') return `${project}: up to date, not written again`;
  const head = issue === undefined ? [] : [`Issue ${issue.number}, SHA-256 ${issue.sha256}`];
  const changes = issue?.differences.map((d) => `  ${d}`) ?? [];
  return [...head, ...changes, ...files.map((f) => `${f.path} (${f.bytes} bytes)`)].join('\n');
}

function reportOptions(context: CommandContext): ReportOptions {
  const date = text(context, 'date');
  if (date !== undefined && Number.isNaN(Date.parse(date)))
    throw usage(`--date takes a date like 2026-05-19T10:00:00Z, not "${date}".`);
  return {
    texts: sheetTextFlags(context),
    ...(date === undefined ? {} : { createdUtc: new Date(date).toISOString() }),
  };
}

/** Files for each project, in its order; two projects of one name get different files. */
function planTargets(
  context: CommandContext,
): readonly (readonly [project: string, targets: readonly Target[]])[] {
  const out = required(context, 'out');
  const projects = context.positionals;
  const isFile = ['.pdf', '.html', '.docx'].includes(extname(out).toLowerCase());
  if (isFile) {
    const [only] = projects;
    if (projects.length > 1 || only === undefined)
      throw usage(`--out ${out} is one file, but there are ${projects.length} projects: name a folder.`);
    return [[only, [{ path: out, format: reportFormatOf(out) }]]];
  }
  makeFolder(out);
  const wanted = choice(context, 'format', ['pdf', 'html', 'docx', 'both', 'all'], 'both');
  const formats = FORMAT_SETS[wanted];
  const taken = new Set<string>();
  return projects.map((project) => {
    const base = basename(project, extname(project));
    let name = base;
    for (let n = 2; taken.has(name.toLowerCase()); n++) name = `${base}-${n}`;
    taken.add(name.toLowerCase());
    return [project, formats.map((format) => ({ path: join(out, `${name}-report.${format}`), format }))];
  });
}

function makeFolder(path: string): void {
  if (existsSync(path) && !statSync(path).isDirectory())
    throw new AppError(
      'BAD_INPUT',
      `${path} is a file, not a folder, and ends in none of .pdf, .html and .docx.`,
      { file: path },
    );
  // A mistyped ending would else become a folder of that name; "reports 2026.05.12" may.
  if (!existsSync(path) && /^\.[a-z]{2,5}$/i.test(extname(path)))
    throw usage(
      `--out ${path} ends in none of .pdf, .html and .docx. For a folder of that name, make it first.`,
    );
  mkdirSync(path, { recursive: true });
}

async function runAll(
  context: CommandContext,
  plan: ReturnType<typeof planTargets>,
  options: ReportOptions,
  page: PageName,
): Promise<Outcome[]> {
  const outcomes: Outcome[] = [];
  let next = 0;
  let done = 0;
  const work = async (): Promise<void> => {
    for (let i = next++; i < plan.length; i = next++) {
      const [project, targets] = plan[i] as (typeof plan)[number];
      outcomes[i] = await reportOne(context, project, targets, options, page);
      done += 1;
      context.progress(done / plan.length, `${done} of ${plan.length} reports`);
    }
  };
  await Promise.all(Array.from({ length: Math.min(AT_ONCE, plan.length) }, work));
  return outcomes;
}

/** A project that cannot be reported on is an outcome, not an end: the others go on. */
async function reportOne(
  context: CommandContext,
  project: string,
  targets: readonly Target[],
  options: ReportOptions,
  page: PageName,
): Promise<Outcome> {
  const none = { project, files: [], error: null };
  try {
    const isIssue = context.flags['issue'] === true;
    if (!isIssue && context.flags['again'] !== true && isCurrent(project, targets))
      return { ...none, state: 'skipped' };
    const store = openProject(project, { actor: context.actor });
    try {
      const work = { signal: context.signal, onProgress: () => undefined };
      if (isIssue) {
        const { issue, differences, files } = await issueReport(
          store,
          context.jobs,
          { ...options, page },
          work,
          context.version,
          (n) =>
            targets.map(({ path, format }) => ({
              path: path.replace(/-report\.(\w+)$/, `-issue-${n}.$1`),
              format,
            })),
        );
        const { number, sha256 } = issue;
        return {
          project,
          state: 'written',
          files,
          error: null,
          issue: { number, sha256, differences },
        };
      }
      const input = await gatherReport(store, context.jobs, options, work, context.version);
      const files = [];
      for (const { path, format } of targets)
        files.push({ path, bytes: await saveReport(context.jobs, path, input, format, page, work) });
      return { project, state: 'written', files, error: null };
    } finally {
      store.close();
    }
  } catch (error) {
    const wire = toWire(error);
    if (wire.code === 'CANCELLED') throw error;
    return { ...none, state: 'failed', error: wire.message };
  }
}

function isCurrent(project: string, targets: readonly Target[]): boolean {
  if (targets.some((t) => !existsSync(t.path))) return false;
  const store = openProject(project, { readOnly: true });
  let hash: string | null;
  try {
    hash = recordHash(store);
  } finally {
    store.close();
  }
  return targets.every((t) => isReportCurrent(t.path, project, hash, (path) => readFileSync(path)));
}
