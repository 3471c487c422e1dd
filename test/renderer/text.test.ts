import { describe, expect, test } from 'vitest';
import type { QualityItem, QualityVerdict } from '../../core/contract/quality.ts';
import { mockView } from '../../renderer/dev/mock-project.ts';
import {
  formatMeasured,
  formatNumber,
  formatPercent,
  formatPressure,
  formatScientific,
  formatWithUncertainty,
  groupThousands,
} from '../../renderer/format.ts';
import { axisTicks } from '../../renderer/panels/axis.ts';
import { checkCorners, parseCoordinate, parsePastedCorners } from '../../renderer/panels/corners.ts';
import { withColumn, withUnit } from '../../renderer/panels/ImportForm.tsx';
import { shortRun, takenLabel } from '../../renderer/panels/PlanProposalView.tsx';
import { worstFirst } from '../../renderer/panels/QualityPage.tsx';
import { parseLimits } from '../../renderer/panels/SchemeForm.tsx';
import { filterRows, orderRows, sampleRows } from '../../renderer/panels/sample-rows.ts';
import { semivarianceAt } from '../../renderer/panels/variogram-curve.ts';

describe('numbers', () => {
  test('value and expanded uncertainty end at the same place (GUM 7.2.6: at most two digits)', () => {
    expect(formatWithUncertainty(37.8412, 2.44, 'kBq/m3')).toBe('37.8 ± 4.9');
    expect(formatWithUncertainty(137.2, 8.1, 'kBq/m3')).toBe('137 ± 16');
    expect(formatWithUncertainty(0.5123, 0.0312, 'kBq/m3')).toBe('0.512 ± 0.062');
  });

  test('1 pCi/L is 37 Bq/m3 exactly', () => {
    expect(formatWithUncertainty(37, 1.85, 'pCi/L')).toBe('1000 ± 100');
  });

  test('bounds and missing values say what they are', () => {
    expect(formatMeasured({ kind: 'atLeast', boundKBqPerM3: 12.04 }, 'kBq/m3')).toBe('≥ 12.0');
    expect(formatMeasured({ kind: 'atMost', boundKBqPerM3: 0.8 }, 'kBq/m3')).toBe('< 0.800');
    expect(formatMeasured({ kind: 'none', reason: 'water' }, 'kBq/m3')).toBe('water');
  });

  test('minus is a minus, not a number is a dash, nothing is an exponent', () => {
    expect(formatNumber(-0.00123)).toBe('−0.00123');
    expect(formatNumber(Number.NaN)).toBe('–');
    expect(formatNumber(1_234_567)).toBe('1234567');
    expect(formatScientific(4.8e-12)).toBe('4.8 × 10⁻¹²');
    expect(groupThousands('5540216.60')).toBe('5\u202f540\u202f216.60');
  });

  test('small chances are not called none', () => {
    expect([0, 0.004, 0.5, 0.997, 1].map(formatPercent)).toEqual(['0 %', '< 1 %', '50 %', '> 99 %', '100 %']);
  });

  test('axis ticks are round and reach the end', () => {
    expect(axisTicks(10, 5)).toEqual([0, 2, 4, 6, 8, 10]);
    expect(axisTicks(0.3, 3)).toEqual([0, 0.1, 0.2, 0.3]);
    expect(axisTicks(0, 4)).toEqual([0]);
  });
});

describe('corners', () => {
  test('numbers with comma, point, or spaces between thousands', () => {
    expect(parseCoordinate('512305,5')).toBe(512305.5);
    expect(parseCoordinate(' 5 540 204.92 ')).toBe(5540204.92);
    expect(parseCoordinate('−12.5')).toBe(-12.5);
    for (const bad of ['', 'x', '1,2,3', '1e5', '12 m']) expect(parseCoordinate(bad)).toBeNull();
  });

  test('pasted lists: tabs, semicolons, decimal commas, leading point numbers', () => {
    expect(parsePastedCorners('1\t10,5\t20,5\n2\t30\t40')).toEqual([
      { x: '10,5', y: '20,5' },
      { x: '30', y: '40' },
    ]);
    expect(parsePastedCorners('A; 10,5; 20,5')).toEqual([{ x: '10,5', y: '20,5' }]);
    expect(parsePastedCorners('10.5, 20.5\r\n30, 40\r\n')).toEqual([
      { x: '10.5', y: '20.5' },
      { x: '30', y: '40' },
    ]);
    expect(parsePastedCorners('10.5,20.5')).toEqual([{ x: '10.5', y: '20.5' }]);
    // A surveyor's list: point, east, north, height; with numbers, with names, with neither.
    const two = [
      { x: '600000', y: '5500000' },
      { x: '600040', y: '5500000' },
    ];
    expect(parsePastedCorners('1 600000 5500000 231.5\n2 600040 5500000 231.9')).toEqual(two);
    expect(parsePastedCorners('7, 600000, 5500000\n8, 600040, 5500000')).toEqual(two);
    expect(parsePastedCorners('B1;600000;5500000;231.5\nB2;600040;5500000;231.9')).toEqual(two);
    expect(parsePastedCorners('600000\t5500000\t231.5\n600040\t5500000\t231.9')).toEqual(two);
    expect(parsePastedCorners('hello')).toBeNull();
  });

  test('a ring needs three corners, numbers only, and is not closed twice', () => {
    const corners = (...points: [string, string][]) => points.map(([x, y]) => ({ x, y }));
    expect(checkCorners(corners(['0', '0'], ['1', '0'])).missing).toBe('1 more corner is needed.');
    expect(checkCorners(corners(['0', '0'], ['1', '0']), 'line').ring).toHaveLength(2);
    expect(checkCorners(corners(['0', '0'], ['1', 'o'], ['1', '1'])).missing).toBe(
      'Corner 2: “o” is not a number.',
    );
    expect(checkCorners(corners(['0', '0'], ['1', '0'], ['1', '1'], ['0', '0'], ['', ''])).ring).toHaveLength(
      3,
    );
  });
});

describe('labels of a layout', () => {
  test('a run is told by its ends, and the first label that is taken is named', () => {
    expect(shortRun(['P1', 'P2', 'P3', 'P4'])).toBe('P1 to P4');
    expect(shortRun(['P1', 'P3', 'P4', 'P5'])).toBe('P1, P3, P4, P5');
    expect(takenLabel(['P1', 'P2'], [{ label: 'p2' }, { label: 'Q1' }])).toBe('P2');
    expect(takenLabel(['P1'], [{ label: 'Q1' }])).toBeNull();
  });
});

describe('entered limits', () => {
  test('rising numbers only', () => {
    expect(parseLimits('10; 50,5  100')).toEqual([10, 50.5, 100]);
    for (const bad of ['', '50; 10', '10; 10', '0; 10', 'ten']) expect(parseLimits(bad)).toBeNull();
  });
});

describe('column mapping', () => {
  test('a column is set, changed with its unit kept, and taken away', () => {
    const one = withUnit(withColumn({}, 'radon', 'Rn'), 'radon', 'Bq/m3');
    expect(one).toEqual({ radon: { column: 'Rn', unit: 'Bq/m3' } });
    expect(withColumn(one, 'radon', 'Rn2')).toEqual({ radon: { column: 'Rn2', unit: 'Bq/m3' } });
    expect(withUnit(one, 'radon', '')).toEqual({ radon: { column: 'Rn' } });
    expect(withColumn(one, 'radon', '')).toEqual({});
  });
});

describe('variogram curve', () => {
  // Formulas as in the contract's note on `rangeM` and any geostatistics handbook (spherical reaches its sill at a).
  test('spherical reaches its sill at the range; exponential is at 1 - 1/e there', () => {
    const model = { nugget: 2, partialSill: 10, rangeM: 20 } as const;
    expect(semivarianceAt({ ...model, kind: 'spherical' }, 20)).toBeCloseTo(12, 12);
    expect(semivarianceAt({ ...model, kind: 'spherical' }, 10)).toBeCloseTo(2 + 10 * 0.6875, 12);
    expect(semivarianceAt({ ...model, kind: 'exponential' }, 20)).toBeCloseTo(
      2 + 10 * (1 - Math.exp(-1)),
      12,
    );
    expect(semivarianceAt({ ...model, kind: 'gaussian' }, 0)).toBe(0);
  });
});

describe('sample table', () => {
  const rows = sampleRows(mockView('/x.gasplat'));
  const labels = (order: Parameters<typeof orderRows>[1]) =>
    orderRows(rows, order).map((row) => row.probe?.label);

  test('sorts by value with bounds at their bound, and what has no value last either way', () => {
    const rising = labels({ key: 'radon', descending: false });
    expect(rising[0]).toBe('P03');
    expect(rising.at(-1)).toBe('P11');
    expect(labels({ key: 'radon', descending: true }).at(-1)).toBe('P11');
    expect(labels(null)[0]).toBe('P01');
  });

  test('filters say what they leave', () => {
    expect(filterRows(rows, 'findings').map((row) => row.finding)).toEqual([
      'diluted',
      'suspect: dilution',
      'water',
    ]);
    expect(filterRows(rows, 'ruled').map((row) => row.probe?.label)).toEqual(['P17']);
    expect(filterRows(rows, 'not-used')).toHaveLength(3);
  });

  test('quality is read worst first, subjects of one verdict in their own order', () => {
    const item = (id: string, verdict: QualityVerdict): QualityItem => ({
      id,
      verdict,
      what: id,
      value: '',
      limit: '',
      source: '',
      mark: 'confirmed',
      words: '',
    });
    const items = [
      item('a', 'fit'),
      item('b', 'not recorded'),
      item('c', 'look'),
      item('d', 'unfit'),
      item('e', 'look'),
    ];
    expect(worstFirst(items).map((one) => one.id)).toEqual(['d', 'c', 'e', 'b', 'a']);
  });

  test('suction is read in kPa from 1000 Pa up', () => {
    expect([400, 999, 1000, 18100, -2300].map(formatPressure)).toEqual([
      '400 Pa',
      '999 Pa',
      '1 kPa',
      '18.1 kPa',
      '−2.3 kPa',
    ]);
  });
});
