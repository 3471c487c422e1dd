import { useId, useState } from 'react';
import type { SheetField } from '../../core/contract/sheet.ts';
import { useApp, useView } from '../state/context.ts';

interface FieldShape {
  readonly field: SheetField;
  readonly label: string;
  readonly most: number;
  readonly rows?: number;
}

const LINES: readonly (readonly FieldShape[])[] = [
  [
    { field: 'preparedBy', label: 'Prepared by', most: 200 },
    { field: 'licenceNumber', label: 'Licence number', most: 200 },
    { field: 'organisation', label: 'Organisation', most: 200 },
  ],
  [
    { field: 'reviewedBy', label: 'Reviewed by', most: 200 },
    { field: 'client', label: 'Client', most: 200 },
    { field: 'address', label: 'Address of the lot', most: 500 },
  ],
  [
    { field: 'jobNumber', label: 'Job number', most: 60 },
    { field: 'sheetNumber', label: 'Sheet number', most: 60 },
  ],
  [
    { field: 'revision', label: 'Revision of the sheet', most: 60 },
    { field: 'date', label: 'Date of the sheet', most: 60 },
  ],
];
const LONG: readonly FieldShape[] = [
  { field: 'purpose', label: 'Purpose', most: 5000, rows: 2 },
  { field: 'notes', label: 'Notes on the sheet', most: 2000, rows: 2 },
];

/** Who made and checked what is filed, for whom and for which lot: kept in the project, used by figure and report. */
export function PeopleForm() {
  return (
    <section className="block" aria-labelledby="deliver-people">
      <h3 id="deliver-people">People and texts</h3>
      <p className="hint">
        Printed on figure and report where filled in. Kept in the project; each change can be undone.
      </p>
      {LINES.map((fields) => (
        <div key={fields[0]?.field} className="row">
          {fields.map((shape) => (
            <KeptText key={shape.field} {...shape} />
          ))}
        </div>
      ))}
      {LONG.map((shape) => (
        <KeptText key={shape.field} {...shape} />
      ))}
    </section>
  );
}

/** A text while it is being typed; written to the project when the person goes on. */
function KeptText({ field, label, most, rows }: FieldShape) {
  const app = useApp();
  const kept = useView().sheetTexts[field] ?? '';
  const [typed, setTyped] = useState<string | null>(null);
  const keep = async () => {
    if (typed !== null && typed.trim() !== kept) await app.describeSheet({ [field]: typed });
    setTyped(null);
  };
  const id = useId();
  const shared = {
    id,
    value: typed ?? kept,
    maxLength: most,
    onBlur: () => void keep(),
  };
  return (
    <div className="field grow text-field">
      <label htmlFor={id}>{label}</label>
      {rows === undefined ? (
        <input
          type="text"
          {...shared}
          onChange={(event) => setTyped(event.target.value)}
          onKeyDown={(event) => {
            if (event.key === 'Enter') void keep();
          }}
        />
      ) : (
        <textarea rows={rows} {...shared} onChange={(event) => setTyped(event.target.value)} />
      )}
    </div>
  );
}
