/**
 * What a project file is, read from its bytes before SQLite touches it: opening a file with SQLite can already
 * change it (a hot journal is rolled back). Layout: https://www.sqlite.org/fileformat2.html sections 1.3 and 3.
 */
import { closeSync, fstatSync, openSync, readSync } from 'node:fs';
import { AppError } from '../errors.ts';

/** 'GSPL' in the application_id field tells our files from any other SQLite file. */
export const APPLICATION_ID = 0x4753504c;

const MAGIC = 'SQLite format 3\0';
const HEADER_BYTES = 100;
const JOURNAL_MAGIC = Buffer.from('d9d505f920a163d7', 'hex');
const JOURNAL_HEADER_BYTES = 28;
const COUNT_TO_END = 0xffffffff;

export interface ProjectFileLook {
  /** Number of the last migration the file went through. */
  readonly version: number;
  /** A write was cut short: SQLite will roll the file back to its last saved state when it opens it. */
  readonly hotJournal: boolean;
}

/**
 * Looks at a file without changing it.
 * @param versions numbers of all migrations this program knows, ascending
 * @throws AppError NOT_FOUND, BAD_INPUT (no file, or unreadable), STORE_FOREIGN, STORE_NEWER, STORE_DAMAGED
 */
export function lookAtProjectFile(path: string, versions: readonly number[]): ProjectFileLook {
  const { bytes, sizeBytes } = readStart(path, HEADER_BYTES);
  const journal = lookAtJournal(`${path}-journal`);
  // After a rollback the journal's copy of page 1 is what the file starts with.
  const header = journal?.firstPage ?? bytes;
  for (const candidate of startsWithMagic(bytes) ? [bytes, header] : [header])
    checkOwnership(path, candidate, sizeBytes, versions);

  if (header[18] === 2 || header[19] === 2)
    throw new AppError(
      'STORE_DAMAGED',
      `"${path}" was switched to a write-ahead log by another program. With that program, set its journal mode back to DELETE; nothing was changed here.`,
      { file: path },
    );
  const pageBytes = header.readUInt16BE(16) === 1 ? 65536 : header.readUInt16BE(16);
  const pageCountIsValid = header.readUInt32BE(24) === header.readUInt32BE(92);
  const expectedBytes = pageBytes * header.readUInt32BE(28);
  if (journal === null && pageCountIsValid && sizeBytes < expectedBytes)
    throw new AppError(
      'STORE_DAMAGED',
      `"${path}" is cut short: it has ${sizeBytes} bytes and should have ${expectedBytes}. Nothing was changed. Use a backup or ask for the file again.`,
      { file: path, sizeBytes, expectedBytes },
    );
  return { version: header.readUInt32BE(60), hotJournal: journal !== null };
}

function checkOwnership(path: string, header: Buffer, sizeBytes: number, versions: readonly number[]): void {
  const isStart = header.length > 0 && MAGIC.startsWith(header.subarray(0, 16).toString('latin1'));
  if (sizeBytes === 0 || (isStart && header.length < HEADER_BYTES))
    throw new AppError(
      'STORE_DAMAGED',
      `"${path}" is cut short: it has ${sizeBytes} bytes, less than any project. Use a backup or ask for the file again.`,
      { file: path, sizeBytes },
    );
  if (!startsWithMagic(header))
    throw new AppError('STORE_FOREIGN', `"${path}" is not a Gasplat project. It was not changed.`, {
      file: path,
    });
  const applicationId = header.readUInt32BE(68);
  if (applicationId !== APPLICATION_ID)
    throw new AppError(
      'STORE_FOREIGN',
      `"${path}" is an SQLite file of another program, not a Gasplat project. It was not changed.`,
      { file: path, applicationId },
    );
  const version = header.readUInt32BE(60);
  const newest = versions.at(-1) ?? 0;
  if (version > newest)
    throw new AppError(
      'STORE_NEWER',
      `"${path}" was saved by a newer Gasplat (file version ${version}; this program knows up to ${newest}). It was not changed. Update the program to open it.`,
      { file: path, version, newest },
    );
  if (!versions.includes(version))
    throw new AppError(
      'STORE_DAMAGED',
      `"${path}" names file version ${version}, which no Gasplat ever wrote. It was not changed.`,
      { file: path, version },
    );
}

function startsWithMagic(bytes: Buffer): boolean {
  return bytes.length >= HEADER_BYTES && bytes.subarray(0, 16).toString('latin1') === MAGIC;
}

interface HotJournal {
  /** Page 1 as it was before the cut-short write, where the journal holds it. */
  readonly firstPage: Buffer | null;
}

/** null where there is no journal SQLite would play back: none, an empty one, or one whose header was zeroed. */
function lookAtJournal(path: string): HotJournal | null {
  let fd: number;
  try {
    fd = openSync(path, 'r');
  } catch (error) {
    if (codeOf(error) === 'ENOENT') return null;
    throw new AppError('BAD_INPUT', `"${path}" cannot be read (${codeOf(error)})`, { file: path }, error);
  }
  try {
    const header = readAt(fd, 0, JOURNAL_HEADER_BYTES);
    if (header.length < JOURNAL_HEADER_BYTES || !header.subarray(0, 8).equals(JOURNAL_MAGIC)) return null;
    const sectorBytes = header.readUInt32BE(20);
    const pageBytes = header.readUInt32BE(24);
    if (pageBytes < 512 || sectorBytes < 512) return null;
    const recordBytes = pageBytes + 8;
    const present = Math.floor((fstatSync(fd).size - sectorBytes) / recordBytes);
    const stated = header.readUInt32BE(8);
    const count = stated === COUNT_TO_END ? present : Math.min(stated, present);
    for (let index = 0; index < count; index += 1) {
      const offset = sectorBytes + index * recordBytes;
      const page = readAt(fd, offset, 4 + HEADER_BYTES);
      if (page.readUInt32BE(0) === 1) return { firstPage: page.subarray(4) };
    }
    return { firstPage: null };
  } finally {
    closeSync(fd);
  }
}

function readStart(path: string, length: number): { bytes: Buffer; sizeBytes: number } {
  let fd: number | undefined;
  try {
    fd = openSync(path, 'r');
    const stat = fstatSync(fd);
    if (!stat.isFile())
      throw new AppError('BAD_INPUT', `"${path}" is a folder or a device, not a project file.`, {
        file: path,
      });
    return { bytes: readAt(fd, 0, length), sizeBytes: stat.size };
  } catch (error) {
    if (error instanceof AppError) throw error;
    if (codeOf(error) === 'ENOENT')
      throw new AppError('NOT_FOUND', `There is no file "${path}".`, { file: path }, error);
    throw new AppError('BAD_INPUT', `"${path}" cannot be read (${codeOf(error)}).`, { file: path }, error);
  } finally {
    if (fd !== undefined) closeSync(fd);
  }
}

function readAt(fd: number, position: number, length: number): Buffer {
  const buffer = Buffer.alloc(length);
  return buffer.subarray(0, readSync(fd, buffer, 0, length, position));
}

/** The operating system's code of an error, such as ENOENT; empty where it has none. */
export function codeOf(error: unknown): string {
  const code = error instanceof Error ? (error as NodeJS.ErrnoException).code : undefined;
  return code ?? '';
}
