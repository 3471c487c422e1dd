/** Run-time checks of every request's input: shape, length and finiteness. Tested to cover the whole request map. */
import { z } from 'zod';
import { compareWithSchema } from './comparing-schemas.ts';
import { drawTestSchema } from './draw-test-schemas.ts';
import { fieldSheetSchemas } from './field-sheet-schemas.ts';
import { handEntrySchemas } from './hand-entry-schemas.ts';
import { mergeSchemas } from './merge-schemas.ts';
import { crsSchema, outlineSchemas } from './outline-schemas.ts';
import { qualitySchemas } from './quality-schemas.ts';
import { readingSchemas } from './reading-schemas.ts';
import type { RequestName } from './requests.ts';
import { ruleSchemas } from './rule-schemas.ts';
import { sheetChangesSchema, sheetSchemas, sheetTextsSchema } from './sheet-schemas.ts';
import { sitePlanSchemas } from './site-plan-schemas.ts';
import { sitingSchemas } from './siting-schemas.ts';

const finite = z.number();
const path = z.string().min(1).max(4096);
const empty = z.object({}).strict();
const position = z.tuple([finite, finite]);
const ring = z.array(position).max(20_000);

const columnChoice = z.object({ column: z.string().max(500), unit: z.string().max(32).optional() });

export const importOptionsSchema = z.object({
  mapping: z
    .partialRecord(
      z.enum([
        'code',
        'label',
        'x',
        'y',
        'offsetEast',
        'offsetNorth',
        'state',
        'added',
        'depth',
        'soil',
        'fineFraction',
        'permeability',
        'permeabilityClass',
        'taken',
        'radon',
        'radonU',
        'oxygen',
        'carbonDioxide',
        'suction',
        'pumped',
        'line',
        'flow',
        'airPorosity',
        'tracer',
        'tracerShroud',
        'leakTest',
        'dryer',
        'tight',
        'freshAir',
        'water',
        'kind',
        'remark',
      ]),
      columnChoice,
    )
    .optional(),
  delimiter: z.enum([',', ';', '\t', '|']).optional(),
  decimal: z.enum(['.', ',']).optional(),
  crs: crsSchema.optional(),
  coverageFactor: finite.positive().max(10).optional(),
});

export const variogramParametersSchema = z.object({
  kind: z.enum(['spherical', 'exponential', 'gaussian', 'matern']),
  nugget: finite.min(0),
  partialSill: finite.min(0),
  rangeM: finite.positive(),
  smoothness: finite.positive().max(10).optional(),
  anisotropy: z.object({ azimuthDeg: finite.min(-360).max(360), ratio: finite.min(0.01).max(1) }).optional(),
});

export const settingsSchema = z.object({
  schemeId: z.string().max(100),
  enteredLimitsKBqPerM3: z.array(finite.positive()).max(20),
  raisedLimitId: z.string().max(100).optional(),
  sitePlanInFigure: z.boolean().optional(),
  schemeFiles: z.array(z.string().length(64)).max(50).optional(),
  referenceDepthM: finite.positive().max(10),
  drawTest: drawTestSchema.optional(),
  /** The keys are those of `FlagThresholds`; which there are is for the catalogue to say. */
  thresholds: z.record(z.string().max(64), finite.min(0)),
  surface: z.object({
    method: z.enum(['kriging', 'idw']),
    model: z.union([z.literal('auto'), variogramParametersSchema]),
    transform: z.enum(['auto', 'none', 'log']),
    drift: z.enum(['constant', 'linear']),
    idwPower: finite.positive().max(20),
    cellM: finite.positive().nullable(),
    shallow: z.enum(['lower-bound', 'depth-corrected', 'as-measured']),
    diffusionLengthM: finite.min(0.05).max(10).nullable(),
  }),
  radonUnit: z.enum(['kBq/m3', 'pCi/L']),
});

const figureOptionsSchema = sheetTextsSchema.extend({
  page: z.enum(['A4', 'A3', 'Letter', 'Tabloid']).optional(),
  orientation: z.enum(['portrait', 'landscape']).optional(),
  dpi: finite.min(36).max(1200).optional(),
  sitePlan: z.boolean().optional(),
  template: z.enum(['map', 'quality', 'permit']).optional(),
  changes: sheetChangesSchema.optional(),
});

const reportOptionsSchema = sheetTextsSchema.extend({ page: z.enum(['A4', 'Letter']).optional() });

export const inputSchemas = {
  ...outlineSchemas,
  ...readingSchemas,
  ...qualitySchemas,
  ...sheetSchemas,
  ...sitePlanSchemas,
  ...ruleSchemas,
  ...handEntrySchemas,
  ...mergeSchemas,
  ...fieldSheetSchemas,
  ...sitingSchemas,
  'catalogue.get': empty,
  'project.create': z.object({ path, name: z.string().min(1).max(200), crs: crsSchema }),
  'project.demo': z.object({ path, lot: z.enum(['ordinary', 'troubled']) }),
  'project.open': z.object({ path }),
  'project.close': empty,
  'project.view': empty,
  'project.describe': z.object({
    name: z.string().min(1).max(200).optional(),
    note: z.string().max(20_000).optional(),
  }),
  'lot.set': z.object({ ring, crs: crsSchema.optional(), source: z.string().max(500).optional() }),
  'lot.import': z.object({ path }),
  'control.get': empty,
  'control.set': z.object({
    code: z.number().int().min(1024).max(999_999),
    points: z
      .array(z.object({ label: z.string().trim().min(1).max(60), local: position, mapped: position }))
      .max(1000),
  }),
  'keepout.set': z.object({
    id: z.string().max(64).nullable(),
    label: z.string().min(1).max(200),
    shape: z.enum(['polygon', 'line']),
    points: ring,
    bufferM: finite.min(0).max(1000),
    blocksWalk: z.boolean().optional(),
  }),
  'keepout.remove': z.object({ id: z.string().max(64) }),
  'plan.propose': z.object({
    pattern: z.enum(['square', 'triangular', 'offset', 'adaptive', 'along-footprint']),
    size: z.union([
      z.object({ spacingM: finite.positive().max(1000) }),
      z.object({ count: z.number().int().min(1).max(3000) }),
    ]),
    around: z.union([z.literal('all'), z.object({ footprintPlusM: finite.min(0).max(1000) })]),
    turnDeg: finite.min(-360).max(360).optional(),
    depthM: finite.positive().max(10),
    labelPrefix: z.string().min(1).max(20),
    startM: position.optional(),
    minutesPerTest: finite.positive().max(1440),
    instruments: z.number().int().min(1).max(20),
    days: z.number().int().min(1).max(60),
  }),
  'plan.accept': z.object({
    probes: z
      .array(z.object({ label: z.string().min(1).max(60), native: position, added: z.boolean() }))
      .min(1)
      .max(3000),
    depthM: finite.positive().max(10),
    replace: z.boolean(),
  }),
  'next.propose': z.object({
    count: z.number().int().min(1).max(200),
    criterion: z.enum(['mean', 'worst', 'class']),
    target: z.enum(['lot', 'footprint']),
  }),
  'site.search': z.object({
    objective: z.enum(['lowest-estimate', 'lowest-probability']),
    limitKBqPerM3: finite.positive().optional(),
    setbackM: finite.min(0).max(1000),
    mayTurn: z.boolean(),
    mayMirror: z.boolean(),
    perMetreMoved: finite.min(0),
    wanted: z.number().int().min(1).max(20),
    seed: z.number().int().min(0).max(1_000_000),
  }),
  'footprint.set': z.object({ label: z.string().max(200), ring: ring.nullable() }),
  'import.preview': z.object({ path, options: importOptionsSchema }),
  'import.commit': z.object({ path, options: importOptionsSchema }),
  'ruling.set': z.object({
    sampleIds: z.array(z.string().max(64)).min(1).max(10_000),
    verdict: z.enum(['use', 'leave-out', 'lower-bound']).nullable(),
    reason: z.string().max(2000),
  }),
  'settings.set': z.object({ settings: settingsSchema }),
  'surface.compute': empty,
  'class.compute': empty,
  'figure.preview': z.object({
    options: figureOptionsSchema,
    pageIndex: z.number().int().min(0).max(500).optional(),
  }),
  'report.save': z.object({ path, format: z.enum(['pdf', 'html', 'docx']), options: reportOptionsSchema }),
  'issue.create': z.object({
    path,
    formats: z
      .array(z.enum(['pdf', 'html', 'docx']))
      .min(1)
      .max(3),
    options: reportOptionsSchema,
  }),
  'issue.copy': z.object({ number: z.number().int().min(1), path }),
  'issue.list': empty,
  'issue.compare': z.object({ options: reportOptionsSchema }),
  'issue.review': z.object({ number: z.number().int().min(1), note: z.string().max(2000) }),
  'compare.preview': z.object({
    with: compareWithSchema,
    options: figureOptionsSchema,
    pageIndex: z.number().int().min(0).max(500).optional(),
  }),
  'compare.save': z.object({
    path,
    format: z.enum(['pdf', 'svg', 'png', 'geotiff']),
    with: compareWithSchema,
    options: figureOptionsSchema,
  }),
  'figure.save': z.object({ path, format: z.enum(['pdf', 'svg', 'png']), options: figureOptionsSchema }),
  'export.save': z.object({
    path,
    format: z.enum(['csv', 'gpkg', 'geojson', 'geotiff', 'dxf', 'kml', 'gpx']),
    options: z
      .object({
        rows: z.enum(['samples', 'probes', 'stake-out']).optional(),
        startM: position.optional(),
        plotScale: finite.positive().max(1_000_000).optional(),
        simplifyM: finite.min(0).max(100).optional(),
      })
      .optional(),
  }),
  'record.list': empty,
  'record.undo': empty,
  'record.redo': empty,
  'crs.search': z.object({ text: z.string().max(200) }),
  'engine.info': empty,
  'job.cancel': z.object({ requestId: z.number().int().nonnegative() }),
} satisfies Record<RequestName, z.ZodType>;
