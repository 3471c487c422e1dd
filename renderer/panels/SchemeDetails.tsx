import type { SchemeInfo } from '../../core/contract/rules.ts';
import { formatScientific, prettyUnits, trimNumber } from '../format.ts';

function limitText(value: number): string {
  return value !== 0 && Math.abs(value) < 1e-4 ? formatScientific(value) : trimNumber(value, 6);
}

/** Where a scheme comes from, its limits, and which of them nobody has seen in a source. */
export function SchemeDetails({ scheme }: { scheme: SchemeInfo }) {
  const unconfirmed = scheme.limits.filter((limit) => limit.unconfirmed !== null).length;
  return (
    <div className="wide">
      <p className="source">
        {scheme.edition}
        {scheme.homeCountry ? `; made for ${scheme.homeCountry}` : ''}
        {scheme.origin === 'project' ? `; kept in this project from ${scheme.file}` : ''}
      </p>
      {scheme.limits.length === 0 ? null : (
        <details>
          <summary>
            Limits and sources
            {unconfirmed > 0 ? ` (${unconfirmed} of ${scheme.limits.length} unconfirmed)` : ''}
          </summary>
          <p className="source">
            Decides by: {scheme.statisticName}
            {scheme.statisticUnconfirmed === null ? null : (
              <span className="tag tag-suspect">unconfirmed: {scheme.statisticUnconfirmed}</span>
            )}
          </p>
          <table className="evidence" aria-label={`Limits of ${scheme.name}`}>
            <thead>
              <tr>
                <th scope="col">Limit</th>
                <th scope="col" className="number">
                  Value
                </th>
                <th scope="col">Source</th>
              </tr>
            </thead>
            <tbody>
              {scheme.limits.map((limit) => (
                <tr key={`${limit.label} ${limit.value}`}>
                  <td>{prettyUnits(limit.label)}</td>
                  <td className="number nowrap">
                    {limitText(limit.value)} {prettyUnits(limit.unit)}
                  </td>
                  <td>
                    {limit.unconfirmed === null ? (
                      prettyUnits(limit.source)
                    ) : (
                      <span className="tag tag-suspect">unconfirmed: {limit.unconfirmed}</span>
                    )}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
          <ul className="reasons">
            {scheme.sources.map((source) => (
              <li key={source}>{prettyUnits(source)}</li>
            ))}
          </ul>
        </details>
      )}
    </div>
  );
}
