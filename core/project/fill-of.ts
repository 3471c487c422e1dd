import type { Fill, FillWay } from '../counting/history.ts';
import type { InstrumentRow, SampleRow } from '../store/rows.ts';

/** Cells of a sample that tell of its fill. */
export type FillCells = Pick<
  SampleRow,
  'taken_utc' | 'fill_start_utc' | 'fill_end_utc' | 'fill_s' | 'fill_way' | 'transit_s' | 'pumped_ml'
>;

/**
 * The fill on the sample's own clock, which is 0 at its end: readings count from there.
 * @param instrument - null where the sample names none
 */
export function fillOf(
  row: FillCells,
  instrument: InstrumentRow | null,
): { endMs: number | null; fill: Fill; note: string | null } {
  const endText = row.fill_end_utc ?? row.taken_utc;
  const endMs = endText === null ? null : Date.parse(endText);
  const startMs = row.fill_start_utc === null ? null : Date.parse(row.fill_start_utc);
  const lengthS =
    row.fill_s ?? (startMs === null || endMs === null ? 0 : Math.max(0, (endMs - startMs) / 1000));
  const way = row.fill_way ?? (lengthS > 0 ? 'steady' : 'at-once');
  const counted: FillWay =
    way === 'flow-through'
      ? row.pumped_ml !== null && row.pumped_ml > 0 && instrument !== null
        ? { kind: 'flow-through', chamberVolumes: row.pumped_ml / instrument.chamber_ml }
        : { kind: 'steady' }
      : { kind: way === 'at-once' ? 'at-once' : 'steady' };
  const note =
    way === 'flow-through' && counted.kind === 'steady'
      ? 'Pumped through, but the pumped volume is not stated: ingrowth during the fill is reckoned for a steady fill.'
      : null;
  return { endMs, fill: { startS: -lengthS, endS: 0, way: counted, transitS: row.transit_s ?? 0 }, note };
}
