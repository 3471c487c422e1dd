/** Outlines, lines and points of a DXF drawing's model space, in the drawing's own numbers. */
import type { PositionNative } from '../geo/frame.ts';
import { arcPoints, bulgePoints } from './dxf-arcs.ts';
import { bad, type GeometryFeature, type GeometryReading, openRing, type Shape } from './geometry.ts';
import { joinLines } from './join-lines.ts';

interface Group {
  readonly code: number;
  readonly value: string;
}

interface Entity {
  readonly type: string;
  /** Line of the file where it begins, as an editor shows it. */
  readonly row: number;
  readonly groups: readonly Group[];
}

/** Code 70 of a polyline: bit 1 closed, bits 16 and 64 meshes. Of its vertices: bit 16 a frame point of a spline. */
const CLOSED = 1;
const MESH = 16 | 64;
const SPLINE_FRAME = 16;
/** Names of drawing units by their number in the header ($INSUNITS), as far as a lot is drawn in them. */
const UNIT_NAMES: Readonly<Record<string, string>> = {
  '1': 'inches',
  '2': 'feet',
  '4': 'millimetres',
  '5': 'centimetres',
  '6': 'metres',
  '21': 'US survey feet',
};
const NO_GEOMETRY = new Set(['TEXT', 'MTEXT', 'DIMENSION', 'ATTRIB', 'ATTDEF', 'SEQEND', 'VIEWPORT']);

export interface DxfReading extends GeometryReading {
  /** Unit that the header states; null where it states none. */
  readonly statedUnit: string | null;
}

/**
 * LINE and ARC (joined end to end on each layer), LWPOLYLINE and POLYLINE with their arcs, CIRCLE as a polygon, POINT.
 * Arcs become chords that stay within a thousandth of their radius. Other entities are counted in the notes.
 * @throws AppError BAD_INPUT naming file and row
 */
export function readDxf(text: string, file: string): DxfReading {
  const groups = readGroups(text, file);
  const entities = modelSpace(groups);
  const features: GeometryFeature[] = [];
  const loose = new Map<string, { row: number; points: PositionNative[] }[]>();
  const passedOver = new Map<string, number>();
  const add = (entity: Entity, shape: Shape) =>
    features.push({
      ...shape,
      name: `${entity.type} in row ${entity.row}`,
      label: null,
      layer: textOf(entity, 8) ?? '0',
      properties: { entity: entity.type, row: entity.row },
    });
  for (let i = 0; i < entities.length; i++) {
    const entity = entities[i] as Entity;
    if (entity.type === 'LINE' || entity.type === 'ARC') {
      const layer = textOf(entity, 8) ?? '0';
      const list = loose.get(layer) ?? [];
      list.push({
        row: entity.row,
        points: entity.type === 'LINE' ? lineOf(entity, file) : arcOf(entity, file),
      });
      loose.set(layer, list);
    } else if (entity.type === 'POLYLINE') {
      const vertices: Entity[] = [];
      while (entities[i + 1]?.type === 'VERTEX') vertices.push(entities[++i] as Entity);
      const shape = polylineOf(entity, vertices, file);
      if (shape === null) countUp(passedOver, 'mesh');
      else add(entity, shape);
    } else {
      const shape = shapeOf(entity, file);
      if (shape !== null) add(entity, shape);
      else if (!NO_GEOMETRY.has(entity.type)) countUp(passedOver, entity.type);
    }
  }
  for (const [layer, pieces] of loose) features.push(...joined(layer, pieces));
  const notes = [
    `A DXF drawing names no coordinate system: the coordinates of ${file} are taken as the project's own.`,
  ];
  if (passedOver.size > 0) {
    const list = [...passedOver].map(([type, count]) => `${count} ${type}`).join(', ');
    notes.push(`Passed over in ${file}: ${list}.`);
  }
  return {
    file,
    features,
    crs: null,
    notes,
    statedUnit: UNIT_NAMES[headerValue(groups, '$INSUNITS') ?? ''] ?? null,
  };
}

function readGroups(text: string, file: string): (Group & { readonly row: number })[] {
  const lines = text.split('\n');
  const groups: (Group & { row: number })[] = [];
  for (let i = 0; i + 1 < lines.length; i += 2) {
    const code = Number((lines[i] ?? '').trim());
    if (!Number.isInteger(code) || (lines[i] ?? '').trim() === '') {
      throw bad(
        `Row ${i + 1} of ${file} should be a group code of the drawing and is "${(lines[i] ?? '').slice(0, 40)}".`,
        {
          file,
          row: i + 1,
        },
      );
    }
    groups.push({ code, value: (lines[i + 1] ?? '').trim(), row: i + 1 });
    if (code === 0 && groups.at(-1)?.value === 'EOF') return groups;
  }
  throw bad(`${file} is cut short: the drawing has no end (EOF).`, { file, row: lines.length });
}

function modelSpace(groups: readonly (Group & { readonly row: number })[]): Entity[] {
  const start = groups.findIndex(
    ({ code, value }, i) => code === 2 && value === 'ENTITIES' && groups[i - 1]?.value === 'SECTION',
  );
  const entities: (Entity & { groups: Group[] })[] = [];
  if (start < 0) return [];
  for (const group of groups.slice(start + 1)) {
    if (group.code === 0 && group.value === 'ENDSEC') break;
    if (group.code === 0) entities.push({ type: group.value, row: group.row, groups: [] });
    else entities.at(-1)?.groups.push(group);
  }
  // code 67 = 1: drawn on a sheet, not on the ground
  return entities.filter((entity) => textOf(entity, 67) !== '1');
}

function headerValue(groups: readonly Group[], name: string): string | null {
  const at = groups.findIndex(({ code, value }) => code === 9 && value === name);
  return at < 0 ? null : (groups[at + 1]?.value ?? null);
}

function shapeOf(entity: Entity, file: string): Shape | null {
  if (entity.type === 'POINT') return { kind: 'point', coordinates: position(entity, 10, file) };
  if (entity.type === 'CIRCLE') {
    const ring = arcPoints(position(entity, 10, file), numberOf(entity, 40, file), 0, 360);
    return { kind: 'polygon', coordinates: [openRing(mirrored(entity, ring))] };
  }
  if (entity.type !== 'LWPOLYLINE') return null;
  const vertices: { at: PositionNative; bulge: number }[] = [];
  let x = Number.NaN;
  for (const { code, value } of entity.groups) {
    if (code === 10) x = toNumber(value, entity, 10, file);
    else if (code === 20) vertices.push({ at: [x, toNumber(value, entity, 20, file)], bulge: 0 });
    else if (code === 42) {
      const last = vertices.at(-1);
      if (last !== undefined) last.bulge = toNumber(value, entity, 42, file);
    }
  }
  return outline(entity, vertices, (Number(textOf(entity, 70) ?? 0) & CLOSED) !== 0);
}

function polylineOf(entity: Entity, vertices: readonly Entity[], file: string): Shape | null {
  const flags = Number(textOf(entity, 70) ?? 0);
  if ((flags & MESH) !== 0) return null;
  const kept = vertices.filter((vertex) => (Number(textOf(vertex, 70) ?? 0) & SPLINE_FRAME) === 0);
  return outline(
    entity,
    kept.map((vertex) => ({ at: position(vertex, 10, file), bulge: Number(textOf(vertex, 42) ?? 0) })),
    (flags & CLOSED) !== 0,
  );
}

function outline(
  entity: Entity,
  vertices: readonly { readonly at: PositionNative; readonly bulge: number }[],
  closed: boolean,
): Shape {
  const points = vertices.flatMap(({ at, bulge }, i) => {
    const next = vertices[i + 1] ?? (closed ? vertices[0] : undefined);
    return next === undefined || bulge === 0 ? [at] : [at, ...bulgePoints(at, next.at, bulge)];
  });
  const ring = mirrored(entity, points);
  return closed ? { kind: 'polygon', coordinates: [openRing(ring)] } : { kind: 'line', coordinates: ring };
}

function lineOf(entity: Entity, file: string): PositionNative[] {
  return [position(entity, 10, file), position(entity, 11, file)];
}

function arcOf(entity: Entity, file: string): PositionNative[] {
  const from = numberOf(entity, 50, file);
  const sweep = (((numberOf(entity, 51, file) - from) % 360) + 360) % 360 || 360;
  return mirrored(
    entity,
    arcPoints(position(entity, 10, file), numberOf(entity, 40, file), from, from + sweep),
  );
}

function joined(
  layer: string,
  pieces: readonly { row: number; points: PositionNative[] }[],
): GeometryFeature[] {
  return joinLines(pieces.map(({ points }) => points)).map(({ points, closed, members }) => {
    const [first = 0] = members;
    const row = pieces[first]?.row ?? 0;
    const name = members.length > 1 ? `${members.length} lines from row ${row}` : `LINE in row ${row}`;
    const told = { name, label: null, layer, properties: { entity: 'LINE', row } };
    return closed
      ? { kind: 'polygon', coordinates: [points], ...told }
      : { kind: 'line', coordinates: points, ...told };
  });
}

/** Entities drawn from below (extrusion 0, 0, -1) have their x the other way round. */
function mirrored(entity: Entity, points: PositionNative[]): PositionNative[] {
  return Number(textOf(entity, 230) ?? 1) < 0 ? points.map(([x, y]) => [-x, y]) : points;
}

function position(entity: Entity, code: number, file: string): PositionNative {
  return [numberOf(entity, code, file), numberOf(entity, code + 10, file)];
}

function numberOf(entity: Entity, code: number, file: string): number {
  return toNumber(textOf(entity, code) ?? '', entity, code, file);
}

function toNumber(text: string, entity: Entity, code: number, file: string): number {
  const value = Number(text);
  if (text !== '' && Number.isFinite(value)) return value;
  throw bad(`${entity.type} in row ${entity.row} of ${file}: group ${code} is "${text}", not a number.`, {
    file,
    row: entity.row,
  });
}

function textOf(entity: Entity, code: number): string | undefined {
  return entity.groups.find((group) => group.code === code)?.value;
}

function countUp(counts: Map<string, number>, key: string): void {
  counts.set(key, (counts.get(key) ?? 0) + 1);
}
