import { beforeAll, describe, expect, test } from 'vitest';
import type { PositionM, RingM } from '../../../core/contract/model.ts';
import type { GridSpec, SurfaceResult } from '../../../core/contract/results.ts';
import { composeFigure } from '../../../core/figure/compose-figure.ts';
import type { TextNode } from '../../../core/figure/scene.ts';
import { flattenScene } from '../../../core/figure/scene.ts';
import { setRuling, setSettings } from '../../../core/project/edit.ts';
import { compareFigure, probeChanges } from '../../../core/report/compare-figure.ts';
import { compareIssues } from '../../../core/report/compare-issues.ts';
import { type ComparedSurface, compareSurfaces } from '../../../core/report/compare-surfaces.ts';
import { issueState, reviewLine } from '../../../core/report/issue-state.ts';
import type { ReportInput } from '../../../core/report/report-model.ts';
import { sha256 } from '../../../core/store/canonical.ts';
import { METRE_FRAME } from '../figure/fixture.ts';
import { workshop } from './fixture.ts';

const shop = workshop();
let before: ReportInput;
let after: ReportInput;
let again: ReportInput;

beforeAll(async () => {
  const store = shop.open('ordinary');
  before = await shop.gather(store);
  again = await shop.gather(store, { createdUtc: '2027-01-01T00:00:00Z' });
  const sample = before.view.samples.find((s) => s.radonKBqPerM3 !== null);
  setRuling(store, { sampleIds: [sample?.id ?? ''], verdict: 'leave-out', reason: 'Swapped label' });
  const { settings } = before.view;
  setSettings(store, { ...settings, surface: { ...settings.surface, method: 'idw' } });
  after = await shop.gather(store);
}, 60_000);

describe('issuing', () => {
  test('the state is the hash of its text, and printing it on another day does not change it', () => {
    const state = issueState(before);
    expect(state.sha256).toBe(sha256(state.json));
    expect(issueState(again)).toEqual(state);
  });

  test('it holds inputs, parameters, results and versions', () => {
    const { json } = issueState(before);
    const state = JSON.parse(json) as Record<string, Record<string, unknown>>;
    expect(state['program']).toBe('Gasplat 0.1.0');
    expect(state['project']?.['samples']).toHaveLength(before.view.samples.length);
    expect(state['project']?.['settings']).toBeDefined();
    expect(state['class']?.['statisticKBqPerM3']).toBe(String(before.classResult.statisticKBqPerM3));
    expect(state['surface']?.['estimateKBqPerM3']).toMatchObject({ type: 'Float64Array' });
    expect(state['record']?.['hash']).toBe(before.figure.recordHash);
    expect(json).not.toContain(shop.folder);
  });

  test('one value, one flag limit, one cell of the surface: each gives another hash', () => {
    const base = issueState(before).sha256;
    const { view, surface } = before;
    const nudged = view.samples.map((s, i) =>
      i === 0 && s.radonKBqPerM3 !== null ? { ...s, radonKBqPerM3: s.radonKBqPerM3 + 1e-9 } : s,
    );
    const cells = Float64Array.from(surface?.estimateKBqPerM3 ?? []);
    cells[0] = 1;
    const limits = { ...view.settings.thresholds, duplicateRpdPct: 36 };
    const changed: ReportInput[] = [
      { ...before, view: { ...view, samples: nudged } },
      { ...before, view: { ...view, settings: { ...view.settings, thresholds: limits } } },
      { ...before, surface: surface === null ? null : { ...surface, estimateKBqPerM3: cells } },
    ];
    const hashes = changed.map((c) => issueState(c).sha256);
    expect(new Set([base, ...hashes]).size).toBe(4);
  });

  test('the differences are said in words', () => {
    const words = compareIssues(issueState(before), issueState(after));
    expect(
      words.some((w) => /^Ruling on \S+ from none to leave-out by Ann Example \(Swapped label\)/.test(w)),
    ).toBe(true);
    expect(words.some((w) => /counts as leave-out, before as use/.test(w))).toBe(true);
    expect(words.some((w) => /^Setting surface\.method: from kriging to idw/.test(w))).toBe(true);
    expect(words.some((w) => /^(Statistic|Valid values|Class)/.test(w))).toBe(true);
    expect(compareIssues(issueState(before), issueState(again))).toEqual([]);
  });

  test('samples and probes added, removed and altered are named', () => {
    const { view } = before;
    const [first, second] = view.samples;
    const labelOf = (id: string | undefined) => view.probes.find((p) => p.id === id)?.label;
    const changed = view.samples
      .filter((s) => s.id !== first?.id)
      .map((s) => (s.id === second?.id ? { ...s, depthM: 0.5 } : s));
    const later = {
      ...before,
      view: { ...view, samples: [...changed, { ...(first as (typeof changed)[number]), id: 'new' }] },
    };
    const words = compareIssues(issueState(before), issueState(later));
    expect(words).toContain(`Sample added: ${labelOf(first?.probeId)}`);
    expect(words).toContain(`Sample removed: ${labelOf(first?.probeId)}`);
    expect(
      words.some((w) => w.startsWith(`Sample changed: ${labelOf(second?.probeId)}: depth (m) from`)),
    ).toBe(true);
  });

  test('a review names the state by its hash', () => {
    const state = issueState(before);
    expect(reviewLine(state, 'Bo Example', '2026-06-03T08:00:00Z').statement).toBe(
      `Reviewed by Bo Example, 2026-06-03: the state with SHA-256 ${state.sha256}`,
    );
  });
});

const SQUARE: RingM = [
  [0, 0],
  [20, 0],
  [20, 20],
  [0, 20],
];

/** A surface whose value is a plane, which linear interpolation must give back exactly. */
function plane(grid: GridSpec, f: (p: PositionM) => number, error: number): SurfaceResult {
  const values = Float64Array.from({ length: grid.columns * grid.rows }, (_, i) =>
    f([grid.x0M + (i % grid.columns) * grid.cellM, grid.y0M + Math.floor(i / grid.columns) * grid.cellM]),
  );
  return {
    revision: 1,
    method: 'kriging',
    grid,
    estimateKBqPerM3: values,
    standardErrorKBqPerM3: values.map(() => error),
    exceedance: null,
    levelsKBqPerM3: [],
    lines: [],
    bands: [],
    variogram: null,
    crossValidation: { n: 0, meanError: 0, rmse: 0, msdr: null, correlation: 0, verdict: '', points: [] },
    boundedSampleIds: [],
    depthCorrected: [],
    usedSampleIds: [],
    notUsed: [],
    warnings: [],
    seconds: 0,
  };
}

const GRID: GridSpec = { x0M: -1, y0M: -1, cellM: 1, columns: 23, rows: 23 };
const COARSE: GridSpec = { x0M: -1.5, y0M: -1.5, cellM: 1.5, columns: 17, rows: 17 };

function side(label: string, more: Partial<ComparedSurface>): ComparedSurface {
  return {
    label,
    frame: METRE_FRAME,
    lot: SQUARE,
    surface: plane(GRID, () => 10, 1),
    commonURel: 0,
    ...more,
  };
}

describe('two dates', () => {
  const at = (d: ReturnType<typeof compareSurfaces>, i: number): PositionM => [
    d.grid.x0M + (i % d.grid.columns) * d.grid.cellM,
    d.grid.y0M + Math.floor(i / d.grid.columns) * d.grid.cellM,
  ];

  test('planes on different grids and origins differ by their plane, exactly', () => {
    // The earlier project counts its metres from a point 5 m further east and 2 m further north.
    const frame = {
      ...METRE_FRAME,
      originNative: [METRE_FRAME.originNative[0] + 5, METRE_FRAME.originNative[1] + 2] as const,
    };
    const shifted = SQUARE.map(([x, y]): PositionM => [x - 5, y - 2]);
    const grid = { ...COARSE, x0M: COARSE.x0M - 5, y0M: COARSE.y0M - 2 };
    const earlier = side('spring', {
      frame,
      lot: shifted,
      surface: plane(grid, ([x, y]) => 3 + x + 2 * y, 3),
    });
    const later = side('autumn', { surface: plane(GRID, ([x, y]) => 20 + 2 * x - y, 4) });
    const d = compareSurfaces(earlier, later, { sharedCalibration: false });
    expect(d.grid.cellM).toBe(1.5);
    let compared = 0;
    d.differenceKBqPerM3.forEach((value, i) => {
      if (Number.isNaN(value)) return;
      const [x, y] = at(d, i);
      expect(value).toBeCloseTo(20 + 2 * x - y - (3 + (x - 5) + 2 * (y - 2)), 9);
      // Independent errors 3 and 4 make 5 (JCGM 100:2008, 5.1.2).
      expect(d.standardErrorKBqPerM3[i]).toBeCloseTo(5, 9);
      compared += 1;
    });
    expect(compared).toBeGreaterThan(150);
  });

  test('one calibration acts on the difference, two act on each value', () => {
    const earlier = side('a', { surface: plane(GRID, () => 30, 0), commonURel: 0.1 });
    const later = side('b', { surface: plane(GRID, () => 50, 0), commonURel: 0.1 });
    const known = (d: ReturnType<typeof compareSurfaces>) => d.standardErrorKBqPerM3.find(Number.isFinite);
    expect(known(compareSurfaces(earlier, later, { sharedCalibration: true }))).toBeCloseTo(2, 9);
    expect(known(compareSurfaces(earlier, later, { sharedCalibration: false }))).toBeCloseTo(
      Math.hypot(3, 5),
      9,
    );
    expect(compareSurfaces(earlier, later, { sharedCalibration: true }).statements.join(' ')).toContain(
      'One calibration',
    );
  });

  test('where the difference is within twice its error it is unclear; the share beyond is counted', () => {
    // Difference runs from 0 to 20 over x = 0..20; error 5: clear beyond x = 10.
    const earlier = side('a', { surface: plane(GRID, () => 10, 3) });
    const later = side('b', { surface: plane(GRID, ([x]) => 10 + x, 4) });
    const d = compareSurfaces(earlier, later, { sharedCalibration: true });
    expect(d.clearShare).toBeCloseTo(0.5, 1);
    const xs = d.unclear.flat(2).map(([x]) => x);
    expect(Math.max(...xs)).toBeCloseTo(10, 0);
    expect(d.meanKBqPerM3).toBeCloseTo(10, 6);
  });

  test('grids that nothing ties together and lots apart are refused', () => {
    const other = side('b', {
      frame: { ...METRE_FRAME, crs: { kind: 'local', unit: 'm', label: 'Site grid' } },
    });
    expect(() => compareSurfaces(side('a', {}), other, { sharedCalibration: true })).toThrow(
      /EPSG:32633.*"Site grid".*no control points/,
    );
    const away = side('b', { lot: SQUARE.map(([x, y]): PositionM => [x + 500, y]) });
    expect(() => compareSurfaces(side('a', {}), away, { sharedCalibration: true })).toThrow(
      /share no ground: their middles are 500 m apart/,
    );
  });

  test('the sheet says what it shows, both classes, and each probe met twice', () => {
    const figure = before.figure;
    const risen = {
      ...figure,
      probes: figure.probes.map((p) =>
        p.measured?.kind === 'value'
          ? { ...p, measured: { ...p.measured, estimateKBqPerM3: p.measured.estimateKBqPerM3 + 40 } }
          : p,
      ),
    };
    const { surface, view } = before;
    if (surface === null || view.lot === null) throw new Error('the sample lot has a surface');
    const up = { ...surface, estimateKBqPerM3: surface.estimateKBqPerM3.map((v) => v + 40) };
    const base = { frame: view.frame, lot: view.lot, commonURel: 0 };
    const d = compareSurfaces(
      { ...base, label: 'May', surface },
      { ...base, label: 'October', surface: up },
      { sharedCalibration: true },
    );
    const sides = { classResult: before.classResult, commonURel: 0 };
    const probes = probeChanges(
      { ...sides, label: 'May', figure },
      { ...sides, label: 'October', figure: risen },
      { sharedCalibration: true },
    );
    const sheet = compareFigure(
      { ...sides, label: 'May', figure },
      { ...sides, label: 'October', figure: risen },
      d,
      { statement: 'Clear rise on 97 % of the ground', lines: ['Rise in the north.'], probes },
    );
    const scenes = composeFigure(sheet);
    const words = scenes
      .flatMap((s) => flattenScene(s.nodes))
      .filter((n): n is TextNode => n.kind === 'text')
      .map((n) => n.text)
      .join(' ');
    expect(words).toContain('CHANGE: October MINUS May');
    expect(words).toMatch(/Clear rise on \d+ % of the ground/);
    expect(words).toContain('CHANGE OF RADON IN SOIL GAS');
    expect(words).toMatch(/taken as independent/);
    expect(words).toMatch(/May: .*\(.*\)\. October: /);
    const changes = sheet.rows.filter((r) => r.measured?.kind === 'value');
    expect(changes.length).toBeGreaterThan(10);
    for (const { measured } of changes) {
      if (measured?.kind === 'value') expect(measured.estimateKBqPerM3).toBeCloseTo(40, 9);
    }
  });
});
