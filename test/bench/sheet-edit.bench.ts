/** How soon the preview follows a part that is pulled over the sheet, and what a tagged PDF costs. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { composeSheet } from '../../core/figure/compose-figure.ts';
import { figureMetadata, renderFigure } from '../../core/figure/render-figure.ts';
import { createJobRunner } from '../../core/jobs/runner.ts';
import { createFromDemo } from '../../core/project/demo.ts';
import { drawFigure } from '../../core/project/figure.ts';
import { inventedFigure, inventedProbes } from '../core/figure/fixture.ts';
import { describeMachine, measure, type Times, table } from './measure.ts';

console.log(describeMachine());
const jobs = createJobRunner({ threads: 2 });
const folder = mkdtempSync(join(tmpdir(), 'gasplat-bench-'));
const store = createFromDemo({ path: join(folder, 'lot.gasplat'), lot: 'troubled', actor: 'Bench' });
const context = { signal: new AbortController().signal, onProgress: () => undefined };

let turn = 0;
/** Another place each time: nothing may come from the drawing before. */
const pulled = (id: string) => ({
  [id]: {
    place: { page: 1, xMm: 20 + (turn++ % 80), yMm: 40 + (turn % 60), widthMm: 70, heightMm: 60 },
    hidden: false,
  },
});
const sheet = { page: 'A4', orientation: 'portrait' } as const;
const input = inventedFigure(inventedProbes(60));

const preview = (id: string) =>
  measure(20, () => drawFigure(store, jobs, { options: { ...sheet, changes: pulled(id) } }, context, '0'));
const drawn = (id: string) =>
  measure(20, async () => {
    const { scenes } = composeSheet(input, { ...sheet, changes: pulled(id) });
    await renderFigure(scenes, 'svg', figureMetadata(input));
  });
const pdf = () =>
  measure(5, () => renderFigure(composeSheet(input, sheet).scenes, 'pdf', figureMetadata(input)));

const row = (name: string, { wallMs, cpuMs }: Times) => [name, wallMs.toFixed(0), cpuMs.toFixed(0)];
await preview('legend');
table([
  ['A4 portrait', 'elapsed ms', 'cpu ms'],
  row('troubled lot: legend pulled, the whole request', await preview('legend')),
  row('troubled lot: map pulled, the whole request', await preview('map')),
  row('60 probes: legend pulled, laid out and drawn', await drawn('legend')),
  row('60 probes: map pulled, laid out and drawn', await drawn('map')),
  row('60 probes: all pages as tagged PDF', await pdf()),
]);
console.log('Target for a pull: 100 ms.');
store.close();
await jobs.close();
rmSync(folder, { recursive: true });
