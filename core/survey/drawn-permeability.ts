import type { DrawLine, DrawnGround, DrawTest, SampleDraw } from '../contract/draw-test.ts';
import type { Probe, Sample } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { airViscosityPaS } from '../soil/air.ts';
import type { Permeability } from '../soil/permeability.ts';
import { permeabilityOf, pipeLossPa } from '../soil/permeability.ts';
import { shapeFactorM } from '../soil/shape-factor.ts';
import { sampleDepthM } from './sample-facts.ts';

const M3_PER_S = 1e-6 / 60;

/**
 * Permeability from a sample's flow and suction; null where one of them was not noted, and for blanks. The depth of
 * the sample, else of the probe, else the reference depth is that of the cavity's centre.
 */
export function drawOf(
  sample: Sample,
  probe: Probe,
  test: DrawTest,
  referenceDepthM: number,
): SampleDraw | null {
  const { flowMlPerMin, suctionPa } = sample;
  if (sample.kind === 'blank' || flowMlPerMin === undefined || suctionPa === null) return null;
  if (sample.saidWater) return nothing('Water was seen in the probe: flow and suction say nothing of gas.');
  try {
    const found = permeabilityOf({
      flowM3PerS: share(flowMlPerMin * M3_PER_S, test.flowUPct),
      suctionPa: share(suctionPa, test.suctionUPct),
      lineLossPa: share(lineLossPa(test.line, flowMlPerMin, test.soilTemperatureC), test.lineLossUPct),
      shapeFactorM: share(
        shapeFactorM(
          test.cavity.kind === 'stated'
            ? test.cavity
            : { ...test.cavity, centreDepthM: sampleDepthM(sample, probe) ?? referenceDepthM },
        ),
        test.shapeFactorUPct,
      ),
      soilTemperatureC: { value: test.soilTemperatureC, u: test.soilTemperatureUC },
      airPressurePa: 100 * test.airPressureHPa,
      meteredAt: test.meteredAt,
      meterTemperatureC: test.meterTemperatureC,
      leastFlowM3PerS: test.leastFlowMlPerMin * M3_PER_S,
      leastSuctionPa: test.leastSuctionPa,
    });
    return drawn(found, sample);
  } catch (error) {
    if (error instanceof AppError) return nothing(`${error.message}.`);
    throw error;
  }
}

function drawn(found: Permeability, sample: Sample): SampleDraw {
  const { notes: basic, ...ground } = found;
  const isOpen = ground.kind === 'lessThan' && sample.saidTight !== true;
  return {
    ground,
    enters: !isOpen,
    notes: [
      ...basic,
      ...(isOpen
        ? ['Water in the probe would look the same: it enters no class until the crew says tight ground.']
        : []),
      ...(sample.leakTestPassed === false ? ['The leak test failed: air from the line reads as flow.'] : []),
    ],
  };
}

function nothing(reason: string): SampleDraw {
  return { ground: null, enters: false, notes: [reason] };
}

/** Laminar: in step with the flow. */
function lineLossPa(line: DrawLine, flowMlPerMin: number, temperatureC: number): number {
  return line.kind === 'measured'
    ? (line.lossPa * flowMlPerMin) / line.atFlowMlPerMin
    : pipeLossPa(airViscosityPaS(temperatureC), line.lengthM, line.boreM, flowMlPerMin * M3_PER_S);
}

function share(value: number, uPct: number) {
  return { value, u: (uPct / 100) * value };
}

/** The most permeable of several draws of one probe, the cautious one; null where none may enter a class. */
export function mostPermeable(samples: readonly Sample[]): DrawnGround | null {
  let best: DrawnGround | null = null;
  for (const { draw } of samples) {
    if (draw === undefined || !draw.enters || draw.ground === null) continue;
    if (best === null || rank(draw.ground) > rank(best)) best = draw.ground;
  }
  return best;
}

/** 'Less than' comes after all others, however high its bound. */
function rank(ground: DrawnGround): number {
  if (ground.kind === 'value') return ground.permeabilityM2;
  return ground.kind === 'moreThan' ? ground.boundM2 : ground.boundM2 - 1;
}

/** `1.23e-12`, `< 4.50e-15` or `> 3.40e-11`, m2. */
export function boundedText(ground: DrawnGround, digits = 2): string {
  if (ground.kind === 'value') return ground.permeabilityM2.toExponential(digits);
  return `${ground.kind === 'lessThan' ? '<' : '>'} ${ground.boundM2.toExponential(digits)}`;
}

/** As `boundedText`, a value with its standard uncertainty: `1.23e-12 +- 1.5e-13`. */
export function groundText(ground: DrawnGround): string {
  const u = ground.kind === 'value' ? ` +- ${ground.uM2.toExponential(1)}` : '';
  return `${boundedText(ground)}${u}`;
}
