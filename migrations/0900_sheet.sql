-- What stands on sheets and reports beside the results, and where a person put the parts of a sheet.

CREATE TABLE sheet_text (
  id TEXT PRIMARY KEY,
  -- Such as 'preparedBy': core/contract/sheet.ts lists them.
  field TEXT NOT NULL UNIQUE CHECK (length(field) > 0),
  text TEXT NOT NULL CHECK (length(trim(text)) > 0)
) STRICT;

-- One row for each part that does not stand where the template puts it, or is not shown.
CREATE TABLE sheet_part (
  id TEXT PRIMARY KEY,
  template TEXT NOT NULL,
  page TEXT NOT NULL,
  orientation TEXT NOT NULL CHECK (orientation IN ('portrait', 'landscape')),
  part TEXT NOT NULL CHECK (length(part) > 0),
  -- Page of the figure, from 1. Empty with the rectangle: where the template puts it.
  page_number INTEGER CHECK (page_number >= 1),
  -- From the top left corner of the page.
  x_mm REAL,
  y_mm REAL,
  width_mm REAL CHECK (width_mm > 0),
  height_mm REAL CHECK (height_mm > 0),
  hidden INTEGER NOT NULL CHECK (hidden IN (0, 1)),
  UNIQUE (template, page, orientation, part),
  CHECK ((page_number IS NULL) = (x_mm IS NULL)),
  CHECK ((x_mm IS NULL) = (y_mm IS NULL)),
  CHECK ((x_mm IS NULL) = (width_mm IS NULL)),
  CHECK ((x_mm IS NULL) = (height_mm IS NULL))
) STRICT;
