import type { SampleHandling } from '../contract/readings.ts';
import { AppError } from '../errors.ts';
import type { ProjectStore } from '../store/open-project.ts';
import type { RowPatch } from '../store/rows.ts';

/**
 * How samples were drawn and filled, what came before them and what is taken off them.
 * @throws AppError NOT_FOUND for a sample or instrument that is not there; BAD_INPUT for a sample before itself
 */
export function setHandling(
  store: ProjectStore,
  input: { readonly sampleIds: readonly string[]; readonly handling: SampleHandling },
): void {
  const { sampleIds, handling } = input;
  const { instrumentId, before } = handling;
  for (const id of sampleIds)
    if (store.row('sample', id) === undefined)
      throw new AppError('NOT_FOUND', `There is no sample "${id}" in this project.`);
  if (instrumentId != null && store.row('instrument', instrumentId) === undefined)
    throw new AppError('NOT_FOUND', `There is no instrument "${instrumentId}" in this project.`);
  if (typeof before === 'object') {
    if (store.row('sample', before.sampleId) === undefined)
      throw new AppError('NOT_FOUND', `There is no sample "${before.sampleId}" in this project.`);
    if (sampleIds.includes(before.sampleId))
      throw new AppError('BAD_INPUT', 'A sample cannot be the one before itself.', { field: 'before' });
  }
  const patch = toPatch(handling);
  const count = sampleIds.length;
  store.change('sample.handling', `Handling of ${count === 1 ? '1 sample' : `${count} samples`}`, (tx) => {
    for (const id of sampleIds) tx.update('sample', id, patch);
  });
}

function toPatch(h: SampleHandling): RowPatch<'sample'> {
  const flag = (said: boolean | null | undefined) => (typeof said === 'boolean' ? Number(said) : said);
  const given = Object.entries({
    instrument_id: h.instrumentId,
    fill_start_utc: h.fillStartUtc,
    fill_end_utc: h.fillEndUtc,
    fill_s: h.fillS,
    fill_way: h.fillWay,
    transit_s: h.transitS,
    flush_s: h.flushS,
    air_correction: h.correction,
    pumped_ml: h.pumpedMl,
    line_ml: h.lineMl,
    soil_gas_ml: h.soilGasMl,
    residual_share: h.residualShare,
    tracer_pct: h.tracerPct,
    tracer_shroud_pct: h.tracerShroudPct,
    flow_ml_per_min: h.flowMlPerMin,
    air_porosity: h.airPorosity,
    leak_test_passed: flag(h.leakTestPassed),
    said_dryer_spent: flag(h.saidDryerSpent),
    said_tight: flag(h.saidTight),
  }).filter(([, value]) => value !== undefined);
  const before: RowPatch<'sample'> =
    h.before === undefined
      ? {}
      : h.before === 'by-time'
        ? { carry_over: null, previous_sample_id: null }
        : h.before === 'clean'
          ? { carry_over: 'none', previous_sample_id: null }
          : { carry_over: 'named', previous_sample_id: h.before.sampleId };
  return { ...(Object.fromEntries(given) as RowPatch<'sample'>), ...before };
}
