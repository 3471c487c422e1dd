import type { SampleReduction } from '../../core/contract/results.ts';
import { ScrollRegion } from '../components/ScrollRegion.tsx';
import {
  formatNumber,
  formatPercent,
  formatRadon,
  formatTime,
  formatWithUncertainty,
  plural,
  prettyUnits,
  radonUnitLabel,
  type ShownRadonUnit,
  trimNumber,
} from '../format.ts';
import { useAnswer } from '../state/use-answer.ts';

/** An interval this many standard deviations off what was expected is brought out. */
const FAR_RESIDUAL = 3;

function chanceText(chance: number): string {
  return chance < 0.001 ? '< 0.001' : formatNumber(chance, 2);
}

/** What the instrument made of each interval; those before the end of ingrowth are left out of the mean. */
function IntervalValues({ values, unit }: { values: SampleReduction['values']; unit: ShownRadonUnit }) {
  return (
    <ScrollRegion label="Interval values, scrollable">
      <table className="data" aria-label="Interval values">
        <thead>
          <tr>
            <th scope="col" className="number">
              From, s
            </th>
            <th scope="col" className="number">
              To, s
            </th>
            <th scope="col" className="number">
              {radonUnitLabel(unit)}
            </th>
            <th scope="col" className="number">
              u
            </th>
            <th scope="col">In the mean</th>
            <th scope="col">Read from</th>
          </tr>
        </thead>
        <tbody>
          {values.map((one) => (
            <tr key={one.startS}>
              <td className="number">{trimNumber(one.startS, 6)}</td>
              <td className="number">{trimNumber(one.endS, 6)}</td>
              <td className="number value">{formatRadon(one.radonKBqPerM3, unit)}</td>
              <td className="number">{one.uKBqPerM3 === null ? '–' : formatRadon(one.uKBqPerM3, unit)}</td>
              <td>{one.used ? 'yes' : 'no'}</td>
              <td>{one.source ? `${one.source.file}, row ${one.source.row}` : '–'}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </ScrollRegion>
  );
}

/** From counts to value: what was counted, what was taken off, and whether the counts agree with the decay law. */
export function ReductionDetails({ sampleId, unit }: { sampleId: string; unit: ShownRadonUnit }) {
  const reduction = useAnswer('sample.reduction', 'Reading the counts', { sampleId });
  if (!reduction) return <p className="hint">Reading the counts …</p>;
  const { summary, chamber, fit, thoron, intervals, values, backgrounds, carriedFrom, correction, entered } =
    reduction;
  const label = radonUnitLabel(unit);
  const range = ([low, high]: readonly [number, number]) =>
    `${formatRadon(low, unit)} to ${formatRadon(high, unit)} ${label}`;

  return (
    <details className="reduction" open>
      <summary>
        {summary.basis === 'values'
          ? `Mean of ${plural(values.filter((one) => one.used).length, 'interval value')}`
          : `Reduced from ${plural(intervals.length, 'count')}`}
        {summary.instrument ? ` of ${summary.instrument}` : ''}
      </summary>
      <dl className="facts">
        {chamber ? (
          <div>
            <dt>In the chamber</dt>
            <dd>
              {formatWithUncertainty(chamber.estimateKBqPerM3, chamber.randomUKBqPerM3, unit)} {label} (random
              part); 95 % {range(chamber.interval95KBqPerM3)}
            </dd>
          </div>
        ) : null}
        {chamber?.decisionThresholdKBqPerM3 != null ? (
          <div>
            <dt>Decision threshold</dt>
            <dd>
              {formatRadon(chamber.decisionThresholdKBqPerM3, unit)} {label}
              {chamber.detectionLimitKBqPerM3 === null
                ? ''
                : `; detection limit ${formatRadon(chamber.detectionLimitKBqPerM3, unit)} ${label}`}
            </dd>
          </div>
        ) : null}
        <div>
          <dt>Calibration</dt>
          <dd>u {formatPercent(summary.commonURel)} of the value, common to all samples of the instrument</dd>
        </div>
        {fit ? (
          <div>
            <dt>Counts against the law</dt>
            <dd>
              {fit.pPearson === null
                ? 'nothing is left over to test'
                : `chi-square ${formatNumber(fit.pearson)} on ${fit.dof}: chance of worse ${chanceText(fit.pPearson)}${
                    fit.pPearson < 0.01 ? '; they do not agree' : ''
                  }`}
            </dd>
          </div>
        ) : null}
        {thoron ? (
          <div>
            <dt>Thoron</dt>
            <dd>
              {formatWithUncertainty(thoron.estimateKBqPerM3, thoron.uKBqPerM3, unit)} {label}
            </dd>
          </div>
        ) : null}
        {backgrounds.map((one) => (
          <div key={`${one.window} ${one.takenUtc}`}>
            <dt>Background</dt>
            <dd>
              {one.window}: {trimNumber(one.counts, 6)} in {trimNumber(one.liveS, 6)} s
              {one.takenUtc ? `, ${formatTime(one.takenUtc)}` : ''}
            </dd>
          </div>
        ))}
        {carriedFrom.map((one) => (
          <div key={one.sampleId}>
            <dt>Left by {one.probe}</dt>
            <dd>
              {trimNumber(one.counts)} counts taken off: {formatPercent(one.gasLeft)} of its{' '}
              {formatRadon(one.radonKBqPerM3, unit)} {label}
            </dd>
          </div>
        ))}
        {correction ? (
          <div>
            <dt>Other air</dt>
            <dd>
              {formatPercent(correction.airShare)} (u {formatPercent(correction.airShareU)}):{' '}
              {prettyUnits(correction.text)}
            </dd>
          </div>
        ) : null}
        {entered ? (
          <div>
            <dt>Came as a value too</dt>
            <dd>
              {formatRadon(entered.radonKBqPerM3, unit)} {label};{' '}
              {summary.basis === 'values' ? 'the mean is used' : 'the counts are used'}
            </dd>
          </div>
        ) : null}
      </dl>
      {intervals.length > 0 ? (
        <ScrollRegion label="Counts, scrollable">
          <table className="data" aria-label="Counts">
            <thead>
              <tr>
                <th scope="col">Window</th>
                <th scope="col" className="number">
                  From, s
                </th>
                <th scope="col" className="number">
                  To, s
                </th>
                <th scope="col" className="number">
                  Counts
                </th>
                <th scope="col" className="number">
                  Expected
                </th>
                <th scope="col" className="number">
                  Off by, sd
                </th>
                <th scope="col">Read from</th>
              </tr>
            </thead>
            <tbody>
              {intervals.map((one) => (
                <tr key={`${one.window} ${one.startS}`}>
                  <td>{one.window}</td>
                  <td className="number">{trimNumber(one.startS, 6)}</td>
                  <td className="number">{trimNumber(one.endS, 6)}</td>
                  <td className="number value">{trimNumber(one.counts, 9)}</td>
                  <td className="number">{one.expected === null ? '–' : one.expected.toFixed(1)}</td>
                  <td
                    className={`number ${Math.abs(one.residual ?? 0) >= FAR_RESIDUAL ? 'hint-strong' : ''}`}
                  >
                    {one.residual === null ? '–' : formatNumber(one.residual, 2)}
                  </td>
                  <td>{one.source ? `${one.source.file}, row ${one.source.row}` : '–'}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </ScrollRegion>
      ) : null}
      {values.length > 0 ? <IntervalValues values={values} unit={unit} /> : null}
      {summary.notes.length > 0 ? (
        <ul className="reasons">
          {summary.notes.map((note) => (
            <li key={note}>{prettyUnits(note)}</li>
          ))}
        </ul>
      ) : null}
    </details>
  );
}
