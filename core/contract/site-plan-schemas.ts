import { z } from 'zod';
import type { SitePlanRequests } from './site-plans.ts';

const id = z.string().min(1).max(64);
const pair = z.tuple([z.number(), z.number()]);
const label = z.string().trim().min(1).max(200);
const placing = z.object({
  id,
  fit: z.enum(['similarity', 'affine']),
  points: z.array(z.object({ label, pixel: pair, native: pair })).max(200),
});

export const sitePlanSchemas = {
  'site-plan.list': z.object({}).strict(),
  'site-plan.add': z.object({ path: z.string().min(1).max(4096) }),
  'site-plan.place': placing,
  'site-plan.try': placing,
  'site-plan.set': z.object({
    id,
    label: label.optional(),
    opacity: z.number().min(0).max(1).optional(),
    isShown: z.boolean().optional(),
  }),
  'site-plan.remove': z.object({ id }),
  'site-plan.image': z.object({ id }),
} satisfies Record<keyof SitePlanRequests, z.ZodType>;
