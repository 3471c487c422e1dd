/** An issued state: everything the report says, frozen as one canonical text, and named by its hash. */
import { type CanonicalValue, canonicalJson, sha256 } from '../store/canonical.ts';
import type { ReportInput } from './report-model.ts';

/** Raised whenever the shape changes: states of different forms are compared as far as both carry a part. */
export const STATE_FORM = 2;

/** Kind under which a project keeps the text of an issued state among its files. */
export const ISSUED_MEDIA_TYPE = 'application/vnd.gasplat.issued+json';

const REPORT_MEDIA_TYPES = {
  pdf: 'application/pdf',
  html: 'text/html',
  docx: 'application/vnd.openxmlformats-officedocument.wordprocessingml.document',
} as const;
const OF_ISSUE = '; of=issue';

/** Kind under which a project keeps a report as it was sent out. */
export function issuedReportMediaType(format: keyof typeof REPORT_MEDIA_TYPES): string {
  return `${REPORT_MEDIA_TYPES[format]}${OF_ISSUE}`;
}

/** Whether a kept file came of an issue: it is then no source of what a later report says. */
export function isOfIssue(mediaType: string): boolean {
  return mediaType === ISSUED_MEDIA_TYPE || mediaType.endsWith(OF_ISSUE);
}

export interface IssuedState {
  readonly sha256: string;
  readonly json: string;
}

/** What of a value can be frozen: numbers that are not finite have no decimal text and are kept as words. */
function canonical(value: unknown): CanonicalValue {
  if (value === null || value === undefined) return null;
  if (typeof value === 'number') return Number.isFinite(value) ? value : String(value);
  if (typeof value === 'string' || typeof value === 'boolean') return value;
  if (ArrayBuffer.isView(value)) return { hash: sha256(bytesOf(value)), type: value.constructor.name };
  if (Array.isArray(value)) return value.map(canonical);
  return Object.fromEntries(
    Object.entries(value as Record<string, unknown>)
      .filter(([, v]) => v !== undefined)
      .map(([key, v]) => [key, canonical(v)]),
  );
}

/** Numbers of a grid by their bytes, lowest first on every machine. */
function bytesOf(view: ArrayBufferView): Uint8Array {
  if (!(view instanceof Float64Array)) return new Uint8Array(view.buffer, view.byteOffset, view.byteLength);
  const out = new DataView(new ArrayBuffer(view.byteLength));
  view.forEach((v, i) => {
    out.setFloat64(8 * i, v, true);
  });
  return new Uint8Array(out.buffer);
}

/**
 * Freezes inputs, parameters, results and versions of a report. What changes nothing that is said stays out: the path
 * of the file, the time a surface took, the date of printing, undo and redo, and earlier issues.
 * Grids are kept by the hash of their numbers. The same state gives the same text on every machine.
 */
export function issueState(input: ReportInput): IssuedState {
  const { figure, view, surface, classResult } = input;
  const { path: _path, canUndo: _undo, canRedo: _redo, marks: _marks, sheetTexts: _texts, ...project } = view;
  const {
    lines: _lines,
    bands: _bands,
    seconds: _seconds,
    ...kept
  } = surface ?? {
    lines: [],
    bands: [],
    seconds: 0,
  };
  const json = canonicalJson(
    canonical({
      form: STATE_FORM,
      program: figure.program,
      project,
      surface: surface === null ? { none: figure.noSurfaceReason } : kept,
      class: classResult,
      limits: figure.limits,
      highRulings: figure.highRulings ?? [],
      weakGround: figure.weakGround?.statement ?? null,
      lotSource: figure.lotSource ?? null,
      record: {
        hash: figure.recordHash,
        entries: input.record.map((e) => e.hash),
        intact: input.recordIntact,
      },
      files: input.files.map(({ name, sha256: hash }) => ({ name, sha256: hash })),
      people: input.people,
      sheet: figure.sheet ?? null,
      purpose: input.purpose,
      instruments: input.instruments,
      quality: input.quality,
      days: input.days,
      footprintClass: input.footprintClass,
      placements: input.placements,
      cautions: figure.cautions,
    }),
  );
  return { json, sha256: sha256(json) };
}

/** Who a frozen state names as its preparer; null where it names nobody. */
export function preparerOf(state: IssuedState): string | null {
  const { people } = JSON.parse(state.json) as { people?: { preparedBy?: string | null } };
  return people?.preparedBy ?? null;
}

/** Whether two written names are one person's as far as writing can tell: capitals and spaces aside. */
export function isSamePerson(a: string, b: string): boolean {
  const plain = (name: string) =>
    name
      .normalize('NFKC')
      .toLowerCase()
      .replace(/[\s.]+/g, ' ')
      .trim();
  return plain(a) === plain(b);
}

/** The line a second person signs: it names the state by its hash, so that it cannot be put under another one. */
export interface ReviewLine {
  readonly sha256: string;
  readonly reviewer: string;
  readonly atUtc: string;
  readonly statement: string;
}

export function reviewLine(state: IssuedState, reviewer: string, atUtc: string): ReviewLine {
  return {
    sha256: state.sha256,
    reviewer,
    atUtc,
    statement: `Reviewed by ${reviewer}, ${atUtc.slice(0, 10)}: the state with SHA-256 ${state.sha256}`,
  };
}
