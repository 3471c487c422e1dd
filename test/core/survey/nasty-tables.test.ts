/** Tables as they come from people's programs, whole: what is read, and what is said of the rest. */
import { describe, expect, test } from 'vitest';
import { readTable } from '../../../core/survey/csv-table.ts';
import { draftSamples } from '../../../core/survey/import-samples.ts';
import { LOCAL } from './field-sheet.ts';

const ROWS = Array.from({ length: 10 }, (_, i) => ({
  label: `P${i + 1}`,
  x: 5 + 3 * (i % 5),
  y: 5 + 4 * Math.floor(i / 5),
  radon: Number((20 + 1.7 * i).toFixed(1)),
}));
const RADON = ROWS.map((r) => r.radon);
const HEAD = 'Probe;x (m);y (m);Depth (m);Radon (kBq/m3)';
const comma = (v: number) => String(v).replace('.', ',');
const SEMICOLON = [
  HEAD,
  ...ROWS.map((r) => [r.label, comma(r.x), comma(r.y), '0,8', comma(r.radon)].join(';')),
];
/** With commas and decimal points, and cells of one's own behind. */
const plain = (
  head: string,
  cells: (row: (typeof ROWS)[number], i: number) => readonly (string | number)[],
) => [
  `Probe,x (m),y (m),Depth (m)${head}`,
  ...ROWS.map((r, i) => [r.label, r.x, r.y, 0.8, ...cells(r, i)].join(',')),
];

function read(content: string | Uint8Array) {
  const bytes = typeof content === 'string' ? new TextEncoder().encode(content) : content;
  const table = readTable(bytes, 'day.csv');
  const drafts = draftSamples(table, {}, LOCAL);
  return {
    table,
    drafts,
    radon: drafts.samples.map((s) => s.radonKBqPerM3),
    errors: drafts.issues.filter((i) => i.severity === 'error').map((i) => `${i.row}: ${i.message}`),
    said: drafts.issues.map((i) => i.message).join('\n'),
  };
}

const utf16 = (text: string, big: boolean, mark: boolean) => {
  const units = [...(mark ? '\ufeff' : ''), ...text].map((c) => c.charCodeAt(0));
  const out = new DataView(new ArrayBuffer(2 * units.length));
  for (const [i, unit] of units.entries()) out.setUint16(2 * i, unit, !big);
  return new Uint8Array(out.buffer);
};

describe('every row is read', () => {
  test.each<[string, string | Uint8Array]>([
    ['byte order mark, semicolon, decimal comma', `\ufeff${SEMICOLON.join('\n')}`],
    [
      'UTF-16 with a mark, tabs, Windows line ends',
      utf16(SEMICOLON.join('\r\n').replaceAll(';', '\t'), false, true),
    ],
    ['UTF-16 the other way round, without a mark', utf16(SEMICOLON.join('\n'), true, false)],
    ['carriage returns alone', SEMICOLON.join('\r')],
    [
      'line ends of three kinds in one file',
      SEMICOLON.map((l, i) => l + ['\r\n', '\n', '\r'][i % 3]).join(''),
    ],
    ['a first line that names the delimiter', `sep=;\n${SEMICOLON.join('\n')}`],
    [
      'titles and a merged row above the header',
      ['Field sheet;;;;', 'Place;Place;Place;;Gas', ...SEMICOLON].join('\n'),
    ],
    [
      'empty columns and a header that stands twice',
      plain(',,Radon (kBq/m3),Radon (kBq/m3),', (r) => ['', r.radon, r.radon + 1, '']).join('\n'),
    ],
    [
      'thousands by points, decimals by comma',
      [
        HEAD.replace('kBq', 'Bq'),
        ...ROWS.map(
          (r) =>
            `${r.label};${comma(r.x)};${comma(r.y)};0,8;${Math.trunc(r.radon)}.${String(Math.round((r.radon % 1) * 1000)).padStart(3, '0')},0`,
        ),
      ].join('\n'),
    ],
    [
      'thousands by a narrow space',
      [
        HEAD.replace('kBq', 'Bq'),
        ...ROWS.map(
          (r) =>
            `${r.label};${r.x};${r.y};0,8;${Math.trunc(r.radon)}\u202f${String(Math.round((r.radon % 1) * 1000)).padStart(3, '0')}`,
        ),
      ].join('\n'),
    ],
    [
      'quotes, quoted line breaks, quotes in quotes',
      plain(',Radon (kBq/m3),Remark', (r) => [r.radon, '"said ""wet"",\nthen dry"']).join('\n'),
    ],
  ])('%s', (_what, content) => {
    const { radon, errors } = read(content);
    expect(errors).toEqual([]);
    expect(radon).toHaveLength(10);
    for (const [i, value] of radon.entries()) expect(value).toBeCloseTo(RADON[i] ?? Number.NaN, 9);
  });

  test('a row of units in pCi/L and centimetres', () => {
    const text = [
      'Probe,x,y,Depth,Radon',
      ',m,m,cm,pCi/L',
      ...ROWS.map((r) => `${r.label},${r.x},${r.y},80,${r.radon * 1000}`),
    ];
    const { radon, drafts } = read(text.join('\n'));
    // 1 pCi/L = 37 Bq/m3 exactly.
    for (const [i, value] of radon.entries()) expect(value).toBeCloseTo((RADON[i] ?? 0) * 37, 6);
    expect(drafts.samples[0]?.depthM).toBeCloseTo(0.8, 12);
  });
});

describe('what is no sample is named', () => {
  test('totals and a signature under the table', () => {
    const text = [
      ...plain(',Radon (kBq/m3)', (r) => [r.radon]),
      'Mean,,,,27.7',
      'Total,,,8,277',
      '',
      '"Signed: A. Example"',
    ];
    const { radon, errors } = read(text.join('\n'));
    expect(radon).toHaveLength(10);
    expect(errors).toEqual([
      expect.stringMatching(/^12: .*'Mean' is taken as a row of totals/),
      expect.stringMatching(/^13: .*'Total' is taken as a row of totals/),
      expect.stringMatching(/^15: .*'Signed: A\. Example' has no coordinates/),
    ]);
  });

  test('a second sheet pasted under the first brings its header along', () => {
    const { radon, errors, said } = read([...SEMICOLON.slice(0, 6), HEAD, ...SEMICOLON.slice(6)].join('\n'));
    expect(radon).toEqual(RADON);
    expect(errors).toEqual([]);
    expect(said).toContain('row 7 of day.csv repeats the header of row 1');
  });

  test('not detected in seven spellings: a limit where one is written, never a zero', () => {
    const cells = ['<0.5', 'n.d.', 'ND', '< LOD', 'BDL', '<MDA', '-', '30.2*', '~31', '0.4'];
    const { drafts, errors, said } = read(plain(',Radon (kBq/m3)', (_r, i) => [cells[i] ?? '']).join('\n'));
    expect(drafts.samples.map((s) => s.radonBelowKBqPerM3 ?? s.radonKBqPerM3)).toEqual([
      0.5,
      null,
      null,
      null,
      null,
      null,
      null,
      0.4,
    ]);
    expect(errors).toEqual([expect.stringMatching(/^9: .*'30\.2\*'/), expect.stringMatching(/^10: .*'~31'/)]);
    expect(said).toContain("'< LOD' names no limit, so the sample carries no value");
  });

  test('dates: what can be read one way only is read, the rest is kept as text with the reason', () => {
    const cells: readonly (readonly [cell: string, utc: string | null])[] = [
      ['2026-05-12 07:32', '2026-05-12T07:32:00Z'],
      ['12.05.2026 07:45', '2026-05-12T07:45:00Z'],
      ['13/05/2026 08:15', '2026-05-13T08:15:00Z'],
      ['05/04/2026 07:55', '2026-04-05T07:55:00Z'],
      ['12 May 2026 08:10', '2026-05-12T08:10:00Z'],
      ['"May 12, 2026 9:05 PM"', '2026-05-12T21:05:00Z'],
      ['20260512T0920Z', '2026-05-12T09:20:00Z'],
      ['46154.34', null],
      ['5/14/26 9:00 AM', null],
      ['12 Mai 2026', null],
    ];
    const { drafts, said } = read(
      plain(',Radon (kBq/m3),Taken', (r, i) => [r.radon, cells[i]?.[0] ?? '']).join('\n'),
    );
    expect(drafts.samples.map((s) => s.takenUtc)).toEqual(cells.map(([, utc]) => utc));
    expect(said).toMatch(/'46154\.34' looks like a spreadsheet's day number/);
    expect(said).toMatch(/'5\/14\/26 9:00 AM' has a year of two digits/);
  });

  test('columns cut by spaces, zero bytes, and a million rows are refused with the reason, at once', () => {
    const aligned = ROWS.map((r) => `${r.label}   ${r.x}   ${r.y}   0.8   ${r.radon}`);
    expect(() => read(['Probe   x   y   depth   radon', ...aligned].join('\n'))).toThrow(/only one column/);
    expect(() => read(SEMICOLON.join('\n').replace('P3', 'P\u00003'))).toThrow(/zero bytes/);
    const started = performance.now();
    expect(() => read(`${HEAD}\n${'P1;1;1;0,8;20\n'.repeat(1_000_000)}`)).toThrow(
      /has 1000002 lines, and no more than 250000/,
    );
    expect(performance.now() - started).toBeLessThan(5000);
  });

  test('sixty thousand short rows take time in proportion', () => {
    const started = performance.now();
    const table = readTable(
      new TextEncoder().encode(`${HEAD};Remark\n${'P1;1;1;0,8;20\n'.repeat(60_000)}`),
      'day.csv',
    );
    expect(table.rows).toHaveLength(60_000);
    // A second or two; a look through all issues for each row took over 20.
    expect(performance.now() - started).toBeLessThan(10_000);
  });
});
