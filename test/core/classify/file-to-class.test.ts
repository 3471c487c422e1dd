import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { classify } from '../../../core/classify/classify.ts';
import { schemeById } from '../../../core/classify/scheme.ts';
import type { Probe, Sample } from '../../../core/contract/model.ts';
import type { ClassResult } from '../../../core/contract/results.ts';
import { readTable } from '../../../core/survey/csv-table.ts';
import { assessSamples } from '../../../core/survey/flags.ts';
import { draftSamples } from '../../../core/survey/import-samples.ts';
import { reduceToProbes } from '../../../core/survey/reduce-probes.ts';
import { defaultThresholds } from '../../../core/survey/thresholds.ts';

const LOT = {
  system: { kind: 'local' as const, metresPerUnit: 1, unitLabel: 'm', name: 'the local grid' },
  lotRing: null,
};

/** The whole way from the bytes of a file to the class, with ids by label so that files can be compared. */
function classOfFile(text: string): ClassResult {
  const drafts = draftSamples(readTable(new TextEncoder().encode(text), 'lot.csv'), {}, LOT);
  const probes: Probe[] = drafts.probes.map((d) => ({
    id: d.label,
    label: d.label,
    state: d.state,
    positionM: [d.x, d.y],
    native: [d.x, d.y],
    depthM: d.depthM,
    soil: d.soil,
    fineFractionPct: d.fineFractionPct,
    permeabilityM2: d.permeabilityM2,
    permeabilityClass: d.permeabilityClass,
    note: d.note,
    added: false,
  }));
  const samples: Sample[] = drafts.samples.map((d) => ({
    ...d,
    id: `${d.probeLabel}/${d.kind}`,
    probeId: d.probeLabel,
  }));
  const assessments = assessSamples(samples, probes, [], defaultThresholds(), 0.8);
  const reduce = (which: 'ruled' | 'unruled') => reduceToProbes(assessments, samples, probes, which, 0.8);
  return classify(schemeById('czech-building-site-index'), reduce('ruled'), reduce('unruled'), {
    draws: 200,
  });
}

interface Row {
  readonly label: string;
  readonly x: number;
  readonly y: number;
  readonly radon: number;
  readonly water: boolean;
  readonly oxygen: number;
}

/** Invented: 17 probes, one in water, one leaking. */
const ROWS: readonly Row[] = Array.from({ length: 17 }, (_, i) => ({
  label: `P${i + 1}`,
  x: 5 * (i % 5),
  y: 5 * Math.floor(i / 5),
  radon: i === 7 ? 0.6 : 18 + ((i * 11) % 17) * 2.5,
  water: i === 3,
  oxygen: i === 7 ? 20.8 : 18.4,
}));

interface Style {
  readonly delimiter: string;
  readonly decimal: ',' | '.';
  readonly unit: 'kBq/m3' | 'Bq/m3' | 'pCi/L';
  readonly depthUnit: 'm' | 'cm' | 'ft';
}

function write(rows: readonly Row[], style: Style): string {
  const per = { 'kBq/m3': 1, 'Bq/m3': 1000, 'pCi/L': 1 / 0.037 }[style.unit];
  const depth = { m: 0.8, cm: 80, ft: 0.8 / 0.3048 }[style.depthUnit];
  const n = (v: number) => String(Number(v.toPrecision(12))).replace('.', style.decimal);
  const header = [
    'probe',
    'x',
    'y',
    `depth (${style.depthUnit})`,
    `radon (${style.unit})`,
    'u',
    'O2 (%)',
    'water',
    'permeability class',
  ];
  const lines = rows.map((r) => [
    r.label,
    n(r.x),
    n(r.y),
    n(depth),
    r.water ? '' : n(r.radon * per),
    r.water ? '' : n(r.radon * 0.06 * per),
    n(r.oxygen),
    r.water ? 'yes' : 'no',
    'medium',
  ]);
  return [header, ...lines].map((cells) => cells.join(style.delimiter)).join('\n');
}

const PLAIN: Style = { delimiter: ';', decimal: '.', unit: 'kBq/m3', depthUnit: 'm' };

test('a file gives its class: 15 valid of 17, one in water, one leaking', () => {
  const result = classOfFile(write(ROWS, PLAIN));
  expect(result).toMatchObject({ classId: 'medium', validCount: 15, permeabilityClass: 'medium' });
  expect(result.excluded.map((e) => e.sampleId).sort()).toEqual(['P4/grab', 'P8/grab']);
});

describe('the class does not hang on how the file is written', () => {
  const expected = classOfFile(write(ROWS, PLAIN));

  test('nor on the order of its rows', () => {
    fc.assert(
      fc.property(fc.shuffledSubarray([...ROWS], { minLength: ROWS.length }), (rows) => {
        expect(classOfFile(write(rows, PLAIN))).toEqual(expected);
      }),
      { numRuns: 25 },
    );
  });

  test('nor on its units, decimal sign and delimiter', () => {
    const style = fc.record({
      delimiter: fc.constantFrom(';', '\t', '|'),
      decimal: fc.constantFrom(',' as const, '.' as const),
      unit: fc.constantFrom('kBq/m3' as const, 'Bq/m3' as const, 'pCi/L' as const),
      depthUnit: fc.constantFrom('m' as const, 'cm' as const, 'ft' as const),
    });
    fc.assert(
      fc.property(style, (s) => {
        const result = classOfFile(write(ROWS, s));
        expect(result.classId).toBe(expected.classId);
        expect(result.validCount).toBe(expected.validCount);
        expect(result.excluded.map((e) => e.sampleId)).toEqual(expected.excluded.map((e) => e.sampleId));
        expect(result.statisticKBqPerM3).toBeCloseTo(expected.statisticKBqPerM3 ?? Number.NaN, 8);
        expect(result.cautions).toEqual(expected.cautions);
      }),
      { numRuns: 40 },
    );
  });
});

test('readings over the range are no reason for a low class', () => {
  const rows = Array.from(
    { length: 20 },
    (_, i) => `P${i},${5 * (i % 5)},${i - (i % 5)},0.8,${i < 15 ? 5 : '>40'},0.5,high`,
  );
  const found = classOfFile(
    ['probe,x,y,depth (m),radon (kBq/m3),u (kBq/m3),permeability class', ...rows].join('\n'),
  );
  // Third quartile of 20 values, rank 1 + 0.75 x 19 = 15.25: 5 + 0.25 (40 - 5) = 13.75 at the least, over the limit
  // of 10 kBq/m3 at high permeability; the valid 15 alone say 5 (trade practice: at least 15 valid points).
  expect(found.classId).toBeNull();
  expect(found.range).toContain('high');
  expect(found.decidedBy).toMatch(/P15 at least 40/);
});
