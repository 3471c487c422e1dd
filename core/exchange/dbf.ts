/** The table beside a shapefile (dBASE III and IV). */
import { bad, type PropertyValue } from './geometry.ts';

export interface DbfRecord {
  readonly deleted: boolean;
  readonly values: Readonly<Record<string, PropertyValue>>;
}

interface Field {
  readonly name: string;
  readonly type: string;
  readonly length: number;
}

const FIELD_BYTES = 32;
const END_OF_FIELDS = 0x0d;
const DELETED = 0x2a;
const SINGLE_BYTE = 'windows-1252';
/** The header's own mark of the encoding, as far as it names one of today's. */
const LANGUAGE_MARKS: Readonly<Record<number, string>> = {
  3: SINGLE_BYTE,
  87: SINGLE_BYTE,
  200: 'windows-1250',
  201: 'windows-1251',
  202: 'windows-1254',
  203: 'windows-1253',
};

/**
 * Every record in the order of the file, deleted ones marked. Empty cells are null.
 * @param cpg - text of the .cpg file; without one UTF-8 where the bytes are that, else as the
 *   header marks it, else Windows-1252
 */
export function readDbf(bytes: Uint8Array, cpg: string | null, file: string): DbfRecord[] {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (bytes.length < FIELD_BYTES) throw bad(`The .dbf beside ${file} is cut short.`, { file, field: 'dbf' });
  const count = view.getUint32(4, true);
  const headerBytes = view.getUint16(8, true);
  const recordBytes = view.getUint16(10, true);
  const decode = decoder(cpg, bytes.subarray(headerBytes), LANGUAGE_MARKS[bytes[29] ?? 0] ?? SINGLE_BYTE);
  const fields: Field[] = [];
  for (
    let at = FIELD_BYTES;
    at + FIELD_BYTES <= headerBytes && bytes[at] !== END_OF_FIELDS;
    at += FIELD_BYTES
  ) {
    const name = bytes.subarray(at, at + 11);
    const end = name.indexOf(0);
    fields.push({
      name: decode(name.subarray(0, end < 0 ? 11 : end)).trim(),
      type: String.fromCharCode(bytes[at + 11] ?? 0),
      length: bytes[at + 16] ?? 0,
    });
  }
  if (recordBytes < 1 || headerBytes + count * recordBytes > bytes.length + 1 || fields.length === 0) {
    throw bad(`The .dbf beside ${file} is damaged: it claims ${count} records and is too short.`, {
      file,
      field: 'dbf',
    });
  }
  return Array.from({ length: count }, (_, i) => {
    let at = headerBytes + i * recordBytes;
    const deleted = bytes[at] === DELETED;
    at += 1;
    const values: Record<string, PropertyValue> = {};
    for (const { name, type, length } of fields) {
      values[name] = readCell(type, decode(bytes.subarray(at, at + length)));
      at += length;
    }
    return { deleted, values };
  });
}

function readCell(type: string, raw: string): PropertyValue {
  const text = raw.replaceAll('\0', '').trim();
  if (text === '' || /^\*+$/.test(text)) return null;
  if (type === 'N' || type === 'F') {
    const value = Number(text.replace(',', '.'));
    return Number.isFinite(value) ? value : null;
  }
  if (type === 'L') return /^[YyTt]$/.test(text) ? true : /^[NnFf]$/.test(text) ? false : null;
  if (type === 'D') {
    // some writers fill an empty date with zeros
    if (/^0*$/.test(text)) return null;
    if (/^\d{8}$/.test(text)) return `${text.slice(0, 4)}-${text.slice(4, 6)}-${text.slice(6)}`;
  }
  return text;
}

function decoder(cpg: string | null, sample: Uint8Array, marked: string): (bytes: Uint8Array) => string {
  const stated = (cpg ?? '').trim().toLowerCase();
  const code = /^(?:ansi |cp|windows-)?(125\d|874)$/.exec(stated)?.[1];
  const iso = /8859[-_ ]?(\d{1,2})$/.exec(stated)?.[1];
  let label = code === undefined ? stated : `windows-${code}`;
  if (iso !== undefined) label = `iso-8859-${iso}`;
  if (label === '') label = isUtf8(sample) ? 'utf-8' : marked;
  const text = makeDecoder(label);
  return (bytes) => text.decode(bytes);
}

/** An encoding that nobody knows is read letter by letter: names may look odd, numbers stand. */
function makeDecoder(label: string) {
  try {
    return new TextDecoder(label);
  } catch {
    return new TextDecoder(SINGLE_BYTE);
  }
}

function isUtf8(bytes: Uint8Array): boolean {
  try {
    new TextDecoder('utf-8', { fatal: true }).decode(bytes);
    return true;
  } catch {
    return false;
  }
}
