import { useState } from 'react';
import type { ProjectCrs } from '../../core/contract/model.ts';
import type { CrsChoice } from '../../core/contract/requests.ts';
import { CrsSearch, isProjected } from './CrsSearch.tsx';

export interface CrsPickerProps {
  readonly value: ProjectCrs | null;
  readonly onChange: (crs: ProjectCrs | null) => void;
}

type LocalCrs = Extract<ProjectCrs, { kind: 'local' }>;

const LOCAL_UNITS: readonly (readonly [unit: LocalCrs['unit'], name: string])[] = [
  ['m', 'metres'],
  ['ft', 'feet (international)'],
  ['ft-us', 'US survey feet'],
];

export function CrsPicker({ value, onChange }: CrsPickerProps) {
  const [kind, setKind] = useState<'local' | 'epsg'>(value?.kind ?? 'local');
  const [chosen, setChosen] = useState<CrsChoice | null>(null);

  const [local, setLocal] = useState<LocalCrs>(
    value?.kind === 'local' ? value : { kind: 'local', unit: 'm', label: '' },
  );
  const changeLocal = (part: Partial<LocalCrs>) => {
    setLocal({ ...local, ...part });
    onChange({ ...local, ...part });
  };
  const changeMapped = (found: CrsChoice | null) =>
    onChange(isProjected(found) ? { kind: 'epsg', code: found.code } : null);

  return (
    <fieldset className="group">
      <legend>Coordinate system</legend>
      <div className="choices">
        <label className="choice">
          <input
            type="radio"
            name="crs-kind"
            checked={kind === 'local'}
            onChange={() => {
              setKind('local');
              onChange(local);
            }}
          />
          <span>
            <strong>Local grid</strong> tape and compass from a corner you choose
          </span>
        </label>
        <label className="choice">
          <input
            type="radio"
            name="crs-kind"
            checked={kind === 'epsg'}
            onChange={() => {
              setKind('epsg');
              changeMapped(chosen);
            }}
          />
          <span>
            <strong>Projected system</strong> survey or GNSS coordinates
          </span>
        </label>
      </div>
      {kind === 'local' ? (
        <div className="row">
          <label className="field">
            Unit of the grid
            <select
              value={local.unit}
              onChange={(event) => changeLocal({ unit: event.target.value as LocalCrs['unit'] })}
            >
              {LOCAL_UNITS.map(([unit, name]) => (
                <option key={unit} value={unit}>
                  {name}
                </option>
              ))}
            </select>
          </label>
          <label className="field grow">
            What the origin is
            <input
              type="text"
              value={local.label}
              placeholder="iron stake at the south-west corner"
              maxLength={200}
              onChange={(event) => changeLocal({ label: event.target.value })}
            />
          </label>
        </div>
      ) : (
        <CrsSearch
          chosen={chosen}
          onChoose={(found) => {
            setChosen(found);
            changeMapped(found);
          }}
        />
      )}
    </fieldset>
  );
}
