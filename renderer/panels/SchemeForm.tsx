import { useState } from 'react';
import type { SchemeInfo } from '../../core/contract/rules.ts';
import { fromKBqPerM3, toKBqPerM3 } from '../../core/units.ts';
import { WarningList } from '../components/Notice.tsx';
import { prettyUnits, radonUnitLabel, trimNumber } from '../format.ts';
import { useApp, useView } from '../state/context.ts';
import { useAnswer } from '../state/use-answer.ts';
import { parseCoordinate } from './corners.ts';
import { SchemeDetails } from './SchemeDetails.tsx';

/** Numbers parted by spaces or semicolons, rising. @returns null where the text is not that */
export function parseLimits(text: string): number[] | null {
  const parts = text.split(/[\s;]+/).filter((part) => part !== '');
  const limits = parts.map(parseCoordinate);
  const rising = limits.every((limit, i) => limit !== null && limit > (i === 0 ? 0 : (limits[i - 1] ?? 0)));
  return rising && limits.length > 0 ? (limits as number[]) : null;
}

const ORIGIN_NAMES: Record<SchemeInfo['origin'], string> = {
  program: 'With the program',
  project: 'Kept in this project',
  folder: 'In your folder; choosing one keeps it in the project',
};

/** The same id can lie in the folder in another version than in the project. */
const keyOf = (scheme: SchemeInfo) =>
  scheme.origin === 'folder' ? `folder:${scheme.sha256}` : `id:${scheme.id}`;

/** Which published method decides, or one's own limits. */
export function SchemeForm() {
  const app = useApp();
  const { settings } = useView();
  const list = useAnswer('scheme.list', 'Reading the schemes');
  const unit = settings.radonUnit;
  const [text, setText] = useState(() =>
    settings.enteredLimitsKBqPerM3.map((limit) => trimNumber(fromKBqPerM3(limit, unit), 6)).join('; '),
  );
  const [wantedId, setWantedId] = useState<string | null>(null);
  const schemes = list?.schemes ?? [];
  const inUse = schemes.find((scheme) => scheme.origin !== 'folder' && scheme.id === settings.schemeId);
  const chosen = schemes.find((s) => s.origin !== 'folder' && s.id === (wantedId ?? settings.schemeId));
  const limits = parseLimits(text);

  const apply = (schemeId: string, entered: readonly number[] | null) => {
    const { raisedLimitId: _other, ...rest } = settings;
    void app.setSettings({
      ...rest,
      schemeId,
      enteredLimitsKBqPerM3:
        entered?.map((limit) => toKBqPerM3(limit, unit)) ?? settings.enteredLimitsKBqPerM3,
    });
  };
  const choose = (key: string) => {
    const scheme = schemes.find((one) => keyOf(one) === key);
    if (scheme?.path) void app.importScheme(scheme.path);
    else if (scheme) {
      setWantedId(scheme.needsLimits ? scheme.id : null);
      if (!scheme.needsLimits) apply(scheme.id, null);
    }
  };
  const importFile = async () => {
    const path = await app.attempt('Choosing a scheme file', () =>
      app.bridge.chooseOpen({
        title: 'Import a scheme',
        filters: [
          { name: 'Scheme files', extensions: ['json'] },
          { name: 'All files', extensions: ['*'] },
        ],
      }),
    );
    if (path && (await app.importScheme(path))) setWantedId(null);
  };

  return (
    <form
      className="row"
      onSubmit={(event) => {
        event.preventDefault();
        if (limits && chosen) apply(chosen.id, limits);
      }}
    >
      <label className="field grow">
        Scheme
        <select
          value={chosen ? keyOf(chosen) : settings.schemeId}
          onChange={(event) => choose(event.target.value)}
        >
          {chosen ? null : <option value={settings.schemeId}>{settings.schemeId}</option>}
          {(Object.keys(ORIGIN_NAMES) as SchemeInfo['origin'][]).map((origin) => {
            const own = schemes.filter((scheme) => scheme.origin === origin);
            return own.length === 0 ? null : (
              <optgroup key={origin} label={ORIGIN_NAMES[origin]}>
                {own.map((scheme) => (
                  <option key={keyOf(scheme)} value={keyOf(scheme)}>
                    {scheme.name}
                  </option>
                ))}
              </optgroup>
            );
          })}
        </select>
      </label>
      <button type="button" onClick={() => void importFile()}>
        Import a scheme…
      </button>
      {chosen?.needsLimits ? (
        <>
          <label className="field grow">
            Limits, {radonUnitLabel(unit)}
            <input
              type="text"
              value={text}
              placeholder="10; 50"
              aria-invalid={text !== '' && limits === null}
              onChange={(event) => setText(event.target.value)}
            />
          </label>
          <button type="submit" className="primary" disabled={limits === null}>
            Use limits
          </button>
        </>
      ) : null}
      {chosen && chosen === inUse && chosen.raised.length > 0 ? <RaisedLimit scheme={chosen} /> : null}
      {chosen ? <SchemeDetails scheme={chosen} /> : null}
      {list ? <p className="source wide">Scheme files of your own are looked for in {list.folder}.</p> : null}
      {list ? (
        <WarningList warnings={list.faults.map((f) => f.message)} label="Scheme files not used" />
      ) : null}
      <OtherFiles schemes={schemes.filter((s) => s.origin === 'project' && s !== inUse)} />
    </form>
  );
}

/** A limit raised for tight ground lowers the class: it is chosen in full view, and said wherever the class stands. */
function RaisedLimit({ scheme }: { scheme: SchemeInfo }) {
  const app = useApp();
  const { settings } = useView();
  const { raisedLimitId, ...rest } = settings;
  return (
    <div className="wide">
      <label className="field">
        Limit raised for the ground
        <select
          value={raisedLimitId ?? ''}
          onChange={(event) => {
            const id = event.target.value;
            void app.setSettings(id === '' ? rest : { ...rest, raisedLimitId: id });
          }}
        >
          <option value="">none: the ordinary limits</option>
          {scheme.raised.map((limit) => (
            <option key={limit.id} value={limit.id}>
              {trimNumber(limit.value)} {prettyUnits(limit.unit)} {limit.ground}
              {limit.unconfirmed ? ` (unconfirmed: ${limit.unconfirmed})` : ''}
            </option>
          ))}
        </select>
      </label>
      <p className={raisedLimitId === undefined ? 'hint' : 'hint hint-strong'}>
        A raised limit can make a false all-clear. Choose it only with the text of the scheme at hand and the
        ground shown to be so.
      </p>
    </div>
  );
}

/** Scheme files that the project keeps and does not use. */
function OtherFiles({ schemes }: { schemes: readonly SchemeInfo[] }) {
  const app = useApp();
  if (schemes.length === 0) return null;
  return (
    <ul className="plain-list wide" aria-label="Scheme files not in use">
      {schemes.map((scheme) => (
        <li key={scheme.sha256}>
          {scheme.name} ({scheme.file}){' '}
          <button
            type="button"
            className="link"
            aria-label={`Take ${scheme.name} out of the project`}
            onClick={() => void app.removeScheme(scheme.sha256 ?? '')}
          >
            Take out
          </button>
        </li>
      ))}
    </ul>
  );
}
