import { useState } from 'react';
import type { SurfaceSettings, VariogramParameters } from '../../core/contract/model.ts';
import { NumberInput } from '../components/NumberInput.tsx';
import { trimNumber } from '../format.ts';

export interface ModelFormProps {
  readonly settings: SurfaceSettings;
  /** Where a model by hand begins: the one the last surface used, else a guess from the values' spread. */
  readonly start: VariogramParameters;
  /** How that model takes the values: nugget and sill mean nothing without it. */
  readonly startTransform: 'none' | 'log';
  readonly feet: boolean;
  readonly busy: boolean;
  readonly onTry: (settings: SurfaceSettings | null) => void;
  readonly onApply: (settings: SurfaceSettings) => void;
}

const MODEL_NAMES: Record<VariogramParameters['kind'], string> = {
  spherical: 'spherical',
  exponential: 'exponential',
  gaussian: 'Gaussian',
  matern: 'Matérn',
};

export function ModelForm({ settings, start, startTransform, feet, busy, onTry, onApply }: ModelFormProps) {
  const [draft, setDraft] = useState(settings);
  const set = (part: Partial<SurfaceSettings>) => {
    const next = { ...draft, ...part };
    setDraft(next);
    onTry(next);
  };
  const model = draft.model === 'auto' ? null : draft.model;
  const setModel = (part: Partial<VariogramParameters>) => set({ model: { ...(model ?? start), ...part } });
  const changed = JSON.stringify(draft) !== JSON.stringify(settings);
  const largest = Math.max(start.nugget + start.partialSill, 1e-6) * 2;

  return (
    <form
      className="stack"
      onSubmit={(event) => {
        event.preventDefault();
        onApply(draft);
      }}
    >
      <div className="row">
        <fieldset className="segments">
          <legend>Interpolation</legend>
          <label className="segment">
            <input
              type="radio"
              name="method"
              checked={draft.method === 'kriging'}
              onChange={() => set({ method: 'kriging' })}
            />
            <span>Kriging</span>
          </label>
          <label className="segment">
            <input
              type="radio"
              name="method"
              checked={draft.method === 'idw'}
              onChange={() => set({ method: 'idw' })}
            />
            <span>Inverse distance</span>
          </label>
        </fieldset>
        {draft.method === 'kriging' ? (
          <fieldset className="segments">
            <legend>Variogram model</legend>
            <label className="segment">
              <input
                type="radio"
                name="model-by"
                checked={draft.model === 'auto'}
                onChange={() => set({ model: 'auto' })}
              />
              <span>Chosen by fit</span>
            </label>
            <label className="segment">
              <input
                type="radio"
                name="model-by"
                checked={draft.model !== 'auto'}
                onChange={() => set({ model: start, transform: startTransform })}
              />
              <span>By hand</span>
            </label>
          </fieldset>
        ) : null}
      </div>
      {draft.method === 'idw' ? (
        <>
          <p className="hint">
            Inverse distance has no error of its own: no standard error and no probability.
          </p>
          <NumberInput
            label="Power"
            value={draft.idwPower}
            least={0.1}
            onChange={(idwPower) => set({ idwPower })}
          />
        </>
      ) : null}
      {draft.method === 'kriging' && model ? (
        <div className="row">
          <label className="field">
            Model
            <select
              value={model.kind}
              onChange={(event) => {
                const kind = event.target.value as VariogramParameters['kind'];
                setModel(kind === 'matern' ? { kind, smoothness: model.smoothness ?? 1.5 } : { kind });
              }}
            >
              {(Object.keys(MODEL_NAMES) as VariogramParameters['kind'][]).map((kind) => (
                <option key={kind} value={kind}>
                  {MODEL_NAMES[kind]}
                </option>
              ))}
            </select>
          </label>
          <NumberInput
            label="Nugget"
            value={model.nugget}
            least={0}
            onChange={(nugget) => setModel({ nugget })}
          />
          <NumberInput
            label="Partial sill"
            value={model.partialSill}
            least={0}
            onChange={(partialSill) => setModel({ partialSill })}
          />
          <NumberInput
            label="Range, m"
            value={model.rangeM}
            least={0.01}
            onChange={(rangeM) => setModel({ rangeM })}
          />
          {model.kind === 'matern' ? (
            <NumberInput
              label="Smoothness"
              value={model.smoothness ?? 1.5}
              least={0.1}
              onChange={(smoothness) => setModel({ smoothness })}
            />
          ) : null}
          <p className="hint">
            Nugget and sill are{' '}
            {draft.transform === 'log' ? 'of the logarithms, without a unit' : 'in (kBq/m³)²'}.
          </p>
          <div className="sliders">
            {(
              [
                ['nugget', 'Nugget', largest],
                ['partialSill', 'Partial sill', largest],
                ['rangeM', 'Range', Math.max(model.rangeM, start.rangeM) * 2],
              ] as const
            ).map(([key, name, max]) => (
              <label key={key} className="slider">
                {name}
                <input
                  type="range"
                  aria-label={`${name} slider`}
                  min={key === 'rangeM' ? max / 200 : 0}
                  max={max}
                  step={max / 200}
                  value={model[key]}
                  onChange={(event) => setModel({ [key]: Number(event.target.value) })}
                />
              </label>
            ))}
          </div>
        </div>
      ) : null}
      <div className="row">
        {draft.method === 'kriging' ? (
          <label className="field">
            Values are taken as
            <select
              value={draft.transform}
              onChange={(event) => set({ transform: event.target.value as SurfaceSettings['transform'] })}
            >
              {model ? null : <option value="auto">chosen by their spread</option>}
              <option value="none">they are</option>
              <option value="log">logarithms</option>
            </select>
          </label>
        ) : null}
        <label className="field">
          Cell size
          <select
            value={draft.cellM === null ? 'auto' : String(draft.cellM)}
            onChange={(event) =>
              set({ cellM: event.target.value === 'auto' ? null : Number(event.target.value) })
            }
          >
            <option value="auto">from the lot’s size</option>
            {[0.25, 0.5, 1, 2, 5].map((cell) => (
              <option key={cell} value={cell}>
                {feet ? `${cell} m (${trimNumber(cell / 0.3048, 2)} ft)` : `${cell} m`}
              </option>
            ))}
          </select>
        </label>
        <button type="submit" className="primary push" disabled={!changed || busy}>
          Use these settings
        </button>
      </div>
    </form>
  );
}
