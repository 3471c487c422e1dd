import type { CurveRequest, CurveResult } from '../../core/contract/field-sheets.ts';
import type { Pose, PositionM, ProjectView, RulingVerdict } from '../../core/contract/model.ts';
import type {
  NextProposal,
  NextRequest,
  PlanProposal,
  PlanRequest,
  SiteRequest,
  SiteResult,
} from '../../core/contract/planning.ts';
import type { Catalogue, ImportOptions, ImportPreview, ImportReport } from '../../core/contract/requests.ts';
import type { ClassResult, ShownSurface } from '../../core/contract/results.ts';
import type { SitePlanView } from '../../core/contract/site-plans.ts';
import type { FootprintClass, KeptComparison, UnderPlace } from '../../core/contract/siting.ts';
import type { ErrorDetails } from '../../core/errors.ts';
import type { RecentProject } from './recent.ts';

export const STEPS = ['plan', 'field', 'reduce', 'map', 'classify', 'site', 'deliver'] as const;
export type StepId = (typeof STEPS)[number];

export const STEP_TITLES: Record<StepId, string> = {
  plan: 'Plan',
  field: 'Field',
  reduce: 'Reduce',
  map: 'Map',
  classify: 'Classify',
  site: 'Site',
  deliver: 'Deliver',
};

export type ShownField = 'probes' | 'estimate' | 'error' | 'probability' | 'suitability';

/** A failure as a person reads it, with the place it happened. */
export interface Problem {
  readonly doing: string;
  readonly message: string;
  readonly details: ErrorDetails;
}

export interface Job {
  readonly id: number;
  readonly label: string;
  readonly done: number;
  readonly stage: string;
}

export interface PendingImport {
  readonly path: string;
  readonly options: ImportOptions;
  readonly preview: ImportPreview | null;
}

/** What a keep-out being drawn will be called, and whose place it takes. */
export interface KeepOutDraft {
  readonly id: string | null;
  readonly label: string;
  readonly bufferM: number;
  readonly blocksWalk?: boolean;
}

export interface Drawing {
  readonly target: 'lot' | 'footprint' | 'keep-out';
  readonly shape: 'polygon' | 'line';
  readonly points: readonly PositionM[];
  /** With the target 'keep-out' only. */
  readonly keepOut?: KeepOutDraft;
}

/** What helps a hand to draw exactly. */
export interface DrawingAids {
  readonly snap: boolean;
  readonly rightAngles: boolean;
}

/** Something shown on the map while a form is being filled in: not kept. */
export interface Sketch {
  readonly points: readonly PositionM[];
  readonly isClosed: boolean;
}

/** Corners below which a drawing cannot be finished. */
export function leastCorners(shape: Drawing['shape']): number {
  return shape === 'line' ? 2 : 3;
}

export interface Computed<T> {
  /** What it was worked out from, see `ResultBasis` of the contract. */
  readonly basis: string;
  readonly result: T;
}

/** As drawn. */
export const UNMOVED: Pose = { dxM: 0, dyM: 0, turnDeg: 0, mirrored: false };

/** How the footprint stands: by the placement chosen, else as drawn. */
export function standingPose(view: ProjectView | null): Pose {
  return view?.footprint?.placements.find((placement) => placement.chosen)?.pose ?? UNMOVED;
}

/** What the engine has said of the ground and of places on it. */
export interface SitingState {
  /** Realisations held by the engine, for the basis named. */
  readonly ground: {
    readonly basis: string;
    readonly status: 'drawing' | 'ready' | 'failed';
    readonly problem: Problem | null;
  } | null;
  /** Under the footprint as it stands, and under the place in hand. */
  readonly standing: Computed<UnderPlace> | null;
  readonly inHand: (Computed<UnderPlace> & { readonly pose: Pose }) | null;
  readonly kept: Computed<KeptComparison> | null;
  readonly footprintClass: Computed<FootprintClass> | null;
}

export const NO_SITING: SitingState = {
  ground: null,
  standing: null,
  inHand: null,
  kept: null,
  footprintClass: null,
};

/** A result with what was asked for: the form that asked starts from it again. */
export interface Asked<T, R> extends Computed<T> {
  readonly request: R;
}

export interface AppState {
  readonly starting: boolean;
  readonly recent: readonly RecentProject[];
  /** What the program itself knows; null until the engine has told it. */
  readonly catalogue: Catalogue | null;
  readonly view: ProjectView | null;
  readonly step: StepId;
  readonly dialog: 'new-project' | 'shortcuts' | null;
  readonly selectedSampleId: string | null;
  readonly checkedSampleIds: ReadonlySet<string>;
  readonly surface: Computed<ShownSurface> | null;
  readonly classification: Computed<ClassResult> | null;
  /** Basis a computation was begun for: failed or cancelled, it is not begun again by itself. */
  readonly surfaceHeldAt: string | null;
  readonly classHeldAt: string | null;
  readonly surfaceProblem: Problem | null;
  readonly classProblem: Problem | null;
  readonly shown: ShownField;
  readonly problem: Problem | null;
  readonly jobs: readonly Job[];
  /** Proposals: worked out, shown, and kept only when a person accepts them. */
  readonly plan: Asked<PlanProposal, PlanRequest> | null;
  readonly curve: Asked<CurveResult, CurveRequest> | null;
  readonly next: Asked<NextProposal, NextRequest> | null;
  readonly site: Asked<SiteResult, SiteRequest> | null;
  /** Place in `site` (ranked first, then unranked) that the map brings out. */
  readonly chosenPlacement: number | null;
  /** Where the footprint is in hand; not kept yet. */
  readonly placement: Pose;
  readonly siting: SitingState;
  readonly pendingImport: PendingImport | null;
  readonly importReport: ImportReport | null;
  readonly drawing: Drawing | null;
  readonly aids: DrawingAids;
  readonly sketch: Sketch | null;
  readonly sitePlans: readonly SitePlanView[];
  /** As it would lie by points that are still being entered. */
  readonly triedSitePlan: SitePlanView | null;
  /** A form waits for a place to be pointed at on the map. */
  readonly picking: ((positionM: PositionM) => void) | null;
  readonly deliveredAt: number | null;
  readonly deliveredPath: string | null;
  /** Raised by 'fit to lot': the map looks at the number, not at its meaning. */
  readonly fitCount: number;
  /** For the polite live region: what just happened, in words. */
  readonly said: string;
}

export const INITIAL_STATE: AppState = {
  starting: true,
  recent: [],
  catalogue: null,
  view: null,
  step: 'plan',
  dialog: null,
  selectedSampleId: null,
  checkedSampleIds: new Set(),
  surface: null,
  classification: null,
  surfaceHeldAt: null,
  classHeldAt: null,
  surfaceProblem: null,
  classProblem: null,
  shown: 'estimate',
  problem: null,
  jobs: [],
  plan: null,
  curve: null,
  next: null,
  site: null,
  chosenPlacement: null,
  placement: UNMOVED,
  siting: NO_SITING,
  pendingImport: null,
  importReport: null,
  drawing: null,
  aids: { snap: true, rightAngles: false },
  sketch: null,
  sitePlans: [],
  triedSitePlan: null,
  picking: null,
  deliveredAt: null,
  deliveredPath: null,
  fitCount: 0,
  said: '',
};

/** Takes a newer view of the open project; one that a later reply has overtaken is left aside. */
export function withView(state: AppState, view: ProjectView): AppState {
  if (state.view && state.view.path === view.path && view.revision < state.view.revision) return state;
  const known = new Set(view.samples.map((sample) => sample.id));
  const standing = (of: ProjectView | null) => JSON.stringify([of?.footprint?.drawnRing, standingPose(of)]);
  return {
    ...state,
    view,
    placement: standing(state.view) === standing(view) ? state.placement : standingPose(view),
    selectedSampleId:
      state.selectedSampleId !== null && known.has(state.selectedSampleId) ? state.selectedSampleId : null,
    checkedSampleIds: [...state.checkedSampleIds].every((id) => known.has(id))
      ? state.checkedSampleIds
      : new Set([...state.checkedSampleIds].filter((id) => known.has(id))),
  };
}

/** A project just opened: nothing of the former one is kept, and the first step still to be done comes up. */
export function withOpenedProject(state: AppState, view: ProjectView, step: StepId): AppState {
  return {
    ...withoutProject(state),
    view,
    step,
    placement: standingPose(view),
    fitCount: state.fitCount + 1,
  };
}

export function withoutProject(state: AppState): AppState {
  const { catalogue, recent, jobs, fitCount } = state;
  return { ...INITIAL_STATE, starting: false, catalogue, recent, jobs, fitCount };
}

export function withSelection(state: AppState, sampleId: string | null): AppState {
  return state.selectedSampleId === sampleId ? state : { ...state, selectedSampleId: sampleId };
}

/** Selects the sample that stands for a probe: the first grab, else the first of any kind. */
export function withSelectedProbe(state: AppState, probeId: string): AppState {
  const samples = state.view?.samples.filter((sample) => sample.probeId === probeId) ?? [];
  const chosen = samples.find((sample) => sample.kind === 'grab') ?? samples[0];
  return chosen ? withSelection(state, chosen.id) : state;
}

export function withChecked(state: AppState, sampleIds: readonly string[], checked: boolean): AppState {
  const next = new Set(state.checkedSampleIds);
  for (const id of sampleIds) {
    if (checked) next.add(id);
    else next.delete(id);
  }
  return { ...state, checkedSampleIds: next };
}

export function withJob(state: AppState, job: Job): AppState {
  const others = state.jobs.filter((other) => other.id !== job.id);
  return { ...state, jobs: [...others, job].sort((a, b) => a.id - b.id) };
}

export function withoutJob(state: AppState, id: number): AppState {
  return { ...state, jobs: state.jobs.filter((job) => job.id !== id) };
}

/** The ruling form works on the checked samples, or on the selected one where none is checked. */
export function rulingTargets(state: AppState): readonly string[] {
  if (state.checkedSampleIds.size > 0) return [...state.checkedSampleIds];
  return state.selectedSampleId === null ? [] : [state.selectedSampleId];
}

export const VERDICT_NAMES: Record<RulingVerdict, string> = {
  use: 'Use',
  'lower-bound': 'Use as lower bound',
  'leave-out': 'Leave out',
};
