-- From schema 5 to schema 6: which of several exports counts may be laid down in study.toml.

-- study.toml is read again, for that rule.
DELETE FROM meta WHERE key = 'config_sha256';

DROP VIEW night_summary;

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
