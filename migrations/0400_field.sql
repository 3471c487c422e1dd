-- What a crew notes of a drawing, and of its day. NULL: not noted, which is never the same as no.

-- Share of the ground's volume that is filled with gas.
ALTER TABLE sample ADD COLUMN air_porosity REAL CHECK (air_porosity > 0 AND air_porosity < 1);
ALTER TABLE sample ADD COLUMN flow_ml_per_min REAL CHECK (flow_ml_per_min >= 0);
ALTER TABLE sample ADD COLUMN said_tight INTEGER CHECK (said_tight IN (0, 1));
-- 0: looked at and fresh.
ALTER TABLE sample ADD COLUMN said_dryer_spent INTEGER CHECK (said_dryer_spent IN (0, 1));
-- Of the line with its valve shut.
ALTER TABLE sample ADD COLUMN leak_test_passed INTEGER CHECK (leak_test_passed IN (0, 1));

-- One day of work as the crew wrote it down.
CREATE TABLE field_day (
  id TEXT PRIMARY KEY,
  day TEXT NOT NULL UNIQUE CHECK (day GLOB '????-??-??'),
  crew TEXT,
  -- The last rain before work began, or during it: how much, and how long since it ended.
  rain_mm REAL CHECK (rain_mm >= 0),
  hours_since_rain REAL CHECK (hours_since_rain >= 0),
  surface TEXT CHECK (surface IN ('dry', 'moist', 'wet', 'frozen')),
  air_temperature_c REAL CHECK (air_temperature_c BETWEEN -60 AND 60),
  pressure_hpa REAL CHECK (pressure_hpa BETWEEN 400 AND 1100),
  -- Gas drawn before and with each sample, and the volume it went through, where the sample itself does not say.
  pumped_ml REAL CHECK (pumped_ml > 0),
  system_ml REAL CHECK (system_ml > 0),
  -- Fresh thread tape at each assembly.
  fresh_tape INTEGER CHECK (fresh_tape IN (0, 1)),
  -- Backgrounds that an instrument took by itself; counts stand in the table of backgrounds.
  opening_background INTEGER CHECK (opening_background IN (0, 1)),
  closing_background INTEGER CHECK (closing_background IN (0, 1)),
  control_probe_id TEXT REFERENCES probe (id),
  note TEXT
) STRICT;

CREATE INDEX field_day_by_control ON field_day (control_probe_id);

-- What happened at a time of the day: the dryer looked at or changed, the line of the rig checked.
CREATE TABLE field_event (
  id TEXT PRIMARY KEY,
  field_day_id TEXT NOT NULL REFERENCES field_day (id),
  kind TEXT NOT NULL CHECK (kind IN ('dryer-fresh', 'dryer-spent', 'leak-passed', 'leak-failed')),
  at_utc TEXT NOT NULL CHECK (at_utc GLOB '????-??-??T??:??:??*Z'),
  note TEXT
) STRICT;

CREATE INDEX field_event_by_day ON field_event (field_day_id);
