/** What travels between window, shell and engine. Numbers are bounded here; meaning is checked where it is used. */
import { z } from 'zod';
import type { WireError } from '../errors.ts';
import type { Input, Output, RequestName } from './requests.ts';

export interface RequestEnvelope<N extends RequestName = RequestName> {
  readonly kind: 'request';
  readonly id: number;
  readonly name: N;
  readonly input: Input<N>;
}

export type ReplyEnvelope<N extends RequestName = RequestName> =
  | {
      readonly kind: 'reply';
      readonly id: number;
      readonly ok: true;
      readonly revision: number;
      readonly output: Output<N>;
    }
  | {
      readonly kind: 'reply';
      readonly id: number;
      readonly ok: false;
      readonly revision: number;
      readonly error: WireError;
    };

export type EngineEvent =
  | { readonly kind: 'progress'; readonly requestId: number; readonly done: number; readonly stage: string }
  | { readonly kind: 'changed'; readonly revision: number }
  | { readonly kind: 'ready'; readonly host: string };

export type EngineMessage = ReplyEnvelope | EngineEvent;

export const requestEnvelopeSchema = z.object({
  kind: z.literal('request'),
  id: z.number().int().nonnegative(),
  name: z.string().max(64),
  input: z.unknown(),
});

const wireErrorSchema = z.object({
  code: z.string().max(32),
  message: z.string(),
  details: z.record(z.string(), z.unknown()),
});

/** Shape of everything an engine may say; outputs are checked by type at build time, not walked at run time. */
export const engineMessageSchema = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('reply'),
    id: z.number().int().nonnegative(),
    ok: z.boolean(),
    revision: z.number().int(),
    output: z.unknown().optional(),
    error: wireErrorSchema.optional(),
  }),
  z.object({
    kind: z.literal('progress'),
    requestId: z.number().int().nonnegative(),
    done: z.number().min(0).max(1),
    stage: z.string(),
  }),
  z.object({ kind: z.literal('changed'), revision: z.number().int() }),
  z.object({ kind: z.literal('ready'), host: z.string() }),
]);
