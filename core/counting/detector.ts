import { AppError } from '../errors.ts';
import type { Nuclide, NuclideId } from './nuclides.ts';

/** Counts a detector sums up: all alphas, or those in one window of its spectrum. */
export interface CountingWindow {
  readonly id: string;
  /** Counts for each alpha decay of a nuclide in the chamber (0..1); nuclides not named are not counted. */
  readonly countsPerAlpha: Readonly<Partial<Record<NuclideId, number>>>;
}

export interface Detector {
  readonly id: string;
  readonly chamberVolumeM3: number;
  readonly windows: readonly CountingWindow[];
  /** Relative standard uncertainty of the calibration: one error for all its samples, kept apart (never averaged). */
  readonly calibrationURel: number;
}

/** Background as counts in a time, with no sample in the chamber. */
export interface BackgroundCount {
  readonly windowId: string;
  readonly counts: number;
  readonly liveS: number;
}

/** Same counts for each alpha, whatever its energy: a scintillation cell or a grid chamber without a spectrum. */
export function totalAlphaWindow(countsPerAlpha: number): CountingWindow {
  const ids: NuclideId[] = ['Rn-222', 'Po-218', 'Po-214', 'Rn-220', 'Po-216', 'Bi-212', 'Po-212'];
  return { id: 'alpha', countsPerAlpha: Object.fromEntries(ids.map((id) => [id, countsPerAlpha])) };
}

/**
 * Windows of a spectrum of collected progeny. Bi-212 (6.05 to 6.09 MeV) falls into the window of Po-218 (6.00 MeV).
 * @param countsPerAlpha collection and detection together
 */
export function spectrometricWindows(countsPerAlpha: number): CountingWindow[] {
  return [
    { id: 'Po-218', countsPerAlpha: { 'Po-218': countsPerAlpha, 'Bi-212': countsPerAlpha } },
    { id: 'Po-214', countsPerAlpha: { 'Po-214': countsPerAlpha } },
    { id: 'thoron', countsPerAlpha: { 'Po-216': countsPerAlpha } },
  ];
}

export function windowById(detector: Detector, windowId: string): CountingWindow {
  const window = detector.windows.find((w) => w.id === windowId);
  if (window === undefined)
    throw new AppError(
      'BAD_INPUT',
      `Window '${windowId}' is not one of the detector's: ${detector.windows.map((w) => w.id).join(', ')}`,
      { field: 'windowId' },
    );
  return window;
}

/** Counts a window sees of the decays of a chain's members. */
export function countsOf(
  window: CountingWindow,
  chain: readonly Nuclide[],
  decays: readonly number[],
): number {
  return chain.reduce(
    (sum, m, i) => sum + (decays[i] ?? 0) * m.alphasPerDecay * (window.countsPerAlpha[m.id] ?? 0),
    0,
  );
}
