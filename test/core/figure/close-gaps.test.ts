import { describe, expect, test } from 'vitest';
import type { SheetChanges, SheetKind, SheetPartView } from '../../../core/contract/sheet.ts';
import { composeSheet } from '../../../core/figure/compose-figure.ts';
import { lieOver } from '../../../core/figure/move-parts.ts';
import { checkPlace } from '../../../core/figure/sheet-parts.ts';
import { inventedFigure } from './fixture.ts';

const A4: SheetKind = { template: 'map', page: 'A4', orientation: 'landscape' };
const input = inventedFigure();
const layoutWith = (changes: SheetChanges, sheet = A4) => composeSheet(input, { ...sheet, changes }).layout;
const byId = (parts: readonly SheetPartView[]) => new Map(parts.map((part) => [part.id, part]));
const first = byId(layoutWith({}).parts);
const partOf = (parts: ReadonlyMap<string, SheetPartView>, id: string): SheetPartView => {
  const part = parts.get(id);
  if (part === undefined) throw new Error(`no part ${id}`);
  return part;
};
const inColumn = (id: string): SheetPartView[] => {
  const of = partOf(first, id);
  return [...first.values()]
    .filter((p) => p.page === of.page && Math.abs(p.xMm - of.xMm) < 0.1 && p.widthMm === of.widthMm)
    .sort((a, b) => a.yMm - b.yMm);
};
const aside = (id: string): SheetChanges => {
  const { page, widthMm, heightMm } = partOf(first, id);
  return { [id]: { place: { page, xMm: 8, yMm: 60, widthMm, heightMm }, hidden: false } };
};

describe('closing the gaps', () => {
  const column = inColumn('class');
  const [gone, next] = column.slice(0, 2) as [SheetPartView, SheetPartView];

  test('nothing moves of itself; asked for, what stands below goes up, in its order, by what was taken away', () => {
    expect(layoutWith({}).closing).toEqual({});
    const changes = aside(gone.id);
    const opened = layoutWith(changes);
    for (const part of opened.parts)
      if (part.id !== gone.id) expect(part.yMm).toBe(partOf(first, part.id).yMm);
    expect(opened.remarks.join(' ')).toContain(`closing it moves up ${next.name}`);

    const closed = layoutWith({ ...changes, ...opened.closing });
    expect(closed.closing).toEqual({});
    expect(closed.remarks.join(' ')).not.toContain('A gap is left');
    const after = byId(closed.parts);
    // The height of the part that went, and the distance under it.
    const up = next.yMm - gone.yMm;
    for (const part of column.slice(1)) expect(part.yMm - partOf(after, part.id).yMm).toBeCloseTo(up, 6);
    for (const [id, { place }] of Object.entries(opened.closing))
      if (place !== null) checkPlace(id, place, A4);
    expect(partOf(after, gone.id)).toEqual(partOf(byId(opened.parts), gone.id));
  });

  test('what a person placed stays, and nothing is moved under it', () => {
    const { page, xMm, yMm, widthMm, heightMm } = gone;
    // Nudged within its own room: what stands below has nowhere to go.
    const nudged = layoutWith({
      [gone.id]: { place: { page, xMm, yMm: yMm + 1, widthMm, heightMm }, hidden: false },
    });
    expect(nudged.closing).toEqual({});
    // Another part put into the gap.
    const other = partOf(first, 'scale');
    const small = { page: 1, xMm, yMm, widthMm: other.leastWidthMm, heightMm: other.leastHeightMm };
    const changes: SheetChanges = { ...aside(gone.id), scale: { place: small, hidden: false } };
    const { closing } = layoutWith(changes);
    const parts = byId(layoutWith({ ...changes, ...closing }).parts);
    const scale = partOf(parts, 'scale');
    expect(scale.yMm).toBe(yMm);
    for (const part of column.slice(1)) expect(lieOver(scale, partOf(parts, part.id))).toBe(false);
    expect(partOf(parts, next.id).yMm).toBeLessThan(next.yMm);
  });

  test('a hidden text leaves a gap on a later page too, and the table goes up with the notes', () => {
    const sheet: SheetKind = { template: 'quality', page: 'A4', orientation: 'portrait' };
    const parts = byId(layoutWith({}, sheet).parts);
    const table = partOf(parts, 'samples');
    const hidable = [...parts.values()].filter((p) => p.page === table.page && p.canHide);
    expect(hidable.length).toBeGreaterThan(1);
    // All but the shortest hidden: the table can only go up.
    const kept = [...hidable].sort((a, b) => a.heightMm - b.heightMm)[0];
    const changes = Object.fromEntries(
      hidable.filter((p) => p !== kept).map((p) => [p.id, { place: null, hidden: true }]),
    );
    const { closing } = layoutWith(changes, sheet);
    const after = byId(layoutWith({ ...changes, ...closing }, sheet).parts);
    expect(partOf(after, 'samples').yMm).toBeLessThan(table.yMm);
    const note = partOf(after, kept?.id ?? '');
    expect(lieOver(note, partOf(after, 'samples'))).toBe(false);
  });
});
