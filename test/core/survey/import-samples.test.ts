import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { classOfPermeabilityBound } from '../../../core/classify/points.ts';
import { schemeById } from '../../../core/classify/scheme.ts';
import type { RowIssue } from '../../../core/contract/requests.ts';
import { AppError } from '../../../core/errors.ts';
import { readTable } from '../../../core/survey/csv-table.ts';
import { draftSamples, type SampleDrafts } from '../../../core/survey/import-samples.ts';
import { LOCAL, PROJECTED, plainRows, type SheetRow, sheet, table } from './field-sheet.ts';

function draft(text: string, context = LOCAL, options = {}): SampleDrafts {
  return draftSamples(table(text), options, context);
}

function errors(drafts: SampleDrafts): RowIssue[] {
  return drafts.issues.filter((i) => i.severity === 'error');
}

/** Every row is either among the samples or named by an error: nothing is lost. */
function expectNothingLost(drafts: SampleDrafts): void {
  const used = new Set(drafts.samples.map((s) => s.source.row));
  const named = new Set(errors(drafts).map((i) => i.row));
  expect(used.size + [...named].filter((r) => r !== null && !used.has(r)).length).toBe(drafts.rowCount);
  expect([...used].some((r) => named.has(r))).toBe(false);
  for (const issue of drafts.issues) expect(issue.file).toBe('sheet.csv');
}

const withRow = (at: number, change: Partial<SheetRow>) =>
  plainRows().map((r, i) => (i === at ? { ...r, ...change } : r));

test('a clean sheet gives one probe and one sample a row, without a word', () => {
  const drafts = draft(sheet(plainRows()));
  expect(drafts.issues).toEqual([]);
  expect([drafts.probes.length, drafts.samples.length, drafts.goodRows]).toEqual([15, 15, 15]);
  expect(drafts.samples[0]).toMatchObject({
    probeLabel: 'P1',
    kind: 'grab',
    depthM: 0.8,
    radonKBqPerM3: 20,
    radonUKBqPerM3: 2,
    source: { file: 'sheet.csv', row: 2 },
  });
  expect(drafts.probes[0]).toMatchObject({ label: 'P1', x: 5, y: 5, state: 'driven', known: false });
});

describe('one bad row is named and left out, all others are kept', () => {
  test.each<[string, Partial<SheetRow>, string, RegExp]>([
    [
      'text in a number',
      { radon: 'lots' },
      'radon (kBq/m3)',
      /row 5 of sheet\.csv, column 'radon.*'lots' is not a number/,
    ],
    [
      'decimal comma under a decimal point',
      { radon: '"30,5"' },
      'radon (kBq/m3)',
      /'30,5'.*decimal sign is '\.'/,
    ],
    ['ambiguous grouping', { radon: '"1,234"' }, 'radon (kBq/m3)', /two ways/],
    ['negative value', { radon: -3 }, 'radon (kBq/m3)', /negative/],
    ['negative uncertainty', { u: -1 }, 'u (kBq/m3)', /negative uncertainty/],
    ['no label', { label: '' }, 'probe', /no probe label/],
    ['no coordinates', { x: '', y: '' }, 'x', /'P4' has no coordinates/],
    ['half a position', { y: '' }, 'y', /only one coordinate.*'y' is empty/],
    ['text in a coordinate', { x: 'north' }, 'x', /'north' is not a number/],
    [
      'far off the lot',
      { x: 4000 },
      'x',
      /'P4' at \(4000, 5\) lies 3960 m off the lot, which is 47 m across/,
    ],
  ])('%s', (_name, change, field, message) => {
    const drafts = draft(sheet(withRow(3, change)));
    expect(errors(drafts)).toHaveLength(1);
    expect(errors(drafts)[0]).toMatchObject({ row: 5, field, message: expect.stringMatching(message) });
    expect(drafts.samples).toHaveLength(14);
    expectNothingLost(drafts);
  });

  test('a decimal comma in a comma-separated row shifts its cells', () => {
    const drafts = draft(sheet(withRow(3, { radon: '30,5' })));
    expect(errors(drafts)[0]).toMatchObject({
      row: 5,
      message: expect.stringMatching(/7 cells where the header has 6/),
    });
    expect(drafts.samples).toHaveLength(14);
    expectNothingLost(drafts);
  });

  test.each([
    ['-0.8', /above the ground/],
    ['80', /80 m deep.*another unit/],
    ['deep', /not a number/],
  ])('depth %s', (depth, message) => {
    const drafts = draft(`probe,x,y,depth (m),radon (kBq/m3),u\nP1,5,5,${depth},30,2\nP2,9,9,0.8,30,2\n`);
    expect(errors(drafts)).toMatchObject([
      { row: 2, field: 'depth (m)', message: expect.stringMatching(message) },
    ]);
    expect(drafts.samples).toHaveLength(1);
  });
});

describe('labels', () => {
  test('rows of one label are samples of one probe; case and spaces do not matter', () => {
    const text =
      'probe,x,y,radon (kBq/m3),u,kind\nP1,5,5,30,2,\np 1,5.2,5,28,2,\nP1,,,31,2,duplicate\nP1,5,5,0.2,0.1,blank\n';
    const drafts = draft(text);
    expect(errors(drafts)).toEqual([]);
    expect(drafts.probes).toHaveLength(1);
    expect(drafts.samples.map((s) => [s.probeLabel, s.kind])).toEqual([
      ['P1', 'grab'],
      ['P1', 'repeat'],
      ['P1', 'duplicate'],
      ['P1', 'blank'],
    ]);
  });

  test('one label at two places: both rows are named and neither is used', () => {
    const drafts = draft(sheet(withRow(3, { label: 'P1' })));
    expect(errors(drafts).map((i) => [i.row, i.field])).toEqual([
      [2, 'probe'],
      [5, 'probe'],
    ]);
    expect(errors(drafts)[0]?.message).toMatch(
      /duplicate probe id 'P1': rows 2 and 5 put it at two places 15\.0 m apart/,
    );
    expect(drafts.samples).toHaveLength(13);
    expectNothingLost(drafts);
  });

  test('0.5 m apart is still one probe, farther is not', () => {
    const at = (x: number) => draft(`probe,x,y,radon (kBq/m3),u\nP1,5,5,30,2\nP1,${x},5,31,2\n`);
    expect(errors(at(5.5))).toEqual([]);
    expect(errors(at(5.51))).toHaveLength(2);
  });

  test('a probe of the project may come back without coordinates, but not elsewhere', () => {
    const context = { ...LOCAL, knownProbes: [{ label: 'P1', x: 5, y: 5 }] };
    const drafts = draft('probe,x,y,radon (kBq/m3),u\nP1,,,30,2\nP1,9,5,31,2\n', context);
    expect(drafts.probes).toMatchObject([{ label: 'P1', x: 5, y: 5, known: true }]);
    expect(errors(drafts)).toMatchObject([
      { row: 3, message: expect.stringMatching(/already has it 4\.0 m away/) },
    ]);
  });

  test('a planned probe is driven where the row says, or where it was planned', () => {
    const planned = (label: string, x: number, y: number) => ({ label, x, y, isPlanned: true });
    const context = { ...LOCAL, knownProbes: [planned('P1', 5, 5), planned('P2', 15, 5)] };
    const drafts = draft('probe,x,y,radon (kBq/m3),u\nP1,,,30,2\nP2,18,9,31,2\n', context);
    expect(drafts.issues.filter((i) => i.row !== null && i.row > 1)).toEqual([]);
    expect(drafts.probes).toMatchObject([
      { label: 'P1', x: 5, y: 5, known: true, meetsPlan: 'as-planned', state: 'driven' },
      { label: 'P2', x: 18, y: 9, known: true, meetsPlan: 'moved', state: 'driven' },
    ]);
  });

  test('more than 10 m off its plan is a warning, two places in one file are an error', () => {
    const context = { ...LOCAL, knownProbes: [{ label: 'P1', x: 5, y: 5, isPlanned: true }] };
    const far = draft('probe,x,y,radon (kBq/m3),u\nP1,5,15.2,30,2\n', context);
    expect(far.probes).toMatchObject([{ y: 15.2, meetsPlan: 'moved' }]);
    expect(far.issues).toMatchObject([
      { severity: 'warning', row: 2, message: expect.stringMatching(/'P1' was planned 10\.2 m from here/) },
    ]);
    const two = draft('probe,x,y,radon (kBq/m3),u\nP1,5,6,30,2\nP1,5,8,31,2\n', context);
    expect(errors(two)).toMatchObject([
      { row: 2, message: expect.stringMatching(/two places 2\.0 m apart/) },
      { row: 3 },
    ]);
  });

  test('nothing stands at a planned place yet', () => {
    const context = { ...LOCAL, knownProbes: [{ label: 'P1', x: 5, y: 5, isPlanned: true }] };
    expect(draft('probe,x,y,radon (kBq/m3),u\nP9,5,5,30,2\n', context).issues).toEqual([]);
  });

  test('a new sample of a probe that has one is a repeat', () => {
    const known = (hasSamples: boolean) => ({
      ...LOCAL,
      knownProbes: [{ label: 'P1', x: 5, y: 5, hasSamples }],
    });
    const text = 'probe,x,y,radon (kBq/m3),u\nP1,5,5,30,2\n';
    expect(draft(text, known(true)).samples[0]?.kind).toBe('repeat');
    expect(draft(text, known(false)).samples[0]?.kind).toBe('grab');
  });

  test('a row that stands twice letter for letter counts once', () => {
    const drafts = draft(sheet([...plainRows(), ...plainRows().slice(2, 3)]));
    expect(errors(drafts)).toMatchObject([
      { row: 17, message: expect.stringMatching(/row 4 again, letter for letter/) },
    ]);
    expect(drafts.samples).toHaveLength(15);
  });

  test('two labels in one hole are a warning', () => {
    const drafts = draft(sheet(withRow(3, { x: 5.03, y: 5 })));
    expect(drafts.issues).toMatchObject([
      {
        severity: 'warning',
        row: 5,
        message: expect.stringMatching(/'P4' stands in the same place as 'P1' of row 2/),
      },
    ]);
    expect(drafts.samples).toHaveLength(15);
  });
});

describe('coordinates', () => {
  const utm = (turn: boolean) =>
    sheet(
      plainRows().map((r) => {
        const x = 458_300 + Number(r.x);
        const y = 5_548_700 + Number(r.y);
        return { ...r, x: turn ? y : x, y: turn ? x : y };
      }),
      'probe,E,N,depth (m),radon (kBq/m3),u',
    );

  test('in order', () => {
    expect(draft(utm(false), PROJECTED).issues).toEqual([]);
  });

  test('exchanged: the remedy is named once for the file and every row is listed', () => {
    const drafts = draft(utm(true), PROJECTED);
    expect(errors(drafts)[0]).toMatchObject({
      row: null,
      message: expect.stringMatching(
        /15 of 15 points.*x and y look exchanged: map column 'N' to x and column 'E' to y/,
      ),
    });
    expect(errors(drafts)).toHaveLength(16);
    expect(drafts.samples).toEqual([]);
    const mapping = { ...drafts.mapping, x: { column: 'N' }, y: { column: 'E' } };
    expect(draft(utm(true), PROJECTED, { mapping }).samples).toHaveLength(15);
  });

  test('degrees where metres are expected, with a lot and without', () => {
    const degrees = sheet(
      plainRows().map((r) => ({ ...r, x: 14.42 + Number(r.x) / 7e4, y: 50.09 + Number(r.y) / 1e5 })),
    );
    for (const context of [PROJECTED, { ...PROJECTED, lotRing: null }, { ...LOCAL, lotRing: null }]) {
      const drafts = draft(degrees, context);
      expect(errors(drafts)[0]?.message).toMatch(/degrees.*EPSG 4326/);
      expect(drafts.samples).toEqual([]);
    }
  });

  test('metres where degrees are expected, and degrees exchanged', () => {
    const geographic = {
      system: { kind: 'geographic' as const, metresPerUnit: 1, unitLabel: 'deg', name: 'EPSG 4326' },
      lotRing: null,
    };
    expect(errors(draft(utm(false), geographic))[0]?.message).toMatch(/not longitude and latitude/);
    const turned = sheet(plainRows().map((r, i) => ({ ...r, x: 40 + i * 1e-5, y: -105 + i * 1e-5 })));
    expect(errors(draft(turned, geographic))[0]?.message).toMatch(/look exchanged/);
  });

  test('feet for metres', () => {
    const feet = sheet(
      plainRows().map((r) => ({
        ...r,
        x: (458_300 + Number(r.x)) / 0.3048,
        y: (5_548_700 + Number(r.y)) / 0.3048,
      })),
    );
    expect(errors(draft(feet, PROJECTED))[0]?.message).toMatch(/fit the lot when read in feet/);
  });

  test('a header in another unit than the system is said', () => {
    const drafts = draft(sheet(plainRows(), 'probe,x (ft),y (ft),depth (m),radon (kBq/m3),u'));
    expect(drafts.issues.map((i) => [i.severity, i.row, i.field])).toEqual([
      ['warning', 1, 'x (ft)'],
      ['warning', 1, 'y (ft)'],
    ]);
    expect(drafts.issues[0]?.message).toMatch(/headed in ft, while the local grid is in m/);
  });

  test('a probe just outside the lot is kept with a warning; a turned local grid is suspected', () => {
    const near = draft(sheet(withRow(3, { x: 42 })));
    expect(near.issues).toMatchObject([
      { severity: 'warning', row: 5, message: expect.stringMatching(/outside the lot line/) },
    ]);
    const long = {
      ...LOCAL,
      lotRing: [
        [0, 0],
        [60, 0],
        [60, 12],
        [0, 12],
      ] as [number, number][],
    };
    const turned = sheet(plainRows().map((r, i) => ({ ...r, x: 1 + (i % 3) * 4, y: 2 + i * 4 })));
    expect(draft(turned, long).issues).toMatchObject([
      { severity: 'warning', row: null, message: expect.stringMatching(/none when turned round/) },
    ]);
  });

  test('without a lot, a point far from all others is a warning', () => {
    const drafts = draft(sheet(withRow(3, { x: 90_000 })), { ...LOCAL, lotRing: null });
    expect(drafts.issues).toMatchObject([
      { severity: 'warning', row: 5, message: expect.stringMatching(/90 km from the middle/) },
    ]);
  });
});

describe('values', () => {
  const one = (radon: string, u: string, header = 'probe,x,y,radon (kBq/m3),u', options = {}) =>
    draft(`${header}\nP1,5,5,${radon},${u}\nP2,9,9,30,3\n`, LOCAL, options);

  test('a missing uncertainty is allowed, is not zero, and it is said once how it is treated', () => {
    for (const u of ['', '0', '-']) {
      const drafts = one('30', u);
      expect(drafts.samples[0]?.radonUKBqPerM3).toBeNull();
      expect(drafts.issues).toMatchObject([
        {
          severity: 'warning',
          row: 2,
          message: expect.stringMatching(/not taken as zero: 15 % of the value \(k = 1\)/),
        },
      ]);
    }
  });

  test('a coverage factor divides; the one in the header wins', () => {
    expect(one('30', '4', undefined, { coverageFactor: 2 }).samples[0]?.radonUKBqPerM3).toBe(2);
    expect(
      one('30', '6', 'probe,x,y,radon (kBq/m3),U (k=3)', { coverageFactor: 2 }).samples[0]?.radonUKBqPerM3,
    ).toBe(2);
  });

  test('relative uncertainty in per cent', () => {
    expect(one('30', '10', 'probe,x,y,radon (kBq/m3),u (%)').samples[0]?.radonUKBqPerM3).toBeCloseTo(3, 12);
  });

  // Check values 2 and 3 of the trade facts: 1 pCi/L = 37 Bq/m3 exactly (definition of the curie).
  test('pCi/L and Bq/m3 become kBq/m3', () => {
    expect(one('1000', '100', 'probe,x,y,radon (pCi/L),u').samples[0]).toMatchObject({
      radonKBqPerM3: 37,
      radonUKBqPerM3: expect.closeTo(3.7, 12),
    });
    expect(one('1351.4', '1', 'probe,x,y,radon (pCi/L),u').samples[0]?.radonKBqPerM3).toBeCloseTo(50, 2);
    expect(one('30000', '1000', 'probe,x,y,radon (Bq/m3),u').samples[0]?.radonKBqPerM3).toBeCloseTo(30, 12);
  });

  test('not detected with a limit is kept as a limit, without one as no value and said', () => {
    expect(one('<2', '').samples[0]).toMatchObject({ radonKBqPerM3: null, radonBelowKBqPerM3: 2 });
    const bare = one('n.d.', '');
    expect(bare.samples[0]).toMatchObject({ radonKBqPerM3: null, radonBelowKBqPerM3: null, remark: 'n.d.' });
    expect(bare.issues[0]?.message).toMatch(/names no limit/);
  });

  test('water and refusal give no value and lose no row', () => {
    const drafts = draft(
      'probe,x,y,radon (kBq/m3),u,water\nP1,5,5,,,yes\nP2,9,9,water,,\nP3,12,9,refusal,,no\nP4,15,9,,,\n',
    );
    expect(errors(drafts)).toEqual([]);
    expect(drafts.samples.map((s) => s.saidWater)).toEqual([true, true, false, false]);
    expect(drafts.probes.map((p) => p.state)).toEqual(['driven', 'driven', 'refused', 'driven']);
  });

  test('depth in cm and feet, suction in inches of water, gases in ppm', () => {
    const drafts = draft(
      'probe,x,y,depth (cm),radon (kBq/m3),u,suction (in H2O),CO2 (ppm)\nP1,5,5,80,30,2,100,400\n',
      LOCAL,
    );
    expect(drafts.samples[0]?.depthM).toBeCloseTo(0.8, 12);
    // NIST Special Publication 811, appendix B.8: conventional inch of water 2.490 889 E+02 Pa.
    expect(drafts.samples[0]?.suctionPa).toBeCloseTo(24_908.89, 1);
    expect(drafts.samples[0]?.carbonDioxidePct).toBeCloseTo(0.04, 12);
  });

  // NIST Special Publication 811, appendix B.8: conventional mmHg 1.333 224 E+02 Pa, cmH2O 9.806 65 E+01 Pa.
  test.each([
    ['mm Hg', 133.3224],
    ['cm H2O', 98.0665],
    ['mbar', 100],
  ])('suction in %s', (unit, pa) => {
    const drafts = draft(`probe,x,y,radon (kBq/m3),u,suction (${unit})\nP1,5,5,30,2,10\n`, LOCAL);
    expect(drafts.samples[0]?.suctionPa).toBeCloseTo(10 * pa, 3);
  });

  test('a permeability that no ground has, a class that is none, a kind that is none', () => {
    const drafts = draft(
      'probe,x,y,radon (kBq/m3),u,k (m2),permeability class,kind\nP1,5,5,30,2,12,,\nP2,6,5,30,2,,slow,\nP3,7,5,30,2,,,spare\nP4,8,5,30,2,2e-12,High,\n',
    );
    expect(errors(drafts).map((i) => i.row)).toEqual([2, 3, 4]);
    expect(drafts.probes).toMatchObject([{ label: 'P4', permeabilityM2: 2e-12, permeabilityClass: 'high' }]);
  });

  test('a date that can be read two ways is kept as text, a time without zone is said once', () => {
    const drafts = draft(
      'probe,x,y,radon (kBq/m3),u,date\nP1,5,5,30,2,03/04/2025\nP2,6,5,30,2,2025-03-04 10:00\nP3,7,5,30,2,2025-03-04 11:00\n',
    );
    expect(errors(drafts)).toEqual([]);
    expect(drafts.samples[0]).toMatchObject({ takenUtc: null, remark: "taken '03/04/2025'" });
    expect(drafts.samples[1]?.takenUtc).toBe('2025-03-04T10:00:00Z');
    expect(drafts.issues.filter((i) => /taken as UTC/.test(i.message))).toHaveLength(1);
  });
});

test('a missing column keeps every row out and says which', () => {
  const drafts = draft('probe,x,y,depth\nP1,5,5,0.8\n');
  expect(errors(drafts)).toMatchObject([{ row: 1, field: 'radon' }]);
  expect([drafts.goodRows, drafts.samples.length]).toEqual([0, 0]);
});

describe('whatever stands in the file', () => {
  const cell = fc.oneof(
    fc.constantFrom(
      '',
      '1',
      '2,5',
      '2.5',
      '<3',
      'n.d.',
      '-',
      'P1',
      'x',
      '"',
      '#',
      '1e400',
      '-7',
      '12.03.2025',
      'yes',
      '\u00b5',
      '1,234',
    ),
    fc.string({ maxLength: 6 }),
  );

  test('every row is used or named, and the same file gives the same drafts', () => {
    const rows = fc.array(fc.array(cell, { minLength: 6, maxLength: 7 }), { minLength: 1, maxLength: 12 });
    fc.assert(
      fc.property(rows, fc.constantFrom(',' as const, ';' as const, '\t' as const), (cells, delimiter) => {
        const header = ['probe', 'x', 'y', 'depth (m)', 'radon (kBq/m3)', 'u'].join(delimiter);
        const text = [header, ...cells.map((c) => c.join(delimiter))].join('\n');
        let drafts: SampleDrafts;
        try {
          drafts = draftSamples(table(text, { delimiter }), {}, LOCAL);
        } catch (error) {
          // A file of comments or blank rows only is refused as a whole, by our own error.
          expect(error).toBeInstanceOf(AppError);
          return;
        }
        if (errors(drafts).every((i) => i.row !== 1)) expectNothingLost(drafts);
        expect(draftSamples(table(text, { delimiter }), {}, LOCAL)).toEqual(drafts);
      }),
      { numRuns: 300 },
    );
  });

  test('bytes that are no text give our own error or a table', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 200 }), (data) => {
        try {
          expect(readTable(data, 'sheet.csv').rows.length).toBeGreaterThan(0);
        } catch (error) {
          expect(error).toBeInstanceOf(AppError);
        }
      }),
      { numRuns: 300 },
    );
  });
});

test('a reading over the range keeps its row, as a bound: left out it would lower the class', () => {
  const drafts = draft(sheet(withRow(3, { radon: '>400' })));
  expect(errors(drafts)).toEqual([]);
  expect(drafts.samples).toHaveLength(15);
  expect(drafts.samples[3]).toMatchObject({ radonKBqPerM3: null, radonAboveKBqPerM3: 400 });
  expect(drafts.issues).toContainEqual(
    expect.objectContaining({ severity: 'warning', row: 5, message: expect.stringMatching(/lower bound/) }),
  );
});

test('a limit in a cell beside the radon does not cost the row its radon', () => {
  const text = 'probe,x,y,depth (m),radon (kBq/m3),suction (kPa),oxygen (%)\nA,1,1,0.8,90,>25,<0.5\n';
  const drafts = draft(text);
  expect(errors(drafts)).toEqual([]);
  expect(drafts.samples[0]).toMatchObject({ radonKBqPerM3: 90, suctionPa: 25_000, oxygenPct: 0.5 });
  expect(drafts.issues.filter((i) => /is a limit; taken as/.test(i.message))).toHaveLength(2);
});

test('permeability known only as more or less gives its class where one is left, and says so where not', () => {
  const text = (cell: string) =>
    `probe,x,y,depth (m),radon (kBq/m3),permeability (m2)\nA,1,1,0.8,30,${cell}\n`;
  const classOfBound = (side: 'above' | 'below', m2: number) =>
    classOfPermeabilityBound(side, m2, schemeById('czech-building-site-index'));
  const read = (cell: string) => draft(text(cell), LOCAL, { classOfBound });
  // Czech permeability classes (Neznal et al. 2004, from memory): high over 4e-12, low under 4e-13 m2.
  expect(read('>2e-11').probes[0]).toMatchObject({ permeabilityClass: 'high', permeabilityM2: null });
  expect(read('>4e-12').probes[0]?.permeabilityClass).toBe('high');
  expect(read('<1e-14').probes[0]?.permeabilityClass).toBe('low');
  for (const cell of ['>1e-12', '<4e-12']) {
    expect(read(cell).probes[0]?.permeabilityClass).toBeNull();
    expect(read(cell).issues[0]?.message).toMatch(/more than one class/);
  }
});
