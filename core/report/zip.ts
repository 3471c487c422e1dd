/** A ZIP archive in memory, as office files are (APPNOTE 6.3: deflate, UTF-8 names, no data descriptors). */
import { crc32, deflateRawSync } from 'node:zlib';

export interface ZipEntry {
  readonly name: string;
  readonly bytes: Uint8Array;
  /** Not packed. */
  readonly isStored?: boolean;
}

const UTF8_NAMES = 0x0800;
const STORED = 0;
const DEFLATE = 8;
const VERSION = 20;
/** 1980-01-01 00:00, the least date the format knows: the same entries give the same bytes. */
const DOS_DATE = 0x0021;

/** Bytes of an archive of the entries in their order. */
export function zip(entries: readonly ZipEntry[]): Uint8Array {
  const bodies: Buffer[] = [];
  const directory: Buffer[] = [];
  let offset = 0;
  for (const { name, bytes, isStored = false } of entries) {
    const nameBytes = Buffer.from(name, 'utf8');
    const packed = isStored ? Buffer.from(bytes) : deflateRawSync(bytes, { level: 9 });
    const common = Buffer.alloc(26);
    common.writeUInt16LE(VERSION, 0);
    common.writeUInt16LE(UTF8_NAMES, 2);
    common.writeUInt16LE(isStored ? STORED : DEFLATE, 4);
    common.writeUInt16LE(0, 6);
    common.writeUInt16LE(DOS_DATE, 8);
    common.writeUInt32LE(crc32(bytes), 10);
    common.writeUInt32LE(packed.length, 14);
    common.writeUInt32LE(bytes.length, 18);
    common.writeUInt16LE(nameBytes.length, 22);
    const local = Buffer.concat([Buffer.from('PK\x03\x04', 'latin1'), common, nameBytes, packed]);
    const tail = Buffer.alloc(14);
    tail.writeUInt32LE(offset, 10);
    directory.push(
      Buffer.concat([
        Buffer.from('PK\x01\x02', 'latin1'),
        Buffer.from([VERSION, 0]),
        common,
        tail,
        nameBytes,
      ]),
    );
    bodies.push(local);
    offset += local.length;
  }
  const central = Buffer.concat(directory);
  const end = Buffer.alloc(22);
  end.write('PK\x05\x06', 0, 'latin1');
  end.writeUInt16LE(entries.length, 8);
  end.writeUInt16LE(entries.length, 10);
  end.writeUInt32LE(central.length, 12);
  end.writeUInt32LE(offset, 16);
  return new Uint8Array(Buffer.concat([...bodies, central, end]));
}
