import { z } from 'zod';
import type { SheetField, SheetRequests } from './sheet.ts';

const line = z.string().max(200);

export const sheetTextsSchema = z
  .object({
    preparedBy: line,
    licenceNumber: line,
    organisation: line,
    reviewedBy: line,
    client: line,
    address: z.string().max(500),
    jobNumber: z.string().max(60),
    sheetNumber: z.string().max(60),
    revision: z.string().max(60),
    date: z.string().max(60),
    purpose: z.string().max(5000),
    notes: z.string().max(2000),
  } satisfies Record<SheetField, z.ZodType>)
  .partial()
  .strict();

export const sheetSchemas = {
  'sheet.describe': z.object({ texts: sheetTextsSchema }),
} satisfies Record<keyof SheetRequests, z.ZodType>;
