/** Rows exactly as the tables hold them: column names, unit suffixes and 0/1 flags of migrations/*.sql. */
import type {
  AirCorrectionChoice,
  DetectorKind,
  FillWayName,
  KeepOut,
  PermeabilityClass,
  ProbeState,
  RulingVerdict,
  SampleKind,
} from '../contract/model.ts';
import type { DayEventKind, GroundSurface } from '../contract/quality.ts';

export type Flag01 = 0 | 1;

export interface ProjectRow {
  readonly id: string;
  readonly name: string;
  readonly note: string | null;
  readonly is_demo: Flag01;
  readonly crs_json: string;
  readonly origin_x: number;
  readonly origin_y: number;
  readonly settings_json: string;
  readonly created_utc: string;
  readonly walk_start_x: number | null;
  readonly walk_start_y: number | null;
}

export interface LotRow {
  readonly id: string;
  /** [[x, y], ...] as entered, in the system of `crs_json`; where that is null, native. */
  readonly ring_json: string;
  readonly crs_json: string | null;
  readonly source: string;
  readonly source_attachment: string | null;
}

export interface KeepOutRow {
  readonly id: string;
  readonly label: string;
  readonly shape: KeepOut['shape'];
  readonly points_json: string;
  readonly buffer_m: number;
  readonly blocks_walk: Flag01 | null;
}

export interface FootprintRow {
  readonly id: string;
  readonly label: string;
  readonly ring_json: string;
}

export interface PlacementRow {
  readonly id: string;
  readonly footprint_id: string;
  readonly dx_m: number;
  readonly dy_m: number;
  readonly turn_deg: number;
  readonly mirrored: Flag01;
  readonly chosen: Flag01;
  readonly label: string;
}

export interface ProbeRow {
  readonly id: string;
  readonly label: string;
  readonly state: ProbeState;
  readonly planned_x: number | null;
  readonly planned_y: number | null;
  readonly driven_x: number | null;
  readonly driven_y: number | null;
  readonly depth_m: number | null;
  readonly soil: string | null;
  readonly fine_fraction_pct: number | null;
  readonly permeability_m2: number | null;
  readonly permeability_class: PermeabilityClass | null;
  readonly added: Flag01;
  readonly note: string | null;
}

export interface SampleRow {
  readonly id: string;
  readonly probe_id: string;
  readonly kind: SampleKind;
  readonly taken_utc: string | null;
  readonly depth_m: number | null;
  readonly radon_kbq_per_m3: number | null;
  readonly radon_u_kbq_per_m3: number | null;
  readonly radon_below_kbq_per_m3: number | null;
  readonly common_u_rel: number | null;
  readonly oxygen_pct: number | null;
  readonly carbon_dioxide_pct: number | null;
  readonly suction_pa: number | null;
  readonly pumped_ml: number | null;
  readonly said_fresh_air: Flag01;
  readonly said_water: Flag01;
  readonly remark: string | null;
  readonly source_attachment: string | null;
  readonly source_row: number | null;
  readonly entered_json: string | null;
  readonly instrument_id: string | null;
  readonly fill_start_utc: string | null;
  readonly fill_end_utc: string | null;
  readonly fill_s: number | null;
  readonly fill_way: FillWayName | null;
  readonly transit_s: number | null;
  readonly flush_s: number | null;
  readonly carry_over: 'none' | 'named' | null;
  readonly previous_sample_id: string | null;
  readonly air_correction: AirCorrectionChoice | null;
  readonly line_ml: number | null;
  readonly soil_gas_ml: number | null;
  readonly residual_share: number | null;
  readonly tracer_pct: number | null;
  readonly tracer_shroud_pct: number | null;
  readonly air_porosity: number | null;
  readonly flow_ml_per_min: number | null;
  readonly said_tight: Flag01 | null;
  readonly said_dryer_spent: Flag01 | null;
  readonly leak_test_passed: Flag01 | null;
  readonly ingrowth_s: number | null;
  readonly radon_above_kbq_per_m3: number | null;
}

export interface ReadingRow {
  readonly id: string;
  readonly sample_id: string;
  readonly start_s: number;
  readonly length_s: number;
  readonly counts: number;
  readonly window: string | null;
  readonly live_s: number | null;
  readonly source_attachment: string | null;
  readonly source_row: number | null;
}

/** A value that an instrument has worked out for one interval. */
export interface IntervalValueRow {
  readonly id: string;
  readonly sample_id: string;
  readonly start_s: number;
  readonly length_s: number;
  readonly live_s: number | null;
  readonly radon_kbq_per_m3: number;
  readonly u_kbq_per_m3: number | null;
  readonly source_attachment: string | null;
  readonly source_row: number | null;
}

export interface InstrumentRow {
  readonly id: string;
  readonly label: string;
  readonly detector: DetectorKind;
  readonly counts_per_alpha: number | null;
  readonly windows_json: string | null;
  readonly chamber_ml: number;
  readonly line_ml: number | null;
  readonly common_u_rel: number | null;
  readonly calibrated_on: string | null;
  readonly certificate: string | null;
  readonly gas_left: number | null;
  readonly gas_left_u: number | null;
  readonly progeny_left: number | null;
  readonly clock_offset_s: number;
  readonly note: string | null;
}

export interface BackgroundRow {
  readonly id: string;
  readonly instrument_id: string;
  readonly window: string;
  readonly counts: number;
  readonly live_s: number;
  readonly taken_utc: string | null;
  readonly source_attachment: string | null;
  readonly source_row: number | null;
}

export interface RulingRow {
  readonly id: string;
  readonly sample_id: string;
  readonly verdict: RulingVerdict;
  readonly reason: string;
  readonly actor_id: string;
  readonly at_utc: string;
}

export interface ControlPointRow {
  readonly id: string;
  readonly label: string;
  readonly local_x: number;
  readonly local_y: number;
  readonly mapped_x: number;
  readonly mapped_y: number;
  readonly code: number;
}

export interface IssuedRow {
  readonly id: string;
  readonly number: number;
  readonly state_sha256: string;
  readonly record_hash: string;
  readonly report_sha256: string | null;
  readonly actor_id: string;
  readonly issued_utc: string;
}

export interface IssuedFileRow {
  readonly id: string;
  readonly issued_id: string;
  readonly format: 'pdf' | 'html' | 'docx';
  readonly name: string;
  readonly file_sha256: string;
  readonly byte_count: number;
}

export interface ReviewRow {
  readonly id: string;
  readonly issued_id: string;
  readonly state_sha256: string;
  readonly actor_id: string;
  readonly note: string | null;
  readonly reviewed_utc: string;
}

export interface SheetTextRow {
  readonly id: string;
  readonly field: string;
  readonly text: string;
}

/** The rectangle and its page are there together or not at all. */
export interface SheetPartRow {
  readonly id: string;
  readonly template: string;
  readonly page: string;
  readonly orientation: 'portrait' | 'landscape';
  readonly part: string;
  readonly page_number: number | null;
  readonly x_mm: number | null;
  readonly y_mm: number | null;
  readonly width_mm: number | null;
  readonly height_mm: number | null;
  readonly hidden: Flag01;
}

export interface SitePlanRow {
  readonly id: string;
  readonly label: string;
  readonly image_sha256: string;
  readonly width_px: number;
  readonly height_px: number;
  readonly placed_by: 'points' | 'world-file' | 'geotiff' | null;
  readonly matrix_json: string | null;
  readonly control_json: string;
  readonly fit: 'similarity' | 'affine';
  readonly opacity: number;
  readonly shown: Flag01;
}

export interface FieldDayRow {
  readonly id: string;
  readonly day: string;
  readonly crew: string | null;
  readonly rain_mm: number | null;
  readonly hours_since_rain: number | null;
  readonly surface: GroundSurface | null;
  readonly air_temperature_c: number | null;
  readonly pressure_hpa: number | null;
  readonly pumped_ml: number | null;
  readonly system_ml: number | null;
  readonly fresh_tape: Flag01 | null;
  readonly opening_background: Flag01 | null;
  readonly closing_background: Flag01 | null;
  readonly control_probe_id: string | null;
  readonly note: string | null;
}

export interface FieldEventRow {
  readonly id: string;
  readonly field_day_id: string;
  readonly kind: DayEventKind;
  readonly at_utc: string;
  readonly note: string | null;
}

export interface ActorRow {
  readonly id: string;
  readonly name: string;
}

/** Tables that change only through the record. */
export interface RowMap {
  project: ProjectRow;
  lot: LotRow;
  keep_out: KeepOutRow;
  footprint: FootprintRow;
  placement: PlacementRow;
  probe: ProbeRow;
  instrument: InstrumentRow;
  background: BackgroundRow;
  sample: SampleRow;
  reading: ReadingRow;
  interval_value: IntervalValueRow;
  ruling: RulingRow;
  control_point: ControlPointRow;
  site_plan: SitePlanRow;
  field_day: FieldDayRow;
  field_event: FieldEventRow;
  issued: IssuedRow;
  issued_file: IssuedFileRow;
  review: ReviewRow;
  sheet_text: SheetTextRow;
  sheet_part: SheetPartRow;
}

export type TableName = keyof RowMap;

/** Parents before children. */
export const TABLES = [
  'project',
  'lot',
  'keep_out',
  'footprint',
  'placement',
  'probe',
  'instrument',
  'background',
  'sample',
  'reading',
  'interval_value',
  'ruling',
  'control_point',
  'site_plan',
  'field_day',
  'field_event',
  'issued',
  'issued_file',
  'review',
  'sheet_text',
  'sheet_part',
] as const satisfies readonly TableName[];

type NullableKeys<R> = { [K in keyof R]-?: null extends R[K] ? K : never }[keyof R];

/** A row to insert: the id is made where absent, a column that may be empty is NULL where absent. */
export type NewRow<T extends TableName> = Omit<RowMap[T], 'id' | NullableKeys<RowMap[T]>> &
  Partial<Pick<RowMap[T], ('id' & keyof RowMap[T]) | NullableKeys<RowMap[T]>>>;

export type RowPatch<T extends TableName> = Partial<Omit<RowMap[T], 'id'>>;

/** A row as the record keeps it. */
export type RowImage = { readonly [column: string]: string | number | null };
