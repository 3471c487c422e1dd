/** The report as one HTML file: real headings and tables, to be edited in any word processor, or printed. */

import { FACES, FONT_FAMILY } from '../figure/fonts.ts';
import { fontFaceRule, renderSvg } from '../figure/render-svg.ts';
import type { SceneMetadata } from '../figure/scene.ts';
import { flattenScene } from '../figure/scene.ts';
import { xmlText } from '../xml-text.ts';
import type { ReportBlock, ReportDocument } from './document.ts';

/** Text width a drawing is made for: that of the PDF's page. */
const TEXT_WIDTH_MM = 170;
const TEXT_HEIGHT_MM = 240;

const STYLE = `
:root { color: #131d26; background: #fff; }
body { font-family: '${FONT_FAMILY}', 'Segoe UI', 'Helvetica Neue', Arial, sans-serif; font-size: 10.5pt; line-height: 1.4; max-width: 190mm; margin: 12mm auto; padding: 0 8mm; }
h1 { font-size: 20pt; margin: 0 0 2mm; } h2 { font-size: 15pt; margin: 9mm 0 2mm; } h3 { font-size: 11.5pt; margin: 5mm 0 1mm; }
.statement { font-size: 21pt; font-weight: 600; margin: 2mm 0; line-height: 1.15; }
.note { color: #55626d; font-size: 9pt; } .strong { font-weight: 600; } .warning, .demo { color: #8c1d46; font-weight: 600; }
table { border-collapse: collapse; width: 100%; font-size: 8.5pt; line-height: 1.25; margin: 2mm 0 4mm; }
table.small { font-size: 7.5pt; } thead { display: table-header-group; } tr { break-inside: avoid; }
th { text-align: left; color: #55626d; border-top: 0.25mm solid; border-bottom: 0.25mm solid; } th, td { padding: 0.7mm 1mm; vertical-align: top; overflow-wrap: anywhere; }
td { border-bottom: 0.12mm solid #a9b3ba; } .end { text-align: right; padding-right: 2.4mm; font-variant-numeric: tabular-nums; } td.head { font-weight: 600; }
dl { display: grid; grid-template-columns: 27% 1fr; gap: 0.4mm 3mm; margin: 2mm 0; } dt { color: #55626d; } dd { margin: 0; overflow-wrap: anywhere; }
figure { margin: 3mm 0; break-inside: avoid; } figure svg { max-width: 100%; height: auto; } figcaption { color: #55626d; font-size: 9pt; } figure.half { display: inline-block; vertical-align: top; width: 48%; margin-right: 1.5%; }
.signature { display: grid; grid-template-columns: 1fr 1fr 30mm; gap: 6mm; align-items: end; margin: 6mm 0; } .line { border-top: 0.12mm solid #a9b3ba; } .name { margin-top: 9mm; } .seal { border: 0.12mm solid #a9b3ba; height: 24mm; padding: 1mm; }
p, dd, li { overflow-wrap: anywhere; }
@page { size: A4; margin: 18mm 16mm; }
@media print { body { margin: 0; padding: 0; max-width: none; font-size: 9.5pt; line-height: 1.3; } p, ul { margin: 1.2mm 0; } h2 { margin-top: 6mm; } h3 { margin-top: 3.5mm; } h2, h3 { break-after: avoid; } .summary { break-after: page; } .appendix { break-before: page; } }
`;

const ASCII = String.fromCharCode(...Array.from({ length: 95 }, (_, i) => 32 + i));

interface Writer {
  readonly parts: string[];
  readonly drawn: { readonly face: (typeof FACES)[number]; readonly text: string }[];
  drawings: number;
}

function tag(name: string, text: string, className = ''): string {
  return `<${name}${className === '' ? '' : ` class="${className}"`}>${xmlText(text)}</${name}>`;
}

function writeBlock(block: ReportBlock, writer: Writer): void {
  const { parts } = writer;
  if (block.kind === 'heading') parts.push(tag(block.level === 1 ? 'h2' : 'h3', block.text));
  else if (block.kind === 'statement') parts.push(tag('p', block.text, 'statement'));
  else if (block.kind === 'paragraph')
    parts.push(tag('p', block.text, block.tone === undefined || block.tone === 'normal' ? '' : block.tone));
  else if (block.kind === 'list') parts.push(`<ul>${block.items.map((i) => tag('li', i)).join('')}</ul>`);
  else if (block.kind === 'facts')
    parts.push(`<dl>${block.rows.map(([n, v]) => tag('dt', n) + tag('dd', v)).join('')}</dl>`);
  else if (block.kind === 'table') parts.push(tableHtml(block));
  else if (block.kind === 'signatures')
    parts.push(
      ...block.lines.map(
        ([role, name]) =>
          `<div class="signature"><div>${tag('div', role, 'note')}${name === '' ? '<div class="line note name">Name</div>' : tag('div', name, 'strong')}</div><div class="line note">Signature, date</div><div class="seal note">Seal</div></div>`,
      ),
    );
  else if (block.kind === 'page-break') parts.push('<div class="appendix"></div>');
  else writeDrawing(block, writer);
}

function tableHtml(block: Extract<ReportBlock, { kind: 'table' }>): string {
  const cell = (name: 'th' | 'td', text: string, i: number): string => {
    const column = block.columns[i];
    const classes = [
      column?.align === 'end' ? 'end' : '',
      name === 'td' && column?.strong === true ? 'head' : '',
    ].filter((c) => c !== '');
    return tag(name, text, classes.join(' '));
  };
  const head = block.columns.map((c, i) => cell('th', c.head, i)).join('');
  const rows = block.rows.map((row) => `<tr>${row.map((text, i) => cell('td', text, i)).join('')}</tr>`);
  const className = block.small === true ? ' class="small"' : '';
  return `<table${className}><thead><tr>${head}</tr></thead><tbody>\n${rows.join('\n')}\n</tbody></table>`;
}

function writeDrawing(block: Extract<ReportBlock, { kind: 'drawing' }>, writer: Writer): void {
  const widthMm = TEXT_WIDTH_MM * (block.widthShare ?? 1);
  const { nodes, heightMm } = block.draw(widthMm, TEXT_HEIGHT_MM * block.heightShare);
  writer.drawings += 1;
  for (const node of flattenScene(nodes)) {
    if (node.kind === 'text') writer.drawn.push({ face: node.face, text: node.text });
  }
  const svg = renderSvg(
    { widthMm, heightMm, title: block.caption, nodes },
    { inlineAs: `drawing-${writer.drawings}` },
  );
  const className = (block.widthShare ?? 1) <= 0.5 ? ' class="half"' : '';
  writer.parts.push(`<figure${className}>${svg}${tag('figcaption', block.caption)}</figure>`);
}

/** HTML text that needs no other file. Whatever a person typed stands in it as text, never as markup. */
export function renderReportHtml(document: ReportDocument, metadata: SceneMetadata): string {
  const writer: Writer = { parts: [], drawn: [], drawings: 0 };
  writer.parts.push('<section class="summary">');
  for (const block of document.summary) writeBlock(block, writer);
  writer.parts.push('</section>');
  for (const block of document.body) writeBlock(block, writer);
  // Words are edited later: beside the letters in use the file carries all of ASCII.
  const letters = [...new Set(ASCII + writer.parts.join(''))].sort().join('');
  const fonts = FACES.map((face) => {
    const drawn = writer.drawn.filter((d) => d.face === face).map((d) => d.text);
    return fontFaceRule(face, face === 'italic' ? drawn : [...drawn, letters]);
  }).join('');
  const meta = (name: string, content: string) => `<meta name="${name}" content="${xmlText(content)}">`;
  return [
    '<!DOCTYPE html>',
    '<html lang="en">',
    '<head>',
    '<meta charset="utf-8">',
    // Nothing in the file may load or run anything, whatever found its way in.
    `<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; font-src data:; img-src data:">`,
    '<meta name="viewport" content="width=device-width, initial-scale=1">',
    `<title>${xmlText(metadata.title)}</title>`,
    ...(metadata.author === null ? [] : [meta('author', metadata.author)]),
    meta('description', metadata.subject),
    meta('generator', metadata.creator),
    meta('dcterms.created', metadata.createdUtc),
    `<style>${fonts}${STYLE}</style>`,
    '</head>',
    '<body>',
    tag('h1', document.title),
    ...(document.isDemo ? [tag('p', 'Invented data, for demonstration', 'demo')] : []),
    ...writer.parts,
    tag('p', document.footer, 'note'),
    '</body>',
    '</html>',
    '',
  ].join('\n');
}
