import { basename } from 'node:path';
import { classOfPermeabilityBound } from '../classify/points.ts';
import { schemeById } from '../classify/scheme.ts';
import type { ProjectCrs } from '../contract/model.ts';
import type { ImportOptions, ImportPreview, ImportReport } from '../contract/requests.ts';
import { AppError } from '../errors.ts';
import { metresPerUnit } from '../geo/crs.ts';
import { findCrs, systemTitle } from '../geo/crs-table.ts';
import type { PositionNative } from '../geo/frame.ts';
import { convertTied } from '../geo/local-grid.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { ProbeRow, RowPatch } from '../store/rows.ts';
import type { RowReading } from '../survey/cell-reader.ts';
import type { ImportContext } from '../survey/check-coordinates.ts';
import type { CsvTable } from '../survey/csv-table.ts';
import { readTable } from '../survey/csv-table.ts';
import type { ProbeDraft, SampleDraft, SampleDrafts } from '../survey/import-samples.ts';
import { draftSamples } from '../survey/import-samples.ts';
import { toMetres } from '../units.ts';
import { knownCodes } from './field-sheets.ts';
import { readWhole } from './files.ts';
import { fillKnownProbes, type KnownProbeFills } from './fill-known-probes.ts';
import { gridTie, lotNative, originFor, projectCrs, projectRow, toProjectNative } from './frame-of.ts';
import { sampleCells } from './sample-cells.ts';
import { importedSchemes, schemesOf } from './schemes.ts';
import { parseSettings } from './settings.ts';

const HEAD_ROWS = 8;

/** What an import would do; nothing is written. */
export function previewImport(store: ProjectStore, path: string, options: ImportOptions): ImportPreview {
  const { table, drafts } = readSamples(store, path, options);
  return {
    file: table.file,
    delimiter: table.delimiter,
    decimal: table.decimal,
    columns: table.columns.map((c) => c.name),
    mapping: drafts.mapping,
    head: table.rows.slice(0, HEAD_ROWS).map((r) => r.cells),
    rowCount: drafts.rowCount,
    goodRows: drafts.goodRows,
    issues: drafts.issues,
  };
}

/**
 * Takes every good row in, in one change with the file itself; rows with an error are named and left out. A row
 * that an earlier import brought, letter for letter, is counted and not doubled.
 */
export function commitImport(store: ProjectStore, path: string, options: ImportOptions): ImportReport {
  const { bytes, table, drafts, fills, crs } = readSamples(store, path, options);
  const places = drafts.probes.map((p): PositionNative => [p.x, p.y]);
  const fresh = toProjectNative(store, places, crs);
  const origin = originFor(store, fresh);
  const cells = new Map(table.rows.map((r) => [r.row, r.cells]));
  const entered = (sample: SampleDraft) =>
    JSON.stringify(table.columns.map((c, i) => [c.name, cells.get(sample.source.row)?.[i] ?? '']));
  const known = new Set(store.rows('sample').map((s) => s.entered_json));
  const added = drafts.samples.filter((s) => !known.has(entered(s)));
  const report = {
    file: table.file,
    probesAdded: drafts.probes.filter((p) => !p.known).length,
    probesMet: drafts.probes.filter((p) => p.meetsPlan !== null).length,
    probesFilled: fills.size,
    samplesAdded: added.length,
    rowsLeftOut: drafts.rowCount - drafts.goodRows,
    rowsKnown: drafts.samples.length - added.length,
    issues: drafts.issues,
  };
  const isNothingNew = added.length + report.probesAdded + report.probesMet + fills.size === 0;
  if (isNothingNew) return report;
  const leftOut = report.rowsLeftOut === 0 ? '' : `; ${report.rowsLeftOut} rows with errors left out`;
  store.change('import.commit', `Import ${added.length} samples from ${table.file}${leftOut}`, (tx) => {
    const attachment = store.putAttachment(bytes, table.file, 'text/csv');
    const [project] = store.rows('project');
    if (project !== undefined) tx.update('project', project.id, { origin_x: origin[0], origin_y: origin[1] });
    for (const [id, patch] of fills) tx.update('probe', id, patch);
    const before = new Map(store.rows('probe').map((p) => [p.label.toLowerCase(), p]));
    const ids = new Map([...before].map(([label, row]) => [label, row.id]));
    drafts.probes.forEach((probe, i) => {
      const planned = before.get(probe.label.toLowerCase());
      if (planned !== undefined && probe.meetsPlan !== null)
        tx.update('probe', planned.id, drivenProbe(planned, probe, fresh[i]));
      if (probe.known) return;
      const [x = null, y = null] = fresh[i] ?? [];
      const id = tx.insert('probe', {
        label: probe.label,
        state: probe.state,
        driven_x: x,
        driven_y: y,
        depth_m: probe.depthM,
        soil: probe.soil,
        fine_fraction_pct: probe.fineFractionPct,
        permeability_m2: probe.permeabilityM2,
        permeability_class: probe.permeabilityClass,
        added: probe.added ? 1 : 0,
        note: probe.note,
      });
      ids.set(probe.label.toLowerCase(), id);
    });
    for (const sample of added) {
      const probeId = ids.get(sample.probeLabel.toLowerCase());
      if (probeId === undefined)
        throw new AppError('INTERNAL', `No probe "${sample.probeLabel}" for its sample`);
      tx.insert('sample', {
        probe_id: probeId,
        ...sampleCells(sample),
        ...notedCells(sample.notes),
        source_attachment: attachment,
        source_row: sample.source.row,
        entered_json: entered(sample),
      });
    }
  });
  return report;
}

function notedCells(notes: SampleDraft['notes']) {
  const flag = (said: boolean | null) => (said === null ? null : said ? 1 : 0);
  return {
    pumped_ml: notes.pumpedMl,
    line_ml: notes.lineMl,
    flow_ml_per_min: notes.flowMlPerMin,
    air_porosity: notes.airPorosity,
    tracer_pct: notes.tracerPct,
    tracer_shroud_pct: notes.tracerShroudPct,
    leak_test_passed: flag(notes.leakTestPassed),
    said_dryer_spent: flag(notes.saidDryerSpent),
    said_tight: flag(notes.saidTight),
  } as const;
}

/** A planned probe as the crew found it: what the file says nothing of stays as planned. */
function drivenProbe(
  planned: ProbeRow,
  probe: ProbeDraft,
  place: PositionNative | undefined,
): RowPatch<'probe'> {
  const [x, y] =
    probe.meetsPlan === 'moved' && place !== undefined ? place : [planned.planned_x, planned.planned_y];
  return {
    state: probe.state,
    // A file that says no does not take the mark of the plan away.
    added: probe.added ? 1 : planned.added,
    driven_x: x,
    driven_y: y,
    depth_m: probe.depthM ?? planned.depth_m,
    soil: probe.soil ?? planned.soil,
    fine_fraction_pct: probe.fineFractionPct ?? planned.fine_fraction_pct,
    permeability_m2: probe.permeabilityM2 ?? planned.permeability_m2,
    permeability_class: probe.permeabilityClass ?? planned.permeability_class,
    note: probe.note ?? planned.note,
  };
}

interface ReadSamples {
  readonly bytes: Uint8Array;
  readonly table: CsvTable;
  readonly drafts: SampleDrafts;
  /** Of probes known before: cells that the file fills. */
  readonly fills: KnownProbeFills['patches'];
  readonly crs: ProjectCrs | null;
}

function readSamples(store: ProjectStore, path: string, options: ImportOptions): ReadSamples {
  const bytes = readWhole(path);
  const table = readTable(bytes, basename(path), {
    ...(options.delimiter === undefined ? {} : { delimiter: options.delimiter }),
    ...(options.decimal === undefined ? {} : { decimal: options.decimal }),
  });
  const crs = options.crs ?? null;
  const drafts = draftSamples(
    table,
    {
      ...(options.mapping === undefined ? {} : { mapping: options.mapping }),
      ...(options.coverageFactor === undefined ? {} : { coverageFactor: options.coverageFactor }),
      classOfBound: boundClasses(store),
    },
    importContext(store, crs ?? projectCrs(store)),
  );
  const { patches: fills, issues } = fillKnownProbes(store, drafts.probes, table.file);
  return { bytes, table, drafts: { ...drafts, issues: [...drafts.issues, ...issues] }, fills, crs };
}

/** By the limits of the project's scheme; by the Czech ones where that knows no permeability. */
function boundClasses(store: ProjectStore): RowReading['classOfBound'] {
  const settings = parseSettings(projectRow(store).settings_json);
  const own = schemesOf({ importedSchemes: importedSchemes(store, settings) }).find(
    (s) => s.id === settings.schemeId,
  );
  const scheme =
    own === undefined || own.permeability === null ? schemeById('czech-building-site-index') : own;
  return (side, m2) => classOfPermeabilityBound(side, m2, scheme);
}

/** What the project already knows, put into the system of the file so that slips show. */
function importContext(store: ProjectStore, crs: ProjectCrs): ImportContext {
  const own = projectCrs(store);
  const tie = gridTie(store);
  const toFile = (points: readonly PositionNative[]) => convertTied(own, crs, tie, points);
  const lot = lotNative(store);
  const lotRing = lot === null ? null : toFile(lot);
  const sampled = new Set(store.rows('sample').map((s) => s.probe_id));
  const placed = store.rows('probe').flatMap((probe) => {
    const x = probe.driven_x ?? probe.planned_x;
    const y = probe.driven_y ?? probe.planned_y;
    const hasSamples = sampled.has(probe.id);
    const isPlanned = probe.state === 'planned' && probe.driven_x === null;
    return x === null || y === null
      ? []
      : [{ label: probe.label, at: [x, y] as const, hasSamples, isPlanned }];
  });
  const moved = toFile(placed.map((p) => p.at));
  return {
    system: systemOf(crs),
    lotRing,
    codes: knownCodes(store),
    knownProbes: placed.map((p, i) => ({
      label: p.label,
      hasSamples: p.hasSamples,
      isPlanned: p.isPlanned,
      x: moved[i]?.[0] ?? Number.NaN,
      y: moved[i]?.[1] ?? Number.NaN,
    })),
  };
}

function systemOf(crs: ProjectCrs): ImportContext['system'] {
  if (crs.kind === 'local') {
    return { kind: 'local', metresPerUnit: toMetres(1, crs.unit), unitLabel: crs.unit, name: crs.label };
  }
  const entry = findCrs(crs.code);
  if (entry.kind === 'geographic') {
    return { kind: 'geographic', metresPerUnit: 1, unitLabel: 'deg', name: systemTitle(entry) };
  }
  return {
    kind: 'projected',
    metresPerUnit: metresPerUnit(crs.code),
    unitLabel: entry.unitLabel,
    name: systemTitle(entry),
  };
}
