import { useState } from 'react';
import type { ProjectCrs } from '../../core/contract/model.ts';
import { Dialog } from '../components/Dialog.tsx';
import { ProblemNotice } from '../components/Notice.tsx';
import { useApp, useAppState } from '../state/context.ts';
import { CrsPicker } from './CrsPicker.tsx';

/** Of a suggested file name: no system takes more than 255 bytes. */
const LONGEST_NAME = 60;

function fileNameOf(name: string): string {
  const plain = name
    .trim()
    .toLowerCase()
    .replace(/[^\p{L}\p{N}]+/gu, '-')
    .slice(0, LONGEST_NAME)
    .replace(/^-+|-+$/g, '');
  return `${plain === '' ? 'lot' : plain}.gasplat`;
}

export function NewProjectDialog() {
  const app = useApp();
  const problem = useAppState((state) => state.problem);
  const [name, setName] = useState('');
  const [crs, setCrs] = useState<ProjectCrs | null>({ kind: 'local', unit: 'm', label: '' });
  const close = () => app.store.update((state) => ({ ...state, dialog: null, problem: null }));
  const missing =
    name.trim() === '' ? 'Give the project a name.' : crs === null ? 'Choose a projected system.' : null;

  const create = async () => {
    if (missing !== null || crs === null) return;
    const path = await app.attempt('Choosing a place', () =>
      app.bridge.chooseSave({
        title: 'Save the new project as',
        suggestedName: fileNameOf(name),
        filters: [{ name: 'Gasplat project', extensions: ['gasplat'] }],
      }),
    );
    if (!path) return;
    // A project that is made closes the dialog itself; what was entered stays where it is not.
    await app.createProject(path, name.trim(), crs);
  };

  return (
    <Dialog title="New project" onClose={close}>
      <form
        className="stack"
        onSubmit={(event) => {
          event.preventDefault();
          void create();
        }}
      >
        <label className="field">
          Project name
          <input
            type="text"
            value={name}
            maxLength={200}
            placeholder="Parcel number, street or client’s reference"
            onChange={(event) => setName(event.target.value)}
          />
        </label>
        <CrsPicker value={crs} onChange={setCrs} />
        {problem ? <ProblemNotice problem={problem} /> : null}
        <div className="form-end">
          <p className="hint" aria-live="polite">
            {missing ?? 'The coordinate system stays with the project.'}
          </p>
          <button type="button" onClick={close}>
            Cancel
          </button>
          <button type="submit" className="primary" disabled={missing !== null}>
            Choose file and create
          </button>
        </div>
      </form>
    </Dialog>
  );
}
