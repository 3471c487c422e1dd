import { type ReactNode, useState } from 'react';

export interface FormTexts<T> {
  readonly texts: T;
  readonly set: (part: Partial<T>) => void;
  /** A labelled field of one text. */
  readonly input: (key: keyof T & string, label: ReactNode, className?: string, type?: string) => ReactNode;
}

/** The texts of a form as they are typed, and a field for each that is plain text. */
export function useFormTexts<T extends { readonly [K in keyof T]: unknown }>(start: () => T): FormTexts<T> {
  const [texts, setTexts] = useState(start);
  const set = (part: Partial<T>) => setTexts((now) => ({ ...now, ...part }));
  return {
    texts,
    set,
    input: (key, label, className = 'number-field', type = 'text') => (
      <label className={`field ${className}`}>
        {label}
        <input
          type={type}
          value={String(texts[key])}
          maxLength={2000}
          onChange={(event) => set({ [key]: event.target.value } as Partial<T>)}
        />
      </label>
    ),
  };
}
