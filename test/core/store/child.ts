/** What another process does to a project, for tests: `node child.ts <mode> <path>`. */
import { writeSync } from 'node:fs';
import Database from 'better-sqlite3';
import { AppError } from '../../../core/errors.ts';
import { openProject } from '../../../core/store/open-project.ts';

const [mode, path] = process.argv.slice(2);
if (path === undefined) throw new Error('no path');

const say = (line: string) => writeSync(1, `${line}\n`);

function openHere(file: string) {
  return openProject(file, { actor: 'Second Person', program: 'Test child' });
}

switch (mode) {
  case 'hold': {
    const store = openHere(path);
    say('open');
    // Named here so that it is not collected, which would close it.
    process.stdin.resume().on('end', () => store.close());
    break;
  }
  case 'write-until-killed': {
    const store = openHere(path);
    for (;;) {
      const number = store.revision;
      store.change('probe.add', `Probe ${number}`, (tx) => {
        const probe = tx.insert('probe', {
          label: `K${number}`,
          state: 'driven',
          added: 0,
          note: 'x'.repeat(3000),
        });
        tx.insert('sample', { probe_id: probe, kind: 'grab', said_fresh_air: 0, said_water: 0 });
      });
      // Said only once the change has come back as saved.
      say(String(store.revision));
    }
  }
  case 'die-mid-write': {
    const db = new Database(path);
    db.pragma('locking_mode = EXCLUSIVE');
    // So small that changed pages go to the file, and their old content to the journal, before the commit.
    db.pragma('cache_size = 4');
    db.exec('BEGIN IMMEDIATE');
    db.exec("UPDATE project SET name = 'half written'");
    db.exec('UPDATE probe SET note = hex(randomblob(2000))');
    const insert = db.prepare('INSERT INTO attachment VALUES (?, ?, ?, ?)');
    for (let number = 0; number < 50; number += 1)
      insert.run(String(number).padStart(64, '0'), 'x', 'x', Buffer.alloc(20_000, number));
    process.kill(process.pid, 'SIGKILL');
    break;
  }
  case 'write-until-refused': {
    try {
      const store = openHere(path);
      for (;;) {
        store.change('project.describe', 'Note', (tx) => {
          const id = store.rows('project')[0]?.id ?? '';
          tx.update('project', id, { note: `${store.revision} ${'long '.repeat(4000)}` });
        });
        say(String(store.revision));
      }
    } catch (error) {
      if (!(error instanceof AppError)) throw error;
      say(JSON.stringify({ code: error.code, message: error.message, details: error.details }));
    }
    break;
  }
  default:
    throw new Error(`no mode ${mode}`);
}
