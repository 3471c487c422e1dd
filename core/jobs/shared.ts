/** Float64Array of zeros that every thread sees. */
export function allocateShared(length: number): Float64Array<SharedArrayBuffer> {
  return new Float64Array(new SharedArrayBuffer(length * Float64Array.BYTES_PER_ELEMENT));
}

/** The same numbers in shared memory; the array itself where it is there already. */
export function toShared(values: Float64Array): Float64Array {
  if (values.buffer instanceof SharedArrayBuffer) return values;
  const shared = allocateShared(values.length);
  shared.set(values);
  return shared;
}

/** A copy in ordinary memory, which alone may cross a process border. */
export function toPlain(values: Float64Array): Float64Array<ArrayBuffer> {
  return Float64Array.from(values);
}
