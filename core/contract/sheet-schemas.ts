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

const millimetres = z.number().min(-2000).max(2000);

const sheetKindSchema = z.object({
  template: z.enum(['map', 'quality', 'permit']),
  page: z.enum(['A4', 'A3', 'Letter', 'Tabloid']),
  orientation: z.enum(['portrait', 'landscape']),
});

const partChangeSchema = z.object({
  place: z
    .object({
      page: z.number().int().min(1).max(500),
      xMm: millimetres,
      yMm: millimetres,
      widthMm: millimetres.positive(),
      heightMm: millimetres.positive(),
    })
    .nullable(),
  hidden: z.boolean(),
});

export const sheetChangesSchema = z.record(z.string().min(1).max(60), partChangeSchema);

/** A file of places, as the command line writes and reads it. */
export const layoutFileSchema = sheetKindSchema.extend({
  form: z.literal(1),
  parts: sheetChangesSchema,
});

export const sheetSchemas = {
  'sheet.describe': z.object({ texts: sheetTextsSchema }),
  'sheet.arrange': z.object({ sheet: sheetKindSchema, changes: sheetChangesSchema }),
  'sheet.reset': z.object({ sheet: sheetKindSchema, part: z.string().min(1).max(60).nullable() }),
} satisfies Record<keyof SheetRequests, z.ZodType>;
