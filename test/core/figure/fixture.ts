/** An invented lot with an invented field. Nothing here was measured anywhere. */
import { contours } from 'd3-contour';
import type { PositionM, ProjectFrame, RingM } from '../../../core/contract/model.ts';
import type { ClassResult, ContourBand, ContourLine } from '../../../core/contract/results.ts';
import type { SymbolKind } from '../../../core/contract/symbols.ts';
import type {
  FigureInput,
  FigureProbe,
  FigureRow,
  FigureSurface,
} from '../../../core/figure/figure-model.ts';

export const CAUTIONS = [
  'Have buried services located and marked before any probe is driven.',
  'Follow radiation and site-safety rules.',
  'Soil gas does not by itself tell the radon in a finished house; test the house.',
  'The class follows the named scheme only; local code and a licensed practitioner decide.',
  'Flagged and left-out samples are listed on every figure.',
];

export const METRE_FRAME: ProjectFrame = {
  crs: { kind: 'epsg', code: 32633 },
  crsName: 'WGS 84 / UTM zone 33N',
  originNative: [458_100, 5_551_200],
  metresPerUnit: 1,
  unitLabel: 'm',
  gridScaleFactor: 0.999622,
  convergenceDeg: -0.44,
};

export const FOOT_FRAME: ProjectFrame = {
  crs: { kind: 'local', unit: 'ft', label: 'Tape grid' },
  crsName: 'Local grid "Tape grid"',
  originNative: [0, 0],
  metresPerUnit: 0.3048,
  unitLabel: 'ft',
  gridScaleFactor: 1,
  convergenceDeg: null,
};

export const LOT: RingM = [
  [2, 1.5],
  [38.6, 4.2],
  [41.4, 27.8],
  [25.2, 33.1],
  [0.4, 29.6],
];

function insideRing([x, y]: PositionM, ring: RingM): boolean {
  let inside = false;
  ring.forEach(([ax, ay], i) => {
    const [bx, by] = ring[(i + 1) % ring.length] as PositionM;
    if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) inside = !inside;
  });
  return inside;
}

export function invented([x, y]: PositionM): number {
  const bump = (cx: number, cy: number, s: number, h: number): number =>
    h * Math.exp(-((x - cx) ** 2 + (y - cy) ** 2) / (2 * s * s));
  return (
    14 +
    bump(30, 20, 7, 62) +
    bump(10, 11, 6, 34) +
    bump(6, 26, 5, -8) +
    3 * Math.sin(x / 4) * Math.cos(y / 5)
  );
}

export function inventedSurface(levels: readonly number[], lot: RingM = LOT): FigureSurface {
  const cell = 0.5;
  const [columns, rows] = [100, 84];
  const at = (i: number, j: number): PositionM => [-3 + (i + 0.5) * cell, -3 + (j + 0.5) * cell];
  const values = Array.from({ length: columns * rows }, (_, k) =>
    invented(at(k % columns, Math.floor(k / columns))),
  );
  const isolines = contours()
    .size([columns, rows])
    .thresholds([0, ...levels])(values);
  const project = (p: number[]): PositionM => [-3 + (p[0] as number) * cell, -3 + (p[1] as number) * cell];
  // Each band is drawn over the one below it, so "at or above" serves as "between".
  const bands = isolines.map(
    (shape, i): ContourBand => ({
      from: shape.value,
      to: isolines[i + 1]?.value ?? null,
      polygons: shape.coordinates.map((polygon) => polygon.map((ring) => ring.map(project))),
    }),
  );
  const lines: ContourLine[] = [];
  for (const shape of isolines.slice(1)) {
    for (const ring of shape.coordinates.flat()) {
      let points: PositionM[] = [];
      for (const point of ring.map(project)) {
        if (insideRing(point, lot)) points.push(point);
        else {
          if (points.length > 1) lines.push({ level: shape.value, points, closed: false });
          points = [];
        }
      }
      if (points.length > 1) lines.push({ level: shape.value, points, closed: false });
    }
  }
  return {
    method: 'kriging',
    levelsKBqPerM3: levels,
    lines,
    bands,
    variogram: {
      bins: [],
      directions: [],
      drift: 'constant',
      model: { kind: 'spherical', nugget: 38, partialSill: 312, rangeM: 17.5 },
      fitted: null,
      transform: 'none',
      unit: '(kBq/m3)^2',
      reasons: [],
    },
    crossValidation: {
      n: 13,
      meanError: 0.42,
      rmse: 9.7,
      msdr: 1.12,
      correlation: 0.81,
      verdict: 'The surface foretells a left-out point about as well as its own error says.',
      points: [],
    },
    warnings: ['15 points are few for a variogram: read the surface as a sketch.'],
  };
}

const KINDS: Record<number, SymbolKind> = { 4: 'diluted', 9: 'water', 11: 'suspect', 13: 'left-out' };

/** `count` probes on a shaken grid inside the lot; four of the first fifteen carry findings. */
export function inventedProbes(
  count: number,
  lot: RingM = LOT,
): { probes: FigureProbe[]; rows: FigureRow[] } {
  const probes: FigureProbe[] = [];
  const rows: FigureRow[] = [];
  const perRow = Math.ceil(Math.sqrt(count * 1.9));
  const spacing = 40 / perRow;
  for (let k = 0; probes.length < count && k < 4 * count + 200; k++) {
    const i = k % perRow;
    const j = Math.floor(k / perRow);
    const position: PositionM = [
      3 + i * spacing + 0.3 * spacing * Math.sin(7.1 * k),
      4 + j * spacing * 1.12 + 0.3 * spacing * Math.cos(5.3 * k),
    ];
    if (!insideRing(position, lot)) continue;
    const n = probes.length;
    const symbol = KINDS[n] ?? 'valid';
    const value = invented(position);
    const measured =
      symbol === 'water'
        ? ({ kind: 'none', reason: 'water' } as const)
        : symbol === 'diluted'
          ? ({ kind: 'atLeast', boundKBqPerM3: value * 0.6 } as const)
          : ({
              kind: 'value',
              estimateKBqPerM3: value,
              randomUKBqPerM3: value * 0.04,
              commonURel: 0.05,
            } as const);
    const label = `P${String(n + 1).padStart(2, '0')}`;
    probes.push({ label, positionM: position, symbol, measured });
    rows.push({
      label,
      symbol,
      native: [METRE_FRAME.originNative[0] + position[0], METRE_FRAME.originNative[1] + position[1]],
      depthM: 0.8,
      sampleKind: 'grab',
      takenUtc: `2025-05-06T${String(7 + (n % 9)).padStart(2, '0')}:20:00Z`,
      measured,
      finding:
        symbol === 'diluted'
          ? 'Diluted: oxygen 19.8 % is close to outside air (limit 19.0 %)'
          : symbol === 'water'
            ? 'Water seen in the rod'
            : symbol === 'suspect'
              ? 'Suspect: far from what its neighbours foretell (z = -2.4)'
              : '',
      treatment:
        symbol === 'diluted'
          ? 'Lower bound'
          : symbol === 'water'
            ? 'No value'
            : symbol === 'left-out'
              ? 'Left out: label swapped in the field (ruling)'
              : 'Used',
    });
  }
  return { probes, rows };
}

export const CLASS: ClassResult = {
  schemeId: 'invented-scheme',
  schemeName: 'Building-site radon index, by permeability class',
  edition: 'Method of 2004; decree 422/2016 Sb., annex 26',
  source: 'Decree 422/2016 Sb., annex 26; Neznal et al. 2004, Czech Geological Survey Special Papers 16',
  classId: 'medium',
  className: 'Medium radon index',
  range: null,
  refusal: null,
  statisticName: 'Third quartile of radon',
  statisticKBqPerM3: 41.26,
  statisticIsAtMost: false,
  quantileRule: 'quartile rule n - 1',
  permeabilityClass: 'medium',
  permeabilityBasis: 'soil described at 11 of 15 probes',
  validCount: 12,
  minimumCount: 12,
  added: null,
  decidedBy: 'Medium permeability: 20 kBq/m³ ≤ 41.3 kBq/m³ < 70 kBq/m³.',
  wouldChange: ['A third quartile of 70 kBq/m³ or more gives high.', 'High permeability gives high.'],
  doubts: [
    {
      kind: 'measurement',
      probabilities: [
        { classId: 'medium', probability: 0.99 },
        { classId: 'high', probability: 0.01 },
      ],
      method: '2000 draws from the values and their uncertainties.',
    },
    {
      kind: 'sampling',
      probabilities: [
        { classId: 'low', probability: 0.02 },
        { classId: 'medium', probability: 0.9 },
        { classId: 'high', probability: 0.08 },
      ],
      method: '2000 bootstrap samples.',
    },
  ],
  alternatives: [
    {
      what: 'Quartile rule n + 1',
      statisticKBqPerM3: 44.1,
      classId: 'medium',
      className: 'Medium radon index',
      isWithoutRulings: false,
      isWithoutAdded: false,
    },
    {
      what: 'Without rulings',
      statisticKBqPerM3: 40.2,
      classId: 'medium',
      className: 'Medium radon index',
      isWithoutRulings: true,
      isWithoutAdded: false,
    },
  ],
  unconfirmed: ['The side on which a value equal to a limit falls is known from memory only.'],
  advice: 'The scheme asks for a protective layer against the ground under the whole contact area.',
  cautions: ['One value lies on a permeability border.'],
  excluded: [],
};

export const LEVELS = [10, 20, 30, 40, 50, 60, 70];

export function inventedFigure(changes: Partial<FigureInput> = {}, count = 15): FigureInput {
  return {
    title: 'Radon in the soil gas',
    projectName: 'Orchard lot, plot 14 (invented)',
    isDemo: true,
    revision: 41,
    recordHash: '9f2c41d07ab35e8866f1c0de2b7a9e15c3d4f60718293a4b5c6d7e8f90a1b2c3',
    sampledOn: '2025-05-06',
    createdUtc: '2025-05-09T10:00:00Z',
    preparedBy: 'Test preparer',
    program: 'Gasplat 0.1.0',
    frame: METRE_FRAME,
    lot: LOT,
    lotAreaM2: 1082,
    footprint: {
      id: 'f1',
      label: 'House, variant A',
      ring: [
        [21, 12],
        [33, 13],
        [32.2, 22],
        [20.2, 21],
      ],
    },
    keepOuts: [
      {
        id: 'k1',
        label: 'Gas service',
        shape: 'line',
        points: [
          [14.5, 2.4],
          [15.5, 31.4],
        ],
        bufferM: 1,
      },
      {
        id: 'k2',
        label: 'Walnut tree',
        shape: 'polygon',
        points: [
          [4, 20],
          [6.5, 19.4],
          [7.6, 21.6],
          [5, 22.8],
        ],
        bufferM: 0.5,
      },
    ],
    ...inventedProbes(count),
    exceptions: [
      { label: 'P05', symbol: 'diluted', text: 'diluted, oxygen 19.8 %: counts as a lower bound' },
      { label: 'P10', symbol: 'water', text: 'water seen in the rod: no value' },
      { label: 'P12', symbol: 'suspect', text: 'suspect (z = −2.4): used' },
      { label: 'P14', symbol: 'left-out', text: 'left out by a ruling: label swapped in the field' },
    ],
    surface: inventedSurface(LEVELS),
    noSurfaceReason: null,
    limits: [
      { valueKBqPerM3: 20, name: 'medium' },
      { valueKBqPerM3: 70, name: 'high' },
    ],
    classResult: CLASS,
    quality: 'Two duplicates: relative difference 6 % and 11 % (limit 25 %). Calibration of 2025-02-11.',
    cautions: CAUTIONS,
    radonUnit: 'kBq/m3',
    ...changes,
  };
}
