import {
  ADDED_MARK,
  type PathSegment,
  probeSymbol,
  SYMBOL_KINDS,
  type SymbolKind,
} from '../../core/contract/symbols.ts';
import { MUTED, PAPER_SHEET } from './colours.ts';

/** Half the size of a probe symbol on the map, CSS pixels. */
const RADIUS_PX = 7;
const PIXEL_RATIO = 2;

export interface MapIcon {
  readonly id: string;
  readonly image: ImageData;
  readonly pixelRatio: number;
}

function canvasOf(sizePx: number): CanvasRenderingContext2D {
  const canvas = document.createElement('canvas');
  canvas.width = sizePx;
  canvas.height = sizePx;
  // Kept in memory: read back from the graphics unit, an icon holds the window for as long as that one is busy.
  const context = canvas.getContext('2d', { willReadFrequently: true });
  if (!context) throw new Error('This window cannot draw: no 2D canvas.');
  return context;
}

function trace(context: CanvasRenderingContext2D, path: readonly PathSegment[]): void {
  context.beginPath();
  for (const segment of path) {
    if (segment[0] === 'M') context.moveTo(segment[1], segment[2]);
    else if (segment[0] === 'L') context.lineTo(segment[1], segment[2]);
    else if (segment[0] === 'C')
      context.bezierCurveTo(segment[1], segment[2], segment[3], segment[4], segment[5], segment[6]);
    else context.closePath();
  }
}

/** Corners that stand around the symbol of an added probe. */
function addedIcon(): MapIcon {
  const r = RADIUS_PX * PIXEL_RATIO;
  const size = Math.ceil(2 * r * 1.75);
  const context = canvasOf(size);
  context.translate(size / 2, size / 2);
  context.scale(r, r);
  context.lineJoin = 'round';
  context.lineCap = 'round';
  for (const [colour, grow] of [
    [PAPER_SHEET, 0.3],
    [ADDED_MARK.colour, 0],
  ] as const) {
    trace(context, ADDED_MARK.path);
    context.strokeStyle = colour;
    context.lineWidth = ADDED_MARK.line + grow;
    context.stroke();
  }
  return { id: 'added', image: context.getImageData(0, 0, size, size), pixelRatio: PIXEL_RATIO };
}

function probeIcon(kind: SymbolKind): MapIcon {
  const r = RADIUS_PX * PIXEL_RATIO;
  const size = Math.ceil(2 * r * 1.25);
  const context = canvasOf(size);
  const symbol = probeSymbol(kind);
  const draw = (grow: number, colour: string | null) => {
    for (const part of symbol.parts) {
      trace(context, part.path);
      context.lineJoin = 'round';
      context.lineCap = 'round';
      context.fillStyle = colour ?? (part.fill === 'paper' ? PAPER_SHEET : symbol.colour);
      context.strokeStyle = colour ?? symbol.colour;
      if (part.fill !== 'none') context.fill();
      context.lineWidth = part.line + grow;
      if (context.lineWidth > 0 && part.line + grow > 0) context.stroke();
    }
  };
  context.translate(size / 2, size / 2);
  context.scale(r, r);
  // A rim of paper keeps a dark symbol apart from a dark band.
  draw(0.34, PAPER_SHEET);
  draw(0, null);
  return { id: `probe-${kind}`, image: context.getImageData(0, 0, size, size), pixelRatio: PIXEL_RATIO };
}

/** Hatching of keep-outs rises from left to right; that of weak ground falls, and is thinner and wider. */
function hatchIcon(id: string, size: number, widthPx: number, isFalling: boolean): MapIcon {
  const context = canvasOf(size);
  context.strokeStyle = MUTED;
  context.globalAlpha = 0.55;
  context.lineWidth = widthPx;
  context.beginPath();
  for (const shift of [-size, 0, size]) {
    context.moveTo(shift, isFalling ? 0 : size);
    context.lineTo(shift + size, isFalling ? size : 0);
  }
  context.stroke();
  return { id, image: context.getImageData(0, 0, size, size), pixelRatio: PIXEL_RATIO };
}

/** Nothing to see: keeps labels off a probe's symbol, and no farther off than that. */
function blockerIcon(): MapIcon {
  const size = 11 * PIXEL_RATIO;
  return { id: 'blocker', image: new ImageData(size, size), pixelRatio: PIXEL_RATIO };
}

export function mapIcons(): MapIcon[] {
  return [
    ...SYMBOL_KINDS.map(probeIcon),
    addedIcon(),
    hatchIcon('hatch', 16, 1.4, false),
    hatchIcon('back-hatch', 22, 0.9, true),
    blockerIcon(),
  ];
}
