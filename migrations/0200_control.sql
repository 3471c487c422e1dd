-- Points measured both in a project's local grid and in a mapped system: they tie the grid to the map.
-- How it lies there is fitted anew from them; only what was measured is stored.

CREATE TABLE control_point (
  id TEXT PRIMARY KEY,
  label TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (length(trim(label)) > 0),
  -- Unit of the grid.
  local_x REAL NOT NULL,
  local_y REAL NOT NULL,
  -- Unit of the mapped system; easting first.
  mapped_x REAL NOT NULL,
  mapped_y REAL NOT NULL,
  -- EPSG code of the mapped system, one for all points.
  code INTEGER NOT NULL CHECK (code BETWEEN 1024 AND 999999)
) STRICT;
