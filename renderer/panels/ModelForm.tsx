import type { SurfaceSettings, VariogramParameters } from '../../core/contract/settings.ts';
import { fromMetres, toMetres } from '../../core/units.ts';
import { NumberInput } from '../components/NumberInput.tsx';
import { trimNumber } from '../format.ts';

export interface ModelFormProps {
  readonly settings: SurfaceSettings;
  /** The settings as changed so far, not yet used. */
  readonly draft: SurfaceSettings;
  /** Where a model by hand begins: the one the last surface used, else a guess from the values' spread. */
  readonly start: VariogramParameters;
  /** How that model takes the values: nugget and sill mean nothing without it. */
  readonly startTransform: 'none' | 'log';
  readonly feet: boolean;
  readonly busy: boolean;
  readonly onDraft: (settings: SurfaceSettings) => void;
  readonly onApply: () => void;
}

const MODEL_NAMES: Record<VariogramParameters['kind'], string> = {
  spherical: 'spherical',
  exponential: 'exponential',
  gaussian: 'Gaussian',
  matern: 'Matérn',
};

export function ModelForm(props: ModelFormProps) {
  const { settings, draft, start, startTransform, feet, busy, onDraft, onApply } = props;
  const set = (part: Partial<SurfaceSettings>) => onDraft({ ...draft, ...part });
  const model = draft.model === 'auto' ? null : draft.model;
  const setModel = (part: Partial<VariogramParameters>) => set({ model: { ...(model ?? start), ...part } });
  const changed = JSON.stringify(draft) !== JSON.stringify(settings);

  return (
    <form
      className="stack"
      onSubmit={(event) => {
        event.preventDefault();
        onApply();
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
            label={feet ? 'Range, ft' : 'Range, m'}
            value={fromMetres(model.rangeM, feet ? 'ft' : 'm')}
            least={0.01}
            onChange={(range) => setModel({ rangeM: toMetres(range, feet ? 'ft' : 'm') })}
          />
          {model.kind === 'matern' ? (
            <NumberInput
              label="Smoothness"
              value={model.smoothness ?? 1.5}
              least={0.1}
              onChange={(smoothness) => setModel({ smoothness })}
            />
          ) : null}
          <Direction
            model={model}
            onChange={setModel}
            onRound={() => set({ model: withoutDirection(model) })}
          />
          <p className="hint">
            Nugget and sill are{' '}
            {draft.transform === 'log' ? 'of the logarithms, without a unit' : 'in (kBq/m³)²'}. They and the
            range can also be dragged on the curve below.
          </p>
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
        {draft.method === 'kriging' ? (
          <label className="field">
            Level over the lot
            <select
              value={draft.drift}
              onChange={(event) => set({ drift: event.target.value as SurfaceSettings['drift'] })}
            >
              <option value="constant">even, unknown</option>
              <option value="linear">a plane, unknown</option>
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
        <ShallowChoice draft={draft} feet={feet} onChange={set} />
        <button type="submit" className="primary push" disabled={!changed || busy}>
          Use these settings
        </button>
      </div>
    </form>
  );
}

function withoutDirection({ anisotropy: _, ...model }: VariogramParameters): VariogramParameters {
  return model;
}

interface DirectionProps {
  readonly model: VariogramParameters;
  readonly onChange: (part: Partial<VariogramParameters>) => void;
  readonly onRound: () => void;
}

/** Ground that is alike farther in one direction than across it: a filled channel, a dipping layer. */
function Direction({ model, onChange, onRound }: DirectionProps) {
  const { anisotropy } = model;
  return (
    <>
      <label className="check-line">
        <input
          type="checkbox"
          checked={anisotropy !== undefined}
          onChange={(event) =>
            event.target.checked ? onChange({ anisotropy: { azimuthDeg: 0, ratio: 0.5 } }) : onRound()
          }
        />
        Alike farther in one direction
      </label>
      {anisotropy ? (
        <>
          <NumberInput
            label="Long axis, ° from north"
            value={anisotropy.azimuthDeg}
            least={0}
            most={180}
            onChange={(azimuthDeg) => onChange({ anisotropy: { ...anisotropy, azimuthDeg } })}
          />
          <NumberInput
            label="Short range / long"
            value={anisotropy.ratio}
            least={0.01}
            most={1}
            onChange={(ratio) => onChange({ anisotropy: { ...anisotropy, ratio } })}
          />
        </>
      ) : null}
    </>
  );
}

interface ShallowChoiceProps {
  readonly draft: SurfaceSettings;
  readonly feet: boolean;
  readonly onChange: (part: Partial<SurfaceSettings>) => void;
}

function ShallowChoice({ draft, feet, onChange }: ShallowChoiceProps) {
  const unit = feet ? 'ft' : 'm';
  return (
    <>
      <label className="field">
        Shallow samples are taken as
        <select
          value={draft.shallow}
          onChange={(event) => onChange({ shallow: event.target.value as SurfaceSettings['shallow'] })}
        >
          <option value="lower-bound">lower bounds: they read low</option>
          <option value="depth-corrected">brought to the reference depth</option>
          <option value="as-measured">measured</option>
        </select>
      </label>
      {draft.shallow === 'depth-corrected' ? (
        <>
          <label className="field">
            Diffusion length
            <select
              value={draft.diffusionLengthM === null ? 'soil' : 'entered'}
              onChange={(event) => onChange({ diffusionLengthM: event.target.value === 'soil' ? null : 1 })}
            >
              <option value="soil">by the soil described</option>
              <option value="entered">as entered</option>
            </select>
          </label>
          {draft.diffusionLengthM === null ? null : (
            <NumberInput
              label={feet ? 'Length, ft' : 'Length, m'}
              value={fromMetres(draft.diffusionLengthM, unit)}
              least={fromMetres(0.05, unit)}
              most={fromMetres(10, unit)}
              onChange={(length) => onChange({ diffusionLengthM: toMetres(length, unit) })}
            />
          )}
          <p className="hint">
            For the map only: no class takes a corrected value. Not where rock stopped the rod; rule such a
            sample as a lower bound. Lengths by soil are from memory, ± 40 %.
          </p>
        </>
      ) : null}
    </>
  );
}
