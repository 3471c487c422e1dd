import { AppError } from '../errors.ts';
import areaTexts from './data/epsg-areas.json' with { type: 'json' };
import geographicLines from './data/epsg-geographic.json' with { type: 'json' };
import projectedLines from './data/epsg-projected.json' with { type: 'json' };

export interface CrsEntry {
  readonly code: number;
  readonly name: string;
  readonly kind: 'projected' | 'geographic';
  /** m, ft, ft-us, degree, or the EPSG name of a rarer unit. */
  readonly unitLabel: string;
  readonly proj4: string;
  /** Degrees; west is greater than east where the area crosses the antimeridian. */
  readonly areaWsen: readonly [west: number, south: number, east: number, north: number];
  /** Of the datum operation to WGS 84, as the source states it. */
  readonly shiftAccuracyM: number | null;
  /** Grid file that the usual datum operation needs and that is not shipped. */
  readonly gridFile: string | null;
  readonly area: string;
}

let entries: readonly CrsEntry[] | null = null;
let byCode: ReadonlyMap<number, CrsEntry> | null = null;

/** All systems of the offline table, projected ones first, by rising code within each kind. */
export function allSystems(): readonly CrsEntry[] {
  entries ??= [
    ...projectedLines.map((line) => readLine(line, 'projected')),
    ...geographicLines.map((line) => readLine(line, 'geographic')),
  ];
  return entries;
}

/** Null when the code is not in the offline table. */
export function systemByCode(code: number): CrsEntry | null {
  byCode ??= new Map(allSystems().map((entry) => [entry.code, entry]));
  return byCode.get(code) ?? null;
}

/** @throws AppError BAD_INPUT when the code is not in the offline table */
export function findCrs(code: number): CrsEntry {
  const entry = systemByCode(code);
  if (entry !== null) return entry;
  throw new AppError('BAD_INPUT', `EPSG:${code} is not in the offline table of coordinate systems.`, {
    code,
  });
}

/** Name with code, as messages and figures print it. */
export function systemTitle(entry: CrsEntry): string {
  return `${entry.name} (EPSG:${entry.code})`;
}

function readLine(line: string, kind: CrsEntry['kind']): CrsEntry {
  const [
    code = '',
    name = '',
    unitLabel = '',
    proj4 = '',
    box = '',
    accuracy = '',
    gridFile = '',
    area = '',
  ] = line.split('\t');
  const [west = Number.NaN, south = Number.NaN, east = Number.NaN, north = Number.NaN] = box
    .split(' ')
    .map(Number);
  return {
    code: Number(code),
    name,
    kind,
    unitLabel,
    proj4,
    areaWsen: [west, south, east, north],
    shiftAccuracyM: accuracy === '' ? null : Number(accuracy),
    gridFile: gridFile === '' ? null : gridFile,
    area: areaTexts[Number(area)] ?? '',
  };
}
