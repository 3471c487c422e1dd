/** Parts of a sheet set anew where a person put them. */
import type { PartPlace, SheetChanges, SheetKind } from '../contract/sheet.ts';
import { isContinuationOf, type PlacedPart } from './arrange-sheet.ts';
import { blockMakers } from './block-makers.ts';
import { type Block, placeBlock } from './blocks.ts';
import type { FigureInput } from './figure-model.ts';
import { layoutPage } from './layout.ts';
import { type MapView, toPage } from './map-view.ts';
import { symbolBox } from './probe-labels.ts';
import type { RectMm, SceneNode } from './scene.ts';
import { rectSegments } from './scene.ts';
import { EDGE_MM, partRule } from './sheet-parts.ts';
import { HAIRLINE, PAPER } from './style.ts';

/** So many exceptions are named where the part is moved; fewer only where they would run off the page. */
const NAMED = [12, 8, 5, 3, 1, 0];
const BACKING_MM = 1.2;

/** The rectangle on the paper, as high as what stands in it. */
export function fitOnPaper(place: PartPlace, heightMm: number, sheet: SheetKind): RectMm {
  const paper = layoutPage(sheet.page, sheet.orientation);
  const within = (at: number, size: number, whole: number) =>
    Math.max(EDGE_MM, Math.min(at, whole - EDGE_MM - size));
  const high = Math.max(place.heightMm, heightMm);
  return {
    xMm: within(place.xMm, place.widthMm, paper.widthMm),
    yMm: within(place.yMm, high, paper.heightMm),
    widthMm: place.widthMm,
    heightMm: high,
  };
}

/** A text or plot in the width of its place; null where it would be higher than the paper. */
export function moveBlock(
  input: FigureInput,
  sheet: SheetKind,
  remarks: readonly string[],
  id: string,
  place: PartPlace,
): PlacedPart | null {
  const paper = layoutPage(sheet.page, sheet.orientation);
  const most = paper.heightMm - 2 * EDGE_MM;
  const makeWith = (named: number): Block | null => {
    const makers = blockMakers(input, { template: sheet.template, remarks, named });
    const maker = makers.find((one) => one.id === id);
    const own = maker?.make(place.widthMm) ?? null;
    const moreMm = place.heightMm - (own?.heightMm ?? 0);
    return maker === undefined || Math.abs(moreMm) < 1e-3 ? own : maker.make(place.widthMm, moreMm);
  };
  for (const named of id === 'exceptions' ? NAMED : [0]) {
    const block = makeWith(named);
    if (block === null) return null;
    if (block.heightMm > most) continue;
    const rect = fitOnPaper(place, block.heightMm, sheet);
    return { id, page: place.page, rect, nodes: [placeBlock(block, rect.xMm, rect.yMm)] };
  }
  return null;
}

/** Whether two rectangles share more than a hair. */
export function lieOver(a: RectMm, b: RectMm): boolean {
  const across = Math.min(a.xMm + a.widthMm, b.xMm + b.widthMm) - Math.max(a.xMm, b.xMm);
  const down = Math.min(a.yMm + a.heightMm, b.yMm + b.heightMm) - Math.max(a.yMm, b.yMm);
  return across > 0.5 && down > 0.5;
}

/** Paper under a part that lies over another, so that both can be told apart. */
export function withBacking(part: PlacedPart): PlacedPart {
  const { rect } = part;
  const backing: SceneNode = {
    kind: 'path',
    segments: rectSegments({
      xMm: rect.xMm - BACKING_MM,
      yMm: rect.yMm - BACKING_MM,
      widthMm: rect.widthMm + 2 * BACKING_MM,
      heightMm: rect.heightMm + 2 * BACKING_MM,
    }),
    fill: PAPER,
    stroke: HAIRLINE,
  };
  return { ...part, nodes: [backing, ...part.nodes] };
}

/** Overlaps, parts that could not be put, and parts that are not shown, in words. */
export function sayWhatIsOdd(
  parts: readonly PlacedPart[],
  changes: SheetChanges,
  hidden: readonly string[],
  unfit: readonly string[],
): string[] {
  const named = parts.filter((part) => !parts.some((other) => isContinuationOf(part.id, other.id)));
  const over = named.flatMap((a, i) =>
    named
      .slice(i + 1)
      .filter((b) => changes[a.id]?.place || changes[b.id]?.place)
      .filter((b) => a.page === b.page && lieOver(a.rect, b.rect))
      .map((b) => `${partRule(a.id).name} and ${partRule(b.id).name} lie over each other on page ${a.page}.`),
  );
  return [
    ...over,
    ...unfit.map(
      (id) => `${partRule(id).name} does not fit where it was put: it stands where the template puts it.`,
    ),
    ...(hidden.length === 0 ? [] : [`Not shown: ${hidden.map((id) => partRule(id).name).join(', ')}.`]),
  ];
}

/** Probes on the map that lie under another part, by name. */
export function sayWhatIsCovered(parts: readonly PlacedPart[], input: FigureInput, view: MapView): string[] {
  return parts
    .filter(({ id, page }) => page === 1 && id !== 'map')
    .flatMap(({ id, rect }) => {
      const under = input.probes.filter((probe) => lieOver(rect, symbolBox(toPage(view, probe.positionM))));
      const inMap = under.filter((probe) =>
        lieOver(view.frameRect, symbolBox(toPage(view, probe.positionM))),
      );
      if (inMap.length === 0) return [];
      const labels = inMap.slice(0, 8).map((probe) => probe.label);
      const more = inMap.length > 8 ? ` and ${inMap.length - 8} more` : '';
      return [`${partRule(id).name} covers ${labels.join(', ')}${more} on the map.`];
    });
}
