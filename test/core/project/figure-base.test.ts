import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { encodeInkPng } from '../../../core/figure/png-chunks.ts';
import { renderPdf } from '../../../core/figure/render-pdf.ts';
import { renderPng } from '../../../core/figure/render-png.ts';
import { renderSvg } from '../../../core/figure/render-svg.ts';
import { flattenScene, type ImageNode, type Scene } from '../../../core/figure/scene.ts';
import { createJobRunner, type JobRunner } from '../../../core/jobs/runner.ts';
import { computeClass } from '../../../core/project/classify-lot.ts';
import { createFromDemo } from '../../../core/project/demo.ts';
import { setSettings } from '../../../core/project/edit.ts';
import { composePages, type FigureParts, gatherFigure } from '../../../core/project/figure.ts';
import { figureBase } from '../../../core/project/figure-base.ts';
import { addSitePlan, placeSitePlan, setSitePlan } from '../../../core/project/site-plans.ts';
import { buildView } from '../../../core/project/view.ts';
import type { ProjectStore } from '../../../core/store/open-project.ts';
import { decodePng } from '../figure/png-reading.ts';

let folder: string;
let store: ProjectStore;
let jobs: JobRunner;
let planId: string;
const context = { signal: new AbortController().signal, onProgress: () => undefined };

const SIZE_PX = 400;
/** Two pixels a foot; the image's upper left corner lies at (-40, 180) ft. */
const pixelOf = ([x, y]: readonly [number, number]) => [2 * (x + 40), 2 * (180 - y)] as const;
/** Outside the lot, where no colour of the surface lies: a black square of 20 ft about this place. */
const SQUARE_FT = [-20, 100] as const;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-base-'));
  jobs = createJobRunner();
  store = createFromDemo({ path: join(folder, 'lot.gasplat'), lot: 'troubled', actor: 'Ann Example' });
  const ink = new Uint8Array(SIZE_PX * SIZE_PX);
  const [left, top] = pixelOf([SQUARE_FT[0] - 10, SQUARE_FT[1] + 10]);
  for (let row = top; row < top + 40; row++) ink.fill(255, row * SIZE_PX + left, row * SIZE_PX + left + 40);
  const path = join(folder, 'Survey.png');
  writeFileSync(path, encodeInkPng(ink, SIZE_PX, SIZE_PX, [0, 0, 0]));
  const points = [
    [0, 0],
    [118, 0],
    [124, 156],
  ] as const;
  const added = await addSitePlan(store, path, {
    fit: 'similarity',
    points: points.map((native, i) => ({ label: `C${i + 1}`, pixel: pixelOf(native), native })),
  });
  planId = added.id;
});

afterAll(async () => {
  store.close();
  await jobs.close();
  rmSync(folder, { recursive: true, force: true });
});

async function sheetWith(isWanted: boolean): Promise<Scene> {
  const view = buildView(store);
  const parts: FigureParts = {
    view,
    surface: null,
    noSurfaceReason: 'None is asked for here.',
    classResult: computeClass(view),
    recordHash: null,
    preparedBy: null,
    version: '0.0.0',
    base: await figureBase(store, jobs, view, isWanted, context),
  };
  return composePages(parts, store, { orientation: 'landscape' }).scenes[0] as Scene;
}

const imagesOf = (scene: Scene) =>
  flattenScene(scene.nodes).filter((node): node is ImageNode => node.kind === 'image');
const wordsOf = (scene: Scene) =>
  flattenScene(scene.nodes)
    .flatMap((node) => (node.kind === 'text' ? [node.text] : []))
    .join(' ');

test('the plan lies under the map at its place, greyed, clear where it has its paper, in PNG, SVG and PDF', async () => {
  expect(imagesOf(await sheetWith(false))).toEqual([]);
  const scene = await sheetWith(true);
  const [image] = imagesOf(scene);
  if (image === undefined) throw new Error('no image');
  // The scale of the sheet is named on it: 1 in = N ft.
  const feetPerInch = Number(/1 in = (\d+) ft/.exec(wordsOf(scene))?.[1]);
  const [a, b, , d, e] = image.matrix;
  // All of the image is wanted here, and nothing is drawn smaller: half a foot a pixel.
  expect([image.widthPx, image.heightPx]).toEqual([SIZE_PX, SIZE_PX]);
  for (const [part, wanted] of [
    [a, 12.7 / feetPerInch],
    [b, 0],
    [d, 0],
    [e, 12.7 / feetPerInch],
  ] as const)
    expect(part).toBeCloseTo(wanted, 9);

  const dpi = 100;
  const png = decodePng(await renderPng(scene, { dpi }));
  const dot = ([x, y]: readonly [number, number]) => {
    const [column, row] = pixelOf([x, y]);
    const { matrix: m } = image;
    const mm = [m[0] * column + m[1] * row + m[2], m[3] * column + m[4] * row + m[5]];
    return png.at(...(mm.map((value) => Math.round((value / 25.4) * dpi)) as [number, number])).slice(0, 3);
  };
  for (const channel of dot(SQUARE_FT)) {
    expect(channel).toBeGreaterThan(150);
    expect(channel).toBeLessThan(190);
  }
  expect(dot([SQUARE_FT[0] - 14, SQUARE_FT[1]])).toEqual([255, 255, 255]);
  expect(renderSvg(scene)).toMatch(/<image width="400" height="400" [^>]*href="data:image\/png;base64,/);
  const metadata = { title: 't', author: null, subject: '', creator: '', createdUtc: '2026-06-02T09:00:00Z' };
  const bytes = await renderPdf([scene], metadata);
  expect(Buffer.from(bytes).toString('latin1')).toContain('/Subtype /Image');
  expect(Buffer.from(await renderPdf([scene], metadata)).equals(Buffer.from(bytes))).toBe(true);
});

test('how it was placed and how far off it may lie stands on page 1, in the project’s units', async () => {
  expect(wordsOf(await sheetWith(true))).toMatch(
    /site plan "Survey", placed by 3 control points; it lies off by up to 0 ft \(0\.00 m\)/,
  );
  const points = [pixelOf([0, 0]), pixelOf([118, 0]), pixelOf([0, 118])];
  // The end of one leg of a right angle with two equal legs moved out along it by h = 2 ft. Least squares over complex
  // numbers, w = s z + t (done by hand): h / (2 √2) = 0.707 ft = 0.216 m is left at the corner, h / 4 at each end.
  placeSitePlan(store, {
    id: planId,
    fit: 'similarity',
    points: points.map((pixel, i) => ({
      label: `C${i + 1}`,
      pixel,
      native: (
        [
          [0, 0],
          [118, 0],
          [0, 120],
        ] as const
      )[i] as [number, number],
    })),
  });
  expect(wordsOf(await sheetWith(true))).toMatch(/off by up to 0\.722 ft \(0\.22 m\), at C1/);
  placeSitePlan(store, {
    id: planId,
    fit: 'similarity',
    points: [0, 1].map((i) => ({
      label: `C${i + 1}`,
      pixel: points[i] as readonly [number, number],
      native: [118 * i, 0] as const,
    })),
  });
  expect(wordsOf(await sheetWith(true))).toMatch(/2 control points; how far off it lies is not known/);
});

test('off until the project asks for it, and a plan hidden on the map is not in the figure', async () => {
  const baseOf = async (sitePlan?: boolean) =>
    (await gatherFigure(store, jobs, sitePlan === undefined ? {} : { sitePlan }, context, '0.0.0')).base;
  expect(await baseOf()).toEqual([]);
  setSettings(store, { ...buildView(store).settings, sitePlanInFigure: true });
  expect(await baseOf()).toHaveLength(1);
  expect(await baseOf(false)).toEqual([]);
  setSitePlan(store, { id: planId, isShown: false });
  expect(await baseOf(true)).toEqual([]);
});

test('an image that cannot be drawn is told from one that is', async () => {
  const size = { widthPx: 8, heightPx: 8 };
  const part = { column: 0, row: 0, ...size };
  const ink = new Uint8Array(64);
  ink.fill(255, 0, 8);
  const run = (bytes: Uint8Array, mediaType: string) =>
    jobs.run('mute-picture', { bytes, mediaType, file: 'plan', ...size, part, mostPx: 8 }, context);
  expect((await run(encodeInkPng(ink, 8, 8, [0, 0, 0]), 'image/png')).isBlank).toBe(false);
  expect((await run(Uint8Array.of(0xff, 0xd8, 0xff, 0xd9), 'image/jpeg')).isBlank).toBe(true);
});
