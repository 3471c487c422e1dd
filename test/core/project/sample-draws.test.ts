/** Permeability from flow and suction, from the imported table to class, export, record and undo. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { drawTestOf } from '../../../core/cli/draw-test-flags.ts';
import type { DrawTest } from '../../../core/contract/draw-test.ts';
import { settingsSchema } from '../../../core/contract/schemas.ts';
import { writeSamplesCsv } from '../../../core/exchange/csv-out.ts';
import { computeClass } from '../../../core/project/classify-lot.ts';
import { setLot, setSettings } from '../../../core/project/edit.ts';
import { permeabilityText } from '../../../core/project/figure-extras.ts';
import { commitImport, previewImport } from '../../../core/project/import-files.ts';
import { newProject } from '../../../core/project/new-project.ts';
import { listRecord } from '../../../core/project/record.ts';
import { buildView } from '../../../core/project/view.ts';
import type { ReportInput } from '../../../core/report/report-model.ts';
import { fieldLog } from '../../../core/report/sections/field.ts';
import type { ProjectStore } from '../../../core/store/open-project.ts';

let folder: string;
let store: ProjectStore;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-draws-'));
  const crs = { kind: 'local', unit: 'm', label: 'Grid' } as const;
  store = newProject({ path: join(folder, 'a.gasplat'), name: 'A', crs, actor: 'tester' });
  const ring = [
    [-5, -5],
    [30, -5],
    [30, 30],
    [-5, 30],
  ] as const;
  setLot(store, ring, null, 'entered');
});

afterEach(() => {
  store.close();
  rmSync(folder, { recursive: true, force: true });
});

const HEADER =
  'Probe,x (m),y (m),Depth (m),Radon (kBq/m3),u (kBq/m3),Flow (mL/min),Suction (Pa),Tight ground,Permeability (m2),Permeability class,Fine fraction (%)';

/** Ground of each probe: flow, suction, tight, k, class, fines. */
function bring(grounds: readonly string[], radon = 25) {
  const path = join(folder, 'samples.csv');
  const rows = grounds.map(
    (ground, i) =>
      `P${i + 1},${5 * (i % 5)},${i - (i % 5)},0.8,${ground.includes('yes') ? '' : radon},1,${ground}`,
  );
  writeFileSync(path, [HEADER, ...rows].join('\n'));
  expect(commitImport(store, path, {})).toMatchObject({ samplesAdded: grounds.length, rowsLeftOut: 0 });
}

function setUp(...more: string[]): DrawTest {
  const { drawTest: kept, ...settings } = buildView(store).settings;
  const drawTest = drawTestOf(more.length === 0 ? STATED : more, kept);
  if (drawTest === undefined) throw new Error('a set-up was expected');
  setSettings(store, { ...settings, drawTest });
  return drawTest;
}

/** F 0.149 m, no line loss, gas at 7 C, metered in the line. */
const STATED = [
  'shape-factor-m=0.149',
  'shape-factor-source=worked example',
  'line-loss-pa=0',
  'line-loss-at-ml-per-min=1000',
  'soil-temperature-c=7',
  'meter-temperature-c=7',
];
const drawsOf = () => buildView(store).samples.map((s) => s.draw);
const DRAWN = '1200,2000,,,,';

test('1200 mL/min at 2 kPa: k, radon potential and class by hand; without a set-up nothing of it', () => {
  bring(Array.from({ length: 15 }, () => DRAWN));
  const before = buildView(store);
  expect(before.samples.every((s) => s.draw === undefined)).toBe(true);
  expect(computeClass(before)).toMatchObject({ permeabilityClass: null, classId: null });
  setUp();
  // mu at 7 C 1.750e-5 Pa s, between 0.01716 and 0.01813 mPa s of Bird, Stewart and Lightfoot, table 1.1-2; Q 2.0e-5
  // m3/s; plain Darcy 1.1745e-12 m2, times 2 x 99 325 / (99 325 + 101 325) as the meter sits in thinner gas (Kirkham 1947).
  const ground = drawsOf()[0]?.ground;
  if (ground?.kind !== 'value') throw new Error('a value was expected');
  expect(Math.abs(ground.permeabilityM2 / (1.1745e-12 * 0.99003) - 1)).toBeLessThan(0.004);
  // GUM 5.1.6, product of powers: 5 % flow, 5 % suction, 10 % shape factor, 4 C of (T^1.7) in the numerator, 0.5 % viscosity.
  const u = Math.hypot(0.05, 0.05, 0.1, (1.7 * 4) / 280.15, 0.005);
  expect(Math.abs(ground.uM2 / ground.permeabilityM2 / u - 1)).toBeLessThan(0.04);
  const found = computeClass(buildView(store));
  // (25 - 1) / (-log10 1.1628e-12 - 10) = 24 / 1.93449 = 12.41: between 10 and 35, medium (Neznal et al. 2004).
  expect(found).toMatchObject({ permeabilityClass: 'medium', classId: 'medium' });
  expect(found.unconfirmed.join()).toContain("as sure as the project's draw test");
  expect(found.permeabilityBasis).toMatch(
    /measured at 15 points, 15 of them from flow and suction of the draw/,
  );

  expect(JSON.stringify(listRecord(store))).toMatch(/draw test: shape factor 0.149 m \(worked example\)/);
  store.undo();
  expect(drawsOf().every((d) => d === undefined)).toBe(true);
  expect(computeClass(buildView(store))).toEqual(computeClass(before));
});

test('the report tells k with u, the set-up, and what of it is standard', () => {
  bring([DRAWN, '0,20000,yes,,,']);
  setUp('cavity-length-mm=50', 'cavity-diameter-mm=12', ...STATED.slice(2));
  const view = buildView(store);
  const text = JSON.stringify(fieldLog({ view, days: [] } as unknown as ReportInput));
  // As in the hand calculation of the command line's test: F 0.1492 m, 1.1612e-12 m2.
  expect(text).toMatch(/1\.16e-12 m² \(draw, u 13 %\)/);
  expect(text).toMatch(/< \d\.\d\de-1[56] m² \(draw\)/);
  expect(text).toMatch(/cavity 50 mm long and 12 mm wide; .*air pressure 1013\.25 hPa \(standard\)/);
  expect(permeabilityText(view.probes[0], view.samples[0]?.draw?.ground ?? undefined)).toBe('1.2e-12 m²');
  expect(drawTestOf(['none'], view.settings.drawTest)).toBeUndefined();
});

test('the line takes its share: laminar loss in step with flow, or by Hagen and Poiseuille', () => {
  bring([DRAWN, '600,1000,,,,']);
  // 500 Pa at 600 mL/min are 1000 Pa at 1200: half of both suctions, so k doubles but for the thinning of the gas.
  setUp(...STATED.slice(0, 2), 'line-loss-pa=500', 'line-loss-at-ml-per-min=600', ...STATED.slice(4));
  const plain = [1.1745e-12 * 2, 1.1745e-12 * 2];
  drawsOf().forEach((d, i) => {
    const k = d?.ground?.kind === 'value' ? d.ground.permeabilityM2 : 0;
    expect(Math.abs(k / (plain[i] ?? 1) - 1)).toBeLessThan(0.02);
  });
  // 128 x 1.750e-5 x 2 m x 2.0e-5 / (pi x 0.002^4) = 1783 Pa of 2000.
  const tube = setUp('tube-length-m=2', 'tube-bore-mm=2');
  expect(tube.line).toEqual({ kind: 'tube', lengthM: 2, boreM: 0.002 });
  const k = drawsOf()[0]?.ground;
  expect(k?.kind === 'value' && k.permeabilityM2 / 1.1745e-12 / (2000 / (2000 - 1783))).toBeCloseTo(1, 1);
  expect(drawsOf()[0]?.notes.join(' ')).toMatch(/half of the suction/);
});

test('bounds stay bounds, water is no tight ground, and what was given wins', () => {
  bring([
    '0,20000,yes,,,', // tight: under 5e-16 m2 or so
    '0,20000,,,,', // no word of the crew: tight or wet
    '3000,5,,,,', // no suction to speak of
    `${'1200,2000,'},3e-11,,`, // k given, far off
    '1200,2000,,,high,', // class given: the draw says medium
    '1200,2000,,1.2e-12,,', // k given, agrees
    '1200,2000,,,,70', // fines say low; the draw, measured, comes before them
    ',2000,,,,', // no flow noted
  ]);
  setUp();
  const draws = drawsOf();
  expect(draws[0]).toMatchObject({ ground: { kind: 'lessThan' }, enters: true });
  // 10 mL/min, 1.667e-7 m3/s, at 20 kPa: plain Darcy 9.79e-16; times 0.8905 (81 325 x 2 / 182 650) and 1 + 1.645 u,
  // u of 5 % suction, 10 % shape factor and 2.5 % temperature.
  const bound = draws[0]?.ground?.kind === 'lessThan' ? draws[0].ground.boundM2 : 0;
  expect(Math.abs(bound / (9.79e-16 * 0.8905 * (1 + 1.645 * 0.115)) - 1)).toBeLessThan(0.03);
  expect(draws[1]).toMatchObject({ ground: { kind: 'lessThan' }, enters: false });
  expect(draws[1]?.notes.join(' ')).toMatch(/Water in the probe would look the same/);
  expect(draws[2]).toMatchObject({ ground: { kind: 'moreThan' }, enters: true });
  expect(draws[3]).toMatchObject({ enters: false });
  expect(draws[3]?.notes.join(' ')).toMatch(/Differs from .*3\.00e-11 m2.* the one given is used/);
  expect(draws[4]?.notes.join(' ')).toMatch(/Differs from .*class high/);
  expect(draws[5]?.notes.join(' ')).toMatch(/agrees/);
  expect(draws[6]).toMatchObject({ ground: { kind: 'value' }, enters: true });
  expect(draws[7]).toBeUndefined();
  // What was given stands as it did.
  expect(buildView(store).probes[3]?.permeabilityM2).toBe(3e-11);
  expect(buildView(store).probes[4]?.permeabilityClass).toBe('high');

  // Out with bounds and doubt, and in again as nothing that was given.
  const view = buildView(store);
  const csv = writeSamplesCsv(view);
  const [head = '', first = '', , third = ''] = csv.replace(/^\uFEFF/, '').split(/\r?\n/);
  const at = (row: string, name: string) => row.split(',')[head.split(',').indexOf(name)];
  expect(at(first, 'k of the draw')).toBe('lessThan');
  expect(Number(at(first, 'k of the draw (m2)'))).toBeCloseTo(bound, 22);
  expect(at(third, 'k of the draw')).toBe('moreThan');
  const back = join(folder, 'back.csv');
  writeFileSync(back, csv);
  expect(readFileSync(back, 'utf8')).toContain('k of the draw (m2)');
  const { mapping } = previewImport(store, back, {});
  expect(JSON.stringify(mapping)).not.toMatch(/of the draw/);
});

test('bounds in the class: more than any limit is high; a quantile that reaches into bounds falls back to classes', () => {
  // 15 points, 5 of them over every gauge. F 0.149, 30 L/min (5.0e-4 m3/s) at under 20 Pa: k over 2.9e-9, far over 4e-12.
  bring([...Array.from({ length: 10 }, () => DRAWN), ...Array.from({ length: 5 }, () => '30000,5,,,,')]);
  setUp();
  const found = computeClass(buildView(store));
  // Third quartile of 15 lies among the 5 highest: high, where the ten values alone would say medium.
  expect(found.permeabilityClass).toBe('high');
  expect(found.permeabilityBasis).toMatch(/10 medium, 5 high.*15 of them from flow and suction/);
  // 25 kBq/m3 at high permeability: 10 to 30 is medium (decree 422/2016 Sb., annex 26).
  expect(found.classId).toBe('medium');
});

test('classes that were given are not lost beside fifteen derived values', () => {
  // Of 22 points 7 are stated as high: the third quartile by rank 16.75 lies between a medium and a high, rounded up.
  bring([...Array.from({ length: 15 }, () => DRAWN), ...Array.from({ length: 7 }, () => ',,,,high,')]);
  setUp();
  const found = computeClass(buildView(store));
  expect(found.permeabilityClass).toBe('high');
  expect(found.permeabilityBasis).toMatch(/15 medium, 7 high/);
});

test('what cannot be a set-up is refused by name', () => {
  expect(() => drawTestOf(['cavity-length-mm=50'], undefined)).toThrow(/needs the cavity/);
  expect(() => drawTestOf(['shape-factor-m=0.1', ...STATED.slice(2)], undefined)).toThrow(/needs its source/);
  expect(() => drawTestOf([...STATED, 'flow-u-pct=x'], undefined)).toThrow(/flow-u-pct takes a number/);
  expect(() => drawTestOf([...STATED, 'colour=1'], undefined)).toThrow(/air-pressure-hpa.*colour=1/s);
  const settings = {
    ...buildView(store).settings,
    drawTest: { ...drawTestOf(STATED, undefined), leastFlowMlPerMin: 0 },
  };
  expect(settingsSchema.safeParse(settings).success).toBe(false);
});
