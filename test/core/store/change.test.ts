import { join } from 'node:path';
import Database from 'better-sqlite3';
import fc from 'fast-check';
import { describe, expect, test, vi } from 'vitest';
import { openProject } from '../../../core/store/open-project.ts';
import type { ProjectStore } from '../../../core/store/project-store.ts';
import { TABLES } from '../../../core/store/rows.ts';
import {
  newProbe,
  newSample,
  newStore,
  projectFields,
  refusalOf,
  smallProject,
  tempFolder,
} from './fixtures.ts';

/** Asked of the connection: reading the file itself would drop its lock. */
const contentOf = (store: ProjectStore) => (store as unknown as { db: Database.Database }).db.serialize();

// Every save waits for the disk, which other work may hold up.
vi.setConfig({ testTimeout: 60_000 });

const allRows = (store: ProjectStore) => TABLES.map((table) => [table, store.rows(table)]);

describe('a change', () => {
  let store: ProjectStore;
  const fresh = () => {
    store = newStore(join(tempFolder(), 'a.gasplat'));
    return store;
  };

  test('writes rows and one entry with images before and after', () => {
    fresh();
    const id = store.change('probe.add', 'Probe P1', (tx) =>
      tx.insert('probe', newProbe('P1', { depth_m: 0.8 })),
    );
    store.change('probe.set', 'Depth of P1', (tx) => tx.update('probe', id, { depth_m: 0.75 }));
    expect(store.revision).toBe(3);
    expect(store.row('probe', id)?.depth_m).toBe(0.75);
    const [step, ...rest] = store.changesOf(3);
    expect(rest).toEqual([]);
    expect(step).toMatchObject({
      table: 'probe',
      id,
      before: { depth_m: '0.8' },
      after: { depth_m: '0.75' },
    });
    expect(store.record({ limit: 1 })[0]).toMatchObject({
      seq: 3,
      actor: 'Ann Example',
      command: 'probe.set',
      summary: 'Depth of P1',
      undone: false,
    });
  });

  test('that leaves everything as it was writes nothing', () => {
    fresh();
    const id = store.change('probe.add', 'P1', (tx) => tx.insert('probe', newProbe('P1', { depth_m: 0.8 })));
    const content = contentOf(store);
    store.change('probe.set', 'Same', (tx) => tx.update('probe', id, { depth_m: 0.8, label: 'P1' }));
    store.change('probe.set', 'There and back', (tx) => {
      tx.update('probe', id, { depth_m: 1 });
      tx.update('probe', id, { depth_m: 0.8 });
      tx.remove('probe', tx.insert('probe', newProbe('P2')));
    });
    expect(store.revision).toBe(2);
    expect(contentOf(store).equals(content)).toBe(true);
  });

  test('that fails half way leaves nothing', () => {
    fresh();
    const fail = () =>
      store.change('probe.add', 'Twice', (tx) => {
        tx.insert('probe', newProbe('P1'));
        tx.insert('probe', newProbe('p1')); // labels are the same whatever their case
      });
    expect(refusalOf(fail)).toMatchObject({
      code: 'BAD_INPUT',
      message: expect.stringContaining('probe.label'),
    });
    expect(store.rows('probe')).toEqual([]);
    expect(store.revision).toBe(1);
  });

  test('may not be async, nested, or written to later', () => {
    fresh();
    expect(refusalOf(() => store.change('x', 'x', async () => {})).message).toContain('async');
    const nested = () => store.change('x', 'x', () => store.change('y', 'y', () => {}));
    expect(refusalOf(nested).message).toContain('inside another change');
    const late = store.change('x', 'x', (tx) => tx);
    expect(refusalOf(() => late.insert('probe', newProbe('P1'))).message).toContain('after it had ended');
    expect(store.rows('probe')).toEqual([]);
  });

  test('keeps parents of rows, and says what is missing', () => {
    fresh();
    const id = store.change('probe.add', 'P1', (tx) => {
      const probe = tx.insert('probe', newProbe('P1'));
      tx.insert('sample', newSample(probe));
      return probe;
    });
    expect(refusalOf(() => store.change('x', 'x', (tx) => tx.remove('probe', id))).code).toBe('CONFLICT');
    expect(refusalOf(() => store.change('x', 'x', (tx) => tx.insert('sample', newSample('none')))).code).toBe(
      'CONFLICT',
    );
    expect(refusalOf(() => store.change('x', 'x', (tx) => tx.update('probe', 'none', {}))).code).toBe(
      'NOT_FOUND',
    );
  });

  test('refuses values no table can give back as they were', () => {
    fresh();
    for (const depth_m of [Number.NaN, Number.POSITIVE_INFINITY])
      expect(
        refusalOf(() => store.change('x', 'x', (tx) => tx.insert('probe', newProbe('P1', { depth_m }))))
          .message,
      ).toContain(`probe.depth_m cannot hold ${depth_m}`);
    for (const note of ['half \ud83d', 'zero \0 byte'])
      expect(
        refusalOf(() => store.change('x', 'x', (tx) => tx.insert('probe', newProbe('P1', { note })))).message,
      ).toContain('probe.note cannot hold');
  });

  test('refuses a ruling without a reason and a second project', () => {
    fresh();
    const work = () =>
      store.change('ruling.set', 'Left out', (tx) => {
        const sample_id = tx.insert('sample', newSample(tx.insert('probe', newProbe('P1'))));
        const at_utc = new Date().toISOString();
        tx.insert('ruling', {
          sample_id,
          verdict: 'leave-out',
          reason: '  ',
          actor_id: store.actorId,
          at_utc,
        });
      });
    expect(refusalOf(work)).toMatchObject({ code: 'BAD_INPUT', message: expect.stringContaining('reason') });
    const second = () =>
      store.change('x', 'x', (tx) =>
        tx.insert('project', { ...projectFields, created_utc: '2026-01-01T00:00:00Z' }),
      );
    expect(refusalOf(second).code).toBe('BAD_INPUT');
  });

  test('summary may come from the result', () => {
    fresh();
    store.change(
      'x',
      (count) => `${count} probes`,
      (tx) => {
        tx.insert('probe', newProbe('P1'));
        return 1;
      },
    );
    expect(store.canUndo()).toBe('1 probes');
  });

  test('rows come in the order they were made, by column where asked', () => {
    fresh();
    store.change('x', 'x', (tx) => {
      for (const label of ['C', 'A', 'B'])
        tx.insert('probe', newProbe(label, { note: label === 'A' ? null : 'n' }));
    });
    expect(store.rows('probe').map((probe) => probe.label)).toEqual(['C', 'A', 'B']);
    expect(store.rows('probe', { note: null }).map((probe) => probe.label)).toEqual(['A']);
  });
});

describe('undo and redo', () => {
  test('append, name what they do, and end with a new change', () => {
    const store = newStore(join(tempFolder(), 'a.gasplat'));
    expect(store.canUndo()).toBeNull();
    expect(store.undo()).toBeNull();
    store.change('probe.add', 'Probe P1', (tx) => tx.insert('probe', newProbe('P1')));
    store.change('probe.add', 'Probe P2', (tx) => tx.insert('probe', newProbe('P2')));
    expect(store.undo()).toBe('Probe P2');
    expect([store.canUndo(), store.canRedo(), store.revision]).toEqual(['Probe P1', 'Probe P2', 4]);
    expect(store.record()[0]).toMatchObject({ undoOf: 3, summary: 'Undone: Probe P2' });
    expect(store.record().map((entry) => [entry.seq, entry.undone])).toEqual([
      [4, false],
      [3, true],
      [2, false],
      [1, false],
    ]);
    expect(store.redo()).toBe('Probe P2');
    expect(store.rows('probe').map((probe) => probe.label)).toEqual(['P1', 'P2']);
    expect(store.record().every((entry) => !entry.undone)).toBe(true);
    store.undo();
    store.change('probe.add', 'Probe P3', (tx) => tx.insert('probe', newProbe('P3')));
    expect([store.canRedo(), store.redo()]).toEqual([null, null]);
    store.undo();
    store.undo();
    expect([store.canUndo(), store.rows('probe')]).toEqual([null, []]);
    expect(store.verifyRecord()).toEqual({ intact: true, entries: 9 });
  });

  test('are known again after the file is reopened, to another person', () => {
    const path = smallProject(tempFolder());
    const first = openProject(path, { actor: 'Bo Example' });
    first.undo();
    first.close();
    const second = openProject(path, { actor: 'Cy Example' });
    expect([second.canUndo(), second.canRedo()]).toEqual(['Probe 11', 'Probe 12']);
    second.redo();
    expect(second.rows('sample')).toHaveLength(12);
    expect(second.record({ limit: 2 }).map((entry) => entry.actor)).toEqual(['Cy Example', 'Bo Example']);
    second.close();
  });

  test('stop at a row that is not as the change left it', () => {
    const store = newStore(join(tempFolder(), 'a.gasplat'));
    store.change('probe.add', 'Probe P1', (tx) => tx.insert('probe', newProbe('P1')));
    const { db } = store as unknown as { db: Database.Database };
    db.exec("UPDATE probe SET note = 'behind the back'");
    expect(refusalOf(() => store.undo()).code).toBe('CONFLICT');
    expect(store.rows('probe')).toHaveLength(1);
    expect(store.verifyRecord()).toMatchObject({
      intact: false,
      seq: 2,
      problem: expect.stringContaining('probe'),
    });
  });
});

describe('any sequence of changes', () => {
  const cell = fc.oneof(fc.constant(null), fc.double({ noNaN: true, noDefaultInfinity: true, min: 0 }));
  const action = fc.oneof(
    {
      weight: 4,
      arbitrary: fc.record({
        kind: fc.constant('add' as const),
        n: fc.nat(9),
        depth: cell,
        note: fc.option(fc.string({ unit: 'grapheme' })),
      }),
    },
    { weight: 3, arbitrary: fc.record({ kind: fc.constant('edit' as const), n: fc.nat(9), depth: cell }) },
    { weight: 2, arbitrary: fc.record({ kind: fc.constant('remove' as const), n: fc.nat(9) }) },
    { weight: 2, arbitrary: fc.record({ kind: fc.constant('swap' as const), n: fc.nat(9), m: fc.nat(9) }) },
  );
  const step = fc.oneof(
    { weight: 5, arbitrary: fc.array(action, { minLength: 1, maxLength: 4 }) },
    { weight: 1, arbitrary: fc.constant('undo' as const) },
    { weight: 1, arbitrary: fc.constant('redo' as const) },
  );
  type Action = typeof action extends fc.Arbitrary<infer A> ? A : never;

  function apply(store: ProjectStore, actions: readonly Action[]): void {
    store.change('test', 'test', (tx) => {
      for (const act of actions) {
        const at = (n: number) => store.rows('probe', { label: `P${n}` })[0];
        const probe = at(act.n);
        if (act.kind === 'add' && probe === undefined) {
          const note = act.note?.replaceAll('\0', '') ?? null;
          const id = tx.insert('probe', newProbe(`P${act.n}`, { depth_m: act.depth, note }));
          tx.insert('sample', newSample(id, { radon_kbq_per_m3: act.depth }));
        }
        if (probe === undefined) continue;
        if (act.kind === 'edit') tx.update('probe', probe.id, { depth_m: act.depth });
        if (act.kind === 'remove') {
          for (const sample of store.rows('sample', { probe_id: probe.id })) tx.remove('sample', sample.id);
          tx.remove('probe', probe.id);
        }
        const other = act.kind === 'swap' ? at(act.m) : undefined;
        if (other !== undefined && other.id !== probe.id) {
          tx.update('probe', probe.id, { label: 'between' });
          tx.update('probe', other.id, { label: probe.label });
          tx.update('probe', probe.id, { label: other.label });
        }
      }
    });
  }

  test('undone to its start gives the rows of the start; redone, those of the end', () => {
    // One project for all runs: each starts with what stands in it and brings it back there.
    const store = newStore(join(tempFolder(), 'a.gasplat'));
    apply(store, [{ kind: 'add', n: 0, depth: 0.8, note: 'kept' }]);
    fc.assert(
      fc.property(fc.array(step, { maxLength: 12 }), (steps) => {
        const start = allRows(store);
        // Counted here, apart from the store: how many of this run's changes stand, and how many are undone.
        let depth = 0;
        let redoable = 0;
        for (const now of steps) {
          if (now === 'undo') {
            if (depth === 0) continue;
            store.undo();
            depth -= 1;
            redoable += 1;
          } else if (now === 'redo') {
            if (redoable === 0) continue;
            store.redo();
            depth += 1;
            redoable -= 1;
          } else {
            const before = store.revision;
            apply(store, now);
            if (store.revision === before) continue;
            depth += 1;
            redoable = 0;
          }
        }
        const end = allRows(store);
        for (let count = 0; count < depth; count += 1) store.undo();
        expect(allRows(store)).toEqual(start);
        for (let count = 0; count < depth; count += 1) store.redo();
        expect(allRows(store)).toEqual(end);
        for (let count = 0; count < depth; count += 1) store.undo();
        expect(allRows(store)).toEqual(start);
      }),
      { numRuns: 60 },
    );
    expect(store.verifyRecord()).toEqual({ intact: true, entries: store.revision });
    expect(store.revision).toBeGreaterThan(100);
  });
});

describe('decimal text in the record', () => {
  test('brings every double back bit for bit through undo and redo', () => {
    const store = newStore(join(tempFolder(), 'a.gasplat'));
    const values = [0.1, 1 / 3, 5e-324, 1.7976931348623157e308, 2 ** 53, 1e21, 123456.789, 4.9e-12, 1e-7];
    store.change('x', 'x', (tx) => {
      for (const [index, depth_m] of values.entries()) tx.insert('probe', newProbe(`P${index}`, { depth_m }));
    });
    store.undo();
    store.redo();
    expect(store.rows('probe').map((probe) => probe.depth_m)).toEqual(values);
    expect(store.changesOf(2).map((step) => Number(step.after?.['depth_m']))).toEqual(values);
  });

  test('-0 is kept as 0', () => {
    const store = newStore(join(tempFolder(), 'a.gasplat'));
    store.change('x', 'x', (tx) => tx.insert('probe', newProbe('P1', { driven_x: -0, driven_y: 1 })));
    expect(Object.is(store.rows('probe')[0]?.driven_x, 0)).toBe(true);
    expect(store.verifyRecord()).toMatchObject({ intact: true });
  });
});

describe('a record tampered with', () => {
  const tamper = (sql: string): string => {
    const path = smallProject(tempFolder());
    const db = new Database(path);
    db.exec('PRAGMA foreign_keys = OFF; PRAGMA ignore_check_constraints = ON');
    const triggers = db.prepare("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").all() as {
      name: string;
      sql: string;
    }[];
    for (const { name } of triggers) db.exec(`DROP TRIGGER ${name}`);
    db.exec(sql);
    for (const trigger of triggers) db.exec(trigger.sql);
    db.close();
    return path;
  };

  test.each([
    ['a summary', "UPDATE record SET summary = 'nothing' WHERE seq = 5", 5],
    ['a value', "UPDATE record SET changes_json = replace(changes_json, '11', '12') WHERE seq = 4", 4],
    ['a time', "UPDATE record SET at_utc = '2020-01-01T00:00:00.000Z' WHERE seq = 6", 6],
    ['an entry taken out', 'DELETE FROM record WHERE seq = 7', 8],
    [
      'an entry taken out and the rest moved up',
      'DELETE FROM record WHERE seq = 7; UPDATE record SET seq = seq - 1 WHERE seq > 7',
      7,
    ],
    ['the name of who did it', "UPDATE actor SET name = 'Somebody Else'", 1],
    ['a row', 'UPDATE sample SET radon_kbq_per_m3 = 1 WHERE id = (SELECT min(id) FROM sample)', 2],
    ['a row taken out', 'DELETE FROM sample WHERE id = (SELECT min(id) FROM sample)', 2],
    ['a row put in', "INSERT INTO footprint VALUES ('f', 'x', '[]')", null],
    ['entries cut off the end', 'DELETE FROM record WHERE seq > 9', null],
    ['the name of a kept file', "UPDATE attachment SET name = 'other.csv'", 14],
  ])('%s', (_, sql, seq) => {
    const path = tamper(sql);
    const refusal = refusalOf(() => openProject(path, { actor: 'Bo' }));
    expect(refusal).toMatchObject({ code: 'STORE_DAMAGED', details: { seq } });
    const store = openProject(path, { readOnly: true });
    expect(store.verifyRecord()).toMatchObject({ intact: false, seq });
    expect(store.rows('probe')).toHaveLength(12);
    store.close();
  });

  test('the bytes of a kept file', () => {
    const store = openProject(tamper("UPDATE attachment SET bytes = x'00'"), { readOnly: true });
    expect(store.verifyRecord()).toMatchObject({
      intact: false,
      problem: expect.stringContaining('kept file'),
    });
    const [kept] = store.attachments();
    expect(refusalOf(() => store.attachment(kept?.sha256 ?? '')).code).toBe('STORE_DAMAGED');
    store.close();
  });

  test('the database itself refuses to alter it', () => {
    const db = new Database(smallProject(tempFolder()));
    expect(() => db.exec("UPDATE record SET summary = 'x'")).toThrow('append-only');
    expect(() => db.exec('DELETE FROM record')).toThrow('append-only');
    db.close();
  });
});

describe('kept files and results', () => {
  test('a file is kept once, by its hash', () => {
    const store = newStore(join(tempFolder(), 'a.gasplat'));
    const bytes = Buffer.from('label;radon\nP1;12,5\n');
    const hash = store.putAttachment(bytes, 'monday.csv', 'text/csv');
    expect(store.revision).toBe(2);
    expect(store.putAttachment(new Uint8Array(bytes), 'tuesday.csv', 'text/csv')).toBe(hash);
    expect(store.revision).toBe(2);
    expect(store.attachment(hash)).toMatchObject({ name: 'monday.csv', mediaType: 'text/csv' });
    expect(Buffer.from(store.attachment(hash).bytes)).toEqual(bytes);
    expect(store.canUndo()).toBeNull();
    expect(store.verifyRecord()).toMatchObject({ intact: true });
  });

  test('inside a change it stands in the entry, and goes with a failure', () => {
    const store = newStore(join(tempFolder(), 'a.gasplat'));
    const bytes = Buffer.from('x');
    expect(() =>
      store.change('import', 'Import', () => {
        store.putAttachment(bytes, 'a.csv', 'text/csv');
        throw new Error('bad row');
      }),
    ).toThrow('bad row');
    expect(store.attachments()).toEqual([]);
    store.change('import', 'Import', (tx) => {
      const source_attachment = store.putAttachment(bytes, 'a.csv', 'text/csv');
      tx.insert(
        'sample',
        newSample(tx.insert('probe', newProbe('P1')), { source_attachment, source_row: 2 }),
      );
    });
    expect(store.changesOf(2).map((step) => step.table)).toEqual(['attachment', 'probe', 'sample']);
    store.undo();
    expect(store.rows('sample')).toEqual([]);
    store.redo();
    expect(store.attachments()).toHaveLength(1);
    expect(store.verifyRecord()).toEqual({ intact: true, entries: 4 });
  });

  test('results are kept beside the record and can be dropped', () => {
    const path = join(tempFolder(), 'a.gasplat');
    const store = newStore(path);
    store.derivedPut('k1', 'surface', Uint8Array.of(1, 2, 3));
    store.derivedPut('k2', 'class', Uint8Array.of(4));
    store.derivedPut('k1', 'surface', Uint8Array.of(9));
    expect([...(store.derivedGet('k1') ?? [])]).toEqual([9]);
    expect(store.revision).toBe(1);
    store.derivedClear('surface');
    expect(store.derivedGet('k1')).toBeUndefined();
    expect(store.derivedGet('k2')).toBeDefined();
    store.close();
    const db = new Database(path);
    db.exec("UPDATE derived SET value = x'05'");
    db.close();
    const again = openProject(path, { readOnly: true });
    expect(again.derivedGet('k2')).toBeUndefined();
    again.close();
  });
});
