/** GDAL, the reader that had no part in the writing. Debian package gdal-bin; tests that need it skip without it. */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

function isInstalled(): boolean {
  try {
    execFileSync('ogrinfo', ['--version'], { stdio: 'ignore' });
    execFileSync('gdalinfo', ['--version'], { stdio: 'ignore' });
    return true;
  } catch {
    console.warn('GDAL (gdal-bin) is not installed: what only it can check is skipped.');
    return false;
  }
}

export const hasGdal = isInstalled();

export function runGdal(tool: string, ...args: string[]): string {
  return execFileSync(tool, args, { encoding: 'utf8', maxBuffer: 1 << 26 });
}

/** As `runGdal`, with a text to read. */
export function feedGdal(input: string, tool: string, ...args: string[]): string {
  return execFileSync(tool, args, { encoding: 'utf8', input });
}

/** Runs `use` with the path of a file that holds the bytes, and takes the file away again. */
export function withFile<T>(name: string, content: Uint8Array | string, use: (path: string) => T): T {
  const folder = mkdtempSync(join(tmpdir(), 'exchange-'));
  try {
    const path = join(folder, name);
    writeFileSync(path, content);
    return use(path);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

export interface GdalFeature {
  readonly properties: Readonly<Record<string, unknown>>;
  readonly geometry: { readonly type: string; readonly coordinates: unknown } | null;
}

/** Features of one layer as GDAL reads them, in the file's own coordinates with all digits. */
export function readLayer(path: string, layer: string): GdalFeature[] {
  const text = runGdal(
    'ogr2ogr',
    '-f',
    'GeoJSON',
    '-lco',
    'RFC7946=NO',
    '-lco',
    'COORDINATE_PRECISION=9',
    '-lco',
    'SIGNIFICANT_FIGURES=17',
    '/vsistdout/',
    path,
    layer,
  );
  return (JSON.parse(text) as { features: GdalFeature[] }).features;
}

/** What `ogrinfo` says of a layer without its features. */
export function describeLayer(path: string, layer: string): string {
  return runGdal('ogrinfo', '-so', path, layer);
}
