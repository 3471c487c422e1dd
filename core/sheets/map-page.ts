/** The first sheet: the lot with its probes, the walk, what to keep off, and what can hurt someone. */

import { drawMap } from '../figure/draw-map.ts';
import { drawSymbol } from '../figure/draw-symbol.ts';
import type { FigureInput } from '../figure/figure-model.ts';
import { COORDINATES_MM, type PageLayout, STRIP_MM } from '../figure/layout.ts';
import { drawStrip, viewOf } from '../figure/map-panel.ts';
import type { SceneNode } from '../figure/scene.ts';
import { polylineSegments } from '../figure/scene.ts';
import { INK, KEEP_OUT_LINE, LOT_LINE, SOFT_INK } from '../figure/style.ts';
import { toNative } from '../geo/frame.ts';
import { capital } from '../text.ts';
import { FRAME, type Pen, TINT } from './pen.ts';
import type { FieldSheetInput } from './sheet-model.ts';
import { lengthText, placeText } from './sheet-words.ts';

const CAUTIONS_PORTRAIT_MM = 62;
const COLUMN_LANDSCAPE_MM = 72;

function figureOf(input: FieldSheetInput): FigureInput {
  const shown = [...input.probes, ...input.others].map(({ label, positionM, symbol }) => ({
    label,
    positionM,
    symbol,
    measured: null,
  }));
  return {
    title: 'Field sheets',
    projectName: input.projectName,
    isDemo: input.isDemo,
    revision: input.revision,
    recordHash: input.recordHash,
    sampledOn: null,
    createdUtc: input.createdUtc,
    preparedBy: null,
    program: input.program,
    frame: input.frame,
    lot: input.lot,
    lotAreaM2: null,
    footprint: input.footprint,
    keepOuts: input.keepOuts,
    probes: shown,
    rows: [],
    exceptions: [],
    surface: null,
    noSurfaceReason: null,
    limits: [],
    classResult: null,
    quality: null,
    cautions: [],
    radonUnit: input.radonUnit,
    walkM: input.walkLineM,
  };
}

/** Which probes each round has, where there are several. */
function roundWords({ probes, rounds }: FieldSheetInput): string[] {
  if (rounds.length < 2) return [];
  let from = 0;
  return rounds.map(({ name, count }) => {
    const [first, last] = [probes[from]?.label, probes[from + count - 1]?.label];
    from += count;
    return capital(`${name ?? ''}: ${count} probes, ${first} to ${last}.`);
  });
}

export function drawMapPage(pen: Pen, input: FieldSheetInput, layout: PageLayout): void {
  const { body } = layout;
  const isWide = layout.widthMm > layout.heightMm;
  const mapWidth = isWide ? body.widthMm - COLUMN_LANDSCAPE_MM - 5 : body.widthMm;
  const mapHeight = isWide ? body.heightMm : body.heightMm - CAUTIONS_PORTRAIT_MM - 4;
  const frame = {
    xMm: body.xMm + COORDINATES_MM,
    yMm: body.yMm + 1.6,
    widthMm: mapWidth - COORDINATES_MM - 1,
    heightMm: mapHeight - 1.6 - COORDINATES_MM - STRIP_MM,
  };
  const figure = figureOf(input);
  const view = viewOf(figure, frame);
  const map = drawMap(figure, view);
  pen.nodes.push(...map.nodes);
  const strip = {
    xMm: frame.xMm,
    yMm: frame.yMm + frame.heightMm + COORDINATES_MM,
    widthMm: frame.widthMm,
    heightMm: STRIP_MM,
  };
  pen.nodes.push(...drawStrip(figure, view, strip, layout.page));
  if (isWide) {
    const xMm = body.xMm + mapWidth + 5;
    const below = drawKey(pen, input, map.remarks, xMm, body.yMm, COLUMN_LANDSCAPE_MM);
    drawCautions(pen, input.cautions, xMm, below + 4, COLUMN_LANDSCAPE_MM);
    return;
  }
  const topMm = body.yMm + mapHeight + 4;
  const columnMm = (body.widthMm - 6) * 0.38;
  drawKey(pen, input, map.remarks, body.xMm, topMm, columnMm);
  drawCautions(pen, input.cautions, body.xMm + columnMm + 6, topMm, body.widthMm - columnMm - 6);
}

function drawKey(
  pen: Pen,
  input: FieldSheetInput,
  remarks: readonly string[],
  xMm: number,
  topMm: number,
  widthMm: number,
): number {
  const textMm = xMm + 10;
  const line = (stroke: Parameters<Pen['line']>[4], yMm: number) =>
    pen.line(xMm, yMm, xMm + 7.5, yMm, stroke);
  const entries: readonly (readonly [string, (middleMm: number) => void])[] = [
    ['Lot line', (y) => line(LOT_LINE, y)],
    ...(input.keepOuts.length === 0
      ? []
      : ([
          [
            'Keep-out with its buffer: drive no probe',
            (y: number) => {
              const rect = { xMm, yMm: y - 1.4, widthMm: 7.5, heightMm: 2.8 };
              pen.box(rect, { stroke: KEEP_OUT_LINE });
              pen.nodes.push(...strokesIn(rect.xMm, rect.yMm, rect.widthMm, rect.heightMm));
            },
          ],
        ] as const)),
    ['Probe to drive', (y) => pen.nodes.push(...drawSymbol('planned', [xMm + 3.75, y]))],
    ...(input.others.length === 0
      ? []
      : ([
          [
            'Other probes of the project, not on these sheets',
            (y: number) => pen.nodes.push(...drawSymbol(input.others[0]?.symbol ?? 'valid', [xMm + 3.75, y])),
          ],
        ] as const)),
    [
      'Walk, in the order of the sheets',
      (y) => line({ colour: SOFT_INK, widthMm: 0.22, dashMm: [1.6, 0.8] }, y),
    ],
    [
      `Start and end of the walk: ${placeText(toNative(input.frame, input.startM)).join('  ')} ${input.frame.unitLabel}`,
      (y) => pen.box({ xMm: xMm + 2.25, yMm: y - 1.5, widthMm: 3, heightMm: 3 }, { fill: INK }),
    ],
  ];
  let y = topMm;
  for (const [text, draw] of entries) {
    draw(y + 2.2);
    y = Math.max(y + 4.6, pen.paragraph(text, textMm, y + 0.5, widthMm - 10, { sizePt: 7.5 }) + 1);
  }
  const words = [
    `${input.probes.length} probes, ${lengthText(input.walkM, input.frame)} on foot and back, ${input.walkWords}. ${input.orderWords}`,
    ...input.walkNotes,
    ...roundWords(input),
    ...remarks,
  ];
  y += 1.5;
  for (const text of words) y = pen.paragraph(text, xMm, y, widthMm, { sizePt: 7.5 }) + 1;
  return y;
}

/** Hatching as the map draws it, for the key. */
function strokesIn(xMm: number, yMm: number, widthMm: number, heightMm: number): SceneNode[] {
  return Array.from({ length: Math.floor((widthMm - heightMm) / 1.5) + 1 }, (_, i) => ({
    kind: 'path' as const,
    segments: polylineSegments([
      [xMm + 1.5 * i, yMm + heightMm],
      [xMm + 1.5 * i + heightMm, yMm],
    ]),
    stroke: KEEP_OUT_LINE,
  }));
}

const CAUTION_PT = 8;

function drawCautions(
  pen: Pen,
  cautions: readonly string[],
  xMm: number,
  topMm: number,
  widthMm: number,
): void {
  const inset = 3;
  const at = pen.nodes.length;
  let y = topMm + inset;
  y = pen.paragraph('Before any probe is driven', xMm + inset, y, widthMm - 2 * inset, {
    sizePt: 9.5,
    face: 'semibold',
    role: 'caution',
  });
  for (const caution of cautions) {
    y = pen.paragraph(caution, xMm + inset, y + 1.4, widthMm - 2 * inset, {
      sizePt: CAUTION_PT,
      role: 'caution',
    });
  }
  const rect = { xMm, yMm: topMm, widthMm, heightMm: y + inset - topMm };
  const written = pen.nodes.splice(at);
  pen.box(rect, { fill: TINT, stroke: FRAME });
  pen.nodes.push(...written);
}
