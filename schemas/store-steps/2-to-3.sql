-- From schema 2 to schema 3: acceptances of one finding, copies, what software a device had before, and originals that are
-- kept without what identifies a person.

ALTER TABLE acceptance ADD COLUMN locator TEXT;

ALTER TABLE strip ADD COLUMN contents TEXT;
CREATE INDEX strip_by_contents ON strip (contents);

ALTER TABLE wearing ADD COLUMN before_unit TEXT;
ALTER TABLE wearing ADD COLUMN before_night_id INTEGER;
CREATE INDEX wearing_by_night ON wearing (night_id);

-- Originals that are kept without what identifies a person: `received` is the SHA-256 of the file as it came, `fields` a JSON
-- array of what was blanked.
CREATE TABLE blanked (
  decision INTEGER PRIMARY KEY REFERENCES decision (n),
  original TEXT NOT NULL REFERENCES original (sha256),
  received TEXT NOT NULL CHECK (length(received) = 64),
  fields   TEXT NOT NULL
) STRICT;

-- study.toml is read again, for the wearings, and every night is checked again.
DELETE FROM meta WHERE key = 'config_sha256';
INSERT OR REPLACE INTO meta (key, value) VALUES ('recheck', '1');

DROP VIEW open_finding;

-- Findings that nobody has accepted. Comparisons stop at those of severity error.
CREATE VIEW open_finding AS
SELECT
  f.id,
  f.severity,
  f.code,
  n.participant,
  n.label AS night,
  r.key AS recording,
  f.message,
  f.file,
  f.locator,
  f.line,
  f.count,
  f.help
FROM finding f
JOIN night n ON n.id = f.night_id
LEFT JOIN recording r ON r.id = f.recording_id
WHERE (r.id IS NULL OR r.stands)
  AND NOT EXISTS (
    SELECT 1 FROM acceptance a
    WHERE a.code = f.code AND a.night_id = f.night_id AND a.recording IS r.key
      AND (a.locator IS NULL OR a.locator = f.locator)
  );
