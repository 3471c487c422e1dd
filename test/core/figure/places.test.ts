import { describe, expect, test } from 'vitest';
import type { PartPlace, SheetChanges, SheetKind } from '../../../core/contract/sheet.ts';
import { composeSheet } from '../../../core/figure/compose-figure.ts';
import type { PathNode, Scene, SceneNode, TextNode } from '../../../core/figure/scene.ts';
import { flattenScene } from '../../../core/figure/scene.ts';
import { checkHidden, checkPlace, EDGE_MM } from '../../../core/figure/sheet-parts.ts';
import { LOT_LINE } from '../../../core/figure/style.ts';
import { textBox } from '../../../core/figure/text.ts';
import { CAUTIONS, inventedFigure, inventedProbes, LOT } from './fixture.ts';

const SHEETS: readonly SheetKind[] = [
  { template: 'map', page: 'A4', orientation: 'portrait' },
  { template: 'quality', page: 'A3', orientation: 'landscape' },
  { template: 'permit', page: 'Letter', orientation: 'landscape' },
];
const A4 = SHEETS[0] as SheetKind;

const textsOf = (scene: Scene | undefined): TextNode[] =>
  flattenScene(scene?.nodes ?? []).filter((n): n is TextNode => n.kind === 'text');
const said = (scene: Scene | undefined): string =>
  textsOf(scene)
    .map((n) => n.text)
    .join(' ');

const placed = (place: Partial<PartPlace>): SheetChanges[string] => ({
  place: { page: 1, xMm: 20, yMm: 40, widthMm: 60, heightMm: 40, ...place },
  hidden: false,
});

/** The group of a part, wherever on the page. */
function groupOf(scene: Scene | undefined, name: string): readonly SceneNode[] {
  const group = scene?.nodes.find((node) => node.kind === 'group' && node.name === name);
  return group?.kind === 'group' ? group.children : [];
}

describe('places of the parts', () => {
  test.each(SHEETS)(
    '$template $page $orientation: put where they stand already, all parts give the same sheet',
    (sheet) => {
      const input = inventedFigure();
      const first = composeSheet(input, sheet);
      const changes = Object.fromEntries(
        first.layout.parts.map(({ id, page, xMm, yMm, widthMm, heightMm, hidden }) => [
          id,
          { place: { page, xMm, yMm, widthMm, heightMm }, hidden },
        ]),
      );
      for (const [id, { place }] of Object.entries(changes)) checkPlace(id, place, sheet);
      const again = composeSheet(input, { ...sheet, changes });
      const words = (scenes: readonly Scene[]) =>
        scenes.map((scene) =>
          textsOf(scene)
            .map((n) => `${n.text} ${n.xMm.toFixed(3)} ${n.yMm.toFixed(3)}`)
            .sort(),
        );
      expect(words(again.scenes)).toEqual(words(first.scenes));
      expect(again.layout.remarks).toEqual([]);
    },
  );

  test('a text goes where it is put, and is as high as its words need', () => {
    const changes = { legend: placed({ xMm: 30.5, yMm: 90.25, widthMm: 50, heightMm: 5 }) };
    const { scenes, layout } = composeSheet(inventedFigure(), { ...A4, changes });
    const part = layout.parts.find((p) => p.id === 'legend');
    expect(part).toMatchObject({ xMm: 30.5, yMm: 90.25, widthMm: 50, moved: true });
    expect(part?.heightMm).toBeGreaterThan(30);
    const boxes = textsOf({ ...(scenes[0] as Scene), nodes: groupOf(scenes[0], 'legend') }).map(textBox);
    expect(boxes.length).toBeGreaterThan(5);
    for (const box of boxes) {
      expect(box.xMm).toBeGreaterThan(30.4);
      expect(box.xMm + box.widthMm).toBeLessThan(30.5 + 50.1);
      expect(box.yMm).toBeGreaterThan(90.2);
      expect(box.yMm + box.heightMm).toBeLessThan(90.25 + (part?.heightMm ?? 0) + 0.1);
    }
    expect(layout.remarks[0]).toBe('Map and Legend lie over each other on page 1.');
    expect(layout.remarks[1]).toMatch(/^Legend covers P\d\d/);
    // Paper under it, so that the map does not run through the words.
    const [backing] =
      scenes[0]?.nodes.filter((n): n is PathNode => n.kind === 'path' && n.fill === '#ffffff') ?? [];
    expect(backing).toBeDefined();
  });

  test('a map of another size keeps a scale of the rule, true within 0.01 mm', () => {
    const changes = { map: placed({ xMm: 11, yMm: 26, widthMm: 100, heightMm: 90 }) };
    const { scenes } = composeSheet(inventedFigure(), { ...A4, changes });
    const scale = Number(/Scale 1:(\d+)/.exec(said(scenes[0]))?.[1]);
    const lot = flattenScene(scenes[0]?.nodes ?? []).find(
      (n): n is PathNode => n.kind === 'path' && n.stroke?.widthMm === LOT_LINE.widthMm,
    );
    const [a, b] = (lot?.segments ?? []).map(([, x = 0, y = 0]) => [x, y] as const);
    const [p, q] = [LOT[0], LOT[1]] as const;
    const groundM = Math.hypot((q?.[0] ?? 0) - (p?.[0] ?? 0), (q?.[1] ?? 0) - (p?.[1] ?? 0));
    const paperMm = Math.hypot((b?.[0] ?? 0) - (a?.[0] ?? 0), (b?.[1] ?? 0) - (a?.[1] ?? 0));
    expect(Math.abs(paperMm - (groundM * 1000) / scale)).toBeLessThan(0.01);
  });

  test('class, cautions, flagged samples and record cannot be hidden; other parts can, and the sheet says which', () => {
    for (const id of ['class', 'cautions', 'exceptions', 'footer', 'header', 'map', 'samples', 'remarks'])
      expect(() => checkHidden(id)).toThrow(/can be moved but not hidden/);
    const changes = Object.fromEntries(
      ['class', 'cautions', 'legend', 'method'].map((id) => [id, { place: null, hidden: true }]),
    );
    const { scenes, layout } = composeSheet(inventedFigure(), { ...A4, changes });
    const first = said(scenes[0]);
    for (const caution of CAUTIONS) expect(first).toContain(caution);
    expect(first).toContain('Medium radon index');
    expect(first).not.toContain('LEGEND');
    expect(layout.remarks).toEqual([
      'Not shown: Legend, Method.',
      expect.stringMatching(/^A gap is left: closing it moves up Cautions, /),
    ]);
    expect(layout.parts.find((p) => p.id === 'legend')).toMatchObject({ hidden: true, moved: false });
  });

  test('what must be seen lies over all that a person puts on it', () => {
    const changes = {
      class: placed({ xMm: 20, yMm: 40, widthMm: 60, heightMm: 10 }),
      legend: placed({ xMm: 22, yMm: 42, widthMm: 60, heightMm: 10 }),
    };
    const { scenes } = composeSheet(inventedFigure(), { ...A4, changes });
    const names = scenes[0]?.nodes.map((n) => (n.kind === 'group' ? n.name : ''));
    expect(names?.indexOf('class')).toBeGreaterThan(names?.indexOf('legend') ?? 99);
    expect(names?.indexOf('legend')).toBeGreaterThan(names?.indexOf('map') ?? 99);
  });

  test('the table starts where it is put and goes on below nothing: every sample is in it once', () => {
    const { probes, rows } = inventedProbes(60);
    const changes = { samples: placed({ page: 1, xMm: 11, yMm: 200, widthMm: 188, heightMm: 40 }) };
    const { scenes } = composeSheet(inventedFigure({ probes, rows }), { ...A4, changes });
    const cells = scenes.flatMap(textsOf).filter((n) => n.role === 'table-cell');
    for (const row of rows) expect(cells.filter((n) => n.text === row.label)).toHaveLength(1);
    expect(textsOf(scenes[0]).some((n) => n.role === 'table-cell')).toBe(true);
  });

  test.each([
    ['class', { page: 2 }, /must stand on page 1/],
    ['map', { widthMm: 59 }, /width of 59 mm is under its least, 60 mm/],
    ['method', { xMm: 160 }, /from 160 mm to 220 mm across/],
    ['method', { yMm: EDGE_MM - 1 }, /edge/],
    ['anything', {}, /no part "anything"/],
  ] as const)('%s at %o is refused', (id, place, message) => {
    expect(() =>
      checkPlace(id, { page: 1, xMm: 20, yMm: 40, widthMm: 60, heightMm: 50, ...place }, A4),
    ).toThrow(message);
  });
});
