import type { GeometryImportOptions, GeometryKind, TraverseOptions } from '../../contract/outlines.ts';
import type { ImportOptions, RowIssue } from '../../contract/requests.ts';
import { importOptionsSchema } from '../../contract/schemas.ts';
import { AppError } from '../../errors.ts';
import { importDays } from '../../project/import-days.ts';
import { commitImport, previewImport } from '../../project/import-files.ts';
import { importGeometry } from '../../project/import-geometry.ts';
import { importInstruments } from '../../project/import-instruments.ts';
import { importReadings } from '../../project/import-readings.ts';
import { ensureReductions } from '../../project/readings.ts';
import { importScheme } from '../../project/schemes.ts';
import type { ProjectStore } from '../../store/open-project.ts';
import { openProject } from '../../store/open-project.ts';
import type { Command, CommandContext, CommandOutput } from '../command.ts';
import { choice, list, numberFlag, parseCrs, positional, text, usage } from '../flags.ts';
import { importControlPoints } from '../import-control.ts';
import { DIFFERENCE_GROUPS, importProject } from '../import-project.ts';
import { importSitePlan } from '../import-site-plan.ts';

const UNITS = ['m', 'ft', 'ft-us', 'cm', 'in'] as const;
const GEOMETRY_KINDS: readonly GeometryKind[] = ['lot', 'footprint', 'keep-out', 'probes'];
const TRAVERSE_FLAGS = ['start', 'rule', 'angles', 'turn', 'open', 'ground'] as const;
const GEOMETRY_FLAGS = [
  'layer',
  'feature',
  'unit',
  'buffer',
  'walk',
  'depth',
  'replace',
  ...TRAVERSE_FLAGS,
] as const;
const RULES = ['compass', 'transit', 'none'] as const;
const TABLE_FLAGS = ['map', 'delimiter', 'decimal', 'coverage', 'dry-run'] as const;

export const importCommand: Command = {
  name: 'import',
  usage: 'import PROJECT.gasplat FILE [options]',
  summary:
    'take in samples, counts, instruments or logs of days from a CSV, or lot, footprint, keep-outs and planned probes',
  positionals: { min: 2, max: 2 },
  options: {
    what: {
      type: 'string',
      value:
        'samples|readings|instruments|days|scheme|site-plan|project|control|lot|footprint|keep-out|probes',
      help: 'what the file holds (samples unless said); readings are counts; days are logs of the crew; a scheme file is kept and chosen; a site plan is an image shown under the map; a project of another crew is merged; control is a table of points measured in the local grid and in the system that --crs names. The last four come from GeoJSON, GeoPackage, shapefile, KML, GPX or DXF, lot and footprint also from a table of corners, and outlines from directions and lengths',
    },
    map: {
      type: 'string',
      value: 'FIELD=COLUMN[:UNIT]',
      multiple: true,
      help: 'column of a field, such as radon=Rn:pCi/L; guessed from the headers where absent',
    },
    delimiter: { type: 'string', value: 'comma|semicolon|tab|bar', help: 'as found where absent' },
    decimal: { type: 'string', value: 'point|comma', help: 'as found where absent' },
    crs: {
      type: 'string',
      value: 'SYSTEM',
      help: "system of the file's coordinates where not the project's own",
    },
    coverage: {
      type: 'string',
      value: 'K',
      help: "coverage factor of the file's uncertainties (1 unless said)",
    },
    layer: { type: 'string', value: 'NAME', help: 'only this layer of a geometry file' },
    feature: {
      type: 'string',
      value: 'NAME',
      help: 'the one feature that is meant, where there are several',
    },
    unit: { type: 'string', value: UNITS.join('|'), help: "unit of a drawing where not the project's own" },
    buffer: { type: 'string', value: 'M', help: 'metres around keep-outs that say nothing of it themselves' },
    walk: {
      type: 'string',
      value: 'round|over',
      help: 'whether walks go round keep-outs that say nothing of it themselves (areas round, lines over)',
    },
    depth: { type: 'string', value: 'M', help: 'of planned probes (the reference depth unless said)' },
    replace: {
      type: 'boolean',
      help: 'planned probes that nobody has driven make room for those of the file',
    },
    start: {
      type: 'string',
      value: 'X,Y',
      help: "where the first course begins, for a table or text of directions and lengths (in the project's coordinates)",
    },
    rule: {
      type: 'string',
      value: RULES.join('|'),
      help: 'how a misclosure is spread over the courses (compass unless said)',
    },
    angles: {
      type: 'string',
      value: 'deg|gon',
      help: 'what directions without marks count in (deg unless said)',
    },
    turn: {
      type: 'string',
      value: 'DEG',
      help: "added to every direction: from the deed's north to grid north",
    },
    open: { type: 'boolean', help: 'the courses are all sides but the last' },
    ground: { type: 'boolean', help: "lengths are of the ground: brought to the project's grid" },
    prefer: {
      type: 'string',
      value: 'mine|theirs|both',
      help: 'whose version holds where a merged project says otherwise; both: beside mine under a new label',
    },
    take: {
      type: 'string',
      value: DIFFERENCE_GROUPS.join('|'),
      multiple: true,
      help: 'what of a merged project takes the place of mine, where it differs (each stays mine unless said)',
    },
    control: {
      type: 'string',
      value: 'FILE',
      help: 'table of control points of a site plan image: label, column, row (pixels), x, y',
    },
    fit: {
      type: 'string',
      value: 'similarity|affine',
      help: 'how control points place the image (similarity unless said; affine takes up a stretched copy)',
    },
    'dry-run': { type: 'boolean', help: 'only say what would be taken in' },
  },
  async run(context) {
    const path = positional(context, 0, 'The project file');
    const file = positional(context, 1, 'The file to import');
    const store = openProject(path, { actor: context.actor });
    try {
      const what = choice(
        context,
        'what',
        [
          'samples',
          'readings',
          'instruments',
          'days',
          'scheme',
          'site-plan',
          'project',
          'control',
          ...GEOMETRY_KINDS,
        ],
        'samples',
      );
      if (what !== 'project') refuseFlags(context, ['prefer', 'take'], what);
      if (what !== 'site-plan') refuseFlags(context, ['control', 'fit'], what);
      if (isGeometry(what)) return importShapes(context, store, file, what);
      refuseFlags(context, GEOMETRY_FLAGS, what);
      if (what === 'project') {
        refuseFlags(context, ['map', 'delimiter', 'decimal', 'coverage', 'crs'], what);
        return await importProject(context, store, file);
      }
      if (what === 'site-plan') {
        refuseFlags(context, [...TABLE_FLAGS, 'crs'], what);
        return await importSitePlan(context, store, file);
      }
      if (what === 'control') {
        refuseFlags(context, TABLE_FLAGS, what);
        return importControlPoints(store, file, text(context, 'crs'));
      }
      if (what === 'scheme') {
        refuseFlags(context, TABLE_FLAGS, what);
        const { id, name } = importScheme(store, file);
        return { json: { file, what, id, name }, text: `Scheme ${name} ('${id}') kept and chosen` };
      }
      if (what !== 'samples') return await importCounts(context, store, file, what);
      const options = importOptions(context);
      if (context.flags['dry-run'] === true) {
        const preview = previewImport(store, file, options);
        const head = `${preview.file}: ${preview.goodRows} of ${preview.rowCount} rows can be taken in`;
        return { json: preview, text: [head, ...preview.issues.map(issueLine)].join('\n') };
      }
      const report = commitImport(store, file, options);
      const { probesAdded, probesMet, probesFilled, samplesAdded, rowsKnown, rowsLeftOut } = report;
      const nothing = probesAdded + probesMet + probesFilled + samplesAdded + rowsKnown === 0;
      if (nothing) refuseWithIssues(report);
      const known = rowsKnown === 0 ? '' : `, ${rowsKnown} known already`;
      const met = probesMet === 0 ? '' : `, ${probesMet} planned probes driven or tried`;
      const filled = probesFilled === 0 ? '' : `, ${probesFilled} probes known before completed`;
      const lost = rowsLeftOut === 0 ? '' : `; ${rowsLeftOut} ROWS LEFT OUT, as follows`;
      const head = `${report.file}: ${probesAdded} probes and ${samplesAdded} samples added${met}${filled}${known}${lost}`;
      return { json: report, text: [head, ...report.issues.map(issueLine)].join('\n') };
    } finally {
      store.close();
    }
  },
};

function isGeometry(what: string): what is GeometryKind {
  return GEOMETRY_KINDS.some((kind) => kind === what);
}

function refuseFlags(context: CommandContext, names: readonly string[], what: string): void {
  const given = names.find((name) => context.flags[name] !== undefined);
  if (given !== undefined) throw usage(`--${given} is not for ${what}.`);
}

function importShapes(
  context: CommandContext,
  store: ProjectStore,
  file: string,
  what: GeometryKind,
): CommandOutput {
  refuseFlags(context, TABLE_FLAGS, what);
  if (what !== 'keep-out') refuseFlags(context, ['buffer', 'walk'], what);
  if (what !== 'probes') refuseFlags(context, ['depth', 'replace'], what);
  const layer = text(context, 'layer');
  const feature = text(context, 'feature');
  const crs = text(context, 'crs');
  const bufferM = numberFlag(context, 'buffer');
  const depthM = numberFlag(context, 'depth', { above: 0 });
  const traverse = traverseOptions(context, what);
  const options: GeometryImportOptions = {
    ...(traverse === undefined ? {} : { traverse }),
    ...(layer === undefined ? {} : { layer }),
    ...(feature === undefined ? {} : { feature }),
    ...(crs === undefined ? {} : { crs: parseCrs(crs) }),
    ...(text(context, 'unit') === undefined ? {} : { unit: choice(context, 'unit', UNITS, 'm') }),
    ...(bufferM === undefined ? {} : { bufferM }),
    ...(text(context, 'walk') === undefined
      ? {}
      : { blocksWalk: choice(context, 'walk', ['round', 'over'], 'round') === 'round' }),
    ...(depthM === undefined ? {} : { depthM }),
    replace: context.flags['replace'] === true,
  };
  const { added, notes, traverse: closing } = importGeometry(store, file, what, options);
  const names = {
    lot: 'Lot outline',
    footprint: 'Footprint',
    'keep-out': 'keep-outs',
    probes: 'planned probes',
  };
  const isOutline = what === 'lot' || what === 'footprint';
  const head = `${isOutline ? '' : `${added} `}${names[what]} taken from ${file}`;
  const closed = closing === undefined ? {} : { traverse: closing };
  return {
    json: { file, what, added, notes, ...closed },
    text: [head, ...notes.map((n) => `  ${n}`)].join('\n'),
  };
}

function traverseOptions(context: CommandContext, what: GeometryKind): TraverseOptions | undefined {
  const start = text(context, 'start');
  if (start === undefined) {
    refuseFlags(context, ['rule', 'angles', 'turn', 'open', 'ground'], `${what} without --start`);
    return undefined;
  }
  if (what === 'probes') throw usage('--start is for an outline, not for probes.');
  const [x, y, more] = start.split(',').map((part) => (part.trim() === '' ? Number.NaN : Number(part)));
  if (x === undefined || y === undefined || more !== undefined || !Number.isFinite(x + y))
    throw usage(`--start takes X,Y, not "${start}".`);
  const unit = choice(context, 'unit', UNITS, 'm');
  if (unit === 'cm' || unit === 'in') throw usage('Lengths of courses are in m, ft or ft-us.');
  return {
    start: [x, y],
    angleUnit: choice(context, 'angles', ['deg', 'gon'], 'deg'),
    lengthUnit: unit,
    rule: choice(context, 'rule', RULES, 'compass'),
    returns: context.flags['open'] !== true,
    turnDeg: numberFlag(context, 'turn') ?? 0,
    onGround: context.flags['ground'] === true,
  };
}

async function importCounts(
  context: CommandContext,
  store: ProjectStore,
  file: string,
  what: 'readings' | 'instruments' | 'days',
): Promise<CommandOutput> {
  const { delimiter, decimal, crs, mapping, coverageFactor } = importOptions(context);
  if (crs !== undefined || mapping !== undefined || coverageFactor !== undefined)
    throw usage(`--map, --crs and --coverage are for samples; ${what} are found by their headers.`);
  const dryRun = context.flags['dry-run'] === true;
  const options = {
    dryRun,
    ...(delimiter === undefined ? {} : { delimiter }),
    ...(decimal === undefined ? {} : { decimal }),
  };
  if (what === 'days') {
    const report = importDays(store, file, options);
    const { daysAdded, daysChanged, looksAdded, rowsKnown } = report;
    if (daysAdded + daysChanged + rowsKnown === 0) refuseWithIssues(report);
    const head = `${report.file}: logs of ${daysAdded} days added, ${daysChanged} changed, ${looksAdded} looks at dryer or line; ${rowsKnown} rows known already`;
    return { json: report, text: [head, ...report.issues.map(issueLine)].join('\n') };
  }
  if (what === 'instruments') {
    const report = importInstruments(store, file, options);
    const { instrumentsAdded, instrumentsChanged, backgroundsAdded, rowsKnown } = report;
    if (instrumentsAdded + instrumentsChanged + rowsKnown === 0) refuseWithIssues(report);
    await reduceAll(context, store);
    const head = `${report.file}: ${instrumentsAdded} instruments added, ${instrumentsChanged} changed, ${rowsKnown} known already; ${backgroundsAdded} backgrounds`;
    return { json: report, text: [head, ...report.issues.map(issueLine)].join('\n') };
  }
  const report = importReadings(store, file, options);
  const { readingsAdded, valuesAdded, samplesRead, samplesAdded, backgroundsAdded, rowsKnown } = report;
  if (readingsAdded + valuesAdded + backgroundsAdded + rowsKnown === 0) refuseWithIssues(report);
  await reduceAll(context, store);
  const head = `${report.file}: ${readingsAdded} counts${valuesAdded === 0 ? '' : ` and ${valuesAdded} interval values`} of ${samplesRead} samples (${samplesAdded} of them new), ${backgroundsAdded} backgrounds, ${rowsKnown} known already`;
  return { json: report, text: [head, ...report.issues.map(issueLine)].join('\n') };
}

/** So that no later command has to wait for it. */
export function reduceAll(context: CommandContext, store: ProjectStore): Promise<void> {
  return ensureReductions(store, context.jobs, { signal: context.signal, onProgress: context.progress });
}

/** @throws AppError BAD_INPUT with every issue where there is an error among them */
function refuseWithIssues(report: { readonly file: string; readonly issues: readonly RowIssue[] }): void {
  const first = report.issues.find((i) => i.severity === 'error');
  if (first === undefined) return;
  throw new AppError('BAD_INPUT', report.issues.map(issueLine).join('\n'), {
    file: report.file,
    ...(first.row === null ? {} : { row: first.row }),
    ...(first.field === null ? {} : { field: first.field }),
    issues: report.issues,
  });
}

export function issueLine(issue: RowIssue): string {
  return `  ${issue.severity}: ${issue.message}`;
}

const DELIMITERS = { comma: ',', semicolon: ';', tab: '\t', bar: '|' } as const;

export function importOptions(context: CommandContext): ImportOptions {
  const mapping: Record<string, { column: string; unit?: string }> = {};
  for (const entry of list(context, 'map')) {
    const match = /^([A-Za-z]+)=(.+?)(?::([^:=]+))?$/.exec(entry);
    if (match === null) throw usage(`--map takes FIELD=COLUMN or FIELD=COLUMN:UNIT, not "${entry}".`);
    const [, field = '', column = '', unit] = match;
    mapping[field] = unit === undefined ? { column } : { column, unit };
  }
  const delimiter = text(context, 'delimiter');
  const decimal = text(context, 'decimal');
  const crs = text(context, 'crs');
  const coverageFactor = numberFlag(context, 'coverage', { above: 0 });
  const names = Object.keys(DELIMITERS) as (keyof typeof DELIMITERS)[];
  const parsed = importOptionsSchema.safeParse({
    ...(Object.keys(mapping).length === 0 ? {} : { mapping }),
    ...(delimiter === undefined
      ? {}
      : { delimiter: DELIMITERS[choice(context, 'delimiter', names, 'comma')] }),
    ...(decimal === undefined
      ? {}
      : { decimal: choice(context, 'decimal', ['point', 'comma'], 'point') === 'point' ? '.' : ',' }),
    ...(crs === undefined ? {} : { crs: parseCrs(crs) }),
    ...(coverageFactor === undefined ? {} : { coverageFactor }),
  });
  if (!parsed.success) throw usage(`--map: ${parsed.error.issues[0]?.message ?? 'not understood'}`);
  return parsed.data as ImportOptions;
}
