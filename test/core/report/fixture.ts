/** Reports of the program's own invented lots; nothing in them was measured anywhere. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll } from 'vitest';
import type { Instrument } from '../../../core/contract/model.ts';
import type { DemoLot } from '../../../core/contract/requests.ts';
import { createJobRunner, type JobRunner } from '../../../core/jobs/runner.ts';
import { createFromDemo } from '../../../core/project/demo.ts';
import { setRuling } from '../../../core/project/edit.ts';
import { keepPlacement } from '../../../core/project/placements.ts';
import { gatherReport, type ReportOptions } from '../../../core/project/report.ts';
import type { ReportInput } from '../../../core/report/report-model.ts';
import type { ProjectStore } from '../../../core/store/open-project.ts';

export const CREATED = '2026-06-02T09:00:00.000Z';

export const PEOPLE = {
  preparedBy: 'Ann Example',
  licenceNumber: 'RN-0042',
  client: 'Owner of the lot',
  reviewedBy: 'Bo Example',
} as const;

const context = { signal: new AbortController().signal, onProgress: () => undefined };

export interface Workshop {
  readonly folder: string;
  open(lot: DemoLot): ProjectStore;
  gather(store: ProjectStore, options?: ReportOptions): Promise<ReportInput>;
}

/** A folder and job runner for the tests of a file. */
export function workshop(): Workshop {
  let jobs: JobRunner;
  const shop = { folder: '' };
  const stores: ProjectStore[] = [];
  beforeAll(() => {
    jobs = createJobRunner();
    shop.folder = mkdtempSync(join(tmpdir(), 'gasplat-report-'));
  });
  afterAll(async () => {
    for (const store of stores) store.close();
    await jobs.close();
    rmSync(shop.folder, { recursive: true, force: true });
  });
  return {
    get folder() {
      return shop.folder;
    },
    open(lot) {
      const store = createFromDemo({
        path: join(shop.folder, `${lot}-${stores.length}.gasplat`),
        lot,
        actor: 'Ann Example',
      });
      stores.push(store);
      return store;
    },
    gather: (store, options = {}) =>
      gatherReport(
        store,
        jobs,
        { createdUtc: CREATED, ...options, texts: { ...PEOPLE, ...options.texts } },
        context,
        '0.1.0',
      ),
  };
}

/** The same report with `count` probes whose names, remarks and findings are as long as a person may type them. */
export function crowded(input: ReportInput, count: number, long: string): ReportInput {
  const { view, figure } = input;
  const ids = Array.from({ length: count }, (_, i) => i);
  const pick = <T>(list: readonly T[], i: number): T => list[i % list.length] as T;
  const grabs = view.samples.filter((s) => s.kind === 'grab');
  const assessmentOf = new Map(view.assessments.map((a) => [a.sampleId, a]));
  const label = (i: number) => `Probe ${i + 1} ${long}`;
  const sampleAt = (i: number) => pick(grabs, i);
  const ruling = {
    id: 'r',
    sampleId: 's',
    verdict: 'leave-out' as const,
    reason: long,
    actor: long,
    atUtc: CREATED,
  };
  return {
    ...input,
    view: {
      ...view,
      name: long,
      probes: ids.map((i) => ({ ...pick(view.probes, i), id: `p${i}`, label: label(i), note: long })),
      samples: ids.map((i) => ({ ...sampleAt(i), id: `s${i}`, probeId: `p${i}`, remark: long })),
      assessments: ids.map((i) => {
        const found = assessmentOf.get(sampleAt(i).id) ?? pick(view.assessments, i);
        return { ...found, sampleId: `s${i}`, probeId: `p${i}`, ruling, treatmentReason: long };
      }),
      marks: ids.map((i) => ({ ...pick(view.marks, i), probeId: `p${i}`, sampleIds: [`s${i}`] })),
    },
    figure: {
      ...figure,
      projectName: long,
      probes: ids.map((i) => ({ ...pick(figure.probes, i), label: label(i) })),
      rows: ids.map((i) => ({ ...pick(figure.rows, i), label: label(i) })),
      exceptions: ids.map((i) => ({ label: label(i), symbol: 'left-out' as const, text: long })),
      highRulings: ids.map((i) => `HIGH VALUE LEFT OUT BY RULING: ${label(i)}: ${long}`),
    },
    people: { ...input.people, preparedBy: long },
    files: [{ name: long, sha256: 'f'.repeat(64), mediaType: 'text/csv' }],
  };
}

const INSTRUMENT: Instrument = {
  id: 'i1',
  label: 'Cell counter A',
  detector: 'alpha',
  countsPerAlpha: 0.62,
  windows: null,
  chamberMl: 180,
  lineMl: 40,
  commonURel: 0.04,
  calibratedOn: '2026-01-10',
  certificate: 'C-118',
  gasLeft: 0.02,
  gasLeftU: 0.01,
  progenyLeft: null,
  clockOffsetS: -12,
  note: null,
  backgrounds: [{ window: 'all', counts: 14, liveS: 600, takenUtc: '2026-05-19T12:00:00Z' }],
  windowIds: ['all'],
  sampleCount: 26,
  missing: [],
};

/** The troubled lot as it is, and with its highest value left out, an instrument, counts and a kept placement. */
export async function troubledReports(shop: Workshop): Promise<{ input: ReportInput; ruled: ReportInput }> {
  const store = shop.open('troubled');
  const input = await shop.gather(store);
  const highest = [...input.view.samples].sort((a, b) => (b.radonKBqPerM3 ?? 0) - (a.radonKBqPerM3 ?? 0))[0];
  setRuling(store, {
    sampleIds: [highest?.id ?? ''],
    verdict: 'leave-out',
    reason: 'Label swapped in the field, see photo 7',
  });
  keepPlacement(store, {
    label: 'By the road',
    // 2.5 and 4 m: 4.717 m, 15.48 ft.
    pose: { dxM: 2.5, dyM: -4, turnDeg: 90, mirrored: false },
    choose: true,
  });
  const drawn = await shop.gather(store, {
    issueNumber: 2,
    texts: {
      purpose: 'For the building permit of one house.',
      address: '1 Invented Lane',
      sheetNumber: '3',
      revision: 'B',
      date: '1 June',
      notes: 'The shed was locked.\nThe gate was open.',
    },
  });
  const first = drawn.view.samples[0];
  // Counts came with one sample; the lots of the samples folder carry reduced values only.
  const reduction = {
    basis: 'readings' as const,
    instrument: 'Cell counter A',
    readingCount: 6,
    commonURel: 0.04,
    interval95KBqPerM3: [48.1, 54.7] as const,
    decisionThresholdKBqPerM3: 0.21,
    detectionLimitKBqPerM3: 0.47,
    fitP: 0.42,
    correction: 'middle' as const,
    notes: ['first interval left out of nothing'],
  };
  const ruled = {
    ...drawn,
    instruments: [INSTRUMENT],
    view: {
      ...drawn.view,
      samples: drawn.view.samples.map((s) => (s.id === first?.id ? { ...s, reduction, pumpedMl: 150 } : s)),
    },
  };
  return { input, ruled };
}
