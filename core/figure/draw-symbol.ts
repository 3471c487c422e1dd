import { ADDED_MARK, probeSymbol, type SymbolKind } from '../contract/symbols.ts';
import type { PointMm, SceneNode } from './scene.ts';
import { placeSegments } from './scene.ts';
import { PAPER, SYMBOL_HALF_MM } from './style.ts';

const RIM_MM = 0.3;

/** What stands around the symbol of an added probe. */
export function drawAddedMark([xMm, yMm]: PointMm, halfMm = SYMBOL_HALF_MM): SceneNode[] {
  const { path, colour, line } = ADDED_MARK;
  const segments = placeSegments(path, xMm, yMm, halfMm);
  const stroke = { join: 'round', cap: 'round' } as const;
  return [
    { kind: 'path', segments, stroke: { ...stroke, colour: PAPER, widthMm: line * halfMm + RIM_MM } },
    { kind: 'path', segments, stroke: { ...stroke, colour, widthMm: line * halfMm } },
  ];
}

/** A probe's symbol with a thin paper rim, so that it stands off any colour under it. */
export function drawSymbol(kind: SymbolKind, [xMm, yMm]: PointMm, halfMm = SYMBOL_HALF_MM): SceneNode[] {
  const { colour, parts } = probeSymbol(kind);
  const placed = parts.map((part) => ({ part, segments: placeSegments(part.path, xMm, yMm, halfMm) }));
  const rims = placed.map(
    ({ part, segments }): SceneNode => ({
      kind: 'path',
      segments,
      stroke: { colour: PAPER, widthMm: part.line * halfMm + 2 * RIM_MM, join: 'round', cap: 'round' },
    }),
  );
  const inks = placed.map(
    ({ part, segments }): SceneNode => ({
      kind: 'path',
      segments,
      ...(part.fill === 'none' ? {} : { fill: part.fill === 'paper' ? PAPER : colour }),
      ...(part.line === 0
        ? {}
        : { stroke: { colour, widthMm: part.line * halfMm, join: 'round', cap: 'round' } }),
    }),
  );
  return [...rims, ...inks];
}
