import type { ReactNode } from 'react';
import type { SampleDraw } from '../../core/contract/draw-test.ts';
import type { Evidence, Flag, ProjectView } from '../../core/contract/model.ts';
import { SymbolIcon } from '../components/SymbolIcon.tsx';
import {
  formatLength,
  formatMeasured,
  formatNumber,
  formatPressure,
  formatScientific,
  formatTime,
  prettyUnits,
  radonUnitLabel,
  trimNumber,
} from '../format.ts';
import { usesFeet } from '../map/project-frame.ts';
import { HandEntryTools } from './HandEntryTools.tsx';
import { HandlingForm } from './HandlingForm.tsx';
import { ReductionDetails } from './ReductionDetails.tsx';
import { RulingForm } from './RulingForm.tsx';
import { rowLabel, type SampleRow, TREATMENT_NAMES } from './sample-rows.ts';

const WEIGHT_NAMES: Record<Flag['weight'], string> = { note: 'note', suspect: 'suspect', strong: 'strong' };

function evidenceText(value: Evidence['value'] | null): string {
  if (value === null) return '–';
  if (typeof value === 'string') return value;
  return value !== 0 && Math.abs(value) < 1e-4 ? formatScientific(value) : trimNumber(value, 4);
}

function FlagCard({ flag }: { flag: Flag }) {
  return (
    <li className={`flag flag-${flag.weight}`}>
      <p>
        <span className={`tag tag-${flag.weight}`}>{WEIGHT_NAMES[flag.weight]}</span>{' '}
        {prettyUnits(flag.message)}
      </p>
      {flag.evidence.length > 0 ? (
        <table className="evidence" aria-label={`Evidence: ${flag.message}`}>
          <thead>
            <tr>
              <th scope="col">What</th>
              <th scope="col" className="number">
                Value
              </th>
              <th scope="col" className="number">
                Limit
              </th>
              <th scope="col">Unit</th>
            </tr>
          </thead>
          <tbody>
            {flag.evidence.map((item) => (
              <tr key={item.what}>
                <td>{prettyUnits(item.what)}</td>
                <td className="number">{evidenceText(item.value)}</td>
                <td className="number">{evidenceText(item.limit)}</td>
                <td>{prettyUnits(item.unit)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      ) : null}
      <p className="source">Source: {prettyUnits(flag.source)}</p>
    </li>
  );
}

function Fact({ name, children }: { name: string; children: ReactNode }) {
  return (
    <div>
      <dt>{name}</dt>
      <dd>{children}</dd>
    </div>
  );
}

function drawText({ ground, enters }: SampleDraw): string {
  if (ground === null) return 'none';
  const value =
    ground.kind === 'value'
      ? `${formatScientific(ground.permeabilityM2)} m², u ${((100 * ground.uM2) / ground.permeabilityM2).toFixed(0)} %`
      : `${ground.kind === 'lessThan' ? 'less than' : 'more than'} ${formatScientific(ground.boundM2)} m²`;
  return enters ? value : `${value}; enters no class`;
}

/** One sample with everything that speaks for and against it, and the form to rule on it. */
export function SampleDetails({ row, view }: { row: SampleRow; view: ProjectView }) {
  const { sample, probe, assessment } = row;
  const feet = usesFeet(view.frame);
  const unit = view.settings.radonUnit;
  const permeability =
    probe?.permeabilityM2 != null
      ? `${formatScientific(probe.permeabilityM2)} m²${probe.permeabilityClass ? `, ${probe.permeabilityClass}` : ''}`
      : (probe?.permeabilityClass ?? null);
  return (
    <section className="block" aria-label={`Sample ${rowLabel(row)}`}>
      <h3 className="details-title">
        <SymbolIcon kind={row.symbol} sizePx={18} />
        {rowLabel(row)}
        <span className="details-value">
          {formatMeasured(assessment.measured, unit)}{' '}
          {assessment.measured.kind === 'none' ? '' : radonUnitLabel(unit)}
        </span>
      </h3>
      <p>
        <strong>{TREATMENT_NAMES[assessment.treatment]}</strong>: {prettyUnits(assessment.treatmentReason)}
        {assessment.ruling && assessment.unruledTreatment !== assessment.treatment ? (
          <>
            {' '}
            Without the ruling: {TREATMENT_NAMES[assessment.unruledTreatment]},{' '}
            {formatMeasured(assessment.unruledMeasured, unit)}.
          </>
        ) : null}
      </p>
      {row.mark?.measured && row.mark.sampleIds.length > 1 ? (
        <p>
          <SymbolIcon kind={row.mark.symbol} /> {probe?.label} from {row.mark.sampleIds.length} samples
          together: <strong>{formatMeasured(row.mark.measured, unit)}</strong>
          {row.mark.measured.kind === 'none' ? '' : ` ${radonUnitLabel(unit)}`},{' '}
          {prettyUnits(row.mark.treatmentReason)}
        </p>
      ) : null}
      <dl className="facts facts-tight">
        <Fact name="Depth">{sample.depthM === null ? '–' : formatLength(sample.depthM, feet)}</Fact>
        {sample.takenUtc ? <Fact name="Taken">{formatTime(sample.takenUtc)}</Fact> : null}
        {probe?.soil ? <Fact name="Soil">{probe.soil}</Fact> : null}
        {probe?.fineFractionPct != null ? (
          <Fact name="Fine fraction">{trimNumber(probe.fineFractionPct)} %</Fact>
        ) : null}
        {permeability ? <Fact name="Permeability">{permeability}</Fact> : null}
        {sample.oxygenPct === null ? null : <Fact name="Oxygen">{formatNumber(sample.oxygenPct)} %</Fact>}
        {sample.carbonDioxidePct === null ? null : (
          <Fact name="Carbon dioxide">{formatNumber(sample.carbonDioxidePct)} %</Fact>
        )}
        {sample.suctionPa === null ? null : <Fact name="Suction">{formatPressure(sample.suctionPa)}</Fact>}
        {sample.saidWater ? <Fact name="Noted">water</Fact> : null}
        {sample.saidFreshAir ? <Fact name="Noted">fresh air</Fact> : null}
        {sample.pumpedMl === undefined ? null : (
          <Fact name="Pumped">
            {trimNumber(sample.pumpedMl, 4)} mL
            {sample.systemMl === undefined
              ? ''
              : `, ${formatNumber(sample.pumpedMl / sample.systemMl, 2)} system volumes`}
          </Fact>
        )}
        {sample.tracerPct === undefined ? null : (
          <Fact name="Tracer">{formatNumber(sample.tracerPct)} %</Fact>
        )}
        {sample.flowMlPerMin === undefined ? null : (
          <Fact name="Flow">{trimNumber(sample.flowMlPerMin, 4)} mL/min</Fact>
        )}
        {sample.draw === undefined ? null : (
          <Fact name="Permeability from the draw">{drawText(sample.draw)}</Fact>
        )}
        {sample.airPorosity === undefined ? null : (
          <Fact name="Air-filled porosity">{trimNumber(100 * sample.airPorosity)} %</Fact>
        )}
        {sample.leakTestPassed === undefined ? null : (
          <Fact name="Leak test">{sample.leakTestPassed ? 'passed' : 'failed'}</Fact>
        )}
        {sample.saidDryerSpent === undefined ? null : (
          <Fact name="Dryer">{sample.saidDryerSpent ? 'spent' : 'fresh'}</Fact>
        )}
        {sample.saidTight ? <Fact name="Noted">tight ground</Fact> : null}
        {sample.remark ? <Fact name="Remark">{sample.remark}</Fact> : null}
        {sample.source ? (
          <Fact name="Read from">
            {sample.source.file}, row {sample.source.row}
          </Fact>
        ) : null}
      </dl>
      {sample.draw?.notes.map((note) => (
        <p key={note} className="source">
          Permeability from the draw: {note}
        </p>
      ))}
      {assessment.flags.length > 0 ? (
        <ul className="flags" aria-label="Findings">
          {assessment.flags.map((flag) => (
            <FlagCard key={`${flag.rule} ${flag.message}`} flag={flag} />
          ))}
        </ul>
      ) : (
        <p className="hint">No finding against this sample.</p>
      )}
      {sample.reduction && sample.reduction.readingCount > 0 ? (
        <ReductionDetails sampleId={sample.id} unit={unit} />
      ) : null}
      <HandlingForm sampleIds={[sample.id]} />
      {sample.source === null ? <HandEntryTools sampleId={sample.id} label={rowLabel(row)} /> : null}
      <RulingForm key={assessment.ruling?.id ?? 'none'} ruling={assessment.ruling} />
    </section>
  );
}
