/** Scenes as one PDF: vectors, embedded font subsets, searchable and tagged text, print scaling off. */
import PDFDocument from 'pdfkit';
import { AppError } from '../errors.ts';
import { FACES, fontBytes, openFont } from './fonts.ts';
import type { PathNode, PathSegment, Scene, SceneMetadata, SceneNode, Tag, TextNode } from './scene.ts';
import { ARTIFACT } from './scene.ts';
import { Tagger } from './tag-pdf.ts';
import { MM_PER_PT, measureText } from './text.ts';

type Document = PDFKit.PDFDocument;

const PT_PER_MM = 72 / 25.4;

function tracePath(doc: Document, segments: readonly PathSegment[]): void {
  for (const segment of segments) {
    if (segment[0] === 'M') doc.moveTo(segment[1], segment[2]);
    else if (segment[0] === 'L') doc.lineTo(segment[1], segment[2]);
    else if (segment[0] === 'C') {
      doc.bezierCurveTo(segment[1], segment[2], segment[3], segment[4], segment[5], segment[6]);
    } else doc.closePath();
  }
}

function drawPath(doc: Document, node: PathNode): void {
  if (node.segments.length === 0 || (node.fill === undefined && node.stroke === undefined)) return;
  doc.save();
  if (node.opacity !== undefined) doc.opacity(node.opacity);
  if (node.stroke !== undefined) {
    const { widthMm, dashMm, cap, join } = node.stroke;
    doc.lineWidth(widthMm);
    doc.lineCap(cap ?? 'butt');
    doc.lineJoin(join ?? 'miter');
    if (dashMm !== undefined && dashMm.length > 0) doc.dash([...dashMm] as unknown as number, {});
  }
  tracePath(doc, node.segments);
  if (node.fill !== undefined && node.stroke !== undefined) {
    doc.fillAndStroke(node.fill, node.stroke.colour, 'even-odd');
  } else if (node.fill !== undefined) doc.fill(node.fill, 'even-odd');
  else if (node.stroke !== undefined) doc.stroke(node.stroke.colour);
  doc.restore();
}

/** The rim is drawn as outlines, not as text: text drawn twice would be found twice. */
function drawHalo(doc: Document, node: TextNode, xMm: number): void {
  if (node.halo === undefined) return;
  const font = openFont(node.face);
  const scale = (node.sizePt * MM_PER_PT) / font.unitsPerEm;
  const run = font.layout(node.text, []);
  let penX = xMm;
  doc.lineWidth(2 * node.halo.widthMm).lineJoin('round');
  run.glyphs.forEach((glyph, i) => {
    const position = run.positions[i];
    const at = (x: number, y: number): [number, number] => [
      penX + (x + (position?.xOffset ?? 0)) * scale,
      node.yMm - (y + (position?.yOffset ?? 0)) * scale,
    ];
    for (const { command, args } of glyph.path.commands) {
      const p = (k: number): [number, number] => at(args[k] ?? 0, args[k + 1] ?? 0);
      if (command === 'moveTo') doc.moveTo(...p(0));
      else if (command === 'lineTo') doc.lineTo(...p(0));
      else if (command === 'quadraticCurveTo') doc.quadraticCurveTo(...p(0), ...p(2));
      else if (command === 'bezierCurveTo') doc.bezierCurveTo(...p(0), ...p(2), ...p(4));
      else doc.closePath();
    }
    penX += (position?.xAdvance ?? 0) * scale;
  });
  doc.stroke(node.halo.colour);
}

function spaceWidth({ face, sizePt }: TextNode): number {
  return measureText(' ', face, sizePt);
}

/** @param goesOn - the text continues the words of the line above: a space parts them for whoever reads or copies */
function drawText(doc: Document, node: TextNode, goesOn: boolean): void {
  const width = measureText(node.text, node.face, node.sizePt);
  const x =
    node.anchor === 'start' ? node.xMm : node.anchor === 'middle' ? node.xMm - width / 2 : node.xMm - width;
  doc.save();
  if (node.rotationDeg !== undefined && node.rotationDeg !== 0) {
    doc.rotate(node.rotationDeg, { origin: [node.xMm, node.yMm] });
  }
  drawHalo(doc, node, x);
  doc
    .font(node.face)
    .fontSize(node.sizePt * MM_PER_PT)
    .fillColor(node.colour)
    // Laid out and kept word by word: these faces kern nothing at a space, so the width is the one measured.
    .text(goesOn ? ` ${node.text}` : node.text, goesOn ? x - spaceWidth(node) : x, node.yMm, {
      lineBreak: false,
      baseline: 'alphabetic',
    });
  doc.restore();
}

function pictureBuffer(png: Uint8Array): Buffer {
  return Buffer.from(png.buffer, png.byteOffset, png.byteLength);
}

function drawNode(doc: Document, tagger: Tagger, node: SceneNode, inherited: Tag | undefined): void {
  const tag = node.tag ?? inherited;
  if (node.kind === 'path') {
    tagger.mark(tag ?? ARTIFACT);
    drawPath(doc, node);
  } else if (node.kind === 'image') {
    tagger.mark(tag ?? ARTIFACT);
    const [a, b, c, d, e, f] = node.matrix;
    doc.save();
    doc.transform(a, d, b, e, c, f);
    doc.image(pictureBuffer(node.png), 0, 0, { width: node.widthPx, height: node.heightPx });
    doc.restore();
  } else if (node.kind === 'text') {
    if (node.text === '') return;
    drawText(doc, node, tagger.markText(tag ?? { role: 'P' }));
  } else {
    if (node.clip === undefined) {
      for (const child of node.children) drawNode(doc, tagger, child, tag);
      return;
    }
    // Marks and saved states of the page nest: what is opened inside is closed inside.
    if (tag === undefined) tagger.close();
    else tagger.mark(tag);
    doc.save();
    tracePath(doc, node.clip);
    doc.clip('even-odd');
    for (const child of node.children) drawNode(doc, tagger, child, tag);
    if (tagger.open !== (tag ?? null)) tagger.close();
    doc.restore();
  }
}

/** A heading in the reader's side panel. */
export interface OutlineEntry {
  readonly title: string;
  readonly level: 1 | 2;
  /** 0-based. */
  readonly page: number;
}

function addOutline(doc: Document, entries: readonly OutlineEntry[], page: number): void {
  const { outline } = doc;
  for (const entry of entries.filter((e) => e.page === page)) {
    // The library hangs a new item under the one it is called on; the last child is the latest heading above.
    const parent = entry.level === 1 ? outline : (outline.children.at(-1) ?? outline);
    parent.addItem(entry.title, { expanded: false });
  }
}

/**
 * PDF bytes of all pages; the same scenes and metadata give the same bytes.
 * @throws AppError BAD_INPUT where `createdUtc` is not a date
 */
export function renderPdf(
  scenes: readonly Scene[],
  metadata: SceneMetadata,
  options: { readonly compress?: boolean; readonly outline?: readonly OutlineEntry[] } = {},
): Promise<Uint8Array> {
  const created = new Date(metadata.createdUtc);
  if (Number.isNaN(created.getTime())) {
    throw new AppError('BAD_INPUT', `The figure's date "${metadata.createdUtc}" is not a date`);
  }
  const doc = new PDFDocument({
    autoFirstPage: false,
    compress: options.compress ?? true,
    pdfVersion: '1.7',
    lang: 'en',
    displayTitle: true,
    tagged: true,
    info: {
      Title: metadata.title,
      Subject: metadata.subject,
      Creator: metadata.creator,
      Producer: metadata.creator,
      CreationDate: created,
      ModDate: created,
      ...(metadata.author === null ? {} : { Author: metadata.author }),
    },
  });
  // A print dialogue that shrinks the page to its margins would make the printed scale untrue.
  const preferences = (doc as unknown as { _root: { data: { ViewerPreferences: { data: object } } } })._root;
  Object.assign(preferences.data.ViewerPreferences.data, { PrintScaling: 'None' });
  for (const face of FACES) doc.registerFont(face, fontBytes(face) as Buffer);

  return new Promise((resolve, reject) => {
    const chunks: Uint8Array[] = [];
    doc.on('data', (chunk: Uint8Array) => chunks.push(chunk));
    doc.on('error', reject);
    doc.on('end', () => resolve(new Uint8Array(Buffer.concat(chunks))));
    const tagger = new Tagger(doc, metadata.title);
    for (const [page, scene] of scenes.entries()) {
      doc.addPage({ size: [scene.widthMm * PT_PER_MM, scene.heightMm * PT_PER_MM], margin: 0 });
      doc.scale(PT_PER_MM);
      for (const node of scene.nodes) drawNode(doc, tagger, node, undefined);
      tagger.close();
      addOutline(doc, options.outline ?? [], page);
    }
    doc.end();
  });
}
