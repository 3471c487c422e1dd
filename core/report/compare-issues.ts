/** What changed from one issued state to a later one, in words. */
import type { IssuedState } from './issue-state.ts';

type Frozen = { readonly [key: string]: unknown };

function part(value: unknown, key: string): unknown {
  return typeof value === 'object' && value !== null ? (value as Frozen)[key] : undefined;
}

function rows(value: unknown): Frozen[] {
  return Array.isArray(value) ? (value as Frozen[]) : [];
}

function text(value: unknown): string {
  if (value === null || value === undefined) return 'none';
  if (typeof value === 'string') return value;
  return JSON.stringify(value);
}

function same(a: unknown, b: unknown): boolean {
  return JSON.stringify(a) === JSON.stringify(b);
}

/** Keys of rows by which a person knows them, first the probe's label. */
type NameOf = (row: Frozen) => string;

function compareRows(
  noun: string,
  before: readonly Frozen[],
  after: readonly Frozen[],
  nameOf: NameOf,
  fields: readonly (readonly [key: string, words: string])[],
): string[] {
  const old = new Map(before.map((row) => [row['id'], row]));
  const now = new Map(after.map((row) => [row['id'], row]));
  const out: string[] = [];
  for (const [id, row] of now) if (!old.has(id)) out.push(`${noun} added: ${nameOf(row)}`);
  for (const [id, row] of old) if (!now.has(id)) out.push(`${noun} removed: ${nameOf(row)}`);
  for (const [id, row] of now) {
    const was = old.get(id);
    if (was === undefined) continue;
    const changes = fields
      .filter(([key]) => !same(was[key], row[key]))
      .map(([key, words]) => `${words} from ${text(was[key])} to ${text(row[key])}`);
    if (changes.length > 0) out.push(`${noun} changed: ${nameOf(row)}: ${changes.join('; ')}`);
  }
  return out;
}

const PROBE_FIELDS = [
  ['label', 'name'],
  ['state', 'state'],
  ['native', 'position'],
  ['depthM', 'depth (m)'],
  ['soil', 'soil'],
  ['fineFractionPct', 'fines (%)'],
  ['permeabilityM2', 'permeability (m²)'],
  ['permeabilityClass', 'permeability class'],
  ['note', 'note'],
] as const;

const SAMPLE_FIELDS = [
  ['kind', 'kind'],
  ['takenUtc', 'time'],
  ['depthM', 'depth (m)'],
  ['radonKBqPerM3', 'radon (kBq/m³)'],
  ['radonUKBqPerM3', 'its u (kBq/m³)'],
  ['radonBelowKBqPerM3', 'not detected below (kBq/m³)'],
  ['radonAboveKBqPerM3', 'over range, at least (kBq/m³)'],
  ['oxygenPct', 'oxygen (%)'],
  ['carbonDioxidePct', 'carbon dioxide (%)'],
  ['suctionPa', 'suction (Pa)'],
  ['saidFreshAir', 'fresh air said'],
  ['saidWater', 'water said'],
  ['remark', 'remark'],
] as const;

const CLASS_FIELDS = [
  ['className', 'Class'],
  ['range', 'Classes open'],
  ['refusal', 'Refusal'],
  ['statisticKBqPerM3', 'Statistic (kBq/m³)'],
  ['validCount', 'Valid values'],
  ['schemeName', 'Scheme'],
  ['edition', 'Edition of the scheme'],
  ['permeabilityClass', 'Permeability class'],
  ['unconfirmed', 'Unconfirmed'],
] as const;

/**
 * Differences from `earlier` to `later`, one sentence each, the class first; empty where both say the same.
 * A field that only one of the two knows counts as a change.
 */
export function compareIssues(earlier: IssuedState, later: IssuedState): string[] {
  if (earlier.sha256 === later.sha256) return [];
  const a: unknown = JSON.parse(earlier.json);
  const b: unknown = JSON.parse(later.json);
  const [projectA, projectB] = [part(a, 'project'), part(b, 'project')];
  const labels = new Map(
    [...rows(part(projectA, 'probes')), ...rows(part(projectB, 'probes'))].map((p) => [
      p['id'],
      text(p['label']),
    ]),
  );
  const ofProbe: NameOf = (row) => labels.get(row['probeId']) ?? text(row['probeId']);
  const out = [
    ...compareClass(part(a, 'class'), part(b, 'class')),
    ...compareRows(
      'Probe',
      rows(part(projectA, 'probes')),
      rows(part(projectB, 'probes')),
      (p) => text(p['label']),
      PROBE_FIELDS,
    ),
    ...compareRows(
      'Sample',
      rows(part(projectA, 'samples')),
      rows(part(projectB, 'samples')),
      ofProbe,
      SAMPLE_FIELDS,
    ),
    ...compareRulings(rows(part(projectA, 'assessments')), rows(part(projectB, 'assessments')), ofProbe),
    ...compareTree('Setting', part(projectA, 'settings'), part(projectB, 'settings'), ''),
    ...compareWhole(projectA, projectB),
    ...compareTree('People', part(a, 'people'), part(b, 'people'), ''),
    ...compareSurface(part(a, 'surface'), part(b, 'surface')),
  ];
  if (!same(part(a, 'program'), part(b, 'program')))
    out.push(`Program from ${text(part(a, 'program'))} to ${text(part(b, 'program'))}`);
  for (const [key, words] of [
    ['files', 'Kept files'],
    ['instruments', 'Instruments'],
    ['quality', 'Summary of quality'],
    ['days', 'Logs of the days'],
    ['placements', 'Placements'],
    ['purpose', 'Purpose'],
    ['cautions', 'Cautions'],
    ['limits', 'Limits of the scheme in force'],
  ] as const) {
    // A state of an older form has no such part: that is no change.
    if (part(a, key) !== undefined && !same(part(a, key), part(b, key))) out.push(`${words} changed`);
  }
  return out.length === 0 ? ['Only the record grew: nothing the report says of the ground changed'] : out;
}

function compareClass(a: unknown, b: unknown): string[] {
  return CLASS_FIELDS.filter(([key]) => !same(part(a, key), part(b, key))).map(
    ([key, words]) => `${words} from ${text(part(a, key))} to ${text(part(b, key))}`,
  );
}

function compareRulings(before: readonly Frozen[], after: readonly Frozen[], nameOf: NameOf): string[] {
  const of = (list: readonly Frozen[]) => new Map(list.map((row) => [row['sampleId'], row]));
  const [old, now] = [of(before), of(after)];
  const out: string[] = [];
  for (const [id, row] of now) {
    const was = old.get(id);
    const [rulingWas, ruling] = [was?.['ruling'] ?? null, row['ruling'] ?? null];
    if (!same(rulingWas, ruling)) {
      const words = (r: unknown) =>
        r === null
          ? 'none'
          : `${text(part(r, 'verdict'))} by ${text(part(r, 'actor'))} (${text(part(r, 'reason'))})`;
      out.push(`Ruling on ${nameOf(row)} from ${words(rulingWas)} to ${words(ruling)}`);
    }
    if (was !== undefined && was['treatment'] !== row['treatment'])
      out.push(`${nameOf(row)} counts as ${text(row['treatment'])}, before as ${text(was['treatment'])}`);
  }
  return out;
}

/** Leaves of nested settings that differ, by their path. */
function compareTree(noun: string, a: unknown, b: unknown, path: string): string[] {
  if (same(a, b)) return [];
  const isTree = (v: unknown): v is Frozen => typeof v === 'object' && v !== null && !Array.isArray(v);
  if (!isTree(a) || !isTree(b)) return [`${noun} ${path}: from ${text(a)} to ${text(b)}`];
  return [...new Set([...Object.keys(a), ...Object.keys(b)])]
    .sort()
    .flatMap((key) => compareTree(noun, a[key], b[key], path === '' ? key : `${path}.${key}`));
}

function compareWhole(a: unknown, b: unknown): string[] {
  return (
    [
      ['name', 'Name of the project'],
      ['note', 'Note'],
      ['frame', 'Coordinate system'],
      ['lot', 'Lot line'],
      ['keepOuts', 'Keep-outs'],
      ['footprint', 'Footprint'],
    ] as const
  ).flatMap(([key, words]) => {
    const [was, now] = [part(a, key), part(b, key)];
    if (same(was, now)) return [];
    return [
      typeof was === 'string' && typeof now === 'string'
        ? `${words} from ${was} to ${now}`
        : `${words} changed`,
    ];
  });
}

function compareSurface(a: unknown, b: unknown): string[] {
  const [was, now] = [part(a, 'estimateKBqPerM3'), part(b, 'estimateKBqPerM3')];
  if (same(was, now)) return [];
  const method = part(b, 'method');
  return [
    now === undefined
      ? 'There is no surface any more'
      : `The surface was computed anew (${text(method)}) and differs`,
  ];
}
