import { z } from 'zod';
import type { FieldSheetRequests } from './field-sheets.ts';

const path = z.string().min(1).max(4096);
const position = z.tuple([z.number(), z.number()]);
const which = z.enum(['planned', 'all']);

const sheetOptions = z.object({
  form: z.enum(['list', 'cards']),
  page: z.enum(['A4', 'Letter']).optional(),
  probes: which.optional(),
  startM: position.optional(),
  rounds: z
    .object({
      instruments: z.number().int().min(1).max(20),
      days: z.number().int().min(1).max(60),
      minutesPerTest: z.number().positive().max(1440),
    })
    .optional(),
});

export const fieldSheetSchemas = {
  'sheets.save': z.object({ path, options: sheetOptions }),
  'sheets.preview': z.object({ options: sheetOptions, pageIndex: z.number().int().min(0).max(1000) }),
  'sheets.return-table': z.object({
    path,
    options: z.object({ probes: which.optional(), startM: position.optional() }),
  }),
  'walk.start': z.object({ native: position.nullable() }),
  'plan.curve': z.object({
    pattern: z.enum(['square', 'triangular', 'offset', 'adaptive']),
    around: z.union([z.literal('all'), z.object({ footprintPlusM: z.number().min(0).max(1000) })]),
    counts: z.array(z.number().int().min(1).max(1000)).min(1).max(40).optional(),
    model: z.union([
      z.literal('measured'),
      z.object({
        kind: z.enum(['spherical', 'exponential', 'gaussian']),
        rangeM: z.number().positive().max(10_000),
        nuggetShare: z.number().min(0).max(1),
      }),
    ]),
    startM: position.optional(),
    minutesPerTest: z.number().positive().max(1440),
    instruments: z.number().int().min(1).max(20),
    days: z.number().int().min(1).max(60),
    dailyMinutes: z.number().min(0).max(1440),
  }),
} satisfies Record<keyof FieldSheetRequests, z.ZodType>;
