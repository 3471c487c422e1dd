import type { Scheme } from '../classify/scheme.ts';
import type {
  Footprint,
  ImportedScheme,
  KeepOut,
  PositionM,
  Probe,
  ProjectFrame,
  ProjectView,
  Ruling,
  Sample,
} from '../contract/model.ts';
import type { ProjectSettings } from '../contract/settings.ts';
import { AppError } from '../errors.ts';
import { outOfAreaMessage } from '../geo/crs.ts';
import type { PositionNative } from '../geo/frame.ts';
import { ringToFrame, toFrame, toNative } from '../geo/frame.ts';
import { distanceToRing, oddAreaWarnings, pointInPolygon, ringArea } from '../geo/planar.ts';
import type { ReadableStore } from '../store/open-project.ts';
import type { ProbeRow, SampleRow } from '../store/rows.ts';
import { assessSamples } from '../survey/flags.ts';
import { withDayVolumes } from '../survey/working-days.ts';
import { listDayLogs } from './day-log.ts';
import { frameOf, lotNative, projectRow } from './frame-of.ts';
import { markProbes } from './marks.ts';
import { readPlacements } from './placements.ts';
import { readingWarnings } from './reading-warnings.ts';
import { assessReduced, reduceRows, withReduction } from './reduced-samples.ts';
import { basisOf } from './result-basis.ts';
import { sampleValues } from './sample-cells.ts';
import { withDraws } from './sample-draws.ts';
import { importedSchemes, schemeOf, schemeWarnings } from './schemes.ts';
import { parseSettings } from './settings.ts';
import { readSheetTexts } from './sheet-texts.ts';
import { readWalkStart } from './walk-start.ts';

/**
 * The project as it stands, computed from the store: cheap enough to be made anew after every change.
 * @param otherSettings - in place of the project's own, to see what they would change
 * @param isTaken - which samples there are, where only a part of them is looked at; the others are as if never drawn
 */
export function buildView(
  store: ReadableStore,
  otherSettings?: ProjectSettings,
  isTaken: (sample: SampleRow) => boolean = () => true,
): ProjectView {
  const row = projectRow(store);
  const frame = frameOf(store);
  const settings = otherSettings ?? parseSettings(row.settings_json);
  const imported = importedSchemes(store, settings);
  const lot = readLot(store, frame);
  const walkStart = readWalkStart(store);
  const probes = store.rows('probe').flatMap((probe) => readProbe(frame, probe));
  const files = new Map(store.attachments().map((a) => [a.sha256, a.name]));
  const reduced = reduceRows(store);
  const instruments = new Map(store.rows('instrument').map((i) => [i.id, i]));
  const withDays = withDayVolumes(
    store
      .rows('sample')
      .filter(isTaken)
      .map((sample) =>
        withReduction(
          readSample(files, sample),
          sample,
          reduced.get(sample.id),
          instruments.get(sample.instrument_id ?? ''),
        ),
      ),
    listDayLogs(store),
  );
  const scheme = schemeOrNull(settings, imported);
  const samples = withDraws(withDays, probes, settings, scheme);
  const rulings = readRulings(store);
  const assessments = assessSamples(
    samples,
    probes,
    rulings,
    settings.thresholds,
    settings.referenceDepthM,
  ).map((a, i) => {
    const sample = samples[i];
    return sample === undefined ? a : assessReduced(a, sample, reduced.get(a.sampleId));
  });
  const measured = { lot, probes, samples, assessments, settings, importedSchemes: imported };
  return {
    path: store.path,
    revision: store.revision,
    name: row.name,
    isDemo: row.is_demo === 1,
    note: row.note,
    frame,
    lot,
    lotAreaM2: lot === null ? null : Math.abs(ringArea(lot)),
    keepOuts: readKeepOuts(store, frame),
    ...(walkStart === undefined ? {} : { walkStart }),
    footprint: readFootprint(store, frame),
    probes,
    samples,
    assessments,
    marks: markProbes(probes, samples, assessments, settings.referenceDepthM, scheme),
    settings,
    basis: basisOf(measured),
    sheetTexts: readSheetTexts(store),
    importedSchemes: imported,
    canUndo: store.canUndo(),
    canRedo: store.canRedo(),
    warnings: [
      ...(lot === null ? [] : oddAreaWarnings(Math.abs(ringArea(lot)), 'lot')),
      ...offArea(lot, frame),
      ...offLot(probes, lot, frame),
      ...missing(store),
      ...schemeWarnings(imported),
      ...readingWarnings(store, reduced),
    ],
  };
}

/** A project may name a scheme that this installation does not have: it is shown all the same. */
function schemeOrNull(settings: ProjectSettings, imported: readonly ImportedScheme[]): Scheme | null {
  try {
    return schemeOf({ settings, importedSchemes: imported });
  } catch (error) {
    if (error instanceof AppError && error.code === 'NOT_FOUND') return null;
    throw error;
  }
}

function points(json: string): PositionNative[] {
  return JSON.parse(json) as PositionNative[];
}

function readLot(store: ReadableStore, frame: ProjectFrame): PositionM[] | null {
  const ring = lotNative(store);
  return ring === null ? null : ringToFrame(frame, ring);
}

function readKeepOuts(store: ReadableStore, frame: ProjectFrame): KeepOut[] {
  return store.rows('keep_out').map((row) => ({
    id: row.id,
    label: row.label,
    shape: row.shape,
    points: ringToFrame(frame, points(row.points_json)),
    bufferM: row.buffer_m,
    ...(row.blocks_walk === null ? {} : { blocksWalk: row.blocks_walk === 1 }),
  }));
}

/** The footprint where it stands now: the chosen placement, else as drawn. */
export function readFootprint(store: ReadableStore, frame: ProjectFrame): Footprint | null {
  const [row] = store.rows('footprint');
  if (row === undefined) return null;
  const drawnRing = ringToFrame(frame, points(row.ring_json));
  const placements = readPlacements(store, drawnRing);
  return {
    id: row.id,
    label: row.label,
    ring: placements.find((p) => p.chosen)?.ring ?? drawnRing,
    drawnRing,
    placements,
  };
}

/** A probe without any position cannot be shown or used; `missing` says that it is there. */
function readProbe(frame: ProjectFrame, row: ProbeRow): Probe[] {
  const x = row.driven_x ?? row.planned_x;
  const y = row.driven_y ?? row.planned_y;
  if (x === null || y === null) return [];
  return [
    {
      id: row.id,
      label: row.label,
      state: row.state,
      positionM: toFrame(frame, [x, y]),
      native: [x, y],
      depthM: row.depth_m,
      soil: row.soil,
      fineFractionPct: row.fine_fraction_pct,
      permeabilityM2: row.permeability_m2,
      permeabilityClass: row.permeability_class,
      note: row.note,
      added: row.added === 1,
    },
  ];
}

function readSample(files: ReadonlyMap<string, string>, row: SampleRow): Sample {
  return {
    id: row.id,
    probeId: row.probe_id,
    ...sampleValues(row),
    source:
      row.source_attachment === null || row.source_row === null
        ? null
        : { file: files.get(row.source_attachment) ?? row.source_attachment, row: row.source_row },
  };
}

function readRulings(store: ReadableStore): Ruling[] {
  const actors = new Map(store.actors().map((a) => [a.id, a.name]));
  return store.rows('ruling').map((row) => ({
    id: row.id,
    sampleId: row.sample_id,
    verdict: row.verdict,
    reason: row.reason,
    actor: actors.get(row.actor_id) ?? row.actor_id,
    atUtc: row.at_utc,
  }));
}

/** A lot outside the area its system is made for has swapped or foreign coordinates, more often than not. */
function offArea(lot: readonly PositionM[] | null, frame: ProjectFrame): string[] {
  const [corner] = lot ?? [];
  if (corner === undefined || frame.crs.kind !== 'epsg') return [];
  const message = outOfAreaMessage(frame.crs.code, ...toNative(frame, corner));
  return message === null ? [] : [message];
}

/** Probes outside the lot by more than a tape's error: surveyed on the wrong side, or a slip in the numbers. */
function offLot(probes: readonly Probe[], lot: readonly PositionM[] | null, frame: ProjectFrame): string[] {
  if (lot === null) return [];
  const out = probes.filter(
    (p) => !pointInPolygon(p.positionM, [lot]) && distanceToRing(p.positionM, lot) > OFF_LOT_TOLERANCE_M,
  );
  if (out.length === 0) return [];
  const names = out
    .slice(0, 5)
    .map((p) => `${p.label} by ${distanceToRing(p.positionM, lot).toFixed(1)} m`)
    .join(', ');
  const more = out.length > 5 ? ` and ${out.length - 5} more` : '';
  const verb = out.length === 1 ? 'probe lies' : 'probes lie';
  return [
    `${out.length} ${verb} outside the lot (${names}${more}). Check the coordinates and ${frame.crsName}.`,
  ];
}

const OFF_LOT_TOLERANCE_M = 0.25;

function missing(store: ReadableStore): string[] {
  const labels = store
    .rows('probe')
    .filter((p) => (p.driven_x ?? p.planned_x) === null)
    .map((p) => p.label);
  return labels.length === 0 ? [] : [`Probes without a position are not used: ${labels.join(', ')}.`];
}
