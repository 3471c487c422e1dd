import { describe, expect, test } from 'vitest';
import {
  builtInSchemes,
  listThresholds,
  parseScheme,
  parseSchemeText,
  schemeById,
} from '../../../core/classify/scheme.ts';
import { AppError } from '../../../core/errors.ts';

const czech = schemeById('czech-building-site-index');

/**
 * Every threshold of the scheme with its source. [read]: two Czech testing firms' tables of decree 422/2016 Sb.,
 * annex 26, and the Czech Geological Survey's page; [memory]: recalled from Neznal et al. 2004 (Special Papers 16),
 * not confirmed; [calc]: follows from the formula.
 */
const EXPECTED: Record<string, [value: number, unit: string, mark: string]> = {
  depthM: [0.8, 'm', 'read'],
  shallowestM: [0.5, 'm', 'read'],
  'statistic.p': [0.75, '', 'read'],
  minimumCount: [15, 'points', 'read'],
  'layout.surroundingsM': [5, 'm', 'practice'],
  'layout.widestSpacingM': [10, 'm', 'read'],
  'layout.gridOverM2': [800, 'm2', 'read'],
  'layout.gridSpacingM': [10, 'm', 'read'],
  excludeBelow: [1, 'kBq/m3', 'memory'],
  'table.columns.low.0': [30, 'kBq/m3', 'read'],
  'table.columns.low.1': [100, 'kBq/m3', 'read'],
  'table.columns.medium.0': [20, 'kBq/m3', 'read'],
  'table.columns.medium.1': [70, 'kBq/m3', 'read'],
  'table.columns.high.0': [10, 'kBq/m3', 'read'],
  'table.columns.high.1': [30, 'kBq/m3', 'read'],
  'potential.offset': [1, 'kBq/m3', 'read'],
  'potential.undefinedFromM2': [1e-10, 'm2', 'calc'],
  'potential.limits.0': [10, '', 'memory'],
  'potential.limits.1': [35, '', 'memory'],
  'permeability.limits.0': [4e-13, 'm2', 'memory'],
  'permeability.limits.1': [4e-12, 'm2', 'memory'],
  'permeability.fineFraction.lowAbove': [65, '%', 'memory'],
  'permeability.fineFraction.highBelow': [15, '%', 'memory'],
};

test('the Czech building-site index has exactly these thresholds', () => {
  const found = listThresholds(czech).map(({ field, limit }) => [
    field,
    [limit.value, limit.unit, limit.mark],
  ]);
  expect(Object.fromEntries(found)).toEqual(EXPECTED);
});

test('every threshold of every scheme names a source that the scheme spells out', () => {
  for (const scheme of builtInSchemes()) {
    for (const { limit } of listThresholds(scheme))
      expect(scheme.sources[limit.source]?.length).toBeGreaterThan(10);
  }
});

describe('a scheme file with a fault is refused with file and field', () => {
  const broken = (change: (copy: typeof czech) => void): AppError => {
    const copy = structuredClone(czech);
    change(copy);
    try {
      parseScheme(copy, 'mine.json');
    } catch (error) {
      if (error instanceof AppError) return error;
    }
    throw new Error('no error');
  };
  test.each<[string, (copy: typeof czech) => void, RegExp]>([
    [
      'a limit that is text',
      (c) => Object.assign(c.excludeBelow ?? {}, { value: 'one' }),
      /mine\.json.*excludeBelow\.value/,
    ],
    ['a mark that is none', (c) => Object.assign(c.minimumCount, { mark: 'sure' }), /minimumCount\.mark/],
    ['a key too many', (c) => Object.assign(c, { colour: 'red' }), /colour/],
    ['a missing key', (c) => Reflect.deleteProperty(c, 'border'), /border/],
    [
      'limits that do not rise',
      (c) => Object.assign(c.potential?.limits[1] ?? {}, { value: 5 }),
      /potential\.limits\.1\.value: 5 does not rise above 10/,
    ],
    [
      'a class that is none',
      (c) => Object.assign(c.potential?.limits[0] ?? {}, { classId: 'huge' }),
      /potential\.limits\.0\.classId: 'huge'/,
    ],
    [
      'a class too many',
      (c) => void c.classes.push({ id: 'x', name: 'x', advice: '' }),
      /4 classes need 3 limits/,
    ],
    [
      'a class twice',
      (c) => void c.classes.splice(1, 1, { id: 'low', name: 'x', advice: '' }),
      /class id stands twice/,
    ],
    [
      'a source that is none',
      (c) => Object.assign(c.minimumCount, { source: 'hearsay' }),
      /minimumCount\.source: names source 'hearsay'/,
    ],
    [
      'a grid of no spacing',
      (c) => Object.assign(c.layout ?? {}, { gridSpacingM: null }),
      /layout: gridOverM2 and gridSpacingM stand together/,
    ],
    ['no permeability rule', (c) => Object.assign(c, { permeability: null }), /permeability: is needed/],
  ])('%s', (_name, change, message) => {
    const error = broken(change);
    expect(error).toMatchObject({ code: 'BAD_INPUT', details: { file: 'mine.json' } });
    expect(error.message).toMatch(message);
    expect(error.details.field).toBeTruthy();
  });

  test('no JSON; unknown name', () => {
    expect(() => parseSchemeText('{', 'mine.json')).toThrow(/mine\.json is not JSON/);
    expect(parseSchemeText(JSON.stringify(czech), 'mine.json')).toEqual(czech);
    expect(() => schemeById('nowhere')).toThrow(/no scheme 'nowhere'; there are 'czech-building-site-index'/);
  });
});
