/** Reads an uncompressed PDF's page content back: paths and text positions, in millimetres from the top left corner. */

type Matrix = readonly [number, number, number, number, number, number];

/** PDF 32000-1:2008, 8.3.4: the new matrix is applied first. */
function multiply(m: Matrix, n: Matrix): Matrix {
  return [
    m[0] * n[0] + m[1] * n[2],
    m[0] * n[1] + m[1] * n[3],
    m[2] * n[0] + m[3] * n[2],
    m[2] * n[1] + m[3] * n[3],
    m[4] * n[0] + m[5] * n[2] + n[4],
    m[4] * n[1] + m[5] * n[3] + n[5],
  ];
}

export interface ReadPath {
  readonly points: readonly (readonly [xMm: number, yMm: number])[];
  readonly painted: string;
  readonly lineWidthMm: number;
}

export interface ReadPage {
  readonly widthMm: number;
  readonly heightMm: number;
  readonly paths: readonly ReadPath[];
  readonly texts: readonly (readonly [xMm: number, yMm: number])[];
}

const MM = 25.4 / 72;

function readContent(content: string, heightPt: number): Pick<ReadPage, 'paths' | 'texts'> {
  const paths: ReadPath[] = [];
  const texts: (readonly [number, number])[] = [];
  const stack: { matrix: Matrix; width: number }[] = [];
  let matrix: Matrix = [1, 0, 0, 1, 0, 0];
  let width = 1;
  let points: (readonly [number, number])[] = [];
  let operands: number[] = [];
  const at = (x: number, y: number): readonly [number, number] => [
    (matrix[0] * x + matrix[2] * y + matrix[4]) * MM,
    (heightPt - (matrix[1] * x + matrix[3] * y + matrix[5])) * MM,
  ];
  const withoutStrings = content.replace(/<[0-9a-fA-F]*>/g, ' ').replace(/\[[^\]]*\]/g, ' ');
  for (const token of withoutStrings.split(/\s+/)) {
    if (/^[-+.\d]/.test(token)) {
      operands.push(Number(token));
      continue;
    }
    const n = (i: number): number => operands[i] ?? Number.NaN;
    if (token === 'q') stack.push({ matrix, width });
    else if (token === 'Q') {
      const state = stack.pop();
      if (state === undefined) throw new Error('Q without q');
      ({ matrix, width } = state);
    } else if (token === 'cm') matrix = multiply([n(0), n(1), n(2), n(3), n(4), n(5)], matrix);
    else if (token === 'w') width = n(0);
    else if (token === 'm' || token === 'l') points.push(at(n(0), n(1)));
    else if (token === 'c') points.push(at(n(4), n(5)));
    else if (token === 'Tm') texts.push(at(n(4), n(5)));
    else if (['f', 'f*', 'S', 'B', 'B*', 'n'].includes(token)) {
      const scale = Math.sqrt(Math.abs(matrix[0] * matrix[3] - matrix[1] * matrix[2]));
      paths.push({ points, painted: token, lineWidthMm: width * scale * MM });
      points = [];
    }
    operands = [];
  }
  return { paths, texts };
}

export function readPdf(bytes: Uint8Array): ReadPage[] {
  const text = Buffer.from(bytes).toString('latin1');
  const contentOf = (id: string): string => {
    const object = new RegExp(`\\n${id} 0 obj[\\s\\S]*?stream\\n([\\s\\S]*?)\\nendstream`).exec(text);
    if (object?.[1] === undefined) throw new Error(`No stream in object ${id}`);
    return object[1];
  };
  return [...text.matchAll(/\/Type \/Page\n[\s\S]*?>>\nendobj/g)].map(([page]) => {
    const box = /\/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]/.exec(page);
    const contents = /\/Contents (\d+) 0 R/.exec(page)?.[1];
    if (box === null || contents === undefined) throw new Error(`Not a page: ${page}`);
    const heightPt = Number(box[2]);
    return {
      widthMm: Number(box[1]) * MM,
      heightMm: heightPt * MM,
      ...readContent(contentOf(contents), heightPt),
    };
  });
}
