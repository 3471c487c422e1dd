/** The map frame: bands, contours, lot, footprint, keep-outs and probes, lettered. */
import type { PositionM } from '../contract/model.ts';
import { sayInUnits } from '../contract/project-words.ts';
import { bandFill } from './band-fill.ts';
import { labelLine } from './contour-labels.ts';
import { describeMap } from './describe-map.ts';
import { drawAddedMark, drawSymbol } from './draw-symbol.ts';
import type { FigureInput } from './figure-model.ts';
import { drawFrameGrid } from './frame-grid.ts';
import { backHatch, boxAround, hatch } from './hatch.ts';
import { keepOutRings } from './keep-out-outline.ts';
import type { MapView } from './map-view.ts';
import { toPage } from './map-view.ts';
import { nameAlongRing } from './name-along-ring.ts';
import { contains, inflate, Obstacles } from './obstacles.ts';
import { type ProbeMark, placeProbeLabels, symbolBox } from './probe-labels.ts';
import type { PointMm, RectMm, SceneNode, Tag } from './scene.ts';
import { polylineSegments, rectSegments } from './scene.ts';
import {
  CONTOUR_LINE,
  FOOTPRINT_LINE,
  KEEP_OUT_LINE,
  LIMIT_LINE,
  LOT_LINE,
  NEAT_LINE,
  PAPER,
  SMALL_PT,
  SOFT_INK,
  WEAK_LINE,
} from './style.ts';
import { wrapText } from './text.ts';
import { drawStart, drawWalk } from './walk.ts';
import { formatLevel } from './words.ts';

export interface DrawnMap {
  readonly nodes: readonly SceneNode[];
  /** Sentences that belong under the map, such as labels that found no room. */
  readonly remarks: readonly string[];
}

function drawBands(input: FigureInput, view: MapView): SceneNode[] {
  const { surface } = input;
  if (surface === null) return [];
  return surface.bands.flatMap((band): SceneNode[] => {
    const segments = band.polygons.flatMap((polygon) =>
      polygon.flatMap((ring) =>
        polylineSegments(
          ring.map((p) => toPage(view, p)),
          true,
        ),
      ),
    );
    const fill = bandFill(input, band.from);
    return segments.length === 0 ? [] : [{ kind: 'path', segments, fill }];
  });
}

/** Clear where a plan has its paper, so that the colours of the legend hold over it. */
function drawBase(input: FigureInput, view: MapView): SceneNode[] {
  const origin = toPage(view, [0, 0]);
  const k = view.scale.mmPerM;
  return (input.base ?? []).map(({ png, widthPx, heightPx, matrix: [a, b, c, d, e, f] }) => ({
    kind: 'image',
    png,
    widthPx,
    heightPx,
    matrix: [a * k, b * k, c * k + origin[0], -d * k, -e * k, -f * k + origin[1]],
  }));
}

/** How the plans under the map were placed: known before it is drawn. */
export function describeBase(input: FigureInput): string[] {
  return (input.base ?? []).map((plan) => sayInUnits(plan.statement, input));
}

/** A level is a class limit where the scheme says so, whatever the rounding of its last digit. */
export function isLimit(level: number, input: FigureInput): boolean {
  return input.limits.some(({ valueKBqPerM3: v }) => Math.abs(v - level) <= 1e-6 * Math.max(1, Math.abs(v)));
}

/** A veil over weak ground, so that colour and contours under it fade, with a sparse hatching of its own slant. */
function drawWeakGround(input: FigureInput, view: MapView): SceneNode[] {
  const polygons = input.weakGround?.polygons ?? [];
  const rings = polygons.flat().map((ring) => ring.map((p) => toPage(view, p)));
  if (rings.length === 0) return [];
  const outline = rings.flatMap((ring) => polylineSegments(ring, true));
  return [
    { kind: 'path', segments: outline, fill: PAPER, opacity: 0.55 },
    {
      kind: 'group',
      name: 'weak-ground-hatch',
      clip: outline,
      children: [{ kind: 'path', segments: backHatch(boxAround(rings.flat()), 2.4), stroke: WEAK_LINE }],
    },
  ];
}

function drawContours(
  input: FigureInput,
  view: MapView,
  within: RectMm,
  obstacles: Obstacles,
  outlines: Obstacles,
): { lines: SceneNode[]; labels: SceneNode[] } {
  const lines: SceneNode[] = [];
  const labels: SceneNode[] = [];
  // Class limits choose their label places first.
  const ordered = [...(input.surface?.lines ?? [])].sort(
    (a, b) => Number(isLimit(b.level, input)) - Number(isLimit(a.level, input)),
  );
  for (const line of ordered) {
    const heavy = isLimit(line.level, input);
    const points = line.points.map((p) => toPage(view, p));
    const first = points[0];
    const pointsMm = line.closed && first !== undefined ? [...points, first] : points;
    const drawn = labelLine(
      { text: formatLevel(line.level, input.radonUnit), heavy, pointsMm },
      within,
      obstacles,
      outlines,
    );
    for (const piece of drawn.pieces) {
      lines.push({
        kind: 'path',
        segments: polylineSegments(piece),
        stroke: heavy ? LIMIT_LINE : CONTOUR_LINE,
      });
    }
    labels.push(...drawn.labels);
  }
  return { lines, labels };
}

interface Lettering {
  readonly shapes: SceneNode[];
  readonly names: SceneNode[];
}

function drawKeepOuts(input: FigureInput, view: MapView, within: RectMm, obstacles: Obstacles): Lettering {
  const shapes: SceneNode[] = [];
  const names: SceneNode[] = [];
  for (const [i, keepOut] of input.keepOuts.entries()) {
    const rings = keepOutRings(keepOut).map((ring) => ring.map((p) => toPage(view, p)));
    if (keepOut.shape === 'line') {
      const points = keepOut.points.map((p) => toPage(view, p));
      shapes.push({
        kind: 'path',
        segments: polylineSegments(points),
        stroke: { ...KEEP_OUT_LINE, widthMm: 0.3, dashMm: [2.4, 0.8, 0.4, 0.8] },
      });
    }
    const outline = rings.flatMap((ring) => polylineSegments(ring, true));
    if (outline.length === 0) continue;
    shapes.push({
      kind: 'group',
      name: `keep-out-${i + 1}`,
      clip: outline,
      children: [{ kind: 'path', segments: hatch(boxAround(rings.flat()), 1.5), stroke: KEEP_OUT_LINE }],
    });
    shapes.push({ kind: 'path', segments: outline, stroke: KEEP_OUT_LINE });
    const name = nameAlongRing(rings[0] as PointMm[], keepOut.label, within, obstacles);
    if (name !== null) names.push(name);
  }
  return { shapes, names };
}

function messageInFrame(text: string, frameRect: RectMm): SceneNode[] {
  const size = SMALL_PT + 1;
  return wrapText(text, 'italic', size, frameRect.widthMm - 20).map((line, i) => ({
    kind: 'text',
    text: line,
    xMm: frameRect.xMm + frameRect.widthMm / 2,
    yMm: frameRect.yMm + 6 + i * 3.4,
    sizePt: size,
    face: 'italic',
    colour: SOFT_INK,
    anchor: 'middle',
    halo: { colour: PAPER, widthMm: 0.4 },
    role: 'map-message',
  }));
}

/** Draws the whole frame, neat line and coordinate ticks included. */
export function drawMap(input: FigureInput, view: MapView): DrawnMap {
  const { frameRect } = view;
  const within = inflate(frameRect, -1);
  const obstacles = new Obstacles();
  const page = (positions: readonly PositionM[]): PointMm[] => positions.map((p) => toPage(view, p));
  const lot = input.lot === null ? null : page(input.lot);
  const lotSegments = lot === null ? null : polylineSegments(lot, true);
  const footprint = input.footprint === null ? null : page(input.footprint.ring);

  const marks = input.probes.map(
    (probe): ProbeMark => ({
      label: probe.label,
      symbol: probe.symbol,
      measured: probe.measured,
      leftOut: probe.leftOut ?? null,
      atMm: toPage(view, probe.positionM),
      added: probe.added ?? false,
    }),
  );
  const visible = marks.filter(({ atMm: [x, y] }) =>
    contains(frameRect, { xMm: x, yMm: y, widthMm: 0, heightMm: 0 }),
  );
  const outside = marks.filter((mark) => !visible.includes(mark));
  const outlines = new Obstacles();
  const lines = new Obstacles();
  for (const ring of [lot, footprint]) {
    ring?.forEach((from, i) => {
      const to = ring[(i + 1) % ring.length] as PointMm;
      outlines.addLine(from, to, 0.3);
      lines.addLine(from, to, 0.3);
    });
  }
  for (const line of input.surface?.lines ?? []) {
    if (!isLimit(line.level, input)) continue;
    const points = page(line.points);
    points.slice(1).forEach((to, i) => {
      lines.addLine(points[i] as PointMm, to, 0.2);
    });
  }
  const legs = page(input.walkM ?? []);
  legs.slice(1).forEach((to, i) => {
    lines.addLine(legs[i] as PointMm, to, 0.2);
  });
  const [startAt] = legs;
  const start =
    startAt === undefined
      ? null
      : drawStart(
          startAt,
          visible.map((mark) => symbolBox(mark.atMm)),
          within,
        );
  for (const box of start?.boxes ?? []) obstacles.add(box);
  const labels = placeProbeLabels(visible, within, obstacles, lines, input.radonUnit);
  const footprintName =
    footprint === null || input.footprint === null
      ? null
      : nameAlongRing(footprint, input.footprint.label, within, obstacles);
  const keepOuts = drawKeepOuts(input, view, within, obstacles);
  const contours = drawContours(input, view, within, obstacles, outlines);
  const grid = drawFrameGrid(input.frame, view);

  const bands: SceneNode = { kind: 'group', name: 'bands', children: drawBands(input, view) };
  const base = drawBase(input, view);
  const surface: SceneNode[] = [
    ...(base.length === 0 ? [bands] : []),
    { kind: 'group', name: 'contours', children: contours.lines },
    { kind: 'group', name: 'weak-ground', children: drawWeakGround(input, view) },
  ];
  const message = input.lot === null ? 'No lot boundary is entered: nothing is cut to the lot.' : null;

  const nodes: SceneNode[] = [
    {
      kind: 'group',
      name: 'map',
      clip: rectSegments(frameRect),
      children: [
        ...(base.length === 0
          ? []
          : [
              { ...bands, ...(lotSegments === null ? {} : { clip: lotSegments }) },
              { kind: 'group' as const, name: 'site-plan', children: base },
            ]),
        lotSegments === null
          ? { kind: 'group', name: 'surface', children: surface }
          : { kind: 'group', name: 'surface', clip: lotSegments, children: surface },
        { kind: 'group', name: 'grid', children: grid.inside },
        { kind: 'group', name: 'keep-outs', children: keepOuts.shapes },
        {
          kind: 'group',
          name: 'outlines',
          children: [
            ...(lotSegments === null
              ? []
              : [{ kind: 'path', segments: lotSegments, stroke: LOT_LINE } satisfies SceneNode]),
            ...(footprint === null
              ? []
              : [
                  {
                    kind: 'path',
                    segments: polylineSegments(footprint, true),
                    stroke: FOOTPRINT_LINE,
                  } satisfies SceneNode,
                ]),
          ],
        },
        ...(start === null
          ? []
          : [{ kind: 'group' as const, name: 'walk', children: [...drawWalk(legs), ...start.nodes] }]),
        {
          kind: 'group',
          name: 'lettering',
          children: [
            ...contours.labels,
            ...keepOuts.names,
            ...(footprintName === null ? [] : [footprintName]),
          ],
        },
        { kind: 'group', name: 'probe-labels', children: labels.nodes },
        {
          kind: 'group',
          name: 'probes',
          children: visible.map((mark, i) => ({
            kind: 'group',
            name: `probe-${i + 1}`,
            children: [
              ...drawSymbol(mark.symbol, mark.atMm),
              ...(mark.added === true ? drawAddedMark(mark.atMm) : []),
            ],
          })),
        },
      ],
    },
    { kind: 'path', segments: rectSegments(frameRect), stroke: NEAT_LINE },
    { kind: 'group', name: 'frame-coordinates', children: grid.outside },
    ...(message === null ? [] : messageInFrame(message, frameRect)),
  ];
  const tag: Tag = { role: 'Figure', alt: describeMap(input, view) };
  return {
    nodes: nodes.map((node) => ({ ...node, tag })),
    remarks: [
      ...remarksOn(
        labels.unplaced,
        outside.map((mark) => mark.label),
      ),
      ...describeBase(input),
    ],
  };
}

function remarksOn(unplaced: readonly string[], outside: readonly string[]): string[] {
  const list = (names: readonly string[]): string =>
    names.length <= 8 ? names.join(', ') : `${names.slice(0, 8).join(', ')} and ${names.length - 8} more`;
  return [
    ...(unplaced.length === 0 ? [] : [`No room for the label of ${list(unplaced)}: see the table.`]),
    ...(outside.length === 0 ? [] : [`Off this sheet: ${list(outside)}.`]),
  ];
}
