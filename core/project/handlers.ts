import type { Output } from '../contract/requests.ts';
import { AppError } from '../errors.ts';
import { searchCrs } from '../geo/search-crs.ts';
import type { JobRunner } from '../jobs/runner.ts';
import type { ProjectStore } from '../store/open-project.ts';
import { openProject } from '../store/open-project.ts';
import { catalogue } from './catalogue.ts';
import { computeClass } from './classify-lot.ts';
import { drawComparison, saveComparison } from './compare.ts';
import { readControl, setControl } from './control-points.ts';
import { createFromDemo } from './demo.ts';
import { describeProject, setFootprint, setLot, setRuling, setSettings } from './edit.ts';
import type { Handlers, RequestContext } from './engine.ts';
import { exportData } from './export-data.ts';
import { fieldSheetHandlers } from './field-sheet-handlers.ts';
import { drawFigure, saveFigure } from './figure.ts';
import { showSurface } from './figure-extras.ts';
import { writeWhole } from './files.ts';
import { handEntryHandlers } from './hand-entry-handlers.ts';
import { handlerTools } from './handler-tools.ts';
import { createGroundKeeper } from './held-ground.ts';
import { commitImport, previewImport } from './import-files.ts';
import { importGeometry } from './import-geometry.ts';
import {
  compareWithLastIssue,
  copyIssue,
  issueReport,
  issueTargets,
  listIssues,
  reviewIssue,
} from './issue.ts';
import { removeKeepOut, setKeepOut } from './keep-outs.ts';
import { mergeHandlers } from './merge-handlers.ts';
import { newProject } from './new-project.ts';
import { proposeNext } from './next-probes.ts';
import { outlineHandlers } from './outline-handlers.ts';
import { acceptPlan, proposePlan } from './plan-probes.ts';
import { qualityHandlers } from './quality-handlers.ts';
import { readingHandlers } from './reading-handlers.ts';
import { ensureReductions } from './readings.ts';
import { listRecord } from './record.ts';
import { gatherReport, reportOptionsOf, saveReport } from './report.ts';
import { ruleHandlers } from './rule-handlers.ts';
import { sheetHandlers } from './sheet-handlers.ts';
import { searchSite } from './site-building.ts';
import { sitePlanHandlers } from './site-plan-handlers.ts';
import { sitingHandlers } from './siting-handlers.ts';
import { computeSurface } from './surface.ts';
import { buildView } from './view.ts';

export interface HandlerDependencies {
  readonly jobs: JobRunner;
  readonly actor: string;
  readonly version: string;
  readonly info: () => Output<'engine.info'>;
  readonly onChanged: (revision: number) => void;
  readonly cancel: (requestId: number) => void;
}

/** One function a request, over at most one open project. */
export function createHandlers(deps: HandlerDependencies) {
  let store: ProjectStore | null = null;
  const keeper = createGroundKeeper(deps.jobs);

  function current(): ProjectStore {
    if (store === null) throw new AppError('NOT_FOUND', 'No project is open.');
    return store;
  }

  /** The old project is let go only once the new one is there: a failed open leaves the window as it was. */
  function adopt(next: ProjectStore) {
    store?.close();
    keeper.drop();
    store = next;
    return buildView(next);
  }

  /** Counts that no kept result speaks for are reduced in a worker before the first look. */
  async function adoptReduced(next: ProjectStore, context: RequestContext) {
    try {
      await ensureReductions(next, deps.jobs, context);
    } catch (error) {
      next.close();
      throw error;
    }
    return adopt(next);
  }

  /** Opening the file that is open already would meet our own lock. */
  function letGoOf(path: string): void {
    if (store !== null && store.path === path) {
      store.close();
      store = null;
    }
  }

  const tools = handlerTools({ jobs: deps.jobs, version: deps.version, current, onChanged: deps.onChanged });
  const { change, edit } = tools;

  const handlers: Handlers = {
    'catalogue.get': catalogue,
    'project.create': ({ path, name, crs }) => adopt(newProject({ path, name, crs, actor: deps.actor })),
    'project.demo': ({ path, lot }) => {
      letGoOf(path);
      return adopt(createFromDemo({ path, lot, actor: deps.actor }));
    },
    'project.open': ({ path }, context) => {
      letGoOf(path);
      return adoptReduced(openProject(path, { actor: deps.actor }), context);
    },
    'project.close': () => {
      store?.close();
      keeper.drop();
      store = null;
      return null;
    },
    'project.view': () => buildView(current()),
    'project.describe': (input) => edit((open) => describeProject(open, input)),
    'lot.set': ({ ring, crs, source }) =>
      edit((open) => setLot(open, ring, crs ?? null, source ?? 'entered')),
    'lot.import': ({ path }) => edit((open) => importGeometry(open, path, 'lot')),
    'control.get': () => ({ control: readControl(current()) }),
    'control.set': (input) => {
      const { view, result } = change((open) => setControl(open, input));
      return { view, control: result };
    },
    'keepout.set': (input) => edit((open) => setKeepOut(open, input)),
    'keepout.remove': ({ id }) => edit((open) => removeKeepOut(open, id)),
    'plan.propose': (input, context) => proposePlan(buildView(current()), deps.jobs, input, context),
    'plan.accept': ({ probes, depthM, replace }) => edit((open) => acceptPlan(open, probes, depthM, replace)),
    'next.propose': (input, context) => proposeNext(buildView(current()), deps.jobs, input, context),
    'site.search': (input, context) => searchSite(buildView(current()), deps.jobs, input, context),
    'footprint.set': ({ label, ring }) => edit((open) => setFootprint(open, label, ring)),
    'import.preview': ({ path, options }) => previewImport(current(), path, options),
    'import.commit': ({ path, options }) => {
      const { view, result } = change((open) => commitImport(open, path, options));
      return { view, report: result };
    },
    'ruling.set': (input) => edit((open) => setRuling(open, input)),
    'settings.set': ({ settings }) => edit((open) => setSettings(open, settings)),
    'surface.compute': async (_input, context) => {
      const view = buildView(current());
      return showSurface(view, await computeSurface(current(), deps.jobs, context, view));
    },
    'class.compute': () => computeClass(buildView(current())),
    'figure.preview': (input, context) => drawFigure(current(), deps.jobs, input, context, deps.version),
    'report.save': async ({ path, format, options }, context) => {
      const report = await gatherReport(
        current(),
        deps.jobs,
        { ...reportOptionsOf(options), ground: keeper },
        context,
        deps.version,
      );
      return { path, bytes: await saveReport(deps.jobs, path, report, format, options.page, context) };
    },
    'issue.create': async ({ path, formats, options }, context) => {
      const open = current();
      const { issue, differences, files } = await issueReport(
        open,
        deps.jobs,
        { ...reportOptionsOf(options), ground: keeper },
        context,
        deps.version,
        () => issueTargets(path, formats),
        path,
      );
      deps.onChanged(open.revision);
      return { view: buildView(open), issue, differences, files };
    },
    'issue.copy': ({ number, path }) => ({ path, bytes: copyIssue(current(), number, path) }),
    'issue.list': () => ({ issues: listIssues(current()) }),
    'issue.compare': async ({ options }, context) => ({
      last: await compareWithLastIssue(current(), deps.jobs, reportOptionsOf(options), context, deps.version),
    }),
    'issue.review': ({ number, note }) => {
      const view = edit((open) => reviewIssue(open, number, note));
      return { view, issues: listIssues(current()) };
    },
    'figure.save': async ({ path, format, options }, context) => {
      const { bytes } = await saveFigure(current(), deps.jobs, path, format, options, context, deps.version);
      return { path, bytes };
    },
    'compare.preview': (input, context) => drawComparison(current(), deps.jobs, input, context, deps.version),
    'compare.save': async ({ path, format, with: withWhat, options }, context) => {
      const { files, summary } = await saveComparison(
        current(),
        deps.jobs,
        [{ path, format }],
        { with: withWhat, options },
        context,
        deps.version,
      );
      return { path, bytes: files[0]?.bytes ?? 0, summary };
    },
    'export.save': async ({ path, format, options = {} }, context) => {
      const content = await exportData(current(), deps.jobs, format, options, context);
      return { path, bytes: writeWhole(path, content) };
    },
    'record.list': () => listRecord(current()),
    'record.undo': () => edit((open) => open.undo()),
    'record.redo': () => edit((open) => open.redo()),
    'crs.search': ({ text }) => ({ choices: searchCrs(text) }),
    'engine.info': deps.info,
    ...sheetHandlers(tools),
    ...outlineHandlers(tools),
    ...sitePlanHandlers(tools),
    ...fieldSheetHandlers(tools),
    ...readingHandlers(tools),
    ...qualityHandlers(tools),
    ...ruleHandlers(tools),
    ...handEntryHandlers(tools),
    ...mergeHandlers(tools),
    ...sitingHandlers(tools, keeper),
    'job.cancel': ({ requestId }) => {
      deps.cancel(requestId);
      return null;
    },
  };

  return {
    handlers,
    revision: () => store?.revision ?? 0,
    close: () => store?.close(),
  };
}
