import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { ProjectView } from '../../../core/contract/model.ts';
import type { SurfaceSettings } from '../../../core/contract/settings.ts';
import { computeClass, probeValues } from '../../../core/project/classify-lot.ts';
import { createFromDemo } from '../../../core/project/demo.ts';
import { planSurface } from '../../../core/project/plan-surface.ts';
import { buildView } from '../../../core/project/view.ts';
import type { ProjectStore } from '../../../core/store/open-project.ts';

let folder: string;
let store: ProjectStore;
let view: ProjectView;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'gasplat-surface-values-'));
  store = createFromDemo({ path: join(folder, 'troubled.gasplat'), lot: 'troubled', actor: 'tester' });
  view = buildView(store);
});

afterAll(() => {
  store.close();
  rmSync(folder, { recursive: true, force: true });
});

function taken(surface: Partial<SurfaceSettings>): ProjectView {
  return { ...view, settings: { ...view.settings, surface: { ...view.settings.surface, ...surface } } };
}

const labels = (probes: readonly { readonly label: string }[]) => probes.map((p) => p.label);

function shallow() {
  const { referenceDepthM, thresholds } = view.settings;
  return probeValues(view).filter(
    (p) => p.treatment === 'use' && (p.depthM ?? 9) < referenceDepthM - thresholds.shallowDepthM,
  );
}

test('shallow samples are lower bounds unless one says otherwise', () => {
  const names = labels(shallow());
  expect(names).toHaveLength(3);
  expect(labels(planSurface(view).bounded)).toEqual(expect.arrayContaining(names));
  expect(labels(planSurface(view).used)).not.toEqual(expect.arrayContaining(names));
  expect(labels(planSurface(taken({ shallow: 'as-measured' })).used)).toEqual(expect.arrayContaining(names));
});

test('brought to the reference depth by the profile of the design page, C(z) = Cinf (1 - exp(-z/L))', () => {
  const lengthM = 1.2;
  const plan = planSurface(taken({ shallow: 'depth-corrected', diffusionLengthM: lengthM }));
  const probes = shallow();
  expect(plan.depthCorrected).toHaveLength(probes.length);
  for (const probe of probes) {
    const found = plan.depthCorrected.find((c) => c.sampleIds[0] === probe.sampleIds[0]);
    const share = (zM: number) => 1 - Math.exp(-zM / lengthM);
    const factor = share(view.settings.referenceDepthM) / share(probe.depthM ?? 0);
    expect(found?.factor).toBeCloseTo(factor, 10);
    if (probe.measured.kind !== 'value') throw new Error('a value was expected');
    const at = plan.used.findIndex((u) => u.label === probe.label);
    expect(plan.points.values[at]).toBeCloseTo(factor * probe.measured.estimateKBqPerM3, 10);
    // The length is not well known: the corrected value is less certain than the measured one, also relatively.
    const relative = probe.measured.randomUKBqPerM3 / probe.measured.estimateKBqPerM3;
    expect(Math.sqrt(plan.points.errorVariances?.[at] ?? 0) / (plan.points.values[at] ?? 1)).toBeGreaterThan(
      relative,
    );
  }
});

test('a rod that was refused is not corrected, whatever is asked for', () => {
  const names = new Set(labels(shallow()));
  const asked = taken({ shallow: 'depth-corrected', diffusionLengthM: 1 });
  const refused = {
    ...asked,
    probes: asked.probes.map((p) => (names.has(p.label) ? { ...p, state: 'refused' as const } : p)),
  };
  const plan = planSurface(refused);
  expect(plan.depthCorrected).toEqual([]);
  expect(labels(plan.bounded)).toEqual(expect.arrayContaining([...names]));
});

test('the class does not know of it', () => {
  const asMeasured = computeClass(taken({ shallow: 'as-measured' }));
  expect(computeClass(taken({ shallow: 'depth-corrected' }))).toEqual(asMeasured);
  expect(computeClass(view)).toEqual(asMeasured);
});
