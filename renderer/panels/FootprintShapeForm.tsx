import { useState } from 'react';
import type { FootprintShape } from '../../core/contract/siting.ts';
import { fromMetres, toMetres } from '../../core/units.ts';
import { NumberInput } from '../components/NumberInput.tsx';
import { usesFeet } from '../map/project-frame.ts';
import { useApp, useView } from '../state/context.ts';

/** Measures of an ordinary house, to begin with. */
const FIRST = { lengthM: 12, widthM: 9, cutLengthM: 5, cutWidthM: 3 };

const CUT_NAMES = { L: 'Corner left out', U: 'Court' } as const;

/** A rectangle, an L or a U from its measures, put into the widest part of the lot; from there it is dragged. */
export function FootprintShapeForm({ label }: { label: string }) {
  const app = useApp();
  const view = useView();
  const unit = usesFeet(view.frame) ? 'ft' : 'm';
  const [kind, setKind] = useState<FootprintShape['kind']>('rectangle');
  const [size, setSize] = useState(FIRST);
  const measure = (name: string, key: keyof typeof FIRST) => (
    <NumberInput
      label={`${name}, ${unit}`}
      value={fromMetres(size[key], unit)}
      least={0.1}
      most={3000}
      onChange={(value) => setSize((now) => ({ ...now, [key]: toMetres(value, unit) }))}
    />
  );
  const shape: FootprintShape =
    kind === 'rectangle' ? { kind, lengthM: size.lengthM, widthM: size.widthM } : { kind, ...size };

  return (
    <div className="row">
      <label className="field">
        Outline
        <select value={kind} onChange={(event) => setKind(event.target.value as FootprintShape['kind'])}>
          <option value="rectangle">Rectangle</option>
          <option value="L">L</option>
          <option value="U">U</option>
        </select>
      </label>
      {measure('Length', 'lengthM')}
      {measure('Width', 'widthM')}
      {kind === 'rectangle' ? null : (
        <>
          {measure(`${CUT_NAMES[kind]}, length`, 'cutLengthM')}
          {measure(`${CUT_NAMES[kind]}, width`, 'cutWidthM')}
        </>
      )}
      <button
        type="button"
        disabled={view.lot === null}
        title={view.lot === null ? 'Set the lot line first.' : undefined}
        onClick={() => void app.setFootprintShape(label, shape)}
      >
        Put it on the lot
      </button>
    </div>
  );
}
