import { z } from 'zod';
import type { OutlineRequests } from './outlines.ts';

const finite = z.number();
const position = z.tuple([finite, finite]);
const side = z.number().int().min(0).max(20_000);
const lengthM = finite.min(0).max(10_000);

export const crsSchema = z.discriminatedUnion('kind', [
  z.object({ kind: z.literal('epsg'), code: z.number().int().min(1024).max(999_999) }),
  z.object({ kind: z.literal('local'), unit: z.enum(['m', 'ft', 'ft-us']), label: z.string().max(200) }),
]);

const traverseOptionsSchema = z.object({
  start: position,
  angleUnit: z.enum(['deg', 'gon']),
  lengthUnit: z.enum(['m', 'ft', 'ft-us']),
  rule: z.enum(['compass', 'transit', 'none']),
  returns: z.boolean(),
  turnDeg: finite.min(-360).max(360),
  onGround: z.boolean(),
});

const geometryImportOptionsSchema = z.object({
  layer: z.string().max(500).optional(),
  feature: z.string().max(500).optional(),
  crs: crsSchema.optional(),
  unit: z.enum(['m', 'ft', 'ft-us', 'cm', 'in']).optional(),
  bufferM: finite.min(0).max(1000).optional(),
  blocksWalk: z.boolean().optional(),
  points: z.boolean().optional(),
  depthM: finite.positive().max(10).optional(),
  replace: z.boolean().optional(),
  traverse: traverseOptionsSchema.optional(),
});

const geometryFile = z.object({
  path: z.string().min(1).max(4096),
  what: z.enum(['lot', 'footprint', 'keep-out', 'probes']),
  options: geometryImportOptionsSchema,
});

export const outlineSchemas = {
  'traverse.compute': z.object({ text: z.string().max(200_000), options: traverseOptionsSchema }),
  'outline.parallel': z.object({
    of: z.enum(['lot', 'footprint']),
    sides: z.union([z.array(side).min(1).max(2000), z.literal('all')]),
    distanceM: finite.min(-10_000).max(10_000),
  }),
  'outline.rectangle': z.object({
    side,
    distanceM: lengthM,
    otherSide: side,
    otherDistanceM: lengthM,
    widthM: finite.positive().max(10_000),
    depthM: finite.positive().max(10_000),
  }),
  'geometry.look': geometryFile,
  'geometry.import': geometryFile,
} satisfies Record<keyof OutlineRequests, z.ZodType>;
