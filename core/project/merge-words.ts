import { type MergeCell, type MergeKind, SET_FIELDS } from '../survey/merge-projects.ts';

const KINDS: Record<MergeKind, string> = {
  probe: 'Probe',
  sample: 'A sample of probe',
  instrument: 'Instrument',
  'keep-out': 'Keep-out',
  day: 'Day',
};

export function whatOf(kind: MergeKind, label: string): string {
  return `${KINDS[kind]} ${label}`;
}

const UNITS: readonly (readonly [suffix: string, unit: string])[] = [
  ['_kbq_per_m3', 'kBq/m3'],
  ['_ml_per_min', 'mL/min'],
  ['_pct', '%'],
  ['_pa', 'Pa'],
  ['_hpa', 'hPa'],
  ['_m2', 'm2'],
  ['_ml', 'mL'],
  ['_mm', 'mm'],
  ['_m', 'm'],
  ['_s', 's'],
  ['_c', '°C'],
  ['_utc', 'UTC'],
  ['_rel', 'share'],
];

const NAMES: Readonly<Record<string, string>> = {
  place: 'place, m of the grid',
  radon_u_kbq_per_m3: 'standard uncertainty of radon, kBq/m3',
  radon_below_kbq_per_m3: 'radon below, kBq/m3',
  radon_above_kbq_per_m3: 'radon above, kBq/m3',
  common_u_rel: 'common uncertainty, share',
  said_fresh_air: 'fresh air noted',
  said_water: 'water noted',
  said_tight: 'tight ground noted',
  readings: 'counts',
  values: 'interval values',
  before: 'in the chamber before',
  added: 'added after the number was fixed',
  windows_json: 'windows',
};

/** A column as people read it, with its unit. */
export function fieldName(field: string): string {
  const known = NAMES[field];
  if (known !== undefined) return known;
  const unit = UNITS.find(([suffix]) => field.endsWith(suffix));
  const base = unit === undefined ? field : field.slice(0, -unit[0].length);
  return `${base.replaceAll('_', ' ')}${unit === undefined ? '' : `, ${unit[1]}`}`;
}

const MOST_SHOWN = 6;

export function cellText(field: string, cell: MergeCell): string {
  if (cell === null) return 'nothing';
  if (SET_FIELDS.has(field) && typeof cell === 'string') return listText(field, cell);
  return String(cell);
}

function listText(field: string, json: string): string {
  const entries = JSON.parse(json) as MergeCell[][];
  const shown = entries.slice(0, MOST_SHOWN).map((entry) => {
    if (field === 'readings') return `${entry[3]} in ${entry[2]} s from ${entry[1]} s`;
    if (field === 'values') return `${entry[2]} kBq/m3 in ${entry[1]} s from ${entry[0]} s`;
    if (field === 'backgrounds') return `${entry[1]} in ${entry[2]} s`;
    return `${entry[0]} ${entry[1]}`;
  });
  const more = entries.length > MOST_SHOWN ? ` and ${entries.length - MOST_SHOWN} more` : '';
  return `${shown.join('; ')}${more}`;
}
