import type { Feature } from 'geojson';
import { describe, expect, test } from 'vitest';
import type { KeptPlacement, PositionM } from '../../core/contract/model.ts';
import type { PlacementView, PlanProposal, SiteResult } from '../../core/contract/planning.ts';
import { mockView } from '../../renderer/dev/mock-project.ts';
import { turnHandle, turnToward } from '../../renderer/map/placement.ts';
import { type ProposalState, proposalLayer } from '../../renderer/map/proposal-layers.ts';
import { INITIAL_STATE, UNMOVED, withView } from '../../renderer/state/app-state.ts';
import { planBasis, sitingBasis } from '../../renderer/state/basis.ts';

const view = mockView('/x.gasplat');
const probe = (label: string, x: number) => ({ label, positionM: [x, 0] as const, native: [x, 0] as const });

/** By way of a corner that no probe stands at. */
const LINE: readonly PositionM[] = [
  [0, 0],
  [10, 0],
  [7, 2],
  [5, 0],
  [0, 0],
];

const PLAN: PlanProposal = {
  probes: [probe('Q1', 0), probe('Q2', 5), probe('Q3', 10)],
  pattern: 'square',
  spacingM: 5,
  turnDeg: 0,
  worstGapM: 3,
  worstGapInFootprintM: null,
  groundAreaM2: 100,
  findings: [],
  walk: {
    lengthM: 10,
    lowerBoundM: 10,
    longestDayHours: 1,
    totalHours: 2,
    parts: [
      { day: 1, instrument: 1, labels: ['Q3', 'Q2'], minutes: 60, lineM: LINE },
      { day: 2, instrument: 1, labels: ['Q1'], minutes: 30, lineM: LINE },
    ],
  },
  notes: [],
  cautions: [],
};

const placement = (x: number, why: string | null): PlacementView => ({
  pose: { dxM: x, dyM: 0, turnDeg: 0, mirrored: false },
  ring: [
    [x, 0],
    [x + 5, 0],
    [x + 5, 5],
  ],
  distanceMovedM: x,
  judged: 20,
  statistics: {
    areaM2: 12.5,
    offSurfaceShare: 0,
    estimateKBqPerM3: 20,
    blockMeanKBqPerM3: null,
    upperQuartileKBqPerM3: null,
    worstCell: null,
    overLimits: [],
    realisations: 300,
  },
  probesNear: 4,
  why,
});
const SITE: SiteResult = {
  ranked: [placement(1, null), placement(10, null)],
  unranked: [placement(20, 'too few probes near it')],
  asDrawn: null,
  suitability: null,
  nothingFits: null,
  differences: [],
  choiceRule: '',
  posesTried: 3,
  cautions: [],
};

const state: ProposalState = {
  view,
  step: 'plan',
  plan: {
    basis: planBasis(view),
    result: PLAN,
    request: {
      pattern: 'square',
      size: { count: 3 },
      around: 'all',
      depthM: 0.8,
      labelPrefix: 'Q',
      minutesPerTest: 30,
      instruments: 1,
      days: 2,
    },
  },
  next: null,
  site: {
    basis: sitingBasis(view),
    result: SITE,
    request: {
      objective: 'lowest-estimate',
      setbackM: 0,
      mayTurn: false,
      mayMirror: false,
      perMetreMoved: 0,
      wanted: 2,
      seed: 1,
    },
  },
  chosenPlacement: 1,
  placement: UNMOVED,
};
const isPlacement = ({ properties }: Feature) => !String(properties?.['part']).startsWith('turn');
/** All but the handle for turning, which is always there in the Site step. */
const parts = (of: ProposalState) =>
  proposalLayer(of)
    .features.filter(isPlacement)
    .map(({ properties }) => [properties?.['part'], properties?.['label']]);

describe('proposals on the map', () => {
  test('planning shows the start, the probes and one line for each round, with the corners it turns at', () => {
    expect(parts(state)).toEqual([
      ['walk-start', 'Start'],
      ['walk', undefined],
      ['walk', undefined],
      ['plan', 'Q1'],
      ['plan', 'Q2'],
      ['plan', 'Q3'],
    ]);
    const [, walk] = proposalLayer(state).features;
    expect(walk?.geometry).toMatchObject({ type: 'LineString', coordinates: { length: LINE.length } });
  });

  test('siting shows the ranked placements by rank, the chosen one brought out', () => {
    const shown = proposalLayer({ ...state, step: 'site' }).features.filter(isPlacement);
    expect(shown.map(({ properties }) => [properties?.['label'], properties?.['chosen']])).toEqual([
      ['1', false],
      ['2', true],
    ]);
  });

  test('a placement that is not ranked shows only while it is chosen, without a rank', () => {
    expect(parts({ ...state, step: 'site', chosenPlacement: 2 })).toEqual([
      ['placement', '1'],
      ['placement', '2'],
      ['placement', '?'],
    ]);
  });

  test('the footprint in hand shows while it is moved', () => {
    const moved = { ...state, step: 'site' as const, site: null, placement: { ...UNMOVED, dxM: 1 } };
    expect(parts(moved)).toEqual([['moved', undefined]]);
  });

  test('kept placements show by name, the chosen one as the footprint; the handle turns with what is in hand', () => {
    const drawnRing = view.footprint?.drawnRing ?? [];
    const kept = (label: string, dxM: number, chosen: boolean): KeptPlacement => ({
      id: label,
      label,
      pose: { ...UNMOVED, dxM },
      ring: drawnRing.map(([x, y]): PositionM => [x + dxM, y]),
      distanceMovedM: Math.abs(dxM),
      chosen,
    });
    const [a, b] = [kept('A', 4, false), kept('B', -3, true)];
    const footprint = { id: 'f', label: 'House', ring: b.ring, drawnRing, placements: [a, b] };
    const at = { ...state, step: 'site' as const, site: null, view: { ...view, footprint } };
    expect(parts({ ...at, placement: b.pose })).toEqual([['kept', 'A']]);
    expect(parts({ ...at, placement: { ...b.pose, turnDeg: 10 } })).toEqual([
      ['kept', 'A'],
      ['moved', undefined],
    ]);
    // A quarter turn to the left brings the handle from above the middle to the left of it.
    const { centreM, atM } = turnHandle(drawnRing, { ...UNMOVED, turnDeg: 90 });
    expect(atM[1]).toBeCloseTo(centreM[1], 9);
    expect(atM[0]).toBeLessThan(centreM[0]);
    expect(turnToward(centreM, atM)).toBe(90);
    expect(turnToward(centreM, [centreM[0], centreM[1] - 5])).toBe(-180 + 360);
  });

  test('no other step shows proposals', () => {
    for (const step of ['field', 'reduce', 'map', 'classify', 'deliver'] as const) {
      expect(parts({ ...state, step })).toEqual([]);
    }
  });
});

describe('what a proposal rests on', () => {
  test('a move in hand ends when the footprint is another, and only then', () => {
    const inHand = { ...INITIAL_STATE, view, placement: { ...UNMOVED, dxM: 2 } };
    expect(withView(inHand, { ...view, note: 'new' }).placement.dxM).toBe(2);
    expect(withView(inHand, { ...view, footprint: null }).placement).toEqual(UNMOVED);
  });

  test('a keep-out changes layouts and placements, and no surface', () => {
    const without = { ...view, keepOuts: [] };
    expect(planBasis(without)).not.toBe(planBasis(view));
    expect(sitingBasis(without)).not.toBe(sitingBasis(view));
  });

  test('probes that are only planned change no layout', () => {
    const planned = { ...view.probes[0], id: 'p99', label: 'X1', state: 'planned' as const };
    const more = { ...view, probes: [...view.probes, planned as (typeof view.probes)[number]] };
    expect(planBasis(more)).toBe(planBasis(view));
  });
});
