import { useState } from 'react';
import type { AirCorrectionChoice, FillWayName } from '../../core/contract/model.ts';
import type { SampleHandling } from '../../core/contract/readings.ts';
import { plural } from '../format.ts';
import { useApp } from '../state/context.ts';
import { useInstruments } from '../state/use-instruments.ts';
import { parseCoordinate } from './corners.ts';

const FILL_NAMES: Record<FillWayName, string> = {
  'at-once': 'all at once',
  steady: 'at a steady rate',
  'flow-through': 'pumped through',
  'closed-loop': 'round a closed loop',
};
const CORRECTION_NAMES: Record<AirCorrectionChoice, string> = {
  'plug-flow': 'dead volume, plug flow',
  'well-mixed': 'dead volume, well mixed',
  middle: 'dead volume, between the two',
  tracer: 'by the tracer',
};
const NUMBERS = [
  ['fillS', 'Fill, s', 86_400],
  ['transitS', 'Fill to chamber, s', 86_400],
  ['flushS', 'Flushed before, s', 86_400],
  ['pumpedMl', 'Pumped, mL', 1e7],
  ['lineMl', 'Line, mL', 1e7],
  ['tracerPct', 'Tracer found, %', 100],
  ['tracerShroudPct', 'Tracer in shroud, %', 100],
  ['flowMlPerMin', 'Flow, mL/min', 1e5],
  ['airPorosity', 'Open pores, share', 1],
] as const;
/** What was looked at: true, false, and that nobody did. */
const LOOKS = [
  ['leakTestPassed', 'Leak test', 'passed', 'failed'],
  ['saidDryerSpent', 'Dryer', 'spent', 'fresh'],
  ['saidTight', 'Tight ground', 'yes', 'no'],
] as const;
type LookKey = (typeof LOOKS)[number][0];
type Look = 'true' | 'false' | 'none' | '';
type NumberKey = (typeof NUMBERS)[number][0];

/** How samples were drawn, filled and corrected. What is left as it is does not change. */
export function HandlingForm({ sampleIds }: { sampleIds: readonly string[] }) {
  const app = useApp();
  const instruments = useInstruments();
  const [instrumentId, setInstrument] = useState('');
  const [fillWay, setFillWay] = useState<FillWayName | ''>('');
  const [before, setBefore] = useState<'by-time' | 'clean' | ''>('');
  const [correction, setCorrection] = useState<AirCorrectionChoice | 'none' | ''>('');
  const [looks, setLooks] = useState<Partial<Record<LookKey, Look>>>({});
  const [numbers, setNumbers] = useState<Partial<Record<NumberKey, string>>>({});

  const handling: Record<string, unknown> = {};
  if (instrumentId !== '') handling['instrumentId'] = instrumentId;
  if (fillWay !== '') handling['fillWay'] = fillWay;
  if (before !== '') handling['before'] = before;
  if (correction !== '') handling['correction'] = correction === 'none' ? null : correction;
  for (const [key] of LOOKS) {
    const look = looks[key] ?? '';
    if (look !== '') handling[key] = look === 'none' ? null : look === 'true';
  }
  let bad = false;
  for (const [key, , most] of NUMBERS) {
    const typed = numbers[key]?.trim() ?? '';
    if (typed === '') continue;
    const value = parseCoordinate(typed);
    if (value === null || value < 0 || value > most) bad = true;
    handling[key] = value;
  }

  return (
    <details className="handling">
      <summary>How it was drawn, filled and corrected</summary>
      <form
        className="stack details-row"
        onSubmit={(event) => {
          event.preventDefault();
          if (!bad) void app.setHandling(sampleIds, handling as SampleHandling);
        }}
      >
        <div className="row">
          <label className="field">
            Instrument
            <select value={instrumentId} onChange={(event) => setInstrument(event.target.value)}>
              <option value="">as it is</option>
              {instruments?.map(({ id, label }) => (
                <option key={id} value={id}>
                  {label}
                </option>
              ))}
            </select>
          </label>
          <label className="field">
            Filled
            <select value={fillWay} onChange={(event) => setFillWay(event.target.value as FillWayName | '')}>
              <option value="">as it is</option>
              {(Object.keys(FILL_NAMES) as FillWayName[]).map((way) => (
                <option key={way} value={way}>
                  {FILL_NAMES[way]}
                </option>
              ))}
            </select>
          </label>
          <label className="field">
            Before it
            <select
              value={before}
              onChange={(event) => setBefore(event.target.value as 'by-time' | 'clean' | '')}
            >
              <option value="">as it is</option>
              <option value="by-time">the sample before in time</option>
              <option value="clean">nothing was left</option>
            </select>
          </label>
          <label className="field">
            Other air taken off
            <select
              value={correction}
              onChange={(event) => setCorrection(event.target.value as AirCorrectionChoice | 'none' | '')}
            >
              <option value="">as it is</option>
              <option value="none">none</option>
              {(Object.keys(CORRECTION_NAMES) as AirCorrectionChoice[]).map((choice) => (
                <option key={choice} value={choice}>
                  {CORRECTION_NAMES[choice]}
                </option>
              ))}
            </select>
          </label>
        </div>
        <div className="row">
          {NUMBERS.map(([key, name]) => (
            <label key={key} className="field number-field">
              {name}
              <input
                type="text"
                inputMode="decimal"
                placeholder="as it is"
                value={numbers[key] ?? ''}
                onChange={(event) => setNumbers({ ...numbers, [key]: event.target.value })}
              />
            </label>
          ))}
        </div>
        <div className="row">
          {LOOKS.map(([key, name, yes, no]) => (
            <label key={key} className="field">
              {name}
              <select
                value={looks[key] ?? ''}
                onChange={(event) => setLooks({ ...looks, [key]: event.target.value as Look })}
              >
                <option value="">as it is</option>
                <option value="true">{yes}</option>
                <option value="false">{no}</option>
                <option value="none">not noted</option>
              </select>
            </label>
          ))}
        </div>
        <div className="form-end">
          <p className="hint">
            {bad ? 'One of the numbers is not a number in range.' : 'What stands “as it is” does not change.'}
          </p>
          <button type="submit" disabled={bad || Object.keys(handling).length === 0}>
            Set for {plural(sampleIds.length, 'sample')}
          </button>
        </div>
      </form>
    </details>
  );
}
