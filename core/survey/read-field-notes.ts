/** What a field sheet says of the drawing itself: volumes, flow, leak check, tracer, dryer. */

import type { ImportField } from '../contract/requests.ts';
import { clip } from '../text.ts';
import { type CellReader, plainWord } from './cell-reader.ts';
import { parseYesNo } from './parse-cell.ts';

/** null where the file does not say, which is never the same as no. */
export interface FieldNotesDraft {
  readonly pumpedMl: number | null;
  readonly lineMl: number | null;
  readonly flowMlPerMin: number | null;
  /** Share of the ground's volume that is filled with gas, 0..1. */
  readonly airPorosity: number | null;
  readonly tracerPct: number | null;
  readonly tracerShroudPct: number | null;
  readonly leakTestPassed: boolean | null;
  readonly saidDryerSpent: boolean | null;
  readonly saidTight: boolean | null;
}

const ML_PER: Readonly<Record<string, number>> = { mL: 1, L: 1000, 'mL/min': 1, 'L/min': 1000 };
/** More than any hand pump draws at one hole in a day: a slip of unit. */
const MOST_ML = 1e6;
const MOST_LINE_ML = 1e5;
const MOST_ML_PER_MIN = 1e5;

interface Word {
  readonly words: RegExp;
  readonly says: boolean;
}

const LEAK_WORDS: readonly Word[] = [
  { words: /^(pass(ed)?|ok|okay|held|holds|good|no leak|no loss|bestanden|vyhovuje)$/i, says: true },
  { words: /^(fail(ed)?|not ok|leak(s|ed|y)?|lost|loss|bad|nicht bestanden|nevyhovuje)$/i, says: false },
];
const DRYER_WORDS: readonly Word[] = [
  { words: /^(spent|used( up)?|exhausted|saturated|wet|moist|verbraucht|spotrebovane)$/i, says: true },
  { words: /^(fresh|new|changed|dry|ok|okay|good|frisch|neu|cerstve)$/i, says: false },
];

export function readFieldNotes(cells: CellReader): FieldNotesDraft {
  return {
    pumpedMl: cells.number('pumped', volume(MOST_ML)),
    lineMl: cells.number('line', volume(MOST_LINE_ML)),
    flowMlPerMin: cells.number('flow', volume(MOST_ML_PER_MIN)),
    airPorosity: cells.number('airPorosity', porosity),
    tracerPct: readTracer(cells, 'tracer'),
    tracerShroudPct: readTracer(cells, 'tracerShroud'),
    leakTestPassed: readWord(cells, 'leakTest', LEAK_WORDS, {
      yesMeansTrue: /pass|held|holds|\bok\b|bestanden/i,
      yesMeansFalse: /fail|leaked|lost/i,
      write: 'passed or failed',
    }),
    saidDryerSpent: readWord(cells, 'dryer', DRYER_WORDS, {
      yesMeansTrue: /spent|used|exhausted|verbraucht/i,
      yesMeansFalse: /fresh|changed|\bok\b|frisch/i,
      write: 'fresh or spent',
    }),
    saidTight: readTight(cells),
  };
}

function volume(most: number) {
  return (value: number, unit: string): number | string => {
    const ml = value * (ML_PER[unit] ?? 1);
    if (ml < 0) return 'is negative';
    return ml > most
      ? `is ${ml} ${unit.includes('min') ? 'mL/min' : 'mL'}; is the column in another unit than ${unit}?`
      : ml;
  };
}

/** Ground that gives gas at all has some per cent of open pores, and none is all pores. */
function porosity(value: number, unit: string): number | string {
  const share = unit === '%' ? value / 100 : value;
  if (share > 0.005 && share < 0.9) return share;
  return unit === '%'
    ? 'is no air-filled porosity between 0.5 and 90 %; is the column a share?'
    : 'is no share between 0.005 and 0.9; is the column in %?';
}

/** A tracer reported as under a limit may be there up to it: the limit is taken, so that no leak is talked away. */
function readTracer(cells: CellReader, field: 'tracer' | 'tracerShroud'): number | null {
  const parsed = cells.parse(field);
  const scale = cells.column(field)?.unit === 'ppm' ? 1e-4 : 1;
  if (parsed.kind === 'below' && field === 'tracer' && parsed.value >= 0) {
    cells.warn(
      field,
      `${cells.place(field)}: '${cells.cell(field)}' is taken as ${parsed.value}, the most it can be`,
    );
    return parsed.value * scale;
  }
  if (parsed.kind === 'not-detected') {
    cells.warn(
      field,
      `${cells.place(field)}: '${cells.cell(field)}' names no limit, so it says nothing of a leak; write it as '<' and the detection limit`,
    );
    return null;
  }
  return cells.number(field, (value) => {
    const pct = value * scale;
    if (pct < 0 || pct > 100) return 'is not a percentage between 0 and 100';
    return field === 'tracerShroud' && pct === 0
      ? 'is no tracer under the shroud: the leak check says nothing'
      : pct;
  });
}

interface YesNoSense {
  /** Headers under which 'yes' says it. */
  readonly yesMeansTrue: RegExp;
  readonly yesMeansFalse: RegExp;
  readonly write: string;
}

function readWord(
  cells: CellReader,
  field: ImportField,
  words: readonly Word[],
  sense: YesNoSense,
): boolean | null {
  const text = plainWord(cells.cell(field));
  if (/^(|-|–|n\/?a|none|not done|not made|\?)$/i.test(text)) return null;
  const found = words.find((w) => w.words.test(text));
  if (found !== undefined) return found.says;
  const answer = parseYesNo(text);
  const header = cells.column(field)?.name ?? '';
  if (answer !== null && sense.yesMeansFalse.test(header)) return !answer;
  if (answer !== null && sense.yesMeansTrue.test(header)) return answer;
  cells.error(field, `${cells.place(field)}: '${clip(text)}' does not say which: write ${sense.write}`);
  return null;
}

/** An empty cell says nothing; water and tight ground at once contradict each other. */
function readTight(cells: CellReader): boolean | null {
  if (cells.cell('tight') === '') return null;
  const said = cells.yesNo('tight');
  if (said && cells.cell('water') !== '' && parseYesNo(cells.cell('water')) === true) {
    cells.warn('tight', `${cells.place('tight')}: both water and tight ground are noted; water counts`);
    return null;
  }
  return said;
}
