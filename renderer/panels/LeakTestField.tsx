export type LeakTestText = '' | 'passed' | 'failed';

export interface LeakTestFieldProps {
  readonly value: LeakTestText;
  readonly onChange: (value: LeakTestText) => void;
}

/** What is not noted is never taken for passed. */
export function LeakTestField({ value, onChange }: LeakTestFieldProps) {
  return (
    <label className="field">
      Leak test
      <select value={value} onChange={(event) => onChange(event.target.value as LeakTestText)}>
        <option value="">not noted</option>
        <option value="passed">passed</option>
        <option value="failed">failed</option>
      </select>
    </label>
  );
}
