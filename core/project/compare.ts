/** Two surveys of one ground: another project, opened for reading only, or two spans of days of this one. */
import { existsSync, realpathSync } from 'node:fs';
import type { CompareSummary, CompareWith, DaySpan } from '../contract/comparing.ts';
import type { ProjectView } from '../contract/model.ts';
import type { FigureFormat, FigureOptions, Input, Output } from '../contract/requests.ts';
import { AppError } from '../errors.ts';
import { writeDifferenceTiff } from '../exchange/geotiff-out.ts';
import { composeFigure } from '../figure/compose-figure.ts';
import type { FigureInput } from '../figure/figure-model.ts';
import { figureMetadata, renderFigure } from '../figure/render-figure.ts';
import type { GridTie } from '../geo/local-grid.ts';
import { polygonsArea, ringArea } from '../geo/planar.ts';
import type { JobRunner } from '../jobs/runner.ts';
import { type ComparedSide, compareFigure, probeChanges } from '../report/compare-figure.ts';
import { type ComparedSurface, compareSurfaces, type SurfaceDifference } from '../report/compare-surfaces.ts';
import { changeLines, changeStatement, findPatches } from '../report/compare-words.ts';
import { placeSides } from '../report/place-sides.ts';
import { openProject, type ReadableStore } from '../store/open-project.ts';
import { computeClass, probeValues } from './classify-lot.ts';
import type { RequestContext } from './engine.ts';
import { figureInput } from './figure.ts';
import { extendFigure } from './figure-extras.ts';
import { writeWhole } from './files.ts';
import { gridTie } from './frame-of.ts';
import { recordHash } from './record.ts';
import { figureSheet, sheetTextsOf } from './sheet-texts.ts';
import { surfaceOf } from './surface.ts';
import { buildView } from './view.ts';

export type CompareFormat = FigureFormat | 'geotiff';

/** One side with everything that the sheet and the difference ask of it. */
interface Survey extends ComparedSide, ComparedSurface {
  readonly view: ProjectView;
  /** Instruments behind the values, each by what identifies it and its calibration. */
  readonly calibrations: ReadonlySet<string>;
  readonly lastDay: string | null;
  readonly tie: GridTie | null;
}

export interface Comparison {
  readonly sheet: FigureInput;
  readonly summary: CompareSummary;
  readonly difference: SurfaceDifference;
  readonly later: { readonly view: ProjectView; readonly tie: GridTie | null };
}

/**
 * The later survey minus the earlier one. Of two projects the one sampled last is the later.
 * @throws AppError BAD_INPUT where a side has no surface, the lots share no ground, or nothing ties their systems
 */
export async function compareSurveys(
  store: ReadableStore,
  jobs: JobRunner,
  withWhat: CompareWith,
  context: RequestContext,
  version: string,
): Promise<Comparison> {
  const part = (from: number): RequestContext => ({
    signal: context.signal,
    onProgress: (done, stage) => context.onProgress(from + done / 2, stage),
  });
  if (withWhat.kind === 'dates') {
    const survey = (span: DaySpan, from: number) => {
      const view = buildView(store, undefined, (row) => isWithin(row.taken_utc, span));
      return gatherSurvey(store, jobs, view, spanText(span, view), part(from), version);
    };
    refuseOverlap(withWhat);
    const earlier = await survey(withWhat.earlier, 0);
    const later = await survey(withWhat.later, 0.5);
    const dateless = store.rows('sample').filter((row) => row.taken_utc === null).length;
    return compose(
      earlier,
      later,
      dateless === 0
        ? []
        : [`Samples without a time are in neither survey: ${dateless} of them were left aside.`],
    );
  }
  refuseSame(store.path, withWhat.path);
  const other = openProject(withWhat.path, { readOnly: true });
  try {
    const [ownView, theirView] = [buildView(store), buildView(other)];
    // Before any surface is computed, which takes longest.
    placeSides(
      { label: theirView.name, frame: theirView.frame, tie: gridTie(other) },
      { label: ownView.name, frame: ownView.frame, tie: gridTie(store) },
    );
    const own = await survey(store, ownView, part(0));
    const theirs = await survey(other, theirView, part(0.5));
    const isTheirsLater = (theirs.lastDay ?? '') > (own.lastDay ?? '');
    const [earlier, later] = isTheirsLater ? [own, theirs] : [theirs, own];
    return compose(...distinct(earlier, later), []);
  } finally {
    other.close();
  }

  function survey(of: ReadableStore, view: ProjectView, context: RequestContext) {
    return gatherSurvey(of, jobs, view, daysText(view) ?? view.name, context, version);
  }
}

function renderComparison(
  comparison: Comparison,
  format: CompareFormat,
  options: FigureOptions,
): Promise<Uint8Array> | Uint8Array {
  const { sheet, difference, later } = comparison;
  if (format === 'geotiff') return writeDifferenceTiff(later.view, difference, { tie: later.tie });
  const dpi = options.dpi === undefined ? {} : { dpi: options.dpi };
  return renderFigure(pagesOf(sheet, options), format, figureMetadata(sheet), dpi);
}

/** One page for the window, with the finding in words. */
export async function drawComparison(
  store: ReadableStore,
  jobs: JobRunner,
  input: Input<'compare.preview'>,
  context: RequestContext,
  version: string,
): Promise<Output<'compare.preview'>> {
  const { sheet, summary } = await compareSurveys(store, jobs, input.with, context, version);
  const pages = pagesOf(withTexts(sheet, store, input.options), input.options);
  const pageIndex = Math.min(input.pageIndex ?? 0, pages.length - 1);
  const bytes = await renderFigure(pages, 'svg', figureMetadata(sheet), { pageIndex });
  return { svg: new TextDecoder().decode(bytes), pageCount: pages.length, summary };
}

/** The files appear whole or not at all. */
export async function saveComparison(
  store: ReadableStore,
  jobs: JobRunner,
  files: readonly { readonly path: string; readonly format: CompareFormat }[],
  request: { readonly with: CompareWith; readonly options: FigureOptions },
  context: RequestContext,
  version: string,
): Promise<{
  readonly files: readonly { readonly path: string; readonly bytes: number }[];
  readonly summary: CompareSummary;
}> {
  const found = await compareSurveys(store, jobs, request.with, context, version);
  const comparison = { ...found, sheet: withTexts(found.sheet, store, request.options) };
  const written = [];
  for (const { path, format } of files) {
    const bytes = await renderComparison(comparison, format, request.options);
    written.push({ path, bytes: writeWhole(path, bytes) });
  }
  return { files: written, summary: found.summary };
}

/** People and texts are those of the project at hand, whichever side it is. */
function withTexts(sheet: FigureInput, store: ReadableStore, options: FigureOptions): FigureInput {
  const texts = sheetTextsOf(store, options);
  return { ...sheet, preparedBy: texts.preparedBy ?? null, sheet: figureSheet(texts) };
}

function pagesOf(sheet: FigureInput, { page, orientation, template }: FigureOptions) {
  return composeFigure(sheet, {
    ...(page === undefined ? {} : { page }),
    ...(orientation === undefined ? {} : { orientation }),
    ...(template === undefined ? {} : { template }),
  });
}

async function gatherSurvey(
  store: ReadableStore,
  jobs: JobRunner,
  view: ProjectView,
  label: string,
  context: RequestContext,
  version: string,
): Promise<Survey> {
  const { lot } = view;
  if (lot === null)
    throw new AppError('BAD_INPUT', `${view.name} has no lot: a comparison needs the outline of both.`, {
      file: store.path,
    });
  const surface = await surfaceOf(store, jobs, context, view).catch((error: unknown) => {
    if (!(error instanceof AppError) || (error.code !== 'BAD_INPUT' && error.code !== 'SINGULAR'))
      throw error;
    throw new AppError(error.code, `${label}: ${error.message}`, { ...error.details, file: store.path });
  });
  const classResult = computeClass(view);
  const base = figureInput({
    view,
    surface,
    noSurfaceReason: null,
    classResult,
    recordHash: recordHash(store),
    preparedBy: null,
    version,
  });
  const used = new Set(surface.usedSampleIds);
  return {
    label,
    view,
    frame: view.frame,
    tie: gridTie(store),
    lot,
    surface,
    classResult,
    figure: extendFigure(base, store, { view, surface: null, classResult }),
    commonURel: Math.max(
      0,
      ...probeValues(view).map((p) => (p.measured.kind === 'value' ? p.measured.commonURel : 0)),
    ),
    calibrations: new Set(
      store.rows('sample').flatMap((row) => {
        if (!used.has(row.id)) return [];
        const [instrument] = store.rows('instrument', { id: row.instrument_id ?? '' });
        // Without an instrument nobody can say that two values share their calibration.
        if (instrument === undefined) return [`unnamed ${row.id}`];
        const { label: name, calibrated_on, certificate } = instrument;
        return [JSON.stringify([name, calibrated_on, certificate])];
      }),
    ),
    lastDay: sampledDays(view).at(-1) ?? null,
  };
}

function compose(earlier: Survey, later: Survey, notes: readonly string[]): Comparison {
  const all = new Set([...earlier.calibrations, ...later.calibrations]);
  const sharedCalibration = all.size === 1;
  const difference = compareSurfaces(earlier, later, { sharedCalibration });
  const probes = probeChanges(earlier, later, { sharedCalibration });
  const patches = findPatches(difference, later.figure.probes);
  const statement = changeStatement(difference, patches, probes);
  const lines = changeLines(difference, patches, probes, {
    unit: later.figure.radonUnit,
    isFeet: later.frame.unitLabel !== 'm',
    laterLotM2: Math.abs(ringArea(later.lot)),
  });
  const method = [...difference.statements, ...sourceText(earlier, later), ...notes];
  const summary: CompareSummary = {
    earlier: earlier.label,
    later: later.label,
    statement,
    lines,
    method,
    sharedGroundM2: polygonsArea(difference.ground),
    meanKBqPerM3: difference.meanKBqPerM3,
    clearShare: difference.clearShare,
    patches,
    probes,
  };
  const sheet = compareFigure(earlier, later, { ...difference, statements: method }, summary);
  return { sheet, summary, difference, later };
}

/** Which projects, in which state, the two sides were; one line where it is one project. */
function sourceText(earlier: Survey, later: Survey): string[] {
  if (earlier.view.path === later.view.path) return [];
  return [earlier, later].map(
    ({ label, view, figure }) =>
      `${label}: project "${view.name}", revision ${view.revision}, record ${figure.recordHash?.slice(0, 16) ?? 'none'}.`,
  );
}

function refuseSame(own: string, other: string): void {
  const real = (path: string) => (existsSync(path) ? realpathSync(path) : path);
  if (real(own) !== real(other)) return;
  throw new AppError(
    'BAD_INPUT',
    'This is the project that is open: choose another one, or compare two spans of days.',
    { file: other },
  );
}

/** Sides whose labels say the same are told apart by the names of their projects. */
function distinct(earlier: Survey, later: Survey): [Survey, Survey] {
  if (earlier.label !== later.label) return [earlier, later];
  const isNamed = earlier.view.name !== later.view.name;
  const named = (side: Survey, order: string): Survey => ({
    ...side,
    label: isNamed ? side.view.name : `${side.label} (${order})`,
  });
  return [named(earlier, 'first file'), named(later, 'second file')];
}

function sampledDays(view: ProjectView): string[] {
  return [
    ...new Set(view.samples.flatMap((s) => (s.takenUtc === null ? [] : [s.takenUtc.slice(0, 10)]))),
  ].sort();
}

function daysText(view: ProjectView): string | null {
  const days = sampledDays(view);
  const [first, last] = [days[0], days.at(-1)];
  if (first === undefined || last === undefined) return null;
  return first === last ? first : `${first} to ${last}`;
}

function isWithin(takenUtc: string | null, { from, to }: DaySpan): boolean {
  const day = takenUtc?.slice(0, 10);
  return day !== undefined && (from === undefined || day >= from) && (to === undefined || day <= to);
}

function spanText(span: DaySpan, view: ProjectView): string {
  const asked = `${span.from ?? 'the start'} to ${span.to ?? 'the end'}`;
  const found = daysText(view);
  if (found !== null) return found;
  throw new AppError('BAD_INPUT', `There is no sample from ${asked}: choose other days.`, { field: 'dates' });
}

function refuseOverlap({ earlier, later }: Extract<CompareWith, { kind: 'dates' }>): void {
  const [a, b] = [
    { from: earlier.from ?? '', to: earlier.to ?? '9999' },
    { from: later.from ?? '', to: later.to ?? '9999' },
  ];
  if (a.from > a.to || b.from > b.to)
    throw new AppError('BAD_INPUT', 'A span of days ends before it begins.', { field: 'dates' });
  if (a.from <= b.to && b.from <= a.to)
    throw new AppError(
      'BAD_INPUT',
      'The two spans of days overlap: a sample of both would be compared with itself.',
      { field: 'dates' },
    );
}
