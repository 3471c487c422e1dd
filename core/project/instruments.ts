/** The register of instruments: what reduces counts, and what is still missing in it. */
import type {
  Instrument,
  InstrumentBackground,
  InstrumentEntry,
  InstrumentWindow,
} from '../contract/model.ts';
import type { Detector } from '../counting/detector.ts';
import { spectrometricWindows, totalAlphaWindow } from '../counting/detector.ts';
import { RADON_CHAIN, THORON_CHAIN } from '../counting/nuclides.ts';
import { AppError } from '../errors.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';
import type { BackgroundRow, InstrumentRow } from '../store/rows.ts';

/** Put in place of a calibration uncertainty that is not stated: an own assumption, wider than usual certificates. */
export const ASSUMED_COMMON_U_REL = 0.1;

const NUCLIDES = new Set<string>(
  [...RADON_CHAIN, ...THORON_CHAIN].filter((m) => m.alphasPerDecay > 0).map((m) => m.id),
);
const ML_PER_M3 = 1e6;

export function detectorOf(row: InstrumentRow): Detector {
  return {
    id: row.id,
    chamberVolumeM3: row.chamber_ml / ML_PER_M3,
    windows: windowsOf(row.detector, row.counts_per_alpha, row.windows_json),
    calibrationURel: row.common_u_rel ?? ASSUMED_COMMON_U_REL,
  };
}

function windowsOf(
  detector: InstrumentRow['detector'],
  countsPerAlpha: number | null,
  windowsJson: string | null,
): Detector['windows'] {
  if (detector === 'alpha') return [totalAlphaWindow(countsPerAlpha ?? 0)];
  if (detector === 'spectrum') return spectrometricWindows(countsPerAlpha ?? 0);
  return JSON.parse(windowsJson ?? '[]') as Detector['windows'];
}

export function windowIdsOf(row: InstrumentRow): string[] {
  return detectorOf(row).windows.map((w) => w.id);
}

/** The window of that name whatever its case; the only one where no name is given; null where there is none. */
export function findWindow(row: InstrumentRow, name: string | null): string | null {
  const ids = windowIdsOf(row);
  if (name === null) return ids.length === 1 ? (ids[0] ?? null) : null;
  return ids.find((id) => id.toLowerCase() === name.toLowerCase()) ?? null;
}

export function listInstruments(store: ReadableStore): Instrument[] {
  const backgrounds = store.rows('background');
  const samples = store.rows('sample');
  const read = new Set(store.rows('reading').map((r) => r.sample_id));
  return store.rows('instrument').map((row) => {
    const own = backgrounds.filter((b) => b.instrument_id === row.id);
    const mine = samples.filter((s) => s.instrument_id === row.id);
    return {
      ...entryOf(row, own),
      id: row.id,
      windowIds: windowIdsOf(row),
      sampleCount: mine.length,
      missing: missingOf(
        row,
        own,
        mine.some((s) => read.has(s.id)),
      ),
    };
  });
}

export function entryOf(row: InstrumentRow, backgrounds: readonly BackgroundRow[]): InstrumentEntry {
  return {
    label: row.label,
    detector: row.detector,
    countsPerAlpha: row.counts_per_alpha,
    windows: row.windows_json === null ? null : (JSON.parse(row.windows_json) as InstrumentWindow[]),
    chamberMl: row.chamber_ml,
    lineMl: row.line_ml,
    commonURel: row.common_u_rel,
    calibratedOn: row.calibrated_on,
    certificate: row.certificate,
    gasLeft: row.gas_left,
    gasLeftU: row.gas_left_u,
    progenyLeft: row.progeny_left,
    clockOffsetS: row.clock_offset_s,
    note: row.note,
    backgrounds: backgrounds.map((b) => ({
      window: b.window,
      counts: b.counts,
      liveS: b.live_s,
      takenUtc: b.taken_utc,
    })),
  };
}

function missingOf(row: InstrumentRow, backgrounds: readonly BackgroundRow[], counts: boolean): string[] {
  const missing: string[] = [];
  if (row.calibrated_on === null) missing.push('no calibration date');
  if (row.certificate === null) missing.push('no certificate named');
  if (row.common_u_rel === null)
    missing.push(
      `no uncertainty of its calibration: ${100 * ASSUMED_COMMON_U_REL} % is assumed (own assumption)`,
    );
  if (!counts) return missing;
  const without = windowIdsOf(row).filter((id) => !backgrounds.some((b) => b.window === id));
  if (backgrounds.length === 0)
    missing.push('no background: without one no limit of detection exists and its counts give no value');
  else if (without.length > 0) missing.push(`no background in the window ${without.join(', ')}`);
  if (row.gas_left === null)
    missing.push('no share of gas left by the sample before: only its progeny are taken off');
  return missing;
}

/** What the register lacks, for the checks of a project. */
export function instrumentWarnings(store: ReadableStore): string[] {
  return listInstruments(store).flatMap((i) =>
    i.missing.length === 0 ? [] : [`Instrument ${i.label}: ${i.missing.join('; ')}.`],
  );
}

/**
 * Enters an instrument, or changes the one of that id. Its backgrounds are replaced by those given.
 * @throws AppError BAD_INPUT for a label in use, a detector that counts nothing, or a background of no window of it
 */
export function setInstrument(
  store: ProjectStore,
  input: { readonly id: string | null; readonly instrument: InstrumentEntry },
): void {
  const { id, instrument } = input;
  const twin = store.rows('instrument').find((r) => r.label.toLowerCase() === instrument.label.toLowerCase());
  if (twin !== undefined && twin.id !== id)
    throw new AppError('BAD_INPUT', `There is an instrument "${twin.label}" already.`, { field: 'label' });
  if (id !== null && store.row('instrument', id) === undefined)
    throw new AppError('NOT_FOUND', `There is no instrument "${id}" in this project.`);
  const cells = toCells(instrument);
  checkWindows(instrument);
  store.change('instrument.set', `Instrument ${instrument.label}`, (tx) => {
    if (id !== null) tx.update('instrument', id, cells);
    const own = id ?? tx.insert('instrument', cells);
    const kept = new Set<string>();
    const wanted = new Map(instrument.backgrounds.map((b) => [backgroundKey(b), b]));
    for (const old of store.rows('background', { instrument_id: own })) {
      const key = backgroundKey({
        window: old.window,
        counts: old.counts,
        liveS: old.live_s,
        takenUtc: old.taken_utc,
      });
      // A background that stays keeps the line of the file it came from.
      if (wanted.has(key) && !kept.has(key)) kept.add(key);
      else tx.remove('background', old.id);
    }
    for (const [key, b] of wanted) {
      if (kept.has(key)) continue;
      tx.insert('background', {
        instrument_id: own,
        window: b.window,
        counts: b.counts,
        live_s: b.liveS,
        taken_utc: b.takenUtc,
      });
    }
  });
}

export function backgroundKey(b: InstrumentBackground): string {
  return JSON.stringify([b.window, b.counts, b.liveS, b.takenUtc]);
}

export function toCells(i: InstrumentEntry) {
  return {
    label: i.label.trim(),
    detector: i.detector,
    counts_per_alpha: i.countsPerAlpha,
    windows_json: i.windows === null ? null : JSON.stringify(i.windows),
    chamber_ml: i.chamberMl,
    line_ml: i.lineMl,
    common_u_rel: i.commonURel,
    calibrated_on: i.calibratedOn,
    certificate: i.certificate,
    gas_left: i.gasLeft,
    gas_left_u: i.gasLeftU,
    progeny_left: i.progenyLeft,
    clock_offset_s: i.clockOffsetS,
    note: i.note,
  };
}

/** @throws AppError BAD_INPUT naming the field */
export function checkWindows(i: InstrumentEntry): void {
  const refuse = (field: string, message: string) => {
    throw new AppError('BAD_INPUT', `Instrument ${i.label}: ${message}`, { field });
  };
  if ((i.detector === 'windows') !== (i.windows !== null))
    refuse('windows', "windows are given for the detector 'windows' and only for it.");
  if ((i.detector === 'windows') !== (i.countsPerAlpha === null))
    refuse('countsPerAlpha', 'counts for each alpha are needed, once for the detector or in each window.');
  const seen = new Set<string>();
  for (const { id, countsPerAlpha } of i.windows ?? []) {
    if (seen.has(id.toLowerCase())) refuse('windows', `window '${id}' stands twice.`);
    seen.add(id.toLowerCase());
    const unknown = Object.keys(countsPerAlpha).find((n) => !NUCLIDES.has(n));
    if (unknown !== undefined)
      refuse('windows', `window '${id}' counts '${unknown}', which is none of ${[...NUCLIDES].join(', ')}.`);
  }
  if (i.windows?.length === 0) refuse('windows', 'it has no window, so it counts nothing.');
  const ids = windowsOf(i.detector, i.countsPerAlpha, JSON.stringify(i.windows)).map((w) => w.id);
  for (const b of i.backgrounds)
    if (!ids.includes(b.window))
      refuse('backgrounds', `a background is of window '${b.window}'; it has ${ids.join(', ')}.`);
}
