/**
 * Conversions at the edges. Inside, everything is SI with the unit in the name:
 * lengths in metres (`...M`), soil-gas radon in kBq/m3 (`...KBqPerM3`), permeability in m2 (`...M2`).
 */

/** International foot, exact since 1959. */
export const M_PER_FOOT = 0.3048;
/** US survey foot, exact by definition (1200/3937 m); state-plane systems before 2022 use it. */
export const M_PER_US_SURVEY_FOOT = 1200 / 3937;
/** 1 Ci = 3.7e10 Bq exactly, hence 1 pCi/L = 37 Bq/m3 exactly. */
export const KBQ_PER_M3_PER_PCI_PER_L = 0.037;

export type RadonUnit = 'kBq/m3' | 'Bq/m3' | 'pCi/L';
export type LengthUnit = 'm' | 'ft' | 'ft-us' | 'cm' | 'in';

const KBQ_PER: Record<RadonUnit, number> = {
  'kBq/m3': 1,
  'Bq/m3': 1e-3,
  'pCi/L': KBQ_PER_M3_PER_PCI_PER_L,
};

const M_PER: Record<LengthUnit, number> = {
  m: 1,
  ft: M_PER_FOOT,
  'ft-us': M_PER_US_SURVEY_FOOT,
  cm: 0.01,
  in: 0.0254,
};

export function toKBqPerM3(value: number, unit: RadonUnit): number {
  return value * KBQ_PER[unit];
}

export function fromKBqPerM3(valueKBqPerM3: number, unit: RadonUnit): number {
  return valueKBqPerM3 / KBQ_PER[unit];
}

/** Exact: a degree Fahrenheit is 5/9 of a kelvin, and 32 degrees are 0 C. */
export function fahrenheitToCelsius(degreesF: number): number {
  return (degreesF - 32) / 1.8;
}

export function celsiusToFahrenheit(degreesC: number): number {
  return 1.8 * degreesC + 32;
}

export function toMetres(value: number, unit: LengthUnit): number {
  return value * M_PER[unit];
}

export function fromMetres(valueM: number, unit: LengthUnit): number {
  return valueM / M_PER[unit];
}
