import { z } from 'zod';
import type { DrawTest } from './draw-test.ts';

const positive = (most: number) => z.number().positive().max(most);
const uPct = z.number().min(0).max(100);

export const drawTestSchema = z.object({
  cavity: z.discriminatedUnion('kind', [
    z.object({ kind: z.literal('cylinder'), lengthM: positive(2), diameterM: positive(0.5) }),
    z.object({
      kind: z.literal('stated'),
      shapeFactorM: positive(10),
      source: z.string().trim().min(1, 'a stated shape factor needs its source').max(500),
    }),
  ]),
  line: z.discriminatedUnion('kind', [
    z.object({
      kind: z.literal('measured'),
      lossPa: z.number().min(0).max(1e5),
      atFlowMlPerMin: positive(1e5),
    }),
    z.object({ kind: z.literal('tube'), lengthM: positive(100), boreM: positive(0.1) }),
  ]),
  meteredAt: z.enum(['outside', 'line']),
  leastFlowMlPerMin: positive(1e5),
  leastSuctionPa: positive(1e5),
  soilTemperatureC: z.number().min(-20).max(50),
  soilTemperatureUC: z.number().min(0).max(20),
  meterTemperatureC: z.number().min(-30).max(60),
  airPressureHPa: z.number().min(400).max(1100),
  flowUPct: uPct,
  suctionUPct: uPct,
  lineLossUPct: uPct,
  shapeFactorUPct: uPct,
}) satisfies z.ZodType<DrawTest>;
