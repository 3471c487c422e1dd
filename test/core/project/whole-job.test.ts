import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { EngineEvent } from '../../../core/contract/envelope.ts';
import { polygonsArea } from '../../../core/geo/planar.ts';
import type { Engine } from '../../../core/project/engine.ts';
import { asking, newTestEngine } from './engine-asking.ts';

let folder: string;
let engine: Engine;
let events: EngineEvent[];
const { ask, refused } = asking(() => engine);

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-job-'));
  events = [];
  engine = newTestEngine({ threads: 2, emit: (event) => events.push(event) });
});

afterEach(async () => {
  await engine.close();
  rmSync(folder, { recursive: true, force: true });
});

function file(name: string, content: string): string {
  const path = join(folder, name);
  writeFileSync(path, content);
  return path;
}

const LOT = [
  [1000, 2000],
  [1030, 2000],
  [1030, 2020],
  [1000, 2020],
] as const;

/** 16 probes 6 m apart, 30 to 48 kBq/m3 rising eastwards: third quartile by hand below. */
function gridCsv(): string {
  const rows = [
    'Probe,Easting (m),Northing (m),Depth (m),Soil,Radon (kBq/m3),Standard uncertainty (kBq/m3),Permeability class',
  ];
  for (let i = 0; i < 4; i++) {
    for (let j = 0; j < 4; j++) {
      const value = 30 + 1.2 * (4 * i + j);
      rows.push(
        `G${4 * i + j + 1},${1004 + 6 * i},${2003 + 4.5 * j},0.8,silty sand,${value},${0.05 * value},medium`,
      );
    }
  }
  return `${rows.join('\n')}\n`;
}

async function gridProject() {
  await ask('project.create', {
    path: join(folder, 'a.gasplat'),
    name: 'Grid',
    crs: { kind: 'local', unit: 'm', label: 'stake' },
  });
  await ask('lot.set', { ring: LOT });
  return ask('import.commit', { path: file('grid.csv', gridCsv()), options: {} });
}

describe('the whole job through the engine', () => {
  test('new, lot, import, flags, surface, class, figure, export', async () => {
    const { view, report } = await gridProject();
    expect(report).toMatchObject({ probesAdded: 16, samplesAdded: 16, rowsKnown: 0 });
    expect(report.issues.filter((i) => i.severity === 'error')).toEqual([]);
    expect(view.lotAreaM2).toBeCloseTo(600, 9);
    expect(view.marks.every((m) => m.symbol === 'valid')).toBe(true);

    const surface = await ask('surface.compute', {});
    expect(surface.estimateKBqPerM3.length).toBe(surface.grid.columns * surface.grid.rows);
    const inside = surface.estimateKBqPerM3.filter(Number.isFinite);
    expect(inside.length).toBeGreaterThan(1000);
    expect(Math.min(...inside)).toBeGreaterThan(5);
    expect(Math.max(...inside)).toBeLessThan(95);
    expect(surface.crossValidation.n).toBe(16);
    expect(surface.variogram?.bins.length).toBeGreaterThan(2);
    expect(surface.warnings.join()).toContain('16 points are few');
    expect(events.filter((e) => e.kind === 'progress').length).toBeGreaterThan(2);

    const lotClass = await ask('class.compute', {});
    // Linear n-1 rule on 30, 31.2, ..., 48: rank 1 + 0.75 x 15 = 12.25, so 30 + 1.2 x 11.25 = 43.5.
    expect(lotClass.statisticKBqPerM3).toBeCloseTo(43.5, 9);
    // Between 20 and 70 kBq/m3 at medium permeability (table of decree 422/2016 Sb., annex 26).
    expect(lotClass.classId).toBe('medium');

    const { svg } = await ask('figure.preview', { options: {} });
    expect(svg).toContain('Medium radon index');
    // Decree 422/2016 Sb., annex 26, medium permeability.
    expect(surface.limits.map((l) => l.valueKBqPerM3)).toEqual([20, 70]);
    // What the window fades is what the figure fades: all but the ring of probes, 18 m by 13.5 m, and half a spacing
    // of 4.5 m round it. Plane geometry: A + P b + pi b^2.
    expect(surface.weakGround?.statement).toMatch(/^Weak ground, drawn faded: more than 2\.\d m /);
    const strong = 18 * 13.5 + 2 * (18 + 13.5) * 2.25 + Math.PI * 2.25 ** 2;
    expect(polygonsArea(surface.weakGround?.polygons ?? [])).toBeCloseTo(600 - strong, 0);
    for (const format of ['pdf', 'svg', 'png'] as const) {
      const path = join(folder, `map.${format}`);
      const { bytes } = await ask('figure.save', { path, format, options: { preparedBy: 'Somebody' } });
      expect(readFileSync(path).length).toBe(bytes);
    }
    expect(readFileSync(join(folder, 'map.pdf')).subarray(0, 5).toString()).toBe('%PDF-');
    const csv = join(folder, 'out.csv');
    await ask('export.save', { path: csv, format: 'csv' });
    expect(readFileSync(csv, 'utf8').trim().split('\n')).toHaveLength(17);
  });

  test('what is exported as CSV can be imported again and is known, row for row of value', async () => {
    await gridProject();
    const csv = join(folder, 'out.csv');
    await ask('export.save', { path: csv, format: 'csv' });
    await ask('project.create', {
      path: join(folder, 'b.gasplat'),
      name: 'Again',
      crs: { kind: 'local', unit: 'm', label: 'stake' },
    });
    const { view } = await ask('import.commit', { path: csv, options: {} });
    expect(view.samples.map((s) => s.radonKBqPerM3)).toHaveLength(16);
    expect(view.samples[5]?.radonKBqPerM3).toBe(30 + 1.2 * 5);
  });

  test('an import done twice doubles nothing', async () => {
    await gridProject();
    const { report, view } = await ask('import.commit', { path: join(folder, 'grid.csv'), options: {} });
    expect(report).toMatchObject({ probesAdded: 0, samplesAdded: 0, rowsKnown: 16 });
    expect(view.samples).toHaveLength(16);
  });

  test('a ruling needs a reason, changes the class statistic, is undone and redone', async () => {
    const { view } = await gridProject();
    const top = view.samples.at(-1)?.id ?? '';
    expect(
      (await refused('ruling.set', { sampleIds: [top], verdict: 'leave-out', reason: '  ' })).message,
    ).toContain('reason');
    const ruled = await ask('ruling.set', {
      sampleIds: [top],
      verdict: 'leave-out',
      reason: 'label swapped',
    });
    // What was left out stays on the map: it is never 'no reading'.
    expect(ruled.marks.at(-1)).toMatchObject({
      symbol: 'left-out',
      measured: { kind: 'none', reason: 'left-out' },
      leftOut: { kind: 'value', estimateKBqPerM3: 48 },
    });
    const after = await ask('class.compute', {});
    // 15 values left, 30 to 46.8: rank 11.5, so 30 + 1.2 x 10.5 = 42.6.
    expect(after.statisticKBqPerM3).toBeCloseTo(42.6, 9);
    expect(after.alternatives.find((a) => a.isWithoutRulings)?.statisticKBqPerM3).toBeCloseTo(43.5, 9);
    const undone = await ask('record.undo', {});
    expect(undone.marks.at(-1)?.symbol).toBe('valid');
    expect(undone.canRedo).toContain('Leave out');
    const redone = await ask('record.redo', {});
    expect(redone.marks.at(-1)?.symbol).toBe('left-out');
    const { entries, intact } = await ask('record.list', {});
    expect(intact).toBe(true);
    expect(entries.some((e) => e.command === 'record.undo')).toBe(true);
  });

  test('a surface asked for again is the kept one; a changed setting computes anew', async () => {
    await gridProject();
    const first = await ask('surface.compute', {});
    const again = await ask('surface.compute', {});
    expect(again.seconds).toBe(first.seconds);
    const view = await ask('project.view', {});
    const settings = { ...view.settings, surface: { ...view.settings.surface, method: 'idw' as const } };
    await ask('settings.set', { settings });
    const idw = await ask('surface.compute', {});
    expect(idw.method).toBe('idw');
    expect(idw.standardErrorKBqPerM3.every(Number.isNaN)).toBe(true);
    expect(idw.crossValidation.msdr).toBeNull();
  });

  // The values of the grid lie on a plane, which kriging with a linear drift must give back whatever the model.
  test('a plane of values is the surface, where a linear drift is asked for', async () => {
    await gridProject();
    const view = await ask('project.view', {});
    const model = { kind: 'spherical', nugget: 1, partialSill: 20, rangeM: 8 } as const;
    const surface = { ...view.settings.surface, model, transform: 'none', drift: 'linear' } as const;
    await ask('settings.set', { settings: { ...view.settings, surface } });
    const { estimateKBqPerM3, grid, variogram, crossValidation } = await ask('surface.compute', {});
    expect(variogram?.drift).toBe('linear');
    expect(crossValidation.rmse).toBeLessThan(1e-9);
    const [x0, y0] = view.probes[0]?.positionM ?? [0, 0];
    let compared = 0;
    estimateKBqPerM3.forEach((estimate, cell) => {
      if (Number.isNaN(estimate)) return;
      const x = grid.x0M + grid.cellM * (cell % grid.columns) - x0;
      const y = grid.y0M + grid.cellM * Math.floor(cell / grid.columns) - y0;
      expect(estimate).toBeCloseTo(30 + (4.8 / 6) * x + (1.2 / 4.5) * y, 6);
      compared++;
    });
    expect(compared).toBeGreaterThan(1000);
  });

  test('a job is cancelled, and the engine goes on', async () => {
    await gridProject();
    const id = 1_000;
    const pending = engine.handle({ kind: 'request', id, name: 'surface.compute', input: {} });
    await ask('job.cancel', { requestId: id });
    const reply = await pending;
    expect(reply).toMatchObject({ ok: false, error: { code: 'CANCELLED' } });
    expect((await ask('surface.compute', {})).method).toBe('kriging');
  });

  test('other requests are answered while a surface computes', async () => {
    await gridProject();
    let isDone = false;
    const pending = ask('surface.compute', {}).then(() => {
      isDone = true;
    });
    const view = await ask('project.view', {});
    expect(view.probes).toHaveLength(16);
    expect(isDone).toBe(false);
    await pending;
  });
});

describe('bad input is named, and nothing is lost', () => {
  async function emptyProject() {
    await ask('project.create', {
      path: join(folder, 'a.gasplat'),
      name: 'Bad',
      crs: { kind: 'local', unit: 'm', label: '' },
    });
    return ask('lot.set', { ring: LOT });
  }

  test('a self-crossing lot', async () => {
    await emptyProject();
    const [a, b, c, d] = LOT;
    const error = await refused('lot.set', { ring: [a, c, b, d] });
    expect(error.code).toBe('BAD_INPUT');
    expect(error.message).toMatch(/cross/i);
    expect((await ask('project.view', {})).lotAreaM2).toBeCloseTo(600, 9);
  });

  test('fewer than three values: no surface, and why', async () => {
    await emptyProject();
    const path = file(
      'two.csv',
      'Probe,x,y,Radon (kBq/m3)\nA,1005,2005,20\nB,1010,2010,30\nC,1015,2005,<5\nD,1015,2010,<5\n',
    );
    await ask('import.commit', { path, options: {} });
    const error = await refused('surface.compute', {});
    expect(error).toMatchObject({ code: 'BAD_INPUT' });
    expect(error.message).toContain(
      'at least 3 values; this lot has 2. Not used: C, D: below the detection limit',
    );
    const { svg } = await ask('figure.preview', { options: {} });
    expect(svg).toContain('at least 3 values');
  });

  test('all values equal: a flat surface without an error, said in words', async () => {
    await emptyProject();
    const rows = [0, 1, 2, 3, 4].map((i) => `E${i},${1002 + 5 * i},${2003 + 3 * i},0.8,30,2`);
    const path = file('equal.csv', `Probe,x,y,Depth (m),Radon (kBq/m3),u (kBq/m3)\n${rows.join('\n')}\n`);
    await ask('import.commit', { path, options: {} });
    const surface = await ask('surface.compute', {});
    const inside = surface.estimateKBqPerM3.filter(Number.isFinite);
    expect(Math.min(...inside)).toBeCloseTo(30, 9);
    expect(Math.max(...inside)).toBeCloseTo(30, 9);
    expect(surface.crossValidation.verdict).toMatch(/equal/);
  });

  test('two probes in one place are averaged or given a nugget, never garbage', async () => {
    await gridProject();
    const path = file('twin.csv', 'Probe,x,y,Depth (m),Radon (kBq/m3),u (kBq/m3)\nTWIN,1004,2003,0.8,60,3\n');
    const { report } = await ask('import.commit', { path, options: {} });
    expect(report.issues.some((i) => i.severity === 'warning' && i.message.includes('TWIN'))).toBe(true);
    const surface = await ask('surface.compute', {});
    expect(surface.estimateKBqPerM3.filter(Number.isFinite).every((v) => v > 0 && v < 120)).toBe(true);
  });

  test('a row with text in a number is left out by name, the others come in, and it can be mended', async () => {
    await emptyProject();
    const bad = 'Probe,x,y,Radon (kBq/m3)\nA,1005,2005,20\nB,1010,2010,lots\n';
    const { report, view } = await ask('import.commit', { path: file('text.csv', bad), options: {} });
    expect(view.samples).toHaveLength(1);
    expect(report.issues).toContainEqual(
      expect.objectContaining({ severity: 'error', file: 'text.csv', row: 3, field: 'Radon (kBq/m3)' }),
    );
    const mended = await ask('import.commit', {
      path: file('text.csv', bad.replace('lots', '33')),
      options: {},
    });
    expect(mended.report).toMatchObject({ samplesAdded: 1, rowsKnown: 1 });
  });

  test('a file that is not there, and a folder that is not', async () => {
    await emptyProject();
    expect(
      (await refused('import.preview', { path: join(folder, 'none.csv'), options: {} })).message,
    ).toContain('none.csv');
    const error = await refused('figure.save', {
      path: join(folder, 'no', 'map.pdf'),
      format: 'pdf',
      options: {},
    });
    expect(error.message).toContain('does not exist');
    expect(existsSync(join(folder, 'no'))).toBe(false);
  });

  test('a coordinate system in degrees is refused before a file is made', async () => {
    const path = join(folder, 'deg.gasplat');
    const error = await refused('project.create', {
      path,
      name: 'Degrees',
      crs: { kind: 'epsg', code: 4326 },
    });
    expect(error.message).toContain('degrees');
    expect(existsSync(path)).toBe(false);
  });

  test('a failed open leaves the open project open', async () => {
    await emptyProject();
    await refused('project.open', { path: file('other.gasplat', 'not a project') });
    expect((await ask('project.view', {})).name).toBe('Bad');
  });
});
