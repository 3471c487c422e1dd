-- Kept placements are spoken of by name: in the table that compares them, in the record and in the report.

ALTER TABLE placement ADD COLUMN label TEXT NOT NULL DEFAULT '';
