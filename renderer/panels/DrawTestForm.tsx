import { useState } from 'react';
import type { DrawCavity, DrawLine, DrawNumberInfo, DrawTest } from '../../core/contract/draw-test.ts';
import { trimNumber } from '../format.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { numberReader } from './typed-numbers.ts';

interface Texts {
  readonly cavity: DrawCavity['kind'];
  readonly line: DrawLine['kind'];
  readonly meteredAt: DrawTest['meteredAt'];
  readonly source: string;
  readonly typed: { readonly [name: string]: string };
}

function textsOf(test: DrawTest | undefined, numbers: readonly DrawNumberInfo[]): Texts {
  const text = (value: number) => trimNumber(value, 6);
  const { cavity, line } = test ?? {};
  return {
    cavity: cavity?.kind ?? 'cylinder',
    line: line?.kind ?? 'measured',
    meteredAt: test?.meteredAt ?? 'line',
    source: cavity?.kind === 'stated' ? cavity.source : '',
    typed: {
      ...(cavity?.kind === 'cylinder'
        ? { cavityLength: text(1000 * cavity.lengthM), cavityWidth: text(1000 * cavity.diameterM) }
        : {}),
      ...(cavity?.kind === 'stated' ? { shapeFactor: text(cavity.shapeFactorM) } : {}),
      ...(line?.kind === 'measured' ? { loss: text(line.lossPa), lossAt: text(line.atFlowMlPerMin) } : {}),
      ...(line?.kind === 'tube' ? { tubeLength: text(line.lengthM), bore: text(1000 * line.boreM) } : {}),
      ...Object.fromEntries(numbers.map(({ key, standard }) => [key, text(test?.[key] ?? standard)])),
    },
  };
}

/** What the typed texts say; null where something is missing or wrong, which `wrong` names. */
function readTest(texts: Texts, numbers: readonly DrawNumberInfo[]) {
  const reader = numberReader();
  const missing: string[] = [];
  const read = (name: string, what: string, least: number, most: number): number => {
    const before = reader.wrong.length;
    const value = reader.read(texts.typed[name] ?? '', what, least, most);
    if (value === null && reader.wrong.length === before) missing.push(what.toLowerCase());
    return value ?? Number.NaN;
  };
  const cavity: DrawCavity =
    texts.cavity === 'cylinder'
      ? {
          kind: 'cylinder',
          lengthM: read('cavityLength', 'Length of the cavity', 0.1, 2000) / 1000,
          diameterM: read('cavityWidth', 'Width of the cavity', 0.1, 500) / 1000,
        }
      : {
          kind: 'stated',
          shapeFactorM: read('shapeFactor', 'Shape factor', 0.0001, 10),
          source: texts.source.trim(),
        };
  if (cavity.kind === 'stated' && cavity.source === '') missing.push('source of the shape factor');
  const line: DrawLine =
    texts.line === 'measured'
      ? {
          kind: 'measured',
          lossPa: read('loss', 'Line loss', 0, 1e5),
          atFlowMlPerMin: read('lossAt', 'Flow of the line loss', 0.001, 1e5),
        }
      : {
          kind: 'tube',
          lengthM: read('tubeLength', 'Length of the tube', 0.01, 100),
          boreM: read('bore', 'Bore of the tube', 0.1, 100) / 1000,
        };
  const rest = Object.fromEntries(
    numbers.map(({ key, label }) => [key, read(key, label, ...RANGES[key])]),
  ) as Pick<DrawTest, DrawNumberInfo['key']>;
  const test: DrawTest = { cavity, line, meteredAt: texts.meteredAt, ...rest };
  const wrong = [...reader.wrong, ...(missing.length === 0 ? [] : [`Missing: ${missing.join(', ')}.`])];
  return { test: wrong.length === 0 ? test : null, wrong };
}

const RANGES: Record<DrawNumberInfo['key'], readonly [least: number, most: number]> = {
  leastFlowMlPerMin: [0.001, 1e5],
  leastSuctionPa: [0.001, 1e5],
  soilTemperatureC: [-20, 50],
  soilTemperatureUC: [0, 20],
  meterTemperatureC: [-30, 60],
  airPressureHPa: [400, 1100],
  flowUPct: [0, 100],
  suctionUPct: [0, 100],
  lineLossUPct: [0, 100],
  shapeFactorUPct: [0, 100],
};

/** How permeability follows from flow and suction, for all samples of the project. */
export function DrawTestForm() {
  const app = useApp();
  const { settings } = useView();
  const numbers = useAppState((state) => state.catalogue?.drawNumbers);
  const [changed, setChanged] = useState<Partial<Omit<Texts, 'typed'>>>({});
  const [typed, setTyped] = useState<Texts['typed']>({});
  if (numbers === undefined) return null;
  const kept = textsOf(settings.drawTest, numbers);
  const texts: Texts = { ...kept, ...changed, typed: { ...kept.typed, ...typed } };
  const { test, wrong } = readTest(texts, numbers);
  const { drawTest, ...others } = settings;
  const isUntouched = JSON.stringify(texts) === JSON.stringify(kept);
  const atStandard = numbers.filter(({ key, standard }) => texts.typed[key] === trimNumber(standard, 6));

  const input = (name: string, label: string) => (
    <label key={name} className="field number-field">
      {label}
      <input
        type="text"
        inputMode="decimal"
        value={texts.typed[name] ?? ''}
        onChange={(event) => setTyped({ ...typed, [name]: event.target.value })}
      />
    </label>
  );

  return (
    <details className="handling">
      <summary>
        Permeability from flow and suction: {drawTest === undefined ? 'not set up' : 'in use'}
      </summary>
      <form
        className="stack details-row"
        onSubmit={(event) => {
          event.preventDefault();
          if (test !== null) void app.setSettings({ ...settings, drawTest: test });
        }}
      >
        <p className="hint">
          For samples with flow and suction and no permeability given for their probe. It can change the
          class; a clogged tip or a smeared hole reads tighter than the ground is.
        </p>
        <div className="row">
          <label className="field">
            Open cavity
            <select
              value={texts.cavity}
              onChange={(event) =>
                setChanged({ ...changed, cavity: event.target.value as DrawCavity['kind'] })
              }
            >
              <option value="cylinder">length and width</option>
              <option value="stated">shape factor as stated</option>
            </select>
          </label>
          {texts.cavity === 'cylinder' ? (
            <>
              {input('cavityLength', 'Length, mm')}
              {input('cavityWidth', 'Width, mm')}
            </>
          ) : (
            <>
              {input('shapeFactor', 'Shape factor, m')}
              <label className="field">
                Its source
                <input
                  type="text"
                  value={texts.source}
                  onChange={(event) => setChanged({ ...changed, source: event.target.value })}
                />
              </label>
            </>
          )}
        </div>
        <div className="row">
          <label className="field">
            Line loss
            <select
              value={texts.line}
              onChange={(event) => setChanged({ ...changed, line: event.target.value as DrawLine['kind'] })}
            >
              <option value="measured">measured in open air</option>
              <option value="tube">by the tube</option>
            </select>
          </label>
          {texts.line === 'measured' ? (
            <>
              {input('loss', 'Suction, Pa')}
              {input('lossAt', 'at flow, mL/min')}
            </>
          ) : (
            <>
              {input('tubeLength', 'Tube, m')}
              {input('bore', 'Bore, mm')}
            </>
          )}
          <label className="field">
            Flow metered
            <select
              value={texts.meteredAt}
              onChange={(event) =>
                setChanged({ ...changed, meteredAt: event.target.value as DrawTest['meteredAt'] })
              }
            >
              <option value="line">in the line, at the suction</option>
              <option value="outside">behind the pump, at outside pressure</option>
            </select>
          </label>
        </div>
        <div className="row">{numbers.map(({ key, label, unit }) => input(key, `${label}, ${unit}`))}</div>
        {atStandard.length === 0 ? null : (
          <p className="source">
            <span className="tag tag-suspect">unconfirmed</span> {atStandard.length} of {numbers.length}{' '}
            numbers stand at the standard value: assumptions of this program, to be read from your gauges and
            on site. u is the standard uncertainty (k = 1).
          </p>
        )}
        <div className="form-end">
          <p className="hint">{isUntouched ? '' : wrong.join(' ')}</p>
          {drawTest === undefined ? null : (
            <button type="button" onClick={() => void app.setSettings(others)}>
              Take off
            </button>
          )}
          <button type="submit" className="primary" disabled={test === null || isUntouched}>
            Use for all samples
          </button>
        </div>
      </form>
    </details>
  );
}
