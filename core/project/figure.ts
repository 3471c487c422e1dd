import { STANDING_CAUTIONS } from '../classify/classify.ts';
import type { ProbeMark, ProjectView, Sample, SampleAssessment, Treatment } from '../contract/model.ts';
import type { FigureFormat, FigureOptions, Input, Output } from '../contract/requests.ts';
import type { ClassResult, SurfaceResult } from '../contract/results.ts';
import type { SheetChanges, SheetKind, SheetLayoutView } from '../contract/sheet.ts';
import { AppError, toWire } from '../errors.ts';
import { composeSheet } from '../figure/compose-figure.ts';
import type { FigureBase, FigureInput, FigureRow } from '../figure/figure-model.ts';
import { figureMetadata, renderFigure } from '../figure/render-figure.ts';
import { joinSentences } from '../figure/words.ts';
import type { JobRunner } from '../jobs/runner.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';

import { classLimits, computeClass } from './classify-lot.ts';
import type { RequestContext } from './engine.ts';
import { figureBase } from './figure-base.ts';
import { extendFigure } from './figure-extras.ts';
import { writeWhole } from './files.ts';
import { recordHash } from './record.ts';
import { checkChanges, readSheetChanges } from './sheet-places.ts';
import { figureSheet, sheetTextsOf } from './sheet-texts.ts';
import { computeSurface } from './surface.ts';
import { buildView } from './view.ts';

const TREATMENT_WORDS: Record<Treatment, string> = {
  use: 'used',
  'lower-bound': 'lower bound',
  'leave-out': 'left out',
  'no-value': 'no value',
};

export interface FigureParts {
  readonly view: ProjectView;
  readonly surface: SurfaceResult | null;
  readonly noSurfaceReason: string | null;
  readonly classResult: ClassResult;
  readonly recordHash: string | null;
  readonly preparedBy: string | null;
  readonly version: string;
  /** Site plans under the map. */
  readonly base?: readonly FigureBase[];
}

/** Surface and class of the project as it stands, and why there is no surface where there is none. */
export async function gatherFigure(
  store: ProjectStore,
  jobs: JobRunner,
  options: FigureOptions,
  context: RequestContext,
  version: string,
): Promise<FigureParts> {
  const view = buildView(store);
  const base = {
    view,
    classResult: computeClass(view),
    recordHash: recordHash(store),
    preparedBy: sheetTextsOf(store, options).preparedBy ?? null,
    version,
    base: await figureBase(store, jobs, view, isBaseWanted(view, options), context),
  };
  try {
    return { ...base, surface: await computeSurface(store, jobs, context, view), noSurfaceReason: null };
  } catch (error) {
    const { code, message } = toWire(error);
    if (code !== 'BAD_INPUT' && code !== 'SINGULAR') throw error;
    return { ...base, surface: null, noSurfaceReason: message };
  }
}

function isBaseWanted({ settings }: ProjectView, { sitePlan }: FigureOptions): boolean {
  return sitePlan ?? settings.sitePlanInFigure ?? false;
}

export function figureInput(parts: FigureParts): FigureInput {
  const { view, surface, classResult } = parts;
  const marks = new Map(view.marks.map((m) => [m.probeId, m]));
  return {
    title: 'Radon in the soil gas',
    projectName: view.name,
    isDemo: view.isDemo,
    revision: view.revision,
    recordHash: parts.recordHash,
    sampledOn: samplingDays(view.samples),
    createdUtc: new Date().toISOString(),
    preparedBy: parts.preparedBy,
    program: `Gasplat ${parts.version}`,
    frame: view.frame,
    lot: view.lot,
    lotAreaM2: view.lotAreaM2,
    footprint: view.footprint,
    keepOuts: view.keepOuts,
    probes: view.probes.flatMap((probe) => {
      const mark = marks.get(probe.id);
      if (mark === undefined) return [];
      return [
        {
          label: probe.label,
          positionM: probe.positionM,
          symbol: mark.symbol,
          measured: mark.measured,
          leftOut: mark.leftOut,
          added: probe.added,
        },
      ];
    }),
    rows: sampleRows(view),
    exceptions: exceptions(view),
    surface,
    noSurfaceReason: parts.noSurfaceReason,
    limits: classLimits(view),
    classResult,
    quality: quality(view),
    cautions: STANDING_CAUTIONS,
    radonUnit: view.settings.radonUnit,
    ...(parts.base === undefined || parts.base.length === 0 ? {} : { base: parts.base }),
  };
}

/** The pages of the sheet, with all that is optional on it. */
export function composePages(parts: FigureParts, store: ReadableStore, options: FigureOptions) {
  const sheet = figureSheet(sheetTextsOf(store, options));
  const input = extendFigure(figureInput(parts), store, { ...parts, sheet });
  const { page, orientation, template } = options;
  const composed = composeSheet(input, {
    ...(page === undefined ? {} : { page }),
    ...(orientation === undefined ? {} : { orientation }),
    ...(template === undefined ? {} : { template }),
    changes: (sheet) => {
      if (options.changes === undefined) return readSheetChanges(store, sheet);
      checkChanges(sheet, options.changes);
      return options.changes;
    },
  });
  return { input, ...composed };
}

export async function renderProjectFigure(
  parts: FigureParts,
  store: ReadableStore,
  format: FigureFormat,
  options: FigureOptions,
): Promise<{ readonly bytes: Uint8Array; readonly layout: SheetLayoutView }> {
  const { input, scenes, layout } = composePages(parts, store, options);
  const dpi = options.dpi === undefined ? {} : { dpi: options.dpi };
  return { bytes: await renderFigure(scenes, format, figureMetadata(input), dpi), layout };
}

/** What was gathered last for each store: a sheet being arranged is drawn many times over one revision. */
const gathered = new WeakMap<ProjectStore, { readonly revision: number; readonly parts: FigureParts }>();

async function gatherOnce(
  store: ProjectStore,
  jobs: JobRunner,
  options: FigureOptions,
  context: RequestContext,
  version: string,
): Promise<FigureParts> {
  const { revision } = store;
  const kept = gathered.get(store);
  if (kept?.revision === revision) {
    const { view } = kept.parts;
    return {
      ...kept.parts,
      preparedBy: sheetTextsOf(store, options).preparedBy ?? null,
      base: await figureBase(store, jobs, view, isBaseWanted(view, options), context),
    };
  }
  const parts = await gatherFigure(store, jobs, options, context, version);
  if (store.revision === revision) gathered.set(store, { revision, parts });
  return parts;
}

/** One page for the window, which has the sheet's font itself. */
export async function drawFigure(
  store: ProjectStore,
  jobs: JobRunner,
  input: Input<'figure.preview'>,
  context: RequestContext,
  version: string,
): Promise<Output<'figure.preview'>> {
  const parts = await gatherOnce(store, jobs, input.options, context, version);
  const pages = composePages(parts, store, input.options);
  const pageIndex = Math.min(input.pageIndex ?? 0, pages.scenes.length - 1);
  const bytes = await renderFigure(pages.scenes, 'svg', figureMetadata(pages.input), { pageIndex });
  const { layout, scenes } = pages;
  return { svg: new TextDecoder().decode(bytes), pageCount: scenes.length, layout };
}

/** @returns bytes written and where the parts stand. The file appears whole or not at all. */
export async function saveFigure(
  store: ProjectStore,
  jobs: JobRunner,
  path: string,
  format: FigureFormat,
  options: FigureOptions,
  context: RequestContext,
  version: string,
): Promise<{ readonly bytes: number; readonly layout: SheetLayoutView }> {
  const parts = await gatherFigure(store, jobs, options, context, version);
  const { bytes, layout } = await renderProjectFigure(parts, store, format, options);
  return { bytes: writeWhole(path, bytes), layout };
}

/** @returns the options with the sheet's kind, and with the gaps closed that moved and hidden parts left on it */
export async function withoutGaps(
  store: ProjectStore,
  jobs: JobRunner,
  options: FigureOptions,
  context: RequestContext,
  version: string,
): Promise<FigureOptions & SheetKind & { readonly changes: SheetChanges }> {
  const parts = await gatherFigure(store, jobs, options, context, version);
  const { template, page, orientation, closing } = composePages(parts, store, options).layout;
  const sheet = { template, page, orientation };
  const before = options.changes ?? readSheetChanges(store, sheet);
  return { ...options, ...sheet, changes: { ...before, ...closing } };
}

export function figureFormatOf(path: string): FigureFormat {
  const ending = /\.([a-z]+)$/i.exec(path)?.[1]?.toLowerCase();
  if (ending === 'pdf' || ending === 'svg' || ending === 'png') return ending;
  throw new AppError('BAD_INPUT', `A figure is written as .pdf, .svg or .png, not "${path}".`, {
    file: path,
  });
}

function sampleRows(view: ProjectView): FigureRow[] {
  const assessments = new Map(view.assessments.map((a) => [a.sampleId, a]));
  const marks = new Map(view.marks.map((m) => [m.probeId, m]));
  return view.probes.flatMap((probe): FigureRow[] => {
    const mark = marks.get(probe.id);
    const own = view.samples.filter((s) => s.probeId === probe.id);
    const place = { label: probe.label, native: probe.native };
    if (own.length === 0) {
      const treatment = probe.state === 'planned' ? 'not sampled' : probe.state;
      return [
        {
          ...place,
          ...(mark === undefined ? {} : { symbol: mark.symbol }),
          depthM: probe.depthM,
          sampleKind: null,
          takenUtc: null,
          measured: null,
          finding: '',
          treatment,
        },
      ];
    }
    return own.map((sample) => {
      const assessment = assessments.get(sample.id);
      const isInMark = mark?.sampleIds.includes(sample.id) === true;
      const symbol = isInMark ? mark?.symbol : ownSymbol(assessment);
      const uncounted = isInMark && mark?.symbol === 'uncounted' ? ', not counted in the class' : '';
      return {
        ...place,
        ...(symbol === undefined ? {} : { symbol }),
        depthM: sample.depthM ?? probe.depthM,
        sampleKind: sample.kind,
        takenUtc: sample.takenUtc,
        measured: assessment?.measured ?? null,
        finding: assessment === undefined ? '' : findingWords(assessment),
        treatment: assessment === undefined ? '' : `${treatmentWords(assessment)}${uncounted}`,
      };
    });
  });
}

/** Of a sample that has no part in the value of its probe; none where the probe's own would say more than is so. */
function ownSymbol(assessment: SampleAssessment | undefined): ProbeMark['symbol'] | undefined {
  if (assessment?.treatment === 'leave-out') return 'left-out';
  return assessment?.treatment === 'lower-bound' ? 'diluted' : undefined;
}

/** Mere notes stand beside a ruling only: who reads that a high value was left out sees what spoke for and against it. */
function findingWords({ flags, ruling }: SampleAssessment): string {
  return joinSentences(
    flags.filter((f) => f.weight !== 'note' || f.kind === 'shallow' || ruling !== null).map((f) => f.message),
  );
}

function treatmentWords(assessment: SampleAssessment): string {
  const { ruling, treatment } = assessment;
  const words = TREATMENT_WORDS[treatment];
  return ruling === null
    ? words
    : `${words} (ruling of ${ruling.actor}, ${ruling.atUtc.slice(0, 10)}: ${ruling.reason})`;
}

/** Everything that does not count as it was read, and every ruling: listed on the first page of every figure. */
function exceptions(view: ProjectView): FigureInput['exceptions'] {
  const marks = new Map(view.marks.map((m) => [m.probeId, m]));
  const probes = new Map(view.probes.map((p) => [p.id, p]));
  return view.assessments.flatMap((assessment) => {
    const probe = probes.get(assessment.probeId);
    const mark = marks.get(assessment.probeId);
    if (probe === undefined || mark === undefined) return [];
    const isUncounted = mark.symbol === 'uncounted' && mark.sampleIds.includes(assessment.sampleId);
    const isOrdinary = isPlain(assessment, view.samples);
    if (isOrdinary && !isUncounted) return [];
    const why = assessment.ruling === null ? assessment.treatmentReason : assessment.ruling.reason;
    const words = [
      ...(isOrdinary ? [] : [`${treatmentWordsShort(assessment)}: ${why}`]),
      ...(isUncounted ? [`not counted in the class: ${mark.treatmentReason}`] : []),
    ];
    return [
      {
        label: probe.label,
        symbol: symbolHere(mark, assessment),
        text: words.join('; '),
      },
    ];
  });
}

function isPlain(assessment: SampleAssessment, samples: readonly Sample[]): boolean {
  if (samples.find((s) => s.id === assessment.sampleId)?.kind === 'blank') return true;
  return assessment.treatment === 'use' && assessment.dilution === 'none' && assessment.ruling === null;
}

function symbolHere(mark: ProbeMark, assessment: SampleAssessment): ProbeMark['symbol'] {
  return mark.sampleIds.includes(assessment.sampleId) || assessment.treatment !== 'leave-out'
    ? mark.symbol
    : 'left-out';
}

function treatmentWordsShort(assessment: SampleAssessment): string {
  const words =
    assessment.treatment === 'use' && assessment.dilution === 'suspect'
      ? 'used, suspect'
      : TREATMENT_WORDS[assessment.treatment];
  return assessment.ruling === null ? words : `${words} by ruling of ${assessment.ruling.actor}`;
}

function samplingDays(samples: readonly Sample[]): string | null {
  const days = samples.flatMap((s) => (s.takenUtc === null ? [] : [s.takenUtc.slice(0, 10)])).sort();
  const [first] = days;
  const last = days.at(-1);
  if (first === undefined || last === undefined) return null;
  return first === last ? first : `${first} to ${last}`;
}

/** Duplicates and blanks in one sentence; their absence is printed too. */
function quality(view: ProjectView): string {
  const duplicates = view.samples.filter((s) => s.kind === 'duplicate' || s.kind === 'repeat').length;
  const blanks = view.samples.filter((s) => s.kind === 'blank').length;
  const flagged = view.assessments.flatMap((a) => a.flags).filter((f) => f.kind === 'quality').length;
  const count = (n: number, one: string) => (n === 0 ? `no ${one}` : `${n} ${one}${n === 1 ? '' : 's'}`);
  return `${count(duplicates, 'repeat or duplicate sample')}, ${count(blanks, 'blank')}; ${count(flagged, 'quality finding')}.`;
}
