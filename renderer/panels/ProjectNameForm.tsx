import { useState } from 'react';
import { useApp, useView } from '../state/context.ts';

/** What the project is called. Given another key where the project has another name, as after an undo. */
export function ProjectNameForm() {
  const app = useApp();
  const view = useView();
  const [name, setName] = useState(view.name);
  const [note, setNote] = useState(view.note ?? '');
  const changed = name.trim() !== view.name || note !== (view.note ?? '');

  return (
    <section className="block" aria-labelledby="plan-project">
      <h3 id="plan-project">Project</h3>
      <form
        className="stack"
        onSubmit={(event) => {
          event.preventDefault();
          void app.describe({ name: name.trim(), note });
        }}
      >
        <label className="field">
          Name
          <input type="text" value={name} maxLength={200} onChange={(event) => setName(event.target.value)} />
        </label>
        <label className="field">
          Note
          <textarea rows={3} value={note} onChange={(event) => setNote(event.target.value)} />
        </label>
        <div className="form-end">
          <button type="submit" disabled={!changed || name.trim() === ''}>
            Save name and note
          </button>
        </div>
      </form>
    </section>
  );
}
