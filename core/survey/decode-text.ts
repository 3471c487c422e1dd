import { AppError } from '../errors.ts';

export interface DecodedText {
  /** Line ends are `\n` only, so a line of the text is a line an editor shows; no byte order mark. */
  readonly text: string;
  readonly encoding: 'UTF-8' | 'UTF-16LE' | 'UTF-16BE' | 'Windows-1252';
  /** True where nothing in the file proves the encoding. */
  readonly guessed: boolean;
}

/**
 * Text of a table file, whatever program wrote it.
 * @throws AppError BAD_INPUT where the bytes are no text (workbook, PDF, other binary), naming the file
 */
export function decodeText(bytes: Uint8Array, file: string): DecodedText {
  refuseBinary(bytes, file);
  const { encoding, skip, guessed } = detectEncoding(bytes);
  const decoded = new TextDecoder(encoding.toLowerCase(), { ignoreBOM: true }).decode(bytes.subarray(skip));
  const text = decoded.replace(/\r\n?/g, '\n');
  if (text.includes('\0')) {
    throw new AppError('BAD_INPUT', `${file} is not a text table (it holds zero bytes). Save it as CSV.`, {
      file,
    });
  }
  return { text, encoding, guessed };
}

function detectEncoding(bytes: Uint8Array): {
  encoding: DecodedText['encoding'];
  skip: number;
  guessed: boolean;
} {
  if (startsWith(bytes, [0xef, 0xbb, 0xbf])) return { encoding: 'UTF-8', skip: 3, guessed: false };
  if (startsWith(bytes, [0xff, 0xfe])) return { encoding: 'UTF-16LE', skip: 2, guessed: false };
  if (startsWith(bytes, [0xfe, 0xff])) return { encoding: 'UTF-16BE', skip: 2, guessed: false };
  const wide = wideEncodingByZeros(bytes);
  if (wide !== null) return { encoding: wide, skip: 0, guessed: true };
  try {
    new TextDecoder('utf-8', { fatal: true }).decode(bytes);
    return { encoding: 'UTF-8', skip: 0, guessed: false };
  } catch {
    return { encoding: 'Windows-1252', skip: 0, guessed: true };
  }
}

/** Latin text in UTF-16 has a zero in every second byte. */
function wideEncodingByZeros(bytes: Uint8Array): 'UTF-16LE' | 'UTF-16BE' | null {
  const n = Math.min(bytes.length - (bytes.length % 2), 4096);
  if (n < 4) return null;
  let even = 0;
  let odd = 0;
  for (let i = 0; i < n; i += 2) {
    if (bytes[i] === 0) even++;
    if (bytes[i + 1] === 0) odd++;
  }
  const pairs = n / 2;
  if (odd > 0.7 * pairs && even < 0.1 * pairs) return 'UTF-16LE';
  if (even > 0.7 * pairs && odd < 0.1 * pairs) return 'UTF-16BE';
  return null;
}

const BINARY_STARTS: readonly { readonly bytes: readonly number[]; readonly what: string }[] = [
  { bytes: [0x50, 0x4b, 0x03, 0x04], what: 'a workbook or zip archive' },
  { bytes: [0xd0, 0xcf, 0x11, 0xe0], what: 'an old binary workbook' },
  { bytes: [0x25, 0x50, 0x44, 0x46], what: 'a PDF' },
  { bytes: [0x1f, 0x8b], what: 'a gzip archive' },
];

function refuseBinary(bytes: Uint8Array, file: string): void {
  for (const start of BINARY_STARTS) {
    if (startsWith(bytes, start.bytes)) {
      throw new AppError('BAD_INPUT', `${file} is ${start.what}, not a text table. Save the sheet as CSV.`, {
        file,
      });
    }
  }
}

function startsWith(bytes: Uint8Array, start: readonly number[]): boolean {
  return bytes.length >= start.length && start.every((byte, i) => bytes[i] === byte);
}
