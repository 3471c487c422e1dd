-- Values that an instrument has worked out by itself, one for each interval: averaged when a sample is reduced.

CREATE TABLE interval_value (
  id TEXT PRIMARY KEY,
  sample_id TEXT NOT NULL REFERENCES sample (id),
  -- Counted from the end of drawing the gas, as for a reading.
  start_s REAL NOT NULL,
  length_s REAL NOT NULL CHECK (length_s > 0),
  -- Time the counter was live; the whole interval where NULL.
  live_s REAL CHECK (live_s > 0),
  -- May be negative where the instrument takes its background off.
  radon_kbq_per_m3 REAL NOT NULL,
  -- k = 1, of counting alone. NULL: the instrument gives none.
  u_kbq_per_m3 REAL CHECK (u_kbq_per_m3 >= 0),
  source_attachment TEXT REFERENCES attachment (sha256),
  source_row INTEGER CHECK (source_row >= 1)
) STRICT;

CREATE INDEX interval_value_by_sample ON interval_value (sample_id);

-- Interval values that start sooner after the fill are left out: ingrowth is not over. 0: the instrument corrects for
-- it. NULL: what is usual for its detector.
ALTER TABLE sample ADD COLUMN ingrowth_s REAL CHECK (ingrowth_s >= 0);
