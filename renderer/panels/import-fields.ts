import type { ImportField, ImportMapping } from '../../core/contract/requests.ts';

export interface ImportFieldInfo {
  readonly field: ImportField;
  readonly name: string;
  readonly units: readonly string[];
  readonly required: boolean;
}

const LENGTHS = ['m', 'cm', 'ft', 'in'] as const;
const RADON = ['kBq/m3', 'Bq/m3', 'pCi/L'] as const;

/** Every column a sheet can bring, in the order of a field sheet. */
export const IMPORT_FIELDS: readonly ImportFieldInfo[] = [
  { field: 'code', name: 'Code of the field sheet', units: [], required: false },
  { field: 'label', name: 'Probe', units: [], required: true },
  { field: 'x', name: 'East', units: [], required: true },
  { field: 'y', name: 'North', units: [], required: true },
  { field: 'radon', name: 'Radon', units: RADON, required: true },
  { field: 'radonU', name: 'Radon uncertainty', units: [...RADON, '%'], required: false },
  { field: 'depth', name: 'Depth', units: LENGTHS, required: false },
  { field: 'offsetEast', name: 'Offset from plan, east', units: LENGTHS, required: false },
  { field: 'offsetNorth', name: 'Offset from plan, north', units: LENGTHS, required: false },
  { field: 'state', name: 'State of the probe', units: [], required: false },
  { field: 'added', name: 'Added after the first round', units: [], required: false },
  { field: 'taken', name: 'Taken at', units: [], required: false },
  { field: 'kind', name: 'Kind of sample', units: [], required: false },
  { field: 'soil', name: 'Soil', units: [], required: false },
  { field: 'fineFraction', name: 'Fine fraction', units: ['%'], required: false },
  { field: 'permeability', name: 'Permeability', units: ['m2'], required: false },
  { field: 'permeabilityClass', name: 'Permeability class', units: [], required: false },
  { field: 'oxygen', name: 'Oxygen', units: ['%'], required: false },
  { field: 'carbonDioxide', name: 'Carbon dioxide', units: ['%'], required: false },
  { field: 'suction', name: 'Suction', units: ['Pa', 'kPa'], required: false },
  { field: 'pumped', name: 'Pumped volume', units: ['mL', 'L'], required: false },
  { field: 'line', name: 'Volume of the line', units: ['mL', 'L'], required: false },
  { field: 'flow', name: 'Flow', units: ['mL/min', 'L/min'], required: false },
  { field: 'airPorosity', name: 'Air-filled porosity', units: ['share', '%'], required: false },
  { field: 'leakTest', name: 'Leak test', units: [], required: false },
  { field: 'tracer', name: 'Tracer in the sample', units: ['%', 'ppm'], required: false },
  { field: 'tracerShroud', name: 'Tracer under the shroud', units: ['%', 'ppm'], required: false },
  { field: 'dryer', name: 'Dryer', units: [], required: false },
  { field: 'tight', name: 'Tight ground noted', units: [], required: false },
  { field: 'freshAir', name: 'Fresh air noted', units: [], required: false },
  { field: 'water', name: 'Water noted', units: [], required: false },
  { field: 'remark', name: 'Remark', units: [], required: false },
];

export const FIELD_NAMES = Object.fromEntries(IMPORT_FIELDS.map((info) => [info.field, info.name])) as Record<
  ImportField,
  string
>;

/** A code names the probe without its label, and a probe the project holds already has its place. */
export function isNeeded(info: ImportFieldInfo, mapping: ImportMapping, hasProbes: boolean): boolean {
  if (info.field === 'label') return !mapping.code;
  if (info.field === 'x' || info.field === 'y') return !hasProbes;
  return info.required;
}
