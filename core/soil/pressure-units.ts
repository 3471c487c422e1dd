/** Pressures as gauges show them; inside everything is Pa. */
export type PressureUnit = 'Pa' | 'hPa' | 'kPa' | 'mbar' | 'inH2O' | 'cmH2O' | 'mmHg';

const STANDARD_GRAVITY = 9.80665;

/**
 * Exact for the conventional columns: water of 1000 kg/m3 and mercury of 13 595.1 kg/m3 under standard gravity
 * (NIST Special Publication 811, appendix B: 'conventional').
 */
const PA_PER: Record<PressureUnit, number> = {
  Pa: 1,
  hPa: 100,
  kPa: 1000,
  mbar: 100,
  inH2O: 1000 * STANDARD_GRAVITY * 0.0254,
  cmH2O: 1000 * STANDARD_GRAVITY * 0.01,
  mmHg: 13_595.1 * STANDARD_GRAVITY * 1e-3,
};

export function toPa(value: number, unit: PressureUnit): number {
  return value * PA_PER[unit];
}
