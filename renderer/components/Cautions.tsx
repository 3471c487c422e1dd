import { useState } from 'react';
import { useAppState } from '../state/context.ts';

/** Until the engine has told the cautions, the one that nobody may miss. */
const FIRST_CAUTION: readonly string[] = [
  'Have buried services located and marked before any probe is driven.',
];

/** Always on the sheet, whatever step is open. */
export function Cautions() {
  const cautions = useAppState((state) => state.catalogue?.cautions ?? FIRST_CAUTION);
  const [open, setOpen] = useState(false);
  return (
    <section className="cautions" aria-label="Cautions">
      <div className="cautions-head">
        <strong>Cautions</strong>
        {open ? null : <p className="cautions-line">{cautions.join(' ')}</p>}
        <button type="button" className="link" aria-expanded={open} onClick={() => setOpen(!open)}>
          {open ? 'Show cautions in one line' : 'Show all cautions'}
        </button>
      </div>
      {open ? (
        <ul>
          {cautions.map((caution) => (
            <li key={caution}>{caution}</li>
          ))}
        </ul>
      ) : null}
    </section>
  );
}
