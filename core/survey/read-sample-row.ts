import type { PermeabilityClass, ProbeState, SampleKind, SampleValues } from '../contract/model.ts';
import type { RowIssue } from '../contract/requests.ts';
import { type PressureUnit, toPa } from '../soil/pressure-units.ts';
import { clip } from '../text.ts';
import { type LengthUnit, type RadonUnit, toKBqPerM3, toMetres } from '../units.ts';
import { CellReader, plainWord, type RowReading } from './cell-reader.ts';
import type { CsvRow } from './csv-table.ts';
import { parseDate, parseYesNo } from './parse-cell.ts';
import { type FieldNotesDraft, readFieldNotes } from './read-field-notes.ts';

/** One row of the file in SI, before probes are put together. */
/** One row of a table of samples, in SI units. */
export interface SheetRow extends Omit<SampleValues, 'kind' | 'radonAboveKBqPerM3'> {
  readonly row: number;
  /** As written; null where the row carries none. */
  readonly code: string | null;
  /** Empty only where a code stands in its place. */
  readonly label: string;
  readonly x: number | null;
  readonly y: number | null;
  readonly offsetEastM: number | null;
  readonly offsetNorthM: number | null;
  /** What the crew says became of the probe. */
  readonly saidState: ProbeState | null;
  /** Placed by the results of a first round. */
  readonly saidAdded: boolean;
  readonly soil: string | null;
  readonly fineFractionPct: number | null;
  readonly permeabilityM2: number | null;
  readonly permeabilityClass: PermeabilityClass | null;
  readonly permeabilityNote: string | null;
  /** Written as `>x`: over the instrument's range. */
  readonly radonAboveKBqPerM3: number | null;
  readonly saidRefused: boolean;
  /** null where the file does not say. */
  readonly kind: SampleKind | null;
  readonly notes: FieldNotesDraft;
}

const DEEPEST_M = 10;
/** 1 darcy = 0.987e-12 m2: hydrology table (Linsley et al. 1982). */
const M2_PER: Readonly<Record<string, number>> = { m2: 1, cm2: 1e-4, um2: 1e-12, darcy: 0.987e-12 };

const WATER_WORDS = /^(water|wet|wasser|voda|eau|vatten|flooded|drowned)$/i;
const REFUSED_WORDS = /^(refusal|refused|rock|blocked|no gas|no flow|kein gas)$/i;

const KINDS: readonly { readonly kind: SampleKind; readonly words: RegExp }[] = [
  { kind: 'duplicate', words: /^(dup(licate)?|d|field duplicate|doppel|duplicat|duplikat)$/i },
  { kind: 'repeat', words: /^(rep(eat)?|r|again|wiederholung|opakovani)$/i },
  { kind: 'blank', words: /^(blank|b|field blank|blindprobe|blanc|slepy)$/i },
  { kind: 'grab', words: /^(grab|g|normal|sample|primary|first|n|s|regular)$/i },
];

const CONTROL_WORDS = /^(control( probe)?|kontrolle|kontrola)$/i;

const STATES: readonly { readonly state: ProbeState; readonly words: RegExp }[] = [
  { state: 'planned', words: /^(planned|p|not driven|open)$/ },
  { state: 'driven', words: /^(driven|d|done|sampled)$/ },
  { state: 'refused', words: /^(refused|refusal|r|rock|blocked)$/ },
  { state: 'abandoned', words: /^(abandoned|a|given up|left)$/ },
];

const PERMEABILITY_WORDS: readonly { readonly cls: PermeabilityClass; readonly words: RegExp }[] = [
  { cls: 'low', words: /^(low|l|niedrig|gering|nizka|faible|lag|1)$/i },
  { cls: 'medium', words: /^(med(ium)?|m|moderate|mittel|stredni|moyenne?|2)$/i },
  { cls: 'high', words: /^(high|h|hoch|vysoka|elevee?|hog|3)$/i },
];

/** Reads one row. An error among the issues means the row must not be used; the row is null then. */
export function readSampleRow(
  source: CsvRow,
  reading: RowReading,
): { row: SheetRow | null; issues: RowIssue[] } {
  const cells = new CellReader(source, reading);
  const label = cells.text('label') ?? '';
  const code = cells.text('code');
  if (label === '' && code === null)
    cells.error('label', `row ${source.row} of ${reading.file} has no probe label`);
  const radon = readRadon(cells);
  const taken = readTaken(cells);
  const permeability = readPermeability(cells);
  const saidState = readState(cells);
  const depthM = cells.number('depth', (v, unit) => {
    const depth = toMetres(v, unit as LengthUnit);
    if (depth < 0) return `is a depth above the ground (${v} ${unit})`;
    if (depth > DEEPEST_M)
      return `is ${depth} m deep, which no soil-gas probe is; is the column in another unit than ${unit}?`;
    return depth;
  });
  const row: SheetRow = {
    row: source.row,
    code,
    label,
    x: cells.number('x', (v) => v),
    y: cells.number('y', (v) => v),
    offsetEastM: cells.number('offsetEast', offset),
    offsetNorthM: cells.number('offsetNorth', offset),
    saidState,
    saidAdded: readAdded(cells),
    depthM,
    soil: cells.text('soil'),
    fineFractionPct: cells.numberOrLimit('fineFraction', percent),
    permeabilityM2: permeability.m2,
    permeabilityClass: readPermeabilityClass(cells) ?? permeability.cls,
    permeabilityNote: permeability.note,
    takenUtc: taken.utc,
    ...radon.value,
    oxygenPct: cells.numberOrLimit('oxygen', gasPercent),
    carbonDioxidePct: cells.numberOrLimit('carbonDioxide', gasPercent),
    suctionPa: cells.numberOrLimit('suction', (v, unit) => toPa(Math.abs(v), unit as PressureUnit)),
    saidFreshAir: cells.yesNo('freshAir'),
    saidWater: cells.yesNo('water') || radon.water,
    saidRefused: radon.refused || saidState === 'refused',
    notes: readFieldNotes(cells),
    kind: readKind(cells),
    remark: joinRemark(cells.text('remark'), taken.asWritten, radon.asWritten),
  };
  return { row: cells.failed ? null : row, issues: cells.issues };
}

/** A tape's length; farther off, the crew stood at another probe. */
const FARTHEST_OFF_M = 50;

function offset(value: number, unit: string): number | string {
  const offM = toMetres(value, unit as LengthUnit);
  return Math.abs(offM) <= FARTHEST_OFF_M ? offM : `is ${offM.toFixed(0)} m off the planned place`;
}

function readState(cells: CellReader): ProbeState | null {
  const word = plainWord(cells.cell('state')).toLowerCase();
  if (word === '' || word === '-') return null;
  const found = STATES.find(({ words }) => words.test(word));
  if (found === undefined)
    cells.warn(
      'state',
      `${cells.place('state')}: '${clip(word)}' is not planned, driven, refused or abandoned; not used`,
    );
  return found?.state ?? null;
}

/** Another program's column of this name, such as a date, keeps no row out. */
function readAdded(cells: CellReader): boolean {
  const answer = parseYesNo(cells.cell('added'));
  if (answer === null)
    cells.warn(
      'added',
      `${cells.place('added')}: '${clip(cells.cell('added'))}' is neither yes nor no; not used`,
    );
  return answer === true;
}

/** A percentage within its bounds, or what is wrong. */
function percent(value: number): number | string {
  return value < 0 || value > 100 ? 'is not a percentage between 0 and 100' : value;
}

function gasPercent(value: number, unit: string): number | string {
  return percent(unit === 'ppm' ? value / 1e4 : value);
}

interface RadonCell {
  readonly value: Pick<
    SheetRow,
    'radonKBqPerM3' | 'radonUKBqPerM3' | 'radonBelowKBqPerM3' | 'radonAboveKBqPerM3'
  >;
  readonly water: boolean;
  readonly refused: boolean;
  readonly asWritten: string | null;
}

function readRadon(cells: CellReader): RadonCell {
  const none = {
    radonKBqPerM3: null,
    radonUKBqPerM3: null,
    radonBelowKBqPerM3: null,
    radonAboveKBqPerM3: null,
  };
  const plain = { value: none, water: false, refused: false, asWritten: null };
  const text = cells.cell('radon');
  const unit = cells.column('radon')?.unit as RadonUnit | undefined;
  if (WATER_WORDS.test(text)) return { ...plain, water: true };
  if (REFUSED_WORDS.test(text)) return { ...plain, refused: true, asWritten: text };
  const parsed = cells.parse('radon');
  const place = cells.place('radon');
  switch (parsed.kind) {
    case 'missing':
      return plain;
    case 'not-detected':
      cells.warn(
        'radon',
        `${place}: '${text}' names no limit, so the sample carries no value; write it as '<' and the detection limit`,
      );
      return { ...plain, asWritten: text };
    case 'bad':
      cells.error('radon', `${place}: ${parsed.problem}`);
      return plain;
    default:
  }
  if (parsed.value < 0) {
    cells.error('radon', `${place}: '${text}' is negative; leave the cell empty where no value was got`);
    return plain;
  }
  const value = toKBqPerM3(parsed.value, unit ?? 'kBq/m3');
  if (parsed.kind === 'below') return { ...plain, value: { ...none, radonBelowKBqPerM3: value } };
  if (parsed.kind === 'above') {
    if (value === 0) return plain;
    cells.warn(
      'radon',
      `${place}: '${text}' is over the instrument's range: kept as a lower bound, which does not count toward a scheme's least number of points`,
    );
    return { ...plain, value: { ...none, radonAboveKBqPerM3: value } };
  }
  return {
    ...plain,
    value: { ...none, radonKBqPerM3: value, radonUKBqPerM3: readUncertainty(cells, value) },
  };
}

/** Standard uncertainty (k = 1), or null where the file gives none; null is never zero. */
function readUncertainty(cells: CellReader, radonKBqPerM3: number): number | null {
  const column = cells.column('radonU');
  const factor = column?.coverageFactor ?? cells.reading.coverageFactor;
  const u = cells.number('radonU', (v, unit) => {
    if (v < 0) return 'is a negative uncertainty';
    return (unit === '%' ? (radonKBqPerM3 * v) / 100 : toKBqPerM3(v, unit as RadonUnit)) / factor;
  });
  if (u === null || u === 0) {
    const rows = cells.reading.onceSeen.get('uncertainty') ?? [];
    rows.push(cells.source.row);
    cells.reading.onceSeen.set('uncertainty', rows);
    return null;
  }
  if (u > radonKBqPerM3 && radonKBqPerM3 > 0) {
    cells.warn('radonU', `${cells.place('radonU')}: the uncertainty is larger than the value`);
  }
  return u;
}

function readTaken(cells: CellReader): { utc: string | null; asWritten: string | null } {
  const { zoneMinutes = null } = cells.column('taken') ?? {};
  const parsed = parseDate(cells.cell('taken'), cells.reading.dateOrder, zoneMinutes);
  if (parsed.kind === 'missing') return { utc: null, asWritten: null };
  if (parsed.kind === 'date') {
    if (!parsed.zoneGiven) {
      const rows = cells.reading.onceSeen.get('zone') ?? [];
      rows.push(cells.source.row);
      cells.reading.onceSeen.set('zone', rows);
    }
    return { utc: parsed.utc, asWritten: null };
  }
  cells.warn('taken', `${cells.place('taken')}: ${parsed.problem}. The date is kept as text only`);
  return { utc: null, asWritten: `taken '${cells.cell('taken')}'` };
}

function readPermeability(cells: CellReader): {
  m2: number | null;
  note: string | null;
  cls: PermeabilityClass | null;
} {
  const parsed = cells.parse('permeability');
  if (parsed.kind === 'below' || parsed.kind === 'above') {
    const unit = cells.column('permeability')?.unit ?? 'm2';
    const note = `permeability ${cells.cell('permeability')} ${unit}`;
    const cls = cells.reading.classOfBound(parsed.kind, parsed.value * (M2_PER[unit] ?? 1));
    const said = cells.cell('permeabilityClass') !== '';
    cells.warn(
      'permeability',
      `${cells.place('permeability')}: a limit is kept as a note, not as a value; ${
        said
          ? 'the class of the row counts'
          : cls === null
            ? 'it leaves more than one class, so give the class too: without it the point has none'
            : `it leaves the class '${cls}' only`
      }`,
    );
    return { m2: null, note, cls };
  }
  const m2 = cells.number('permeability', (v, unit) => {
    const k = v * (M2_PER[unit] ?? 1);
    return k > 1e-20 && k < 1e-6 ? k : `gives ${k} m2, which no ground has; is the unit of the column right?`;
  });
  return { m2, note: null, cls: null };
}

function readPermeabilityClass(cells: CellReader): PermeabilityClass | null {
  const text = plainWord(cells.cell('permeabilityClass'));
  if (text === '' || text === '-') return null;
  const found = PERMEABILITY_WORDS.find((w) => w.words.test(text));
  if (found !== undefined) return found.cls;
  cells.error(
    'permeabilityClass',
    `${cells.place('permeabilityClass')}: '${clip(text)}' is not low, medium or high`,
  );
  return null;
}

function readKind(cells: CellReader): SampleKind | null {
  const text = plainWord(cells.cell('kind'));
  if (text === '' || text === '-') return null;
  const found = KINDS.find((k) => k.words.test(text));
  if (found !== undefined) return found.kind;
  // Its first draw of the day is a grab, the later ones repeats: the log of the day names the probe.
  if (CONTROL_WORDS.test(text)) return null;
  cells.error('kind', `${cells.place('kind')}: '${clip(text)}' is not grab, repeat, duplicate or blank`);
  return null;
}

function joinRemark(...parts: readonly (string | null)[]): string | null {
  const said = parts.filter((p) => p !== null && p !== '');
  return said.length === 0 ? null : said.join('; ');
}
