/**
 * Makes core/geo/data/epsg-projected.json, epsg-geographic.json and epsg-areas.json, the offline table of coordinate
 * systems, from the npm package epsg-index (ISC), which carries the EPSG Geodetic Parameter Dataset. Run with Node 24:
 *   node_modules/.bin/node scripts/make-crs-table.mjs
 * Kept: projected and geographic systems that the map-projection library can compute. Every kept system has been sent
 * forth and back through the library in the middle of its own area.
 */
import { writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import proj4 from 'proj4';

const all = createRequire(import.meta.url)('epsg-index/all.json');
const DISAGREES_WITH_PROJ = new Set([8044, 8045]); // by 370 m: two grids of the 19th century on Ferro
const LAST_EPSG_CODE = 32767; // higher numbers in the package are other bodies' codes
// Codes of the package that the EPSG database shipped with PROJ 9.1.1 does not hold.
const NOT_EPSG = new Set([
  20062, 20063, 24721, 26788, 26789, 26790, 31491, 31492, 31493, 31494, 31495, 32059, 32060,
]);
const NAMED_UNITS = new Set(['m', 'ft', 'us-ft']);
const UNIT_NAMES = { m: 'm', ft: 'ft', 'us-ft': 'ft-us' };
const HELMERT_PART = /\+towgs84=(\S+)/;
const GRID_PART = /\+nadgrids=("[^"]*"|\S+)/;

/** Name of the grid file that the datum operation asks for; empty where it needs none. */
function gridFile(entry) {
  const name = GRID_PART.exec(entry.proj4)?.[1].replaceAll('"', '') ?? '';
  return name === '@null' ? '' : name;
}

/** The plain Helmert operation that the projection library lists for the entry's datum, as towgs84 text, or null. */
function libraryHelmert(entry) {
  const baseCode =
    /UNIT\["degree[^\]]*\]\],AUTHORITY\["EPSG","(\d+)"\]\]/.exec(entry.wkt ?? '')?.[1] ?? entry.code;
  const base = new proj4.Proj(`+proj=longlat +ellps=WGS84 +datum=EPSG_${baseCode}`);
  const parameters = base.datum_params;
  return parameters ? parameters.map(Number).join(',') : null;
}

// Operations with a turn about one axis only: the library's list loses the turn. Compared one by one with the EPSG database
// shipped with PROJ 9.1.1 (operations 1238, 1240, 1798, 1799, 1800, 15876, 5043, 1081); the last two had their sign wrong.
const ONE_AXIS_TURNS = new Map([
  ['0,0,4.5,0,0,0.554,0.2263', '0,0,4.5,0,0,0.554,0.2263'],
  ['0,0,4.5,0,0,0.554,0.219', '0,0,4.5,0,0,0.554,0.219'],
  ['0,0,1.9,0,0,0.814,-0.38', '0,0,1.9,0,0,0.814,-0.38'],
  ['163.511,127.533,-159.789,0,0,0.814,-0.6', '163.511,127.533,-159.789,0,0,0.814,-0.6'],
  ['105,326,-102.5,0,0,0.814,-0.6', '105,326,-102.5,0,0,0.814,-0.6'],
  ['-45,417,-3.5,0,0,0.814,-0.6', '-45,417,-3.5,0,0,0.814,-0.6'],
  ['24.47,-130.89,-81.56,0,0,-0.13,-0.22', '24.47,-130.89,-81.56,0,0,0.13,-0.22'],
  ['174.05,-25.49,112.57,0,0,-0.554,0.2263', '174.05,-25.49,112.57,0,0,0.554,0.2263'],
]);

/**
 * Whether the entry's operation has rotations. The package gives those without regard to their sign convention
 * (position vector or coordinate frame) and unit, so some are wrong by 100 m and more; the library's own list is taken
 * instead, and where it has none the datum counts as one without a known operation.
 */
function turnsAxes(entry) {
  const parts = HELMERT_PART.exec(entry.proj4)?.[1].split(',') ?? [];
  return parts.slice(3, 6).some((part) => Number(part) !== 0);
}

/** Stated accuracy of the operation that the table holds; empty where it is not the one the statement is about. */
function shiftAccuracy(entry, proj) {
  if (gridFile(entry) !== '') return '';
  const shiftOf = (text) => HELMERT_PART.exec(text)?.[1].split(',').slice(0, 3).map(Number).join(',') ?? '';
  return shiftOf(proj) === shiftOf(entry.proj4) ? (entry.accuracy ?? '') : '';
}

/** Text of the proj string as the table keeps it: unit by name (m, ft, us-ft) or by its exact size from the WKT. */
function tidyProj4(entry) {
  let text = entry.proj4.replace(/ \+no_defs| \+type=crs| \+wktext/g, '').trim();
  const grid = gridFile(entry);
  const helmert = ONE_AXIS_TURNS.get(HELMERT_PART.exec(text)?.[1]) ?? libraryHelmert(entry);
  if (grid !== '')
    text = text.replace(GRID_PART, helmert === null ? '+nadgrids=missing' : `+towgs84=${helmert}`);
  else if (turnsAxes(entry))
    text = text.replace(HELMERT_PART, helmert === null ? '' : `+towgs84=${helmert}`).trim();
  text = withKnownEllipsoid(text, entry);
  const unit = /\+units=(\S+)/.exec(text)?.[1];
  if (unit !== undefined && !NAMED_UNITS.has(unit)) {
    text = text.replace(/\+units=\S+/, `+to_meter=${wktUnit(entry).size}`);
  }
  return text;
}

/** The library takes WGS 84 for an ellipsoid whose name it does not know: such names are replaced by their axes. */
function withKnownEllipsoid(text, entry) {
  const name = /\+ellps=(\S+)/.exec(text)?.[1];
  const axes = /SPHEROID\["[^"]+",([\d.]+),([\d.]+)/.exec(entry.wkt ?? '');
  if (name === undefined || axes === null) return text;
  const [a, rf] = [Number(axes[1]), Number(axes[2])];
  const known = new proj4.Proj(`+proj=longlat +ellps=${name}`);
  const isSame = Math.abs(known.a - a) < 1e-3 && Math.abs(known.a / (known.a - known.b) - rf) < 1e-4;
  return isSame ? text : text.replace(`+ellps=${name}`, `+a=${a} +rf=${rf}`);
}

function wktUnit(entry) {
  const units = [...entry.wkt.matchAll(/UNIT\["([^"]+)",([0-9.eE+-]+)/g)];
  const last = units.at(-1);
  return { name: last[1], size: Number(last[2]) };
}

function unitLabel(entry, proj) {
  if (entry.kind === 'CRS-GEOGCRS') return 'degree';
  const named = /\+units=(\S+)/.exec(proj)?.[1];
  if (named !== undefined) return UNIT_NAMES[named];
  return wktUnit(entry).name;
}

/** Largest difference in degrees after forth and back in the middle of the area; Infinity when it cannot be computed. */
function roundTripError(entry, proj) {
  const [north, west, south, east] = entry.bbox;
  const lon = (west + (east < west ? east + 360 : east)) / 2;
  const lat = (north + south) / 2;
  try {
    const system = proj4(proj.replace(/ \+(towgs84|nadgrids)=\S+/g, ''));
    const [backLon, backLat] = system.inverse(system.forward([lon, lat]));
    const turn = Math.abs(((backLon - lon + 540) % 360) - 180);
    const worst = Math.max(turn, Math.abs(backLat - lat));
    return Number.isFinite(worst) ? worst : Number.POSITIVE_INFINITY;
  } catch {
    return Number.POSITIVE_INFINITY;
  }
}

const areas = [];
const areaNumbers = new Map();
function areaNumber(text) {
  const tidy = (text ?? '').replaceAll('\t', ' ').trim();
  const known = areaNumbers.get(tidy);
  if (known !== undefined) return known;
  areas.push(tidy);
  areaNumbers.set(tidy, areas.length - 1);
  return areas.length - 1;
}

const systems = { projected: [], geographic: [] };
const dropped = [];
const entries = Object.values(all)
  .filter((entry) => Number(entry.code) <= LAST_EPSG_CODE && !NOT_EPSG.has(Number(entry.code)))
  .filter((entry) => !DISAGREES_WITH_PROJ.has(Number(entry.code)))
  .filter((entry) => entry.kind === 'CRS-PROJCRS' || entry.kind === 'CRS-GEOGCRS')
  .sort((a, b) => Number(a.code) - Number(b.code));
for (const entry of entries) {
  if (!entry.proj4 || !entry.bbox || (!entry.wkt && !/longlat|\+units=(m|ft|us-ft) /.test(entry.proj4))) {
    dropped.push(`${entry.code} ${entry.name}: no parameters in the source`);
    continue;
  }
  const proj = tidyProj4(entry);
  if (roundTripError(entry, proj) > 1e-7) {
    dropped.push(`${entry.code} ${entry.name}: not computed by the projection library`);
    continue;
  }
  const [north, west, south, east] = entry.bbox;
  systems[entry.kind === 'CRS-GEOGCRS' ? 'geographic' : 'projected'].push(
    [
      entry.code,
      entry.name.replaceAll('\t', ' '),
      unitLabel(entry, proj),
      proj,
      [west, south, east, north].join(' '),
      shiftAccuracy(entry, proj),
      gridFile(entry),
      areaNumber(entry.area),
    ].join('\t'),
  );
}

const folder = new URL('../core/geo/data/', import.meta.url);
for (const [name, rows] of Object.entries({ ...systems, areas })) {
  writeFileSync(new URL(`epsg-${name}.json`, folder), `${JSON.stringify(rows, null, 2)}\n`);
}
process.stderr.write(
  `${systems.projected.length} projected, ${systems.geographic.length} geographic, ${areas.length} areas; ${dropped.length} dropped\n`,
);
for (const line of dropped) process.stderr.write(`  ${line}\n`);
