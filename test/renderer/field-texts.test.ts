import { describe, expect, test } from 'vitest';
import type { DayLogEntry } from '../../core/contract/quality.ts';
import { dayLogOf, dayTexts } from '../../renderer/panels/day-texts.ts';
import { NO_TEXTS, questionOf } from '../../renderer/panels/hole-texts.ts';

const LOG: DayLogEntry = {
  day: '2030-05-02',
  crew: 'A. Sample, B. Sample',
  rainMm: 2.5,
  hoursSinceRain: 40,
  surface: 'moist',
  airTemperatureC: -3.5,
  pressureHPa: 1012,
  pumpedMl: 300,
  systemMl: 52.8,
  freshTape: true,
  openingBackground: false,
  closingBackground: null,
  controlProbeId: 'p4',
  note: 'gate locked',
  events: [
    { kind: 'dryer-fresh', atUtc: '2030-05-02T08:05:00Z', note: null },
    { kind: 'leak-failed', atUtc: '2030-05-02T12:10:00Z', note: 'joint; taped anew' },
    { kind: 'dryer-spent', atUtc: '2030-05-03T00:20:00Z', note: null },
  ],
};

describe('the log of a day as it is typed', () => {
  test('comes back as it was, past midnight UTC too, and what is not noted stays so', () => {
    expect(dayLogOf(dayTexts(LOG, ''))).toEqual(LOG);
    const bare = dayLogOf(dayTexts(null, '2030-05-02'));
    expect(bare).toMatchObject({ day: '2030-05-02', crew: null, rainMm: null, freshTape: null, events: [] });
  });

  test('air is typed in °F where the project is in feet: 50 °F are 10 °C', () => {
    expect(dayTexts({ ...LOG, airTemperatureC: 10 }, '', true).air).toBe('50');
    expect(dayLogOf({ ...dayTexts(LOG, ''), air: '50' }, true)).toMatchObject({ airTemperatureC: 10 });
  });

  test.each([
    [{ day: '' }, /Choose the day/],
    [{ rainMm: 'wet' }, /Rain: “wet” is not a number/],
    [{ pressureHPa: '101' }, /Air pressure/],
    [{ events: '9:40; dryer blue' }, /Event 1: write it as/],
    [{ events: '25:00; dryer fresh' }, /Event 1/],
  ])('%j is told', (change, message) => {
    expect(dayLogOf({ ...dayTexts(LOG, ''), ...change })).toMatch(message);
  });
});

describe('what is typed at a hole', () => {
  const texts = { ...NO_TEXTS, probeId: 'p1' };

  test('only what was looked at goes along, radon in the unit shown', () => {
    expect(questionOf({ ...texts, radon: '1000', oxygenPct: '17,5', leakTest: 'failed' }, 'pCi/L')).toEqual({
      probeId: 'p1',
      kind: 'grab',
      sampleId: null,
      // 1000 pCi/L is 37 kBq/m3 by the definition of the curie.
      facts: { radonKBqPerM3: 37, oxygenPct: 17.5, leakTestPassed: false },
      counts: null,
      toCome: [],
    });
  });

  test('intervals to come follow the last one, typed or stored', () => {
    const counts = '60; 300; 1479\n360; 300; 1866';
    expect(questionOf({ ...texts, instrumentId: 'i', counts, moreIntervals: '2' }, 'kBq/m3')).toMatchObject({
      counts: {
        instrumentId: 'i',
        intervals: [{ counts: 1479 }, { startS: 360, lengthS: 300, counts: 1866 }],
      },
      toCome: [
        { startS: 660, lengthS: 300 },
        { startS: 960, lengthS: 300 },
      ],
    });
    const stored = [{ startS: 60, lengthS: 120 }];
    expect(questionOf({ ...texts, sampleId: 's', moreIntervals: '1' }, 'kBq/m3', stored)).toMatchObject({
      sampleId: 's',
      toCome: [{ startS: 180, lengthS: 120 }],
    });
  });

  test.each([
    [{ probeId: '' }, /Choose the probe/],
    [{ oxygenPct: '170' }, /Oxygen: “170” is not a number from 0 to 100/],
    [{ tracerPct: '1' }, /both in the sample and under the shroud/],
    [{ counts: '60; 300; 1479' }, /Choose the instrument/],
    [{ instrumentId: 'i', counts: '60; 300; 14.5' }, /Interval 1/],
  ])('%j is told', (change, message) => {
    expect(questionOf({ ...texts, ...change }, 'kBq/m3')).toMatch(message);
  });
});
