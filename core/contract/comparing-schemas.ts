import { z } from 'zod';

const day = z.iso.date({ message: 'a day is written as YYYY-MM-DD' });
const span = z.object({ from: day.optional(), to: day.optional() });

export const compareWithSchema = z.discriminatedUnion('kind', [
  z.object({ kind: z.literal('project'), path: z.string().min(1).max(4096) }),
  z.object({ kind: z.literal('dates'), earlier: span, later: span }),
]);
