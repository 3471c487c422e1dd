/** What a sheet says of the drawing itself: columns found by their headers, units, and messy cells named. */
import { describe, expect, test } from 'vitest';
import { draftSamples } from '../../../core/survey/import-samples.ts';
import { guessMapping } from '../../../core/survey/sample-columns.ts';
import { LOCAL, table } from './field-sheet.ts';

const HEAD = 'Probe;x;y;Radon (kBq/m3);u (kBq/m3)';

function draftOne(headers: string, cells: string, place = '1;2') {
  return draftSamples(
    table(`${HEAD};${headers}\nP1;${place};30;2;${cells}\n`, { delimiter: ';' }),
    {},
    LOCAL,
  );
}

test('headers people write, each for its field', () => {
  const headers =
    'Pumped volume (L);Dead volume (mL);Flow (mL/min);Air-filled porosity (%);Helium (ppm);Helium under shroud (%);Leak test;Dryer;Tight ground;Leak';
  const read = table(`${HEAD};${headers}\n${'a;'.repeat(14)}a\n`, { delimiter: ';' });
  const found = guessMapping(read.columns);
  expect(Object.fromEntries(Object.entries(found).map(([f, c]) => [f, c.column]))).toMatchObject({
    pumped: 'Pumped volume (L)',
    line: 'Dead volume (mL)',
    flow: 'Flow (mL/min)',
    airPorosity: 'Air-filled porosity (%)',
    tracer: 'Helium (ppm)',
    tracerShroud: 'Helium under shroud (%)',
    leakTest: 'Leak test',
    dryer: 'Dryer',
    tight: 'Tight ground',
    freshAir: 'Leak',
    radon: 'Radon (kBq/m3)',
  });
});

// Litres and per cent are exact; 1.2 % of 20 % is the leak of 6 % of the worked example after DTSC 2015, 4.2.2.2.
test('every note in SI, with a decimal comma', () => {
  const { samples, issues } = draftOne(
    'Pumped volume (L);Dead volume (mL);Flow (L/min);Air-filled porosity (%);Tracer (ppm);Shroud (%);Shut-in test;Desiccant;Tight',
    '0,45;52,8;0,15;25;12000;20;held;spent;no',
    '1,5;2,5',
  );
  expect(issues).toEqual([]);
  expect(samples[0]?.notes).toEqual({
    pumpedMl: 450,
    lineMl: 52.8,
    flowMlPerMin: 150,
    airPorosity: 0.25,
    tracerPct: 1.2,
    tracerShroudPct: 20,
    leakTestPassed: true,
    saidDryerSpent: true,
    saidTight: false,
  });
});

test('an empty cell is not noted, which is never no', () => {
  const { samples } = draftOne('Pumped volume (mL);Leak test;Dryer;Tight;Tracer (%)', ';;;;');
  expect(Object.values(samples[0]?.notes ?? { none: 1 }).every((v) => v === null)).toBe(true);
});

describe('a messy cell is named with file, row and field', () => {
  test.each([
    ['Pumped volume (mL)', '-3', /row 2 of sheet\.csv, column 'Pumped volume \(mL\)'.*negative/],
    ['Pumped volume (L)', '5000', /in another unit than L/],
    ['Flow (mL/min)', 'slow', /'slow' is not a number/],
    ['Air-filled porosity', '25', /no share between 0\.005 and 0\.9; is the column in %/],
    ['Air-filled porosity (%)', '0.25', /is the column a share/],
    ['Tracer under shroud (%)', '0', /no tracer under the shroud/],
    ['Tracer (%)', '130', /between 0 and 100/],
    ['Leak test', 'yes', /does not say which: write passed or failed/],
    ['Dryer', 'maybe', /write fresh or spent/],
    ['Tight', 'rather', /neither yes nor no/],
  ])('%s: %s', (header, cell, message) => {
    const { samples, issues } = draftOne(header, cell);
    expect(samples).toEqual([]);
    expect(issues.find((i) => i.severity === 'error')).toMatchObject({
      file: 'sheet.csv',
      row: 2,
      field: header,
      message: expect.stringMatching(message),
    });
  });

  test('yes and no are understood where the header says what they mean', () => {
    expect(draftOne('Leak test passed', 'yes').samples[0]?.notes.leakTestPassed).toBe(true);
    expect(draftOne('Leak test failed', 'yes').samples[0]?.notes.leakTestPassed).toBe(false);
    expect(draftOne('Dryer spent', 'no').samples[0]?.notes.saidDryerSpent).toBe(false);
    expect(draftOne('Dryer fresh', 'no').samples[0]?.notes.saidDryerSpent).toBe(true);
  });

  test('a tracer under a limit may be there up to it; without a limit it says nothing', () => {
    const below = draftOne('Tracer (%);Shroud (%)', '<0.05;20');
    expect(below.samples[0]?.notes.tracerPct).toBe(0.05);
    expect(below.issues[0]).toMatchObject({ severity: 'warning', row: 2 });
    const silent = draftOne('Tracer (%);Shroud (%)', 'n.d.;20');
    expect(silent.samples[0]?.notes.tracerPct).toBeNull();
    expect(silent.issues[0]?.message).toMatch(/names no limit/);
  });
});

test('draws of the control probe are a grab and its repeats', () => {
  const read = table(`${HEAD};Kind\nC;1;2;30;2;control\nC;1;2;31;2;control\nC;1;2;29;2;Control probe\n`, {
    delimiter: ';',
  });
  const { samples, issues } = draftSamples(read, {}, LOCAL);
  expect(issues).toEqual([]);
  expect(samples.map((s) => s.kind)).toEqual(['grab', 'repeat', 'repeat']);
});

describe('the clock of a column', () => {
  const taken = (header: string, cell: string) => {
    const drafts = draftOne(header, cell);
    return [drafts.samples[0]?.takenUtc, drafts.issues.some((i) => /no time zone/.test(i.message))];
  };

  // Offsets by the definition of ISO 8601: local time is UTC plus the offset.
  test.each([
    ['Taken (UTC)', '2026-05-12 07:30', '2026-05-12T07:30:00Z'],
    ['Taken (GMT)', '12.5.2026 07:30', '2026-05-12T07:30:00Z'],
    ['Taken (UTC+2)', '2026-05-12 07:30', '2026-05-12T05:30:00Z'],
    ['Taken UTC-07:00', '2026-05-12 17:30', '2026-05-13T00:30:00Z'],
    ['Taken (+05:30)', '2026-05-12 07:30', '2026-05-12T02:00:00Z'],
    ['Taken (UTC+2)', '2026-05-12T07:30Z', '2026-05-12T07:30:00Z'],
  ])('%s, %s', (header, cell, utc) => {
    expect(taken(header, cell)).toEqual([utc, false]);
  });

  test('a header that names no clock is said; so is an offset that no clock has', () => {
    expect(taken('Taken', '2026-05-12 07:30')).toEqual(['2026-05-12T07:30:00Z', true]);
    expect(taken('Taken (UTC+20)', '2026-05-12 07:30')).toEqual(['2026-05-12T07:30:00Z', true]);
    expect(taken('Taken (outcome)', '2026-05-12 07:30')[1]).toBe(true);
  });

  test('a row of units may name it', () => {
    const read = table('Probe;x;y;Radon;u;Taken\n-;m;m;kBq/m3;kBq/m3;UTC\nP1;1;2;30;2;2026-05-12 07:30\n', {
      delimiter: ';',
    });
    const drafts = draftSamples(read, {}, LOCAL);
    expect(drafts.samples[0]?.takenUtc).toBe('2026-05-12T07:30:00Z');
    expect(drafts.issues).toEqual([]);
  });
});
