-- Samples that carry counts: register of instruments, how each sample came into its chamber, what was counted.
-- A value reduced from counts is never stored here: it is computed again and kept in `derived`.

CREATE TABLE instrument (
  id TEXT PRIMARY KEY,
  label TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (length(trim(label)) > 0),
  -- 'alpha': all alphas alike; 'spectrum': windows of collected progeny; 'windows': as windows_json says.
  detector TEXT NOT NULL CHECK (detector IN ('alpha', 'spectrum', 'windows')),
  counts_per_alpha REAL CHECK (counts_per_alpha > 0 AND counts_per_alpha <= 1),
  -- [{"id": window, "countsPerAlpha": {nuclide: share}}, ...]
  windows_json TEXT CHECK (windows_json IS NULL OR json_valid(windows_json)),
  chamber_ml REAL NOT NULL CHECK (chamber_ml > 0),
  -- Cavity, rod, tube, dryer: all that starts filled with other air, without the chamber.
  line_ml REAL CHECK (line_ml >= 0),
  -- Of the calibration: one error for all its samples. NULL: not stated.
  common_u_rel REAL CHECK (common_u_rel >= 0),
  calibrated_on TEXT CHECK (calibrated_on GLOB '????-??-??'),
  certificate TEXT,
  -- Shares of the sample before that are still there when the next one is in. NULL: not stated.
  gas_left REAL CHECK (gas_left BETWEEN 0 AND 1),
  gas_left_u REAL CHECK (gas_left_u BETWEEN 0 AND 1),
  progeny_left REAL CHECK (progeny_left BETWEEN 0 AND 1),
  -- What its clock shows less UTC.
  clock_offset_s REAL NOT NULL,
  note TEXT,
  CHECK ((detector = 'windows') = (windows_json IS NOT NULL)),
  CHECK ((detector = 'windows') = (counts_per_alpha IS NULL))
) STRICT;

-- Counts with no sample in the chamber.
CREATE TABLE background (
  id TEXT PRIMARY KEY,
  instrument_id TEXT NOT NULL REFERENCES instrument (id),
  window TEXT NOT NULL,
  -- Whole where counted; a rate with its uncertainty is held as the count that says the same.
  counts REAL NOT NULL CHECK (counts >= 0),
  live_s REAL NOT NULL CHECK (live_s > 0),
  -- Middle of the count, UTC.
  taken_utc TEXT CHECK (taken_utc GLOB '????-??-??T??:??:??*Z'),
  source_attachment TEXT REFERENCES attachment (sha256),
  source_row INTEGER CHECK (source_row >= 1)
) STRICT;

CREATE INDEX background_by_instrument ON background (instrument_id);

ALTER TABLE sample ADD COLUMN instrument_id TEXT REFERENCES instrument (id);
-- The filling of the chamber, UTC: the instrument's clock with its offset taken off.
ALTER TABLE sample ADD COLUMN fill_start_utc TEXT CHECK (fill_start_utc GLOB '????-??-??T??:??:??*Z');
ALTER TABLE sample ADD COLUMN fill_end_utc TEXT CHECK (fill_end_utc GLOB '????-??-??T??:??:??*Z');
-- Where only the length is known.
ALTER TABLE sample ADD COLUMN fill_s REAL CHECK (fill_s >= 0);
ALTER TABLE sample ADD COLUMN fill_way TEXT
  CHECK (fill_way IN ('at-once', 'steady', 'flow-through', 'closed-loop'));
-- Between the ground and the chamber, as in a syringe.
ALTER TABLE sample ADD COLUMN transit_s REAL CHECK (transit_s >= 0);
-- How long the chamber was flushed right before this fill. NULL: since the last count of the sample before.
ALTER TABLE sample ADD COLUMN flush_s REAL CHECK (flush_s >= 0);
-- NULL: the samples before it on the same instrument, by time. 'none': the chamber was known to be clean.
ALTER TABLE sample ADD COLUMN carry_over TEXT CHECK (carry_over IN ('none', 'named'));
ALTER TABLE sample ADD COLUMN previous_sample_id TEXT REFERENCES sample (id);
-- One choice, so that the same air is never taken off twice. NULL: none.
ALTER TABLE sample ADD COLUMN air_correction TEXT
  CHECK (air_correction IN ('plug-flow', 'well-mixed', 'middle', 'tracer'));
-- Where it differs from the instrument's.
ALTER TABLE sample ADD COLUMN line_ml REAL CHECK (line_ml >= 0);
-- Closed loop: soil gas that came into the round.
ALTER TABLE sample ADD COLUMN soil_gas_ml REAL CHECK (soil_gas_ml > 0);
-- Evacuated chamber: pressure left in it over that outside.
ALTER TABLE sample ADD COLUMN residual_share REAL CHECK (residual_share >= 0 AND residual_share < 1);
ALTER TABLE sample ADD COLUMN tracer_pct REAL CHECK (tracer_pct >= 0);
ALTER TABLE sample ADD COLUMN tracer_shroud_pct REAL CHECK (tracer_shroud_pct > 0);

CREATE INDEX sample_by_instrument ON sample (instrument_id);
CREATE INDEX sample_by_previous ON sample (previous_sample_id);

-- Time the counter was live; the whole interval where NULL.
ALTER TABLE reading ADD COLUMN live_s REAL CHECK (live_s > 0);
ALTER TABLE reading ADD COLUMN source_attachment TEXT REFERENCES attachment (sha256);
ALTER TABLE reading ADD COLUMN source_row INTEGER CHECK (source_row >= 1);
