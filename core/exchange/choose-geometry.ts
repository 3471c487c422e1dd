/** From what a file holds to what a person asked for: the lot, a footprint, keep-outs, planned probes. */
import type { ProjectCrs } from '../contract/model.ts';
import type { PositionNative } from '../geo/frame.ts';
import { parseYesNo } from '../survey/parse-cell.ts';
import {
  ADDED_WORD,
  bad,
  type GeometryFeature,
  type GeometryReading,
  isSamePlace,
  openRing,
  pointsOf,
} from './geometry.ts';

/** A lot or footprint outline as a file gives it. */
export interface Outline {
  /** The last point does not repeat the first. In the coordinates of `crs`. */
  readonly ring: PositionNative[];
  readonly label: string | null;
  /** System of the ring; null where it is the project's own. */
  readonly crs: ProjectCrs | null;
  /** For people: what was assumed. */
  readonly notes: readonly string[];
}

/** Which features of a file are meant, where there are several. */
export interface Pick {
  readonly layer?: string;
  /** The feature's own name, or its name in messages. */
  readonly feature?: string;
}

export interface KeepOutShape {
  readonly label: string;
  readonly shape: GeometryFeature['kind'];
  readonly points: PositionNative[];
  readonly bufferM: number;
  /** Absent where nothing is said. */
  readonly blocksWalk?: boolean;
}

export interface KeepOutChoice {
  readonly bufferM?: number;
  readonly blocksWalk?: boolean;
  /** Points count too, such as trees and manholes. */
  readonly points?: boolean;
}

export interface ProbeDraft {
  readonly label: string;
  readonly at: PositionNative;
  readonly name: string;
  /** Marked as placed by the results of a first round. */
  readonly added: boolean;
}

export interface Chosen<T> {
  readonly items: readonly T[];
  readonly crs: ProjectCrs | null;
  readonly notes: readonly string[];
}

const MOST_NAMES = 12;

/**
 * The one outline of a file: its only polygon, or the one marked as such (property `role`, or a layer of that name),
 * or the one picked. A line that ends where it began counts as a polygon.
 * @throws AppError BAD_INPUT naming file, layer and features
 */
export function chooseOutline(reading: GeometryReading, noun: 'lot' | 'footprint', pick: Pick = {}): Outline {
  const { file } = reading;
  const polygons = picked(reading, pick).flatMap((feature) => asPolygon(feature));
  const marked = polygons.filter((feature) => isMarked(feature, noun));
  const candidates = marked.length > 0 ? marked : polygons;
  const [outline] = candidates;
  if (outline === undefined) {
    throw bad(`${file} holds no polygon${inPick(pick)}: a ${noun} is one polygon. ${whatIsThere(reading)}`, {
      file,
    });
  }
  if (candidates.length > 1) {
    throw bad(
      `${file} holds ${candidates.length} polygons (${names(candidates)}): leave one, name the one meant, or give the ${noun} the property "role": "${noun}".`,
      { file },
    );
  }
  const where = { file, field: outline.name };
  if (outline.coordinates.length > 1) {
    throw bad(
      `${outline.name} of ${file} has a hole; a ${noun} is one outline. Enter the hole as a keep-out.`,
      where,
    );
  }
  const [ring] = outline.coordinates;
  if (ring === undefined || ring.length === 0) throw bad(`${outline.name} of ${file} has no outline.`, where);
  return { ring: [...ring], label: outline.label, crs: reading.crs, notes: reading.notes };
}

/**
 * Polygons and lines as keep-outs: those marked as such, or all that are picked. A point is one where it is marked, picked
 * by its name, asked for, or where there is nothing else; points left out are named in the notes. The buffer is the
 * feature's own (property `bufferM` or `buffer_m`) or the one given, and so is whether walks go round it (`blocksWalk`). A hole in a polygon is closed: no probe goes there
 * either.
 * @throws AppError BAD_INPUT where there is none, and for a line or point without a buffer
 */
export function chooseKeepOuts(
  reading: GeometryReading,
  pick: Pick & KeepOutChoice = {},
): Chosen<KeepOutShape> {
  const { file } = reading;
  const all = picked(reading, pick).filter((feature) => !isMarked(feature, 'probe'));
  const marked = all.filter((feature) => isMarked(feature, 'keep-out'));
  const wide = all.filter((feature) => feature.kind !== 'point');
  const takesPoints = pick.points === true || pick.feature !== undefined || wide.length === 0;
  const chosen = marked.length > 0 ? marked : takesPoints ? all : wide;
  if (chosen.length === 0) {
    throw bad(`${file} holds nothing to keep out of${inPick(pick)}. ${whatIsThere(reading)}`, { file });
  }
  const notes = [...reading.notes];
  const left = marked.length > 0 ? [] : all.filter((feature) => !chosen.includes(feature));
  if (left.length > 0)
    notes.push(
      `Not taken, as points without a size: ${names(left)} of ${file}. Add what they stand for if probes must keep off it.`,
    );
  const items = chosen.flatMap((feature): KeepOutShape[] => {
    const own = Number(feature.properties['bufferM'] ?? feature.properties['buffer_m'] ?? Number.NaN);
    const bufferM = Number.isFinite(own) && own >= 0 ? own : (pick.bufferM ?? 0);
    const label = feature.label ?? feature.name;
    const blocks = ownBlocking(feature) ?? pick.blocksWalk;
    const walk = blocks === undefined ? {} : { blocksWalk: blocks };
    const [polygon] = asPolygon(feature);
    if (polygon !== undefined) {
      const [outer = [], ...holes] = polygon.coordinates;
      if (holes.length > 0)
        notes.push(`The hole in ${feature.name} of ${file} is closed: it is kept out as well.`);
      return [{ label, shape: 'polygon', points: [...outer], bufferM, ...walk }];
    }
    if (feature.kind === 'polygon') return [];
    if (bufferM === 0) {
      throw bad(
        `${feature.name} of ${file} is a ${feature.kind} without a buffer: say how far from it no probe may stand.`,
        {
          file,
          field: feature.name,
        },
      );
    }
    return [{ label, shape: feature.kind, points: [...pointsOf(feature)], bufferM, ...walk }];
  });
  return { items, crs: reading.crs, notes };
}

/**
 * Points as planned probes: those marked as such, or all that are picked. Points without a name are numbered.
 * @throws AppError BAD_INPUT where there is none, and for two points of one name, naming both
 */
export function chooseProbes(reading: GeometryReading, pick: Pick = {}): Chosen<ProbeDraft> {
  const { file } = reading;
  const points = picked(reading, pick).filter((feature) => feature.kind === 'point');
  const marked = points.filter((feature) => isMarked(feature, 'probe'));
  const chosen = marked.length > 0 ? marked : points;
  if (chosen.length === 0)
    throw bad(`${file} holds no point${inPick(pick)}. ${whatIsThere(reading)}`, { file });
  const taken = new Map<string, string>();
  for (const { label, name } of chosen) {
    if (label === null) continue;
    const before = taken.get(label.toLowerCase());
    if (before !== undefined) {
      throw bad(`${file} has two points named "${label}": ${before} and ${name}. Name each probe once.`, {
        file,
        field: name,
      });
    }
    taken.set(label.toLowerCase(), name);
  }
  const notes = [...reading.notes];
  const nameless = chosen.filter((feature) => feature.label === null).length;
  if (nameless > 0)
    notes.push(`${nameless} of ${chosen.length} points of ${file} have no name; they are numbered.`);
  let next = 0;
  const freeNumber = (): string => {
    do next++;
    while (taken.has(String(next)));
    return String(next);
  };
  const items = chosen.map(
    (feature): ProbeDraft => ({
      label: feature.label ?? freeNumber(),
      at: feature.coordinates,
      name: feature.name,
      added: isAdded(feature),
    }),
  );
  return { items, crs: reading.crs, notes };
}

function ownBlocking({ properties }: GeometryFeature): boolean | undefined {
  const said = properties['blocksWalk'] ?? properties['blocks_walk'];
  return said === undefined || said === null ? undefined : (parseYesNo(String(said)) ?? undefined);
}

function isAdded({ properties }: GeometryFeature): boolean {
  const said = properties['added'];
  if (said !== undefined && said !== null) return parseYesNo(String(said)) === true;
  return new RegExp(`^probe .*\\b${ADDED_WORD}$`).test(String(properties['type'] ?? ''));
}

type PolygonFeature = Extract<GeometryFeature, { kind: 'polygon' }>;

/** The feature as a polygon: itself, or a line that ends where it began; none for any other. */
export function asPolygon(feature: GeometryFeature): PolygonFeature[] {
  if (feature.kind === 'polygon') return [feature];
  if (feature.kind === 'point' || feature.coordinates.length < 4) return [];
  const [first, last] = [feature.coordinates[0], feature.coordinates.at(-1)];
  if (first === undefined || last === undefined || !isSamePlace(first, last)) return [];
  return [{ ...feature, kind: 'polygon', coordinates: [openRing(feature.coordinates)] }];
}

function picked({ file, features }: GeometryReading, { layer, feature }: Pick): readonly GeometryFeature[] {
  const inLayer =
    layer === undefined ? features : features.filter((f) => f.layer.toLowerCase() === layer.toLowerCase());
  if (layer !== undefined && inLayer.length === 0) {
    const layers = [...new Set(features.map((f) => f.layer))].map((name) => `"${name}"`).join(', ');
    throw bad(`${file} holds nothing in a layer "${layer}"; its layers: ${layers || 'none'}.`, {
      file,
      field: layer,
    });
  }
  if (feature === undefined) return inLayer;
  const named = inLayer.filter((f) => f.label === feature || f.name === feature);
  if (named.length > 0) return named;
  throw bad(`${file} holds no feature "${feature}"; it has ${names(inLayer)}.`, { file, field: feature });
}

/** Whether a feature's property `role`, or its layer, says that it is this. */
export function isMarked(
  feature: GeometryFeature,
  role: 'lot' | 'footprint' | 'keep-out' | 'probe',
): boolean {
  const plain = (text: unknown) =>
    String(text ?? '')
      .toLowerCase()
      .replace(/[^a-z]/g, '')
      .replace(/s$/, '');
  const wanted = plain(role);
  return plain(feature.properties['role']) === wanted || plain(feature.layer) === wanted;
}

function whatIsThere({ features }: GeometryReading): string {
  const count = (kind: GeometryFeature['kind']) => features.filter((feature) => feature.kind === kind).length;
  return `It has ${count('polygon')} polygons, ${count('line')} lines, ${count('point')} points.`;
}

function inPick({ layer, feature }: Pick): string {
  const parts = [
    layer === undefined ? '' : ` in layer "${layer}"`,
    feature === undefined ? '' : ` named "${feature}"`,
  ];
  return parts.join('');
}

function names(features: readonly GeometryFeature[]): string {
  const shown = features.slice(0, MOST_NAMES).map((feature) => feature.name);
  const more = features.length > MOST_NAMES ? ` and ${features.length - MOST_NAMES} more` : '';
  return shown.join(', ') + more;
}
