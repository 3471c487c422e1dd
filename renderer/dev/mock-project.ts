/** Invented lot for looking at the window without an engine. Development and tests only. */
import type {
  Flag,
  Measured,
  PositionM,
  Probe,
  ProjectView,
  Sample,
  SampleAssessment,
  Treatment,
} from '../../core/contract/model.ts';
import type { FlagThresholds } from '../../core/contract/settings.ts';
import { toNative } from '../map/project-frame.ts';
import { sampleSymbol } from '../map/sample-symbol.ts';
import { mockCatalogue } from './mock-catalogue.ts';

const FRAME: ProjectView['frame'] = {
  crs: { kind: 'epsg', code: 32633 },
  crsName: 'WGS 84 / UTM zone 33N',
  originNative: [512300, 5540200],
  metresPerUnit: 1,
  unitLabel: 'm',
  gridScaleFactor: 0.99960187,
  convergenceDeg: 0.131,
};

const LOT: readonly PositionM[] = [
  [2.4, 1.2],
  [41.8, -0.6],
  [45.1, 27.3],
  [24.6, 33.8],
  [0.7, 30.9],
];

type Trouble = 'none' | 'diluted' | 'suspect' | 'water' | 'shallow' | 'ruled-out';

function radonAt([x, y]: PositionM): number {
  return 14 + 46 * Math.exp(-((x - 31) ** 2 + (y - 19) ** 2) / 170) + 0.25 * y;
}

function flagsOf(trouble: Trouble): Flag[] {
  switch (trouble) {
    case 'diluted':
      return [
        {
          rule: 'oxygen-near-outside',
          kind: 'dilution',
          weight: 'strong',
          message: 'Oxygen is close to that of outside air: surface air was drawn.',
          evidence: [{ what: 'Oxygen in the sample', value: 20.4, limit: 19.5, unit: '%' }],
          source: 'common practice',
        },
        {
          rule: 'neighbours',
          kind: 'outlier',
          weight: 'suspect',
          message: 'Far below what the neighbours predict.',
          evidence: [
            { what: 'Leave-one-out z', value: -3.4, limit: -3, unit: '' },
            { what: 'Predicted by the others', value: 38.2, limit: null, unit: 'kBq/m3' },
          ],
          source: 'common practice',
        },
      ];
    case 'suspect':
      return [
        {
          rule: 'low-suction',
          kind: 'dilution',
          weight: 'suspect',
          message: 'Suction is far too low for the soil as described.',
          evidence: [{ what: 'Suction', value: 90, limit: 200, unit: 'Pa' }],
          source: 'from memory',
        },
      ];
    case 'water':
      return [
        {
          rule: 'water-said',
          kind: 'water',
          weight: 'strong',
          message: 'The crew wrote down water: no gas value.',
          evidence: [{ what: 'Suction', value: 24500, limit: 24000, unit: 'Pa' }],
          source: 'common practice',
        },
      ];
    case 'shallow':
      return [
        {
          rule: 'shallow',
          kind: 'shallow',
          weight: 'note',
          message: 'Shallower than the reference depth.',
          evidence: [{ what: 'Depth', value: 0.55, limit: 0.7, unit: 'm' }],
          source: 'common practice',
        },
      ];
    default:
      return [];
  }
}

const TROUBLES: Readonly<Record<number, Trouble>> = {
  3: 'diluted',
  7: 'suspect',
  11: 'water',
  14: 'shallow',
  17: 'ruled-out',
};

function measuredOf(trouble: Trouble, estimate: number): Measured {
  if (trouble === 'water') return { kind: 'none', reason: 'water' };
  if (trouble === 'diluted') return { kind: 'atLeast', boundKBqPerM3: estimate * 0.24 };
  return {
    kind: 'value',
    estimateKBqPerM3: estimate,
    randomUKBqPerM3: estimate * 0.035 + 0.4,
    commonURel: 0.04,
  };
}

/** @param columns - probes in a row of four rows; a large number shows how the window bears a subdivision */
const HOUSE: readonly PositionM[] = [
  [22, 9],
  [36, 8.2],
  [36.6, 18],
  [22.6, 18.8],
];

export function mockView(path: string, name = 'Invented lot 7', columns = 5): ProjectView {
  const probes: Probe[] = [];
  const samples: Sample[] = [];
  const assessments: SampleAssessment[] = [];
  let n = 0;
  for (let row = 0; row < 4; row++) {
    for (let column = 0; column < columns; column++) {
      n++;
      const at: PositionM = [
        5.5 + (column * 42) / columns + (row % 2) * 1.6,
        4.2 + row * 7.4 + Math.sin(n * 1.7) * 0.9,
      ];
      const id = `p${n}`;
      const trouble = TROUBLES[n] ?? 'none';
      const estimate = radonAt(at) * (1 + 0.12 * Math.sin(n * 2.3));
      probes.push({
        id,
        label: `P${String(n).padStart(2, '0')}`,
        state: n === 20 ? 'planned' : 'driven',
        positionM: at,
        native: toNative(FRAME, at),
        depthM: 0.8,
        soil: n % 3 === 0 ? 'silty sand' : 'sandy loam',
        fineFractionPct: 22 + (n % 5) * 4,
        permeabilityM2: 1.6e-12 * (1 + (n % 4)),
        permeabilityClass: 'medium',
        note: null,
        added: false,
      });
      if (n === 20) continue;
      const measured = measuredOf(trouble, estimate);
      const treatment: Treatment =
        trouble === 'water'
          ? 'no-value'
          : trouble === 'diluted'
            ? 'lower-bound'
            : trouble === 'ruled-out'
              ? 'leave-out'
              : 'use';
      samples.push({
        id: `s${n}`,
        probeId: id,
        kind: 'grab',
        takenUtc: `2025-05-14T0${7 + (n % 3)}:1${n % 6}:00Z`,
        depthM: trouble === 'shallow' ? 0.55 : 0.8,
        radonKBqPerM3: measured.kind === 'none' ? null : trouble === 'diluted' ? estimate * 0.3 : estimate,
        radonUKBqPerM3: measured.kind === 'none' ? null : estimate * 0.035,
        radonBelowKBqPerM3: null,
        oxygenPct: trouble === 'diluted' ? 20.4 : 18.1,
        carbonDioxidePct: 1.9,
        suctionPa: trouble === 'suspect' ? 90 : trouble === 'water' ? 24500 : 1400,
        saidFreshAir: false,
        saidWater: trouble === 'water',
        remark: trouble === 'water' ? 'wet tip' : null,
        source: { file: 'field-sheet.csv', row: n + 1 },
      });
      assessments.push({
        sampleId: `s${n}`,
        probeId: id,
        dilution: trouble === 'diluted' ? 'diluted' : trouble === 'suspect' ? 'suspect' : 'none',
        water: trouble === 'water' ? 'water' : 'none',
        flags: flagsOf(trouble),
        ruling:
          trouble === 'ruled-out'
            ? {
                id: 'r1',
                sampleId: `s${n}`,
                verdict: 'leave-out',
                reason: 'Label swapped with a blank; sheet corrected by hand',
                actor: 'A. Sample',
                atUtc: '2025-05-15T06:40:00Z',
              }
            : null,
        treatment,
        treatmentReason:
          trouble === 'none' || trouble === 'shallow'
            ? 'nothing speaks against it'
            : trouble === 'ruled-out'
              ? 'left out by a ruling'
              : trouble === 'suspect'
                ? 'used; one finding makes it suspect'
                : trouble === 'water'
                  ? 'water in the probe'
                  : 'diluted: the ground holds at least this',
        measured,
        unruledTreatment: trouble === 'ruled-out' ? 'use' : treatment,
        unruledMeasured: measured,
      });
    }
  }
  return {
    path,
    revision: 12,
    name,
    isDemo: true,
    note: null,
    frame: FRAME,
    lot: LOT,
    lotAreaM2: 1318.4,
    keepOuts: [
      {
        id: 'k1',
        label: 'Gas pipe',
        shape: 'polygon',
        points: [
          [10, -0.4],
          [12, -0.5],
          [17, 31.6],
          [15, 31.4],
        ],
        bufferM: 1,
      },
    ],
    footprint: { id: 'f1', label: 'Planned house', ring: HOUSE, drawnRing: HOUSE, placements: [] },
    probes,
    samples,
    assessments,
    settings: {
      schemeId: 'czech-building-site-index',
      referenceDepthM: 0.8,
      // Only those that the mock catalogue tells of.
      thresholds: Object.fromEntries(
        mockCatalogue().thresholds.map(({ key, standard }) => [key, standard]),
      ) as unknown as FlagThresholds,
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
      enteredLimitsKBqPerM3: [],
    },
    basis: { surface: 'mock', class: 'mock' },
    sheetTexts: {},
    importedSchemes: [],
    canUndo: 'Ruling on P17',
    canRedo: null,
    marks: probes.map((probe) => {
      const one = assessments.find((assessment) => assessment.probeId === probe.id);
      return {
        probeId: probe.id,
        symbol: one ? sampleSymbol(one) : 'planned',
        measured: one?.measured ?? null,
        leftOut: one?.treatment === 'leave-out' ? one.measured : null,
        treatment: one?.treatment ?? null,
        treatmentReason: one?.treatmentReason ?? 'not sampled',
        sampleIds: one ? [one.sampleId] : [],
      };
    }),
    warnings: [],
  };
}

/** A new project: nothing in it yet. */
export function emptyMockView(path: string, name: string, crs: ProjectView['frame']['crs']): ProjectView {
  const full = mockView(path, name);
  const unit = crs.kind === 'local' ? crs.unit : 'm';
  return {
    ...full,
    revision: 1,
    isDemo: false,
    frame: {
      crs,
      crsName: crs.kind === 'local' ? crs.label : 'WGS 84 / UTM zone 33N',
      originNative: [0, 0],
      metresPerUnit: unit === 'm' ? 1 : 0.3048,
      unitLabel: unit === 'm' ? 'm' : 'ft',
      gridScaleFactor: 1,
      convergenceDeg: null,
    },
    lot: null,
    lotAreaM2: null,
    keepOuts: [],
    footprint: null,
    probes: [],
    samples: [],
    assessments: [],
    marks: [],
    sheetTexts: {},
    importedSchemes: [],
    canUndo: null,
  };
}
