import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { composeFigure } from '../../../core/figure/compose-figure.ts';
import { figureMetadata } from '../../../core/figure/render-figure.ts';
import { renderPdf } from '../../../core/figure/render-pdf.ts';
import { flattenScene } from '../../../core/figure/scene.ts';
import { inventedFigure, inventedProbes } from './fixture.ts';

const input = inventedFigure(inventedProbes(60));
const scenes = composeFigure(input, { page: 'A4', orientation: 'portrait', template: 'quality' });
const written = renderPdf(scenes, figureMetadata(input), { compress: false });

/** Operators of each page in order, strings and numbers left out (ISO 32000-1, 7.8). */
function operators(pdf: Uint8Array): string[][] {
  const text = Buffer.from(pdf).toString('latin1');
  return [...text.matchAll(/stream\n([\s\S]*?)\nendstream/g)]
    .map((m) => m[1] ?? '')
    .filter((stream) => /\bBDC\b/.test(stream))
    .map((stream) =>
      stream
        .replace(/<[0-9a-fA-F]*>/g, '')
        .replace(/\((?:\\.|[^\\)])*\)/g, '')
        .split(/\s+/)
        .filter((word) => ['q', 'Q', 'BDC', 'BMC', 'EMC', 'BT', 'ET', 'f*', 'S', 'B*'].includes(word)),
    );
}

describe('structure of the PDF', () => {
  test('everything painted is marked; marks nest with saved states and text (ISO 32000-1, 14.6)', async () => {
    const pages = operators(await written);
    expect(pages).toHaveLength(scenes.length);
    for (const page of pages) {
      const open: string[] = [];
      for (const word of page) {
        if (word === 'q' || word === 'BT') open.push(word);
        else if (word === 'BDC' || word === 'BMC') open.push('mark');
        else if (word === 'Q') expect(open.pop()).toBe('q');
        else if (word === 'ET') expect(open.pop()).toBe('BT');
        else if (word === 'EMC') expect(open.pop()).toBe('mark');
        else expect(open).toContain('mark');
        if (word === 'BT') expect(open).toContain('mark');
      }
      expect(open).toEqual([]);
    }
  });

  test('tagged, in English, with its title in the bar of the window', async () => {
    const text = Buffer.from(await written).toString('latin1');
    expect(text).toMatch(/\/MarkInfo/);
    expect(text).toMatch(/\/Marked true/);
    expect(text).toMatch(/\/Lang \(en\)/);
    expect(text).toMatch(/\/DisplayDocTitle true/);
    // Text beyond Latin-1 is UTF-16, highest byte first (7.9.2.2).
    expect(Buffer.from(await written).includes(Buffer.from('Map at scale 1:', 'utf16le').swap16())).toBe(
      true,
    );
  });

  test('an independent reader (pdfinfo of poppler) finds headings, figures and tables as they were set', async (context) => {
    const folder = mkdtempSync(join(tmpdir(), 'figure-tags-'));
    try {
      writeFileSync(join(folder, 'a.pdf'), await written);
      const run = spawnSync('pdfinfo', ['-struct-text', join(folder, 'a.pdf')], { encoding: 'utf8' });
      if (run.error !== undefined) return context.skip('pdfinfo is not installed');
      expect(run.stderr).toBe('');
      const lines = run.stdout.split('\n').map((line) => line.trim());
      const count = (start: string) => lines.filter((line) => line.startsWith(start)).length;
      expect(count('H1')).toBe(1);
      expect(lines[lines.findIndex((l) => l.startsWith('H1')) + 1]).toBe(`"${input.title}"`);
      const headings = scenes
        .flatMap(({ nodes }) => flattenScene(nodes))
        .filter((n) => n.kind === 'text' && n.role === 'heading')
        .map((n) => (n.kind === 'text' ? n.text : ''));
      const found = lines.flatMap((line, i) => (line.startsWith('H2') ? [lines[i + 1]] : []));
      expect(found).toEqual(headings.map((text) => `"${text}"`));
      // Every row of every table has as many cells, and every sample has its row.
      const rows = run.stdout.split(/^\s+TR\b.*$/m).slice(1);
      const cells = rows.map((row) => (row.match(/^\s+T[HD]\b/gm) ?? []).length);
      expect(new Set(cells).size).toBe(1);
      // The probe's name heads its row.
      for (const row of rows) expect(row.trimStart()).toMatch(/^TH/);
      const tables = count('Table');
      expect(rows).toHaveLength(input.rows.length + tables);
      for (const { label } of input.rows) expect(rows.some((row) => row.includes(`"${label}"`))).toBe(true);
      // Words of two lines do not run together.
      expect(run.stdout).toMatch(/local code and a licensed practitioner decide/);
    } finally {
      rmSync(folder, { recursive: true });
    }
  });
});
