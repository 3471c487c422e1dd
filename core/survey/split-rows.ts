import Papa from 'papaparse';
import type { RowIssue } from '../contract/requests.ts';

export type Delimiter = ',' | ';' | '\t' | '|';

/** Cells as the file has them, however many. */
export interface RawRow {
  /** 1-based line of the file where the row begins. */
  readonly row: number;
  readonly cells: readonly string[];
}

const DELIMITERS: readonly Delimiter[] = [';', '\t', ',', '|'];

/** Rows of raw cells with the line each begins on; an unclosed quote costs its own line only. */
export function splitRows(text: string, delimiter: Delimiter, file: string, issues: RowIssue[]): RawRow[] {
  const rows: RawRow[] = [];
  let start = 0;
  let line = 1;
  while (start < text.length) {
    const part = text.slice(start);
    let cursor = 0;
    let brokenAt: number | null = null;
    Papa.parse<string[]>(part, {
      delimiter,
      newline: '\n',
      step: (result, parser) => {
        if (result.errors.some((e) => e.code === 'MissingQuotes')) {
          brokenAt = cursor;
          parser.abort();
          return;
        }
        rows.push({ row: line, cells: result.data.map((c) => c.trim()) });
        line += countLineBreaks(part, cursor, result.meta.cursor);
        cursor = result.meta.cursor;
      },
    });
    if (brokenAt === null) break;
    const end = part.indexOf('\n', brokenAt);
    const brokenLine = part.slice(brokenAt, end < 0 ? part.length : end);
    rows.push({ row: line, cells: [brokenLine.trimEnd()] });
    if (!brokenLine.startsWith('#')) {
      issues.push({
        severity: 'error',
        file,
        row: line,
        field: null,
        message: `row ${line} of ${file} opens a quote (") that is never closed: the row cannot be read`,
      });
    }
    if (end < 0) break;
    start += end + 1;
    line += 1;
  }
  return rows;
}

function countLineBreaks(text: string, from: number, to: number): number {
  let count = 0;
  for (let i = text.indexOf('\n', from); i >= 0 && i < to; i = text.indexOf('\n', i + 1)) count++;
  return count;
}

/** The sign that cuts most lines of the file's beginning into the same number of cells. */
export function detectDelimiter(text: string): Delimiter {
  const sample = text.slice(0, 60_000);
  let best: { delimiter: Delimiter; score: number } | null = null;
  for (const delimiter of DELIMITERS) {
    const counts = splitRows(sample, delimiter, '', [])
      .filter((r) => r.cells.some((c) => c !== '') && !(r.cells[0] ?? '').startsWith('#'))
      .map((r) => r.cells.length);
    const mode = mostCommon(counts);
    if (mode < 2) continue;
    const share = counts.filter((c) => c === mode).length / counts.length;
    // A header cut into one cell is no header: the sign then stands inside numbers or remarks. A title may come first.
    const header = (counts[0] ?? 1) > 1 ? 1 : (counts[1] ?? 1) > 1 ? 0.5 : 0;
    const score = share + header + Math.min(mode, 30) / 1000;
    if (best === null || score > best.score) best = { delimiter, score };
  }
  return best?.delimiter ?? ',';
}

/** The value met most often; of several, the highest; 0 for none. */
export function mostCommon(counts: readonly number[]): number {
  const tally = new Map<number, number>();
  for (const c of counts) tally.set(c, (tally.get(c) ?? 0) + 1);
  let best = 0;
  let most = 0;
  for (const [value, times] of tally) {
    if (times > most || (times === most && value > best)) {
      best = value;
      most = times;
    }
  }
  return best;
}
