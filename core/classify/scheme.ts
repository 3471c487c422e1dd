import { z } from 'zod';
import { AppError } from '../errors.ts';
import czechBuildingSiteIndex from './schemes/czech-building-site-index.json' with { type: 'json' };
import geogenicPotential from './schemes/geogenic-radon-potential.json' with { type: 'json' };
import limitsEntered from './schemes/limits-entered.json' with { type: 'json' };
import swedishGroundClasses from './schemes/swedish-ground-classes.json' with { type: 'json' };

/** 'read': seen in its source; 'calc': follows by arithmetic; the others are shown to the user as unconfirmed. */
const mark = z.enum(['read', 'calc', 'memory', 'memory-unsure', 'practice']);
const permeabilityClass = z.enum(['low', 'medium', 'high']);

const sourced = {
  label: z.string().min(1),
  value: z.number(),
  unit: z.string(),
  source: z.string(),
  mark,
  note: z.string().optional(),
};
const sourcedNumber = z.strictObject(sourced);
const limits = z.array(z.strictObject({ classId: z.string(), ...sourced })).min(1);

const schemeSchema = z.strictObject({
  id: z.string().regex(/^[a-z0-9-]+$/, 'use small letters, digits and hyphens'),
  name: z.string().min(1),
  edition: z.string().min(1),
  homeCountry: z.string().nullable(),
  sources: z.record(z.string(), z.string().min(1)),
  depthM: sourcedNumber.nullable(),
  shallowestM: sourcedNumber.nullable(),
  statistic: z.discriminatedUnion('kind', [
    z.strictObject({
      kind: z.literal('quantile'),
      name: z.string().min(1),
      p: z.strictObject({ ...sourced, value: z.number().gt(0).lt(1) }),
      rule: z.enum(['linear-n-1', 'n+1', 'midpoint']),
      ruleMark: mark,
      ruleNote: z.string(),
    }),
    z.strictObject({ kind: z.literal('maximum'), name: z.string().min(1), source: z.string(), mark }),
    z.strictObject({ kind: z.literal('mean'), name: z.string().min(1), source: z.string(), mark }),
  ]),
  minimumCount: z.strictObject({ ...sourced, value: z.number().int().positive() }),
  place: z.string().nullable(),
  /** What is asked of where probes lie, where the method says it in figures. */
  layout: z
    .strictObject({
      /** Ground around the footprint that counts as its surroundings. */
      surroundingsM: sourcedNumber,
      /** Spacing between neighbours up to which a layout is taken to be close enough. */
      widestSpacingM: sourcedNumber.nullable(),
      /** Over this footprint area a grid is asked for instead of a number. */
      gridOverM2: sourcedNumber.nullable(),
      gridSpacingM: sourcedNumber.nullable(),
    })
    .optional(),
  excludeBelow: sourcedNumber.nullable(),
  /** Lowest first. */
  classes: z.array(z.strictObject({ id: z.string().min(1), name: z.string().min(1), advice: z.string() })),
  border: z.strictObject({ belongsTo: z.enum(['higher', 'lower']), mark, note: z.string() }),
  table: z.discriminatedUnion('kind', [
    z.strictObject({
      kind: z.literal('by-permeability'),
      columns: z.strictObject({ low: limits, medium: limits, high: limits }),
    }),
    z.strictObject({ kind: z.literal('single'), limits }),
    z.strictObject({ kind: z.literal('entered') }),
    /** No table: the potential alone decides. */
    z.strictObject({ kind: z.literal('none') }),
  ]),
  /** Limits that stand in place of the table's where the ground is as described; used only when chosen. */
  raised: z
    .array(
      z.strictObject({ id: z.string().min(1), classId: z.string(), ground: z.string().min(1), ...sourced }),
    )
    .optional(),
  potential: z
    .strictObject({ name: z.string(), offset: sourcedNumber, undefinedFromM2: sourcedNumber, limits })
    .nullable(),
  permeability: z
    .strictObject({
      limits: z
        .array(
          z.strictObject({
            class: permeabilityClass,
            borderBelongsTo: z.enum(['higher', 'lower']),
            ...sourced,
          }),
        )
        .length(2),
      fineFraction: z.strictObject({ lowAbove: sourcedNumber, highBelow: sourcedNumber }).nullable(),
      mixedRule: z.strictObject({ text: z.string(), mark }),
    })
    .nullable(),
  cautions: z.array(z.string()),
});

/** A published classification method as data; one JSON file each. */
export type Scheme = z.infer<typeof schemeSchema>;
export type SchemeLimit = z.infer<typeof limits>[number];
export type SourcedNumber = z.infer<typeof sourcedNumber>;

/**
 * Checks a scheme's data: shape, known source keys, limits rising and in the order of the classes.
 * @throws AppError BAD_INPUT naming the file and the field, with every fault found
 */
export function parseScheme(data: unknown, file: string): Scheme {
  const parsed = schemeSchema.safeParse(data);
  const shape = (parsed.error?.issues ?? []).map((issue) => ({
    field: issue.path.join('.') || '(whole file)',
    problem: issue.message.replace(/^Invalid input: expected .*, received undefined$/, 'is missing'),
  }));
  const misshapen = new Set((parsed.error?.issues ?? []).map((issue) => String(issue.path[0] ?? '')));
  const isObject = typeof data === 'object' && data !== null && !Array.isArray(data);
  // A field of the wrong shape hides no fault of the others: these are looked at as far as they can be.
  const faults = isObject ? [...shape, ...findFaults(data as Scheme, misshapen)] : shape;
  const first = faults[0];
  if (first !== undefined || !parsed.success) {
    const list = faults.map((f) => `${f.field}: ${f.problem}`).join('; ');
    throw new AppError('BAD_INPUT', `Scheme file ${file} cannot be used: ${list}`, {
      file,
      field: first?.field ?? '',
    });
  }
  return parsed.data;
}

/** @throws AppError BAD_INPUT also where the text is no JSON */
export function parseSchemeText(text: string, file: string): Scheme {
  let data: unknown;
  try {
    data = JSON.parse(text);
  } catch (cause) {
    throw new AppError('BAD_INPUT', `Scheme file ${file} is not JSON: ${String(cause)}`, { file }, cause);
  }
  return parseScheme(data, file);
}

interface Fault {
  readonly field: string;
  readonly problem: string;
}

/** Faults between the fields of a scheme; a check whose fields are among the `misshapen` is passed over. */
function findFaults(scheme: Scheme, misshapen: ReadonlySet<string>): Fault[] {
  const isSound = (...fields: (keyof Scheme)[]) => !fields.some((field) => misshapen.has(field));
  return [
    ...(isSound('classes') ? faultsOfClasses(scheme) : []),
    ...(isSound('classes', 'table', 'permeability', 'potential') ? faultsOfTable(scheme) : []),
    ...(isSound('table', 'raised') ? faultsOfRaised(scheme) : []),
    ...(isSound('classes', 'potential', 'permeability') ? faultsOfPotential(scheme) : []),
    ...(isSound('permeability') ? faultsOfPermeability(scheme) : []),
    ...(isSound('layout') ? faultsOfLayout(scheme) : []),
    ...(isSound('sources') ? faultsOfSources(scheme) : []),
  ];
}

function faultsOfClasses({ classes }: Scheme): Fault[] {
  return new Set(classes.map((c) => c.id)).size === classes.length
    ? []
    : [{ field: 'classes', problem: 'a class id stands twice' }];
}

function faultsOfLimits({ classes }: Scheme, list: readonly SchemeLimit[], field: string): Fault[] {
  const faults: Fault[] = [];
  if (list.length !== classes.length - 1) {
    faults.push({
      field,
      problem: `${classes.length} classes need ${classes.length - 1} limits, not ${list.length}`,
    });
  }
  list.forEach((limit, i) => {
    if (classes[i + 1]?.id !== limit.classId) {
      faults.push({
        field: `${field}.${i}.classId`,
        problem: `'${limit.classId}' is not class number ${i + 2} of the scheme`,
      });
    }
    const before = list[i - 1];
    if (before !== undefined && limit.value <= before.value) {
      faults.push({
        field: `${field}.${i}.value`,
        problem: `${limit.value} does not rise above ${before.value}`,
      });
    }
  });
  return faults;
}

function faultsOfTable(scheme: Scheme): Fault[] {
  const { table } = scheme;
  if (table.kind === 'single') return faultsOfLimits(scheme, table.limits, 'table.limits');
  if (table.kind === 'none' && scheme.potential === null)
    return [{ field: 'table', problem: 'a scheme without a table needs a potential' }];
  if (table.kind !== 'by-permeability') return [];
  return [
    ...(scheme.permeability === null
      ? [{ field: 'permeability', problem: 'is needed by a table by permeability' }]
      : []),
    ...(['low', 'medium', 'high'] as const).flatMap((column) =>
      faultsOfLimits(scheme, table.columns[column], `table.columns.${column}`),
    ),
  ];
}

function faultsOfRaised({ table, raised = [] }: Scheme): Fault[] {
  const faults: Fault[] = [];
  if (raised.length > 0 && table.kind !== 'single')
    faults.push({ field: 'raised', problem: 'only a single table can have raised limits' });
  const ordinary = table.kind === 'single' ? table.limits : [];
  raised.forEach((limit, i) => {
    const at = ordinary.findIndex((l) => l.classId === limit.classId);
    const next = ordinary[at + 1];
    if (at < 0)
      faults.push({ field: `raised.${i}.classId`, problem: `'${limit.classId}' has no limit in the table` });
    else if (limit.value <= (ordinary[at]?.value ?? 0) || (next !== undefined && limit.value >= next.value))
      faults.push({
        field: `raised.${i}.value`,
        problem: `${limit.value} does not lie above the table's own`,
      });
  });
  return faults;
}

function faultsOfPotential(scheme: Scheme): Fault[] {
  if (scheme.potential === null) return [];
  return [
    ...faultsOfLimits(scheme, scheme.potential.limits, 'potential.limits'),
    ...(scheme.permeability === null ? [{ field: 'permeability', problem: 'is needed by a potential' }] : []),
  ];
}

function faultsOfPermeability({ permeability }: Scheme): Fault[] {
  const [toMedium, toHigh] = permeability?.limits ?? [];
  if (toMedium === undefined || toHigh === undefined) return [];
  const isRight = toMedium.class === 'medium' && toHigh.class === 'high' && toHigh.value > toMedium.value;
  return isRight
    ? []
    : [{ field: 'permeability.limits', problem: "must be the rising limits to 'medium' and to 'high'" }];
}

function faultsOfLayout({ layout }: Scheme): Fault[] {
  return layout === undefined || (layout.gridOverM2 === null) === (layout.gridSpacingM === null)
    ? []
    : [{ field: 'layout', problem: 'gridOverM2 and gridSpacingM stand together or not at all' }];
}

function faultsOfSources(scheme: Scheme): Fault[] {
  return listSources(scheme)
    .filter(({ source }) => !(source in scheme.sources))
    .map(({ field, source }) => ({
      field,
      problem: `names source '${source}', which 'sources' does not have`,
    }));
}

/** Every threshold of a scheme with the field it stands in: for tests and for showing what is unconfirmed. */
export function listThresholds(scheme: Scheme): { field: string; limit: SourcedNumber }[] {
  const found: { field: string; limit: SourcedNumber }[] = [];
  const walk = (value: unknown, field: string) => {
    if (value === null || typeof value !== 'object') return;
    if ('value' in value && 'mark' in value && 'source' in value) {
      found.push({ field, limit: value as SourcedNumber });
      return;
    }
    for (const [key, inner] of Object.entries(value)) walk(inner, field === '' ? key : `${field}.${key}`);
  };
  walk(scheme, '');
  return found;
}

function listSources(scheme: Scheme): { field: string; source: string }[] {
  const found = listThresholds(scheme).map(({ field, limit }) => ({
    field: `${field}.source`,
    source: limit.source,
  }));
  const { statistic } = scheme as Partial<Scheme>;
  if (statistic !== undefined && 'source' in statistic && typeof statistic.source === 'string')
    found.push({ field: 'statistic.source', source: statistic.source });
  return found;
}

let builtIn: readonly Scheme[] | null = null;

/** Schemes that come with the program, checked like any other. */
export function builtInSchemes(): readonly Scheme[] {
  builtIn ??= [
    parseScheme(czechBuildingSiteIndex, 'czech-building-site-index.json'),
    parseScheme(swedishGroundClasses, 'swedish-ground-classes.json'),
    parseScheme(geogenicPotential, 'geogenic-radon-potential.json'),
    parseScheme(limitsEntered, 'limits-entered.json'),
  ];
  return builtIn;
}

export interface LoadedSchemes<F> {
  /** Those that come with the program first, then the user's in the order of their file names. */
  readonly schemes: readonly Scheme[];
  /** The user's alone, each with its file. */
  readonly own: readonly { readonly file: F; readonly scheme: Scheme }[];
  readonly faults: readonly { readonly file: string; readonly message: string }[];
}

/**
 * The program's schemes and the user's own, from the texts of the JSON files of a folder. A file with a fault is named
 * and left out; an id that is taken already is a fault, so that no file can pass for a published scheme.
 */
export function loadSchemes<F extends { readonly name: string; readonly text: string }>(
  files: readonly F[],
): LoadedSchemes<F> {
  const schemes = [...builtInSchemes()];
  const own: { file: F; scheme: Scheme }[] = [];
  const faults: { file: string; message: string }[] = [];
  const byName = [...files].sort((a, b) => (a.name < b.name ? -1 : a.name > b.name ? 1 : 0));
  for (const file of byName) {
    const { name, text } = file;
    try {
      const scheme = parseSchemeText(text, name);
      if (schemes.some((s) => s.id === scheme.id)) {
        faults.push({ file: name, message: `Scheme file ${name}: the id '${scheme.id}' is taken already` });
        continue;
      }
      schemes.push(scheme);
      own.push({ file, scheme });
    } catch (error) {
      if (!(error instanceof AppError)) throw error;
      faults.push({ file: name, message: error.message });
    }
  }
  return { schemes, own, faults };
}

/** @throws AppError NOT_FOUND naming the schemes there are */
export function schemeById(id: string, schemes: readonly Scheme[] = builtInSchemes()): Scheme {
  const scheme = schemes.find((s) => s.id === id);
  if (scheme !== undefined) return scheme;
  throw new AppError(
    'NOT_FOUND',
    `There is no scheme '${id}'; there are ${schemes.map((s) => `'${s.id}'`).join(', ')}.`,
  );
}
