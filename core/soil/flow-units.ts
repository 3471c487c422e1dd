/** Flow and pressure as field instruments write them; inside everything is m3/s and Pa. */

export type FlowUnit = 'm3/s' | 'L/s' | 'L/min' | 'mL/min' | 'mL/s';
export type PressureUnit = 'Pa' | 'hPa' | 'kPa' | 'mbar' | 'inH2O' | 'cmH2O' | 'mmHg';

const STANDARD_GRAVITY = 9.80665;

/** Exact: litres and minutes are. */
const M3_PER_S_PER: Record<FlowUnit, number> = {
  'm3/s': 1,
  'L/s': 1e-3,
  'L/min': 1e-3 / 60,
  'mL/min': 1e-6 / 60,
  'mL/s': 1e-6,
};

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

export function toM3PerS(value: number, unit: FlowUnit): number {
  return value * M3_PER_S_PER[unit];
}

export function fromM3PerS(flowM3PerS: number, unit: FlowUnit): number {
  return flowM3PerS / M3_PER_S_PER[unit];
}

export function toPa(value: number, unit: PressureUnit): number {
  return value * PA_PER[unit];
}

export function fromPa(pressurePa: number, unit: PressureUnit): number {
  return pressurePa / PA_PER[unit];
}
