import { spawnSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { inflateRawSync } from 'node:zlib';
import { beforeAll, expect, test } from 'vitest';
import { composeReport } from '../../../core/report/compose-report.ts';
import { layOutReport } from '../../../core/report/lay-out.ts';
import { renderReport } from '../../../core/report/render-report.ts';
import type { ReportInput } from '../../../core/report/report-model.ts';
import { xmlText } from '../../../core/xml-text.ts';
import { crowded, troubledReports, workshop } from './fixture.ts';

const shop = workshop();
let ruled: ReportInput;

beforeAll(async () => {
  ({ ruled } = await troubledReports(shop));
}, 60_000);

/** Entries of an archive by its local headers, checked by length. */
function unzip(bytes: Uint8Array): Map<string, Uint8Array> {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const parts = new Map<string, Uint8Array>();
  for (let at = 0; view.getUint32(at, true) === 0x04034b50; ) {
    const method = view.getUint16(at + 8, true);
    const [packed, size] = [view.getUint32(at + 18, true), view.getUint32(at + 22, true)];
    const nameLength = view.getUint16(at + 26, true);
    const start = at + 30 + nameLength;
    const data = bytes.subarray(start, start + packed);
    const part = method === 0 ? data : inflateRawSync(data);
    expect(part.length).toBe(size);
    parts.set(new TextDecoder().decode(bytes.subarray(at + 30, start)), part);
    at = start + packed;
  }
  return parts;
}

/** Tags that do not close in their order. */
function unbalanced(xml: string): string[] {
  const open: string[] = [];
  for (const [tag, close = '', name = ''] of xml.matchAll(/<(\/?)([\w:]+)(?:"[^"]*"|[^<>"])*>/g)) {
    if (tag.endsWith('/>')) continue;
    if (close === '') open.push(name);
    else if (open.pop() !== name) return [name];
  }
  return open;
}

test('the same input gives the same bytes, PDF and HTML', async () => {
  for (const format of ['pdf', 'html'] as const) {
    const [a, b] = [await renderReport(ruled, format), await renderReport(ruled, format)];
    expect(Buffer.from(a).equals(Buffer.from(b))).toBe(true);
  }
}, 120_000);

test('the PDF has title, author, outline and no print scaling', async () => {
  const text = Buffer.from(await renderReport(ruled, 'pdf')).toString('latin1');
  expect(text).toMatch(/\(Radon in the ground: report on a building lot: Troubled lot/);
  expect(text).toContain('(Ann Example)');
  expect(text).toContain('/Outlines');
  expect(text).toContain('/PrintScaling /None');
  expect(text).toContain(`record ${ruled.figure.recordHash}`);
});

test('a 60-probe report takes less than 5 s of a processor', async () => {
  const report = crowded(ruled, 60, 'short remark');
  // Processor time: elapsed time says more of what else the machine does.
  const started = process.cpuUsage();
  await renderReport(report, 'pdf');
  const { user, system } = process.cpuUsage(started);
  expect((user + system) / 1e6).toBeLessThan(5);
});

test.skipIf(spawnSync('pdftotext', ['-v']).error !== undefined)(
  'pdftotext finds the words: the PDF is searchable',
  async () => {
    const path = join(shop.folder, 'report.pdf');
    writeFileSync(path, await renderReport(ruled, 'pdf'));
    const { stdout } = spawnSync('pdftotext', ['-layout', path, '-'], { encoding: 'utf8' });
    for (const word of ['Summary', 'Third quartile', 'Equipment and calibration', 'Label swapped', 'RN-0042'])
      expect(stdout).toContain(word);
    expect(stdout.split('\f').length - 1).toBe(layOutReport(composeReport(ruled)).scenes.length);
  },
);

test.skipIf(spawnSync('pdfinfo', ['-v']).error !== undefined)(
  'pdfinfo finds the structure: headings in order, lists, tables whose rows have as many cells, figures with words',
  async () => {
    const document = composeReport(ruled);
    const path = join(shop.folder, 'tagged.pdf');
    writeFileSync(path, await renderReport(ruled, 'pdf'));
    const { stdout } = spawnSync('pdfinfo', ['-struct-text', path], { encoding: 'utf8', maxBuffer: 1e8 });
    const lines = stdout.split('\n').map((line) => line.trim());
    const headings = lines.flatMap((line, i) => (/^H1\b/.test(line) ? [lines[i + 1]] : []));
    const wanted = [...document.summary, ...document.body].filter(
      (b) => b.kind === 'heading' && b.level === 1,
    );
    expect(headings).toEqual(wanted.map((b) => (b.kind === 'heading' ? `"${b.text}"` : '')));
    for (const table of stdout.split(/^ +Table\b.*$/m).slice(1)) {
      const rows = table.split(/^ +TR\b.*$/m).slice(1);
      const counts = rows.map((row) => (row.match(/^ +T[HD]\b/gm) ?? []).length);
      expect(new Set(counts).size).toBe(1);
    }
    const figures = [...document.summary, ...document.body].filter((b) => b.kind === 'drawing').length;
    expect(lines.filter((line) => line === 'Figure').length).toBeGreaterThanOrEqual(figures);
    expect(lines.filter((line) => line.startsWith('Caption'))).toHaveLength(figures);
  },
);

test('HTML: what a person typed is text, never markup', async () => {
  const evil = `<img src=x onerror="alert(1)"></td></table><script>alert('x')</script>& "quoted" 'single'`;
  const html = new TextDecoder().decode(await renderReport(crowded(ruled, 5, evil), 'html'));
  expect(html).not.toMatch(/<script|<img|onerror="/i);
  expect(html).toContain('&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt;&amp; &quot;quoted&quot;');
  expect(html).toContain("default-src 'none'");
  // Every tag is one the renderers write.
  const tags = new Set([...html.matchAll(/<\/?([a-zA-Z][\w-]*)/g)].map((m) => (m[1] ?? '').toLowerCase()));
  const known =
    'html head meta title style body section h1 h2 h3 p ul li dl dt dd table thead tbody tr th td figure figcaption div svg defs clippath path g text'.split(
      ' ',
    );
  expect([...tags].filter((t) => !known.includes(t))).toEqual([]);
  // Values of attributes are escaped text; what is left of a tag are its names.
  expect(html.replace(/"[^"]*"/g, '""').match(/<[^>]*\s(?:src|href|on\w+)=/g)).toBeNull();
});

test('HTML: one file with every section, table and drawing; names of drawings are unique', async () => {
  const html = new TextDecoder().decode(await renderReport(ruled, 'html'));
  for (const section of ['Summary', 'Field log', 'Quality', 'Surface', 'Appendix B: record of changes'])
    expect(html).toContain(`<h2>${section}</h2>`);
  expect(html.match(/<svg /g)?.length).toBeGreaterThanOrEqual(4);
  const ids = [...html.matchAll(/ id="([^"]+)"/g)].map((m) => m[1]);
  expect(new Set(ids).size).toBe(ids.length);
  expect(html.length).toBeLessThan(700_000);
});

test('DOCX: every part is well formed, text is text, and the same input gives the same bytes', async () => {
  const evil = '</w:t><w:p/> & "quoted" \u0001 \ud800';
  const bytes = await renderReport(crowded(ruled, 5, evil), 'docx');
  expect(Buffer.from(bytes).equals(Buffer.from(await renderReport(crowded(ruled, 5, evil), 'docx')))).toBe(
    true,
  );
  const parts = unzip(bytes);
  expect([...parts.keys()].slice(0, 4)).toEqual([
    '[Content_Types].xml',
    '_rels/.rels',
    'docProps/core.xml',
    'word/document.xml',
  ]);
  const xml = new TextDecoder().decode(parts.get('word/document.xml'));
  expect(xml).toContain('&lt;/w:t&gt;&lt;w:p/&gt; &amp; &quot;quoted&quot;');
  for (const [name, part] of parts) {
    if (!name.endsWith('.png')) expect(unbalanced(new TextDecoder().decode(part)), name).toEqual([]);
  }
  // Every picture that is named is there.
  const relations = new TextDecoder().decode(parts.get('word/_rels/document.xml.rels'));
  const targets = [...relations.matchAll(/Target="([^"]+)"/g)].map((m) => `word/${m[1]}`);
  expect(targets.filter((t) => !parts.has(t))).toEqual([]);
  expect(Buffer.from(bytes).includes(ruled.figure.recordHash ?? 'none')).toBe(true);
});

test.skipIf(spawnSync('/usr/bin/python3', ['-c', 'import docx']).status !== 0)(
  'DOCX: an independent reader (python-docx) finds headings, tables and pictures',
  async () => {
    const path = join(shop.folder, 'report.docx');
    writeFileSync(path, await renderReport(ruled, 'docx'));
    const script = `import docx, json, sys
d = docx.Document(sys.argv[1])
print(json.dumps({
  "headings": [p.text for p in d.paragraphs if p.style.name == "Heading 1"],
  "tables": len(d.tables), "pictures": len(d.inline_shapes), "sections": len(d.sections),
  "title": d.core_properties.title, "author": d.core_properties.author,
  "cells": [c.text for t in d.tables for r in t.rows for c in r.cells]}))`;
    const { stdout, stderr } = spawnSync('/usr/bin/python3', ['-c', script, path], { encoding: 'utf8' });
    expect(stderr).toBe('');
    const read = JSON.parse(stdout) as Record<string, string[] & string & number>;
    const document = composeReport(ruled);
    const blocks = [...document.summary, ...document.body];
    expect(read['headings']).toEqual(
      blocks.flatMap((b) => (b.kind === 'heading' && b.level === 1 ? [b.text] : [])),
    );
    expect(read['pictures']).toBe(blocks.filter((b) => b.kind === 'drawing').length);
    expect(read['tables']).toBe(
      blocks.filter((b) => ['table', 'facts', 'signatures'].includes(b.kind)).length,
    );
    expect(read['title']).toContain('Troubled lot');
    expect(read['author']).toBe('Ann Example');
    const cells = new Set<string>(read['cells'] as unknown as string[]);
    const expected = blocks.flatMap((b) => (b.kind === 'table' ? b.rows.flat() : []));
    expect(expected.filter((c) => !cells.has(c))).toEqual([]);
  },
);

test('escaping covers the five characters and drops control characters', () => {
  expect(xmlText(`a<b>&"c"'\u0000\u001b`)).toBe('a&lt;b&gt;&amp;&quot;c&quot;&#39;');
});
