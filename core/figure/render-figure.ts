/** One call for all formats. */
import type { FigureFormat } from '../contract/requests.ts';
import { AppError } from '../errors.ts';
import type { FigureInput } from './figure-model.ts';
import { renderPdf } from './render-pdf.ts';
import { renderPng } from './render-png.ts';
import { renderSvg } from './render-svg.ts';
import type { Scene, SceneMetadata } from './scene.ts';

export interface RenderOptions {
  /** 0-based page of an SVG or PNG; a PDF holds all pages. */
  readonly pageIndex?: number;
  /** PNG only; 200 where absent. */
  readonly dpi?: number;
  /** Colour of the paper on a screen; PDF leaves the paper to the printer. */
  readonly paper?: string;
  /** SVG only, true where absent: a file must look the same on a machine without the letters. */
  readonly embedFonts?: boolean;
}

export const DEFAULT_DPI = 200;

export function figureMetadata(input: FigureInput): SceneMetadata {
  return {
    title: `${input.title}: ${input.projectName}`,
    author: input.preparedBy,
    subject: `Revision ${input.revision}, record ${input.recordHash ?? 'none'}${input.isDemo ? '; invented data' : ''}`,
    creator: input.program,
    createdUtc: input.createdUtc,
  };
}

/**
 * File bytes of the composed pages.
 * @throws AppError BAD_INPUT where the page does not exist
 */
export async function renderFigure(
  scenes: readonly Scene[],
  format: FigureFormat,
  metadata: SceneMetadata,
  options: RenderOptions = {},
): Promise<Uint8Array> {
  if (format === 'pdf') return renderPdf(scenes, metadata);
  const index = options.pageIndex ?? 0;
  const scene = scenes[index];
  if (scene === undefined) {
    throw new AppError('BAD_INPUT', `Page ${index + 1} does not exist: the figure has ${scenes.length}`);
  }
  const paper = options.paper === undefined ? {} : { paper: options.paper };
  if (format === 'png') return renderPng(scene, { dpi: options.dpi ?? DEFAULT_DPI, ...paper });
  return new TextEncoder().encode(
    renderSvg(scene, { paper: '#ffffff', ...paper, embedFonts: options.embedFonts ?? true }),
  );
}
