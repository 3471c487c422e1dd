import { z } from 'zod';
import type { HandEntryRequests } from './hand-entry.ts';

const id = z.string().min(1).max(64);
const number = z.number();
const utc = z.iso.datetime({ message: 'a time is written as YYYY-MM-DDThh:mm:ssZ' });

const span = {
  startS: number.min(0).max(1e7),
  lengthS: number.positive().max(1e7),
  liveS: number.positive().max(1e7).nullable(),
};
const values = z
  .array(
    z.object({
      ...span,
      radonKBqPerM3: number.min(-1e4).max(1e6),
      uKBqPerM3: number.min(0).max(1e6).nullable(),
    }),
  )
  .max(500);
const ingrowthS = number.min(0).max(86_400).nullable();

const entry = z.object({
  probeLabel: z.string().trim().min(1, 'give the label of the probe').max(60),
  place: z.tuple([number, number]).nullable(),
  soil: z.string().max(200).nullable(),
  permeabilityClass: z.enum(['low', 'medium', 'high']).nullable(),
  kind: z.enum(['grab', 'duplicate', 'repeat', 'blank']),
  takenUtc: utc.nullable(),
  depthM: number.min(0).max(30).nullable(),
  radonKBqPerM3: number.min(-1e4).max(1e6).nullable(),
  radonUKBqPerM3: number.min(0).max(1e6).nullable(),
  radonBelowKBqPerM3: number.positive().max(1e6).nullable(),
  radonAboveKBqPerM3: number.positive().max(1e6).optional(),
  oxygenPct: number.min(-1).max(101).nullable(),
  carbonDioxidePct: number.min(-1).max(101).nullable(),
  suctionPa: number.min(0).max(1.1e5).nullable(),
  saidFreshAir: z.boolean(),
  saidWater: z.boolean(),
  saidTight: z.boolean(),
  saidRefused: z.boolean(),
  leakTestPassed: z.boolean().nullable(),
  remark: z.string().max(2000).nullable(),
  instrumentId: id.nullable(),
  readings: z
    .array(
      z.object({
        ...span,
        window: z.string().min(1).max(60).nullable(),
        counts: number.int().min(0).max(1e12),
      }),
    )
    .max(500),
  values,
  ingrowthS,
});

const sample = z.object({ sampleId: id });

export const handEntrySchemas = {
  'sample.enter': z.object({ sampleId: id.nullable(), entry }),
  'sample.entry': sample,
  'values.average': z.object({ sampleId: id.nullable(), instrumentId: id.nullable(), ingrowthS, values }),
  'sample.remove': sample,
  'readings.files': z.object({}).strict(),
  'readings.remove': z.object({ sha256: z.string().length(64) }),
  'instrument.remove': z.object({ id }),
} satisfies Record<keyof HandEntryRequests, z.ZodType>;
