import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { composeFigure } from '../../../core/figure/compose-figure.ts';
import type { FigureInput, Orientation, PageName } from '../../../core/figure/figure-model.ts';
import { overlaps } from '../../../core/figure/obstacles.ts';
import type { PathNode, RectMm, Scene, TextNode } from '../../../core/figure/scene.ts';
import { flattenScene } from '../../../core/figure/scene.ts';
import { LIMIT_LINE, LOT_LINE } from '../../../core/figure/style.ts';
import { textBox, textCorners } from '../../../core/figure/text.ts';
import { CAUTIONS, CLASS, FOOT_FRAME, inventedFigure, inventedProbes, LOT } from './fixture.ts';

const PAGES: PageName[] = ['A4', 'A3', 'Letter', 'Tabloid'];
const ORIENTATIONS: Orientation[] = ['portrait', 'landscape'];
const LONG = `${'Very long name of an orchard lot behind the old brickworks '.repeat(4)}${'x'.repeat(300)}`;

function textsOf(scene: Scene): TextNode[] {
  return flattenScene(scene.nodes).filter((node): node is TextNode => node.kind === 'text');
}

function pathsOf(scene: Scene): PathNode[] {
  return flattenScene(scene.nodes).filter((node): node is PathNode => node.kind === 'path');
}

function allText(scenes: readonly Scene[]): string {
  return scenes
    .flatMap(textsOf)
    .map((node) => node.text)
    .join(' ');
}

function expectInsideMargins(scenes: readonly Scene[]): void {
  for (const scene of scenes) {
    for (const node of textsOf(scene)) {
      for (const [x, y] of textCorners(node)) {
        const where = `"${node.text}" at ${x.toFixed(1)}, ${y.toFixed(1)} of ${scene.widthMm} x ${scene.heightMm}`;
        expect(x, where).toBeGreaterThan(8);
        expect(y, where).toBeGreaterThan(8);
        expect(x, where).toBeLessThan(scene.widthMm - 8);
        expect(y, where).toBeLessThan(scene.heightMm - 8);
      }
    }
  }
}

/** Turned boxes by the separating-axis rule. */
function cornersOverlap(a: TextNode, b: TextNode): boolean {
  const [p, q] = [textCorners(a), textCorners(b)];
  for (const corners of [p, q]) {
    for (let i = 0; i < 2; i++) {
      const [x0, y0] = corners[i] as readonly [number, number];
      const [x1, y1] = corners[i + 1] as readonly [number, number];
      const along = (points: typeof p): number[] => points.map(([x, y]) => (x1 - x0) * x + (y1 - y0) * y);
      const [s, t] = [along(p), along(q)];
      if (Math.max(...s) <= Math.min(...t) || Math.max(...t) <= Math.min(...s)) return false;
    }
  }
  return true;
}

function expectNoOverlap(texts: readonly TextNode[]): void {
  const boxes = texts.map(textBox);
  texts.forEach((a, i) => {
    for (let k = i + 1; k < texts.length; k++) {
      const b = texts[k] as TextNode;
      if (!overlaps(boxes[i] as RectMm, boxes[k] as RectMm)) continue;
      expect(cornersOverlap(a, b), `"${a.text}" and "${b.text}" overlap`).toBe(false);
    }
  });
}

const MAP_ROLES = ['probe-label', 'contour-label', 'outline-label'];

describe('every page size and orientation', () => {
  for (const page of PAGES) {
    for (const orientation of ORIENTATIONS) {
      test(`${page} ${orientation}: text inside the margins, none over another`, () => {
        const scenes = composeFigure(inventedFigure(), { page, orientation });
        expectInsideMargins(scenes);
        for (const scene of scenes) expectNoOverlap(textsOf(scene));
      });

      test(`${page} ${orientation}: 60 probes all get a label`, () => {
        const [first] = composeFigure(inventedFigure({}, 60), { page, orientation }) as [Scene];
        const labels = textsOf(first).filter((node) => node.role === 'probe-label');
        const names = labels.map((node) => node.text).filter((text) => /^P\d\d$/.test(text));
        expect(names).toHaveLength(60);
        expectNoOverlap(textsOf(first).filter((node) => MAP_ROLES.includes(node.role ?? '')));
      });
    }
  }

  test('anything a person may type stays inside', () => {
    const words = fc.string({ unit: 'grapheme', maxLength: 250 });
    fc.assert(
      fc.property(
        fc.constantFrom(...PAGES),
        fc.constantFrom(...ORIENTATIONS),
        words,
        words,
        words,
        fc.integer({ min: 0, max: 40 }),
        (page, orientation, projectName, preparedBy, refusal, count) => {
          const input = inventedFigure(
            { projectName, preparedBy, classResult: { ...CLASS, refusal, className: null } },
            count,
          );
          expectInsideMargins(composeFigure(input, { page, orientation }));
        },
      ),
      { numRuns: 25, seed: 7 },
    );
  });
});

describe('what stands on the sheet', () => {
  const scenes = composeFigure(inventedFigure());
  const first = textsOf(scenes[0] as Scene)
    .map((node) => node.text)
    .join(' ');

  test('class, statistic, scheme with source, what is unconfirmed', () => {
    expect(first).toContain('Medium radon index');
    expect(first).toContain('Third quartile of radon 41.3 kBq/m³');
    expect(first).toContain('decree 422/2016 Sb., annex 26');
    expect(first).toContain('Unconfirmed:');
    expect(first).toContain('known from memory only');
  });

  test('the class as it would be without rulings stands on page 1', () => {
    expect(first).toContain('Without rulings: Medium radon index (40.2 kBq/m³)');
  });

  test('all cautions on page 1', () => {
    for (const caution of CAUTIONS) expect(first).toContain(caution);
  });

  test('every flagged or left-out probe by name, with its reason', () => {
    for (const words of ['P05: diluted', 'P10: water', 'P12: suspect', 'P14: left out by a ruling']) {
      expect(first).toContain(words);
    }
  });

  test('method with model, number and verdict; quality', () => {
    expect(first).toContain('Variogram: spherical, nugget 38.0');
    expect(first).toContain('n = 13');
    expect(first).toContain('The surface foretells a left-out point');
    expect(allText(scenes)).toContain('Two duplicates');
  });

  test('coordinate system with code, north, scale and paper', () => {
    expect(first).toContain('EPSG:32633');
    expect(first).toContain('true north lies 0.44° east of it');
    expect(first).toContain('Scale 1:250 on A4');
    expect(first).toContain('÷ 0.999622');
  });

  test('demo mark and page number on every page; none on a real one', () => {
    scenes.forEach((scene, i) => {
      const texts = textsOf(scene).map((node) => node.text);
      expect(texts).toContain('Invented data, for demonstration');
      expect(texts).toContain(`Page ${i + 1} of ${scenes.length}`);
    });
    expect(allText(composeFigure(inventedFigure({ isDemo: false })))).not.toContain('Invented data');
  });

  test('every sample in the table, value and expanded uncertainty: P01 26.9 with u 4 % and 5 % gives U = 2 x 26.9 x 0.064 = 3.4', () => {
    const table = scenes
      .slice(1)
      .flatMap(textsOf)
      .map((node) => node.text);
    for (const row of inventedFigure().rows) expect(table).toContain(row.label);
    const at = table.indexOf('P01');
    expect(table.slice(at, at + 8)).toContain('26.9');
    expect(table.slice(at, at + 8)).toContain('± 3.4');
  });

  test('pCi/L: 1 pCi/L is 37 Bq/m³, so 41.26 kBq/m³ is 1115 pCi/L', () => {
    const text = allText(composeFigure(inventedFigure({ radonUnit: 'pCi/L' })));
    expect(text).toContain('Third quartile of radon 1120 pCi/L');
  });

  test('class limits are drawn heavier than other contours', () => {
    const heavy = pathsOf(scenes[0] as Scene).filter((node) => node.stroke?.widthMm === LIMIT_LINE.widthMm);
    expect(heavy.length).toBeGreaterThan(2);
    const none = composeFigure(inventedFigure({ limits: [] }));
    const left = pathsOf(none[0] as Scene).filter((node) => node.stroke?.widthMm === LIMIT_LINE.widthMm);
    expect(left.length).toBeLessThan(heavy.length);
  });
});

describe('scale', () => {
  function lotOnPage(input: FigureInput, page: PageName = 'A4'): { edgesMm: number[]; text: string } {
    const [scene] = composeFigure(input, { page }) as [Scene];
    const ring = pathsOf(scene).find((node) => node.stroke === LOT_LINE)?.segments ?? [];
    const points = ring.filter((s) => s[0] !== 'Z').map((s) => s.slice(1) as [number, number]);
    const edgesMm = points.map(([x, y], i) => {
      const [nx, ny] = points[(i + 1) % points.length] as [number, number];
      return Math.hypot(nx - x, ny - y);
    });
    return { edgesMm, text: textsOf(scene).find((node) => node.role === 'scale')?.text ?? '' };
  }

  function edgesM(): number[] {
    return LOT.map(([x, y], i) => {
      const [nx, ny] = LOT[(i + 1) % LOT.length] as readonly [number, number];
      return Math.hypot(nx - x, ny - y);
    });
  }

  test('1:250 is 4 mm to the metre, within 0.01 mm', () => {
    const { edgesMm, text } = lotOnPage(inventedFigure());
    expect(text).toContain('1:250');
    edgesM().forEach((m, i) => {
      expect(Math.abs((edgesMm[i] as number) - 4 * m)).toBeLessThan(0.01);
    });
  });

  test('1 in = 20 ft: 25.4 mm to 6.096 m', () => {
    const { edgesMm, text } = lotOnPage(inventedFigure({ frame: FOOT_FRAME }), 'A3');
    expect(text).toContain('1 in = 20 ft (1:240)');
    edgesM().forEach((m, i) => {
      expect(Math.abs((edgesMm[i] as number) - (25.4 * m) / 6.096)).toBeLessThan(0.01);
    });
  });

  test('a frame tick stands at its own coordinate', () => {
    const input = inventedFigure();
    const [scene] = composeFigure(input) as [Scene];
    const ring = pathsOf(scene).find((node) => node.stroke === LOT_LINE)?.segments[0] as [
      'M',
      number,
      number,
    ];
    const tick = textsOf(scene).find(
      (node) => node.role === 'coordinate' && node.text === '458\u2009120',
    ) as TextNode;
    const [lotX] = LOT[0] as readonly [number, number];
    expect(tick.xMm).toBeCloseTo(ring[1] + (458_120 - 458_100 - lotX) * 4, 6);
  });

  test('a probe far off the lot does not shrink the map; it is named', () => {
    const far = inventedProbes(15);
    const stray = { ...far.probes[0], positionM: [90_000, 4] } as (typeof far.probes)[number];
    const scenes = composeFigure(inventedFigure({ probes: [stray, ...far.probes.slice(1)] }));
    const text = allText(scenes);
    expect(text).toMatch(/Scale 1:(250|300|400|500) on/);
    expect(text).toContain('Off this sheet: P01');
  });
});

describe('hard cases', () => {
  test('a value that was left out stands at its probe all the same, and is never an empty place', () => {
    const { probes } = inventedFigure();
    const [first, ...others] = probes;
    if (first === undefined) throw new Error('the fixture has no probe');
    const read = { kind: 'value', estimateKBqPerM3: 109, randomUKBqPerM3: 4, commonURel: 0 } as const;
    const leftOut = {
      ...first,
      symbol: 'left-out',
      measured: { kind: 'none', reason: 'left-out' },
      leftOut: read,
    } as const;
    const text = allText(composeFigure(inventedFigure({ probes: [leftOut, ...others] })));
    expect(text).toContain('109 left out');
    expect(text).not.toContain('no reading');
  });

  test('no lot, no surface, no class, no probes: a sheet that says so', () => {
    const scenes = composeFigure(
      inventedFigure({
        lot: null,
        lotAreaM2: null,
        footprint: null,
        keepOuts: [],
        probes: [],
        rows: [],
        exceptions: [],
        surface: null,
        noSurfaceReason: 'No surface: no probe has a value.',
        classResult: null,
        quality: null,
        preparedBy: null,
        sampledOn: null,
        recordHash: null,
      }),
    );
    const text = allText(scenes);
    expect(scenes).toHaveLength(1);
    for (const words of [
      'No lot boundary is entered',
      'No surface: no probe has a value.',
      'No class has been worked out',
    ]) {
      expect(text).toContain(words);
    }
    for (const caution of CAUTIONS) expect(text).toContain(caution);
    expectInsideMargins(scenes);
  });

  test('a refused class prints the refusal, not a class', () => {
    const refusal = 'The scheme asks for 15 valid values and there are 11.';
    const classResult = { ...CLASS, classId: null, className: null, refusal };
    const text = allText(composeFigure(inventedFigure({ classResult })));
    expect(text).toContain('No class');
    expect(text).toContain(refusal);
    expect(text).not.toContain('Medium radon index Third quartile');
  });

  test('where the class hangs on a bound, both classes stand in the headline', () => {
    const classResult = { ...CLASS, range: ['Low radon index', 'Medium radon index'] };
    expect(allText(composeFigure(inventedFigure({ classResult })))).toContain(
      'Not settled: Low radon index or Medium radon index',
    );
  });

  test('very long names wrap or shorten', () => {
    const { probes, rows } = inventedProbes(15);
    const input = inventedFigure({
      title: LONG,
      projectName: LONG,
      preparedBy: LONG,
      probes: probes.map((probe) => ({ ...probe, label: `${probe.label} ${LONG}` })),
      rows: rows.map((row) => ({ ...row, label: `${row.label} ${LONG}`, finding: LONG })),
      exceptions: [{ label: LONG, symbol: 'left-out', text: LONG }],
    });
    for (const orientation of ORIENTATIONS) {
      const scenes = composeFigure(input, { orientation });
      expectInsideMargins(scenes);
      for (const scene of scenes) expectNoOverlap(textsOf(scene));
    }
  });

  test('a class text longer than the column goes on overleaf; cautions stay on page 1, nothing is lost', () => {
    const sentences = Array.from({ length: 150 }, (_, i) => `Sentence number ${i + 1} of a very long basis.`);
    const classResult = { ...CLASS, decidedBy: sentences.join(' ') };
    for (const orientation of ORIENTATIONS) {
      const scenes = composeFigure(inventedFigure({ classResult }), { orientation });
      const first = textsOf(scenes[0] as Scene)
        .map((node) => node.text)
        .join(' ');
      for (const caution of CAUTIONS) expect(first).toContain(caution);
      expect(first).toContain('Medium radon index');
      expect(first).toContain('continued on the next page');
      const text = allText(scenes);
      for (const i of [1, 75, 150]) expect(text.replace(/ +/g, ' ')).toMatch(new RegExp(`number ${i}\\b`));
      expectInsideMargins(scenes);
      for (const scene of scenes) expectNoOverlap(textsOf(scene));
    }
  });

  test('600 probes: every sample in the table, labels that find no room are counted', () => {
    const { probes, rows } = inventedProbes(600);
    expect(probes).toHaveLength(600);
    const scenes = composeFigure(inventedFigure({ probes, rows }));
    const labels = textsOf(scenes[0] as Scene).filter((node) => node.role === 'probe-label');
    const named = new Set(labels.map((node) => node.text).filter((text) => /^P\d+$/.test(text))).size;
    const remark = /No room for the label of (.*?): see the table/.exec(allText(scenes))?.[1];
    expect(remark).toBeDefined();
    const more = Number(/and (\d+) more/.exec(remark as string)?.[1]);
    expect(named + 8 + more).toBe(600);
    const table = new Set(
      scenes
        .slice(1)
        .flatMap(textsOf)
        .map((node) => node.text),
    );
    for (const row of rows) expect(table.has(row.label)).toBe(true);
    expectInsideMargins(scenes);
  });

  test('one probe and nothing else has a scale', () => {
    const { probes, rows } = inventedProbes(1);
    const scenes = composeFigure(
      inventedFigure({
        lot: null,
        footprint: null,
        keepOuts: [],
        surface: null,
        probes,
        rows,
        exceptions: [],
      }),
    );
    expect(allText(scenes)).toMatch(/Scale 1:\d+ on A4/);
  });
});
