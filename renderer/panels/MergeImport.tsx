import { useState } from 'react';
import type {
  MergeChoice,
  MergeConflictView,
  MergeDifferenceView,
  MergePreview,
  MergeReport,
  MergeTake,
} from '../../core/contract/merge.ts';
import { ScrollRegion } from '../components/ScrollRegion.tsx';
import { plural, prettyUnits } from '../format.ts';
import { useApp } from '../state/context.ts';
import { useWords } from '../state/use-words.ts';

type Choices = Readonly<Record<string, MergeChoice>>;

interface Looked {
  readonly path: string;
  readonly preview: MergePreview;
  readonly report: MergeReport | null;
}

const TAKE_NAMES: Record<MergeTake, string> = { mine: 'Mine', theirs: 'Theirs', both: 'Keep both' };

/** A conflict of a sample falls away once its probe is kept beside mine. */
function openConflicts(preview: MergePreview, choices: Choices): readonly MergeConflictView[] {
  return preview.conflicts.filter((c) => c.under === null || choices[c.under]?.take !== 'both');
}

function AddedList({ preview }: { preview: MergePreview }) {
  const { added, filled, same } = preview;
  const rows: readonly (readonly [string, readonly string[]])[] = [
    ['Probes', added.probes],
    ['Samples of', [...new Set(added.samples)]],
    ['Instruments', added.instruments],
    ['Keep-outs', added.keepOuts],
    ['Days', added.days],
    ['Files', added.files],
  ];
  return (
    <>
      <dl className="facts">
        {rows
          .filter(([, labels]) => labels.length > 0)
          .map(([name, labels]) => (
            <div key={name}>
              <dt>{name}</dt>
              <dd>
                {labels.slice(0, 12).join(', ')}
                {labels.length > 12 ? ` and ${labels.length - 12} more` : ''}
              </dd>
            </div>
          ))}
        <div>
          <dt>The same in both</dt>
          <dd>{plural(same, 'record')}</dd>
        </div>
      </dl>
      {filled.length > 0 ? (
        <details>
          <summary>{plural(filled.length, 'record')} of yours would be filled where empty</summary>
          <ul className="reasons">
            {filled.map((fill) => (
              <li key={`${fill.what} ${fill.fields.join()}`}>
                {fill.what}: {prettyUnits(fill.fields.join('; '))}
              </li>
            ))}
          </ul>
        </details>
      ) : null}
    </>
  );
}

type TwoSided = Pick<MergeConflictView, 'key' | 'what' | 'fields'>;

function BothSides({ said }: { said: TwoSided }) {
  const words = useWords();
  return (
    <table className="evidence" aria-label={said.what}>
      <thead>
        <tr>
          <th scope="col">{said.what}</th>
          <th scope="col">Mine</th>
          <th scope="col">Theirs</th>
        </tr>
      </thead>
      <tbody>
        {said.fields.map((field) => (
          <tr key={field.name}>
            <td>{prettyUnits(field.name)}</td>
            <td>{words(field.mine)}</td>
            <td>{words(field.theirs)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

interface TakeChoiceProps {
  readonly said: TwoSided;
  readonly takes: readonly MergeTake[];
  readonly take: MergeTake | undefined;
  readonly onTake: (take: MergeTake) => void;
}

function TakeChoice({ said, takes, take, onTake }: TakeChoiceProps) {
  return (
    <fieldset className="segments">
      <legend>{said.what}: whose version holds</legend>
      {takes.map((one) => (
        <label key={one} className="segment">
          <input type="radio" name={said.key} checked={take === one} onChange={() => onTake(one)} />
          <span>{TAKE_NAMES[one]}</span>
        </label>
      ))}
    </fieldset>
  );
}

/** Settings, building, places and control points: each stays mine unless a person takes theirs. */
function Differences({
  differences,
  choices,
  onChoose,
}: {
  readonly differences: readonly MergeDifferenceView[];
  readonly choices: Choices;
  readonly onChoose: (key: string, choice: MergeChoice) => void;
}) {
  return (
    <>
      <p>
        <strong>{plural(differences.length, 'difference')} in settings, building or control points.</strong>{' '}
        Yours stays unless you take theirs.
      </p>
      <ul className="flags" aria-label="Differences of settings and places">
        {differences.map((one) => (
          <li key={one.key} className="flag flag-note">
            <BothSides said={one} />
            <TakeChoice
              said={one}
              takes={['mine', 'theirs']}
              take={choices[one.key]?.take ?? 'mine'}
              onTake={(take) => onChoose(one.key, { take })}
            />
            {one.hint === null ? null : <p className="hint">{one.hint}</p>}
          </li>
        ))}
      </ul>
    </>
  );
}

interface ConflictProps {
  readonly conflict: MergeConflictView;
  readonly choice: MergeChoice | undefined;
  readonly onChoose: (choice: MergeChoice) => void;
}

function Conflict({ conflict, choice, onChoose }: ConflictProps) {
  const takes: readonly MergeTake[] = conflict.allowsBoth ? ['mine', 'theirs', 'both'] : ['mine', 'theirs'];
  return (
    <li className="flag flag-suspect">
      <BothSides said={conflict} />
      <TakeChoice said={conflict} takes={takes} take={choice?.take} onTake={(take) => onChoose({ take })} />
      {choice?.take === 'both' && conflict.newLabel !== null ? (
        <label className="field">
          Label of theirs
          <input
            type="text"
            maxLength={60}
            value={choice.label ?? conflict.newLabel}
            onChange={(event) => onChoose({ take: 'both', label: event.target.value })}
          />
        </label>
      ) : null}
    </li>
  );
}

/** Two crews' files go together: what is new comes in, and a person decides where they differ. */
export function MergeImport() {
  const app = useApp();
  const [looked, setLooked] = useState<Looked | null>(null);
  const [choices, setChoices] = useState<Choices>({});

  const choose = async () => {
    const path = await app.attempt('Choosing a project', () =>
      app.bridge.chooseOpen({
        title: 'Bring in a colleague’s project',
        filters: [{ name: 'Gasplat projects', extensions: ['gasplat'] }],
      }),
    );
    if (!path) return;
    const preview = await app.previewMerge(path);
    setChoices({});
    setLooked(preview && { path, preview, report: null });
  };
  const conflicts = looked === null ? [] : openConflicts(looked.preview, choices);
  const missing = conflicts.filter((c) => choices[c.key] === undefined).length;
  const isBlank = conflicts.some((c) => choices[c.key]?.label?.trim() === '');
  const takeIn = async ({ path, preview }: Looked) => {
    const report = await app.commitMerge({ path, recordHash: preview.recordHash, choices });
    if (report) setLooked({ path, preview, report });
  };
  const all = (take: MergeTake) =>
    setChoices({ ...choices, ...Object.fromEntries(conflicts.map((c) => [c.key, { take }] as const)) });

  return (
    <section className="block" aria-labelledby="field-merge">
      <h3 id="field-merge">Another crew</h3>
      <p>
        A colleague who worked on the same lot in a file of their own: their file is read and never altered.
      </p>
      <div className="row">
        <button type="button" onClick={() => void choose()}>
          Bring in a colleague’s project…
        </button>
      </div>
      {looked?.report ? (
        <div className="stack inset-form" aria-live="polite">
          <p>{looked.report.summary}.</p>
          <div className="form-end">
            <button type="button" className="quiet" onClick={() => setLooked(null)}>
              Close
            </button>
          </div>
        </div>
      ) : looked ? (
        <div className="stack inset-form">
          <p>
            <strong>{looked.preview.file}</strong> ({looked.preview.name}) would bring:
          </p>
          <AddedList preview={looked.preview} />
          {conflicts.length > 0 ? (
            <>
              <p>
                <strong>{plural(conflicts.length, 'conflict')}.</strong> Nothing is overwritten unless you say
                so; what is replaced stays in the record.
              </p>
              <div className="row">
                <button type="button" className="small" onClick={() => all('mine')}>
                  All mine
                </button>
                <button type="button" className="small" onClick={() => all('theirs')}>
                  All theirs
                </button>
              </div>
              <ScrollRegion label="Conflicts, scrollable">
                <ul className="flags" aria-label="Conflicts">
                  {conflicts.map((conflict) => (
                    <Conflict
                      key={conflict.key}
                      conflict={conflict}
                      choice={choices[conflict.key]}
                      onChoose={(choice) => setChoices({ ...choices, [conflict.key]: choice })}
                    />
                  ))}
                </ul>
              </ScrollRegion>
            </>
          ) : null}
          {looked.preview.differences.length > 0 ? (
            <Differences
              differences={looked.preview.differences}
              choices={choices}
              onChoose={(key, choice) => setChoices({ ...choices, [key]: choice })}
            />
          ) : null}
          <ul className="reasons">
            {looked.preview.notes.map((note) => (
              <li key={note}>{prettyUnits(note)}</li>
            ))}
          </ul>
          <div className="form-end">
            <p className="hint" aria-live="polite">
              {missing > 0
                ? `${plural(missing, 'conflict')} without a choice.`
                : isBlank
                  ? 'Give theirs a label.'
                  : 'All in one change, with undo.'}
            </p>
            <button type="button" className="quiet" onClick={() => setLooked(null)}>
              Leave it out
            </button>
            <button
              type="button"
              className="primary"
              disabled={missing > 0 || isBlank}
              onClick={() => void takeIn(looked)}
            >
              Bring it in
            </button>
          </div>
        </div>
      ) : null}
    </section>
  );
}
