-- Where walks start and end, and what they go round.

-- Native; NULL: the lot's first corner.
ALTER TABLE project ADD COLUMN walk_start_x REAL;
ALTER TABLE project ADD COLUMN walk_start_y REAL CHECK ((walk_start_x IS NULL) = (walk_start_y IS NULL));

-- 1: walked round, 0: walked over. NULL: as its shape says, an area round and a line over.
ALTER TABLE keep_out ADD COLUMN blocks_walk INTEGER CHECK (blocks_walk IN (0, 1));
