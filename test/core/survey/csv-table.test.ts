import { describe, expect, test } from 'vitest';
import { AppError } from '../../../core/errors.ts';
import { readTable } from '../../../core/survey/csv-table.ts';
import { bytes, table } from './field-sheet.ts';

const PLAIN = 'probe,x,y,radon\nP1,1,2,30.5\nP2,3,4,40.5\n';
const PLAIN_ROWS = [
  { row: 2, cells: ['P1', '1', '2', '30.5'] },
  { row: 3, cells: ['P2', '3', '4', '40.5'] },
];

function failure(text: string, options = {}): AppError {
  try {
    table(text, options);
  } catch (error) {
    if (error instanceof AppError) return error;
    throw error;
  }
  throw new Error('no error');
}

describe('encodings and line ends', () => {
  const utf16 = (text: string, bigEndian: boolean, mark: boolean) => {
    const codes = [...(mark ? '\ufeff' : ''), ...text].map((c) => c.charCodeAt(0));
    return new Uint8Array(codes.flatMap((c) => (bigEndian ? [c >> 8, c & 255] : [c & 255, c >> 8])));
  };
  test.each([
    ['UTF-8', bytes(PLAIN), 'UTF-8'],
    ['UTF-8 with byte order mark', bytes(`\ufeff${PLAIN}`), 'UTF-8'],
    ['UTF-16 little endian with mark', utf16(PLAIN, false, true), 'UTF-16LE'],
    ['UTF-16 big endian with mark', utf16(PLAIN, true, true), 'UTF-16BE'],
    ['UTF-16 without mark', utf16(PLAIN, false, false), 'UTF-16LE'],
    ['CRLF', bytes(PLAIN.replaceAll('\n', '\r\n')), 'UTF-8'],
    ['CR only', bytes(PLAIN.replaceAll('\n', '\r')), 'UTF-8'],
    ['no line end at the end', bytes(PLAIN.trimEnd()), 'UTF-8'],
  ])('%s', (_name, data, encoding) => {
    const read = readTable(data, 'sheet.csv');
    expect(read.encoding).toBe(encoding);
    expect(read.columns.map((c) => c.name)).toEqual(['probe', 'x', 'y', 'radon']);
    expect(read.rows).toEqual(PLAIN_ROWS);
  });

  test('Windows-1252 is read and said to be a guess', () => {
    const read = readTable(
      new Uint8Array([...bytes('probe;x;y;Bodenart\nP1;1;2;t'), 0xf6, 0x6e, 0x80]),
      'a.csv',
    );
    expect(read.encoding).toBe('Windows-1252');
    expect(read.rows[0]?.cells[3]).toBe('tön€');
    expect(read.issues[0]?.message).toMatch(/Windows-1252/);
  });

  test('a workbook is named as such', () => {
    expect(() => readTable(new Uint8Array([0x50, 0x4b, 3, 4, 0, 0]), 'a.xlsx')).toThrow(
      /a\.xlsx is a workbook.*CSV/,
    );
    expect(() => readTable(new Uint8Array([1, 0, 0, 7, 200, 0]), 'a.dat')).toThrow(/not a text table/);
  });
});

describe('delimiter and decimal sign', () => {
  test('semicolon with decimal comma', () => {
    const read = table('probe;x;y;radon\nP1;1,5;2,5;30,5\nP2;3,5;4,5;40,5\n');
    expect([read.delimiter, read.decimal]).toEqual([';', ',']);
    expect(read.rows[0]?.cells).toEqual(['P1', '1,5', '2,5', '30,5']);
  });
  test('tab, and commas inside remarks do not mislead', () => {
    const read = table('probe\tx\ty\tremark\nP1\t1\t2\twet, cold, late\nP2\t1\t2\tok\n');
    expect(read.delimiter).toBe('\t');
    expect(read.rows[0]?.cells[3]).toBe('wet, cold, late');
  });
  test('bar', () => {
    expect(table('probe|x|y\nP1|1|2\n').delimiter).toBe('|');
  });
  test('quoted decimal commas in a comma-separated file', () => {
    const read = table('probe,x,radon\nP1,1,"30,5"\nP2,2,"40,5"\n');
    expect([read.delimiter, read.decimal]).toEqual([',', ',']);
  });
  test('three digits behind every comma are taken as decimals, and said', () => {
    const read = table('probe;x;y\nP1;12,345;13,456\n');
    expect(read.decimal).toBe(',');
    expect(read.issues.map((i) => i.message).join()).toMatch(/three digits/);
  });
  test('a chosen sign wins over what the file looks like', () => {
    expect(table('probe;x;y\nP1;1,5;2\n', { decimal: '.' }).decimal).toBe('.');
  });
});

describe('lines', () => {
  test('line numbers hold over quoted line breaks, comments and blank lines', () => {
    const read = table(
      '# made up\n\nprobe,x,y,remark\nP1,1,2,"two\nlines"\n\n# a comment\nP2,3,4,"say ""no"""\nP3,5,6,\n',
    );
    expect(read.headerRow).toBe(3);
    expect(read.rows.map((r) => r.row)).toEqual([4, 8, 9]);
    expect(read.rows[0]?.cells[3]).toBe('two\nlines');
    expect(read.rows[1]?.cells[3]).toBe('say "no"');
    expect(read.issues).toEqual([]);
  });

  test('a title above the header is named, not lost silently', () => {
    const read = table('Lot 7 (invented)\nprobe,x,y\nP1,1,2\nP2,1,2\n');
    expect(read.headerRow).toBe(2);
    expect(read.issues[0]).toMatchObject({
      severity: 'warning',
      row: 1,
      message: expect.stringMatching(/title: 'Lot 7/),
    });
  });

  test('units in headers and in a row of their own', () => {
    const inHeaders = table('probe,x [ft],depth (cm),Radon (kBq/m³),radon_pCi_L,U (k=2)\nP1,1,2,3,4,5\n');
    expect(inHeaders.columns.map((c) => c.unit)).toEqual([null, 'ft', 'cm', 'kBq/m3', 'pCi/L', null]);
    expect(inHeaders.columns[5]?.coverageFactor).toBe(2);
    const inRow = table('probe,x,depth,radon\n-,m,[cm],Bq/m3\nP1,1,80,30000\n');
    expect(inRow.columns.map((c) => c.unit)).toEqual([null, 'm', 'cm', 'Bq/m3']);
    expect(inRow.rows.map((r) => r.row)).toEqual([3]);
  });

  test('ragged rows: short ones are filled with a warning, shifted ones are errors, empty tails are cut', () => {
    const read = table('a,b,c\n1,2\n1,2,3,4\n1,2,3,,\n');
    expect(read.rows.map((r) => r.cells)).toEqual([
      ['1', '2', ''],
      ['1', '2', '3'],
      ['1', '2', '3'],
    ]);
    expect(read.issues.map((i) => [i.severity, i.row])).toEqual([
      ['warning', 2],
      ['error', 3],
    ]);
  });

  test('trailing delimiters make no column', () => {
    expect(table('a,b,,\n1,2,,\n').columns.map((c) => c.name)).toEqual(['a', 'b']);
  });

  test('headers that are empty or stand twice get names, and it is said', () => {
    const read = table('probe,radon,radon,\nP1,1,2,3\n');
    expect(read.columns.map((c) => c.name)).toEqual(['probe', 'radon', 'radon [2]', 'column 4']);
    expect(read.issues.map((i) => i.row)).toEqual([1, 1]);
  });

  test('an unclosed quote costs its own line only', () => {
    const read = table('probe,x,y\nP1,1,"2\nP2,3,4\nP3,5,6\n');
    expect(read.rows.map((r) => r.row)).toEqual([2, 3, 4]);
    expect(read.rows[0]?.cells).toEqual(['P1,1,"2', '', '']);
    expect(table('probe,x,y\n#,"no end\nP1,1,2\n').issues).toEqual([]);
    expect(read.issues).toMatchObject([
      { severity: 'error', row: 2, message: expect.stringMatching(/never closed/) },
    ]);
  });

  test("labels may begin with '#'; a single row that does is taken as a comment and said", () => {
    expect(table('probe,x,y\n#1,1,2\n#2,3,4\n').rows).toHaveLength(2);
    const one = table('probe,x,y\nP1,1,2\n#P2,3,4\nP3,5,6\n');
    expect(one.rows).toHaveLength(2);
    expect(one.issues).toMatchObject([{ severity: 'warning', row: 3 }]);
  });
});

describe('files that are no table', () => {
  test.each([
    ['', /sheet\.csv is empty/],
    ['\n \n\n', /is empty/],
    ['# only a comment\n', /only comment lines/],
    ['probe,x,y,radon\n', /header in row 1 and no rows/],
    ['probe,x,y\n# P1,1,2\n', /no rows/],
    ['1,2,3\n4,5,6\n', /no header: row 1 holds only numbers/],
    ['probe\nP1\nP2\n', /only one column/],
  ])('%j', (text, message) => {
    const error = failure(text);
    expect(error.code).toBe('BAD_INPUT');
    expect(error.details.file).toBe('sheet.csv');
    expect(error.message).toMatch(message);
  });

  test('the wrong delimiter is named together with the right one, with row and field', () => {
    const error = failure('probe;x;y\nP1;1;2\n', { delimiter: ',' });
    expect(error.message).toMatch(/only one column when cut at the comma.*semicolon would give several/);
    expect(error.details).toMatchObject({ file: 'sheet.csv', row: 1, field: 'probe;x;y' });
  });
});
