/** Geometry of a GeoPackage: its own header and the well-known binary of OGC 06-103r4. Plane coordinates only. */
import type { PositionNative } from '../geo/frame.ts';
import { openRing, pointsOf, type Shape } from './geometry.ts';

const POINT = 1;
const LINE = 2;
const POLYGON = 3;
const MULTI_POLYGON = 6;
const GEOMETRY_COLLECTION = 7;
/** Flags of the header: little-endian, and an envelope of x and y for anything but a point. */
const LITTLE_ENDIAN = 1;
const WITH_ENVELOPE = 1 << 1;
const ENVELOPE_BYTES = [0, 32, 48, 48, 64];

/** A blob of a GeoPackage's geometry column (GeoPackage 1.3, 2.1.3). Rings are written closed. */
export function writeGeoPackageGeometry(
  srsId: number,
  shape: Shape | { readonly kind: 'polygons'; readonly coordinates: readonly Shape[] },
): Uint8Array {
  const out = new ByteWriter();
  const isPoint = shape.kind === 'point';
  out.byte(0x47);
  out.byte(0x50);
  out.byte(0);
  out.byte(LITTLE_ENDIAN | (isPoint ? 0 : WITH_ENVELOPE));
  out.int32(srsId);
  if (!isPoint) {
    const points = (shape.kind === 'polygons' ? shape.coordinates : [shape]).flatMap(pointsOf);
    const xs = points.map(([x]) => x);
    const ys = points.map(([, y]) => y);
    for (const values of [xs, ys]) {
      out.double(values.reduce((a, b) => Math.min(a, b), Infinity));
      out.double(values.reduce((a, b) => Math.max(a, b), -Infinity));
    }
  }
  if (shape.kind === 'polygons') {
    out.head(MULTI_POLYGON);
    out.int32(shape.coordinates.length);
    for (const polygon of shape.coordinates) writeShape(out, polygon);
  } else {
    writeShape(out, shape);
  }
  return out.bytes();
}

function writeShape(out: ByteWriter, shape: Shape): void {
  if (shape.kind === 'point') {
    out.head(POINT);
    out.position(shape.coordinates);
  } else if (shape.kind === 'line') {
    out.head(LINE);
    out.positions(shape.coordinates);
  } else {
    out.head(POLYGON);
    out.int32(shape.coordinates.length);
    for (const ring of shape.coordinates) {
      const [first] = ring;
      out.positions(first === undefined ? [] : [...ring, first]);
    }
  }
}

/**
 * The shapes in a geometry blob; a collection or multi-geometry gives its parts, an empty one none. Heights and
 * measures are passed over.
 * @throws RangeError or Error where the blob is cut short or is of a kind that is not plain geometry
 */
export function readGeoPackageGeometry(blob: Uint8Array): {
  readonly srsId: number;
  readonly shapes: Shape[];
} {
  const view = new DataView(blob.buffer, blob.byteOffset, blob.byteLength);
  if (view.getUint16(0) !== 0x4750) throw new Error('it does not begin with GP');
  const flags = view.getUint8(3);
  const srsId = view.getInt32(4, (flags & 1) === 1);
  const envelope = ENVELOPE_BYTES[(flags >> 1) & 7];
  if (envelope === undefined) throw new Error(`its envelope is of the unknown kind ${(flags >> 1) & 7}`);
  const reader = { view, at: 8 + envelope };
  const shapes: Shape[] = [];
  if ((flags & 0x10) === 0) readShape(reader, shapes);
  return { srsId, shapes };
}

interface Reader {
  readonly view: DataView;
  at: number;
}

function readShape(reader: Reader, shapes: Shape[]): void {
  const little = reader.view.getUint8(reader.at) === 1;
  const raw = reader.view.getUint32(reader.at + 1, little);
  reader.at += 5;
  // ISO adds 1000, 2000 or 3000 for Z, M and ZM; the older extended form sets high bits.
  const kind = (raw & 0x0fffffff) % 1000;
  const thousands = Math.floor((raw & 0x0fffffff) / 1000);
  const extra = (thousands === 3 ? 2 : thousands > 0 ? 1 : 0) + ((raw >>> 31) & 1) + ((raw >>> 30) & 1);
  const count = () => {
    const n = reader.view.getUint32(reader.at, little);
    reader.at += 4;
    if (n > reader.view.byteLength) throw new RangeError(`it claims ${n} parts`);
    return n;
  };
  const position = (): PositionNative => {
    const x = reader.view.getFloat64(reader.at, little);
    const y = reader.view.getFloat64(reader.at + 8, little);
    reader.at += 16 + 8 * extra;
    return [x, y];
  };
  const positions = () => Array.from({ length: count() }, position);
  if (kind === POINT) {
    const point = position();
    if (point.every(Number.isFinite)) shapes.push({ kind: 'point', coordinates: point });
  } else if (kind === LINE) {
    shapes.push({ kind: 'line', coordinates: positions() });
  } else if (kind === POLYGON) {
    shapes.push({
      kind: 'polygon',
      coordinates: Array.from({ length: count() }, () => openRing(positions())),
    });
  } else if (kind > POLYGON && kind <= GEOMETRY_COLLECTION) {
    for (let left = count(); left > 0; left--) readShape(reader, shapes);
  } else {
    throw new Error(`it is of kind ${raw}, with arcs or surfaces`);
  }
}

class ByteWriter {
  #buffer = new DataView(new ArrayBuffer(256));
  #length = 0;

  byte(value: number): void {
    this.#room(1);
    this.#buffer.setUint8(this.#length, value);
    this.#length += 1;
  }

  int32(value: number): void {
    this.#room(4);
    this.#buffer.setInt32(this.#length, value, true);
    this.#length += 4;
  }

  double(value: number): void {
    this.#room(8);
    this.#buffer.setFloat64(this.#length, value, true);
    this.#length += 8;
  }

  head(kind: number): void {
    this.byte(LITTLE_ENDIAN);
    this.int32(kind);
  }

  position([x, y]: PositionNative): void {
    this.double(x);
    this.double(y);
  }

  positions(points: readonly PositionNative[]): void {
    this.int32(points.length);
    for (const point of points) this.position(point);
  }

  bytes(): Uint8Array {
    return new Uint8Array(this.#buffer.buffer.slice(0, this.#length));
  }

  #room(extra: number): void {
    if (this.#length + extra <= this.#buffer.byteLength) return;
    const larger = new Uint8Array(2 * this.#buffer.byteLength + extra);
    larger.set(new Uint8Array(this.#buffer.buffer));
    this.#buffer = new DataView(larger.buffer);
  }
}
