/** Two dates or two projects on one sheet. */
import type { Measured } from '../contract/model.ts';
import type { ClassResult } from '../contract/results.ts';
import type { FigureInput, FigureProbe, FigureRow } from '../figure/figure-model.ts';
import { formatBothUnits, formatMeasured, unitText } from '../figure/words.ts';
import type { SurfaceDifference } from './compare-surfaces.ts';
import { classHeadline, countOf, standardU } from './words.ts';

export interface ComparedSide {
  readonly label: string;
  readonly figure: FigureInput;
  readonly classResult: ClassResult | null;
  readonly commonURel: number;
}

/** A probe of the later side within this of one of the earlier side was driven at the same place. */
const SAME_PLACE_M = 1;

/** The difference at a probe met twice; a bound on either side gives none. */
function change(
  a: Measured | null,
  b: Measured | null,
  commonA: number,
  commonB: number,
  isShared: boolean,
): Measured | null {
  if (a?.kind !== 'value' || b?.kind !== 'value') return null;
  const difference = b.estimateKBqPerM3 - a.estimateKBqPerM3;
  const common = isShared
    ? Math.max(commonA, commonB) * difference
    : Math.hypot(commonA * a.estimateKBqPerM3, commonB * b.estimateKBqPerM3);
  return {
    kind: 'value',
    estimateKBqPerM3: difference,
    randomUKBqPerM3: Math.hypot(a.randomUKBqPerM3, b.randomUKBqPerM3, common),
    commonURel: 0,
  };
}

function valueText(m: Measured | null, unit: FigureInput['radonUnit']): string {
  return m === null ? 'not sampled' : formatMeasured(m, unit);
}

/**
 * The sheet of the later side with the difference as its surface. Probes met at the same place (same label, within
 * 1 m) carry their own difference; where the difference is within twice its error the ground is faded.
 */
export function compareFigure(
  earlier: ComparedSide,
  later: ComparedSide,
  difference: SurfaceDifference,
  options: { readonly sharedCalibration: boolean },
): FigureInput {
  const unit = later.figure.radonUnit;
  const shiftM = (i: 0 | 1): number =>
    (earlier.figure.frame.originNative[i] - later.figure.frame.originNative[i]) *
    later.figure.frame.metresPerUnit;
  const before = new Map(earlier.figure.probes.map((p) => [p.label.toLowerCase(), p]));
  const met = later.figure.probes.map((probe) => {
    const old = before.get(probe.label.toLowerCase());
    const isSame =
      old !== undefined &&
      Math.hypot(
        old.positionM[0] + shiftM(0) - probe.positionM[0],
        old.positionM[1] + shiftM(1) - probe.positionM[1],
      ) <= SAME_PLACE_M;
    const measured = isSame
      ? change(old.measured, probe.measured, earlier.commonURel, later.commonURel, options.sharedCalibration)
      : null;
    return { probe, old: isSame ? old : null, measured };
  });
  const natives = new Map(later.figure.rows.map((row) => [row.label, row.native]));
  return {
    ...later.figure,
    title: 'Change of radon in the soil gas',
    isDifference: true,
    isDemo: earlier.figure.isDemo || later.figure.isDemo,
    probes: met.map(({ probe, measured }): FigureProbe => ({ ...probe, measured })),
    rows: met.map(
      ({ probe, old, measured }): FigureRow => ({
        label: probe.label,
        symbol: probe.symbol,
        native: natives.get(probe.label) ?? [0, 0],
        depthM: null,
        sampleKind: null,
        takenUtc: null,
        measured,
        finding:
          old === null
            ? `not met at ${earlier.label}`
            : `${earlier.label} ${valueText(old.measured, unit)}, ${later.label} ${valueText(probe.measured, unit)} ${unitText(unit)}`,
        treatment: measured === null ? 'no difference' : clearness(measured),
      }),
    ),
    exceptions: [
      ...earlier.figure.exceptions.map((e) => ({ ...e, text: `${earlier.label}: ${e.text}` })),
      ...later.figure.exceptions.map((e) => ({ ...e, text: `${later.label}: ${e.text}` })),
    ],
    surface: {
      method: 'kriging',
      levelsKBqPerM3: difference.levelsKBqPerM3,
      lines: difference.lines,
      bands: difference.bands,
      variogram: null,
      crossValidation: null,
      warnings: [],
    },
    limits: [],
    methodLines: difference.statements,
    weakGround:
      difference.unclear.length === 0
        ? null
        : {
            polygons: difference.unclear,
            statement: 'No clear change, drawn faded: the difference is within twice its standard error',
          },
    insets: [],
    classResult: null,
    highRulings: [],
    headline: {
      heading: `CHANGE: ${later.label} MINUS ${earlier.label}`,
      statement: changeStatement(difference),
      lines: [
        `Mean over the common ground: ${formatBothUnits(difference.meanKBqPerM3, unit)}.`,
        `${countOf(met.filter((m) => m.measured !== null).length, 'probe')} met at the same place with a value at both.`,
        `${earlier.label}: ${classText(earlier.classResult)}.`,
        `${later.label}: ${classText(later.classResult)}.`,
        'A class comes from the values of one survey, never from a difference.',
      ],
    },
  };
}

function clearness(measured: Measured): string {
  const u = standardU(measured) ?? 0;
  return measured.kind === 'value' && Math.abs(measured.estimateKBqPerM3) > 2 * u
    ? 'clear change'
    : 'within twice its error';
}

function changeStatement({ clearShare }: SurfaceDifference): string {
  if (clearShare === null) return 'Change without a known error';
  if (clearShare < 0.005) return 'No clear change';
  return `Clear change on ${Math.round(100 * clearShare)} % of the ground`;
}

function classText(result: ClassResult | null): string {
  return result === null ? 'no class worked out' : `${classHeadline(result)} (${result.schemeName})`;
}
