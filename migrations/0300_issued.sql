-- Issued reports: each names a frozen state by the hash of its canonical text, which is kept as an attachment.
-- An issue is never altered or taken back; a later one stands beside it.

CREATE TABLE issued (
  id TEXT PRIMARY KEY,
  -- Counted from 1 in the order of issuing.
  number INTEGER NOT NULL UNIQUE CHECK (number >= 1),
  state_sha256 TEXT NOT NULL REFERENCES attachment (sha256),
  -- Last entry of the record that the state holds.
  record_hash TEXT NOT NULL CHECK (length(record_hash) = 64),
  -- The report as sent out, where it was kept.
  report_sha256 TEXT REFERENCES attachment (sha256),
  actor_id TEXT NOT NULL REFERENCES actor (id),
  issued_utc TEXT NOT NULL CHECK (issued_utc GLOB '????-??-??T??:??:??*Z')
) STRICT;

-- A second person's word that they looked at one issue, named by its hash.
CREATE TABLE review (
  id TEXT PRIMARY KEY,
  issued_id TEXT NOT NULL REFERENCES issued (id),
  state_sha256 TEXT NOT NULL CHECK (length(state_sha256) = 64),
  actor_id TEXT NOT NULL REFERENCES actor (id),
  note TEXT,
  reviewed_utc TEXT NOT NULL CHECK (reviewed_utc GLOB '????-??-??T??:??:??*Z')
) STRICT;

CREATE INDEX review_by_issue ON review (issued_id);

CREATE TRIGGER issued_never_updated BEFORE UPDATE ON issued
BEGIN
  SELECT RAISE(ABORT, 'an issued report is never altered');
END;

CREATE TRIGGER issued_never_deleted BEFORE DELETE ON issued
BEGIN
  SELECT RAISE(ABORT, 'an issued report is never taken back');
END;

CREATE TRIGGER review_never_updated BEFORE UPDATE ON review
BEGIN
  SELECT RAISE(ABORT, 'a review is never altered');
END;

CREATE TRIGGER review_never_deleted BEFORE DELETE ON review
BEGIN
  SELECT RAISE(ABORT, 'a review is never taken back');
END;
