/** Only what was written: an empty text is no text. */
export function filled<T extends Record<string, string | undefined>>(texts: T): { [K in keyof T]?: string } {
  return Object.fromEntries(
    Object.entries(texts).filter(([, text]) => text !== undefined && text.trim() !== ''),
  ) as { [K in keyof T]?: string };
}

export interface TextFieldProps {
  readonly label: string;
  readonly value: string | undefined;
  readonly onChange: (text: string) => void;
}

export function TextField({ label, value, onChange }: TextFieldProps) {
  return (
    <label className="field grow text-field">
      {label}
      <input
        type="text"
        value={value ?? ''}
        maxLength={200}
        onChange={(event) => onChange(event.target.value)}
      />
    </label>
  );
}
