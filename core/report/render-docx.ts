/**
 * The report as an office document: real headings, lists and tables to go on writing in.
 * WordprocessingML after ECMA-376, 5th edition, part 1 (transitional names).
 */

import { renderPng } from '../figure/render-png.ts';
import type { SceneMetadata } from '../figure/scene.ts';
import { xmlText } from '../xml-text.ts';
import type { ReportBlock, ReportDocument } from './document.ts';
import { zip } from './zip.ts';

const EMU_PER_MM = 36_000;
/** Twentieths of a point. */
const TWIPS_PER_MM = 1440 / 25.4;
const DPI = 200;
const MARGIN_MM = 20;
const SHORT_MM = 210;
const LONG_MM = 297;
const DRAWING_HEIGHT_MM = 225;

const W = 'xmlns:w="http://schemas.openxmlformats.org/wordprocessingml/2006/main"';
const R = 'xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"';
const RELATION = 'http://schemas.openxmlformats.org/officeDocument/2006/relationships';
const PACKAGE_RELATION = 'http://schemas.openxmlformats.org/package/2006';
const HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>';

function twips(mm: number): number {
  return Math.round(mm * TWIPS_PER_MM);
}

function run(text: string, isStrong = false): string {
  return `<w:r>${isStrong ? '<w:rPr><w:b/></w:rPr>' : ''}<w:t xml:space="preserve">${xmlText(text)}</w:t></w:r>`;
}

function paragraphXml(style: string, content: string, more = ''): string {
  return `<w:p><w:pPr><w:pStyle w:val="${style}"/>${more}</w:pPr>${content}</w:p>`;
}

function pageProperties(orientation: 'portrait' | 'landscape', isLast: boolean): string {
  const [w, h] = orientation === 'portrait' ? [SHORT_MM, LONG_MM] : [LONG_MM, SHORT_MM];
  const margin = twips(MARGIN_MM);
  const turned = orientation === 'landscape' ? ' w:orient="landscape"' : '';
  const section = `<w:sectPr><w:footerReference w:type="default" r:id="footer"/><w:pgSz w:w="${twips(w)}" w:h="${twips(h)}"${turned}/><w:pgMar w:top="${margin}" w:right="${margin}" w:bottom="${margin}" w:left="${margin}" w:header="567" w:footer="567" w:gutter="0"/></w:sectPr>`;
  return isLast ? section : `<w:p><w:pPr>${section}</w:pPr></w:p>`;
}

interface Table {
  readonly widths: readonly number[];
  readonly ends: readonly boolean[];
  readonly strong: readonly boolean[];
  readonly head: readonly string[] | null;
  readonly rows: readonly (readonly string[])[];
  readonly style: string;
  readonly hasLines: boolean;
}

function tableXml({ widths, ends, strong, head, rows, style, hasLines }: Table): string {
  const cell = (text: string, i: number, isHead: boolean): string => {
    const align = ends[i] === true ? '<w:jc w:val="right"/>' : '';
    const name = isHead ? 'TableHead' : style;
    return `<w:tc><w:tcPr><w:tcW w:w="${widths[i] ?? 0}" w:type="dxa"/></w:tcPr>${paragraphXml(name, run(text, !isHead && strong[i] === true), align)}</w:tc>`;
  };
  const row = (cells: readonly string[], isHead: boolean): string => {
    const filled = widths.map((_, i) => cell(cells[i] ?? '', i, isHead)).join('');
    const properties = isHead
      ? '<w:trPr><w:cantSplit/><w:tblHeader/></w:trPr>'
      : '<w:trPr><w:cantSplit/></w:trPr>';
    return `<w:tr>${properties}${filled}</w:tr>`;
  };
  const line = (name: string, size: number) =>
    `<w:${name} w:val="single" w:sz="${size}" w:space="0" w:color="A9B3BA"/>`;
  const borders = hasLines
    ? `<w:tblBorders>${line('top', 6)}${line('bottom', 6)}${line('insideH', 2)}</w:tblBorders>`
    : '';
  const total = widths.reduce((sum, w) => sum + w, 0);
  return [
    `<w:tbl><w:tblPr><w:tblW w:w="${total}" w:type="dxa"/>${borders}<w:tblLayout w:type="fixed"/></w:tblPr>`,
    `<w:tblGrid>${widths.map((w) => `<w:gridCol w:w="${w}"/>`).join('')}</w:tblGrid>`,
    head === null ? '' : row(head, true),
    ...rows.map((cells) => row(cells, false)),
    '</w:tbl>',
    paragraphXml('Small', ''),
  ].join('');
}

function pictureXml(index: number, widthMm: number, heightMm: number, description: string): string {
  const [cx, cy] = [Math.round(widthMm * EMU_PER_MM), Math.round(heightMm * EMU_PER_MM)];
  const a = 'http://schemas.openxmlformats.org/drawingml/2006';
  return `<w:r><w:drawing><wp:inline xmlns:wp="${a}/wordprocessingDrawing" distT="0" distB="0" distL="0" distR="0"><wp:extent cx="${cx}" cy="${cy}"/><wp:docPr id="${index}" name="Drawing ${index}" descr="${xmlText(description)}"/><a:graphic xmlns:a="${a}/main"><a:graphicData uri="${a}/picture"><pic:pic xmlns:pic="${a}/picture"><pic:nvPicPr><pic:cNvPr id="${index}" name="Drawing ${index}"/><pic:cNvPicPr/></pic:nvPicPr><pic:blipFill><a:blip r:embed="picture${index}"/><a:stretch><a:fillRect/></a:stretch></pic:blipFill><pic:spPr><a:xfrm><a:off x="0" y="0"/><a:ext cx="${cx}" cy="${cy}"/></a:xfrm><a:prstGeom prst="rect"><a:avLst/></a:prstGeom></pic:spPr></pic:pic></a:graphicData></a:graphic></wp:inline></w:drawing></w:r>`;
}

class Writer {
  readonly parts: string[] = [];
  readonly pictures: Uint8Array[] = [];
  #orientation: 'portrait' | 'landscape' = 'portrait';

  get widthMm(): number {
    return (this.#orientation === 'portrait' ? SHORT_MM : LONG_MM) - 2 * MARGIN_MM;
  }

  /** The section that ends here has the old orientation; what follows has the new one. */
  turn(orientation: 'portrait' | 'landscape'): void {
    this.parts.push(pageProperties(this.#orientation, false));
    this.#orientation = orientation;
  }

  end(): string {
    return pageProperties(this.#orientation, true);
  }

  async write(block: ReportBlock): Promise<void> {
    const { parts } = this;
    if (block.kind === 'heading') parts.push(paragraphXml(`Heading${block.level}`, run(block.text)));
    else if (block.kind === 'statement') parts.push(paragraphXml('Statement', run(block.text)));
    else if (block.kind === 'paragraph') {
      const styles = { normal: 'Normal', note: 'Small', strong: 'Strong', warning: 'Warning' } as const;
      parts.push(paragraphXml(styles[block.tone ?? 'normal'], run(block.text)));
    } else if (block.kind === 'list') {
      const bullet = '<w:numPr><w:ilvl w:val="0"/><w:numId w:val="1"/></w:numPr>';
      for (const item of block.items) parts.push(paragraphXml('ListItem', run(item), bullet));
    } else if (block.kind === 'facts') this.#facts(block.rows);
    else if (block.kind === 'signatures')
      this.#facts(
        block.lines.map(([role, name]) => [
          role,
          `${name === '' ? 'Name: ____________________' : name}\u2003Signature, date: ____________________\u2003Seal:`,
        ]),
      );
    else if (block.kind === 'page-break') this.turn(block.orientation);
    else if (block.kind === 'drawing') await this.#drawing(block);
    else this.#table(block);
  }

  #facts(rows: readonly (readonly [string, string])[]): void {
    const name = twips(this.widthMm * 0.28);
    this.parts.push(
      tableXml({
        widths: [name, twips(this.widthMm) - name],
        ends: [],
        strong: [],
        head: null,
        rows,
        style: 'Fact',
        hasLines: false,
      }),
    );
  }

  #table(block: Extract<ReportBlock, { kind: 'table' }>): void {
    const shares = block.columns.reduce((sum, c) => sum + c.share, 0);
    this.parts.push(
      tableXml({
        widths: block.columns.map((c) => twips((this.widthMm * c.share) / shares)),
        ends: block.columns.map((c) => c.align === 'end'),
        strong: block.columns.map((c) => c.strong === true),
        head: block.columns.map((c) => c.head),
        rows: block.rows,
        style: block.small === true ? 'CellSmall' : 'Cell',
        hasLines: true,
      }),
    );
  }

  async #drawing(block: Extract<ReportBlock, { kind: 'drawing' }>): Promise<void> {
    const widthMm = this.widthMm * (block.widthShare ?? 1);
    const { nodes, heightMm } = block.draw(widthMm, DRAWING_HEIGHT_MM * block.heightShare);
    this.pictures.push(await renderPng({ widthMm, heightMm, title: block.caption, nodes }, { dpi: DPI }));
    const picture = pictureXml(this.pictures.length, widthMm, heightMm, block.caption);
    this.parts.push(
      paragraphXml('Normal', picture, '<w:keepNext/>'),
      paragraphXml('Small', run(block.caption)),
    );
  }
}

function stylesXml(): string {
  const style = (id: string, name: string, size: number, run = '', paragraph = ''): string =>
    `<w:style w:type="paragraph" w:styleId="${id}"${id === 'Normal' ? ' w:default="1"' : ''}><w:name w:val="${name}"/>${id === 'Normal' ? '' : '<w:basedOn w:val="Normal"/>'}<w:qFormat/><w:pPr>${paragraph}</w:pPr><w:rPr>${run}<w:sz w:val="${size}"/></w:rPr></w:style>`;
  const spacing = (before: number, after: number) =>
    `<w:spacing w:before="${before}" w:after="${after}" w:line="252" w:lineRule="auto"/>`;
  const bold = '<w:b/>';
  const soft = '<w:color w:val="55626D"/>';
  const heading = (level: number, before: number) =>
    `<w:keepNext/>${spacing(before, 80)}<w:outlineLvl w:val="${level}"/>`;
  return `${HEAD}<w:styles ${W}><w:docDefaults><w:rPrDefault><w:rPr><w:rFonts w:ascii="Source Sans 3" w:hAnsi="Source Sans 3" w:cs="Arial"/><w:lang w:val="en"/></w:rPr></w:rPrDefault></w:docDefaults>${[
    style('Normal', 'Normal', 19, '', spacing(0, 60)),
    style('Title', 'Title', 34, bold, spacing(0, 80)),
    style('Heading1', 'heading 1', 28, bold, heading(0, 320)),
    style('Heading2', 'heading 2', 21, bold, heading(1, 140)),
    style('Statement', 'Statement', 40, bold, spacing(40, 80)),
    style('Strong', 'Strong paragraph', 20, bold, spacing(0, 80)),
    style('Warning', 'Warning', 20, `${bold}<w:color w:val="8C1D46"/>`, spacing(0, 80)),
    style('Small', 'Small', 16, soft, spacing(0, 60)),
    style('ListItem', 'List item', 19, '', spacing(0, 20)),
    style('Fact', 'Fact', 18, '', spacing(0, 10)),
    style('Cell', 'Table cell', 16, '', spacing(10, 10)),
    style('CellSmall', 'Table cell, small', 14, '', spacing(10, 10)),
    style('TableHead', 'Table head', 16, `${bold}${soft}`, `<w:keepNext/>${spacing(10, 10)}`),
  ].join('')}</w:styles>`;
}

const NUMBERING = `${HEAD}<w:numbering ${W}><w:abstractNum w:abstractNumId="0"><w:multiLevelType w:val="hybridMultilevel"/><w:lvl w:ilvl="0"><w:start w:val="1"/><w:numFmt w:val="bullet"/><w:lvlText w:val="–"/><w:lvlJc w:val="left"/><w:pPr><w:ind w:left="284" w:hanging="284"/></w:pPr></w:lvl></w:abstractNum><w:num w:numId="1"><w:abstractNumId w:val="0"/></w:num></w:numbering>`;

function footerXml(text: string): string {
  const field = (name: string) =>
    `<w:r><w:fldChar w:fldCharType="begin"/></w:r><w:r><w:instrText xml:space="preserve"> ${name} </w:instrText></w:r><w:r><w:fldChar w:fldCharType="end"/></w:r>`;
  return `${HEAD}<w:ftr ${W}>${paragraphXml('Small', `${run(`${text} · Page `)}${field('PAGE')}${run(' of ')}${field('NUMPAGES')}`)}</w:ftr>`;
}

function coreXml(metadata: SceneMetadata): string {
  const date = new Date(metadata.createdUtc).toISOString();
  return `${HEAD}<cp:coreProperties xmlns:cp="${PACKAGE_RELATION}/metadata/core-properties" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:dcterms="http://purl.org/dc/terms/" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"><dc:title>${xmlText(metadata.title)}</dc:title><dc:subject>${xmlText(metadata.subject)}</dc:subject><dc:creator>${xmlText(metadata.author ?? '')}</dc:creator><dcterms:created xsi:type="dcterms:W3CDTF">${date}</dcterms:created><dcterms:modified xsi:type="dcterms:W3CDTF">${date}</dcterms:modified></cp:coreProperties>`;
}

/** Bytes of a .docx file; drawings are pictures of 200 dots per inch. The same report gives the same bytes. */
export async function renderReportDocx(
  document: ReportDocument,
  metadata: SceneMetadata,
): Promise<Uint8Array> {
  const writer = new Writer();
  writer.parts.push(paragraphXml('Title', run(document.title)));
  if (document.isDemo) writer.parts.push(paragraphXml('Warning', run('Invented data, for demonstration')));
  for (const block of document.summary) await writer.write(block);
  writer.turn('portrait');
  for (const block of document.body) await writer.write(block);
  const body = `${HEAD}<w:document ${W} ${R}><w:body>${writer.parts.join('')}${writer.end()}</w:body></w:document>`;
  const relation = (id: string, kind: string, target: string) =>
    `<Relationship Id="${id}" Type="${RELATION}/${kind}" Target="${target}"/>`;
  const relations = [
    relation('styles', 'styles', 'styles.xml'),
    relation('numbering', 'numbering', 'numbering.xml'),
    relation('footer', 'footer', 'footer.xml'),
    ...writer.pictures.map((_, i) => relation(`picture${i + 1}`, 'image', `media/drawing-${i + 1}.png`)),
  ].join('');
  const part = (name: string, kind: string) =>
    `<Override PartName="/${name}" ContentType="application/vnd.openxmlformats-officedocument.wordprocessingml.${kind}+xml"/>`;
  const types = `${HEAD}<Types xmlns="${PACKAGE_RELATION}/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Default Extension="png" ContentType="image/png"/>${part('word/document.xml', 'document.main')}${part('word/styles.xml', 'styles')}${part('word/numbering.xml', 'numbering')}${part('word/footer.xml', 'footer')}<Override PartName="/docProps/core.xml" ContentType="application/vnd.openxmlformats-package.core-properties+xml"/></Types>`;
  const root = `${HEAD}<Relationships xmlns="${PACKAGE_RELATION}/relationships"><Relationship Id="document" Type="${RELATION}/officeDocument" Target="word/document.xml"/><Relationship Id="core" Type="${PACKAGE_RELATION}/relationships/metadata/core-properties" Target="docProps/core.xml"/></Relationships>`;
  const text = (name: string, content: string) => ({ name, bytes: new TextEncoder().encode(content) });
  return zip([
    text('[Content_Types].xml', types),
    text('_rels/.rels', root),
    // Stored as it is, so that the record's hash can be found in the file without unpacking it.
    { ...text('docProps/core.xml', coreXml(metadata)), isStored: true },
    text('word/document.xml', body),
    text('word/styles.xml', stylesXml()),
    text('word/numbering.xml', NUMBERING),
    text('word/footer.xml', footerXml(document.footer)),
    text(
      'word/_rels/document.xml.rels',
      `${HEAD}<Relationships xmlns="${PACKAGE_RELATION}/relationships">${relations}</Relationships>`,
    ),
    ...writer.pictures.map((bytes, i) => ({ name: `word/media/drawing-${i + 1}.png`, bytes })),
  ]);
}
