import Papa from 'papaparse';
import { expect, test } from 'vitest';
import type { ProjectCrs } from '../../../core/contract/model.ts';
import { writeProbesCsv, writeSamplesCsv, writeStakeOutCsv } from '../../../core/exchange/csv-out.ts';
import { readTable } from '../../../core/survey/csv-table.ts';
import { draftSamples } from '../../../core/survey/import-samples.ts';
import { createView } from './fixture.ts';

const UTM: ProjectCrs = { kind: 'epsg', code: 32633 };
const FEET: ProjectCrs = { kind: 'local', unit: 'ft', label: 'stake' };

/** Papa Parse is the independent reader of RFC 4180 here. */
function readBack(text: string): Record<string, string>[] {
  const { data, errors } = Papa.parse<Record<string, string>>(text, { header: true, skipEmptyLines: true });
  expect(errors).toEqual([]);
  return data;
}

test('every record ends in CRLF, with as many fields as the header (RFC 4180, 2.1 to 2.7)', () => {
  const text = writeSamplesCsv(createView(UTM, [600000, 5500000]));
  expect(text.endsWith('\r\n')).toBe(true);
  const { data } = Papa.parse<string[]>(text);
  const records = data.slice(0, -1);
  expect(new Set(records.map((record) => record.length)).size).toBe(1);
  expect(text).toContain('"two lines\nand a ""quote""; 3,5 m off"');
});

test('numbers read back as exactly the same numbers', () => {
  const view = createView(UTM, [600000, 5500000]);
  const rows = readBack(writeSamplesCsv(view));
  expect(Number(rows[0]?.['Radon (kBq/m3)'])).toBe(0.1 + 0.2);
  expect(Number(rows[0]?.['Standard uncertainty (kBq/m3)'])).toBe(0.037 / 3);
  expect(Number(rows[0]?.['Permeability (m2)'])).toBe(1.2e-12);
  expect(rows.map((row) => Number(row['Easting (m)']))).toEqual(
    view.samples.map((s) => view.probes.find((p) => p.id === s.probeId)?.native[0]),
  );
  expect(rows[1]?.['Radon (kBq/m3)']).toBe('<1.5');
  expect(rows[2]?.['Radon (kBq/m3)']).toBe('');
  expect(rows[3]).toMatchObject({
    Treatment: 'leave-out',
    Flags: 'crew-said-fresh-air',
    Ruling: 'leave-out by A. Tester at 2026-05-13T08:00:00Z: rod loose, redrawn',
    'Source file': 'sheet, 1.csv',
    'Source row': '2',
  });
});

test.each([
  ['UTM', UTM, [600000, 5500000]],
  ['local feet', FEET, [0, 0]],
] as const)('what goes out comes in again through the importer: %s', (_, crs, origin) => {
  const plain = createView(crs, origin);
  const view = { ...plain, probes: plain.probes.map((p, i) => ({ ...p, added: i % 2 === 1 })) };
  const table = readTable(new TextEncoder().encode(writeSamplesCsv(view)), 'out.csv');
  const system = {
    kind: 'local',
    metresPerUnit: view.frame.metresPerUnit,
    unitLabel: 'm',
    name: '',
  } as const;
  const drafts = draftSamples(table, {}, { system, lotRing: null });
  expect(drafts.issues.filter((issue) => issue.severity === 'error')).toEqual([]);
  expect(drafts.samples).toHaveLength(view.samples.length);
  drafts.samples.forEach((draft, i) => {
    const { id: _id, probeId, source: _source, ...kept } = view.samples[i] as (typeof view.samples)[number];
    expect(draft).toMatchObject(kept);
    expect(`probe-${draft.probeLabel}`).toBe(probeId);
  });
  for (const draft of drafts.probes) {
    const probe = view.probes.find((p) => p.label === draft.label);
    expect([draft.x, draft.y]).toEqual(probe?.native);
    expect(draft).toMatchObject({
      added: probe?.added,
      soil: probe?.soil,
      permeabilityM2: probe?.permeabilityM2,
      permeabilityClass: probe?.permeabilityClass,
      fineFractionPct: probe?.fineFractionPct,
    });
  }
});

test('what was noted of a drawing goes out and comes in again', () => {
  const plain = createView(FEET, [0, 0]);
  const notes = {
    pumpedMl: 450,
    systemMl: 52.8,
    flowMlPerMin: 150,
    airPorosity: 0.25,
    leakTestPassed: false,
    tracerPct: 1.2,
    tracerShroudPct: 20,
    saidDryerSpent: false,
    saidTight: true,
  };
  const view = { ...plain, samples: plain.samples.map((s, i) => (i === 0 ? { ...s, ...notes } : s)) };
  const table = readTable(new TextEncoder().encode(writeSamplesCsv(view)), 'out.csv');
  const system = { kind: 'local', metresPerUnit: 0.3048, unitLabel: 'ft', name: '' } as const;
  const { samples } = draftSamples(table, {}, { system, lotRing: null });
  const { systemMl: lineMl, ...others } = notes;
  expect(samples[0]?.notes).toEqual({ ...others, lineMl });
  expect(Object.values(samples[1]?.notes ?? {}).filter((v) => v !== null)).toEqual([]);
});

test('probes: one row each, also without a sample, in the unit of the grid', () => {
  const rows = readBack(writeProbesCsv(createView(FEET, [0, 0])));
  expect(rows.map((row) => row['Probe'])).toEqual(['P1', 'P2', 'P3', 'P4']);
  expect(rows[1]).toMatchObject({ 'Easting (ft)': '12.7', Value: 'atMost', 'Radon (kBq/m3)': '1.5' });
  expect(rows[2]).toMatchObject({ Value: 'none', 'Radon (kBq/m3)': '', Treatment: 'no-value' });
  expect(rows[3]).toMatchObject({ State: 'planned', Value: '' });
});

test('stake-out: in the order of walking, on the map where there is one', () => {
  const view = createView(UTM, [617060, 5450380]);
  const rows = readBack(writeStakeOutCsv(view, { order: ['probe-P4', 'probe-P1'] }));
  expect(rows.map((row) => row['Probe'])).toEqual(['P4', 'P1']);
  expect(rows[1]).toMatchObject({ 'Easting (m)': '617063.03', 'Depth (m)': '0.8' });
  // test/reference/projections, point 2: 16.6068, 49.1951 is 617063.4656, 5450387.1286 in EPSG:32633; P1 is 0.44 m west
  expect(Number(rows[1]?.['WGS 84 longitude (deg)'])).toBeCloseTo(16.6068 - 0.4356 / 72_900, 6);
  expect(Number(rows[1]?.['WGS 84 latitude (deg)'])).toBeCloseTo(49.1951, 6);
  const local = readBack(writeStakeOutCsv(createView(FEET, [0, 0])));
  expect(local).toHaveLength(4);
  expect(Object.keys(local[0] ?? {})).toEqual([
    'Probe',
    'State',
    'Added',
    'Easting (ft)',
    'Northing (ft)',
    'Depth (m)',
  ]);
});
