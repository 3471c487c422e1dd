import { readFileSync } from 'node:fs';
import Database from 'better-sqlite3';
import { expect, test } from 'vitest';
import { resourcePath } from '../../core/resources.ts';
import { buildNewest, loadMigrations } from '../../core/store/migrate.ts';
import { RowTables } from '../../core/store/row-tables.ts';
import { TABLES } from '../../core/store/rows.ts';

function newestTables() {
  const db = new Database(':memory:');
  buildNewest(db, loadMigrations());
  return { db, tables: new RowTables(db) };
}

test('every table is strict, and every key that refers to another is checked', () => {
  const { db } = newestTables();
  const tables = db.pragma('table_list') as { name: string; type: string; strict: number }[];
  const ours = tables.filter((table) => table.type === 'table' && !table.name.startsWith('sqlite_'));
  const made = loadMigrations().flatMap(({ sql }) =>
    [...sql.matchAll(/^CREATE TABLE (\w+)/gm)].map((m) => m[1]),
  );
  expect(ours.map((table) => table.name).sort()).toEqual(made.sort());
  expect(ours.filter((table) => table.strict !== 1)).toEqual([]);
  for (const [table, column] of [
    ['sample', 'probe_id'],
    ['sample', 'source_attachment'],
    ['reading', 'sample_id'],
    ['ruling', 'sample_id'],
    ['ruling', 'actor_id'],
    ['placement', 'footprint_id'],
    ['background', 'instrument_id'],
    ['sample', 'instrument_id'],
    ['sample', 'previous_sample_id'],
    ['lot', 'source_attachment'],
    ['record', 'actor_id'],
  ] as const) {
    const keys = db.pragma(`foreign_key_list("${table}")`) as { from: string }[];
    expect(keys.map((key) => key.from)).toContain(column);
  }
});

test('row types name the columns of the tables, with nullability and kind', () => {
  const { db, tables } = newestTables();
  expect(tables.names).toEqual([...TABLES].sort());
  const source = readFileSync(resourcePath('core', 'store', 'rows.ts'), 'utf8');
  for (const table of TABLES) {
    const typeName = `${table.replace(/(^|_)(.)/g, (_, __, letter: string) => letter.toUpperCase())}Row`;
    const body = new RegExp(`interface ${typeName} \\{([^}]*)\\}`).exec(source)?.[1] ?? '';
    const typed = [...body.matchAll(/readonly (\w+): ([^;]+);/g)].map(([, name = '', type = '']) => ({
      name,
      nullable: type.includes('| null'),
      isNumber: /number|Flag01/.test(type),
    }));
    const held = (
      db.pragma(`table_info("${table}")`) as { name: string; type: string; notnull: number; pk: number }[]
    ).map((column) => ({
      name: column.name,
      nullable: column.notnull === 0 && column.pk === 0,
      isNumber: column.type !== 'TEXT',
    }));
    expect({ table, columns: typed }).toEqual({ table, columns: held });
  }
});

test.each([
  ["INSERT INTO probe (id, label, state, added) VALUES ('p', 'P1', 'lost', 0)", 'state'],
  ["INSERT INTO probe (id, label, state, added, driven_x) VALUES ('p', 'P1', 'driven', 0, 1.5)", 'driven_x'],
  [
    "INSERT INTO probe (id, label, state, added, fine_fraction_pct) VALUES ('p', 'P1', 'driven', 0, 101)",
    'fine',
  ],
  [
    "INSERT INTO probe (id, label, state, added, permeability_m2) VALUES ('p', 'P1', 'driven', 0, 0)",
    'permeability',
  ],
  ["INSERT INTO probe (id, label, state, added) VALUES ('p', ' ', 'driven', 0)", 'label'],
  ["INSERT INTO probe (id, label, state, added, depth_m) VALUES ('p', 'P1', 'driven', 0, 'deep')", 'depth_m'],
  ["INSERT INTO attachment VALUES ('abc', 'a', 'b', x'00')", 'sha256'],
])('refuses %s', (sql, part) => {
  const { db } = newestTables();
  expect(() => db.exec(sql)).toThrow(part);
});
