import type { PolygonM, ProjectView } from '../contract/model.ts';
import type { PlanProposal, PlanRequest } from '../contract/planning.ts';
import { AppError } from '../errors.ts';
import type { PositionNative } from '../geo/frame.ts';
import { toNative } from '../geo/frame.ts';
import type { JobRunner } from '../jobs/runner.ts';
import { type AllowedGround, groundForProbes, groundOffLotLine } from '../plan/allowed-ground.ts';
import { checkPlan } from '../plan/check-plan.ts';
import { type WalkLine, walkBarriers } from '../plan/walk-ground.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { RequestContext } from './engine.ts';
import { originFor, projectRow } from './frame-of.ts';
import { schemeOf } from './schemes.ts';
import { walkStartOf } from './walk-start.ts';

/** An easy pace over rough ground with a case in hand (own assumption). */
export const WALKING_M_PER_MINUTE = 50;

export const PROBE_CAUTIONS: readonly string[] = [
  'Have buried services located and marked before any probe is driven, to any depth; call the local one-call service first.',
  'Keep-outs hold only what was entered here. What is not drawn is not avoided.',
];

/** As far off as a failed hole is driven again (common practice): nearer, two holes may draw the same gas. */
const CLOSEST_M = 1.5;
const CLOSE_NOTE = `Probes nearer than ${CLOSEST_M} m to each other may draw the same gas, and a hole lets air into the next.`;

/** Ground that probes speak for, and the part of it where a layout puts them. */
export function probeGround(view: ProjectView): AllowedGround & { readonly stand: readonly PolygonM[] } {
  if (view.lot === null)
    throw new AppError('BAD_INPUT', 'There is no lot yet: set its outline before laying out probes.');
  const ground = groundForProbes({ lot: view.lot, keepOuts: view.keepOuts });
  return { ...ground, stand: groundOffLotLine(ground, view.lot) };
}

/**
 * A grid the scheme accepts, in walking order, with what is missing said. Nothing is written.
 * @throws AppError BAD_INPUT where there is no lot, no allowed ground, or the request cannot be met; CANCELLED
 */
export async function proposePlan(
  view: ProjectView,
  jobs: JobRunner,
  request: PlanRequest,
  context: RequestContext,
): Promise<PlanProposal> {
  const ground = probeGround(view);
  const scheme = schemeOf(view);
  const footprint = view.footprint?.ring ?? null;
  if (footprint === null && (request.around !== 'all' || request.pattern === 'along-footprint')) {
    throw new AppError(
      'BAD_INPUT',
      'This layout follows the footprint, and none is set: set the footprint, or lay out the whole lot.',
    );
  }
  const taken = view.probes.filter((p) => p.state !== 'planned').map((p) => p.label);
  const design = await jobs.run(
    'design-grid',
    {
      pattern: request.pattern,
      size: request.size,
      ground: ground.polygons,
      stand: ground.stand,
      footprint,
      around: request.around,
      minimumCount: scheme.minimumCount.value,
      ...(request.turnDeg === undefined ? {} : { turnDeg: request.turnDeg }),
      labels: { prefix: request.labelPrefix, taken },
    },
    { signal: context.signal, onProgress: (done, stage) => context.onProgress(0.6 * done, stage) },
  );
  const startM = walkStartOf(view, request.startM) ?? [0, 0];
  const { route, work } = await jobs.run(
    'plan-walk',
    {
      startM,
      probes: design.probes.map((p) => p.positionM),
      barriers: walkBarriers(view.keepOuts),
      pace: {
        minutesPerTest: request.minutesPerTest,
        walkingMetresPerMinute: WALKING_M_PER_MINUTE,
        instruments: request.instruments,
        days: request.days,
      },
    },
    { signal: context.signal, onProgress: (done, stage) => context.onProgress(0.6 + 0.4 * done, stage) },
  );
  // Numbers follow the rounds as they are walked, each from the start on, so that the field sheet reads top to bottom.
  const walked = work.parts.flatMap((part) => part.route.order.flatMap((i) => design.probes[i] ?? []));
  const labels = design.probes.map((p) => p.label).sort(byNumber);
  const probes = walked.map((p, i) => ({
    label: labels[i] ?? p.label,
    positionM: p.positionM,
    native: toNative(view.frame, p.positionM),
  }));
  const newLabel = new Map(walked.map((p, i) => [p.label, labels[i] ?? p.label]));
  return {
    probes,
    pattern: design.pattern,
    spacingM: design.spacingM,
    turnDeg: design.turnDeg,
    worstGapM: design.worstGapM,
    worstGapInFootprintM: design.worstGapInFootprintM,
    groundAreaM2: ground.areaM2,
    findings: checkPlan({ probes, depthM: request.depthM }, scheme, footprint).map((finding) => ({
      ...finding,
      source: scheme.sources[finding.source] ?? (finding.source === '' ? 'common practice' : finding.source),
    })),
    walk: {
      lengthM: route.lengthM,
      lowerBoundM: route.lowerBoundM,
      longestDayHours: work.longestMinutes / 60,
      totalHours: work.totalMinutes / 60,
      parts: work.parts.map((part) => ({
        day: part.day,
        instrument: part.instrument,
        labels: part.route.order.flatMap((i) => {
          const label = design.probes[i]?.label;
          return label === undefined ? [] : [newLabel.get(label) ?? label];
        }),
        minutes: part.minutes,
        lineM: part.route.line.points,
      })),
    },
    notes: [
      ...(probes.length > 1 && design.spacingM < CLOSEST_M ? [CLOSE_NOTE] : []),
      ...design.notes,
      ...ground.warnings,
      ...walkNotes(work.parts.map((part) => part.route.line)),
    ],
    cautions: PROBE_CAUTIONS,
  };
}

/** What is to be said of walks that meet ground they cannot get round. */
export function walkNotes(lines: readonly WalkLine[]): string[] {
  const forced = lines.reduce((sum, line) => sum + line.forcedLegs, 0);
  return forced === 0
    ? []
    : [
        `${forced === 1 ? 'One leg of the walk has' : `${forced} legs of the walk have`} no way round what blocks, as into a closed yard: taken straight, and longer on foot.`,
      ];
}

function byNumber(a: string, b: string): number {
  return a.localeCompare(b, 'en', { numeric: true });
}

/**
 * Puts proposed probes into the project as planned ones. Planned probes that nobody has driven are replaced when
 * `replace` is set; driven ones are never touched.
 * @returns how many planned probes were replaced
 * @throws AppError BAD_INPUT where a label is taken, or given twice
 */
export function acceptPlan(
  store: ProjectStore,
  probes: readonly { readonly label: string; readonly native: PositionNative; readonly added: boolean }[],
  depthM: number,
  replace: boolean,
): number {
  const origin = originFor(
    store,
    probes.map((p) => p.native),
  );
  const old = store.rows('probe').filter((p) => replace && p.state === 'planned' && p.driven_x === null);
  const leaving = new Set(old.map((p) => p.id));
  const taken = new Set(
    store.rows('probe').flatMap((p) => (leaving.has(p.id) ? [] : [p.label.toLowerCase()])),
  );
  for (const { label } of probes) {
    if (taken.has(label.toLowerCase())) {
      throw new AppError('BAD_INPUT', `There is a probe "${label}" already; choose another prefix or name.`, {
        field: 'label',
      });
    }
    taken.add(label.toLowerCase());
  }
  store.change('plan.accept', `Plan ${probes.length} probes`, (tx) => {
    tx.update('project', projectRow(store).id, { origin_x: origin[0], origin_y: origin[1] });
    for (const probe of old) tx.remove('probe', probe.id);
    for (const { label, native, added } of probes) {
      tx.insert('probe', {
        label,
        state: 'planned',
        planned_x: native[0],
        planned_y: native[1],
        depth_m: depthM,
        added: added ? 1 : 0,
      });
    }
  });
  return old.length;
}
