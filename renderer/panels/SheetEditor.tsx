import { type KeyboardEvent, type PointerEvent, useRef } from 'react';
import type { PartPlace, SheetLayoutView, SheetPartView } from '../../core/contract/sheet.ts';
import { GRIPS, type Grip, MOVE, pullPart } from './place-part.ts';

export interface SheetEditorProps {
  readonly url: string;
  readonly alt: string;
  readonly layout: SheetLayoutView;
  /** From 1. */
  readonly page: number;
  readonly selected: string | null;
  /** The part being pulled, where it is not yet kept. */
  readonly draft: { readonly id: string; readonly place: PartPlace } | null;
  readonly onSelect: (id: string) => void;
  readonly onDraft: (id: string, place: PartPlace) => void;
  readonly onDrop: () => void;
}

const ARROWS: Readonly<Record<string, readonly [number, number]>> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};

interface Pull {
  readonly part: SheetPartView;
  readonly grip: Grip;
  readonly fromX: number;
  readonly fromY: number;
  readonly mmPerPx: number;
}

/** The page with the outlines of its parts: pulled with the pointer, or moved by the arrow keys. */
export function SheetEditor({
  url,
  alt,
  layout,
  page,
  selected,
  draft,
  onSelect,
  onDraft,
  onDrop,
}: SheetEditorProps) {
  const sheet = useRef<HTMLDivElement>(null);
  const pull = useRef<Pull | null>(null);
  const begin = (event: PointerEvent, part: SheetPartView, grip: Grip) => {
    const box = sheet.current?.getBoundingClientRect();
    if (!box || event.button !== 0) return;
    event.stopPropagation();
    event.currentTarget.setPointerCapture(event.pointerId);
    pull.current = {
      part,
      grip,
      fromX: event.clientX,
      fromY: event.clientY,
      mmPerPx: layout.widthMm / box.width,
    };
    onSelect(part.id);
  };
  const follow = (event: PointerEvent) => {
    const now = pull.current;
    if (!now) return;
    const by = [
      (event.clientX - now.fromX) * now.mmPerPx,
      (event.clientY - now.fromY) * now.mmPerPx,
    ] as const;
    if (draft === null && Math.hypot(...by) < 0.5) return;
    onDraft(now.part.id, pullPart(layout, now.part, now.grip, by, !event.altKey));
  };
  const end = () => {
    if (pull.current) onDrop();
    pull.current = null;
  };
  const nudge = (event: KeyboardEvent, part: SheetPartView) => {
    const arrow = ARROWS[event.key];
    if (!arrow) return;
    event.preventDefault();
    const step = event.shiftKey ? 10 : 1;
    const from = draft?.id === part.id ? { ...part, ...draft.place } : part;
    onSelect(part.id);
    onDraft(part.id, pullPart(layout, from, MOVE, [arrow[0] * step, arrow[1] * step], false));
  };
  const shown = layout.parts.filter((part) => part.page === page && !part.hidden);
  return (
    <div className="sheet-editor">
      <div className="sheet-page" ref={sheet}>
        <img src={url} alt={alt} draggable={false} />
        {shown.map((part) => {
          const place = draft?.id === part.id ? draft.place : part;
          const isSelected = part.id === selected;
          const across = (mm: number) => `${(100 * mm) / layout.widthMm}%`;
          const down = (mm: number) => `${(100 * mm) / layout.heightMm}%`;
          const mm = (value: number) => String(Math.round(value * 10) / 10);
          return (
            <button
              key={part.id}
              type="button"
              className="sheet-part"
              aria-pressed={isSelected}
              aria-label={`${part.name}: ${mm(place.xMm)} mm across, ${mm(place.yMm)} mm down, ${mm(place.widthMm)} by ${mm(place.heightMm)} mm`}
              style={{
                left: across(place.xMm),
                top: down(place.yMm),
                width: across(place.widthMm),
                height: down(place.heightMm),
              }}
              onClick={() => onSelect(part.id)}
              onPointerDown={(event) => begin(event, part, MOVE)}
              onPointerMove={follow}
              onPointerUp={end}
              onPointerCancel={end}
              onKeyDown={(event) => nudge(event, part)}
              onKeyUp={(event) => {
                if (ARROWS[event.key]) onDrop();
              }}
            >
              {isSelected
                ? GRIPS.map(([name, grip]) => (
                    <span
                      key={name}
                      className={`sheet-grip sheet-grip-${name}`}
                      onPointerDown={(event) => begin(event, part, grip)}
                    />
                  ))
                : null}
            </button>
          );
        })}
      </div>
    </div>
  );
}
