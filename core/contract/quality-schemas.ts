import { z } from 'zod';
import type { QualityRequests } from './quality.ts';

const id = z.string().min(1).max(64);
const text = z.string().max(2000).nullable();
const utc = z.iso.datetime({ message: 'a time is written as YYYY-MM-DDThh:mm:ssZ' });
const volumeMl = z.number().positive().max(1e7);
const percent = z.number().min(0).max(100);
const radon = z.number().min(0).max(1e6);
const window = z.string().min(1).max(60);
const startS = z.number().min(0).max(86_400);
const lengthS = z.number().positive().max(86_400);

const dayLog = z.object({
  day: z.iso.date({ message: 'a day is written as YYYY-MM-DD' }),
  crew: text,
  rainMm: z.number().min(0).max(2000).nullable(),
  hoursSinceRain: z.number().min(0).max(10_000).nullable(),
  surface: z.enum(['dry', 'moist', 'wet', 'frozen']).nullable(),
  airTemperatureC: z.number().min(-60).max(60).nullable(),
  pressureHPa: z.number().min(400).max(1100).nullable(),
  pumpedMl: volumeMl.nullable(),
  systemMl: volumeMl.nullable(),
  freshTape: z.boolean().nullable(),
  openingBackground: z.boolean().nullable(),
  closingBackground: z.boolean().nullable(),
  controlProbeId: id.nullable(),
  note: text,
  events: z
    .array(
      z.object({
        kind: z.enum(['dryer-fresh', 'dryer-spent', 'leak-passed', 'leak-failed']),
        atUtc: utc,
        note: text,
      }),
    )
    .max(500),
});

const facts = z
  .object({
    takenUtc: utc,
    depthM: z.number().positive().max(10),
    radonKBqPerM3: radon,
    radonUKBqPerM3: radon,
    oxygenPct: percent,
    carbonDioxidePct: percent,
    suctionPa: z.number().min(0).max(1e5),
    flowMlPerMin: z.number().min(0).max(1e5),
    pumpedMl: volumeMl,
    systemMl: volumeMl,
    tracerPct: percent,
    tracerShroudPct: percent.positive(),
    leakTestPassed: z.boolean(),
    saidFreshAir: z.boolean(),
    saidWater: z.boolean(),
    saidTight: z.boolean(),
  })
  .partial();

const interval = z.object({ startS, lengthS, window: window.optional() });
const counts = z.object({
  instrumentId: id,
  fillS: startS.optional(),
  intervals: z.array(interval.extend({ counts: z.number().int().min(0).max(1e9) })).max(200),
});

const empty = z.object({}).strict();

export const qualitySchemas = {
  'quality.get': empty,
  'field.leave': empty,
  'hole.judge': z.object({
    probeId: id,
    kind: z.enum(['grab', 'duplicate', 'repeat', 'blank']),
    sampleId: id.nullable(),
    facts,
    counts: counts.nullable(),
    toCome: z.array(interval).max(200),
    nextKBqPerM3: radon.positive().optional(),
  }),
  'day.list': empty,
  'day.set': z.object({ id: id.nullable(), log: dayLog }),
  'day.import': z.object({ path: z.string().min(1).max(4096), dryRun: z.boolean().optional() }),
  'day.remove': z.object({ id }),
} satisfies Record<keyof QualityRequests, z.ZodType>;
