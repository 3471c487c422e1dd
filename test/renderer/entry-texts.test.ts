import { describe, expect, test } from 'vitest';
import type { SampleEntry } from '../../core/contract/hand-entry.ts';
import type { ProjectView } from '../../core/contract/model.ts';
import { mockView } from '../../renderer/dev/mock-project.ts';
import { type EntryTexts, entryOf, nextTexts, textsOf } from '../../renderer/panels/entry-texts.ts';
import { nextInterval } from '../../renderer/panels/interval-texts.ts';

const UNITS = { radon: 'kBq/m3', feet: false } as const;
const ENTRY: SampleEntry = {
  probeLabel: 'H1',
  place: null,
  soil: null,
  permeabilityClass: null,
  kind: 'grab',
  takenUtc: '2026-05-12T08:30:00.000Z',
  depthM: 0.8,
  radonKBqPerM3: 31.5,
  radonUKBqPerM3: 1.5,
  radonBelowKBqPerM3: null,
  oxygenPct: 18.2,
  carbonDioxidePct: null,
  suctionPa: 900,
  saidFreshAir: false,
  saidWater: true,
  saidTight: false,
  saidRefused: false,
  leakTestPassed: false,
  remark: 'wet',
  instrumentId: 'i1',
  readings: [
    { window: null, startS: 60, lengthS: 600, liveS: null, counts: 900 },
    { window: 'Po-218', startS: 660, lengthS: 600, liveS: 590, counts: 0 },
  ],
  values: [
    { startS: 60, lengthS: 600, liveS: null, radonKBqPerM3: 30.5, uKBqPerM3: 2 },
    { startS: 900, lengthS: 300, liveS: 280, radonKBqPerM3: -0.5, uKBqPerM3: null },
  ],
  ingrowthS: 900,
};

const filled = (fields: Partial<EntryTexts['fields']>, more: Partial<EntryTexts> = {}): EntryTexts => {
  const texts = textsOf(ENTRY, UNITS, 0.8);
  return { ...texts, ...more, fields: { ...texts.fields, ...fields } };
};

test('a sample goes into the fields and back, in the units of the project', () => {
  expect(entryOf(filled({}), UNITS, false).entry).toEqual(ENTRY);
  const units = { radon: 'pCi/L', feet: true } as const;
  const texts = textsOf(ENTRY, units, 0.8);
  // 1 pCi/L = 37 Bq/m3 and 1 ft = 0.3048 m, both exact.
  expect(Number(texts.fields.radon)).toBeCloseTo(31_500 / 37, 5);
  expect(Number(texts.fields.depth)).toBeCloseTo(0.8 / 0.3048, 6);
  expect(entryOf(texts, units, false).entry?.radonKBqPerM3).toBeCloseTo(31.5, 6);
  const over = { ...ENTRY, radonKBqPerM3: null, radonUKBqPerM3: null, radonAboveKBqPerM3: 200 };
  expect(entryOf(textsOf(over, UNITS, 0.8), UNITS, false).entry).toEqual(over);
});

test('an uncertainty is brought to k = 1, an empty field is not known, a decimal comma is one', () => {
  const { entry } = entryOf(
    filled({ radon: '20,5', uncertainty: '3', oxygen: '' }, { k: '1' }),
    UNITS,
    false,
  );
  expect(entry).toMatchObject({ radonKBqPerM3: 20.5, radonUKBqPerM3: 3, oxygenPct: null });
  expect(entryOf(filled({ uncertainty: '3' }), UNITS, false).entry?.radonUKBqPerM3).toBe(1.5);
});

const ROW = { window: '', startS: '', lengthS: '', liveS: '', counts: '', value: '', u: '' };

test.each([
  [filled({ radon: 'x' }), ['radon']],
  [filled({ taken: '2026-02-30 09:00' }), ['taken']],
  [filled({ taken: '12.5.2026 9:00' }), ['taken']],
  [filled({}, { label: ' ' }), ['label']],
  [
    filled({}, { intervals: [{ ...ROW, startS: '0', lengthS: '0', counts: '2.5' }] }),
    ['lengthS 0', 'counts 0'],
  ],
  [filled({}, { intervals: [{ ...ROW, startS: '0', lengthS: '60', u: '1' }] }), ['value 0']],
  [filled({}, { intervals: [{ ...ROW, startS: '0', lengthS: '60', counts: '5', u: '1' }] }), ['value 0']],
  [filled({}, { ingrowthMin: '-3' }), ['ingrowthMin']],
])('a field that cannot be read is named, and nothing is entered', (texts, bad) => {
  const found = entryOf(texts, UNITS, false);
  expect(found.entry).toBeNull();
  expect([...found.bad]).toEqual(bad);
});

test('a time at which nothing was read yet is not entered', () => {
  const intervals = [
    { ...ROW, startS: '0', lengthS: '60', counts: '5' },
    { ...ROW, startS: '60', lengthS: '60' },
  ];
  const { entry } = entryOf(filled({}, { intervals }), UNITS, false);
  expect([entry?.readings.length, entry?.values.length]).toEqual([1, 0]);
});

test('a new probe needs both coordinates', () => {
  expect([...entryOf(filled({ x: '600040' }), UNITS, true).bad]).toEqual(['y']);
  expect(entryOf(filled({ x: '600040', y: '5500008' }), UNITS, true).entry?.place).toEqual([600040, 5500008]);
});

test('a value stands in the row of its counts, and the next row goes on where the last one ends', () => {
  const { intervals } = textsOf(ENTRY, UNITS, 0.8);
  expect(intervals).toMatchObject([
    { startS: '60', counts: '900', value: '30.5', u: '4' },
    { startS: '660', window: 'Po-218', counts: '0', value: '' },
    { startS: '900', liveS: '280', counts: '', value: '-0.5', u: '' },
  ]);
  expect(nextInterval(intervals)).toEqual({ ...ROW, startS: '1200', lengthS: '300', liveS: '280' });
});

describe('the form after a sample', () => {
  const probe = (label: string, state: 'planned' | 'driven') => ({
    ...mockView('x').probes[0],
    id: label,
    label,
    state,
  });
  const follow = (label: string, kind: 'grab' | 'blank', ...probes: ReturnType<typeof probe>[]) =>
    nextTexts(filled({ radon: '20' }, { label, kind }), '0.8', {
      probes: probes as ProjectView['probes'],
      samples: [],
    });

  test.each([
    ['H09', 'grab', [probe('H09', 'driven')], 'H10'],
    ['H1', 'grab', [probe('H1', 'driven'), probe('h2', 'driven')], 'H3'],
    ['H1', 'blank', [probe('H1', 'driven')], 'H1'],
    ['G2', 'grab', [probe('G1', 'planned'), probe('G2', 'driven'), probe('G3', 'planned')], 'G3'],
    ['G2', 'grab', [probe('G1', 'planned'), probe('G2', 'driven')], 'G1'],
    ['by the oak', 'grab', [], ''],
  ] as const)('after %s, a %s, comes %s', (label, kind, probes, next) => {
    expect(follow(label, kind, ...probes).label).toBe(next);
  });

  test('day, instrument and times of intervals go on; nothing that was read does', () => {
    const next = follow('H1', 'grab');
    expect(next).toMatchObject({ instrumentId: 'i1', saidWater: false, remark: '', leakTest: '' });
    expect(next.fields).toMatchObject({ taken: '2026-05-12 ', depth: '0.8', radon: '', oxygen: '' });
    expect(next.intervals.map((r) => [r.startS, r.lengthS, r.counts, r.value])).toEqual([
      ['60', '600', '', ''],
      ['660', '600', '', ''],
      ['900', '300', '', ''],
    ]);
    expect(entryOf({ ...next, fields: { ...next.fields, taken: '' } }, UNITS, false).entry?.readings).toEqual(
      [],
    );
  });
});
