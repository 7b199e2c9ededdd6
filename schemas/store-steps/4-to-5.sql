-- From schema 4 to schema 5: pictures that rows were read from, the two readings behind a settled sheet, and several files
-- of one decision that are kept without what identifies a person.

-- Pictures that the rows of an import were read from.
CREATE TABLE picture (
  decision INTEGER NOT NULL REFERENCES decision (n),
  seq      INTEGER NOT NULL,
  original TEXT NOT NULL REFERENCES original (sha256),
  file     TEXT NOT NULL,
  PRIMARY KEY (decision, seq)
) STRICT, WITHOUT ROWID;

-- The two readings that a settled sheet follows from, and how far they were apart: rows that differ beyond `within_ms`, the two
-- precisions together; and seconds that they tell differently, of those of which at least one says something.
CREATE TABLE settlement (
  decision          INTEGER PRIMARY KEY REFERENCES decision (n),
  first             TEXT NOT NULL REFERENCES original (sha256),
  second            TEXT NOT NULL REFERENCES original (sha256),
  rows              INTEGER NOT NULL CHECK (rows >= 0),
  rows_differing    INTEGER NOT NULL CHECK (rows_differing BETWEEN 0 AND rows),
  within_ms         INTEGER NOT NULL CHECK (within_ms >= 0),
  seconds           INTEGER NOT NULL CHECK (seconds >= 0),
  seconds_differing INTEGER NOT NULL CHECK (seconds_differing BETWEEN 0 AND seconds)
) STRICT;

-- Originals that are kept without what identifies a person: `received` is the SHA-256 of the file as it came, `fields` a JSON
-- array of what was blanked.
ALTER TABLE blanked RENAME TO blanked_of_4;
CREATE TABLE blanked (
  decision INTEGER NOT NULL REFERENCES decision (n),
  original TEXT NOT NULL REFERENCES original (sha256),
  received TEXT NOT NULL CHECK (length(received) = 64),
  fields   TEXT NOT NULL,
  PRIMARY KEY (decision, original)
) STRICT, WITHOUT ROWID;
INSERT INTO blanked (decision, original, received, fields) SELECT decision, original, received, fields FROM blanked_of_4;
DROP TABLE blanked_of_4;
