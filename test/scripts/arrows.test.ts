import { spawnSync } from 'node:child_process';
import { cpSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';

/** A line of source in a file of that folder and kind. */
type Case = [folder: string, kind: 'ts' | 'tsx', line: string];

const root = fileURLToPath(new URL('../..', import.meta.url));

const refused: Case[] = [
  ['core/geo', 'ts', "import { app } from 'electron';"],
  ['core/geo', 'ts', "import { useState } from 'react';"],
  ['core/geo', 'ts', "import { jsx } from 'react/jsx-runtime';"],
  ['core/geo', 'ts', "import { createRoot } from 'react-dom/client';"],
  ['core/geo', 'ts', "import maplibre from 'maplibre-gl';"],
  ['core/geo', 'ts', "const map = await import('maplibre-gl');"],
  ['core/geo', 'ts', "import type { X } from '../../electron/bridge.ts';"],
  ['core/cli', 'ts', "import { X } from '../../renderer/map/x.ts';"],
  ['core', 'ts', "export { X } from '../renderer/x.ts';"],
  ['core/geo', 'ts', "import { area } from '@turf/turf';"],
  ['core/geo', 'ts', "import { area } from '@turf/area';"],
  ['core/contract', 'ts', "import { krige } from '../geostat/krige.ts';"],
  ['core/contract', 'ts', "import type { Krige } from '../geostat/krige.ts';"],
  ['core/contract', 'ts', "import { readFileSync } from 'node:fs';"],
  ['core/contract', 'ts', "import Papa from 'papaparse';"],
  ['core/contract', 'ts', "import { app } from 'electron';"],
  ['renderer/map', 'tsx', "import { krige } from '../../core/geostat/krige.ts';"],
  ['renderer/map', 'tsx', "import type { Store } from '../../core/store/store.ts';"],
  ['renderer', 'tsx', "import { main } from '../core/cli/main.ts';"],
  ['renderer', 'tsx', "import { x } from '../electron/preload.ts';"],
  ['renderer', 'tsx', "import { ipcRenderer } from 'electron';"],
  ['renderer', 'tsx', "import { readFileSync } from 'node:fs';"],
  ['renderer', 'tsx', "import Database from 'better-sqlite3';"],
  ['electron', 'ts', "import { App } from '../renderer/App.tsx';"],
  ['electron', 'ts', "import { useState } from 'react';"],
];

const allowed: Case[] = [
  ['core/geo', 'ts', "import { AppError } from '../errors.ts';"],
  ['core/store', 'ts', "import Database from 'better-sqlite3';"],
  ['core/contract', 'ts', "import { z } from 'zod';"],
  ['core/contract', 'ts', "import type { Probe } from './model.ts';"],
  ['core/contract', 'ts', "import { AppError } from '../errors.ts';"],
  ['renderer/map', 'tsx', "import type { Probe } from '../../core/contract/model.ts';"],
  ['renderer', 'tsx', "import { fromWire } from '../core/errors.ts';"],
  ['renderer', 'tsx', "import { toMetres } from '../core/units.ts';"],
  ['renderer', 'tsx', "import { useState } from 'react';"],
  ['renderer', 'tsx', "import maplibre from 'maplibre-gl';"],
  ['electron', 'ts', "import { app } from 'electron';"],
  ['electron', 'ts', "import { openStore } from '../core/store/store.ts';"],
];

/**
 * Lays each line as a file of its own into an empty tree with the repository's biome.json.
 * Returns the cases biome refuses for their import, and how many files it looked at.
 */
function lint(cases: readonly Case[]): { refusedCases: Case[]; checkedFiles: number } {
  const tree = mkdtempSync(join(tmpdir(), 'arrows-'));
  try {
    cpSync(join(root, 'biome.json'), join(tree, 'biome.json'));
    const files = cases.map(([folder, kind], index) => `${folder}/case-${index}.${kind}`);
    for (const [index, [folder, , line]] of cases.entries()) {
      mkdirSync(join(tree, folder), { recursive: true });
      writeFileSync(join(tree, files[index] ?? ''), `${line}\n`);
    }
    const biome = join(root, 'node_modules', '@biomejs', 'biome', 'bin', 'biome');
    const args = ['lint', '--only=style/noRestrictedImports', '--max-diagnostics=none', '--reporter=json'];
    const { stdout } = spawnSync(process.execPath, [biome, ...args], { cwd: tree, encoding: 'utf8' });
    const report: {
      summary: { unchanged: number };
      diagnostics: { category: string; location: { path: string } }[];
    } = JSON.parse(stdout);
    const found = report.diagnostics.filter(({ category }) => category === 'lint/style/noRestrictedImports');
    const paths = new Set(found.map(({ location }) => location.path));
    return {
      refusedCases: cases.filter((_, index) => paths.has(files[index] ?? '')),
      checkedFiles: report.summary.unchanged,
    };
  } finally {
    rmSync(tree, { recursive: true });
  }
}

test('biome refuses every import against the arrows, and no other', () => {
  const { refusedCases, checkedFiles } = lint([...refused, ...allowed]);
  expect(refusedCases).toEqual(refused);
  // biome.json itself is one of the files.
  expect(checkedFiles).toBeGreaterThanOrEqual(refused.length + allowed.length);
});
