/** A small invented project with everything that is awkward to write down. */
import type {
  Probe,
  ProjectCrs,
  ProjectView,
  Sample,
  SampleAssessment,
} from '../../../core/contract/model.ts';
import { makeFrame, toFrame } from '../../../core/geo/frame.ts';
import { defaultThresholds } from '../../../core/survey/thresholds.ts';

export function createView(crs: ProjectCrs, origin: readonly [number, number]): ProjectView {
  const frame = makeFrame(crs, origin);
  const at = (dx: number, dy: number) => [origin[0] + dx, origin[1] + dy] as const;
  const probe = (label: string, native: readonly [number, number], more: Partial<Probe> = {}): Probe => ({
    id: `probe-${label}`,
    label,
    state: 'driven',
    native,
    positionM: toFrame(frame, native),
    depthM: 0.8,
    soil: 'silty sand, "grey"',
    fineFractionPct: 33.3,
    permeabilityM2: 1.2e-12,
    permeabilityClass: 'medium',
    note: null,
    added: false,
    ...more,
  });
  const sample = (id: string, label: string, more: Partial<Sample> = {}): Sample => ({
    id,
    probeId: `probe-${label}`,
    kind: 'grab',
    takenUtc: '2026-05-12T07:32:00Z',
    depthM: 0.8,
    radonKBqPerM3: 0.1 + 0.2,
    radonUKBqPerM3: 0.037 / 3,
    radonBelowKBqPerM3: null,
    oxygenPct: 18.4,
    carbonDioxidePct: 2.05,
    suctionPa: 1733.1,
    saidFreshAir: false,
    saidWater: false,
    remark: null,
    source: { file: 'sheet, 1.csv', row: 2 },
    ...more,
  });
  const probes = [
    probe('P1', at(3.03, 7.1)),
    probe('P2', at(12.7, 9.25), {
      soil: null,
      permeabilityM2: null,
      fineFractionPct: null,
      permeabilityClass: null,
    }),
    probe('P3', at(15, 20)),
    probe('P4', at(30, 25), { state: 'planned' }),
  ];
  const samples = [
    sample('s1', 'P1', { remark: 'two lines\nand a "quote"; 3,5 m off' }),
    sample('s2', 'P2', {
      radonKBqPerM3: null,
      radonUKBqPerM3: null,
      radonBelowKBqPerM3: 1.5,
      depthM: 0.55,
      oxygenPct: null,
    }),
    sample('s3', 'P3', {
      radonKBqPerM3: null,
      radonUKBqPerM3: null,
      saidWater: true,
      suctionPa: null,
      takenUtc: null,
    }),
    sample('s4', 'P1', {
      kind: 'duplicate',
      radonKBqPerM3: 1e-3,
      takenUtc: '2026-05-12T07:40:00Z',
      saidFreshAir: true,
    }),
  ];
  const assess = (
    sampleId: string,
    probeId: string,
    more: Partial<SampleAssessment> = {},
  ): SampleAssessment => ({
    sampleId,
    probeId,
    dilution: 'none',
    water: 'none',
    flags: [],
    ruling: null,
    treatment: 'use',
    treatmentReason: 'nothing speaks against it',
    measured: { kind: 'value', estimateKBqPerM3: 0.3, randomUKBqPerM3: 0.01, commonURel: 0 },
    unruledTreatment: 'use',
    unruledMeasured: { kind: 'value', estimateKBqPerM3: 0.3, randomUKBqPerM3: 0.01, commonURel: 0 },
    ...more,
  });
  const house = [at(10, 10), at(20, 10), at(20, 18)].map((p) => toFrame(frame, p));
  const assessments = [
    assess('s1', 'probe-P1'),
    assess('s2', 'probe-P2', { measured: { kind: 'atMost', boundKBqPerM3: 1.5 } }),
    assess('s3', 'probe-P3', { treatment: 'no-value', measured: { kind: 'none', reason: 'water' } }),
    assess('s4', 'probe-P1', {
      treatment: 'leave-out',
      flags: [
        {
          rule: 'crew-said-fresh-air',
          kind: 'dilution',
          weight: 'strong',
          message: 'The crew wrote down that fresh air was drawn.',
          evidence: [],
          source: 'test',
        },
      ],
      ruling: {
        id: 'r1',
        sampleId: 's4',
        verdict: 'leave-out',
        reason: 'rod loose, redrawn',
        actor: 'A. Tester',
        atUtc: '2026-05-13T08:00:00Z',
      },
    }),
  ];
  const corners = [at(0, 0), at(0, 30), at(40, 31.5), at(41, -2)];
  return {
    path: 'test.gasplat',
    revision: 7,
    name: 'Test lot (invented)',
    isDemo: true,
    note: null,
    basis: { surface: 'fixture', class: 'fixture' },
    frame,
    lot: corners.map((corner) => toFrame(frame, corner)),
    lotAreaM2: 1300,
    keepOuts: [
      {
        id: 'k1',
        label: 'Pipe',
        shape: 'line',
        points: [toFrame(frame, at(1, 1)), toFrame(frame, at(9, 9))],
        bufferM: 1,
      },
    ],
    footprint: {
      id: 'f1',
      label: 'House',
      ring: house,
      drawnRing: house,
      placements: [],
    },
    probes,
    samples,
    assessments,
    marks: probes.slice(0, 3).map((p, i) => ({
      probeId: p.id,
      symbol: 'valid' as const,
      measured: assessments[i]?.measured ?? null,
      leftOut: null,
      treatment: assessments[i]?.treatment ?? null,
      treatmentReason: assessments[i]?.treatmentReason ?? '',
      sampleIds: [samples[i]?.id ?? ''],
    })),
    settings: {
      schemeId: 'test',
      enteredLimitsKBqPerM3: [],
      referenceDepthM: 0.8,
      thresholds: defaultThresholds(),
      surface: {
        method: 'kriging',
        model: 'auto',
        transform: 'auto',
        drift: 'constant',
        idwPower: 2,
        cellM: null,
        shallow: 'lower-bound',
        diffusionLengthM: null,
      },
      radonUnit: 'kBq/m3',
    },
    sheetTexts: {},
    importedSchemes: [],
    canUndo: null,
    canRedo: null,
    warnings: [],
  };
}
