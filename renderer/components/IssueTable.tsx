import type { RowIssue } from '../../core/contract/requests.ts';
import { prettyUnits } from '../format.ts';
import { ScrollRegion } from './ScrollRegion.tsx';

const SHOWN = 200;

/** What is wrong with a file, row by row, as an editor counts rows. */
export function IssueTable({ issues }: { issues: readonly RowIssue[] }) {
  if (issues.length === 0) return null;
  const errors = issues.filter((issue) => issue.severity === 'error').length;
  return (
    <ScrollRegion label="Row issues, scrollable" className="issue-scroll">
      <table className="data" aria-label="Row issues">
        <caption>
          {errors} kept out, {issues.length - errors} to look at
          {issues.length > SHOWN ? `; the first ${SHOWN} are listed` : ''}
        </caption>
        <thead>
          <tr>
            <th scope="col" className="number">
              Row
            </th>
            <th scope="col">Field</th>
            <th scope="col">What is wrong</th>
          </tr>
        </thead>
        <tbody>
          {issues.slice(0, SHOWN).map((issue, index) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: issues have no name of their own and never move
            <tr key={index}>
              <td className="number">{issue.row ?? '–'}</td>
              <td>{issue.field ?? '–'}</td>
              <td>
                <span className={`tag tag-${issue.severity}`}>
                  {issue.severity === 'error' ? 'kept out' : 'look'}
                </span>{' '}
                {prettyUnits(issue.message)}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </ScrollRegion>
  );
}
