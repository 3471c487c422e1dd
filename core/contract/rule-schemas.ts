import { z } from 'zod';
import type { RuleRequests } from './rules.ts';

export const ruleSchemas = {
  'thresholds.preview': z.object({
    thresholds: z.record(z.string().max(64), z.number().min(0)),
    referenceDepthM: z.number().positive().max(10),
  }),
  'scheme.list': z.object({}).strict(),
  'scheme.import': z.object({ path: z.string().min(1).max(4096) }),
  'scheme.remove': z.object({ sha256: z.string().length(64) }),
} satisfies Record<keyof RuleRequests, z.ZodType>;
