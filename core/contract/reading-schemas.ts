import { z } from 'zod';
import type { ReadingRequests } from './readings.ts';

const id = z.string().min(1).max(64);
const path = z.string().min(1).max(4096);
const share = z.number().min(0).max(1);
const volumeMl = z.number().min(0).max(1e7);
const seconds = z.number().min(0).max(86_400);
const text = z.string().max(2000);
const utc = z.iso.datetime({ message: 'a time is written as YYYY-MM-DDThh:mm:ssZ' });
const windowId = z.string().min(1).max(60);

const background = z.object({
  window: windowId,
  counts: z.number().min(0).max(1e12),
  liveS: z.number().positive().max(1e8),
  takenUtc: utc.nullable(),
});

const instrument = z.object({
  label: z.string().trim().min(1).max(200),
  detector: z.enum(['alpha', 'spectrum', 'windows']),
  countsPerAlpha: z.number().positive().max(1).nullable(),
  windows: z
    .array(z.object({ id: windowId, countsPerAlpha: z.record(z.string().max(20), share) }))
    .max(20)
    .nullable(),
  chamberMl: z.number().positive().max(1e7),
  lineMl: volumeMl.nullable(),
  commonURel: share.nullable(),
  calibratedOn: z.iso.date().nullable(),
  certificate: text.nullable(),
  gasLeft: share.nullable(),
  gasLeftU: share.nullable(),
  progenyLeft: share.nullable(),
  clockOffsetS: z.number().min(-4e7).max(4e7),
  note: text.nullable(),
  backgrounds: z.array(background).max(2000),
});

const handling = z
  .object({
    instrumentId: id.nullable(),
    fillStartUtc: utc.nullable(),
    fillEndUtc: utc.nullable(),
    fillS: seconds.nullable(),
    fillWay: z.enum(['at-once', 'steady', 'flow-through', 'closed-loop']).nullable(),
    transitS: seconds.nullable(),
    flushS: seconds.nullable(),
    before: z.union([z.enum(['by-time', 'clean']), z.object({ sampleId: id })]),
    correction: z.enum(['plug-flow', 'well-mixed', 'middle', 'tracer']).nullable(),
    pumpedMl: volumeMl.nullable(),
    lineMl: volumeMl.nullable(),
    soilGasMl: volumeMl.positive().nullable(),
    residualShare: z.number().min(0).lt(1).nullable(),
    tracerPct: z.number().min(0).max(100).nullable(),
    tracerShroudPct: z.number().positive().max(100).nullable(),
    flowMlPerMin: z.number().min(0).max(1e5).nullable(),
    airPorosity: z.number().gt(0).lt(1).nullable(),
    leakTestPassed: z.boolean().nullable(),
    saidDryerSpent: z.boolean().nullable(),
    saidTight: z.boolean().nullable(),
  })
  .partial();

const file = z.object({ path, dryRun: z.boolean().optional() });

export const readingSchemas = {
  'readings.import': file,
  'instrument.list': z.object({}).strict(),
  'instrument.set': z.object({ id: id.nullable(), instrument }),
  'instrument.import': file,
  'sample.reduction': z.object({ sampleId: id }),
  'sample.handling': z.object({ sampleIds: z.array(id).min(1).max(10_000), handling }),
} satisfies Record<keyof ReadingRequests, z.ZodType>;
