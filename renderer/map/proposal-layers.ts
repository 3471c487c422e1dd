/** Proposals on the map: probes to drive with the walk between them, and placements of the building. Pure. */
import type { Feature, FeatureCollection } from 'geojson';
import type { ProjectView } from '../../core/contract/model.ts';
import type { PlannedProbeView, PlanProposal } from '../../core/contract/planning.ts';
import { type AppState, standingPose } from '../state/app-state.ts';
import { collect, lineFeature, pointFeature, polygonFeature } from './layers.ts';
import { isSamePose, placedRing, turnHandle } from './placement.ts';

function probePoints(probes: readonly PlannedProbeView[], part: 'plan' | 'next'): Feature[] {
  return probes.map((probe) => pointFeature(probe.positionM, { part, label: probe.label }));
}

/** One line for each day and instrument, from the start and back to it. */
function walkLines({ walk }: PlanProposal): Feature[] {
  return walk.parts.map(({ lineM }) => lineFeature(lineM, { part: 'walk' }));
}

function walkStart({ walkStart: start, lot }: ProjectView): Feature[] {
  const atM = start?.positionM ?? lot?.[0];
  return atM ? [pointFeature(atM, { part: 'walk-start', label: 'Start' })] : [];
}

export type ProposalState = Pick<
  AppState,
  'view' | 'step' | 'plan' | 'next' | 'site' | 'chosenPlacement' | 'placement'
>;

/** What is proposed in the step that is open. */
export function proposalLayer(state: ProposalState): FeatureCollection {
  if (state.step === 'plan') {
    return collect([
      ...(state.view && (state.plan || state.view.walkStart) ? walkStart(state.view) : []),
      ...(state.plan
        ? [...walkLines(state.plan.result), ...probePoints(state.plan.result.probes, 'plan')]
        : []),
      ...(state.next ? probePoints(state.next.result.added, 'next') : []),
    ]);
  }
  if (state.step !== 'site') return collect([]);
  const { ranked = [], unranked = [] } = state.site?.result ?? {};
  const placements = ranked.map(({ ring }, index) =>
    polygonFeature([ring], {
      part: 'placement',
      label: String(index + 1),
      chosen: state.chosenPlacement === index,
    }),
  );
  const other = unranked[(state.chosenPlacement ?? -1) - ranked.length];
  if (other) placements.push(polygonFeature([other.ring], { part: 'placement', label: '?', chosen: true }));
  const footprint = state.view?.footprint;
  if (!footprint || !state.view) return collect(placements);
  const { drawnRing } = footprint;
  const kept = footprint.placements
    .filter(({ chosen }) => !chosen)
    .map(({ ring, label }) => polygonFeature([ring], { part: 'kept', label }));
  const pose = state.placement;
  const moved = isSamePose(pose, standingPose(state.view))
    ? []
    : [polygonFeature([placedRing(drawnRing, pose)], { part: 'moved' })];
  const { centreM, atM } = turnHandle(drawnRing, pose);
  return collect([
    ...placements,
    ...kept,
    ...moved,
    lineFeature([centreM, atM], { part: 'turn' }),
    pointFeature(atM, { part: 'turn-handle' }),
  ]);
}
