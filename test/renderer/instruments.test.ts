import { describe, expect, test } from 'vitest';
import type { InstrumentEntry } from '../../core/contract/model.ts';
import { entryOf, textsOf } from '../../renderer/panels/instrument-texts.ts';
import { shortRun } from '../../renderer/panels/PlanProposalView.tsx';

const ENTRY: InstrumentEntry = {
  label: 'Cell A',
  detector: 'windows',
  countsPerAlpha: null,
  windows: [
    { id: 'low', countsPerAlpha: { 'Po-218': 0.35, 'Po-214': 0.02 } },
    { id: 'high', countsPerAlpha: { 'Po-214': 0.31 } },
  ],
  chamberMl: 250,
  lineMl: null,
  commonURel: 0.04,
  calibratedOn: '2026-01-15',
  certificate: 'invented 17',
  gasLeft: 0.02,
  gasLeftU: 0.004,
  progenyLeft: null,
  clockOffsetS: -90,
  note: null,
  backgrounds: [
    { window: 'low', counts: 216, liveS: 7200, takenUtc: '2026-05-11T18:00:00Z' },
    { window: 'high', counts: 12, liveS: 7200, takenUtc: null },
  ],
};

describe('an instrument as it is typed', () => {
  test('comes back as it was, and what is not known stays unknown', () => {
    expect(entryOf(textsOf(ENTRY))).toEqual(ENTRY);
  });

  test('takes a decimal comma', () => {
    const typed = { ...textsOf(ENTRY), detector: 'alpha' as const, countsPerAlpha: '0,7', commonUPct: '4,5' };
    expect(entryOf(typed)).toMatchObject({ countsPerAlpha: 0.7, commonURel: 0.045, windows: null });
  });

  test.each([
    [{ label: ' ' }, 'Give it a name.'],
    [{ chamberMl: '' }, 'The volume of the chamber is needed.'],
    [{ gasLeftPct: '200' }, 'Gas left: “200” is not a number from 0 to 100.'],
    [{ windows: 'low; Po-218' }, 'Window 1'],
    [{ backgrounds: 'low; 216; 7200\nlow; many; 7200' }, 'Background 2'],
  ])('%o is told apart', (part, message) => {
    expect(entryOf({ ...textsOf(ENTRY), ...part })).toContain(message);
  });
});

test('a walk along numbers is told as a run, any other in full', () => {
  expect(shortRun(['P1', 'P2', 'P3', 'P4'])).toBe('P1 to P4');
  expect(shortRun(['P1', 'P3', 'P2', 'P4'])).toBe('P1, P3, P2, P4');
  expect(shortRun(['P09', 'P10', 'Q11', 'Q12'])).toBe('P09, P10, Q11, Q12');
});
