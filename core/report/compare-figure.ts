/** Two dates or two projects on one sheet. */

import type { CompareSummary, ProbeChange } from '../contract/comparing.ts';
import type { Measured, PositionM } from '../contract/model.ts';
import { unitText } from '../contract/project-words.ts';
import type { ClassResult } from '../contract/results.ts';
import type { FigureInput, FigureProbe, FigureRow } from '../figure/figure-model.ts';
import { formatMeasured } from '../figure/words.ts';
import type { GridTie } from '../geo/local-grid.ts';
import type { SurfaceDifference } from './compare-surfaces.ts';
import { placeSides } from './place-sides.ts';
import { classHeadline } from './words.ts';

export interface ComparedSide {
  readonly label: string;
  readonly tie?: GridTie | null;
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
): Extract<Measured, { kind: 'value' }> | null {
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

/** Each probe of the later side that the earlier one met at the same place, under the same label. */
export function probeChanges(
  earlier: ComparedSide,
  later: ComparedSide,
  options: { readonly sharedCalibration: boolean },
): ProbeChange[] {
  const { toLater } = placeSides(
    { ...earlier, frame: earlier.figure.frame },
    { ...later, frame: later.figure.frame },
  );
  const positions = toLater(earlier.figure.probes.map((p) => p.positionM));
  const before = new Map(
    earlier.figure.probes.map((p, i) => [
      p.label.toLowerCase(),
      { measured: p.measured, at: positions[i] as PositionM },
    ]),
  );
  return later.figure.probes.flatMap((probe): ProbeChange[] => {
    const old = before.get(probe.label.toLowerCase());
    if (old === undefined || old.measured === null || probe.measured === null) return [];
    const [x, y] = probe.positionM;
    if (Math.hypot(old.at[0] - x, old.at[1] - y) > SAME_PLACE_M) return [];
    const measured = change(
      old.measured,
      probe.measured,
      earlier.commonURel,
      later.commonURel,
      options.sharedCalibration,
    );
    return [
      {
        label: probe.label,
        earlier: old.measured,
        later: probe.measured,
        change:
          measured === null
            ? null
            : {
                kBqPerM3: measured.estimateKBqPerM3,
                uKBqPerM3: measured.randomUKBqPerM3,
                isClear: Math.abs(measured.estimateKBqPerM3) > 2 * measured.randomUKBqPerM3,
              },
      },
    ];
  });
}

/**
 * The sheet of the later side with the difference as its surface. Probes met at the same place (same label, within
 * 1 m) carry their own difference; where the difference is within twice its error the ground is faded.
 */
export function compareFigure(
  earlier: ComparedSide,
  later: ComparedSide,
  difference: SurfaceDifference,
  summary: Pick<CompareSummary, 'statement' | 'lines' | 'probes'>,
): FigureInput {
  const unit = later.figure.radonUnit;
  const met = new Map(summary.probes.map((p) => [p.label, p]));
  const changeOf = (label: string): Measured | null => {
    const own = met.get(label)?.change ?? null;
    return own === null
      ? null
      : {
          kind: 'value',
          estimateKBqPerM3: own.kBqPerM3,
          randomUKBqPerM3: own.uKBqPerM3,
          commonURel: 0,
        };
  };
  const natives = new Map(later.figure.rows.map((row) => [row.label, row.native]));
  const named = (side: ComparedSide, texts: readonly string[] = []) =>
    texts.map((text) => `${side.label}: ${text}`);
  return {
    ...later.figure,
    title: 'Change of radon in the soil gas',
    isDifference: true,
    sampledOn: `${earlier.figure.sampledOn ?? earlier.label} and ${later.figure.sampledOn ?? later.label}`,
    isDemo: earlier.figure.isDemo || later.figure.isDemo,
    probes: later.figure.probes.map((probe): FigureProbe => ({ ...probe, measured: changeOf(probe.label) })),
    rows: later.figure.probes.map(({ label, symbol }): FigureRow => {
      const own = met.get(label);
      return {
        label,
        symbol,
        native: natives.get(label) ?? [0, 0],
        depthM: null,
        sampleKind: null,
        takenUtc: null,
        measured: changeOf(label),
        finding:
          own === undefined
            ? 'not met both times'
            : `${earlier.label} ${formatMeasured(own.earlier, unit)}, ${later.label} ${formatMeasured(own.later, unit)} ${unitText(unit)}`,
        treatment:
          own === undefined || own.change === null
            ? 'no difference'
            : own.change.isClear
              ? 'clear change'
              : 'within twice its error',
      };
    }),
    exceptions: [earlier, later].flatMap((side) =>
      side.figure.exceptions.map((e) => ({ ...e, text: `${side.label}: ${e.text}` })),
    ),
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
    highRulings: [...named(earlier, earlier.figure.highRulings), ...named(later, later.figure.highRulings)],
    headline: {
      heading: `CHANGE: ${later.label} MINUS ${earlier.label}`,
      statement: summary.statement,
      lines: [
        ...summary.lines,
        `${earlier.label}: ${classText(earlier.classResult)}.`,
        `${later.label}: ${classText(later.classResult)}.`,
        'A class comes from the values of one survey, never from a difference. No difference found is no proof that there is none.',
      ],
    },
  };
}

function classText(result: ClassResult | null): string {
  return result === null ? 'no class worked out' : `${classHeadline(result)} (${result.schemeName})`;
}
