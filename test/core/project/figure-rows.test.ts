import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { computeClass } from '../../../core/project/classify-lot.ts';
import { createFromDemo } from '../../../core/project/demo.ts';
import { setRuling } from '../../../core/project/edit.ts';
import { figureInput } from '../../../core/project/figure.ts';
import { buildView } from '../../../core/project/view.ts';

test('a high value left out stands on the sheet with what spoke for and against it', () => {
  const folder = mkdtempSync(join(tmpdir(), 'gasplat-rows-'));
  const store = createFromDemo({ path: join(folder, 'lot.gasplat'), lot: 'troubled', actor: 'Ann Example' });
  try {
    const sheet = () => {
      const view = buildView(store);
      return figureInput({
        view,
        surface: null,
        noSurfaceReason: 'None is asked for here.',
        classResult: computeClass(view),
        recordHash: null,
        preparedBy: null,
        version: '0.0.0',
      });
    };
    const finding = (label: string) => sheet().rows.find((row) => row.label === label)?.finding ?? '';
    expect(finding('T16')).toBe('');
    // Several findings read as one sentence.
    expect(finding('T10')).toMatch(/; .*\.$/);
    expect(finding('T10')).not.toContain('.;');
    const view = buildView(store);
    const probeId = view.probes.find((p) => p.label === 'T16')?.id;
    const sampleIds = view.samples.filter((s) => s.probeId === probeId).map((s) => s.id);
    setRuling(store, { sampleIds, verdict: 'leave-out', reason: 'Looks too high' });
    expect(finding('T16')).toMatch(/is far above the .* leave it out only on hard evidence/);
    const place = sheet().probes.find((p) => p.label === 'T16');
    expect(place).toMatchObject({ symbol: 'left-out', leftOut: { kind: 'value' } });
  } finally {
    store.close();
    rmSync(folder, { recursive: true, force: true });
  }
});
