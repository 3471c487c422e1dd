import { AppError } from '../errors.ts';
import { airViscosityPaS, VISCOSITY_U_REL, ZERO_CELSIUS_K } from './air.ts';
import type { Uncertain } from './uncertainty.ts';
import { exact, propagate } from './uncertainty.ts';

/** One steady draw at the probe. */
export interface FlowTest {
  /** As the meter reads, at the pressure and temperature of the meter. */
  readonly flowM3PerS: Uncertain;
  /** Under outside pressure, at the gauge; taken positive. */
  readonly suctionPa: Uncertain;
  /** Suction that line and probe alone need at that flow: measured in open air, or `pipeLossPa`. */
  readonly lineLossPa: Uncertain;
  readonly shapeFactorM: Uncertain;
  readonly soilTemperatureC: Uncertain;
  readonly airPressurePa: number;
  /** Where the flow is metered: behind the pump at outside pressure, or in the line at the gauge's suction. */
  readonly meteredAt: 'outside' | 'line';
  readonly meterTemperatureC: number;
  /** Least flow the meter shows, and least suction the gauge shows. */
  readonly leastFlowM3PerS: number;
  readonly leastSuctionPa: number;
}

/** Permeability as measured; a bound stays a bound. */
export type Permeability =
  | {
      readonly kind: 'value';
      readonly permeabilityM2: number;
      readonly uM2: number;
      readonly notes: readonly string[];
    }
  | { readonly kind: 'lessThan'; readonly boundM2: number; readonly notes: readonly string[] }
  | { readonly kind: 'moreThan'; readonly boundM2: number; readonly notes: readonly string[] };

/** From here on the gas is thinner on its way by enough to say so (5 % of the air pressure, from memory). */
const NOTABLE_SUCTION_SHARE = 0.05;

const ONE_SIDED_95 = 1.645;

/** Plain Darcy form k = mu Q / (F dP), m2, for small suction and flow at the cavity. */
export function darcyM2(
  viscosityPaS: number,
  flowM3PerS: number,
  shapeFactorM: number,
  suctionPa: number,
): number {
  return (viscosityPaS * flowM3PerS) / (shapeFactorM * suctionPa);
}

/**
 * For gas that expands on its way: mass flow is the same everywhere, so dP becomes dP (P1 + P2) / (2 P) with P where the
 * flow is taken (integrated gas flow, Kirkham 1947).
 */
export function darcyGasM2(
  viscosityPaS: number,
  flowM3PerS: number,
  flowPressurePa: number,
  shapeFactorM: number,
  soilPressurePa: number,
  cavityPressurePa: number,
): number {
  const driving = (soilPressurePa ** 2 - cavityPressurePa ** 2) / (2 * flowPressurePa);
  return (viscosityPaS * flowM3PerS) / (shapeFactorM * driving);
}

/** Pressure lost in a pipe by laminar flow, 128 mu L Q / (pi d^4) (Hagen and Poiseuille). */
export function pipeLossPa(viscosityPaS: number, lengthM: number, boreM: number, flowM3PerS: number): number {
  return (128 * viscosityPaS * lengthM * flowM3PerS) / (Math.PI * boreM ** 4);
}

/**
 * Permeability from a draw, with line loss taken off, flow brought to soil temperature and cavity pressure, and
 * viscosity at soil temperature. No flow at full suction is 'less than', flow without suction 'more than'.
 * @throws AppError BAD_INPUT for numbers that no draw can give
 */
export function permeabilityOf(test: FlowTest): Permeability {
  checkTest(test);
  const noFlow = test.flowM3PerS.value < test.leastFlowM3PerS;
  const cavity = test.suctionPa.value - test.lineLossPa.value;
  const noSuction = cavity < test.leastSuctionPa;
  if (noFlow && noSuction)
    throw new AppError('BAD_INPUT', 'Neither flow nor suction: the pump did not draw', { field: 'flow' });
  const ground: readonly Uncertain[] = [
    test.shapeFactorM,
    test.soilTemperatureC,
    { value: 1, u: VISCOSITY_U_REL },
  ];
  // A bound is moved by 1.645 u to its safe side, so that it is one in 95 of 100 cases.
  if (noFlow) {
    const k = propagate(
      (x) => kOf(test, x),
      [exact(test.leastFlowM3PerS), test.suctionPa, exact(0), ...ground],
    );
    return {
      kind: 'lessThan',
      boundM2: k.value + ONE_SIDED_95 * k.u,
      notes: ['No flow that the meter shows: tight or wet ground.'],
    };
  }
  if (noSuction) {
    const k = propagate(
      (x) => kOf(test, x),
      [test.flowM3PerS, exact(test.leastSuctionPa), exact(0), ...ground],
    );
    return {
      kind: 'moreThan',
      boundM2: Math.max(0, k.value - ONE_SIDED_95 * k.u),
      notes: ['No suction beyond that of the line: very open ground.'],
    };
  }
  const result = propagate(
    (x) => kOf(test, x),
    [test.flowM3PerS, test.suctionPa, test.lineLossPa, ...ground],
  );
  return { kind: 'value', permeabilityM2: result.value, uM2: result.u, notes: notesOf(test, cavity) };
}

/** @param x flow, suction at the gauge, line loss, shape factor, soil temperature, factor on viscosity */
function kOf(test: FlowTest, x: readonly number[]): number {
  const [flow = 0, suction = 0, loss = 0, shape = 1, temperatureC = 0, viscosityFactor = 1] = x;
  const outside = test.airPressurePa;
  const meterPressure = test.meteredAt === 'outside' ? outside : outside - suction;
  const warmed = (flow * (temperatureC + ZERO_CELSIUS_K)) / (test.meterTemperatureC + ZERO_CELSIUS_K);
  // A suction that its own doubt would bring to 0 keeps a tenth of itself, so that k stays finite.
  const own = test.suctionPa.value - test.lineLossPa.value;
  const cavitySuction = Math.max(suction - loss, 0.1 * own, 1e-9);
  return darcyGasM2(
    viscosityFactor * airViscosityPaS(temperatureC),
    Math.max(0, warmed),
    meterPressure,
    shape,
    outside,
    outside - cavitySuction,
  );
}

function notesOf(test: FlowTest, cavitySuctionPa: number): string[] {
  const notes: string[] = [];
  if (cavitySuctionPa > NOTABLE_SUCTION_SHARE * test.airPressurePa)
    notes.push(
      `Suction is ${((100 * cavitySuctionPa) / test.airPressurePa).toFixed(0)} % of the air pressure: the gas expands on its way (taken into account), and water may be drawn in.`,
    );
  if (test.lineLossPa.value > 0.5 * test.suctionPa.value)
    notes.push('More than half of the suction is lost in the line: use a wider line or a lower flow.');
  if (cavitySuctionPa < 3 * Math.hypot(test.suctionPa.u, test.lineLossPa.u))
    notes.push(
      'Suction at the cavity is less than three of its uncertainties: read k as an order of magnitude.',
    );
  return notes;
}

function checkTest(test: FlowTest): void {
  const faults: [string, boolean, number][] = [
    ['flowM3PerS', test.flowM3PerS.value >= 0, test.flowM3PerS.value],
    [
      'suctionPa',
      test.suctionPa.value >= 0 && test.suctionPa.value < test.airPressurePa,
      test.suctionPa.value,
    ],
    ['lineLossPa', test.lineLossPa.value >= 0, test.lineLossPa.value],
    ['shapeFactorM', test.shapeFactorM.value > 0, test.shapeFactorM.value],
    ['airPressurePa', test.airPressurePa > 30_000 && test.airPressurePa < 120_000, test.airPressurePa],
    ['leastFlowM3PerS', test.leastFlowM3PerS > 0, test.leastFlowM3PerS],
    ['leastSuctionPa', test.leastSuctionPa > 0, test.leastSuctionPa],
  ];
  for (const [field, fine, value] of faults)
    if (!fine) throw new AppError('BAD_INPUT', `${field} of the flow test cannot be ${value}`, { field });
}
