/** Other air taken off a value, as the sample's handling says. */
import type { AirCorrectionChoice, Flag, Measured } from '../contract/model.ts';
import type { SampleReduction } from '../contract/results.ts';
import { AppError } from '../errors.ts';
import type { AirCorrection } from '../soil/air-correction.ts';
import { correctForAir, correctMeasuredForAir } from '../soil/air-correction.ts';
import type { Filling } from '../soil/dead-volume.ts';
import { chosenShare, soilGasShare } from '../soil/dead-volume.ts';
import { leakFromTracer } from '../soil/mixing.ts';
import type { InstrumentRow, SampleRow } from '../store/rows.ts';
import type { ReducedRow } from './reduced-samples.ts';

/** Standard uncertainty of each tracer reading, as a share of it: an own assumption. */
const TRACER_U_REL = 0.05;
const ML_PER_M3 = 1e6;
const MODELS = { 'plug-flow': 'plugFlow', 'well-mixed': 'wellMixed', middle: 'middle' } as const;

export function asValueOrBound(measured: Measured): ReducedRow['measured'] {
  return measured.kind === 'value' || measured.kind === 'atMost' ? measured : null;
}

/** A finding on how a value came about. */
export function quality(
  rule: string,
  weight: Flag['weight'],
  message: string,
  evidence: Flag['evidence'],
  source: string,
): Flag {
  return { rule, kind: 'quality', weight, message, evidence, source };
}

/** The value without the other air that was chosen to be taken off; where that cannot be, a flag says why. */
export function correct(
  raw: ReducedRow['measured'],
  row: SampleRow,
  instrument: InstrumentRow | null,
  flags: Flag[],
): { measured: ReducedRow['measured']; correction: SampleReduction['correction'] } {
  const choice = row.air_correction;
  if (choice === null || raw === null) return { measured: raw, correction: null };
  try {
    const { correction, share, text } = otherAir(choice, row, instrument);
    const measured = asValueOrBound(correctMeasuredForAir(raw, [correction]));
    if (choice === 'tracer')
      flags.push(
        quality(
          'corrected-by-tracer',
          'note',
          text,
          [
            {
              what: 'outside air in the sample',
              value: Number((100 * share.value).toPrecision(3)),
              limit: null,
              unit: '%',
            },
          ],
          'Tracer in sample over tracer under the shroud (California DTSC 2015)',
        ),
      );
    return {
      measured,
      correction: { kind: choice, airShare: share.value, airShareU: share.u, text },
    };
  } catch (error) {
    if (!(error instanceof AppError)) throw error;
    flags.push(
      quality(
        'air-not-corrected',
        'suspect',
        `The correction for other air (${choice}) was not made: ${error.message}`,
        [],
        'Stated by this program',
      ),
    );
    return { measured: raw, correction: null };
  }
}

function otherAir(choice: AirCorrectionChoice, row: SampleRow, instrument: InstrumentRow | null) {
  if (choice === 'tracer') {
    const { tracer_pct: sample, tracer_shroud_pct: shroud } = row;
    if (sample === null || shroud === null)
      throw new AppError('BAD_INPUT', 'tracer in the sample and under the shroud are both needed.');
    const share = leakFromTracer(
      { value: sample, u: TRACER_U_REL * sample },
      { value: shroud, u: TRACER_U_REL * shroud },
    );
    const correction: AirCorrection = { kind: 'tracer', outsideAirShare: share };
    return { correction, share, text: `Corrected for ${percentOf(share)} outside air, found by tracer.` };
  }
  const found = soilGasShare(fillingOf(row, instrument));
  const soilGas = chosenShare(found, MODELS[choice]);
  const share = { value: 1 - soilGas.value, u: soilGas.u };
  const correction: AirCorrection = { kind: 'dead-volume', soilGasShare: soilGas };
  const range = `soil gas is ${(100 * found.wellMixed).toFixed(1)} % of the sample if well mixed, ${(100 * found.plugFlow).toFixed(1)} % if pushed`;
  const text = [
    `Corrected for ${percentOf(share)} air of the dead volume (${choice}; ${range}).`,
    ...found.warnings,
  ].join(' ');
  return { correction, share, text };
}

function percentOf(share: { readonly value: number; readonly u: number }): string {
  return `${(100 * share.value).toFixed(1)} +- ${(100 * share.u).toFixed(1)} %`;
}

function fillingOf(row: SampleRow, instrument: InstrumentRow | null): Filling {
  const lineMl = row.line_ml ?? instrument?.line_ml ?? null;
  if (instrument === null || lineMl === null)
    throw new AppError(
      'BAD_INPUT',
      'the volumes of chamber and line are needed: enter them in the register.',
    );
  if (row.pumped_ml === null) throw new AppError('BAD_INPUT', 'the pumped volume is needed.');
  const lineM3 = lineMl / ML_PER_M3;
  const chamberM3 = instrument.chamber_ml / ML_PER_M3;
  const pumpedM3 = row.pumped_ml / ML_PER_M3;
  if (row.fill_way === 'flow-through') return { kind: 'flow-through', pumpedM3, lineM3, chamberM3 };
  if (row.fill_way === 'closed-loop') {
    if (row.soil_gas_ml === null)
      throw new AppError('BAD_INPUT', 'the volume of soil gas that came into the loop is needed.');
    return {
      kind: 'closed-loop',
      soilGasM3: row.soil_gas_ml / ML_PER_M3,
      systemM3: lineM3 + chamberM3,
      circulatedM3: pumpedM3,
    };
  }
  return { kind: 'evacuated', purgedM3: pumpedM3, lineM3, chamberM3, residualShare: row.residual_share ?? 0 };
}

/** Ends moved like the value; what the correction itself is in doubt widens both. */
export function intervalOf(
  interval: readonly [number, number],
  raw: ReducedRow['measured'],
  measured: ReducedRow['measured'],
  correction: SampleReduction['correction'],
): readonly [number, number] {
  if (correction === null) return interval;
  const move = (value: number) =>
    correctForAir({ value, u: 0 }, [
      { kind: 'tracer', outsideAirShare: { value: correction.airShare, u: 0 } },
    ]).value;
  const ends = [move(interval[0]), move(interval[1])] as const;
  if (raw?.kind !== 'value' || measured?.kind !== 'value') return [Math.max(0, ends[0]), ends[1]];
  const counting = raw.randomUKBqPerM3 / (1 - correction.airShare);
  const own = 1.96 * Math.sqrt(Math.max(0, measured.randomUKBqPerM3 ** 2 - counting ** 2));
  const value = measured.estimateKBqPerM3;
  return [Math.max(0, value - Math.hypot(value - ends[0], own)), value + Math.hypot(ends[1] - value, own)];
}
