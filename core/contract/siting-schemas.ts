import { z } from 'zod';
import type { SitingRequests } from './siting.ts';

const finite = z.number();
const position = z.tuple([finite, finite]);
const label = z.string().max(200);
const lengthM = finite.positive().max(10_000);
const empty = z.object({}).strict();
const pose = z.object({ dxM: finite, dyM: finite, turnDeg: finite, mirrored: z.boolean() });

export const sitingSchemas = {
  'footprint.shape': z.object({
    label,
    shape: z.discriminatedUnion('kind', [
      z.object({ kind: z.literal('rectangle'), lengthM, widthM: lengthM }),
      z.object({
        kind: z.enum(['L', 'U']),
        lengthM,
        widthM: lengthM,
        cutLengthM: lengthM,
        cutWidthM: lengthM,
      }),
    ]),
    centre: position.nullable(),
  }),
  'placement.keep': z.object({ label: z.string().max(60).nullable(), pose, choose: z.boolean() }),
  'placement.choose': z.object({ id: z.string().max(64).nullable() }),
  'placement.remove': z.object({ id: z.string().max(64) }),
  'site.prepare': empty,
  'site.under': z.object({
    place: z.union([z.object({ pose }), z.object({ ring: z.array(position).min(3).max(2000) })]),
  }),
  'site.compare': empty,
  'class.footprint': empty,
} satisfies Record<keyof SitingRequests, z.ZodType>;
