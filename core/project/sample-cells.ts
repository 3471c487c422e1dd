/** What a sample says, between the contract and its row in the store. */
import type { SampleValues } from '../contract/model.ts';
import type { SampleRow } from '../store/rows.ts';

export function sampleValues(row: SampleRow): SampleValues {
  return {
    kind: row.kind,
    takenUtc: row.taken_utc,
    depthM: row.depth_m,
    radonKBqPerM3: row.radon_kbq_per_m3,
    radonUKBqPerM3: row.radon_u_kbq_per_m3,
    radonBelowKBqPerM3: row.radon_below_kbq_per_m3,
    ...(row.radon_above_kbq_per_m3 === null ? {} : { radonAboveKBqPerM3: row.radon_above_kbq_per_m3 }),
    oxygenPct: row.oxygen_pct,
    carbonDioxidePct: row.carbon_dioxide_pct,
    suctionPa: row.suction_pa,
    saidFreshAir: row.said_fresh_air === 1,
    saidWater: row.said_water === 1,
    remark: row.remark,
  };
}

export function sampleCells(values: SampleValues) {
  return {
    kind: values.kind,
    taken_utc: values.takenUtc,
    depth_m: values.depthM,
    radon_kbq_per_m3: values.radonKBqPerM3,
    radon_u_kbq_per_m3: values.radonUKBqPerM3,
    radon_below_kbq_per_m3: values.radonBelowKBqPerM3,
    radon_above_kbq_per_m3: values.radonAboveKBqPerM3 ?? null,
    oxygen_pct: values.oxygenPct,
    carbon_dioxide_pct: values.carbonDioxidePct,
    suction_pa: values.suctionPa,
    said_fresh_air: values.saidFreshAir ? 1 : 0,
    said_water: values.saidWater ? 1 : 0,
    remark: values.remark,
  } as const satisfies Partial<SampleRow>;
}
