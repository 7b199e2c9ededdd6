-- The store of a study: study.db, SQLite. Derived from study.toml, originals/ and decisions.jsonl by
-- `counterpane rebuild`. Any SQLite tool may read it; only counterpane writes it.
-- Instants are integer milliseconds since 1970-01-01T00:00:00Z. Views for people stand at the end.

-- What the file is: `schema` (version of this form), `tool` (what made it), `config_sha256`
-- (study.toml as it was last read).
CREATE TABLE meta (
  key   TEXT PRIMARY KEY,
  value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- Lines of decisions.jsonl that have been applied, with the hash of each.
CREATE TABLE decision (
  n    INTEGER PRIMARY KEY,
  at   TEXT NOT NULL,
  by   TEXT NOT NULL,
  act  TEXT NOT NULL,
  hash TEXT NOT NULL CHECK (length(hash) = 64)
) STRICT;

-- People under test, by code only.
CREATE TABLE participant (
  code TEXT PRIMARY KEY
) STRICT, WITHOUT ROWID;

-- Product models under test, and the physical pieces of them.
CREATE TABLE device (
  name TEXT PRIMARY KEY
) STRICT, WITHOUT ROWID;

CREATE TABLE unit (
  name   TEXT PRIMARY KEY,
  device TEXT NOT NULL REFERENCES device (name)
) STRICT, WITHOUT ROWID;

-- Who scores the reference.
CREATE TABLE scorer (
  code      TEXT PRIMARY KEY,
  scored_by TEXT NOT NULL CHECK (scored_by IN ('human', 'algorithm'))
) STRICT, WITHOUT ROWID;

-- Declared sleep periods. Lights as the reviewer declared them; the reference's own are in `note`.
CREATE TABLE night (
  id            INTEGER PRIMARY KEY,
  participant   TEXT NOT NULL REFERENCES participant (code),
  label         TEXT NOT NULL,
  kind          TEXT NOT NULL CHECK (kind IN ('night', 'day', 'nap')),
  zone          TEXT NOT NULL,
  from_ms       INTEGER NOT NULL,
  until_ms      INTEGER NOT NULL,
  lights_off_ms INTEGER,
  lights_on_ms  INTEGER,
  UNIQUE (participant, label),
  CHECK (from_ms < until_ms)
) STRICT;

-- A unit on a night. `before_unit` and `before_night_id` name the wearing before it whose versions are known: of the
-- same unit, or where it has none, of the same device.
CREATE TABLE wearing (
  unit            TEXT NOT NULL REFERENCES unit (name),
  night_id        INTEGER NOT NULL REFERENCES night (id),
  site            TEXT,
  side            TEXT,
  firmware        TEXT,
  app             TEXT,
  before_unit     TEXT,
  before_night_id INTEGER,
  PRIMARY KEY (unit, night_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX wearing_by_night ON wearing (night_id);

-- Files as received, kept under originals/, and definitions, kept there too.
CREATE TABLE original (
  sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),
  bytes  INTEGER NOT NULL CHECK (bytes >= 0)
) STRICT, WITHOUT ROWID;

CREATE TABLE definition (
  sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),
  id     TEXT NOT NULL,
  text   TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- Originals that are kept without what identifies a person: `received` is the SHA-256 of the file as it came, `fields` a JSON
-- array of what was blanked.
CREATE TABLE blanked (
  decision INTEGER NOT NULL REFERENCES decision (n),
  original TEXT NOT NULL REFERENCES original (sha256),
  received TEXT NOT NULL CHECK (length(received) = 64),
  fields   TEXT NOT NULL,
  PRIMARY KEY (decision, original)
) STRICT, WITHOUT ROWID;

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

-- What one unit, or one scorer, says about one night, from one original by one definition.
-- `version` counts the recordings of the same source and night. One that was read again from the same
-- original, by a mended definition, has `replaced_by`, and its successor takes over its `place`; a
-- newer export has a place of its own. A recording whose import was taken back has `withdrawn_by`. Of
-- those that stand, the one with the lowest place counts in comparisons (with the highest, where `export_rule` in `meta` is
-- `newest`), unless `choice` names another.
CREATE TABLE recording (
  id                   INTEGER PRIMARY KEY,
  key                  TEXT NOT NULL UNIQUE,
  night_id             INTEGER NOT NULL REFERENCES night (id),
  unit                 TEXT REFERENCES unit (name),
  scorer               TEXT REFERENCES scorer (code),
  version              INTEGER NOT NULL CHECK (version >= 1),
  place                INTEGER NOT NULL CHECK (place >= 1),
  replaced_by          INTEGER REFERENCES recording (id),
  file                 TEXT NOT NULL,
  original             TEXT NOT NULL REFERENCES original (sha256),
  definition           TEXT NOT NULL REFERENCES definition (sha256),
  decision             INTEGER NOT NULL REFERENCES decision (n),
  zone                 TEXT NOT NULL,
  time_basis           TEXT NOT NULL,
  raw_time             TEXT NOT NULL,  -- the first row that gives a time, as it stands in the source
  rules_version        TEXT NOT NULL,
  second_rules_version TEXT NOT NULL,
  vocabulary           TEXT NOT NULL,
  step_ms              INTEGER NOT NULL CHECK (step_ms >= 0),
  withdrawn_by         INTEGER REFERENCES decision (n),
  precision_ms         INTEGER NOT NULL DEFAULT 0 CHECK (precision_ms >= 0),  -- of times that a person read off a picture
  stands               INTEGER GENERATED ALWAYS AS (replaced_by IS NULL AND withdrawn_by IS NULL) VIRTUAL,
  CHECK ((unit IS NULL) <> (scorer IS NULL))
) STRICT;
CREATE INDEX recording_by_night ON recording (night_id);
CREATE INDEX recording_by_decision ON recording (decision);

-- [start, end) with one mark. Zero and negative lengths are kept as the source gave them.
CREATE TABLE span (
  recording_id INTEGER NOT NULL REFERENCES recording (id) ON DELETE CASCADE,
  seq          INTEGER NOT NULL,
  start_ms     INTEGER NOT NULL,
  end_ms       INTEGER NOT NULL,
  mark         TEXT NOT NULL
    CHECK (mark IN ('W', 'N1', 'N2', 'N3', 'R', 'Light', 'NREM', 'Asleep', 'unscored', 'off')),
  label        TEXT NOT NULL,
  locator      TEXT NOT NULL,
  PRIMARY KEY (recording_id, seq)
) STRICT, WITHOUT ROWID;

-- What a source says of itself: minutes, counts, per cent, or milliseconds since 1970 for times.
CREATE TABLE claim (
  recording_id INTEGER NOT NULL REFERENCES recording (id) ON DELETE CASCADE,
  seq          INTEGER NOT NULL,
  quantity     TEXT NOT NULL,
  value        REAL NOT NULL,
  rounding     REAL NOT NULL CHECK (rounding >= 0),
  locator      TEXT NOT NULL,
  PRIMARY KEY (recording_id, seq)
) STRICT, WITHOUT ROWID;

-- Something that happened, as the source says.
CREATE TABLE note (
  recording_id INTEGER NOT NULL REFERENCES recording (id) ON DELETE CASCADE,
  seq          INTEGER NOT NULL,
  at_ms        INTEGER NOT NULL,
  until_ms     INTEGER,
  precision_ms INTEGER NOT NULL CHECK (precision_ms >= 0),
  kind         TEXT NOT NULL,
  text         TEXT NOT NULL,
  locator      TEXT,
  PRIMARY KEY (recording_id, seq)
) STRICT, WITHOUT ROWID;

-- A recording on the grid of its night: one letter an epoch of 30 s, see `letter`. `contents` is a hash of its
-- stages and their lengths, whatever the day: two recordings that share it are copies. It is empty where there are
-- too few changes of stage to tell.
CREATE TABLE strip (
  recording_id INTEGER PRIMARY KEY REFERENCES recording (id) ON DELETE CASCADE,
  start_ms     INTEGER NOT NULL,
  letters      TEXT NOT NULL,
  contents     TEXT
) STRICT;
CREATE INDEX strip_by_contents ON strip (contents);

CREATE TABLE letter (
  letter TEXT PRIMARY KEY,
  word   TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- The numbers 0 to 5759, so that views can lay out a strip of up to 48 h.
CREATE TABLE epoch_number (
  i INTEGER PRIMARY KEY
) STRICT;

-- Stretches of constant offset from UTC of each zone that a night touches.
CREATE TABLE offset_stretch (
  zone           TEXT NOT NULL,
  from_ms        INTEGER NOT NULL,
  until_ms       INTEGER NOT NULL,
  offset_seconds INTEGER NOT NULL,
  PRIMARY KEY (zone, from_ms),
  CHECK (from_ms < until_ms)
) STRICT, WITHOUT ROWID;

-- What import and check found.
CREATE TABLE finding (
  id           INTEGER PRIMARY KEY,
  night_id     INTEGER NOT NULL REFERENCES night (id),
  recording_id INTEGER REFERENCES recording (id) ON DELETE CASCADE,
  origin       TEXT NOT NULL CHECK (origin IN ('import', 'check')),
  code         TEXT NOT NULL,
  severity     TEXT NOT NULL CHECK (severity IN ('error', 'warning', 'info')),
  message      TEXT NOT NULL,
  help         TEXT NOT NULL,
  file         TEXT,
  locator      TEXT,
  line         TEXT,
  count        INTEGER NOT NULL CHECK (count >= 1)
) STRICT;
CREATE INDEX finding_by_night ON finding (night_id);
CREATE INDEX finding_by_recording ON finding (recording_id);

-- Errors that the reviewer accepted, with the reason. With a `locator`, the one at that place only.
CREATE TABLE acceptance (
  decision     INTEGER PRIMARY KEY REFERENCES decision (n),
  code         TEXT NOT NULL,
  night_id     INTEGER NOT NULL REFERENCES night (id),
  recording    TEXT,
  reason       TEXT NOT NULL,
  by           TEXT NOT NULL,
  at           TEXT NOT NULL,
  locator      TEXT
) STRICT;
CREATE INDEX acceptance_by_night ON acceptance (night_id);

-- What is left out on purpose: of one source (a unit or a scorer) or of all, a stretch or the whole night.
CREATE TABLE exclusion (
  decision INTEGER PRIMARY KEY REFERENCES decision (n),
  night_id INTEGER NOT NULL REFERENCES night (id),
  source   TEXT,
  from_ms  INTEGER,
  until_ms INTEGER,
  looked   TEXT NOT NULL CHECK (looked IN ('before', 'after')),
  reason   TEXT NOT NULL,
  by       TEXT NOT NULL,
  at       TEXT NOT NULL,
  CHECK ((from_ms IS NULL) = (until_ms IS NULL)),
  CHECK (from_ms < until_ms)
) STRICT;
CREATE INDEX exclusion_by_night ON exclusion (night_id);

-- Something that happened, as the reviewer noted it; `note` holds what sources say.
CREATE TABLE night_note (
  decision     INTEGER PRIMARY KEY REFERENCES decision (n),
  night_id     INTEGER NOT NULL REFERENCES night (id),
  source       TEXT,
  at_ms        INTEGER NOT NULL,
  until_ms     INTEGER,
  precision_ms INTEGER NOT NULL CHECK (precision_ms >= 0),
  kind         TEXT NOT NULL,
  text         TEXT NOT NULL
) STRICT;
CREATE INDEX night_note_by_night ON night_note (night_id);

-- What a clock showed at a known moment, as the reviewer saw it.
CREATE TABLE clock_reading (
  decision     INTEGER PRIMARY KEY REFERENCES decision (n),
  night_id     INTEGER NOT NULL REFERENCES night (id),
  source       TEXT NOT NULL,
  shown_ms     INTEGER NOT NULL,
  true_ms      INTEGER NOT NULL,
  precision_ms INTEGER NOT NULL CHECK (precision_ms >= 0),
  picture      TEXT REFERENCES original (sha256),
  text         TEXT NOT NULL
) STRICT;
CREATE INDEX clock_reading_by_night ON clock_reading (night_id);

-- Corrections of a clock on a night; the newest of a source applies. `points` is a JSON array of
-- {"at": a time of the source, "shift_ms": what is added to it}. Spans and strips stay as the source gave them.
CREATE TABLE clock_setting (
  decision INTEGER PRIMARY KEY REFERENCES decision (n),
  night_id INTEGER NOT NULL REFERENCES night (id),
  source   TEXT NOT NULL,
  points   TEXT NOT NULL,
  reason   TEXT NOT NULL,
  by       TEXT NOT NULL,
  at       TEXT NOT NULL
) STRICT;
CREATE INDEX clock_setting_by_night ON clock_setting (night_id);

-- Which of several exports of a night counts; the newest of a source applies.
CREATE TABLE choice (
  decision INTEGER PRIMARY KEY REFERENCES decision (n),
  night_id INTEGER NOT NULL REFERENCES night (id),
  source   TEXT NOT NULL,
  place    INTEGER NOT NULL,
  reason   TEXT NOT NULL,
  by       TEXT NOT NULL,
  at       TEXT NOT NULL
) STRICT;
CREATE INDEX choice_by_night ON choice (night_id);

-- Decisions that were taken back. Their rows are gone from the tables above, and recordings of an import
-- that was taken back stay with `withdrawn_by`.
CREATE TABLE withdrawal (
  decision    INTEGER PRIMARY KEY REFERENCES decision (n),
  by_decision INTEGER NOT NULL REFERENCES decision (n),
  reason      TEXT NOT NULL
) STRICT;

-- One row an epoch: what each recording says of it, with local time and its offset.
CREATE VIEW epoch_local AS
SELECT
  n.participant,
  n.label AS night,
  r.key AS recording,
  coalesce(u.device, r.scorer) AS source,
  r.scorer IS NOT NULL AS is_reference,
  e.i AS epoch,
  s.start_ms + e.i * 30000 AS start_ms,
  strftime('%Y-%m-%d %H:%M:%S', (s.start_ms + e.i * 30000) / 1000.0 + o.offset_seconds, 'unixepoch') AS local_start,
  printf('%s%02d:%02d', CASE WHEN o.offset_seconds < 0 THEN '-' ELSE '+' END,
    abs(o.offset_seconds) / 3600, abs(o.offset_seconds) % 3600 / 60) AS utc_offset,
  l.word AS stage
FROM strip s
JOIN recording r ON r.id = s.recording_id
JOIN night n ON n.id = r.night_id
LEFT JOIN unit u ON u.name = r.unit
JOIN epoch_number e ON e.i < length(s.letters)
JOIN letter l ON l.letter = substr(s.letters, e.i + 1, 1)
JOIN offset_stretch o ON o.zone = n.zone
  AND o.from_ms <= s.start_ms + e.i * 30000 AND s.start_ms + e.i * 30000 < o.until_ms
WHERE r.stands;

-- One row a recording: minutes in each stage as the source gave them, before any grid.
CREATE VIEW night_summary AS
SELECT
  n.participant,
  n.label AS night,
  n.kind,
  n.zone,
  r.key AS recording,
  coalesce(u.device, r.scorer) AS source,
  r.scorer IS NOT NULL AS is_reference,
  r.file,
  r.version,
  r.place = coalesce(
    (SELECT c.place FROM choice c JOIN recording x ON x.night_id = c.night_id AND x.place = c.place AND x.stands
       AND coalesce(x.unit, x.scorer) = c.source
     WHERE c.night_id = r.night_id AND c.source = coalesce(r.unit, r.scorer) ORDER BY c.decision DESC LIMIT 1),
    (SELECT CASE (SELECT m.value FROM meta m WHERE m.key = 'export_rule') WHEN 'newest' THEN max(x.place) ELSE min(x.place) END
     FROM recording x WHERE x.night_id = r.night_id AND x.stands
       AND x.unit IS r.unit AND x.scorer IS r.scorer)) AS counts,
  (SELECT count(*) FROM span s WHERE s.recording_id = r.id) AS spans,
  (SELECT count(*) FROM claim c WHERE c.recording_id = r.id) AS claims,
  t.minutes_wake, t.minutes_n1, t.minutes_n2, t.minutes_light, t.minutes_n3, t.minutes_r,
  t.minutes_nrem, t.minutes_asleep, t.minutes_unscored, t.minutes_off,
  (SELECT count(*) FROM finding f WHERE f.recording_id = r.id AND f.severity = 'error') AS errors
FROM recording r
JOIN night n ON n.id = r.night_id
LEFT JOIN unit u ON u.name = r.unit
LEFT JOIN (
  SELECT recording_id,
    sum(CASE mark WHEN 'W' THEN end_ms - start_ms ELSE 0 END) / 60000.0 AS minutes_wake,
    sum(CASE mark WHEN 'N1' THEN end_ms - start_ms ELSE 0 END) / 60000.0 AS minutes_n1,
    sum(CASE mark WHEN 'N2' THEN end_ms - start_ms ELSE 0 END) / 60000.0 AS minutes_n2,
    sum(CASE mark WHEN 'Light' THEN end_ms - start_ms ELSE 0 END) / 60000.0 AS minutes_light,
    sum(CASE mark WHEN 'N3' THEN end_ms - start_ms ELSE 0 END) / 60000.0 AS minutes_n3,
    sum(CASE mark WHEN 'R' THEN end_ms - start_ms ELSE 0 END) / 60000.0 AS minutes_r,
    sum(CASE mark WHEN 'NREM' THEN end_ms - start_ms ELSE 0 END) / 60000.0 AS minutes_nrem,
    sum(CASE mark WHEN 'Asleep' THEN end_ms - start_ms ELSE 0 END) / 60000.0 AS minutes_asleep,
    sum(CASE mark WHEN 'unscored' THEN end_ms - start_ms ELSE 0 END) / 60000.0 AS minutes_unscored,
    sum(CASE mark WHEN 'off' THEN end_ms - start_ms ELSE 0 END) / 60000.0 AS minutes_off
  FROM span GROUP BY recording_id
) t ON t.recording_id = r.id
WHERE r.stands;

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
