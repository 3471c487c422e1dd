/**
 * Coordinate systems as well-known text (OGC 01-009, "WKT 1"): written for GeoPackage, read from shapefiles' .prj files
 * in the wording of OGC and of the format's maker.
 */
import { allSystems, type CrsEntry, findCrs, systemByCode } from '../geo/crs-table.ts';
import { M_PER_FOOT, M_PER_US_SURVEY_FOOT } from '../units.ts';

/** A projection by its proj name; parameters in the order they are written: WKT name, proj name, value where absent. */
interface Method {
  readonly proj: string;
  readonly names: readonly string[];
  readonly parameters: readonly (readonly [wkt: string, proj: string, absent: number])[];
}

const LAT: readonly [string, string, number] = ['latitude_of_origin', 'lat_0', 0];
const LON: readonly [string, string, number] = ['central_meridian', 'lon_0', 0];
const LAT_CENTRE: readonly [string, string, number] = ['latitude_of_center', 'lat_0', 0];
const LON_CENTRE: readonly [string, string, number] = ['longitude_of_center', 'lon_0', 0];
const SCALE: readonly [string, string, number] = ['scale_factor', 'k', 1];
const PARALLEL_1: readonly [string, string, number] = ['standard_parallel_1', 'lat_1', 0];
const PARALLEL_2: readonly [string, string, number] = ['standard_parallel_2', 'lat_2', 0];

/** The first name is the one written. */
const METHODS: readonly Method[] = [
  { proj: 'tmerc', names: ['Transverse_Mercator', 'Gauss_Kruger'], parameters: [LAT, LON, SCALE] },
  {
    proj: 'lcc2',
    names: ['Lambert_Conformal_Conic_2SP', 'Lambert_Conformal_Conic'],
    parameters: [LAT, LON, PARALLEL_1, PARALLEL_2],
  },
  {
    proj: 'lcc1',
    names: ['Lambert_Conformal_Conic_1SP', 'Lambert_Conformal_Conic'],
    parameters: [LAT, LON, SCALE],
  },
  {
    proj: 'sterea',
    names: ['Oblique_Stereographic', 'Double_Stereographic'],
    parameters: [LAT, LON, SCALE],
  },
  {
    proj: 'laea',
    names: ['Lambert_Azimuthal_Equal_Area'],
    parameters: [LAT_CENTRE, LON_CENTRE],
  },
  {
    proj: 'aea',
    names: ['Albers_Conic_Equal_Area', 'Albers'],
    parameters: [PARALLEL_1, PARALLEL_2, LAT_CENTRE, LON_CENTRE],
  },
  { proj: 'cass', names: ['Cassini_Soldner', 'Cassini'], parameters: [LAT, LON] },
  { proj: 'merc', names: ['Mercator_1SP', 'Mercator'], parameters: [LON, SCALE] },
  { proj: 'poly', names: ['Polyconic'], parameters: [LAT, LON] },
  {
    proj: 'krovak',
    names: ['Krovak'],
    parameters: [
      LAT_CENTRE,
      LON_CENTRE,
      ['azimuth', 'alpha', 30.2881397527778],
      ['pseudo_standard_parallel_1', '', 78.5],
      SCALE,
    ],
  },
];

/** WKT names of other wordings, and what they are here. */
const SAME_PARAMETER: Readonly<Record<string, string>> = {
  latitude_of_origin: 'lat_0',
  latitude_of_center: 'lat_0',
  central_meridian: 'lon_0',
  longitude_of_center: 'lon_0',
  longitude_of_origin: 'lon_0',
  scale_factor: 'k',
  standard_parallel_1: 'lat_1',
  standard_parallel_2: 'lat_2',
  azimuth: 'alpha',
};

/** Semi-major axis in metres and inverse flattening (EPSG dataset) of the ellipsoids that the table names. */
const ELLIPSOIDS: Readonly<Record<string, readonly [name: string, a: number, rf: number]>> = {
  WGS84: ['WGS 84', 6378137, 298.257223563],
  GRS80: ['GRS 1980', 6378137, 298.257222101],
  bessel: ['Bessel 1841', 6377397.155, 299.1528128],
  intl: ['International 1924', 6378388, 297],
  clrk66: ['Clarke 1866', 6378206.4, 294.978698213898],
  clrk80ign: ['Clarke 1880 (IGN)', 6378249.2, 293.4660212936269],
  krass: ['Krassowsky 1940', 6378245, 298.3],
  airy: ['Airy 1830', 6377563.396, 299.3249646],
  mod_airy: ['Airy Modified 1849', 6377340.189, 299.3249646],
  aust_SA: ['Australian National Spheroid', 6378160, 298.25],
  GRS67: ['GRS 1967', 6378160, 298.247167427],
  WGS72: ['WGS 72', 6378135, 298.26],
};

/** Of its own kind (a sphere): known by name only. */
const WEB_MERCATOR_CODE = 3857;
const DEGREE = 0.0174532925199433;

/** Well-known text of a system, or null where it has a projection or ellipsoid that is not written here. */
export function writeWkt(code: number): string | null {
  const entry = findCrs(code);
  const meaning = readProj(entry);
  if (meaning === null) return null;
  const geographic = writeGeographic(entry, meaning);
  if (entry.kind === 'geographic') return geographic;
  const method = METHODS.find((candidate) => candidate.proj === meaning.proj);
  if (method === undefined) return null;
  const parameters = method.parameters.map(
    ([wkt, proj, absent]) => `PARAMETER["${wkt}",${meaning.values.get(proj) ?? absent}]`,
  );
  const unitName = { m: 'metre', ft: 'foot', 'ft-us': 'US survey foot' }[entry.unitLabel] ?? entry.unitLabel;
  return `PROJCS["${entry.name}",${geographic},PROJECTION["${method.names[0]}"],${parameters.join(',')},PARAMETER["false_easting",${meaning.falseM[0] / meaning.unitM}],PARAMETER["false_northing",${meaning.falseM[1] / meaning.unitM}],UNIT["${unitName}",${meaning.unitM}],AXIS["Easting",EAST],AXIS["Northing",NORTH],AUTHORITY["EPSG","${code}"]]`;
}

function writeGeographic(entry: CrsEntry, { ellipsoid, primeDeg }: Meaning): string {
  const base = datumName(entry.name);
  const authority = entry.kind === 'geographic' ? `,AUTHORITY["EPSG","${entry.code}"]` : '';
  return `GEOGCS["${base}",DATUM["${base === 'WGS 84' ? 'WGS_1984' : base.replaceAll(' ', '_')}",SPHEROID["${ellipsoid.name}",${ellipsoid.aM},${ellipsoid.rf}]],PRIMEM["${primeDeg === 0 ? 'Greenwich' : 'Own'}",${primeDeg}],UNIT["degree",${DEGREE}]${authority}]`;
}

/** What a .prj file says: a code of the offline table, or why there is none. */
export type WktSystem =
  | { readonly code: number; readonly name: string; readonly notes: readonly string[] }
  | { readonly code: null; readonly name: string; readonly reason: string };

/** Finds the system that a text means: by its EPSG code, else by comparing datum, projection and every parameter. */
export function findSystemOfWkt(text: string): WktSystem {
  const root = parseWkt(text);
  if (root === null)
    return { code: null, name: text.trim().slice(0, 60), reason: 'it is no well-known text' };
  const name = String(root.items[0] ?? '');
  const stated = statedCode(root);
  if (stated !== null && systemByCode(stated) !== null) return { code: stated, name, notes: [] };
  if (/web_mercator|pseudo-mercator/i.test(name)) return { code: WEB_MERCATOR_CODE, name, notes: [] };
  const wanted = meaningOf(root);
  if (wanted === null) {
    return { code: null, name, reason: 'its projection or datum is not understood here' };
  }
  const kind = root.word === 'GEOGCS' ? 'geographic' : 'projected';
  const found = allSystems().filter((entry) => {
    if (entry.kind !== kind || !isOfDatum(entry, wanted.datum)) return false;
    const meaning = readProj(entry);
    return meaning !== null && isSame(meaning, wanted.meaning);
  });
  const isNamesake = (entry: CrsEntry) => plainName(entry.name) === plainName(shortYears(name));
  /** Names that end in an axis order stand for what is written otherwise in the dataset: last choice. */
  const axisRank = (entry: CrsEntry) =>
    /\([NEz,-]+\)$/.test(entry.name) ? (/\(E[,-]N\)$/.test(entry.name) ? 1 : 2) : 0;
  const [first] = [...found].sort(
    (a, b) => Number(isNamesake(b)) - Number(isNamesake(a)) || axisRank(a) - axisRank(b) || a.code - b.code,
  );
  if (first === undefined) {
    return { code: null, name, reason: 'no system of the offline table has this datum and these parameters' };
  }
  const others = found.filter((entry) => entry !== first).map((entry) => `EPSG:${entry.code}`);
  const also =
    others.length === 0 ? '' : `; ${others.join(', ')} ${others.length === 1 ? 'is' : 'are'} the same`;
  return { code: first.code, name, notes: [`"${name}" is ${first.name} (EPSG:${first.code})${also}.`] };
}

interface Meaning {
  /** proj name; lcc split by its number of standard parallels. */
  readonly proj: string;
  readonly values: ReadonlyMap<string, number>;
  readonly falseM: readonly [east: number, north: number];
  readonly unitM: number;
  readonly ellipsoid: { readonly name: string; readonly aM: number; readonly rf: number };
  readonly primeDeg: number;
}

function readProj(entry: CrsEntry): Meaning | null {
  const pairs = new Map(
    [...entry.proj4.matchAll(/\+(\w+)(?:=(\S+))?/g)].map((match) => [match[1] ?? '', match[2] ?? '']),
  );
  const number = (key: string) => (pairs.has(key) ? Number(pairs.get(key)) : undefined);
  const ellipsoid = ellipsoidOf(pairs);
  if (ellipsoid === null || pairs.has('axis')) return null;
  const values = new Map<string, number>();
  for (const key of ['lat_0', 'lon_0', 'lat_1', 'lat_2', 'alpha']) {
    const value = number(key);
    if (value !== undefined) values.set(key, value);
  }
  values.set('k', number('k_0') ?? number('k') ?? 1);
  const shared = {
    ellipsoid,
    primeDeg: Number(pairs.get('pm') ?? 0),
    unitM: unitOf(entry, number('to_meter')),
  };
  let proj = pairs.get('proj') ?? '';
  if (!Number.isFinite(shared.primeDeg)) return null;
  if (proj === 'utm') {
    values.set('lat_0', 0);
    values.set('lon_0', (number('zone') ?? Number.NaN) * 6 - 183);
    values.set('k', 0.9996);
    return { proj: 'tmerc', values, falseM: [500_000, pairs.has('south') ? 10_000_000 : 0], ...shared };
  }
  if (proj === 'lcc') proj = values.has('lat_2') ? 'lcc2' : 'lcc1';
  // With a true-scale parallel or a rectified grid: more parameters than are compared here.
  if (pairs.has('lat_ts') || pairs.has('gamma')) return null;
  return { proj, values, falseM: [number('x_0') ?? 0, number('y_0') ?? 0], ...shared };
}

function ellipsoidOf(pairs: ReadonlyMap<string, string>): Meaning['ellipsoid'] | null {
  const known = ELLIPSOIDS[pairs.get('datum') ?? pairs.get('ellps') ?? ''];
  if (known !== undefined) return { name: known[0], aM: known[1], rf: known[2] };
  const [aM, rf] = [Number(pairs.get('a')), Number(pairs.get('rf'))];
  return aM > 0 && rf > 0 ? { name: 'own', aM, rf } : null;
}

function unitOf(entry: CrsEntry, toMetre: number | undefined): number {
  if (toMetre !== undefined) return toMetre;
  if (entry.unitLabel === 'ft') return M_PER_FOOT;
  return entry.unitLabel === 'ft-us' ? M_PER_US_SURVEY_FOOT : 1;
}

interface WktNode {
  readonly word: string;
  readonly items: readonly (string | number | WktNode)[];
}

function parseWkt(text: string): WktNode | null {
  const tokens = text.match(/"(?:[^"]|"")*"|[[\](),]|[^\s[\](),"]+/g) ?? [];
  let at = 0;
  const readNode = (): WktNode | string | number | null => {
    const token = tokens[at++];
    if (token === undefined) return null;
    if (token.startsWith('"')) return token.slice(1, -1).replaceAll('""', '"');
    if (tokens[at] !== '[' && tokens[at] !== '(')
      return token !== '' && Number.isFinite(Number(token)) ? Number(token) : token;
    at++;
    const items: (string | number | WktNode)[] = [];
    while (at < tokens.length && tokens[at] !== ']' && tokens[at] !== ')') {
      if (tokens[at] === ',') at++;
      else {
        const item = readNode();
        if (item !== null) items.push(item);
      }
    }
    at++;
    return { word: token.toUpperCase(), items };
  };
  const root = readNode();
  return typeof root === 'object' && root !== null && /^(PROJ|GEOG|GEODETIC|COMPD|BOUND)/.test(root.word)
    ? root
    : null;
}

function child(node: WktNode, word: string): WktNode | null {
  return children(node, word)[0] ?? null;
}

function children(node: WktNode, word: string): WktNode[] {
  return node.items.filter((item): item is WktNode => typeof item === 'object' && item.word === word);
}

function statedCode(root: WktNode): number | null {
  const [authority, code] = (child(root, 'AUTHORITY') ?? child(root, 'ID'))?.items ?? [];
  return String(authority).toUpperCase() === 'EPSG' && Number.isInteger(Number(code)) ? Number(code) : null;
}

function meaningOf(root: WktNode): { datum: string; meaning: Meaning } | null {
  const geographic = root.word === 'GEOGCS' ? root : child(root, 'GEOGCS');
  const spheroid = geographic === null ? null : child(child(geographic, 'DATUM') ?? geographic, 'SPHEROID');
  if (geographic === null || spheroid === null) return null;
  const [, aM, rf] = spheroid.items.map(Number);
  const primeDeg = Number(child(geographic, 'PRIMEM')?.items[1] ?? 0);
  const shared = { ellipsoid: { name: '', aM: aM ?? Number.NaN, rf: rf ?? Number.NaN }, primeDeg };
  const datum = datumKey(String(geographic.items[0]));
  if (root === geographic) {
    return {
      datum,
      meaning: { proj: 'longlat', values: new Map([['k', 1]]), falseM: [0, 0], unitM: 1, ...shared },
    };
  }
  const given = new Map(
    children(root, 'PARAMETER').map(({ items }) => [String(items[0]).toLowerCase(), Number(items[1])]),
  );
  const values = new Map<string, number>([['k', 1]]);
  for (const [key, value] of given) {
    const same = SAME_PARAMETER[key];
    if (same !== undefined) values.set(same, value);
  }
  const projection = plainName(String(child(root, 'PROJECTION')?.items[0]));
  const methods = METHODS.filter((method) => method.names.some((known) => plainName(known) === projection));
  const method = methods.find(({ proj }) => proj !== 'lcc1' || !values.has('lat_2')) ?? methods[0];
  const isSingle = method?.proj === 'lcc2' && !values.has('lat_2');
  const unitM = Number(child(root, 'UNIT')?.items[1] ?? 1);
  if (method === undefined) return null;
  return {
    datum,
    meaning: {
      proj: isSingle ? 'lcc1' : method.proj,
      values,
      falseM: [(given.get('false_easting') ?? 0) * unitM, (given.get('false_northing') ?? 0) * unitM],
      unitM,
      ...shared,
    },
  };
}

/** Same to what a millimetre asks: 1 mm of false origin, 1e-8 degrees, 1e-9 in scale. */
function isSame(a: Meaning, b: Meaning): boolean {
  if (a.proj !== b.proj || Math.abs(a.unitM / b.unitM - 1) > 1e-9) return false;
  const near = (x: number, y: number, tolerance: number) => Math.abs(x - y) <= tolerance;
  if (!near(a.ellipsoid.aM, b.ellipsoid.aM, 0.001) || !near(a.ellipsoid.rf, b.ellipsoid.rf, 1e-5))
    return false;
  if (!near(a.primeDeg, b.primeDeg, 1e-7)) return false;
  if (!a.falseM.every((value, i) => near(value, b.falseM[i] ?? Number.NaN, 0.001))) return false;
  const value = ({ values }: Meaning, key: string) => values.get(key) ?? 0;
  const parallels = (meaning: Meaning) =>
    [value(meaning, 'lat_1'), value(meaning, 'lat_2')].sort((p, q) => p - q);
  if (a.proj === 'lcc2' || a.proj === 'aea') {
    if (!parallels(a).every((parallel, i) => near(parallel, parallels(b)[i] ?? Number.NaN, 1e-8)))
      return false;
  }
  return (
    ['lat_0', 'lon_0'].every((key) => near(value(a, key), value(b, key), 1e-8)) &&
    near(value(a, 'k'), value(b, 'k'), 1e-9)
  );
}

/** Name of the geographic system within a system's name, as the EPSG dataset words it. */
function datumName(name: string): string {
  return name.split(' / ')[0] ?? name;
}

const DATUM_WORDS: Readonly<Record<string, string>> = {
  northamerican83: 'nad83',
  northamerican27: 'nad27',
  northamericandatum83: 'nad83',
  northamericandatum27: 'nad27',
  etrs89extended: 'etrs89',
  deutscheshauptdreiecksnetz: 'dhdn',
  belge72: 'bd72',
};

/** The same for "GCS_North_American_1983" and "NAD83": letters and digits, years short. */
function datumKey(name: string): string {
  const key = plainName(shortYears(datumName(name).replace(/^GCS_/i, ''))).replace(/v1$/, '');
  return DATUM_WORDS[key] ?? key;
}

/** Some systems carry their datum's name without a slash after it ("SWEREF99 TM"). */
function isOfDatum(entry: CrsEntry, datum: string): boolean {
  const [firstWord = ''] = entry.name.split(' ');
  return datumKey(entry.name) === datum || (!entry.name.includes(' / ') && datumKey(firstWord) === datum);
}

function shortYears(text: string): string {
  return text.replace(/(?<!\d)19(\d\d)(?!\d)/g, '$1').replace(/_/g, ' ');
}

function plainName(text: string): string {
  return text.toLowerCase().replace(/[^a-z0-9+]/g, '');
}
