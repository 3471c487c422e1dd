/** Pieces to pages. */
import type { PageName } from '../figure/figure-model.ts';
import { layoutPage } from '../figure/layout.ts';
import { DEMO_MARK } from '../figure/page-frame.ts';
import type { OutlineEntry } from '../figure/render-pdf.ts';
import type { Scene, SceneNode } from '../figure/scene.ts';
import { ARTIFACT, moveNode, polylineSegments } from '../figure/scene.ts';
import { DEMO_INK, HAIRLINE, SOFT_INK } from '../figure/style.ts';
import { measureText, shortenText } from '../figure/text.ts';
import type { ReportBlock, ReportDocument } from './document.ts';
import { type Piece, typeScale } from './pieces.ts';
import { setBlock, setDrawingPair } from './set-blocks.ts';

const MARGIN_MM = 20;
const HEAD_MM = 8;
const FOOT_MM = 8;
const RUNNING_PT = 7.5;
/** Sizes tried until the summary stands on its page. */
const SUMMARY_FACTORS = [1, 0.94, 0.88, 0.82, 0.76];

interface PageBox {
  readonly widthMm: number;
  readonly heightMm: number;
  readonly textWidthMm: number;
  readonly textHeightMm: number;
}

interface Page {
  readonly box: PageBox;
  readonly nodes: SceneNode[];
}

export interface LaidReport {
  readonly scenes: readonly Scene[];
  readonly outline: readonly OutlineEntry[];
  /** False where even the smallest setting ran over page 1. */
  readonly summaryFits: boolean;
}

function boxOf(page: PageName, orientation: 'portrait' | 'landscape'): PageBox {
  const { widthMm, heightMm } = layoutPage(page, orientation);
  return {
    widthMm,
    heightMm,
    textWidthMm: widthMm - 2 * MARGIN_MM,
    textHeightMm: heightMm - 2 * MARGIN_MM - HEAD_MM - FOOT_MM + 12,
  };
}

const TEXT_TOP_MM = MARGIN_MM + HEAD_MM - 6;

/** The run of pieces from `i` that must stand together. */
function groupAt(pieces: readonly Piece[], i: number): Piece[] {
  const group: Piece[] = [];
  for (let k = i; k < pieces.length; k++) {
    const piece = pieces[k] as Piece;
    if (piece.breakTo !== undefined && k > i) break;
    group.push(piece);
    if (piece.keepWithNext !== true && piece.isGap !== true) break;
  }
  return group;
}

class Pages {
  readonly #paper: PageName;
  readonly pages: Page[] = [];
  readonly outline: OutlineEntry[] = [];
  #y = 0;

  constructor(paper: PageName) {
    this.#paper = paper;
    this.begin('portrait');
  }

  get #page(): Page {
    return this.pages.at(-1) as Page;
  }

  begin(orientation: 'portrait' | 'landscape'): void {
    this.pages.push({ box: boxOf(this.#paper, orientation), nodes: [] });
    this.#y = 0;
  }

  get box(): PageBox {
    return this.#page.box;
  }

  get orientation(): 'portrait' | 'landscape' {
    return this.box.widthMm > this.box.heightMm ? 'landscape' : 'portrait';
  }

  #put(piece: Piece): void {
    const top = TEXT_TOP_MM + this.#y;
    this.#page.nodes.push(...piece.nodes.map((node) => moveNode(node, MARGIN_MM, top)));
    if (piece.outline !== undefined) this.outline.push({ ...piece.outline, page: this.pages.length - 1 });
    this.#y += piece.heightMm;
  }

  /** Sets the pieces, each run that belongs together on one page where a page can hold it. */
  place(pieces: readonly Piece[]): void {
    for (let i = 0; i < pieces.length; ) {
      const group = groupAt(pieces, i);
      const [first] = group as [Piece];
      if (first.breakTo !== undefined) {
        this.begin(first.breakTo);
        i += 1;
        continue;
      }
      const heightMm = group.reduce((sum, p) => sum + p.heightMm, 0);
      const room = this.box.textHeightMm - this.#y;
      const fitsAPage = heightMm <= this.box.textHeightMm;
      // A run longer than a page is set piece by piece.
      const run = fitsAPage ? group : [first];
      const need = run.reduce((sum, p) => sum + p.heightMm, 0);
      if (need > room + 1e-6 && this.#y > 0) {
        this.begin(this.orientation);
        if (first.repeatedHead !== undefined) this.#put(first.repeatedHead);
      }
      for (const piece of run) if (piece.isGap !== true || this.#y > 0) this.#put(piece);
      i += run.length;
    }
  }
}

function isHalfWide(block: ReportBlock): block is Extract<ReportBlock, { kind: 'drawing' }> {
  return block.kind === 'drawing' && (block.widthShare ?? 1) <= 0.5;
}

function piecesOf(blocks: readonly ReportBlock[], pages: Pages, factor: number): void {
  const scale = typeScale(factor);
  let pending: Piece[] = [];
  const flush = (): void => {
    pages.place(pending);
    pending = [];
  };
  for (let i = 0; i < blocks.length; i++) {
    const block = blocks[i] as ReportBlock;
    const next = blocks[i + 1];
    // The width is that of the page the block will stand on.
    if (block.kind === 'page-break') flush();
    const { textWidthMm, textHeightMm } = pages.box;
    if (isHalfWide(block) && next !== undefined && isHalfWide(next)) {
      pending.push(...setDrawingPair([block, next], textWidthMm, textHeightMm, scale));
      i += 1;
      continue;
    }
    const set = setBlock(block, textWidthMm, textHeightMm, scale);
    // What is signed stands over the signatures, what says how to read a table over the table.
    const isLead = block.kind === 'paragraph' && (next?.kind === 'signatures' || next?.kind === 'table');
    pending.push(...(isLead ? set.map((piece) => ({ ...piece, keepWithNext: true })) : set));
    if (block.kind === 'page-break') flush();
  }
  flush();
}

function setSummary(document: ReportDocument, paper: PageName): Pages {
  for (const factor of SUMMARY_FACTORS) {
    const pages = new Pages(paper);
    piecesOf(document.summary, pages, factor);
    if (pages.pages.length === 1 || factor === SUMMARY_FACTORS.at(-1)) return pages;
  }
  throw new Error('no sizes');
}

/** The report's pages with running head and foot, and its headings for the reader's side panel. */
export function layOutReport(document: ReportDocument, paper: PageName = 'A4'): LaidReport {
  const pages = setSummary(document, paper);
  const summaryFits = pages.pages.length === 1;
  pages.begin('portrait');
  piecesOf(document.body, pages, 1);
  const count = pages.pages.length;
  const scenes = pages.pages.map(({ box, nodes }, i) => ({
    widthMm: box.widthMm,
    heightMm: box.heightMm,
    title: `${document.title}: ${document.projectName}`,
    nodes: [
      ...nodes,
      {
        kind: 'group' as const,
        name: 'running',
        tag: ARTIFACT,
        children: runningHead(document, box, i + 1, count),
      },
    ],
  }));
  return { scenes, outline: pages.outline, summaryFits };
}

function runningHead(document: ReportDocument, box: PageBox, page: number, pages: number): SceneNode[] {
  const right = box.widthMm - MARGIN_MM;
  const top = MARGIN_MM - 7;
  const foot = box.heightMm - MARGIN_MM + 4;
  const rule = (yMm: number): SceneNode => ({
    kind: 'path',
    segments: polylineSegments([
      [MARGIN_MM, yMm],
      [right, yMm],
    ]),
    stroke: HAIRLINE,
  });
  const common = { kind: 'text', sizePt: RUNNING_PT, face: 'regular', colour: SOFT_INK } as const;
  const mark = document.isDemo ? DEMO_MARK : '';
  const pageText = `Page ${page} of ${pages}`;
  const headRoom = box.textWidthMm - measureText(mark, 'semibold', RUNNING_PT) - 5;
  const footRoom = box.textWidthMm - measureText(pageText, 'semibold', RUNNING_PT) - 5;
  return [
    {
      ...common,
      text: shortenText(`${document.title} · ${document.projectName}`, 'regular', RUNNING_PT, headRoom),
      xMm: MARGIN_MM,
      yMm: top,
      anchor: 'start',
      role: 'running-head',
    },
    ...(mark === ''
      ? []
      : [
          {
            ...common,
            text: mark,
            xMm: right,
            yMm: top,
            face: 'semibold',
            colour: DEMO_INK,
            anchor: 'end',
            role: 'demo',
          } satisfies SceneNode,
        ]),
    rule(top + 1.6),
    rule(foot - 3.4),
    {
      ...common,
      text: shortenText(document.footer, 'regular', RUNNING_PT, footRoom),
      xMm: MARGIN_MM,
      yMm: foot,
      anchor: 'start',
      role: 'running-foot',
    },
    { ...common, text: pageText, xMm: right, yMm: foot, face: 'semibold', anchor: 'end', role: 'page' },
  ];
}
