import type { ReactNode } from 'react';
import type { SpreadView, UnderFootprintView } from '../../core/contract/planning.ts';
import { formatChance, formatLevel, formatRadon, radonUnitLabel, type ShownRadonUnit } from '../format.ts';

export interface UnderTableProps {
  readonly unit: ShownRadonUnit;
  readonly standing: UnderFootprintView | null;
  /** Null while the footprint is not in hand. */
  readonly inHand: UnderFootprintView | null;
}

export interface SpreadProps {
  readonly value: SpreadView | null;
  readonly unit: ShownRadonUnit;
  readonly withSd?: boolean;
}

/** Mean over the realisations, and what nine of ten lie between. */
export function Spread({ value, unit, withSd }: SpreadProps) {
  if (value === null) return '–';
  return (
    <>
      <strong>{formatRadon(value.mean, unit)}</strong>
      {withSd ? ` ± ${formatRadon(value.sd, unit)}` : null}{' '}
      <span className="interval">
        {formatRadon(value.low, unit)} to {formatRadon(value.high, unit)}
      </span>
    </>
  );
}

/** What the model says under the footprint, as it stands and in hand. */
export function UnderTable({ unit, standing, inHand }: UnderTableProps) {
  const limits = (standing ?? inHand)?.overLimits ?? [];
  const radon = (value: number | null | undefined) =>
    value === null || value === undefined ? '–' : formatRadon(value, unit);
  const rows: (readonly [name: string, of: (under: UnderFootprintView) => ReactNode])[] = [
    ['Estimate, mean under it', (under) => radon(under.estimateKBqPerM3)],
    [
      'Mean ± SD, and 90 % interval',
      (under) => <Spread value={under.blockMeanKBqPerM3} unit={unit} withSd />,
    ],
    [
      'Third quartile, likewise',
      (under) => <Spread value={under.upperQuartileKBqPerM3} unit={unit} withSd />,
    ],
    [
      'Worst cell ± SD',
      ({ worstCell }) =>
        worstCell === null
          ? '–'
          : `${radon(worstCell.estimateKBqPerM3)} ± ${formatRadon(worstCell.sdKBqPerM3, unit)}`,
    ],
    ...limits.flatMap(({ limitKBqPerM3 }) => {
      const over = (under: UnderFootprintView) =>
        under.overLimits.find((one) => one.limitKBqPerM3 === limitKBqPerM3);
      const chance = (p: number | undefined) => (p === undefined ? '–' : formatChance(p));
      const level = formatLevel(limitKBqPerM3, unit);
      return [
        [`Chance that the mean is over ${level}`, (under) => chance(over(under)?.blockMean)],
        [`Chance that the third quartile is over ${level}`, (under) => chance(over(under)?.upperQuartile)],
      ] satisfies (readonly [string, (under: UnderFootprintView) => ReactNode])[];
    }),
  ];
  return (
    <table className="data" aria-label="Ground under the footprint">
      <thead>
        <tr>
          <th scope="col">Model, {radonUnitLabel(unit)}</th>
          <th scope="col" className="number">
            As it stands
          </th>
          <th scope="col" className="number">
            In hand
          </th>
        </tr>
      </thead>
      <tbody>
        {rows.map(([name, of]) => (
          <tr key={name}>
            <th scope="row">{name}</th>
            <td className="number">{standing ? of(standing) : '–'}</td>
            <td className="number">{inHand ? of(inHand) : '–'}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
