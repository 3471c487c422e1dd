import { describe, expect, test } from 'vitest';
import { partsFor } from '../../scripts/lib/test-parts.mjs';
import { countListed, countPlaywright, countVitest, sumCounts } from '../../scripts/lib/test-results.mjs';

describe('unit tests', () => {
  /** @param {string[]} statuses */
  const file = (...statuses) => ({
    status: statuses.includes('failed') ? 'failed' : 'passed',
    assertionResults: statuses.map((status) => ({ status })),
  });

  test('are counted one by one', () => {
    const report = { testResults: [file('passed', 'failed', 'skipped'), file('passed', 'todo')] };
    expect(countVitest(report, 1)).toEqual({ passed: 2, failed: 1, skipped: 2 });
  });

  test('a file that cannot be loaded is one failure', () => {
    const report = { testResults: [file('passed'), { status: 'failed', assertionResults: [] }] };
    expect(countVitest(report, 1)).toEqual({ passed: 1, failed: 1, skipped: 0 });
  });

  test('a runner that fails with no failed test is one failure', () => {
    expect(countVitest({ testResults: [file('passed')] }, 1)).toEqual({ passed: 1, failed: 1, skipped: 0 });
    expect(countVitest({ testResults: [file('passed')] }, 0)).toEqual({ passed: 1, failed: 0, skipped: 0 });
  });
});

describe('tests of the window', () => {
  /** @param {string} status @param {string} [expectedStatus] */
  const spec = (status, expectedStatus = 'passed') => ({ tests: [{ status, expectedStatus }] });

  test('are counted in suites within suites', () => {
    const report = {
      suites: [{ specs: [spec('expected')], suites: [{ specs: [spec('unexpected'), spec('expected')] }] }],
    };
    expect(countPlaywright(report, 1)).toEqual({ passed: 2, failed: 1, skipped: 0 });
  });

  test('one that never ran failed; one that left itself out is skipped; a flaky one failed', () => {
    const report = { suites: [{ specs: [spec('skipped'), spec('skipped', 'skipped'), spec('flaky')] }] };
    expect(countPlaywright(report, 1)).toEqual({ passed: 0, failed: 2, skipped: 1 });
  });

  test('those that cannot run at all are counted from a listing', () => {
    const suites = [{ specs: [spec('skipped')], suites: [{ specs: [spec('skipped'), spec('skipped')] }] }];
    expect(countListed({ suites })).toBe(3);
    expect(countListed({ suites, errors: [{}] })).toBe(4);
  });

  test('errors outside any test and a crash are failures', () => {
    expect(countPlaywright({ suites: [], errors: [{}, {}] }, 1).failed).toBe(2);
    expect(countPlaywright({ suites: [] }, 137).failed).toBe(1);
  });
});

test('the counts of all runners add up', () => {
  const counts = [
    { passed: 3, failed: 1, skipped: 0 },
    { passed: 10, failed: 0, skipped: 2 },
  ];
  expect(sumCounts(counts)).toEqual({ passed: 13, failed: 1, skipped: 2 });
  expect(sumCounts([])).toEqual({ passed: 0, failed: 0, skipped: 0 });
});

describe('which tests a command line asks for', () => {
  test.each([
    [[], { lint: true, unit: [], app: [] }],
    [['lint'], { lint: true, unit: undefined, app: undefined }],
    [['core'], { lint: false, unit: ['test/core/'], app: undefined }],
    [['app'], { lint: false, unit: undefined, app: [] }],
    [['test/core/geo'], { lint: false, unit: ['test/core/geo'], app: undefined }],
    [['test/app/map.spec.ts'], { lint: false, unit: undefined, app: ['test/app/map.spec.ts'] }],
    [['test\\app\\map.spec.ts'], { lint: false, unit: undefined, app: ['test\\app\\map.spec.ts'] }],
    [['lint', 'core', 'app'], { lint: true, unit: ['test/core/'], app: [] }],
  ])('%j', (args, expected) => {
    expect(partsFor(args)).toEqual(expected);
  });
});
