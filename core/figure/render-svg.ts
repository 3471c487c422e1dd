/** A scene as an SVG document in millimetres. */
import { xmlText } from '../xml-text.ts';
import { FACE_STYLE, FACES, FONT_FAMILY } from './fonts.ts';
import type { FontFace, ImageNode, PathNode, PathSegment, Scene, SceneNode, TextNode } from './scene.ts';
import { flattenScene } from './scene.ts';
import { subsetFont } from './subset-font.ts';
import { MM_PER_PT } from './text.ts';

export interface SvgOptions {
  /** Colour under the page; none where absent. For a screen, not for print. */
  readonly paper?: string;
  /** Carries the letters in the file, so that it looks the same on a machine without them. */
  readonly embedFonts?: boolean;
  /** Set before every name, and the XML declaration left off: for a drawing inside an HTML page. */
  readonly inlineAs?: string;
}

/** A tenth of a micrometre: far below what is asked of the sheet, and short in the file. */
function mm(value: number): string {
  const rounded = Math.round(value * 1e4) / 1e4;
  return String(rounded === 0 ? 0 : rounded);
}

function pathData(segments: readonly PathSegment[]): string {
  return segments
    .map(([command, ...numbers]) => `${command}${(numbers as number[]).map(mm).join(' ')}`)
    .join('');
}

function pathElement(node: PathNode): string {
  const attributes = [`d="${pathData(node.segments)}"`, `fill="${node.fill ?? 'none'}"`];
  if (node.fill !== undefined) attributes.push('fill-rule="evenodd"');
  if (node.stroke !== undefined) {
    const { colour, widthMm, dashMm, cap, join } = node.stroke;
    attributes.push(`stroke="${colour}"`, `stroke-width="${mm(widthMm)}"`);
    if (dashMm !== undefined) attributes.push(`stroke-dasharray="${dashMm.map(mm).join(' ')}"`);
    if (cap === 'round') attributes.push('stroke-linecap="round"');
    if (join === 'round') attributes.push('stroke-linejoin="round"');
  }
  if (node.opacity !== undefined) attributes.push(`opacity="${mm(node.opacity)}"`);
  return `<path ${attributes.join(' ')}/>`;
}

function textElement(node: TextNode): string {
  const { weight, style } = FACE_STYLE[node.face];
  const attributes = [
    `x="${mm(node.xMm)}"`,
    `y="${mm(node.yMm)}"`,
    `font-size="${mm(node.sizePt * MM_PER_PT)}"`,
    `fill="${node.colour}"`,
  ];
  if (weight !== 400) attributes.push(`font-weight="${weight}"`);
  if (style !== 'normal') attributes.push(`font-style="${style}"`);
  if (node.anchor !== 'start') attributes.push(`text-anchor="${node.anchor}"`);
  if (node.rotationDeg !== undefined && node.rotationDeg !== 0) {
    attributes.push(`transform="rotate(${mm(node.rotationDeg)} ${mm(node.xMm)} ${mm(node.yMm)})"`);
  }
  if (node.halo !== undefined) {
    attributes.push(
      `stroke="${node.halo.colour}"`,
      `stroke-width="${mm(2 * node.halo.widthMm)}"`,
      'stroke-linejoin="round"',
      'paint-order="stroke"',
    );
  }
  if (node.role !== undefined) attributes.push(`data-role="${xmlText(node.role)}"`);
  return `<text ${attributes.join(' ')}>${xmlText(node.text)}</text>`;
}

/** A preview is drawn many times over one picture. */
const pictureLinks = new WeakMap<Uint8Array, string>();

function imageElement({ png, widthPx, heightPx, matrix: [a, b, c, d, e, f] }: ImageNode): string {
  const link = pictureLinks.get(png) ?? `data:image/png;base64,${Buffer.from(png).toString('base64')}`;
  pictureLinks.set(png, link);
  // Parts of a millimetre a pixel: rounded to their own size, not to the page's.
  const turn = [a, d, b, e].map((part) => Number(part.toPrecision(9))).join(' ');
  return `<image width="${widthPx}" height="${heightPx}" preserveAspectRatio="none" transform="matrix(${turn} ${mm(c)} ${mm(f)})" href="${link}"/>`;
}

/** The letters the scenes use, as CSS. */
export function fontFaceRules(scenes: readonly Pick<Scene, 'nodes'>[]): string {
  const texts = scenes.flatMap(({ nodes }) => flattenScene(nodes)).filter((node) => node.kind === 'text');
  return FACES.map((face) => {
    const own = texts.filter((node) => node.face === face).map((node) => node.text);
    return own.length === 0 ? '' : fontFaceRule(face, own);
  }).join('');
}

const rules = new Map<string, string>();
const RULES_KEPT = 24;

/** One face with the letters of the texts, as CSS. The same pairs of letters give the same file, kept from the last drawings. */
export function fontFaceRule(face: FontFace, texts: Iterable<string>): string {
  const list = [...texts];
  const key = `${face} ${pairsOf(list)}`;
  const kept = rules.get(key);
  if (kept !== undefined) return kept;
  const rule = makeFontFaceRule(face, list);
  if (rules.size >= RULES_KEPT) rules.clear();
  rules.set(key, rule);
  return rule;
}

/** Which letters stand beside which: all that the file of letters depends on. */
function pairsOf(texts: readonly string[]): string {
  const pairs = new Set<string>();
  for (const text of texts) {
    let before = '';
    for (const letter of text) {
      pairs.add(before + letter);
      before = letter;
    }
  }
  return [...pairs].sort().join('\n');
}

function makeFontFaceRule(face: FontFace, texts: Iterable<string>): string {
  const { weight, style } = FACE_STYLE[face];
  const base64 = Buffer.from(subsetFont(face, texts)).toString('base64');
  return `@font-face{font-family:"${FONT_FAMILY}";font-weight:${weight};font-style:${style};src:url(data:font/ttf;base64,${base64})}`;
}

/**
 * SVG text of one page.
 * The size is in millimetres and one user unit is one millimetre; groups carry the scene's names as `id`.
 */
export function renderSvg(scene: Scene, options: SvgOptions = {}): string {
  const prefix = options.inlineAs === undefined ? '' : `${options.inlineAs}-`;
  const definitions: string[] = [];
  const draw = (node: SceneNode): string => {
    if (node.kind === 'path') return pathElement(node);
    if (node.kind === 'text') return textElement(node);
    if (node.kind === 'image') return imageElement(node);
    const children = node.children.map(draw).join('\n');
    if (node.clip === undefined) return `<g id="${xmlText(prefix + node.name)}">\n${children}\n</g>`;
    const id = `${prefix}clip-${definitions.length + 1}`;
    definitions.push(
      `<clipPath id="${id}"><path clip-rule="evenodd" d="${pathData(node.clip)}"/></clipPath>`,
    );
    return `<g id="${xmlText(prefix + node.name)}" clip-path="url(#${id})">\n${children}\n</g>`;
  };
  const body = scene.nodes.map(draw).join('\n');
  const width = mm(scene.widthMm);
  const height = mm(scene.heightMm);
  return [
    ...(options.inlineAs === undefined ? ['<?xml version="1.0" encoding="UTF-8"?>'] : []),
    `<svg xmlns="http://www.w3.org/2000/svg" width="${width}mm" height="${height}mm" viewBox="0 0 ${width} ${height}" font-family="'${FONT_FAMILY}', sans-serif">`,
    `<title>${xmlText(scene.title)}</title>`,
    `<defs>${options.embedFonts === true ? `<style>${fontFaceRules([scene])}</style>` : ''}${definitions.join('')}</defs>`,
    ...(options.paper === undefined
      ? []
      : [`<rect width="${width}" height="${height}" fill="${options.paper}"/>`]),
    body,
    '</svg>',
    '',
  ].join('\n');
}
