import { useState } from 'react';
import type { PartPlace, SheetChanges, SheetKind, SheetLayoutView } from '../../core/contract/sheet.ts';
import { useApp } from '../state/context.ts';

export interface PartDraft {
  readonly id: string;
  readonly place: PartPlace;
  /** Kept in the project, and not drawn there yet. */
  readonly isKept?: boolean;
}

/** What the project keeps, as the layout shows it, with the part that is being pulled. */
export function changesWith(layout: SheetLayoutView, draft: PartDraft): SheetChanges {
  const kept = layout.parts
    .filter((part) => part.moved || part.hidden)
    .map(({ id, moved, hidden, page, xMm, yMm, widthMm, heightMm }) => [
      id,
      { place: moved ? { page, xMm, yMm, widthMm, heightMm } : null, hidden },
    ]);
  return { ...Object.fromEntries(kept), [draft.id]: { place: draft.place, hidden: false } };
}

/** Choosing, pulling and keeping the places of a sheet's parts. */
export function useArrangement(sheet: SheetKind) {
  const app = useApp();
  const [selected, setSelected] = useState<string | null>(null);
  const [draft, setDraft] = useState<PartDraft | null>(null);
  const change = (changes: SheetChanges) => app.arrangeSheet(sheet, changes);
  return {
    selected,
    setSelected,
    draft,
    setDraft,
    change,
    reset: (part: string | null) => app.resetSheet(sheet, part),
    /** Keeps what was pulled. The draft stays, and the next pull starts from it, until it is drawn: see `settle`. */
    async drop(layout: SheetLayoutView | null): Promise<void> {
      if (draft === null || draft.isKept === true) return;
      const from = layout?.parts.find((part) => part.id === draft.id);
      const isSame =
        from !== undefined &&
        (['page', 'xMm', 'yMm', 'widthMm', 'heightMm'] as const).every(
          (field) => Math.abs(from[field] - draft.place[field]) < 0.051,
        );
      const isKept = !isSame && (await change({ [draft.id]: { place: draft.place, hidden: false } }));
      setDraft((now) => (now !== draft ? now : isKept ? { ...draft, isKept } : null));
    },
    /** Lets a kept draft go once it is drawn. */
    settle(busy: boolean): void {
      if (!busy && draft?.isKept === true) setDraft(null);
    },
  };
}
