/** Numbers and sentences as the sheet prints them. */

import type { Measured, NoValueReason } from '../contract/model.ts';
import { formatNumber, unitText } from '../contract/project-words.ts';
import type { ClassResult, CrossValidation, VariogramResult } from '../contract/results.ts';
import { fromKBqPerM3 } from '../units.ts';
import type { FigureSurface } from './figure-model.ts';

type Unit = 'kBq/m3' | 'pCi/L';

/** A radon value in the sheet's unit, to three significant digits, without the unit. */
export function formatRadon(valueKBqPerM3: number, unit: Unit): string {
  return formatNumber(fromKBqPerM3(valueKBqPerM3, unit));
}

/** A limit or a contour level: as many digits as it has, for these are chosen numbers, not measured ones. */
export function formatLevel(valueKBqPerM3: number, unit: Unit): string {
  const value = fromKBqPerM3(valueKBqPerM3, unit);
  return unit === 'kBq/m3' ? String(Number(value.toPrecision(6))) : formatNumber(value, 3);
}

/** The value in the sheet's unit and, in brackets, in the other one. */
export function formatBothUnits(valueKBqPerM3: number, unit: Unit): string {
  const other = unit === 'kBq/m3' ? 'pCi/L' : 'kBq/m3';
  const text = (u: Unit): string => `${formatRadon(valueKBqPerM3, u)} ${unitText(u)}`;
  return `${text(unit)} (${text(other)})`;
}

/** A class's statistic in both units; 'at most' where only non-detects leave it open. */
export function formatStatistic(
  {
    statisticKBqPerM3: value,
    statisticIsAtMost,
  }: Pick<ClassResult, 'statisticKBqPerM3' | 'statisticIsAtMost'>,
  unit: Unit,
): string {
  if (value === null) return 'none';
  return `${statisticIsAtMost ? 'at most ' : ''}${formatBothUnits(value, unit)}`;
}

/** Findings in one line: parted by semicolons, closed by one full stop. */
export function joinSentences(texts: readonly string[]): string {
  return texts.length === 0 ? '' : `${texts.map((t) => t.trim().replace(/\.$/, '')).join('; ')}.`;
}

const NO_VALUE_WORDS: Record<NoValueReason, string> = {
  water: 'water',
  'water-or-tight': 'water or tight',
  tight: 'tight',
  refused: 'refused',
  'no-reading': 'no reading',
  'left-out': 'left out',
  blank: 'blank',
};

/** The value as printed at a probe and in the table: '34.2', '≥ 12.0', '< 0.8' or the reason there is none. */
export function formatMeasured(measured: Measured, unit: Unit): string {
  if (measured.kind === 'value') return formatRadon(measured.estimateKBqPerM3, unit);
  if (measured.kind === 'atLeast') return `≥ ${formatRadon(measured.boundKBqPerM3, unit)}`;
  if (measured.kind === 'atMost') return `< ${formatRadon(measured.boundKBqPerM3, unit)}`;
  return NO_VALUE_WORDS[measured.reason];
}

/**
 * Expanded uncertainty U = 2 u with u^2 = random^2 + (common x estimate)^2, to two significant digits.
 * Coverage factor 2: JCGM 100:2008 (GUM), 6.3.
 */
export function formatExpanded(measured: Measured, unit: Unit): string {
  if (measured.kind !== 'value') return '';
  const u = Math.hypot(measured.randomUKBqPerM3, measured.commonURel * measured.estimateKBqPerM3);
  return u === 0 ? '' : `± ${formatNumber(fromKBqPerM3(2 * u, unit), 2)}`;
}

function describeVariogram(variogram: VariogramResult): string {
  const { kind, nugget, partialSill, rangeM, smoothness, anisotropy } = variogram.model;
  const of = variogram.transform === 'log' ? ' of the logarithms' : '';
  const unit = variogram.transform === 'log' ? '' : ' (kBq/m³)²';
  if (partialSill === 0)
    return `Variogram${of}: nugget ${formatNumber(nugget)}${unit} alone, no pattern in space.`;
  const shape = smoothness === undefined ? kind : `${kind} (smoothness ${formatNumber(smoothness)})`;
  return (
    `Variogram${of}: ${shape}, nugget ${formatNumber(nugget)}, partial sill ${formatNumber(partialSill)}${unit}, ` +
    `range ${formatNumber(rangeM)} m${anisotropy === undefined ? '' : ` along ${formatNumber(anisotropy.azimuthDeg)}°, ${formatNumber(anisotropy.ratio * rangeM)} m across`}.`
  );
}

function describeCrossValidation(result: CrossValidation): string {
  const msdr = result.msdr === null ? '' : `, squared deviation ratio ${formatNumber(result.msdr, 2)}`;
  return (
    `Left out one at a time (n = ${result.n}): mean error ${formatNumber(result.meanError, 2)} kBq/m³, ` +
    `root mean square error ${formatNumber(result.rmse, 2)} kBq/m³${msdr}. ${result.verdict}`
  );
}

/** Method, model, number of points and how well the surface foretells a point it has not seen. */
export function describeSurface(surface: FigureSurface): string[] {
  const name =
    surface.method === 'kriging'
      ? surface.variogram?.drift === 'linear'
        ? 'Surface by kriging with a linear drift.'
        : 'Surface by ordinary kriging.'
      : 'Surface by inverse distance weighting; it has no error of its own.';
  return [
    surface.variogram === null ? name : `${name} ${describeVariogram(surface.variogram)}`,
    ...(surface.crossValidation === null ? [] : [describeCrossValidation(surface.crossValidation)]),
    ...surface.warnings,
  ];
}
