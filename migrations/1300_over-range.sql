-- A reading over the instrument's range says that the ground holds at least so much: a bound, never a value.

ALTER TABLE sample ADD COLUMN radon_above_kbq_per_m3 REAL CHECK (radon_above_kbq_per_m3 > 0);
