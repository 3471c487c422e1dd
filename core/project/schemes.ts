/** Schemes that come as files: kept in the project by their hash, or lying in a folder of the user. */
import { readdirSync } from 'node:fs';
import { homedir } from 'node:os';
import { basename, join } from 'node:path';
import type { Scheme, SourcedNumber } from '../classify/scheme.ts';
import {
  builtInSchemes,
  listThresholds,
  loadSchemes,
  parseSchemeText,
  schemeById,
} from '../classify/scheme.ts';
import { markWords } from '../classify/unconfirmed.ts';
import type { ImportedScheme, ProjectView } from '../contract/model.ts';
import type { SchemeInfo, SchemeLimitInfo, SchemeList } from '../contract/rules.ts';
import type { ProjectSettings } from '../contract/settings.ts';
import { AppError } from '../errors.ts';
import { sha256 } from '../store/canonical.ts';
import type { ProjectStore, ReadableStore } from '../store/open-project.ts';
import { readWhole } from './files.ts';
import { projectRow } from './frame-of.ts';
import { parseSettings } from './settings.ts';

/** Names a folder of scheme files in place of the usual one. */
export const SCHEME_FOLDER_VARIABLE = 'GASPLAT_SCHEMES';
export const SCHEME_MEDIA_TYPE = 'application/vnd.gasplat.scheme+json';
/** A scheme is a page or two of text. */
const MOST_BYTES = 1_000_000;

interface SchemeFile {
  readonly path: string;
  readonly name: string;
  readonly bytes: Uint8Array;
  readonly text: string;
}

/** Where a user's own scheme files are looked for; the folder need not be there. */
export function userSchemeFolder(
  env: NodeJS.ProcessEnv = process.env,
  platform: NodeJS.Platform = process.platform,
): string {
  const named = env[SCHEME_FOLDER_VARIABLE];
  if (named !== undefined && named !== '') return named;
  if (platform === 'win32')
    return join(env['APPDATA'] ?? join(homedir(), 'AppData', 'Roaming'), 'Gasplat', 'schemes');
  if (platform === 'darwin') return join(homedir(), 'Library', 'Application Support', 'Gasplat', 'schemes');
  return join(env['XDG_DATA_HOME'] ?? join(homedir(), '.local', 'share'), 'gasplat', 'schemes');
}

/** Files that the project keeps, in the order they came. */
export function importedSchemes(store: ReadableStore, settings: ProjectSettings): ImportedScheme[] {
  return (settings.schemeFiles ?? []).map((hash) => {
    const { name, bytes } = store.attachment(hash);
    return { sha256: hash, file: name, text: new TextDecoder().decode(bytes) };
  });
}

function loadImported(imported: readonly ImportedScheme[]) {
  return loadSchemes(imported.map((kept) => ({ ...kept, name: kept.file })));
}

/** Hash of the file that holds the scheme of these settings; null for one of the program. */
export function schemeFileOf(store: ReadableStore, settings: ProjectSettings): string | null {
  const { own } = loadImported(importedSchemes(store, settings));
  return own.find((o) => o.scheme.id === settings.schemeId)?.file.sha256 ?? null;
}

/** The id where the scheme is not there. */
export function schemeNameOf(store: ReadableStore, settings: ProjectSettings): string {
  const all = loadImported(importedSchemes(store, settings)).schemes;
  return all.find((s) => s.id === settings.schemeId)?.name ?? settings.schemeId;
}

const loaded = new WeakMap<readonly ImportedScheme[], readonly Scheme[]>();

/** The program's schemes and those of the project. */
export function schemesOf(view: Pick<ProjectView, 'importedSchemes'>): readonly Scheme[] {
  const known = loaded.get(view.importedSchemes);
  if (known !== undefined) return known;
  const { schemes } = loadImported(view.importedSchemes);
  loaded.set(view.importedSchemes, schemes);
  return schemes;
}

/** The scheme the project is judged by. @throws AppError NOT_FOUND naming the schemes there are */
export function schemeOf(view: Pick<ProjectView, 'importedSchemes' | 'settings'>): Scheme {
  return schemeById(view.settings.schemeId, schemesOf(view));
}

/** Kept scheme files that this program cannot use, in words. */
export function schemeWarnings(imported: readonly ImportedScheme[]): string[] {
  return loadImported(imported).faults.map((f) => f.message);
}

/** @throws AppError BAD_INPUT for a raised limit that the scheme in force does not have */
export function refuseForeignLimit(settings: ProjectSettings, imported: readonly ImportedScheme[]): void {
  const { raisedLimitId, schemeId } = settings;
  if (raisedLimitId === undefined) return;
  const scheme = schemeOf({ settings, importedSchemes: imported });
  const have = (scheme.raised ?? []).map((r) => r.id);
  if (have.includes(raisedLimitId)) return;
  throw new AppError(
    'BAD_INPUT',
    `Scheme '${schemeId}' has no raised limit '${raisedLimitId}'; it has ${have.join(', ') || 'none'}.`,
    { field: 'raisedLimitId' },
  );
}

/** @throws AppError BAD_INPUT naming file and field, with every fault found */
export function readSchemeFile(path: string): { readonly scheme: Scheme; readonly file: SchemeFile } {
  const bytes = readWhole(path);
  const name = basename(path);
  if (bytes.byteLength > MOST_BYTES)
    throw new AppError(
      'BAD_INPUT',
      `Scheme file ${name} has ${bytes.byteLength} bytes: more than a scheme can have (${MOST_BYTES}).`,
      { file: name },
    );
  const text = new TextDecoder().decode(bytes).replace(/^\uFEFF/, '');
  return { scheme: parseSchemeText(text, name), file: { path, name, bytes, text } };
}

/** Scheme files of a folder; none where there is no such folder. @throws AppError BAD_INPUT where it cannot be read */
function readFolder(folder: string): SchemeFile[] {
  let names: string[];
  try {
    names = readdirSync(folder).filter((name) => name.toLowerCase().endsWith('.json'));
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return [];
    throw new AppError(
      'BAD_INPUT',
      `The folder of schemes ${folder} cannot be read: ${String(error)}.`,
      {},
      error,
    );
  }
  return names.map((name) => {
    const path = join(folder, name);
    const bytes = readWhole(path);
    return { path, name, bytes, text: new TextDecoder().decode(bytes).replace(/^\uFEFF/, '') };
  });
}

/** The program's schemes with those of a folder. @throws AppError BAD_INPUT for the first file that cannot be used */
export function schemesWithFolder(folder: string): readonly Scheme[] {
  const { schemes, faults } = loadSchemes(readFolder(folder));
  const [fault] = faults;
  if (fault !== undefined)
    throw new AppError('BAD_INPUT', faults.map((f) => f.message).join('\n'), { file: fault.file });
  return schemes;
}

/**
 * Keeps a scheme file in the project and judges by it from now on; an earlier file with the same id makes room.
 * @throws AppError BAD_INPUT for a file with faults, or with the id of a scheme that comes with the program
 */
export function importScheme(store: ProjectStore, path: string): Scheme {
  const { scheme, file } = readSchemeFile(path);
  if (builtInSchemes().some((s) => s.id === scheme.id))
    throw new AppError(
      'BAD_INPUT',
      `Scheme file ${file.name}: the id '${scheme.id}' is that of a scheme of the program. Give it an id of its own.`,
      { file: file.name, field: 'id' },
    );
  const row = projectRow(store);
  const { raisedLimitId: _other, ...settings } = parseSettings(row.settings_json);
  const earlier = loadImported(importedSchemes(store, settings)).own.find((o) => o.scheme.id === scheme.id);
  store.change('scheme.import', `Scheme ${scheme.name} from ${file.name}`, (tx) => {
    const hash = store.putAttachment(file.bytes, file.name, SCHEME_MEDIA_TYPE);
    const others = (settings.schemeFiles ?? []).filter((h) => h !== hash && h !== earlier?.file.sha256);
    const schemeFiles = [...others, hash];
    tx.update('project', row.id, {
      settings_json: JSON.stringify({ ...settings, schemeId: scheme.id, schemeFiles }),
    });
  });
  return scheme;
}

/** Takes a scheme out of the project's list; its file stays with the record. @throws AppError CONFLICT where it is in use */
export function removeScheme(store: ProjectStore, hash: string): void {
  const row = projectRow(store);
  const settings = parseSettings(row.settings_json);
  const imported = importedSchemes(store, settings);
  const found = imported.find((s) => s.sha256 === hash);
  if (found === undefined) throw new AppError('NOT_FOUND', `The project has no scheme file ${hash}.`);
  const own = loadImported(imported).own.find((o) => o.file.sha256 === hash);
  if (own?.scheme.id === settings.schemeId)
    throw new AppError(
      'CONFLICT',
      `${found.file} holds the scheme the project is judged by: choose another scheme first.`,
    );
  store.change('scheme.remove', `Scheme file ${found.file} taken out`, (tx) => {
    const schemeFiles = (settings.schemeFiles ?? []).filter((h) => h !== hash);
    tx.update('project', row.id, { settings_json: JSON.stringify({ ...settings, schemeFiles }) });
  });
}

/** All there is to choose from, each with its limits and how well they are known. */
export function listSchemes(view: ProjectView, folder: string): SchemeList {
  const inProject = loadImported(view.importedSchemes);
  const kept = new Set(view.importedSchemes.map((s) => s.sha256));
  const inFolder = loadSchemes(readFolder(folder).filter((file) => !kept.has(sha256(file.bytes))));
  const schemes = [
    ...builtInSchemes().map((s) => infoOf(s, { origin: 'program', file: null, path: null, sha256: null })),
    ...inProject.own.map(({ file, scheme }) =>
      infoOf(scheme, { origin: 'project', file: file.name, path: null, sha256: file.sha256 }),
    ),
    ...inFolder.own.map(({ file, scheme }) =>
      infoOf(scheme, { origin: 'folder', file: file.name, path: file.path, sha256: sha256(file.bytes) }),
    ),
  ];
  return { schemes, folder, faults: [...inProject.faults, ...inFolder.faults] };
}

function infoOf(scheme: Scheme, place: Pick<SchemeInfo, 'origin' | 'file' | 'path' | 'sha256'>): SchemeInfo {
  const limitInfo = (limit: SourcedNumber): SchemeLimitInfo => ({
    label: limit.label,
    value: limit.value,
    unit: limit.unit,
    source: scheme.sources[limit.source] ?? limit.source,
    unconfirmed: markWords(limit.mark),
  });
  return {
    ...place,
    id: scheme.id,
    name: scheme.name,
    edition: scheme.edition,
    homeCountry: scheme.homeCountry,
    needsLimits: scheme.table.kind === 'entered',
    statisticName: scheme.statistic.name,
    statisticUnconfirmed: markWords(
      scheme.statistic.kind === 'quantile' ? scheme.statistic.ruleMark : scheme.statistic.mark,
    ),
    sources: Object.values(scheme.sources),
    limits: listThresholds(scheme)
      .filter(({ field }) => !field.startsWith('raised.'))
      .map(({ limit }) => limitInfo(limit)),
    raised: (scheme.raised ?? []).map((r) => ({ ...limitInfo(r), id: r.id, ground: r.ground })),
    cautions: scheme.cautions,
  };
}
