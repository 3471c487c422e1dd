-- The project file. Frozen once released: an opened file's tables are compared with what these files build.
-- Lengths in metres, radon in kBq/m3, times in ISO 8601 UTC; `native` is the system named by project.crs_json.
-- Keys are time-ordered UUIDs, so `ORDER BY id` is the order of making and outlives undo.

CREATE TABLE actor (
  id TEXT PRIMARY KEY,
  name TEXT NOT NULL UNIQUE CHECK (length(trim(name)) > 0)
) STRICT;

-- Every change, in order, never altered. `hash` = sha256(prev_hash || canonical entry); see core/store/record.ts.
CREATE TABLE record (
  seq INTEGER PRIMARY KEY CHECK (seq >= 1),
  id TEXT NOT NULL UNIQUE,
  at_utc TEXT NOT NULL CHECK (at_utc GLOB '????-??-??T??:??:??*Z'),
  actor_id TEXT NOT NULL REFERENCES actor (id),
  command TEXT NOT NULL CHECK (length(command) > 0),
  summary TEXT NOT NULL,
  changes_json TEXT NOT NULL CHECK (json_valid(changes_json)),
  undo_of INTEGER REFERENCES record (seq),
  redo_of INTEGER REFERENCES record (seq),
  prev_hash TEXT NOT NULL CHECK (length(prev_hash) = 64),
  hash TEXT NOT NULL UNIQUE CHECK (length(hash) = 64),
  CHECK (undo_of IS NULL OR redo_of IS NULL)
) STRICT;

CREATE TRIGGER record_never_updated BEFORE UPDATE ON record
BEGIN
  SELECT RAISE(ABORT, 'the record is append-only');
END;

CREATE TRIGGER record_never_deleted BEFORE DELETE ON record
BEGIN
  SELECT RAISE(ABORT, 'the record is append-only');
END;

-- Files kept whole: what was imported, photos, site plans.
CREATE TABLE attachment (
  sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),
  name TEXT NOT NULL,
  media_type TEXT NOT NULL,
  bytes BLOB NOT NULL
) STRICT;

CREATE TABLE project (
  id TEXT PRIMARY KEY,
  name TEXT NOT NULL CHECK (length(trim(name)) > 0),
  note TEXT,
  is_demo INTEGER NOT NULL CHECK (is_demo IN (0, 1)),
  crs_json TEXT NOT NULL CHECK (json_valid(crs_json)),
  -- Native coordinates of the point that project metres count from.
  origin_x REAL NOT NULL,
  origin_y REAL NOT NULL,
  settings_json TEXT NOT NULL CHECK (json_valid(settings_json)),
  created_utc TEXT NOT NULL CHECK (created_utc GLOB '????-??-??T??:??:??*Z')
) STRICT;

CREATE UNIQUE INDEX project_single ON project ((1));

CREATE TABLE lot (
  id TEXT PRIMARY KEY,
  -- As entered, in the system of crs_json; where that is NULL, native.
  ring_json TEXT NOT NULL CHECK (json_valid(ring_json)),
  crs_json TEXT CHECK (crs_json IS NULL OR json_valid(crs_json)),
  -- Where the outline comes from, in words: typed, drawn, or the name of the file.
  source TEXT NOT NULL,
  source_attachment TEXT REFERENCES attachment (sha256)
) STRICT;

CREATE TABLE keep_out (
  id TEXT PRIMARY KEY,
  label TEXT NOT NULL,
  shape TEXT NOT NULL CHECK (shape IN ('polygon', 'line')),
  points_json TEXT NOT NULL CHECK (json_valid(points_json)), -- native
  buffer_m REAL NOT NULL CHECK (buffer_m >= 0)
) STRICT;

CREATE TABLE footprint (
  id TEXT PRIMARY KEY,
  label TEXT NOT NULL,
  ring_json TEXT NOT NULL CHECK (json_valid(ring_json)) -- native
) STRICT;

CREATE TABLE placement (
  id TEXT PRIMARY KEY,
  footprint_id TEXT NOT NULL REFERENCES footprint (id),
  dx_m REAL NOT NULL,
  dy_m REAL NOT NULL,
  turn_deg REAL NOT NULL,
  mirrored INTEGER NOT NULL CHECK (mirrored IN (0, 1)),
  chosen INTEGER NOT NULL CHECK (chosen IN (0, 1))
) STRICT;

CREATE INDEX placement_by_footprint ON placement (footprint_id);
CREATE UNIQUE INDEX placement_one_chosen ON placement (footprint_id) WHERE chosen = 1;

CREATE TABLE probe (
  id TEXT PRIMARY KEY,
  label TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (length(trim(label)) > 0),
  state TEXT NOT NULL CHECK (state IN ('planned', 'driven', 'refused', 'abandoned')),
  -- Native. Planned and as driven are both kept; each has both coordinates or none.
  planned_x REAL,
  planned_y REAL,
  driven_x REAL,
  driven_y REAL,
  depth_m REAL CHECK (depth_m >= 0),
  soil TEXT,
  fine_fraction_pct REAL CHECK (fine_fraction_pct BETWEEN 0 AND 100),
  permeability_m2 REAL CHECK (permeability_m2 > 0),
  permeability_class TEXT CHECK (permeability_class IN ('low', 'medium', 'high')),
  -- 1: added after the number of probes was fixed, so that results show with and without it.
  added INTEGER NOT NULL CHECK (added IN (0, 1)),
  note TEXT,
  CHECK ((planned_x IS NULL) = (planned_y IS NULL)),
  CHECK ((driven_x IS NULL) = (driven_y IS NULL))
) STRICT;

CREATE TABLE sample (
  id TEXT PRIMARY KEY,
  probe_id TEXT NOT NULL REFERENCES probe (id),
  kind TEXT NOT NULL CHECK (kind IN ('grab', 'duplicate', 'repeat', 'blank')),
  taken_utc TEXT CHECK (taken_utc GLOB '????-??-??T??:??:??*Z'),
  depth_m REAL CHECK (depth_m >= 0),
  -- May be negative where a background was taken off.
  radon_kbq_per_m3 REAL,
  radon_u_kbq_per_m3 REAL CHECK (radon_u_kbq_per_m3 >= 0),
  -- Reported as not detected, below this.
  radon_below_kbq_per_m3 REAL CHECK (radon_below_kbq_per_m3 > 0),
  common_u_rel REAL CHECK (common_u_rel >= 0),
  -- Sensors drift a little past their zero and their span.
  oxygen_pct REAL CHECK (oxygen_pct BETWEEN -1 AND 101),
  carbon_dioxide_pct REAL CHECK (carbon_dioxide_pct BETWEEN -1 AND 101),
  suction_pa REAL,
  pumped_ml REAL CHECK (pumped_ml >= 0),
  said_fresh_air INTEGER NOT NULL CHECK (said_fresh_air IN (0, 1)),
  said_water INTEGER NOT NULL CHECK (said_water IN (0, 1)),
  remark TEXT,
  source_attachment TEXT REFERENCES attachment (sha256),
  source_row INTEGER CHECK (source_row >= 1),
  -- The cells of the row letter for letter, as canonical text: tells a row already known from a new one.
  entered_json TEXT CHECK (entered_json IS NULL OR json_valid(entered_json))
) STRICT;

CREATE INDEX sample_by_probe ON sample (probe_id);

CREATE TABLE reading (
  id TEXT PRIMARY KEY,
  sample_id TEXT NOT NULL REFERENCES sample (id),
  -- Counted from the end of drawing the gas.
  start_s REAL NOT NULL,
  length_s REAL NOT NULL CHECK (length_s > 0),
  counts INTEGER NOT NULL CHECK (counts >= 0),
  -- Energy window of the counter; NULL where it has only one.
  window TEXT
) STRICT;

CREATE INDEX reading_by_sample ON reading (sample_id);

-- The ruling in force; earlier ones stand in the record.
CREATE TABLE ruling (
  id TEXT PRIMARY KEY,
  sample_id TEXT NOT NULL UNIQUE REFERENCES sample (id),
  verdict TEXT NOT NULL CHECK (verdict IN ('use', 'leave-out', 'lower-bound')),
  reason TEXT NOT NULL CHECK (length(trim(reason)) > 0),
  actor_id TEXT NOT NULL REFERENCES actor (id),
  at_utc TEXT NOT NULL CHECK (at_utc GLOB '????-??-??T??:??:??*Z')
) STRICT;

-- Results that can be computed again. Not in the record; may be emptied at any time.
CREATE TABLE derived (
  key TEXT PRIMARY KEY,
  kind TEXT NOT NULL,
  value BLOB NOT NULL,
  value_sha256 TEXT NOT NULL CHECK (length(value_sha256) = 64),
  made_utc TEXT NOT NULL
) STRICT;
