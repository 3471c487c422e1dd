import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import type { Probe, ProjectCrs, Sample } from '../../core/contract/model.ts';
import { importOutline } from '../../core/exchange/import-geometry.ts';
import { makeFrame, type PositionNative } from '../../core/geo/frame.ts';
import { pointInPolygon, validateLot } from '../../core/geo/planar.ts';
import { readTable } from '../../core/survey/csv-table.ts';
import { assessSamples } from '../../core/survey/flags.ts';
import { draftSamples } from '../../core/survey/import-samples.ts';
import { defaultThresholds } from '../../core/survey/thresholds.ts';
import { toMetres } from '../../core/units.ts';

const FOLDER = new URL('../../samples/', import.meta.url);
const LOTS = ['ordinary-lot', 'troubled-lot'] as const;
const SHALLOWEST_M = 0.7;

interface SampleProject {
  readonly invented: boolean;
  readonly name: string;
  readonly crs: ProjectCrs;
  readonly lotFile: string;
  readonly samplesFile: string;
  readonly footprint: { readonly label: string; readonly ring: PositionNative[] };
}

const textOf = (path: string) => readFileSync(new URL(path, FOLDER), 'utf8');

function readProject(lot: string) {
  const project = JSON.parse(textOf(`${lot}/project.json`)) as SampleProject;
  const { crs } = project;
  const table = readTable(
    readFileSync(new URL(`${lot}/${project.samplesFile}`, FOLDER)),
    project.samplesFile,
  );
  const metresPerUnit = crs.kind === 'local' ? toMetres(1, crs.unit) : 1;
  const system = {
    kind: crs.kind === 'local' ? 'local' : 'projected',
    metresPerUnit,
    unitLabel: 'm',
    name: 'test',
  } as const;
  const drafts = draftSamples(table, {}, { system, lotRing: null });
  const probes = drafts.probes.map(
    (p): Probe => ({
      ...p,
      id: p.label,
      added: false,
      native: [p.x, p.y],
      positionM: [p.x * metresPerUnit, p.y * metresPerUnit],
    }),
  );
  const samples = drafts.samples.map((s, i): Sample => ({ ...s, id: `s${i}`, probeId: s.probeLabel }));
  const assessments = assessSamples(samples, probes, [], defaultThresholds(), 0.8);
  return { project, drafts, probes, samples, assessments };
}

function readLot(lot: string): PositionNative[] {
  const { crs, lotFile } = readProject(lot).project;
  if (lotFile.endsWith('.geojson')) {
    const bytes = readFileSync(new URL(`${lot}/${lotFile}`, FOLDER));
    const context = { frame: makeFrame(crs, [0, 0]), lot: null, tie: null };
    return importOutline(bytes, lotFile, 'lot', context).items[0]?.ring ?? [];
  }
  return textOf(`${lot}/${lotFile}`)
    .trim()
    .split('\n')
    .slice(1)
    .map((line): PositionNative => {
      const [, x, y] = line.split(',').map(Number);
      return [x ?? Number.NaN, y ?? Number.NaN];
    });
}

test('running the script again writes the same bytes', () => {
  const out = mkdtempSync(join(tmpdir(), 'samples-'));
  try {
    execFileSync(process.execPath, [fileURLToPath(new URL('make-samples.mjs', FOLDER)), out]);
    for (const lot of LOTS) {
      const written = readdirSync(join(out, lot)).sort();
      expect(written.length).toBe(3);
      for (const file of written) {
        expect(
          readFileSync(join(out, lot, file)).equals(readFileSync(new URL(`${lot}/${file}`, FOLDER))),
        ).toBe(true);
      }
    }
  } finally {
    rmSync(out, { recursive: true });
  }
}, 30_000);

describe.each(LOTS)('%s', (lot) => {
  test('says that it is invented, and every row imports', () => {
    const { project, drafts } = readProject(lot);
    expect(project.invented).toBe(true);
    expect(project.name).toContain('invented');
    expect(textOf(`${lot}/README.md`)).toContain('Invented data');
    expect(drafts.issues.filter((issue) => issue.severity === 'error')).toEqual([]);
    expect(drafts.goodRows).toBe(drafts.rowCount);
    expect(drafts.mapping.radonU?.column).toMatch(/^Standard uncertainty/);
  });

  test('lot of about 0.2 ha; house and probes lie in it', () => {
    const { project, probes } = readProject(lot);
    const unitM = project.crs.kind === 'local' ? toMetres(1, project.crs.unit) : 1;
    const outline = readLot(lot);
    const area = validateLot(outline).areaM2 * unitM ** 2;
    expect(area).toBeGreaterThan(1700);
    expect(area).toBeLessThan(2300);
    for (const point of [...project.footprint.ring, ...probes.map((probe) => probe.native)]) {
      expect(pointInPolygon(point, [outline])).toBe(true);
    }
  });

  test('at least 15 valid values at full depth remain', () => {
    const { assessments, samples } = readProject(lot);
    const valid = assessments.filter((a) => {
      const sample = samples.find((s) => s.id === a.sampleId);
      return a.treatment === 'use' && sample?.kind === 'grab' && (sample.depthM ?? 0) > SHALLOWEST_M;
    });
    expect(valid.length).toBeGreaterThanOrEqual(15);
  });
});

test('the ordinary lot is clean: 20 probes, 22 samples, no flag', () => {
  const { probes, samples, assessments } = readProject('ordinary-lot');
  expect(probes).toHaveLength(20);
  expect(
    samples
      .map((s) => s.kind)
      .sort()
      .slice(0, 2),
  ).toEqual(['blank', 'duplicate']);
  expect(samples).toHaveLength(22);
  expect(assessments.flatMap((a) => a.flags)).toEqual([]);
  const radon = samples.filter((s) => s.kind === 'grab').map((s) => s.radonKBqPerM3 ?? 0);
  expect(Math.min(...radon)).toBeGreaterThan(15);
  expect(Math.max(...radon)).toBeLessThan(60);
});

test('the GeoJSON of the ordinary lot comes back to whole metres within 1 mm', () => {
  for (const [x, y] of readLot('ordinary-lot')) {
    expect(Math.abs(x - Math.round(x))).toBeLessThan(1e-3);
    expect(Math.abs(y - Math.round(y))).toBeLessThan(1e-3);
  }
});

test('the troubled lot tells its story', () => {
  const { probes, samples, assessments } = readProject('troubled-lot');
  expect(probes).toHaveLength(24);
  const labelsWhere = (keep: (a: (typeof assessments)[number]) => boolean) =>
    assessments.filter(keep).map((a) => a.probeId);
  expect(labelsWhere((a) => a.dilution === 'diluted')).toEqual(['T10', 'T19']);
  expect(labelsWhere((a) => a.water === 'water')).toEqual(['T1', 'T2', 'T5']);
  expect(labelsWhere((a) => a.flags.some((f) => f.rule === 'shallow'))).toEqual(['T4', 'T15', 'T22']);
  expect(labelsWhere((a) => a.flags.some((f) => f.rule === 'far-above-neighbours'))).toEqual(['T16']);
  expect(samples.filter((s) => s.saidFreshAir).map((s) => s.probeId)).toEqual(['T10']);
});
