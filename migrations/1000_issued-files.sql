-- The files that an issue was written to, each by the hash of its bytes: whoever holds one can ask whether it is unaltered.

CREATE TABLE issued_file (
  id TEXT PRIMARY KEY,
  issued_id TEXT NOT NULL REFERENCES issued (id),
  format TEXT NOT NULL CHECK (format IN ('pdf', 'html', 'docx')),
  -- As it was called when it was written.
  name TEXT NOT NULL CHECK (length(name) > 0),
  file_sha256 TEXT NOT NULL CHECK (length(file_sha256) = 64),
  byte_count INTEGER NOT NULL CHECK (byte_count > 0)
) STRICT;

CREATE INDEX issued_file_by_issue ON issued_file (issued_id);

CREATE TRIGGER issued_file_never_updated BEFORE UPDATE ON issued_file
BEGIN
  SELECT RAISE(ABORT, 'a file of an issue is never altered');
END;

CREATE TRIGGER issued_file_never_deleted BEFORE DELETE ON issued_file
BEGIN
  SELECT RAISE(ABORT, 'a file of an issue is never taken back');
END;
