import { useState } from 'react';
import type { PlanProposal } from '../../core/contract/planning.ts';
import { formatLength, formatNumber, plural, prettyUnits } from '../format.ts';
import { usesFeet } from '../map/project-frame.ts';
import { useApp, useView } from '../state/context.ts';
import { useWords } from '../state/use-words.ts';

type Finding = PlanProposal['findings'][number];

/** Own assumption: what a crew does in one day, travel and unpacking aside. */
const LONG_DAY_H = 10;

const OUTCOMES: Record<Finding['outcome'], readonly [name: string, tag: string]> = {
  met: ['met', 'tag-ruled'],
  missing: ['not met', 'tag-error'],
  unknown: ['not known', 'tag-suspect'],
};

/** Labels that follow one another by number are told as a run: P1 to P8. */
export function shortRun(labels: readonly string[]): string {
  const parts = labels.map((label) => /^(.*?)(\d+)$/.exec(label));
  const isRun = parts.every(
    (part, i) =>
      part !== null &&
      (i === 0 || (part[1] === parts[0]?.[1] && Number(part[2]) === Number(parts[i - 1]?.[2]) + 1)),
  );
  return isRun && labels.length > 3 ? `${labels[0]} to ${labels.at(-1)}` : labels.join(', ');
}

/** A label that a probe of the project has already, whatever its capitals; null where none is taken. */
export function takenLabel(
  labels: readonly string[],
  probes: readonly { readonly label: string }[],
): string | null {
  const taken = new Set(probes.map(({ label }) => label.toLowerCase()));
  return labels.find((label) => taken.has(label.toLowerCase())) ?? null;
}

export interface PlanProposalViewProps {
  readonly proposal: PlanProposal;
  readonly depthM: number;
  readonly onDone: () => void;
}

/** What a layout comes to: against the scheme, in gaps and in hours; and the button that plans it. */
export function PlanProposalView({ proposal, depthM, onDone }: PlanProposalViewProps) {
  const words = useWords();
  const app = useApp();
  const view = useView();
  const feet = usesFeet(view.frame);
  const { probes, walk, findings, notes, cautions } = proposal;
  const planned = view.probes.filter((probe) => probe.state === 'planned').length;
  const [replace, setReplace] = useState(true);
  const staying = replace ? view.probes.filter((probe) => probe.state !== 'planned') : view.probes;
  const taken = takenLabel(
    probes.map(({ label }) => label),
    staying,
  );

  return (
    <div className="stack inset-form">
      <dl className="facts">
        <div>
          <dt>Probes</dt>
          <dd>
            {probes.length}, spaced {formatLength(proposal.spacingM, feet, 1)}, turned{' '}
            {formatNumber(proposal.turnDeg, 2)}°
          </dd>
        </div>
        <div>
          <dt>Farthest ground from a probe</dt>
          <dd>
            {formatLength(proposal.worstGapM, feet, 1)}
            {proposal.worstGapInFootprintM === null
              ? ''
              : `; in the footprint ${formatLength(proposal.worstGapInFootprintM, feet, 1)}`}
          </dd>
        </div>
        <div>
          <dt>Walk</dt>
          <dd>
            {formatLength(walk.lengthM, feet, 0)} (no walk is shorter than{' '}
            {formatLength(walk.lowerBoundM, feet, 0)})
          </dd>
        </div>
        <div>
          <dt>Tests and walk</dt>
          <dd>
            {formatNumber(walk.totalHours, 2)} h in all, longest day {formatNumber(walk.longestDayHours, 2)} h
          </dd>
        </div>
      </dl>
      {walk.longestDayHours > LONG_DAY_H ? (
        <p className="hint hint-strong">
          More days or instruments share out a day of {formatNumber(walk.longestDayHours, 2)} h: see Depth,
          labels and working day.
        </p>
      ) : null}
      <ul className="findings" aria-label="The layout against the scheme">
        {findings.map((finding) => {
          const [name, tag] = OUTCOMES[finding.outcome];
          return (
            <li key={`${finding.subject} ${finding.message}`}>
              <span className={`tag ${tag}`}>{name}</span> {words(finding.message)}{' '}
              <span className="source">
                {finding.unconfirmed ? <span className="tag tag-suspect">unconfirmed</span> : null} Source:{' '}
                {prettyUnits(finding.source)}
              </span>
            </li>
          );
        })}
      </ul>
      <details>
        <summary>Walking order: {plural(walk.parts.length, 'round')}</summary>
        <table className="data" aria-label="Walking order">
          <thead>
            <tr>
              <th scope="col">Day</th>
              <th scope="col">Instrument</th>
              <th scope="col">In this order</th>
              <th scope="col" className="number">
                Hours
              </th>
            </tr>
          </thead>
          <tbody>
            {walk.parts.map((part) => (
              <tr key={`${part.day} ${part.instrument}`}>
                <td>{part.day}</td>
                <td>{part.instrument}</td>
                <td>{shortRun(part.labels)}</td>
                <td className="number">{(part.minutes / 60).toFixed(1)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </details>
      {notes.length > 0 ? (
        <ul className="reasons">
          {notes.map((note) => (
            <li key={note}>{words(note)}</li>
          ))}
        </ul>
      ) : null}
      <ul className="notice notice-warning" aria-label="Before driving">
        {cautions.map((caution) => (
          <li key={caution}>{words(caution)}</li>
        ))}
      </ul>
      {planned > 0 ? (
        <label className="check-line">
          <input type="checkbox" checked={replace} onChange={(event) => setReplace(event.target.checked)} />
          Take the place of {plural(planned, 'planned probe')} that nobody has driven
        </label>
      ) : null}
      {taken === null ? null : (
        <p className="hint hint-strong">
          There is a probe {taken} already: choose another label prefix under Depth, labels and working day.
        </p>
      )}
      <div className="form-end">
        <button
          type="button"
          className="quiet"
          onClick={() => {
            onDone();
            app.store.update((state) => ({ ...state, plan: null }));
          }}
        >
          Drop this layout
        </button>
        <button
          type="button"
          className="primary"
          disabled={taken !== null}
          onClick={() => {
            onDone();
            void app
              .acceptProbes({
                probes: probes.map(({ label, native }) => ({ label, native, added: false })),
                depthM,
                replace: planned > 0 && replace,
              })
              .then((done) => {
                // This view is gone then, and the focus with it: the sheets are what comes next.
                if (done) requestAnimationFrame(() => document.getElementById('plan-sheets')?.focus());
              });
          }}
        >
          Plan {plural(probes.length, 'probe')}
        </button>
      </div>
    </div>
  );
}
