/** A difference in words: where the ground changed, by how much, and whether that is more than chance. */

import { cellCentre } from '../contour/grid.ts';
import type { ChangePatch, ProbeChange } from '../contract/comparing.ts';
import type { PositionM } from '../contract/model.ts';
import { formatNumber, unitText } from '../contract/project-words.ts';
import { formatBothUnits, formatRadon } from '../figure/words.ts';
import { boundingBox, polygonsArea } from '../geo/planar.ts';
import { median } from '../median.ts';
import { fromKBqPerM3 } from '../units.ts';
import type { SurfaceDifference } from './compare-surfaces.ts';
import { capital, countOf, nameSome, type Unit } from './words.ts';

const COVERAGE = 2;
/** What a normal error leaves outside twice itself; so much of unchanged ground looks changed. */
export const CHANCE_SHARE = 0.0455;
/** A count of clear probes less likely than this by chance alone is taken as a change: common practice. */
const SIGNIFICANT = 0.05;
const MOST_PATCHES = 4;
/** A piece over so much of the ground is not said to lie anywhere. */
const MOST_OF_IT = 0.6;
/** P2 before P10. */
const byNumber = new Intl.Collator('en', { numeric: true }).compare;

interface NamedPlace {
  readonly label: string;
  readonly positionM: PositionM;
}

function compass([x, y]: PositionM, difference: SurfaceDifference): string {
  const { minX, maxX, minY, maxY } = boundingBox(difference.ground.flat(2));
  const third = (v: number, low: number, high: number) =>
    Math.min(2, Math.max(0, Math.floor((3 * (v - low)) / (high - low || 1))));
  const northSouth = ['south', '', 'north'][third(y, minY, maxY)] as string;
  const eastWest = ['west', '', 'east'][third(x, minX, maxX)] as string;
  if (northSouth === '' && eastWest === '') return 'in the middle';
  return `in the ${[northSouth, eastWest].filter((part) => part !== '').join('-')}`;
}

/** Pieces of ground on which the difference exceeds twice its error, largest first; cells hang together by their sides. */
export function findPatches(difference: SurfaceDifference, probes: readonly NamedPlace[]): ChangePatch[] {
  const { differenceKBqPerM3: d, standardErrorKBqPerM3: u } = difference;
  const signs = Int8Array.from(d, (value, i) =>
    Math.abs(value) > COVERAGE * (u[i] ?? Number.NaN) ? Math.sign(value) : 0,
  );
  const labels = labelsByCell(difference.grid, probes);
  const groundM2 = polygonsArea(difference.ground);
  const seen = new Uint8Array(d.length);
  const patches: ChangePatch[] = [];
  signs.forEach((sign, start) => {
    if (sign === 0 || seen[start] === 1) return;
    const cells = spreadFrom(start, signs, difference.grid.columns, seen);
    patches.push(patchOf(cells, difference, groundM2, labels));
  });
  return patches.sort((a, b) => b.areaM2 - a.areaM2);
}

/** Labels of the probes in each cell that holds any. */
function labelsByCell(
  grid: SurfaceDifference['grid'],
  probes: readonly NamedPlace[],
): ReadonlyMap<number, readonly string[]> {
  const labels = new Map<number, string[]>();
  for (const { label, positionM } of probes) {
    const column = Math.round((positionM[0] - grid.x0M) / grid.cellM);
    const row = Math.round((positionM[1] - grid.y0M) / grid.cellM);
    if (column < 0 || row < 0 || column >= grid.columns || row >= grid.rows) continue;
    const at = row * grid.columns + column;
    labels.set(at, [...(labels.get(at) ?? []), label]);
  }
  return labels;
}

/** Cells of the start's sign that hang together with it by their sides; marks them as seen. */
function spreadFrom(start: number, signs: Int8Array, columns: number, seen: Uint8Array): number[] {
  const cells = [start];
  seen[start] = 1;
  for (const at of cells) {
    const column = at % columns;
    const beside = [
      ...(column > 0 ? [at - 1] : []),
      ...(column + 1 < columns ? [at + 1] : []),
      at - columns,
      at + columns,
    ];
    for (const next of beside) {
      if (signs[next] !== signs[start] || seen[next] === 1) continue;
      seen[next] = 1;
      cells.push(next);
    }
  }
  return cells;
}

function patchOf(
  cells: readonly number[],
  difference: SurfaceDifference,
  groundM2: number,
  labels: ReadonlyMap<number, readonly string[]>,
): ChangePatch {
  const { grid, differenceKBqPerM3: d, standardErrorKBqPerM3: u } = difference;
  const greatest = cells.reduce((best, at) => (Math.abs(d[at] ?? 0) > Math.abs(d[best] ?? 0) ? at : best));
  const centre = (at: number) => cellCentre(grid, at % grid.columns, Math.floor(at / grid.columns));
  const mean = (of: (at: number) => number) => cells.reduce((sum, at) => sum + of(at), 0) / cells.length;
  const areaM2 = cells.length * grid.cellM ** 2;
  return {
    direction: (d[greatest] ?? 0) > 0 ? 'rise' : 'fall',
    areaM2,
    meanKBqPerM3: mean((at) => d[at] ?? 0),
    greatestKBqPerM3: d[greatest] ?? 0,
    greatestUKBqPerM3: u[greatest] ?? 0,
    where:
      areaM2 > MOST_OF_IT * groundM2
        ? 'nearly everywhere'
        : compass([mean((at) => centre(at)[0]), mean((at) => centre(at)[1])], difference),
    probes: cells.flatMap((at) => labels.get(at) ?? []).sort(byNumber),
  };
}

/** Chance of `least` or more of `n` independent probes beyond twice their error where nothing changed (binomial). */
export function chanceOfSoMany(least: number, n: number): number {
  let term = (1 - CHANCE_SHARE) ** n;
  let below = 0;
  for (let k = 0; k < least; k++) {
    below += term;
    term *= ((n - k) / (k + 1)) * (CHANCE_SHARE / (1 - CHANCE_SHARE));
  }
  return Math.max(0, 1 - below);
}

/** 'No clear change' is said only where neither the ground nor the probes show more than chance would. */
export function changeStatement(
  { clearShare }: SurfaceDifference,
  patches: readonly ChangePatch[],
  probes: readonly ProbeChange[],
): string {
  const changes = probes.flatMap(({ change }) => change ?? []);
  const clear = changes.filter((c) => c.isClear);
  const isByProbes = clear.length > 0 && chanceOfSoMany(clear.length, changes.length) < SIGNIFICANT;
  const atProbes = (['rise', 'fall'] as const)
    .map((direction) => {
      const count = clear.filter((c) => c.kBqPerM3 > 0 === (direction === 'rise')).length;
      return count === 0 ? '' : `clear ${direction} at ${countOf(count, 'probe')}`;
    })
    .filter((part) => part !== '');
  if (clearShare === null) return isByProbes ? sentence(atProbes) : 'Change without a known error';
  if (clearShare <= CHANCE_SHARE && !isByProbes)
    return patches.length === 0
      ? 'No clear change'
      : 'No clear change: what stands out is no more than chance gives';
  const share = (direction: ChangePatch['direction']) => {
    const own = patches.filter((p) => p.direction === direction).reduce((sum, p) => sum + p.areaM2, 0);
    const all = patches.reduce((sum, p) => sum + p.areaM2, 0);
    return all === 0 ? 0 : (clearShare * own) / all;
  };
  const parts = (['rise', 'fall'] as const)
    .map((direction) => [direction, Math.round(100 * share(direction))] as const)
    .filter(([, percent]) => percent >= 1)
    .map(([direction, percent]) => `clear ${direction} on ${percent} % of the ground`);
  return sentence(parts.length === 0 ? atProbes : parts);
}

function sentence(parts: readonly string[]): string {
  return capital(parts.join(', '));
}

function signed(valueKBqPerM3: number, unit: Unit): string {
  return `${valueKBqPerM3 > 0 ? '+' : ''}${formatRadon(valueKBqPerM3, unit)}`;
}

function areaText(areaM2: number, isFeet: boolean): string {
  return isFeet ? `${formatNumber(areaM2 / 0.3048 ** 2, 2)} sq ft` : `${formatNumber(areaM2, 2)} m²`;
}

/** Where and how much, one sentence each. */
export function changeLines(
  difference: SurfaceDifference,
  patches: readonly ChangePatch[],
  probes: readonly ProbeChange[],
  options: { readonly unit: Unit; readonly isFeet: boolean; readonly laterLotM2: number },
): string[] {
  const { unit, isFeet } = options;
  const shared = polygonsArea(difference.ground);
  const out: string[] = [];
  if (shared < 0.98 * options.laterLotM2)
    out.push(
      `Only ${areaText(shared, isFeet)} of the lot's ${areaText(options.laterLotM2, isFeet)} were surveyed both times; nothing is said of the rest.`,
    );
  out.push(`Mean over the shared ground: ${signed(difference.meanKBqPerM3, unit)} ${unitText(unit)}.`);
  for (const patch of patches.slice(0, MOST_PATCHES)) {
    const at = patch.probes.length === 0 ? '' : `, at ${nameSome(patch.probes)}`;
    out.push(
      `${patch.direction === 'rise' ? 'Rise' : 'Fall'} ${patch.where}${at}: ${areaText(patch.areaM2, isFeet)}, by ${formatBothUnits(Math.abs(patch.meanKBqPerM3), unit)} on average, at most ${signed(patch.greatestKBqPerM3, unit)} ± ${formatNumber(fromKBqPerM3(COVERAGE * patch.greatestUKBqPerM3, unit), 2)} ${unitText(unit)} (k = 2).`,
    );
  }
  if (patches.length > MOST_PATCHES)
    out.push(`${countOf(patches.length - MOST_PATCHES, 'smaller place')} beyond twice the error.`);
  out.push(...probeLines(probes, unit));
  const seen = median(difference.standardErrorKBqPerM3.filter(Number.isFinite));
  if (Number.isFinite(seen))
    out.push(
      `A change of less than about ${formatBothUnits(COVERAGE * seen, unit)} could not have been told from none (twice the median error).`,
    );
  return out;
}

function probeLines(probes: readonly ProbeChange[], unit: Unit): string[] {
  const changes = probes.flatMap(({ label, change }) => (change === null ? [] : [{ label, ...change }]));
  const n = changes.length;
  if (n === 0) return ['No probe was met at the same place with a value both times.'];
  const clear = changes.filter((c) => c.isClear);
  const names = (sign: number) =>
    nameSome(clear.filter((c) => Math.sign(c.kBqPerM3) === sign).map((c) => c.label));
  const expected = `by chance alone about ${formatNumber(n * CHANCE_SHARE, 1)} would be`;
  const lines = [
    `${countOf(n, 'probe')} met at the same place with a value both times; ${clear.length} beyond twice the error (up: ${names(1)}; down: ${names(-1)}), and ${expected}.`,
  ];
  if (n < 3) return lines;
  const mean = changes.reduce((sum, c) => sum + c.kBqPerM3, 0) / n;
  const spread = Math.sqrt(changes.reduce((sum, c) => sum + (c.kBqPerM3 - mean) ** 2, 0) / (n - 1) / n);
  lines.push(
    `Their mean change is ${signed(mean, unit)} ± ${spread < 1e-6 * Math.abs(mean) ? '0' : formatNumber(fromKBqPerM3(COVERAGE * spread, unit), 2)} ${unitText(unit)} (twice its standard error, from their spread).`,
  );
  return lines;
}
