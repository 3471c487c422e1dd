import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import type { ProjectFrame } from '../../../core/contract/model.ts';
import type { PathNode, Scene, TextNode } from '../../../core/figure/scene.ts';
import { flattenScene } from '../../../core/figure/scene.ts';
import { textBox } from '../../../core/figure/text.ts';
import { composeSheets, renderSheets } from '../../../core/sheets/compose-sheets.ts';
import type { SheetForm, SheetPage } from '../../../core/sheets/sheet-model.ts';
import { readPdf } from '../figure/pdf-reading.ts';
import { FEET, METRES, sheetInput } from './sheet-input.ts';

const texts = (scene: Scene) => flattenScene(scene.nodes).filter((n): n is TextNode => n.kind === 'text');
const paths = (scene: Scene) => flattenScene(scene.nodes).filter((n): n is PathNode => n.kind === 'path');
const FORMS: readonly (readonly [SheetForm, SheetPage, ProjectFrame])[] = [
  ['list', 'A4', METRES],
  ['list', 'Letter', FEET],
  ['cards', 'A4', FEET],
  ['cards', 'Letter', METRES],
];

describe.each(FORMS)('%s on %s', (form, page, frame) => {
  const sheets = sheetInput(frame);
  const scenes = composeSheets(sheets, form, page);
  const ofProbes = scenes.slice(2);

  test('every probe once, in the order of the walk, with its whole code; all within the margins', () => {
    const codes = ofProbes.flatMap((s) => texts(s).flatMap((t) => (t.role === 'code' ? [t.text] : [])));
    expect(codes).toEqual(sheets.probes.map((p) => p.code));
    for (const scene of scenes) {
      for (const node of texts(scene)) {
        const box = textBox(node);
        expect(box.xMm).toBeGreaterThan(9);
        expect(box.xMm + box.widthMm).toBeLessThan(scene.widthMm - 9);
        expect(box.yMm + box.heightMm).toBeLessThan(scene.heightMm - 8);
      }
    }
  });

  // 9 mm is what handwriting in the field needs (common practice of forms).
  test('rows to write on are at least 9 mm high', () => {
    if (form === 'list') {
      const across = (n: PathNode) => {
        const [a, b] = n.segments;
        return a?.[0] === 'M' && b?.[0] === 'L' && a[2] === b[2] && b[1] - a[1] > 200 ? [a[2]] : [];
      };
      for (const scene of ofProbes) {
        // The last two are those of the foot.
        const rules = [...new Set(paths(scene).flatMap(across))].sort((a, b) => a - b).slice(1, -1);
        expect(rules.length).toBeGreaterThan(10);
        rules.slice(1).forEach((y, i) => {
          expect(y - (rules[i] ?? 0)).toBeGreaterThanOrEqual(9 - 1e-9);
        });
      }
      return;
    }
    for (const scene of ofProbes) {
      const cells = paths(scene).flatMap((n) => {
        const [a, , c] = n.segments;
        const isCell = n.segments.length === 5 && n.fill === undefined && a?.[0] === 'M' && c?.[0] === 'L';
        return isCell && c[1] - a[1] > 6 ? [c[2] - a[2]] : [];
      });
      expect(cells.length).toBeGreaterThan(60);
      expect(Math.min(...cells)).toBeGreaterThanOrEqual(9 - 1e-9);
    }
  });

  test('no text stands on another', () => {
    for (const scene of scenes.slice(1)) {
      const boxes = texts(scene).map(textBox);
      boxes.forEach((a, i) => {
        for (const b of boxes.slice(i + 1)) {
          const apart =
            a.xMm + a.widthMm <= b.xMm + 0.05 ||
            b.xMm + b.widthMm <= a.xMm + 0.05 ||
            a.yMm + a.heightMm <= b.yMm + 0.3 ||
            b.yMm + b.heightMm <= a.yMm + 0.3;
          expect(apart ? null : [a, b]).toBeNull();
        }
      });
    }
  });
});

test('the map: walk through all probes from the start and back, keep-out, north, scale; cautions on services, radiation and air', () => {
  const [map] = composeSheets(sheetInput(METRES), 'list', 'A4');
  const words = texts(map as Scene).map((t) => t.text);
  expect(words).toContain('Start');
  expect(words).toContain('N');
  expect(words).toContain('Gas service');
  expect(words.join(' ')).toMatch(/Scale 1:/);
  const longest = Math.max(
    ...paths(map as Scene)
      .filter((n) => n.stroke?.dashMm !== undefined)
      .map((n) => n.segments.length),
  );
  expect(longest).toBe(62);
  for (const caution of [/Buried services/, /Radiation/, /Confined air/])
    expect(words.join(' ')).toMatch(caution);
});

test('two rounds: a stack each, with the map leading by way of the start', () => {
  const names = ['day 1, instrument 1', 'day 1, instrument 2'];
  const given = sheetInput(METRES);
  const shared = {
    ...given,
    walkLineM: given.walkLineM.toSpliced(34, 0, given.startM),
    rounds: [
      { name: names[0] ?? '', count: 33 },
      { name: names[1] ?? '', count: 27 },
    ],
  };
  const scenes = composeSheets(shared, 'cards', 'A4');
  const titles = scenes.map((s) => texts(s).find((t) => t.role === 'title')?.text);
  // 33 cards need nine pages of four, 27 need seven.
  expect(titles.slice(2)).toEqual([
    ...Array.from({ length: 9 }, () => `Field cards: ${names[0]}`),
    ...Array.from({ length: 7 }, () => `Field cards: ${names[1]}`),
  ]);
  const codesOn = (from: number, to: number) =>
    scenes.slice(from, to).flatMap((s) => texts(s).flatMap((t) => (t.role === 'code' ? [t.text] : [])));
  expect(codesOn(2, 11)).toEqual(shared.probes.slice(0, 33).map((p) => p.code));
  expect(codesOn(11, 18)).toEqual(shared.probes.slice(33).map((p) => p.code));
  const legs = paths(scenes[0] as Scene).filter((n) => n.stroke?.dashMm !== undefined);
  expect(Math.max(...legs.map((n) => n.segments.length))).toBe(63);
  expect(
    texts(scenes[0] as Scene)
      .map((t) => t.text)
      .join(' '),
  ).toMatch(/Day 1, instrument 2: 27 probes/);
});

test('what is asked for says who asks: the scheme, guidance, practice; from memory is unconfirmed', () => {
  const { reminders } = sheetInput(FEET);
  const asker = (pattern: RegExp) => reminders.find((r) => pattern.test(r.text))?.asker;
  expect(asker(/At least 15 valid/)).toBe('Czech building-site radon index');
  // 0.8 m are 2.62 ft (0.3048 m exactly).
  expect(asker(/^Depth 2\.62 ft/)).toBe('Czech building-site radon index');
  expect(asker(/Under 1 kBq/)).toMatch(/unconfirmed/);
  // One duplicate in twenty: California DTSC 2015, section 6.3.2.
  expect(asker(/^Duplicates: 3/)).toMatch(/vapour-intrusion guidance/);
  expect(asker(/^Background/)).toBe('common practice');
  expect(asker(/^Control probe P1/)).toBe('common practice');
});

test('PDF: the same bytes again, pages of the right size, and words that another reader finds', async () => {
  const sheets = sheetInput(METRES);
  const scenes = composeSheets(sheets, 'list', 'A4');
  const pdf = await renderSheets(scenes, sheets, { compress: false });
  expect(Buffer.compare(pdf, await renderSheets(scenes, sheets, { compress: false }))).toBe(0);
  const pages = readPdf(pdf);
  expect(pages).toHaveLength(scenes.length);
  for (const { widthMm, heightMm } of pages) {
    expect(widthMm).toBeCloseTo(297, 1);
    expect(heightMm).toBeCloseTo(210, 1);
  }
  if (spawnSync('pdftotext', ['-v']).error !== undefined) return;
  const folder = mkdtempSync(join(tmpdir(), 'gasplat-sheets-'));
  const file = join(folder, 'a.pdf');
  writeFileSync(file, await renderSheets(scenes, sheets));
  const { stdout } = spawnSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' });
  rmSync(folder, { recursive: true, force: true });
  for (const { code } of sheets.probes) expect(stdout).toContain(code);
  for (let i = 1; i <= scenes.length; i++) expect(stdout).toContain(`Page ${i} of ${scenes.length}`);
  expect(stdout).toContain('record 0123456789abcdef');
  expect(stdout).toContain('Invented data');
});
