import type { PartChange, PartPlace, SheetLayoutView, SheetPartView } from '../../core/contract/sheet.ts';
import { NumberInput } from '../components/NumberInput.tsx';

export interface PartFormProps {
  readonly layout: SheetLayoutView;
  readonly pageCount: number;
  readonly selected: string | null;
  readonly onSelect: (id: string | null) => void;
  readonly draft: { readonly id: string; readonly place: PartPlace } | null;
  readonly onDraft: (id: string, place: PartPlace) => void;
  readonly onDrop: () => void;
  readonly onChange: (id: string, change: PartChange) => void;
  readonly onReset: (part: string | null) => void;
  readonly onCloseGaps: () => void;
}

const NUMBERS = [
  ['xMm', 'From the left, mm'],
  ['yMm', 'From the top, mm'],
  ['widthMm', 'Width, mm'],
  ['heightMm', 'Height, mm'],
] as const;

function placeOf({ page, xMm, yMm, widthMm, heightMm }: SheetPartView): PartPlace {
  return { page, xMm, yMm, widthMm, heightMm };
}

/** One part of the sheet by numbers, whether it is shown, and the way back to the template. */
export function PartForm({
  layout,
  pageCount,
  selected,
  draft,
  onSelect,
  onDraft,
  onDrop,
  onChange,
  onReset,
  onCloseGaps,
}: PartFormProps) {
  const standing = layout.parts.find((one) => one.id === selected);
  const part = standing && draft?.id === standing.id ? { ...standing, ...draft.place } : standing;
  const isChanged = layout.parts.some((one) => one.moved || one.hidden);
  const limits = (field: (typeof NUMBERS)[number][0], one: SheetPartView) => {
    const { edgeMm } = layout;
    if (field === 'xMm') return { least: edgeMm, most: layout.widthMm - edgeMm - one.widthMm };
    if (field === 'yMm') return { least: edgeMm, most: layout.heightMm - edgeMm - one.heightMm };
    if (field === 'widthMm') return { least: one.leastWidthMm, most: layout.widthMm - edgeMm - one.xMm };
    return { least: one.leastHeightMm, most: layout.heightMm - edgeMm - one.yMm };
  };
  return (
    <>
      <form
        className="row"
        onBlur={onDrop}
        onSubmit={(event) => {
          event.preventDefault();
          onDrop();
        }}
      >
        <label className="field">
          Part
          <select value={part?.id ?? ''} onChange={(event) => onSelect(event.target.value || null)}>
            <option value="">none chosen</option>
            {layout.parts.map(({ id, name, hidden, moved }) => (
              <option key={id} value={id}>
                {name}
                {hidden ? ' (not shown)' : moved ? ' (moved)' : ''}
              </option>
            ))}
          </select>
        </label>
        {part
          ? NUMBERS.map(([field, label]) => (
              <NumberInput
                key={`${part.id} ${field}`}
                label={label}
                value={Math.round(part[field] * 10) / 10}
                {...limits(field, part)}
                disabled={part.hidden}
                onChange={(value) => onDraft(part.id, { ...placeOf(part), [field]: value })}
              />
            ))
          : null}
        {part && !part.isFirstPageOnly ? (
          <NumberInput
            key={`${part.id} page`}
            label="On page"
            value={part.page}
            least={1}
            most={pageCount}
            whole
            disabled={part.hidden}
            onChange={(page) => onDraft(part.id, { ...placeOf(part), page })}
          />
        ) : null}
      </form>
      <div className="row">
        {part ? (
          <>
            <label className="check-line">
              <input
                type="checkbox"
                checked={!part.hidden}
                disabled={!part.canHide}
                onChange={(event) =>
                  onChange(part.id, {
                    place: part.moved ? placeOf(part) : null,
                    hidden: !event.target.checked,
                  })
                }
              />
              {part.canHide ? 'Shown on the sheet' : 'Always shown on the sheet'}
            </label>
            <button type="button" disabled={!part.moved && !part.hidden} onClick={() => onReset(part.id)}>
              {part.name} as in the template
            </button>
          </>
        ) : null}
        <button type="button" disabled={!isChanged} onClick={() => onReset(null)}>
          All parts as in the template
        </button>
        <button type="button" disabled={Object.keys(layout.closing).length === 0} onClick={onCloseGaps}>
          Close the gaps
        </button>
      </div>
      {layout.remarks.length > 0 ? (
        <ul className="remarks" aria-label="Remarks on the sheet">
          {layout.remarks.map((remark) => (
            <li key={remark}>{remark}</li>
          ))}
        </ul>
      ) : null}
    </>
  );
}
