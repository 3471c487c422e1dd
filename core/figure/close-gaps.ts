/** Closing up what stands below a part that was moved or hidden, where a person asks for it. */
import type { SheetChanges } from '../contract/sheet.ts';
import { isContinuationOf, type PlacedPart } from './arrange-sheet.ts';
import { BLOCK_GAP_MM } from './blocks.ts';
import { lieOver } from './move-parts.ts';
import type { RectMm } from './scene.ts';
import { partRule } from './sheet-parts.ts';

const TABLE = 'samples';
/** Less is not seen. */
const LEAST_MOVE_MM = 0.5;

export interface GapInput {
  /** Texts, plots and table where the template puts them. */
  readonly template: readonly PlacedPart[];
  /** All that is shown, where it stands. */
  readonly shown: readonly PlacedPart[];
}

/**
 * New places for the parts that would close up. What a person placed stays where it is, and nothing is pulled under it;
 * a part goes up in its own column only, never to another column or page.
 * @returns no entries where nothing would move
 */
export function closeGaps({ template, shown }: GapInput): SheetChanges {
  const isWhole = (part: PlacedPart) => !template.some((other) => isContinuationOf(part.id, other.id));
  const stays = (part: PlacedPart) => {
    const now = shown.find((other) => other.id === part.id);
    return now !== undefined && now.page === part.page && sameRect(now.rect, part.rect);
  };
  const placed = shown.filter((part) => !template.some((own) => own.id === part.id && stays(own)));
  const columns = new Map<string, PlacedPart[]>();
  for (const part of template) {
    if (part.id.startsWith(TABLE)) continue;
    const key = `${part.page} ${part.rect.xMm.toFixed(1)}`;
    columns.set(key, [...(columns.get(key) ?? []), part]);
  }
  const changes: Record<string, SheetChanges[string]> = {};
  const lowest = new Map<number, { before: number; after: number }>();
  const move = (part: PlacedPart, rect: RectMm): void => {
    changes[part.id] = { place: { page: part.page, ...rect }, hidden: false };
  };
  for (const column of columns.values()) {
    const ordered = [...column].sort((a, b) => a.rect.yMm - b.rect.yMm);
    let y = ordered[0]?.rect.yMm ?? 0;
    for (const part of ordered) {
      const bottoms = lowest.get(part.page) ?? { before: 0, after: 0 };
      bottoms.before = Math.max(bottoms.before, part.rect.yMm + part.rect.heightMm);
      lowest.set(part.page, bottoms);
      if (!stays(part)) continue;
      const at = isWhole(part) ? below(placed, part, y) : part.rect.yMm;
      const rect = { ...part.rect, yMm: Math.min(at, part.rect.yMm) };
      if (part.rect.yMm - rect.yMm > LEAST_MOVE_MM) move(part, rect);
      y = rect.yMm + rect.heightMm + BLOCK_GAP_MM;
      bottoms.after = Math.max(bottoms.after, rect.yMm + rect.heightMm);
    }
  }
  const table = template.find((part) => part.id === TABLE);
  const bottoms = table === undefined ? undefined : lowest.get(table.page);
  if (table !== undefined && bottoms !== undefined && stays(table) && isWhole(table)) {
    const up = bottoms.before - bottoms.after;
    const rect = { ...table.rect, yMm: table.rect.yMm - up };
    const isFree = !placed.some((other) => other.page === table.page && lieOver(other.rect, rect));
    if (up > LEAST_MOVE_MM && bottoms.after > 0 && isFree) move(table, rect);
  }
  return changes;
}

/** The first free height from `fromMm` down for a part in its column, under what a person placed there. */
function below(placed: readonly PlacedPart[], part: PlacedPart, fromMm: number): number {
  let y = fromMm;
  for (let isMoved = true; isMoved; ) {
    const rect = { ...part.rect, yMm: y };
    const over = placed.find((other) => other.page === part.page && lieOver(other.rect, rect));
    isMoved = over !== undefined;
    if (over !== undefined) y = over.rect.yMm + over.rect.heightMm + BLOCK_GAP_MM;
  }
  return y;
}

function sameRect(a: RectMm, b: RectMm): boolean {
  return (['xMm', 'yMm', 'widthMm', 'heightMm'] as const).every((side) => Math.abs(a[side] - b[side]) < 1e-6);
}

/** What closing the gaps would move, in words; nothing where there is no gap. */
export function sayGaps(closing: SheetChanges): string[] {
  const names = Object.keys(closing).map((id) => partRule(id).name);
  if (names.length === 0) return [];
  return [`A gap is left: closing it moves up ${names.join(', ')}. What you placed yourself stays.`];
}
