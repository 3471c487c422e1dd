/** A picture cut into pieces that the graphics unit takes one a frame: a large one whole would hold up the window. */
import type { PositionM } from '../../core/contract/model.ts';

export type PictureCorners = readonly [PositionM, PositionM, PositionM, PositionM];

/** Of a side of a piece: four megabytes. */
const PIECE_PX = 1024;

export interface PicturePiece {
  /** In pixels of the picture. */
  readonly left: number;
  readonly top: number;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly cornersM: PictureCorners;
}

/** Rows of pieces from the top; their corners meet, for a placed picture is never bent. */
export function cutPicture(widthPx: number, heightPx: number, cornersM: PictureCorners): PicturePiece[] {
  const [upperLeft, upperRight, , lowerLeft] = cornersM;
  const at = (column: number, row: number): PositionM => {
    const [u, v] = [column / widthPx, row / heightPx];
    const along = (axis: 0 | 1) =>
      upperLeft[axis] + u * (upperRight[axis] - upperLeft[axis]) + v * (lowerLeft[axis] - upperLeft[axis]);
    return [along(0), along(1)];
  };
  const cuts = (size: number): (readonly [from: number, to: number])[] => {
    const count = Math.ceil(size / PIECE_PX);
    const edge = (i: number) => Math.round((size * i) / count);
    return Array.from({ length: count }, (_, i) => [edge(i), edge(i + 1)]);
  };
  return cuts(heightPx).flatMap(([top, bottom]) =>
    cuts(widthPx).map(([left, right]) => ({
      left,
      top,
      widthPx: right - left,
      heightPx: bottom - top,
      cornersM: [at(left, top), at(right, top), at(right, bottom), at(left, bottom)] as const,
    })),
  );
}

/** The piece as a canvas of its own, kept in memory: from there it goes to the graphics unit in one step. */
export function drawPiece(picture: HTMLCanvasElement, piece: PicturePiece): HTMLCanvasElement {
  const canvas = document.createElement('canvas');
  canvas.width = piece.widthPx;
  canvas.height = piece.heightPx;
  canvas.getContext('2d', { willReadFrequently: true })?.drawImage(picture, -piece.left, -piece.top);
  return canvas;
}
