import { useMemo, useState } from 'react';
import type { PositionM } from '../../core/contract/model.ts';
import type { TraverseOptions } from '../../core/contract/outlines.ts';
import { WarningList } from '../components/Notice.tsx';
import { NumberInput } from '../components/NumberInput.tsx';
import { prettyUnits, trimNumber } from '../format.ts';
import { DISPLAY_LIMIT_M } from '../map/display-frame.ts';
import { coordinateUnit, toNative } from '../map/project-frame.ts';
import { useView } from '../state/context.ts';
import { useSketch } from '../state/use-sketch.ts';
import { parseCoordinate } from './corners.ts';
import type { OutlineFormProps } from './OutlineEntry.tsx';
import { TraverseResultView } from './TraverseResultView.tsx';
import { useLiveAnswer } from './use-live-answer.ts';

const PLACEHOLDER = `N 12-30-00 E   45.60
S 77-30-00 E   30.00
S 12-30-00 W   45.60
N 77-30-00 W   30.00`;
const UNIT_NAMES = { m: 'metres', ft: 'feet', 'ft-us': 'US survey feet' } as const;
const RULE_NAMES = {
  compass: 'by the compass rule',
  transit: 'by the transit rule',
  none: 'not at all: left in the last side',
} as const;

type North = 'grid' | 'true' | 'other';
type Choices = Omit<TraverseOptions, 'start' | 'turnDeg'>;

/** An outline by directions and lengths, as a deed gives it; shown on the map and closed while it is typed. */
export function TraverseForm({
  name,
  submitText,
  canSubmit,
  onSubmit,
  startM,
}: OutlineFormProps & { readonly startM: PositionM | null }) {
  const { frame, lot, probes } = useView();
  const [text, setText] = useState('');
  const start = startM ?? (frame.crs.kind === 'local' ? ([0, 0] as const) : null);
  const [east = '', north = ''] = start
    ? toNative(frame, start).map((value) => trimNumber(value, 12).replace('−', '-'))
    : [];
  const [eastText, setEast] = useState(east);
  const [northText, setNorth] = useState(north);
  const [choices, setChoices] = useState<Choices>({
    angleUnit: 'deg',
    lengthUnit:
      frame.unitLabel.includes('ft-us') || /survey/i.test(frame.unitLabel)
        ? 'ft-us'
        : frame.metresPerUnit === 1
          ? 'm'
          : 'ft',
    rule: 'compass',
    returns: true,
    onGround: false,
  });
  const [northKind, setNorthKind] = useState<North>('grid');
  const [ownTurnDeg, setOwnTurn] = useState(0);
  const turnDeg = northKind === 'grid' ? 0 : northKind === 'true' ? -(frame.convergenceDeg ?? 0) : ownTurnDeg;
  const [x, y] = [parseCoordinate(eastText), parseCoordinate(northText)];
  const input = useMemo(
    () =>
      x === null || y === null || text.trim() === ''
        ? null
        : { text, options: { ...choices, start: [x, y] as const, turnDeg } },
    [text, x, y, choices, turnDeg],
  );
  const { output, problem } = useLiveAnswer('traverse.compute', 'traverse', input);
  const outline = output?.outline ?? null;
  const isFar =
    output?.pathM.some(([px, py]) => Math.max(Math.abs(px), Math.abs(py)) > DISPLAY_LIMIT_M) ?? false;
  useSketch(output && !isFar ? output.pathM : null, outline !== null);
  const set = (part: Partial<Choices>) => setChoices((now) => ({ ...now, ...part }));
  const bad = output?.rows.some((row) => row.problem !== null) ?? false;
  const isPlaced = frame.crs.kind === 'local' || lot !== null || probes.length > 0;
  const canUse = outline !== null && outline.refusal === null && canSubmit;

  return (
    <form
      className="stack"
      aria-label={`${name} by bearings and distances`}
      onSubmit={(event) => {
        event.preventDefault();
        if (outline && canUse) onSubmit(outline.ring, outline.source);
      }}
    >
      <div className="row">
        <label className="field number-field">
          Start east, {coordinateUnit(frame)}
          <input
            type="text"
            inputMode="decimal"
            value={eastText}
            aria-invalid={eastText !== '' && x === null}
            onChange={(event) => setEast(event.target.value)}
          />
        </label>
        <label className="field number-field">
          Start north, {coordinateUnit(frame)}
          <input
            type="text"
            inputMode="decimal"
            value={northText}
            aria-invalid={northText !== '' && y === null}
            onChange={(event) => setNorth(event.target.value)}
          />
        </label>
        <label className="field">
          Lengths are in
          <select
            value={choices.lengthUnit}
            onChange={(event) => set({ lengthUnit: event.target.value as Choices['lengthUnit'] })}
          >
            {(Object.keys(UNIT_NAMES) as Choices['lengthUnit'][]).map((unit) => (
              <option key={unit} value={unit}>
                {UNIT_NAMES[unit]}
              </option>
            ))}
          </select>
        </label>
        <label className="field">
          Plain angles are in
          <select
            value={choices.angleUnit}
            onChange={(event) => set({ angleUnit: event.target.value as Choices['angleUnit'] })}
          >
            <option value="deg">degrees</option>
            <option value="gon">gon</option>
          </select>
        </label>
      </div>
      <label className="field">
        One course a line: direction, length
        <textarea
          rows={7}
          className="courses"
          value={text}
          placeholder={PLACEHOLDER}
          spellCheck={false}
          onChange={(event) => setText(event.target.value)}
        />
      </label>
      <p className="hint">
        Quadrant bearings, azimuths from north, decimal degrees or gon; a curve by its radius, central angle
        or arc, and left or right. A table with headings can be pasted as it is.
      </p>
      <div className="row">
        <label className="field">
          Directions count from
          <select value={northKind} onChange={(event) => setNorthKind(event.target.value as North)}>
            <option value="grid">grid north</option>
            {frame.convergenceDeg === null ? null : <option value="true">true north</option>}
            <option value="other">another north</option>
          </select>
        </label>
        {northKind === 'other' ? (
          <NumberInput
            label="Turn right by, °"
            value={ownTurnDeg}
            least={-360}
            most={360}
            onChange={setOwnTurn}
          />
        ) : null}
        <label className="field">
          The misclosure is spread
          <select
            value={choices.rule}
            disabled={!choices.returns}
            onChange={(event) => set({ rule: event.target.value as Choices['rule'] })}
          >
            {(Object.keys(RULE_NAMES) as Choices['rule'][]).map((rule) => (
              <option key={rule} value={rule}>
                {RULE_NAMES[rule]}
              </option>
            ))}
          </select>
        </label>
      </div>
      <label className="check-line">
        <input
          type="checkbox"
          checked={choices.returns}
          onChange={(event) => set({ returns: event.target.checked })}
        />
        The last course comes back to the start
      </label>
      {frame.gridScaleFactor === 1 ? null : (
        <label className="check-line">
          <input
            type="checkbox"
            checked={choices.onGround}
            onChange={(event) => set({ onGround: event.target.checked })}
          />
          Lengths were measured on the ground: multiply by {frame.gridScaleFactor.toFixed(6)}
        </label>
      )}
      {output ? <TraverseResultView result={output} /> : null}
      {outline?.refusal ? (
        <p className="notice notice-error" role="alert">
          {prettyUnits(outline.refusal)}
        </p>
      ) : null}
      <WarningList warnings={outline?.notes ?? []} label="Notes on the courses" />
      <div className="form-end">
        <p className="hint" role={problem === null ? undefined : 'alert'}>
          {problem ??
            (bad
              ? 'The map shows the way as far as the first row that cannot be read.'
              : outline
                ? isPlaced && !isFar
                  ? 'The map shows it as it would be.'
                  : 'The map shows it once it is set.'
                : 'A start and three courses make an outline.')}
        </p>
        <button type="submit" className="primary" disabled={!canUse}>
          {submitText}
        </button>
      </div>
    </form>
  );
}
