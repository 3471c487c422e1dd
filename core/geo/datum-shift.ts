import { type CrsEntry, findCrs, systemTitle } from './crs-table.ts';

/** How coordinates get from one system's datum to another's. */
export interface DatumShift {
  readonly kind: 'none' | 'helmert' | 'grid-needed' | 'unknown';
  readonly name: string;
  /** Null where nobody states one. */
  readonly accuracyM: number | null;
  /** For people: what is done and how far to trust it. */
  readonly statement: string;
}

const GEOCENTRIC_ELLIPSOIDS = new Set(['GRS80', 'WGS84']);

type BlockedKind = 'grid-needed' | 'unknown';

interface DatumEnd {
  readonly entry: CrsEntry;
  readonly kind: 'wgs84' | 'geocentric' | 'helmert' | BlockedKind;
  readonly parameters: string;
}

/** Names the datum operation between two systems and how far to trust it. */
export function describeDatumShift(fromCode: number, toCode: number): DatumShift {
  const from = findCrs(fromCode);
  const to = findCrs(toCode);
  if (datumKey(from) === datumKey(to)) {
    return {
      kind: 'none',
      name: 'same datum',
      accuracyM: 0,
      statement: 'Same datum on both sides: no shift.',
    };
  }
  const ends = [from, to].map(datumOfEntry);
  const pair = `${systemTitle(from)} and ${systemTitle(to)}`;
  const blocked = blockedEnd(ends, 'grid-needed') ?? blockedEnd(ends, 'unknown');
  if (blocked !== null) return blockedStatement(blocked.entry, blocked.kind, pair);
  const shifting = ends.filter((end) => end.kind === 'helmert');
  if (shifting.length === 0) return geocentricStatement(ends, pair);
  return helmertStatement(shifting, pair);
}

/** What the table says of an entry's way to WGS 84. */
export function datumOfEntry(entry: CrsEntry): DatumEnd {
  const parameters = /\+towgs84=(\S+)/.exec(entry.proj4)?.[1] ?? '';
  const ellipsoid = /\+ellps=(\S+)/.exec(entry.proj4)?.[1] ?? '';
  if (/\+datum=WGS84|\+nadgrids=@null/.test(entry.proj4)) return { entry, kind: 'wgs84', parameters };
  if (entry.proj4.includes('+nadgrids=')) return { entry, kind: 'grid-needed', parameters };
  if (parameters === '') {
    return { entry, kind: GEOCENTRIC_ELLIPSOIDS.has(ellipsoid) ? 'geocentric' : 'unknown', parameters };
  }
  const allZero = parameters.split(',').every((part) => Number(part) === 0);
  return { entry, kind: allZero ? 'geocentric' : 'helmert', parameters };
}

function blockedEnd(
  ends: readonly DatumEnd[],
  kind: BlockedKind,
): { entry: CrsEntry; kind: BlockedKind } | null {
  const end = ends.find((candidate) => candidate.kind === kind);
  return end === undefined ? null : { entry: end.entry, kind };
}

function blockedStatement(entry: CrsEntry, kind: BlockedKind, pair: string): DatumShift {
  const name = kind === 'grid-needed' ? `grid file ${entry.gridFile}` : 'not known';
  const why =
    kind === 'grid-needed'
      ? `the datum operation needs the ${name}, which is not shipped`
      : 'no datum operation is known here';
  return {
    kind,
    name,
    accuracyM: null,
    statement: `Coordinates cannot be taken between ${pair}: for ${systemTitle(entry)} ${why}. A zero shift could be wrong by hundreds of metres, so none is done.`,
  };
}

function geocentricStatement(ends: readonly DatumEnd[], pair: string): DatumShift {
  const stated = ends.map((end) => end.entry.shiftAccuracyM).filter((value) => value !== null);
  const accuracyM = stated.length === 0 ? null : Math.max(...stated);
  const trust =
    accuracyM === null
      ? 'Systems of this kind lie within about 1 to 2 m of one another (common practice); nothing better is stated here.'
      : `Stated accuracy of that: ${accuracyM} m.`;
  return {
    kind: 'helmert',
    name: 'zero shift',
    accuracyM,
    statement: `The datums of ${pair} are taken as one (zero shift). ${trust}`,
  };
}

function helmertStatement(shifting: readonly DatumEnd[], pair: string): DatumShift {
  const names = shifting.map((end) => {
    const count = end.parameters
      .split(',')
      .slice(3)
      .some((part) => Number(part) !== 0)
      ? 7
      : 3;
    return `${count}-parameter Helmert ${end.parameters} (position vector) for ${end.entry.name}`;
  });
  const coarse = shifting.filter((end) => end.entry.gridFile !== null);
  const unstated = shifting.some((end) => end.entry.shiftAccuracyM === null);
  const sumOfSquares = shifting.reduce((sum, end) => sum + (end.entry.shiftAccuracyM ?? 0) ** 2, 0);
  const accuracyM = unstated ? null : Math.sqrt(sumOfSquares);
  let trust =
    accuracyM === null
      ? 'Its accuracy is not stated in the table.'
      : `Stated accuracy: ${round1(accuracyM)} m.`;
  if (coarse.length > 0) {
    const files = coarse.map((end) => end.entry.gridFile).join(', ');
    trust += ` The usual operation uses a grid file (${files}), which is not shipped: expect errors of several metres, in places ten or more.`;
  }
  return {
    kind: 'helmert',
    name: names.join('; '),
    accuracyM,
    statement: `Between ${pair}: ${names.join('; ')}. ${trust}`,
  };
}

/** What decides whether two systems share a datum: ellipsoid, prime meridian apart, and operation to WGS 84. */
function datumKey(entry: CrsEntry): string {
  if (/\+datum=WGS84|\+nadgrids=@null/.test(entry.proj4)) return 'WGS84';
  const part = (name: string) => new RegExp(`\\+${name}=(\\S+)`).exec(entry.proj4)?.[1] ?? '';
  const operation = part('towgs84').replace(/(,0)+$/, '');
  const ellipsoid = part('ellps') || `${part('a')} ${part('b')} ${part('rf')}`;
  // Without any operation the ellipsoid alone does not tell two datums apart: the name before the slash does.
  const base = operation === '' ? (entry.name.split(' / ')[0] ?? '').replace(/ \(.*\)$/, '') : '';
  return `${ellipsoid}|${operation}|${entry.gridFile ?? ''}|${base}`;
}

function round1(value: number): string {
  return String(Math.round(value * 10) / 10);
}
