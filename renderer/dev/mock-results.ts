/** Results of the shape the engine gives, from a plain distance weighting. Development and tests only. */
import { contours } from 'd3-contour';
import type { PositionM, ProjectView } from '../../core/contract/model.ts';
import type { ClassResult, GridSpec, ShownSurface } from '../../core/contract/results.ts';
import { boundsOf, distanceM, ringContains } from '../map/geometry.ts';

export function mockSurface(view: ProjectView): ShownSurface {
  const bounds = boundsOf(view.lot ?? []) ?? { minX: 0, minY: 0, maxX: 1, maxY: 1 };
  const cellM = 0.5;
  const grid: GridSpec = {
    x0M: bounds.minX,
    y0M: bounds.minY,
    cellM,
    columns: Math.ceil((bounds.maxX - bounds.minX) / cellM) + 1,
    rows: Math.ceil((bounds.maxY - bounds.minY) / cellM) + 1,
  };
  const known = view.assessments.flatMap((assessment) => {
    const probe = view.probes.find((one) => one.id === assessment.probeId);
    return probe && assessment.measured.kind === 'value' && assessment.treatment === 'use'
      ? [{ id: probe.id, at: probe.positionM, value: assessment.measured.estimateKBqPerM3 }]
      : [];
  });
  const predict = (at: PositionM, without?: string) => {
    let [sum, weights] = [0, 0];
    for (const one of known) {
      if (one.id === without) continue;
      const w = 1 / (distanceM(one.at, at) ** 3 + 8);
      sum += w * one.value;
      weights += w;
    }
    return sum / weights;
  };
  const count = grid.columns * grid.rows;
  const estimate = new Float64Array(count).fill(Number.NaN);
  const error = new Float64Array(count).fill(Number.NaN);
  const chance = new Float64Array(count).fill(Number.NaN);
  const everywhere = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const at: PositionM = [
      grid.x0M + (i % grid.columns) * cellM,
      grid.y0M + Math.floor(i / grid.columns) * cellM,
    ];
    const value = predict(at);
    everywhere[i] = value;
    if (!view.lot || !ringContains(view.lot, at)) continue;
    estimate[i] = value;
    error[i] = 2 + 1.1 * Math.min(...known.map((one) => distanceM(one.at, at)));
    chance[i] = 1 / (1 + Math.exp(-(value - 30) / 4));
  }
  const levels = [20, 25, 30, 35, 40, 45, 50];
  const toMetres = ([x, y]: number[]): PositionM => [
    grid.x0M + ((x ?? 0) - 0.5) * cellM,
    grid.y0M + ((y ?? 0) - 0.5) * cellM,
  ];
  const shapes = contours()
    .size([grid.columns, grid.rows])
    .thresholds([-1, ...levels])([...estimate].map((v) => (Number.isFinite(v) ? v : -99)));
  return {
    revision: view.revision,
    method: view.settings.surface.method,
    grid,
    estimateKBqPerM3: estimate,
    standardErrorKBqPerM3:
      view.settings.surface.method === 'idw' ? new Float64Array(count).fill(Number.NaN) : error,
    exceedance: view.settings.surface.method === 'idw' ? null : { limitKBqPerM3: 30, probability: chance },
    levelsKBqPerM3: levels,
    weakGround: null,
    limits: [{ valueKBqPerM3: 30, name: 'high' }],
    lines: shapes.slice(1).flatMap((shape) =>
      shape.coordinates.flatMap((polygon) =>
        polygon.map((ring) => ({
          level: shape.value,
          points: ring.slice(0, -1).map(toMetres),
          closed: true,
        })),
      ),
    ),
    bands: shapes.map((shape, index) => ({
      from: index === 0 ? 0 : shape.value,
      to: levels[index] ?? null,
      polygons: shape.coordinates.map((polygon) => polygon.map((ring) => ring.slice(0, -1).map(toMetres))),
    })),
    variogram:
      view.settings.surface.method === 'idw'
        ? null
        : {
            bins: [4, 8, 12, 16, 20, 24, 28].map((lagM, i) => ({
              lagM,
              semivariance: 12 + 150 * (1 - Math.exp(-lagM / 9)) + 8 * Math.sin(i * 2),
              pairs: 12 + 6 * i - (i > 4 ? 10 * (i - 4) : 0),
            })),
            directions: [],
            model:
              view.settings.surface.model === 'auto'
                ? { kind: 'spherical', nugget: 9.5, partialSill: 148, rangeM: 23 }
                : view.settings.surface.model,
            fitted: { kind: 'spherical', nugget: 14, partialSill: 150, rangeM: 21.2 },
            transform: 'none',
            drift: 'constant',
            unit: '(kBq/m3)^2',
            reasons: [
              'Spherical: likelihood 2.1 better than exponential, 3.4 than Gaussian.',
              'Nugget kept above the counting variance of the samples.',
            ],
          },
    crossValidation: {
      n: known.length,
      meanError: 0.21,
      rmse: 4.83,
      msdr: 1.12,
      correlation: 0.87,
      verdict: 'The surface predicts left-out probes without bias, and its stated error is about right.',
      points: known.map((one, i) => ({
        probeId: one.id,
        observed: one.value,
        predicted: predict(one.at, one.id),
        z: i === 5 ? 2.3 : Math.sin(i * 3),
      })),
    },
    boundedSampleIds: [],
    depthCorrected: [],
    usedSampleIds: known.map((one) => one.id.replace('p', 's')),
    notUsed: [
      { sampleId: 's11', reason: 'water in the probe' },
      { sampleId: 's17', reason: 'left out by a ruling' },
    ],
    warnings: ['17 values are few for a variogram; the range is uncertain by about a third.'],
    seconds: 0.42,
  };
}

export function mockClass(view: ProjectView): ClassResult {
  return {
    schemeId: view.settings.schemeId,
    schemeName: 'Radon index of a building site',
    edition: 'Method of 2004',
    source: 'Neznal et al. 2004, Czech Geological Survey Special Papers 16',
    classId: 'medium',
    className: 'Medium',
    range: null,
    refusal: null,
    statisticName: 'Third quartile',
    statisticKBqPerM3: 37.84,
    statisticIsAtMost: false,
    quantileRule: 'third quartile, linear between ranks (h = (n - 1) p + 1)',
    permeabilityClass: 'medium',
    permeabilityBasis: 'third quartile of 19 measured values, 4.8 × 10⁻¹² m² is on the border',
    validCount: 16,
    minimumCount: 15,
    added: null,
    decidedBy: 'Third quartile 37.8 kBq/m³ lies between 20 and 70 kBq/m³ at medium permeability.',
    wouldChange: [
      'High permeability instead of medium would give High (limit 30 kBq/m³).',
      'Two valid samples fewer would refuse the class.',
    ],
    doubts: [
      {
        kind: 'measurement',
        probabilities: [
          { classId: 'low', probability: 0 },
          { classId: 'medium', probability: 0.999 },
          { classId: 'high', probability: 0.001 },
        ],
        method: '2000 draws of every value within its uncertainty',
      },
      {
        kind: 'sampling',
        probabilities: [
          { classId: 'low', probability: 0.004 },
          { classId: 'medium', probability: 0.981 },
          { classId: 'high', probability: 0.015 },
        ],
        method: '2000 draws of the probes with replacement',
      },
    ],
    alternatives: [
      {
        what: 'Quartile by the median of halves',
        statisticKBqPerM3: 38.4,
        classId: 'medium',
        className: 'Medium',
        isWithoutRulings: false,
        isWithoutAdded: false,
      },
      {
        what: 'Without any ruling',
        statisticKBqPerM3: 39.1,
        classId: 'medium',
        className: 'Medium',
        isWithoutRulings: true,
        isWithoutAdded: false,
      },
      {
        what: 'Lower bound of P03 at its bound',
        statisticKBqPerM3: 36.7,
        classId: 'medium',
        className: 'Medium',
        isWithoutRulings: false,
        isWithoutAdded: false,
      },
      {
        what: 'High permeability',
        statisticKBqPerM3: 37.84,
        classId: 'high',
        className: 'High',
        isWithoutRulings: false,
        isWithoutAdded: false,
      },
    ],
    unconfirmed: ['Side of the equal sign at each limit: from memory.'],
    advice: 'Protect the building against radon from the ground as the local code asks for this class.',
    cautions: ['The index is that of the ground, not of the finished building.'],
    excluded: [
      { sampleId: 's3', reason: 'diluted: only a lower bound' },
      { sampleId: 's11', reason: 'water' },
      { sampleId: 's17', reason: 'left out by a ruling' },
    ],
  };
}
