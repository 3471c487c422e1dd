/** An instrument as it is typed, and back. Pure. Shares are typed in per cent. */
import type { DetectorKind, InstrumentEntry, InstrumentWindow } from '../../core/contract/model.ts';
import { trimNumber } from '../format.ts';
import { parseCoordinate } from './corners.ts';

export interface InstrumentTexts {
  readonly label: string;
  readonly detector: DetectorKind;
  readonly countsPerAlpha: string;
  readonly windows: string;
  readonly chamberMl: string;
  readonly lineMl: string;
  readonly commonUPct: string;
  readonly calibratedOn: string;
  readonly certificate: string;
  readonly gasLeftPct: string;
  readonly gasLeftUPct: string;
  readonly progenyLeftPct: string;
  readonly clockOffsetS: string;
  readonly note: string;
  readonly backgrounds: string;
}

function text(value: number | null, factor = 1): string {
  return value === null ? '' : trimNumber(value * factor, 8).replace('\u2212', '-');
}

export function textsOf(entry: InstrumentEntry | null): InstrumentTexts {
  return {
    label: entry?.label ?? '',
    detector: entry?.detector ?? 'alpha',
    countsPerAlpha: text(entry?.countsPerAlpha ?? null),
    windows: (entry?.windows ?? [])
      .map(({ id, countsPerAlpha }) =>
        [id, ...Object.entries(countsPerAlpha).map(([nuclide, share]) => `${nuclide} ${text(share)}`)].join(
          '; ',
        ),
      )
      .join('\n'),
    chamberMl: text(entry?.chamberMl ?? null),
    lineMl: text(entry?.lineMl ?? null),
    commonUPct: text(entry?.commonURel ?? null, 100),
    calibratedOn: entry?.calibratedOn ?? '',
    certificate: entry?.certificate ?? '',
    gasLeftPct: text(entry?.gasLeft ?? null, 100),
    gasLeftUPct: text(entry?.gasLeftU ?? null, 100),
    progenyLeftPct: text(entry?.progenyLeft ?? null, 100),
    clockOffsetS: text(entry?.clockOffsetS ?? 0),
    note: entry?.note ?? '',
    backgrounds: (entry?.backgrounds ?? [])
      .map(({ window, counts, liveS, takenUtc }) =>
        [window, text(counts), text(liveS), takenUtc ?? ''].join('; ').replace(/; $/, ''),
      )
      .join('\n'),
  };
}

const lines = (typed: string): string[] =>
  typed
    .split('\n')
    .map((line) => line.trim())
    .filter((line) => line !== '');
const cells = (line: string): string[] => line.split(/[;\t]/).map((cell) => cell.trim());

function parseWindow(line: string): InstrumentWindow | null {
  const [id = '', ...shares] = cells(line);
  const countsPerAlpha: Record<string, number> = {};
  for (const share of shares) {
    const [, nuclide, typed] = /^(\S+)\s+(\S+)$/.exec(share) ?? [];
    const value = typed === undefined ? null : parseCoordinate(typed);
    if (nuclide === undefined || value === null || value < 0 || value > 1) return null;
    countsPerAlpha[nuclide] = value;
  }
  return id === '' || shares.length === 0 ? null : { id, countsPerAlpha };
}

function parseBackground(line: string): InstrumentEntry['backgrounds'][number] | null {
  const [window = '', countsText = '', liveText = '', taken = ''] = cells(line);
  const [counts, liveS] = [parseCoordinate(countsText), parseCoordinate(liveText)];
  if (window === '' || counts === null || counts < 0 || liveS === null || liveS <= 0) return null;
  return { window, counts, liveS, takenUtc: taken === '' ? null : taken };
}

/** The entry that the texts say, or what is wrong with them, in words. */
export function entryOf(texts: InstrumentTexts): InstrumentEntry | string {
  const wrong: string[] = [];
  const number = (typed: string, what: string, least: number, most: number, factor = 1): number | null => {
    if (typed.trim() === '') return null;
    const value = parseCoordinate(typed);
    if (value !== null && value >= least && value <= most) return value * factor;
    wrong.push(`${what}: “${typed}” is not a number from ${least} to ${most}.`);
    return null;
  };
  const isWindows = texts.detector === 'windows';
  const chamberMl = number(texts.chamberMl, 'Chamber', 0.001, 1e7);
  const entry = {
    label: texts.label.trim(),
    detector: texts.detector,
    countsPerAlpha: isWindows ? null : number(texts.countsPerAlpha, 'Counts per alpha', 0, 1),
    lineMl: number(texts.lineMl, 'Line', 0, 1e7),
    commonURel: number(texts.commonUPct, 'Common uncertainty', 0, 100, 0.01),
    calibratedOn: texts.calibratedOn === '' ? null : texts.calibratedOn,
    certificate: texts.certificate.trim() === '' ? null : texts.certificate.trim(),
    gasLeft: number(texts.gasLeftPct, 'Gas left', 0, 100, 0.01),
    gasLeftU: number(texts.gasLeftUPct, 'Gas left, u', 0, 100, 0.01),
    progenyLeft: number(texts.progenyLeftPct, 'Progeny left', 0, 100, 0.01),
    clockOffsetS: number(texts.clockOffsetS, 'Clock', -4e7, 4e7) ?? 0,
    note: texts.note.trim() === '' ? null : texts.note.trim(),
  };
  if (entry.label === '') wrong.unshift('Give it a name.');
  if (chamberMl === null && texts.chamberMl.trim() === '') wrong.push('The volume of the chamber is needed.');
  if (!isWindows && entry.countsPerAlpha === null && texts.countsPerAlpha.trim() === '')
    wrong.push('Counts per alpha are needed.');
  const windows = lines(texts.windows).map(parseWindow);
  const badWindow = windows.indexOf(null);
  if (isWindows && (windows.length === 0 || badWindow >= 0))
    wrong.push(
      badWindow >= 0
        ? `Window ${badWindow + 1}: write it as “low; Po-218 0.35; Po-214 0.02”, shares from 0 to 1.`
        : 'Name at least one window.',
    );
  const backgrounds = lines(texts.backgrounds).map(parseBackground);
  const badBackground = backgrounds.indexOf(null);
  if (badBackground >= 0)
    wrong.push(`Background ${badBackground + 1}: write it as “window; counts; seconds; time in UTC”.`);
  if (wrong.length > 0) return wrong.join(' ');
  return {
    ...entry,
    chamberMl: chamberMl ?? 0,
    windows: isWindows ? windows.filter((window) => window !== null) : null,
    backgrounds: backgrounds.filter((background) => background !== null),
  };
}
