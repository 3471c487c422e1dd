import { createHash } from 'node:crypto';
import type { DrawnGround } from '../contract/draw-test.ts';
import type { Probe, ProjectView, RingM } from '../contract/model.ts';
import { isFootFrame } from '../contract/project-words.ts';
import type { ClassResult, ShownSurface, SurfaceResult } from '../contract/results.ts';
import type { FigureInput, FigureSheet } from '../figure/figure-model.ts';
import { errorInset, probabilityInset } from '../figure/inset.ts';
import { findWeakGround } from '../figure/weak-ground.ts';
import { formatBothUnits } from '../figure/words.ts';
import { isOfIssue } from '../report/issue-state.ts';
import type { ReadableStore } from '../store/open-project.ts';
import { boundedText } from '../survey/drawn-permeability.ts';
import { classLimits, probeValues } from './classify-lot.ts';

export interface FigureExtrasInput {
  readonly view: ProjectView;
  readonly surface: SurfaceResult | null;
  readonly classResult: ClassResult;
  readonly sheet?: FigureSheet;
}

/** The figure with all that is optional on it: weak ground, small maps, rulings on high values, origins of the data. */
export function extendFigure(base: FigureInput, store: ReadableStore, parts: FigureExtrasInput): FigureInput {
  const { view, surface, classResult } = parts;
  const probes = new Map(view.probes.map((p) => [p.label, p]));
  const draws = new Map(probeValues(view).map((v) => [v.label, v.permeabilityDraw]));
  const [lot] = store.rows('lot');
  return {
    ...base,
    ...(parts.sheet === undefined ? {} : { sheet: parts.sheet }),
    ...groundOf(view, surface),
    rows: base.rows.map((row) => ({
      ...row,
      permeability: permeabilityText(probes.get(row.label), draws.get(row.label)),
    })),
    highRulings: highRulings(view, classResult),
    lotSource: lot?.source ?? null,
    dataFiles: store
      .attachments()
      .filter((f) => !isOfIssue(f.mediaType))
      .map(({ name, sha256 }) => ({ name, sha256 })),
  };
}

/** A surface as a map shows it: the window's map says of weak ground and of limits what the figure says. */
export function showSurface(view: ProjectView, surface: SurfaceResult): ShownSurface {
  return { ...surface, weakGround: groundOf(view, surface).weakGround ?? null, limits: classLimits(view) };
}

type Ground = Pick<FigureInput, 'weakGround' | 'insets'>;

/** The last ground worked out: an edit of a title must not contour the same surface again. */
let kept: { readonly key: string; readonly ground: Ground } | null = null;

function groundOf(view: ProjectView, surface: SurfaceResult | null): Ground {
  const { lot } = view;
  if (surface === null || lot === null) return {};
  const points = usedPoints(view, surface);
  const unit = view.settings.radonUnit;
  const isFoot = isFootFrame(view.frame);
  const key = createHash('sha256')
    .update(JSON.stringify([lot, points, unit, isFoot, surface.grid, surface.method]))
    .update(surface.estimateKBqPerM3)
    .update(surface.standardErrorKBqPerM3)
    .digest('hex');
  if (kept?.key !== key) kept = { key, ground: findGround(surface, points, lot, unit, isFoot) };
  return kept.ground;
}

function findGround(
  surface: SurfaceResult,
  points: readonly Probe['positionM'][],
  lot: RingM,
  unit: FigureInput['radonUnit'],
  isFoot: boolean,
): Ground {
  const insets = [errorInset(surface, lot, unit), probabilityInset(surface, lot, unit)];
  return {
    weakGround: findWeakGround(surface, points, lot, isFoot),
    insets: insets.filter((inset) => inset !== null),
  };
}

function usedPoints(view: ProjectView, surface: SurfaceResult): Probe['positionM'][] {
  const used = new Set(surface.usedSampleIds);
  const probeIds = new Set(view.samples.filter((s) => used.has(s.id)).map((s) => s.probeId));
  return view.probes.filter((p) => probeIds.has(p.id)).map((p) => p.positionM);
}

export function permeabilityText(probe: Probe | undefined, draw?: DrawnGround): string {
  if (probe === undefined) return '';
  const { permeabilityClass, permeabilityM2, fineFractionPct } = probe;
  if (permeabilityM2 !== null) return `${permeabilityM2.toExponential(1)} m²`;
  if (permeabilityClass !== null) return permeabilityClass;
  if (draw !== undefined) return `${boundedText(draw, 1)} m²`;
  return fineFractionPct === null ? '' : `${fineFractionPct} % fines`;
}

/**
 * Rulings that take off, or make a mere bound of, a value not below the class statistic, one sentence each.
 * Leaving out a high value is the road to a wrong all-clear, so these stand beside the class.
 */
export function highRulings(view: ProjectView, result: ClassResult): string[] {
  const statistics = [
    result.statisticKBqPerM3,
    ...result.alternatives.map((a) => (a.isWithoutRulings ? a.statisticKBqPerM3 : null)),
  ];
  const least = Math.min(...statistics.map((s) => s ?? Number.POSITIVE_INFINITY));
  const labels = new Map(view.probes.map((p) => [p.id, p.label]));
  return view.assessments.flatMap(({ ruling, unruledMeasured, probeId }) => {
    if (ruling === null || ruling.verdict === 'use' || unruledMeasured.kind !== 'value') return [];
    const value = unruledMeasured.estimateKBqPerM3;
    if (!(value >= least) && Number.isFinite(least)) return [];
    const verb = ruling.verdict === 'leave-out' ? 'left out' : 'taken as a lower bound';
    return [
      `HIGH VALUE ${verb.toUpperCase()} BY RULING: ${labels.get(probeId) ?? probeId}, ${formatBothUnits(value, view.settings.radonUnit)}; ${ruling.actor}, ${ruling.atUtc.slice(0, 10)}: ${ruling.reason}`,
    ];
  });
}
