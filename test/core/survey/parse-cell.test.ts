import { describe, expect, test } from 'vitest';
import { inferDateOrder, parseDate, parseNumber, parseYesNo } from '../../../core/survey/parse-cell.ts';

describe('numbers', () => {
  test.each([
    ['12', '.', 12],
    [' -3.5 ', '.', -3.5],
    ['+.5', '.', 0.5],
    ['5.', '.', 5],
    ['1.5e-13', '.', 1.5e-13],
    ['1,5E-13', ',', 1.5e-13],
    ['12,5', ',', 12.5],
    ['0,123', ',', 0.123],
    ['1,234', ',', 1.234],
    ['1,234.5', '.', 1234.5],
    ['1.234,5', ',', 1234.5],
    ['1,234,567', '.', 1_234_567],
    ['1 234,5', ',', 1234.5],
    ['1\u00a0234.5', '.', 1234.5],
    ['1\u202f234', '.', 1234],
    ["1'234.5", '.', 1234.5],
    ['\u22125', '.', -5],
  ] as const)("'%s' with '%s' is %d", (cell, decimal, value) => {
    expect(parseNumber(cell, decimal)).toEqual({ kind: 'number', value });
  });

  test.each(['', '-', '–', 'n/a', 'NaN', 'NA', '?'])("'%s' is missing, not zero", (cell) => {
    expect(parseNumber(cell, '.')).toEqual({ kind: 'missing' });
  });

  test.each([
    ['<1', 'below', 1],
    ['< 0.5', 'below', 0.5],
    ['≤2', 'below', 2],
    ['>100', 'above', 100],
  ] as const)("'%s' is %s %d", (cell, kind, value) => {
    expect(parseNumber(cell, '.')).toEqual({ kind, value });
  });

  test('n.d. names no limit', () => {
    expect(parseNumber('n.d.', '.')).toEqual({ kind: 'not-detected' });
  });

  test.each([
    ['1,234', '.', /two ways/],
    ['1.234', ',', /two ways/],
    ['12,5', '.', /decimal sign is '\.'/],
    ['12.5', ',', /decimal sign is ','/],
    ['1.2.3', '.', /more than once/],
    ['1.5,3', '.', /mixes/],
    ['12 5', '.', /not a number/],
    ['abc', '.', /'abc' is not a number/],
    ['12 kBq', '.', /leave the unit to the header/],
    ['1e999', '.', /too large/],
    ['#DIV/0!', '.', /not a number/],
    ['Infinity', '.', /not a number/],
    ['0x10', '.', /text behind/],
  ] as const)("'%s' with '%s' is refused: %s", (cell, decimal, problem) => {
    const parsed = parseNumber(cell, decimal);
    expect(parsed.kind).toBe('bad');
    expect(parsed.kind === 'bad' ? parsed.problem : '').toMatch(problem);
  });
});

test('yes and no words; anything else is neither', () => {
  expect(['yes', 'Y', 'x', 'ja', 'ano', '1', 'TRUE'].map(parseYesNo)).toEqual(Array(7).fill(true));
  expect(['', 'no', '-', 'nein', '0'].map(parseYesNo)).toEqual(Array(5).fill(false));
  expect(parseYesNo('a little')).toBeNull();
});

describe('dates', () => {
  test.each([
    ['2025-03-12', '2025-03-12T00:00:00Z', false],
    ['2025-03-12T09:30', '2025-03-12T09:30:00Z', false],
    ['2025-03-12 09:30:15', '2025-03-12T09:30:15Z', false],
    ['2025-03-12T09:30:00Z', '2025-03-12T09:30:00Z', true],
    ['2025-03-12T00:30:00+02:00', '2025-03-11T22:30:00Z', true],
    ['2025-03-12T23:30:00-0330', '2025-03-13T03:00:00Z', true],
    ['12.03.2025 9:30', '2025-03-12T09:30:00Z', false],
    ['3/25/2025 1:05 PM', '2025-03-25T13:05:00Z', false],
    ['25/3/2025 12:05 am', '2025-03-25T00:05:00Z', false],
    ['3/3/2025', '2025-03-03T00:00:00Z', false],
    ['2025/03/12', '2025-03-12T00:00:00Z', false],
  ])("'%s' is %s", (cell, utc, zoneGiven) => {
    expect(parseDate(cell, 'unknown')).toEqual({ kind: 'date', utc, zoneGiven });
  });

  test('a slashed date that can be read two ways is refused unless the column decides', () => {
    const parsed = parseDate('03/04/2025', 'unknown');
    expect(parsed.kind === 'ambiguous' ? parsed.problem : '').toMatch(/03\/04\/2025.*YYYY-MM-DD/);
    expect(parseDate('03/04/2025', inferDateOrder(['03/04/2025', '03/25/2025']))).toMatchObject({
      utc: '2025-03-04T00:00:00Z',
    });
    expect(parseDate('03/04/2025', inferDateOrder(['25/03/2025']))).toMatchObject({
      utc: '2025-04-03T00:00:00Z',
    });
    expect(inferDateOrder(['25/03/2025', '03/25/2025'])).toBe('unknown');
  });

  test.each([
    '2025-02-30',
    '2025-13-01',
    '32.01.2025',
    '2025-03-12 25:00',
    'yesterday',
    '45728',
    '2025-03-12 noon',
  ])("'%s' is no date", (cell) => {
    expect(parseDate(cell, 'unknown').kind).toBe('bad');
  });
});
