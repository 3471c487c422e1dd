import { useState } from 'react';
import { trimNumber } from '../format.ts';
import { parseCoordinate } from '../panels/corners.ts';

export interface NumberInputProps {
  readonly label: string;
  readonly value: number;
  readonly least: number;
  readonly most?: number;
  readonly whole?: boolean;
  readonly disabled?: boolean;
  readonly onChange: (value: number) => void;
}

/** A number as text while it is being typed; only numbers in range go up. Accepts a decimal comma. */
export function NumberInput({ label, value, least, most, whole, disabled, onChange }: NumberInputProps) {
  const [text, setText] = useState<string | null>(null);
  const read = (typed: string): number | null => {
    const number = parseCoordinate(typed);
    const isIn = number !== null && number >= least && number <= (most ?? Infinity);
    return isIn && (!whole || Number.isInteger(number)) ? number : null;
  };
  return (
    <label className="field number-field">
      {label}
      <input
        type="text"
        inputMode="decimal"
        disabled={disabled}
        aria-invalid={text !== null && read(text) === null}
        value={text ?? trimNumber(value, 6).replace('\u2212', '-')}
        onChange={(event) => {
          setText(event.target.value);
          const number = read(event.target.value);
          if (number !== null) onChange(number);
        }}
        onBlur={() => setText(null)}
      />
    </label>
  );
}
