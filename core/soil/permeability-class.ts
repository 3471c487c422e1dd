import { classOfPermeability, isOn } from '../classify/points.ts';
import type { Scheme } from '../classify/scheme.ts';
import type { PermeabilityClass } from '../contract/model.ts';
import { AppError } from '../errors.ts';
import { normalCdf } from '../geostat/normal.ts';
import type { Permeability } from './permeability.ts';
import type { Uncertain } from './uncertainty.ts';

export interface JudgedPermeability {
  /** null where a bound leaves several classes open. */
  readonly cls: PermeabilityClass | null;
  /** Every class the measurement allows, lowest first. */
  readonly possible: readonly PermeabilityClass[];
  /** The limit the unrounded number stands on, or null. */
  readonly onBorder: number | null;
  /** Chance of each class from the measurement's own uncertainty; null for bounds, and where none was given. */
  readonly chances: Readonly<Record<PermeabilityClass, number>> | null;
  readonly because: string;
}

const ORDER: readonly PermeabilityClass[] = ['low', 'medium', 'high'];

/**
 * Class of a measured k by the scheme's limits, on the unrounded number.
 * @throws AppError BAD_INPUT where the scheme has no limits
 */
export function judgePermeability(k: Permeability, scheme: Scheme): JudgedPermeability {
  const bounds = limitsOf(scheme);
  if (k.kind !== 'value') {
    const { cls: at, onBorder } = classOfPermeability(k.boundM2, scheme);
    const rank = ORDER.indexOf(at ?? 'low');
    // A bound on a border leaves only what lies beyond it.
    const border = onBorder === null ? -1 : bounds.findIndex((b) => isOn(k.boundM2, b));
    const possible =
      k.kind === 'lessThan'
        ? ORDER.slice(0, (border < 0 ? rank : border) + 1)
        : ORDER.slice(border < 0 ? rank : border + 1);
    const sign = k.kind === 'lessThan' ? '<' : '>';
    return {
      cls: possible.length === 1 ? (possible[0] ?? null) : null,
      possible,
      onBorder,
      chances: null,
      because: `k ${sign} ${k.boundM2.toPrecision(3)} m2 leaves ${possible.join(' or ')}`,
    };
  }
  const { cls, onBorder } = classOfPermeability(k.permeabilityM2, scheme);
  const border = onBorder === null ? '' : `, on the border ${onBorder} m2`;
  return {
    cls,
    possible: cls === null ? [] : [cls],
    onBorder,
    chances: chancesOf(k.permeabilityM2, k.uM2, bounds),
    because: `k = ${k.permeabilityM2.toPrecision(4)} m2${border}`,
  };
}

/** k is spread over decades, so its uncertainty is taken as lognormal. */
function chancesOf(
  k: number,
  u: number,
  bounds: readonly number[],
): Readonly<Record<PermeabilityClass, number>> {
  const sigma = Math.sqrt(Math.log1p((u / k) ** 2));
  const under = bounds.map((b) => (sigma === 0 ? (k < b ? 1 : 0) : normalCdf(Math.log(b / k) / sigma)));
  const [toMedium = 1, toHigh = 1] = under;
  return { low: toMedium, medium: toHigh - toMedium, high: 1 - toHigh };
}

/**
 * Class from the share of grains under 0.063 mm, in per cent of weight. Grain size alone leaves out moisture, density
 * and layering: the description of the whole profile may move it (Neznal and Neznal 2005).
 */
export function judgeFineFraction(fineFractionPct: Uncertain, scheme: Scheme): JudgedPermeability {
  const { value, u } = fineFractionPct;
  if (!(value >= 0 && value <= 100))
    throw new AppError('BAD_INPUT', `Fine fraction must lie between 0 and 100 %, not ${value}`, {
      field: 'fineFractionPct',
    });
  const rule = scheme.permeability?.fineFraction ?? null;
  if (rule === null)
    throw new AppError('BAD_INPUT', `The scheme '${scheme.id}' has no limits for the fine fraction`, {
      field: 'scheme',
    });
  const low = rule.lowAbove.value;
  const high = rule.highBelow.value;
  const onBorder = [low, high].find((limit) => isOn(value, limit)) ?? null;
  const cls = onBorder !== null ? 'medium' : value > low ? 'low' : value < high ? 'high' : 'medium';
  const over = (limit: number) => (u === 0 ? null : normalCdf((value - limit) / u));
  const [overLow, overHigh] = [over(low), over(high)];
  return {
    cls,
    possible: [cls],
    onBorder,
    chances:
      overLow === null || overHigh === null
        ? null
        : { low: overLow, medium: overHigh - overLow, high: 1 - overHigh },
    because: `fine fraction ${value} %${onBorder === null ? '' : `, on the border ${onBorder} %`}`,
  };
}

function limitsOf(scheme: Scheme): number[] {
  if (scheme.permeability === null)
    throw new AppError('BAD_INPUT', `The scheme '${scheme.id}' does not ask for permeability`, {
      field: 'scheme',
    });
  return scheme.permeability.limits.map((l) => l.value);
}
