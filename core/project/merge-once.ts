/** What a project holds once (settings, the building with its places, the tie of its grid): where two crews differ. */
import type { MergeDifferenceView } from '../contract/merge.ts';
import type { ProjectCrs } from '../contract/model.ts';
import type { ProjectSettings, SurfaceSettings } from '../contract/settings.ts';
import { findCrs, systemTitle } from '../geo/crs-table.ts';
import type { PositionNative } from '../geo/frame.ts';
import { type ControlPoint, fitLocalGrid } from '../geo/local-grid.ts';
import type { Transaction } from '../store/change.ts';
import type { ReadableStore } from '../store/open-project.ts';
import type { ControlPointRow, FootprintRow, NewRow, PlacementRow } from '../store/rows.ts';
import { drawTestWords } from '../survey/draw-numbers.ts';
import { THRESHOLDS } from '../survey/thresholds.ts';
import { projectCrs, projectRow } from './frame-of.ts';
import { converter } from './merge-side.ts';
import { isSamePlace, poseOf } from './placements.ts';
import { schemeFileOf, schemeNameOf } from './schemes.ts';
import { parseSettings } from './settings.ts';

/** Outlines of two files that agree to this are one: a change of system leaves less behind. */
const SAME_CORNER_M = 0.005;
const NOTHING = 'nothing';

/** What a choice of theirs changes; all choices are gathered first and written together. */
interface Taking {
  settings: ProjectSettings;
  control: readonly NewRow<'control_point'>[];
  isControlTaken: boolean;
  readonly write: ((tx: Transaction) => void)[];
}

export interface MergeDifference extends MergeDifferenceView {
  readonly take: (taking: Taking) => void;
}

type Field = MergeDifferenceView['fields'][number];

/** Each on its own, mine unless a person takes theirs. */
export function differencesOf(mine: ReadableStore, theirs: ReadableStore): MergeDifference[] {
  return [...settingsApart(mine, theirs), ...buildingApart(mine, theirs), ...controlApart(mine, theirs)];
}

/**
 * Within a change: those of theirs that were chosen.
 * @throws AppError BAD_INPUT where the control points that result tie no grid
 */
export function takeDifferences(
  tx: Transaction,
  mine: ReadableStore,
  chosen: readonly MergeDifference[],
): void {
  const row = projectRow(mine);
  const taking: Taking = {
    settings: parseSettings(row.settings_json),
    control: mine.rows('control_point'),
    isControlTaken: false,
    write: [],
  };
  for (const one of chosen) one.take(taking);
  const settingsJson = JSON.stringify(taking.settings);
  if (chosen.some((one) => one.key.startsWith('settings:')))
    tx.update('project', row.id, { settings_json: settingsJson });
  for (const write of taking.write) write(tx);
  if (!taking.isControlTaken) return;
  refuseLooseGrid(projectCrs(mine), taking.control);
  for (const old of mine.rows('control_point')) tx.remove('control_point', old.id);
  for (const point of taking.control) tx.insert('control_point', withoutId(point));
}

function settingsApart(mine: ReadableStore, theirs: ReadableStore): MergeDifference[] {
  const [a, b] = [mine, theirs].map((s) => parseSettings(projectRow(s).settings_json)) as [
    ProjectSettings,
    ProjectSettings,
  ];
  const [fileA, fileB] = [schemeFileOf(mine, a), schemeFileOf(theirs, b)];
  const scheme = fieldsApart([
    ['scheme', schemeNameOf(mine, a), schemeNameOf(theirs, b)],
    ['limits entered, kBq/m3', a.enteredLimitsKBqPerM3.join('; '), b.enteredLimitsKBqPerM3.join('; ')],
    ['limit raised for the ground', a.raisedLimitId ?? null, b.raisedLimitId ?? null],
    ['scheme file', fileA, fileB],
  ]);
  const thresholds = fieldsApart(
    THRESHOLDS.map(({ key, label, unit }) => [
      unit === '' ? label : `${label}, ${unit}`,
      a.thresholds[key],
      b.thresholds[key],
    ]),
  );
  const surface = fieldsApart(
    SURFACE_NAMES.map(([key, name]) => [name, cellOf(a.surface[key]), cellOf(b.surface[key])]),
  );
  const draw = fieldsApart([['draw test', drawWords(a), drawWords(b)]]);
  const shown = fieldsApart([
    ['unit of radon', a.radonUnit, b.radonUnit],
    ['site plan in the figure', yesNo(a.sitePlanInFigure), yesNo(b.sitePlanInFigure)],
  ]);
  const depth = fieldsApart([['reference depth, m', a.referenceDepthM, b.referenceDepthM]]);
  const hint =
    b.raisedLimitId === undefined ? null : 'Theirs raises a limit: that lowers the class. Ask why.';
  return [
    difference('settings:scheme', 'Scheme', scheme, hint, (t) => {
      const { raisedLimitId: _mine, ...rest } = t.settings;
      const others = (rest.schemeFiles ?? []).filter(
        (hash) => hash !== fileB && hash !== ofSameId(mine, a, b),
      );
      const schemeFiles = fileB === null ? rest.schemeFiles : [...others, fileB];
      t.settings = {
        ...rest,
        schemeId: b.schemeId,
        enteredLimitsKBqPerM3: b.enteredLimitsKBqPerM3,
        ...(schemeFiles === undefined ? {} : { schemeFiles }),
        ...(b.raisedLimitId === undefined ? {} : { raisedLimitId: b.raisedLimitId }),
      };
    }),
    difference('settings:depth', 'Reference depth', depth, null, (t) => {
      t.settings = { ...t.settings, referenceDepthM: b.referenceDepthM };
    }),
    difference('settings:thresholds', 'Limits behind the findings', thresholds, null, (t) => {
      t.settings = { ...t.settings, thresholds: b.thresholds };
    }),
    difference('settings:draw', 'Permeability from flow and suction', draw, null, (t) => {
      const { drawTest: _mine, ...rest } = t.settings;
      t.settings = { ...rest, ...(b.drawTest === undefined ? {} : { drawTest: b.drawTest }) };
    }),
    difference('settings:surface', 'How the surface is drawn', surface, null, (t) => {
      t.settings = { ...t.settings, surface: b.surface };
    }),
    difference('settings:shown', 'What is shown', shown, null, (t) => {
      const { sitePlanInFigure: _mine, ...rest } = t.settings;
      t.settings = {
        ...rest,
        radonUnit: b.radonUnit,
        ...(b.sitePlanInFigure === undefined ? {} : { sitePlanInFigure: b.sitePlanInFigure }),
      };
    }),
  ].filter((one) => one.fields.length > 0);
}

/** My own file of the scheme that theirs names: theirs takes its place. */
function ofSameId(mine: ReadableStore, a: ProjectSettings, b: ProjectSettings): string | null {
  return schemeFileOf(mine, { ...a, schemeId: b.schemeId });
}

const drawWords = ({ drawTest }: ProjectSettings) =>
  drawTest === undefined ? null : drawTestWords(drawTest);

const SURFACE_NAMES: readonly (readonly [keyof SurfaceSettings, string])[] = [
  ['method', 'method'],
  ['model', 'model'],
  ['transform', 'transform'],
  ['drift', 'drift'],
  ['idwPower', 'power of inverse distance'],
  ['cellM', 'cell, m'],
  ['shallow', 'shallow samples'],
  ['diffusionLengthM', 'diffusion length, m'],
];

const cellOf = (value: SurfaceSettings[keyof SurfaceSettings]) =>
  typeof value === 'object' && value !== null ? JSON.stringify(value) : value;
const yesNo = (said: boolean | undefined) => (said === true ? 'yes' : 'no');

/** The building, or where the outlines agree its kept places one by one. */
function buildingApart(mine: ReadableStore, theirs: ReadableStore): MergeDifference[] {
  const [a] = mine.rows('footprint');
  const [b] = theirs.rows('footprint');
  if (a === undefined || b === undefined) return [];
  const places = theirs.rows('placement');
  const kept = mine.rows('placement');
  const toMine = converter(theirs, mine);
  const ring = toMine(JSON.parse(b.ring_json) as PositionNative[]);
  if (!isSameRing(JSON.parse(a.ring_json) as PositionNative[], ring)) {
    const hint =
      kept.length === 0
        ? null
        : `Your placements (${kept.map((p) => p.label).join(', ')}) are of your outline and go with it.`;
    const fields = [
      {
        name: 'outline',
        mine: outlineText(a, kept),
        theirs: outlineText({ ...b, ring_json: JSON.stringify(ring) }, places),
      },
    ];
    return [
      difference('footprint', 'Building', fields, hint, (t) => {
        t.write.push((tx) => {
          for (const old of kept) tx.remove('placement', old.id);
          tx.remove('footprint', a.id);
          const id = tx.insert('footprint', { label: b.label, ring_json: JSON.stringify(ring) });
          insertPlacements(tx, id, isSameSystem(mine, theirs) ? places : []);
        });
      }),
    ];
  }
  return isSameSystem(mine, theirs) ? placesApart(mine, a, kept, places) : [];
}

/** Places of a building that mine lacked altogether. */
export function insertPlacements(
  tx: Transaction,
  footprintId: string,
  places: readonly PlacementRow[],
): void {
  for (const place of places) tx.insert('placement', { ...withoutId(place), footprint_id: footprintId });
}

function placesApart(
  mine: ReadableStore,
  footprint: FootprintRow,
  kept: readonly PlacementRow[],
  places: readonly PlacementRow[],
): MergeDifference[] {
  const found = places.flatMap((place): MergeDifference[] => {
    const own = kept.find((p) => p.label.toLowerCase() === place.label.toLowerCase());
    const same = kept.some((p) => isSamePlace(poseOf(p), poseOf(place)));
    if (same) return [];
    const fields = [
      { name: 'place', mine: own === undefined ? 'not kept' : poseText(own), theirs: poseText(place) },
    ];
    const { label, dx_m, dy_m, turn_deg, mirrored } = place;
    return [
      difference(`placement:${place.id}`, `Placement ${label}`, fields, null, (t) => {
        t.write.push((tx) => {
          const cells = { dx_m, dy_m, turn_deg, mirrored };
          if (own !== undefined) tx.update('placement', own.id, cells);
          else tx.insert('placement', { ...cells, label, footprint_id: footprint.id, chosen: 0 });
        });
      }),
    ];
  });
  const [ownChosen, theirs] = [kept, places].map((all) => all.find((p) => p.chosen === 1));
  const isSameChoice =
    ownChosen === undefined || theirs === undefined
      ? ownChosen === theirs
      : isSamePlace(poseOf(ownChosen), poseOf(theirs));
  if (isSameChoice) return found;
  const text = (p: PlacementRow | undefined) => (p === undefined ? 'as drawn' : `${p.label}: ${poseText(p)}`);
  const fields = [{ name: 'chosen', mine: text(ownChosen), theirs: text(theirs) }];
  const hint =
    theirs === undefined || kept.some((p) => isSamePlace(poseOf(p), poseOf(theirs)))
      ? null
      : `Theirs is chosen only where placement ${theirs.label} is taken too.`;
  const choose = difference('placement:chosen', 'Where the building stands', fields, hint, (t) => {
    // Written after the places themselves, so that one just taken can be chosen.
    t.write.push((tx) => {
      const now = mine.rows('placement');
      const next = theirs && now.find((p) => isSamePlace(poseOf(p), poseOf(theirs)));
      if (theirs !== undefined && next === undefined) return;
      for (const p of now) if (p.chosen === 1) tx.update('placement', p.id, { chosen: 0 });
      if (next) tx.update('placement', next.id, { chosen: 1 });
    });
  });
  return [...found, choose];
}

/** One by one where both tie their grid to one system; as a whole otherwise, since two points of two systems tie nothing. */
function controlApart(mine: ReadableStore, theirs: ReadableStore): MergeDifference[] {
  const [own, other] = [mine.rows('control_point'), theirs.rows('control_point')];
  if (other.length === 0 || !isSameSystem(mine, theirs) || projectCrs(mine).kind !== 'local') return [];
  const isWhole = own.length === 0 || own[0]?.code !== other[0]?.code;
  const hint = 'Control points tie the local grid to the map: all places on it move with them.';
  if (isWhole) {
    const text = (points: readonly ControlPointRow[]) =>
      points.length === 0
        ? NOTHING
        : `${systemTitle(findCrs(points[0]?.code ?? 0))}: ${points.map((p) => `${p.label} ${pointText(p)}`).join('; ')}`;
    return [
      difference(
        'control',
        'Control points',
        [{ name: 'points', mine: text(own), theirs: text(other) }],
        hint,
        (t) => {
          t.control = other;
          t.isControlTaken = true;
        },
      ),
    ];
  }
  return other.flatMap((point) => {
    const isOf = (p: { readonly label: string }) => p.label.toLowerCase() === point.label.toLowerCase();
    const held = own.find(isOf);
    const [ownText, otherText] = [held === undefined ? 'not measured' : pointText(held), pointText(point)];
    if (ownText === otherText) return [];
    return [
      difference(
        `control:${point.id}`,
        `Control point ${point.label}`,
        [{ name: 'grid and map', mine: ownText, theirs: otherText }],
        hint,
        (t) => {
          t.control =
            held === undefined ? [...t.control, point] : t.control.map((p) => (isOf(p) ? point : p));
          t.isControlTaken = true;
        },
      ),
    ];
  });
}

function refuseLooseGrid(crs: ProjectCrs, rows: readonly NewRow<'control_point'>[]): void {
  const points = rows.map(
    (r): ControlPoint => ({
      label: r.label,
      local: [r.local_x, r.local_y],
      mapped: [r.mapped_x, r.mapped_y],
    }),
  );
  if (crs.kind === 'local') fitLocalGrid(crs, rows[0]?.code ?? 0, points);
}

function difference(
  key: string,
  what: string,
  fields: readonly Field[],
  hint: string | null,
  take: MergeDifference['take'],
): MergeDifference {
  return { key, what, fields, hint, take };
}

function fieldsApart(
  pairs: readonly (readonly [name: string, mine: string | number | null, theirs: string | number | null])[],
): Field[] {
  const text = (cell: string | number | null) => (cell === null || cell === '' ? NOTHING : String(cell));
  return pairs.flatMap(([name, a, b]) =>
    text(a) === text(b) ? [] : [{ name, mine: text(a), theirs: text(b) }],
  );
}

/** Whether places and poses of the one mean the same in the other; two local grids are taken for one. */
export function isSameSystem(mine: ReadableStore, theirs: ReadableStore): boolean {
  const [a, b] = [projectCrs(mine), projectCrs(theirs)];
  if (a.kind === 'local' || b.kind === 'local')
    return a.kind === b.kind && 'unit' in a && 'unit' in b && a.unit === b.unit;
  return a.code === b.code;
}

function isSameRing(a: readonly PositionNative[], b: readonly PositionNative[]): boolean {
  return (
    a.length === b.length &&
    a.every(
      ([x, y], i) =>
        Math.hypot(x - (b[i]?.[0] ?? Number.NaN), y - (b[i]?.[1] ?? Number.NaN)) <= SAME_CORNER_M,
    )
  );
}

function outlineText(row: FootprintRow, places: readonly PlacementRow[]): string {
  const ring = JSON.parse(row.ring_json) as PositionNative[];
  const corners = ring.map(([x, y]) => `${x.toFixed(2)} ${y.toFixed(2)}`).join(', ');
  const kept = places.length === 0 ? '' : `; placements ${places.map((p) => p.label).join(', ')}`;
  return `${row.label}: ${corners}${kept}`;
}

function poseText(row: PlacementRow): string {
  const turn = row.turn_deg === 0 ? '' : `, turned ${Number(row.turn_deg.toFixed(2))}°`;
  return `east ${row.dx_m.toFixed(2)} m, north ${row.dy_m.toFixed(2)} m${turn}${row.mirrored === 1 ? ', mirrored' : ''}`;
}

function pointText(p: ControlPointRow): string {
  return `${p.local_x.toFixed(3)} ${p.local_y.toFixed(3)} = ${p.mapped_x.toFixed(3)} ${p.mapped_y.toFixed(3)}`;
}

function withoutId<R extends { readonly id?: string }>(row: R): Omit<R, 'id'> {
  const { id: _id, ...cells } = row;
  return cells;
}
