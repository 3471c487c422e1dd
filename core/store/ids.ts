import { randomBytes } from 'node:crypto';

let lastMs = 0;
let serial = 0;

/**
 * A UUID version 7 (RFC 9562, 5.7): milliseconds, then a 12-bit counter, then 62 random bits.
 * Ids made in one process sort in the order they were made, even when the clock steps back.
 */
export function newId(): string {
  const nowMs = Date.now();
  if (nowMs > lastMs) {
    lastMs = nowMs;
    serial = 0;
  } else if (serial < 0xfff) {
    serial += 1;
  } else {
    lastMs += 1;
    serial = 0;
  }
  const random = randomBytes(8);
  random[0] = 0x80 | ((random[0] ?? 0) & 0x3f);
  const tail = random.toString('hex');
  const head = lastMs.toString(16).padStart(12, '0');
  const counter = serial.toString(16).padStart(3, '0');
  return `${head.slice(0, 8)}-${head.slice(8)}-7${counter}-${tail.slice(0, 4)}-${tail.slice(4)}`;
}
