import { useState } from 'react';
import type { KeepOut } from '../../core/contract/model.ts';
import { fromMetres, toMetres } from '../../core/units.ts';
import { formatArea, formatLength, trimNumber } from '../format.ts';
import { distanceM, ringAreaM2 } from '../map/geometry.ts';
import { isNowhere, usesFeet } from '../map/project-frame.ts';
import { useApp, useView } from '../state/context.ts';
import { parseCoordinate } from './corners.ts';
import { GeometryImport } from './GeometryImport.tsx';
import { OutlineEntry } from './OutlineEntry.tsx';

const SHAPE_NAMES: Record<KeepOut['shape'], string> = { line: 'Line', polygon: 'Area' };
/** Common practice beside a located service; the owner of a service may ask for more. */
const FIRST_BUFFER_M = 1;

function sizeText({ shape, points }: KeepOut, feet: boolean): string {
  if (shape === 'polygon') return formatArea(ringAreaM2(points), feet);
  const lengthM = points.reduce((sum, point, i) => sum + distanceM(point, points[i + 1] ?? point), 0);
  return formatLength(lengthM, feet, 1);
}

/** With what walks do about it where that is not what its shape says. */
function kindText({ shape, blocksWalk }: KeepOut): string {
  const name = SHAPE_NAMES[shape].toLowerCase();
  const usual = shape === 'polygon';
  if (blocksWalk === undefined || blocksWalk === usual) return name;
  return `${name}, walked ${blocksWalk ? 'round' : 'over'}`;
}

/** Ground in which no probe is driven, with its strip: services, trees, slabs, ditches. */
export function KeepOutList() {
  const app = useApp();
  const { keepOuts, frame } = useView();
  const feet = usesFeet(frame);
  const [editedId, setEditedId] = useState<string | 'new' | null>(null);
  const edited = keepOuts.find((keepOut) => keepOut.id === editedId) ?? null;

  return (
    <section className="block" aria-labelledby="plan-keep-outs">
      <h3 id="plan-keep-outs">Keep-outs</h3>
      <p className="notice notice-warning">
        A line on this map finds no cable: have buried services located and marked on the ground before any
        probe is driven.
      </p>
      {keepOuts.length > 0 ? (
        <table className="data" aria-label="Keep-outs">
          <thead>
            <tr>
              <th scope="col">Keep-out</th>
              <th scope="col" className="number">
                Size
              </th>
              <th scope="col" className="number">
                Strip to each side
              </th>
              <th scope="col">
                <span className="visually-hidden">Change or remove</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {keepOuts.map((keepOut) => (
              <tr key={keepOut.id}>
                <th scope="row">
                  {keepOut.label} <span className="faint">{kindText(keepOut)}</span>
                </th>
                <td className="number">{sizeText(keepOut, feet)}</td>
                <td className="number">{formatLength(keepOut.bufferM, feet)}</td>
                <td className="row-tools">
                  <button
                    type="button"
                    className="quiet small"
                    aria-label={`Change keep-out ${keepOut.label}`}
                    onClick={() => setEditedId(keepOut.id)}
                  >
                    Change
                  </button>
                  <button
                    type="button"
                    className="quiet small"
                    aria-label={`Remove keep-out ${keepOut.label}`}
                    onClick={() => {
                      setEditedId(null);
                      void app.removeKeepOut(keepOut.id);
                    }}
                  >
                    Remove
                  </button>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      ) : editedId === null ? (
        <p>None entered. Enter services, trees, slabs and ditches before probes are placed.</p>
      ) : null}
      {editedId === null ? (
        <div className="row">
          <button type="button" onClick={() => setEditedId('new')}>
            Add keep-out
          </button>
          <GeometryImport what="keep-out" noun="keep-outs" />
        </div>
      ) : (
        <KeepOutForm key={JSON.stringify(edited)} keepOut={edited} onDone={() => setEditedId(null)} />
      )}
    </section>
  );
}

function KeepOutForm({ keepOut, onDone }: { keepOut: KeepOut | null; onDone: () => void }) {
  const app = useApp();
  const view = useView();
  const feet = usesFeet(view.frame);
  const unit = feet ? 'ft' : 'm';
  const [label, setLabel] = useState(keepOut?.label ?? '');
  const [shape, setShape] = useState<KeepOut['shape']>(keepOut?.shape ?? 'line');
  const [bufferText, setBufferText] = useState(() =>
    trimNumber(fromMetres(keepOut?.bufferM ?? FIRST_BUFFER_M, unit), 4),
  );
  const [blocks, setBlocks] = useState(keepOut?.blocksWalk);
  const buffer = parseCoordinate(bufferText);
  const badBuffer = buffer === null || buffer < 0 || toMetres(buffer, unit) > 1000;
  const missing =
    label.trim() === ''
      ? 'Say what it is.'
      : badBuffer
        ? `The strip is a length in ${unit}, 0 or more.`
        : shape === 'line' && buffer === 0
          ? 'A line without a strip keeps nothing free.'
          : null;
  const draft = {
    id: keepOut?.id ?? null,
    label: label.trim(),
    bufferM: toMetres(buffer ?? 0, unit),
    ...(blocks === undefined ? {} : { blocksWalk: blocks }),
  };

  return (
    <div className="stack inset-form">
      <div className="row">
        <label className="field grow">
          Keep-out
          <input
            type="text"
            value={label}
            placeholder="Gas service, tree, slab"
            maxLength={200}
            onChange={(event) => setLabel(event.target.value)}
          />
        </label>
        <label className="field number-field">
          Strip, {unit}
          <input
            type="text"
            inputMode="decimal"
            value={bufferText}
            aria-invalid={badBuffer}
            onChange={(event) => setBufferText(event.target.value)}
          />
        </label>
      </div>
      <div className="row">
        <fieldset className="segments">
          <legend>Shape of the keep-out</legend>
          {(Object.keys(SHAPE_NAMES) as KeepOut['shape'][]).map((one) => (
            <label key={one} className="segment">
              <input
                type="radio"
                name="keep-out-shape"
                checked={shape === one}
                onChange={() => setShape(one)}
              />
              <span>{SHAPE_NAMES[one]}</span>
            </label>
          ))}
        </fieldset>
        <button
          type="button"
          disabled={missing !== null || isNowhere(view)}
          onClick={() => {
            app.store.update((state) => ({
              ...state,
              drawing: { target: 'keep-out', shape, points: [], keepOut: draft },
            }));
            onDone();
          }}
        >
          Draw keep-out on map
        </button>
        <button type="button" className="quiet push" onClick={onDone}>
          Cancel
        </button>
      </div>
      <label className="check-line">
        <input
          type="checkbox"
          checked={blocks ?? shape === 'polygon'}
          onChange={(event) => setBlocks(event.target.checked)}
        />
        Walks go round it, as round a building or a fence
      </label>
      <p className="hint" aria-live="polite">
        {missing ??
          'The strip reaches this far to every side. The map draws it near enough for the eye; placing probes takes the exact one.'}
      </p>
      <OutlineEntry
        name="keep-out"
        shape={shape}
        initialM={keepOut?.points ?? []}
        submitText={keepOut ? 'Set keep-out' : 'Add this keep-out'}
        canSubmit={missing === null}
        onSubmit={(points) => {
          void app.setKeepOut({ ...draft, shape, points }).then((done) => {
            if (done) onDone();
          });
        }}
      />
    </div>
  );
}
