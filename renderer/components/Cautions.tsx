import { useState } from 'react';

/** Always on the sheet, whatever step is open. */
export const CAUTIONS: readonly string[] = [
  'Have buried services located and marked before any probe is driven.',
  'Follow radiation and site-safety rules.',
  'Soil gas does not by itself tell the radon in a finished house; test the house.',
  'The class follows the named scheme only; local code and a licensed practitioner decide.',
  'Flagged and left-out samples are listed on every figure.',
];

export function Cautions() {
  const [open, setOpen] = useState(false);
  return (
    <section className="cautions" aria-label="Cautions">
      <div className="cautions-head">
        <strong>Cautions</strong>
        {open ? null : <p className="cautions-line">{CAUTIONS.join(' ')}</p>}
        <button type="button" className="link" aria-expanded={open} onClick={() => setOpen(!open)}>
          {open ? 'Show cautions in one line' : 'Show all cautions'}
        </button>
      </div>
      {open ? (
        <ul>
          {CAUTIONS.map((caution) => (
            <li key={caution}>{caution}</li>
          ))}
        </ul>
      ) : null}
    </section>
  );
}
