-- From schema 1 to schema 2: what the reviewer knows and decides, and imports that are taken back.

ALTER TABLE recording ADD COLUMN withdrawn_by INTEGER REFERENCES decision (n);
ALTER TABLE recording ADD COLUMN stands INTEGER GENERATED ALWAYS AS (replaced_by IS NULL AND withdrawn_by IS NULL) VIRTUAL;

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

DROP VIEW epoch_local;
DROP VIEW night_summary;
DROP VIEW open_finding;

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
    (SELECT min(x.place) FROM recording x WHERE x.night_id = r.night_id AND x.stands
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
  );
