import { z } from 'zod';
import type { MergeRequests } from './merge.ts';

const path = z.string().min(1).max(4096);

export const mergeSchemas = {
  'merge.preview': z.object({ path }),
  'merge.commit': z.object({
    path,
    recordHash: z.string().max(64),
    choices: z.record(
      z.string().max(200),
      z.object({
        take: z.enum(['mine', 'theirs', 'both']),
        label: z.string().trim().min(1).max(60).optional(),
      }),
    ),
  }),
} satisfies Record<keyof MergeRequests, z.ZodType>;
