/** One spelling for every value, so that equal content has equal text and an equal hash. */
import { createHash } from 'node:crypto';

export type CanonicalValue =
  | string
  | number
  | boolean
  | null
  | readonly CanonicalValue[]
  | { readonly [key: string]: CanonicalValue };

/**
 * JSON without spaces, keys sorted by UTF-16 code unit and strings escaped as RFC 8785 (sections 3.2.2.2, 3.2.3).
 * Numbers depart from it: they are strings holding the RFC's own number text, the shortest decimal that reads
 * back as the same double, so that no reader rounds them.
 * @throws RangeError on a number that is not finite
 */
export function canonicalJson(value: CanonicalValue): string {
  if (typeof value === 'number') {
    if (!Number.isFinite(value)) throw new RangeError(`${value} has no decimal text`);
    return `"${String(value)}"`;
  }
  if (value === null || typeof value !== 'object') return JSON.stringify(value);
  if (isList(value)) return `[${value.map(canonicalJson).join(',')}]`;
  const parts = Object.keys(value)
    .sort()
    .map((key) => `${JSON.stringify(key)}:${canonicalJson(value[key] ?? null)}`);
  return `{${parts.join(',')}}`;
}

/** Array.isArray does not narrow a readonly array out of a union. */
function isList(value: object): value is readonly CanonicalValue[] {
  return Array.isArray(value);
}

/** Lower-case hex SHA-256 of bytes, or of a text's UTF-8. */
export function sha256(content: string | Uint8Array): string {
  return createHash('sha256').update(content).digest('hex');
}
