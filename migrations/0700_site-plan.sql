-- Images of site plans, shown under the map. The image itself is kept as an attachment.
-- How it lies is fitted anew from its control points; only what was measured, or read from its own files, is stored.

CREATE TABLE site_plan (
  id TEXT PRIMARY KEY,
  label TEXT NOT NULL CHECK (length(trim(label)) > 0),
  image_sha256 TEXT NOT NULL REFERENCES attachment (sha256),
  width_px INTEGER NOT NULL CHECK (width_px > 0),
  height_px INTEGER NOT NULL CHECK (height_px > 0),
  -- 'points': by control_json. Otherwise by matrix_json, as its own file or the one beside it says; NULL: not placed.
  placed_by TEXT CHECK (placed_by IN ('points', 'world-file', 'geotiff')),
  -- Six numbers a to f: x = a column + b row + c, y = d column + e row + f, native.
  matrix_json TEXT CHECK (matrix_json IS NULL OR json_valid(matrix_json)),
  -- label, pixel [column, row] from the upper left corner of the image, native [x, y].
  control_json TEXT NOT NULL CHECK (json_valid(control_json)),
  fit TEXT NOT NULL CHECK (fit IN ('similarity', 'affine')),
  opacity REAL NOT NULL CHECK (opacity BETWEEN 0 AND 1),
  shown INTEGER NOT NULL CHECK (shown IN (0, 1))
) STRICT;
