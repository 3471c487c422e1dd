import { useEffect, useRef, useState } from 'react';
import type { PlacementView, SiteRequest } from '../../core/contract/planning.ts';
import { fromKBqPerM3, fromMetres, toKBqPerM3, toMetres } from '../../core/units.ts';
import { NumberInput } from '../components/NumberInput.tsx';
import { plural, radonUnitLabel } from '../format.ts';
import { usesFeet } from '../map/project-frame.ts';
import { sitingBasis } from '../state/basis.ts';
import { useApp, useAppState, useView } from '../state/context.ts';
import { SITE_JOB } from '../state/proposals.ts';
import { useWords } from '../state/use-words.ts';
import { PlacementTable } from './PlacementTable.tsx';

/** Setback that stands in the form at first; the code of the place decides what it must be. */
const FIRST_SETBACK_M = 3;

/** Where an own limit begins; a person sets it. */
const FIRST_OWN_LIMIT_KBQ_PER_M3 = 30;

/** All placements of the footprint inside lot, setback and keep-outs; the ranked few are judged on fresh draws. */
export function SiteSearch() {
  const words = useWords();
  const app = useApp();
  const view = useView();
  const { settings, frame, footprint } = view;
  const feet = usesFeet(frame);
  const unit = feet ? 'ft' : 'm';
  const radonUnit = settings.radonUnit;
  const site = useAppState((state) => state.site);
  const working = useAppState((state) => state.jobs.some((job) => job.label === SITE_JOB));
  const before = site?.request ?? null;
  const [objective, setObjective] = useState<SiteRequest['objective']>(
    before?.objective ?? 'lowest-estimate',
  );
  const [limitKBqPerM3, setLimit] = useState<number | null>(before?.limitKBqPerM3 ?? null);
  const [setbackM, setSetback] = useState(before?.setbackM ?? (feet ? toMetres(10, 'ft') : FIRST_SETBACK_M));
  const [mayTurn, setMayTurn] = useState(before?.mayTurn ?? true);
  const [mayMirror, setMayMirror] = useState(before?.mayMirror ?? false);
  const [perMetreMoved, setPerMetre] = useState(before?.perMetreMoved ?? 0);
  const [wanted, setWanted] = useState(before?.wanted ?? 5);
  const [seed, setSeed] = useState(before?.seed ?? 1);
  const result = site?.result ?? null;
  const stale = site !== null && site.basis !== sitingBasis(view);
  const isIdw = settings.surface.method === 'idw';
  const missing = !footprint
    ? 'Enter the footprint first.'
    : isIdw
      ? 'Inverse distance gives no error, so placements cannot be told apart: choose kriging in Map.'
      : null;
  const isChance = objective === 'lowest-probability';

  const found = useRef<HTMLDivElement>(null);
  const asked = useRef(false);
  // The answer comes below the button, often below the edge of the panel.
  useEffect(() => {
    if (result && asked.current) found.current?.scrollIntoView({ block: 'start' });
    asked.current = false;
  }, [result]);

  const search = () => {
    asked.current = true;
    void app.searchSite({
      objective,
      ...(isChance && limitKBqPerM3 !== null ? { limitKBqPerM3 } : {}),
      setbackM,
      mayTurn,
      mayMirror,
      perMetreMoved,
      wanted,
      seed,
    });
  };

  return (
    <section className="block" aria-labelledby="site-search">
      <h3 id="site-search">Search placements</h3>
      <div className="row">
        <label className="field">
          Look for
          <select
            value={objective}
            onChange={(event) => setObjective(event.target.value as SiteRequest['objective'])}
          >
            <option value="lowest-estimate">the lowest estimate</option>
            <option value="lowest-probability">the lowest chance above a limit</option>
          </select>
        </label>
        {isChance ? (
          <label className="field">
            Limit
            <select
              value={limitKBqPerM3 === null ? 'scheme' : 'own'}
              onChange={(event) =>
                setLimit(event.target.value === 'scheme' ? null : FIRST_OWN_LIMIT_KBQ_PER_M3)
              }
            >
              <option value="scheme">the scheme’s highest</option>
              <option value="own">one I enter</option>
            </select>
          </label>
        ) : null}
        {isChance && limitKBqPerM3 !== null ? (
          <NumberInput
            label={`Limit, ${radonUnitLabel(radonUnit)}`}
            value={fromKBqPerM3(limitKBqPerM3, radonUnit)}
            least={1e-6}
            onChange={(value) => setLimit(toKBqPerM3(value, radonUnit))}
          />
        ) : null}
        <NumberInput
          label={`Setback, ${unit}`}
          value={fromMetres(setbackM, unit)}
          least={0}
          most={1000}
          onChange={(value) => setSetback(toMetres(value, unit))}
        />
      </div>
      <div className="row">
        <label className="check-line">
          <input type="checkbox" checked={mayTurn} onChange={(event) => setMayTurn(event.target.checked)} />
          It may be turned
        </label>
        <label className="check-line">
          <input
            type="checkbox"
            checked={mayMirror}
            onChange={(event) => setMayMirror(event.target.checked)}
          />
          It may be mirrored
        </label>
      </div>
      <details>
        <summary>Price of moving, how many, seed</summary>
        <div className="row details-row">
          <NumberInput
            label={`Price of each ${unit} moved, ${isChance ? '% points' : radonUnitLabel(radonUnit)}`}
            value={
              (isChance ? perMetreMoved * 100 : fromKBqPerM3(perMetreMoved, radonUnit)) * (feet ? 0.3048 : 1)
            }
            least={0}
            onChange={(value) => {
              const perUnit = isChance ? value / 100 : toKBqPerM3(value, radonUnit);
              setPerMetre(feet ? perUnit / 0.3048 : perUnit);
            }}
          />
          <NumberInput label="Ranked at most" value={wanted} least={1} most={20} whole onChange={setWanted} />
          <NumberInput label="Seed" value={seed} least={0} most={1e9} whole onChange={setSeed} />
        </div>
      </details>
      {missing ? <p className="hint">{missing}</p> : null}
      <button type="button" className="primary" disabled={missing !== null || working} onClick={search}>
        Search placements
      </button>
      {result ? (
        <div className="stack" aria-live="polite" ref={found}>
          {stale ? <p className="hint hint-strong">The project has changed since this search.</p> : null}
          {result.nothingFits ? <p className="notice notice-warning">{words(result.nothingFits)}</p> : null}
          {result.ranked.length > 0 ? (
            <PlacementTable
              name="Ranked placements"
              placements={result.ranked}
              asDrawn={result.asDrawn}
              first={0}
              isChance={site?.request.objective === 'lowest-probability'}
              stale={stale}
            />
          ) : result.nothingFits ? null : (
            <p>No placement has enough valid probes near it to be ranked.</p>
          )}
          {result.differences.length > 0 ? (
            <ul className="reasons" aria-label="What they differ by">
              {result.differences.map((line) => (
                <li key={line}>{words(line)}</li>
              ))}
            </ul>
          ) : null}
          {result.unranked.length > 0 ? (
            <details>
              <summary>
                {plural(result.unranked.length, 'placement')} not ranked: too little is known there
              </summary>
              <PlacementTable
                name="Placements not ranked"
                placements={result.unranked}
                asDrawn={null}
                first={result.ranked.length}
                isChance={site?.request.objective === 'lowest-probability'}
                stale={stale}
              />
              <ul className="reasons">
                {whyLines(result.unranked).map((line) => (
                  <li key={line}>{words(line)}</li>
                ))}
              </ul>
            </details>
          ) : null}
          <p className="source">
            {plural(result.posesTried, 'placement')} tried. {words(result.choiceRule)}
          </p>
          <ul className="notice notice-warning" aria-label="Cautions of the search">
            {result.cautions.map((caution) => (
              <li key={caution}>{words(caution)}</li>
            ))}
          </ul>
        </div>
      ) : null}
    </section>
  );
}

function whyLines(placements: readonly PlacementView[]): string[] {
  return [...new Set(placements.flatMap(({ why }) => (why === null ? [] : [why])))];
}
