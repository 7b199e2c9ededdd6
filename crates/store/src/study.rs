//! Making, finding, opening and locking a study.

use crate::decisions::{Decision, Log, hash};
use crate::originals::Originals;
use crate::{Act, Config, StoreError, config, migrations};
use counterpane_model::{Instant, Night, Zone};
use rusqlite::{Connection, OpenFlags, config::DbConfig};
use std::fs::File;
use std::path::{Path, PathBuf};
use std::time::Duration;

mod aside;
mod wearings;

/// Whether a study is opened to be changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Access {
    /// Nothing is written; the folder may be read-only.
    Read,
    /// The study is locked against other writers until it is dropped.
    Write,
}

/// A deed that is carried out.
#[derive(Clone, Copy, Debug)]
pub enum Deed<'a> {
    /// It is decided now.
    New {
        /// When: RFC 3339, UTC.
        at: &'a str,
        /// By whom.
        by: &'a str,
    },
    /// It stands in the log and is applied (again).
    Logged(&'a Decision),
}

/// Name of the store.
const STORE: &str = "study.db";
/// Name of a store that is being made anew.
const NEW_STORE: &str = "study.db.new";

/// An open study.
#[derive(Debug)]
pub struct Study {
    root: PathBuf,
    config: Config,
    /// SHA-256 of the text that `config` was read from.
    config_sha256: String,
    nights: Vec<Night>,
    log: Log,
    originals: Originals,
    db: Connection,
    _lock: Option<File>,
}

impl Study {
    /// Makes a study folder with the given text of `study.toml`, an empty store and an empty log.
    ///
    /// # Errors
    /// There is a study already, the text has a mistake, or the machine cannot write.
    pub fn create(root: &Path, study_toml: &str, tool: &str) -> Result<Study, StoreError> {
        let toml = root.join("study.toml");
        if toml.exists() {
            return Err(StoreError::StudyExists(root.to_owned()));
        }
        Config::parse(&toml, study_toml)?;
        std::fs::create_dir_all(root.join("originals")).map_err(StoreError::io(root))?;
        write_durably(&toml, study_toml)?;
        let study = Study::open(root, Access::Write)?;
        study.made_by(tool)?;
        Ok(study)
    }

    /// Notes name and version of the program that made the store.
    ///
    /// # Errors
    /// The store cannot be written.
    pub fn made_by(&self, tool: &str) -> Result<(), StoreError> {
        self.db.execute("INSERT OR REPLACE INTO meta (key, value) VALUES ('tool', ?1)", [tool])?;
        Ok(())
    }

    /// Returns the folder of the study that `start` lies in: the nearest one upward with a `study.toml`.
    ///
    /// # Errors
    /// There is none.
    pub fn find(start: &Path) -> Result<PathBuf, StoreError> {
        start
            .ancestors()
            .find(|dir| dir.join("study.toml").is_file())
            .map(Path::to_owned)
            .ok_or_else(|| StoreError::NoStudy(start.to_owned()))
    }

    /// Says whether a folder has a store with anything in it. One that was deleted, or that a full disk left empty, says
    /// nothing about the study.
    #[must_use]
    pub fn has_store(root: &Path) -> bool {
        std::fs::metadata(root.join(STORE)).is_ok_and(|m| m.len() > 0)
    }

    /// Opens the study in a folder. Decisions that the log holds and the store lacks are left to
    /// [`Study::pending`].
    ///
    /// # Errors
    /// `study.toml` or the log has a mistake, the store is somebody else's or newer, another writer is
    /// at work, or the store holds more than the log.
    pub fn open(root: &Path, access: Access) -> Result<Study, StoreError> {
        Study::open_store(root, access, STORE)
    }

    /// Opens the study with an empty store beside the old one; every decision is then pending. Apply them
    /// all, then let it take the old one's place with [`Study::take_over`]. Until then nothing is lost.
    ///
    /// # Errors
    /// As for [`Study::open`].
    pub fn open_beside(root: &Path) -> Result<Study, StoreError> {
        for name in [NEW_STORE.to_owned(), format!("{NEW_STORE}-journal")] {
            remove(&root.join(name))?;
        }
        Study::open_store(root, Access::Write, NEW_STORE)
    }

    /// Puts the store of [`Study::open_beside`] in the place of the old one. An old one that is not a store
    /// of this version is kept as `study.db.replaced`.
    ///
    /// # Errors
    /// The machine cannot rename.
    pub fn take_over(self) -> Result<(), StoreError> {
        let Study { root, db, _lock, .. } = self;
        db.close().map_err(|(_, e)| e)?;
        let (old, new) = (root.join(STORE), root.join(NEW_STORE));
        if old.exists() && connect(&old, Access::Read).is_err() {
            std::fs::rename(&old, root.join("study.db.replaced")).map_err(StoreError::io(&old))?;
        }
        remove(&root.join(format!("{STORE}-journal")))?;
        std::fs::rename(&new, &old).map_err(StoreError::io(&new))
    }

    fn open_store(root: &Path, access: Access, store: &str) -> Result<Study, StoreError> {
        let root = std::path::absolute(root).map_err(StoreError::io(root))?;
        let toml = root.join("study.toml");
        if !toml.is_file() {
            return Err(StoreError::NoStudy(root));
        }
        let lock = (access == Access::Write).then(|| lock(&root)).transpose()?;
        let text = std::fs::read_to_string(&toml).map_err(StoreError::io(&toml))?;
        let config = Config::parse(&toml, &text)?;
        let nights = config.resolved_nights()?;
        let log = Log::open(&root.join("decisions.jsonl"))?;
        if access == Access::Read {
            roll_back_what_was_interrupted(&root)?;
        }
        let db = connect(&root.join(store), access)?;
        let config_sha256 = hash(text.as_bytes());
        let originals = Originals::at(&root);
        let mut study = Study { originals, root, config, config_sha256, nights, log, db, _lock: lock };
        study.check_against_log()?;
        if access == Access::Write {
            study.log.mend()?;
            study.originals.sweep();
            study.follow_config()?;
        }
        Ok(study)
    }

    /// Returns the folder.
    #[must_use]
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// Returns what `study.toml` says.
    #[must_use]
    pub fn config(&self) -> &Config {
        &self.config
    }

    /// Returns the declared nights in the order of `study.toml`.
    #[must_use]
    pub fn nights(&self) -> &[Night] {
        &self.nights
    }

    /// Returns the originals.
    #[must_use]
    pub fn originals(&self) -> &Originals {
        &self.originals
    }

    /// Returns every decision of the log.
    #[must_use]
    pub fn decisions(&self) -> &[Decision] {
        self.log.decisions()
    }

    /// Returns the decisions that are in the log and not yet in the store: an act that was interrupted
    /// after it was decided. Apply each before anything else.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn pending(&self) -> Result<Vec<Decision>, StoreError> {
        let applied = usize::try_from(self.applied()?).unwrap_or(usize::MAX);
        Ok(self.log.decisions().iter().skip(applied).cloned().collect())
    }

    /// Says whether the store mirrors `study.toml` as it stands now, findings and all.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn follows_config(&self) -> Result<bool, StoreError> {
        let known: Option<String> =
            self.db.query_row("SELECT max(value) FROM meta WHERE key = 'config_sha256'", [], |r| r.get(0))?;
        Ok(known.as_deref() == Some(self.config_sha256.as_str()) && !self.needs_recheck()?)
    }

    /// Says whether `study.toml` changed since the checks ran: their findings may be stale then.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn needs_recheck(&self) -> Result<bool, StoreError> {
        Ok(self.db.query_row("SELECT count(*) FROM meta WHERE key = 'recheck'", [], |r| r.get::<_, i64>(0))? > 0)
    }

    /// Carries a deed out: rows first, then its line in the log, then both are made to stay.
    ///
    /// What the store refuses is never logged. A kill between the line and the commit leaves a line that
    /// the next opening applies.
    pub(crate) fn carry_out<T>(
        &mut self,
        deed: Deed<'_>,
        act: Act,
        rows: impl FnOnce(&rusqlite::Transaction<'_>, &Decision) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        let Study { log, db, .. } = self;
        match deed {
            Deed::New { at, by } => {
                let (decision, line) = log.next(at, by, act)?;
                let tx = db.transaction()?;
                put_decision(&tx, &decision, &hash(&line))?;
                let out = rows(&tx, &decision)?;
                log.append(&line)?;
                tx.commit()?;
                Ok(out)
            }
            Deed::Logged(decision) => {
                let hash = log.hash_of(decision.n).to_owned();
                let tx = db.transaction()?;
                put_decision(&tx, decision, &hash)?;
                let out = rows(&tx, decision)?;
                tx.commit()?;
                Ok(out)
            }
        }
    }

    /// Adds declarations of nights to the end of `study.toml` and reads it again.
    ///
    /// # Errors
    /// The new text has a mistake (then the file is left as it was), or cannot be written.
    pub fn declare_nights(&mut self, nights: &[Night]) -> Result<(), StoreError> {
        if nights.is_empty() {
            return Ok(());
        }
        let toml = self.root.join("study.toml");
        let mut text = std::fs::read_to_string(&toml).map_err(StoreError::io(&toml))?;
        let edited_meanwhile = hash(text.as_bytes()) != self.config_sha256;
        if !text.ends_with('\n') {
            text.push('\n');
        }
        for night in nights {
            text.push_str(&config::night_lines(night, self.config.zone()));
        }
        self.config = Config::parse(&toml, &text)?;
        self.nights = self.config.resolved_nights()?;
        write_durably(&toml, &text)?;
        self.config_sha256 = hash(text.as_bytes());
        if edited_meanwhile {
            return self.follow_config();
        }
        let tx = self.db.transaction()?;
        for night in nights {
            put_night(&tx, night)?;
        }
        put_config_hash(&tx, &self.config_sha256)?;
        tx.commit()?;
        Ok(())
    }

    pub(crate) fn db(&self) -> &Connection {
        &self.db
    }

    pub(crate) fn db_mut(&mut self) -> &mut Connection {
        &mut self.db
    }

    fn applied(&self) -> Result<u64, StoreError> {
        Ok(self.db.query_row("SELECT coalesce(max(n), 0) FROM decision", [], |r| r.get(0))?)
    }

    fn check_against_log(&self) -> Result<(), StoreError> {
        let (in_db, in_log) = (self.applied()?, self.log.decisions().len() as u64);
        if in_db > in_log {
            return Err(StoreError::LogBehind { in_db, in_log });
        }
        let mut hashes = self.db.prepare("SELECT n, hash FROM decision ORDER BY n")?;
        let rows = hashes.query_map([], |r| Ok((r.get::<_, u64>(0)?, r.get::<_, String>(1)?)))?;
        for row in rows {
            let (line, stored) = row?;
            if stored != self.log.hash_of(line) {
                let problem = "it is not the line that the store was made from; restore the file from a copy, or run `counterpane rebuild` to follow it as it is";
                return Err(StoreError::Log { line, problem: problem.into() });
            }
        }
        Ok(())
    }

    /// Brings the tables that mirror `study.toml` up to date, in one transaction.
    ///
    /// Rows that recordings refer to are kept even when `study.toml` names them no more.
    fn follow_config(&mut self) -> Result<(), StoreError> {
        let known: Option<String> =
            self.db.query_row("SELECT max(value) FROM meta WHERE key = 'config_sha256'", [], |r| r.get(0))?;
        if known.as_deref() == Some(self.config_sha256.as_str()) {
            return Ok(());
        }
        let (config, nights) = (&self.config, &self.nights);
        let tx = self.db.transaction()?;
        tx.execute_batch(FORGET)?;
        for night in nights_kept(&tx)? {
            put_stretches(&tx, &night.0, night.1, night.2)?;
        }
        for p in &config.participants {
            tx.execute("INSERT OR IGNORE INTO participant (code) VALUES (?1)", [p.code.get_ref()])?;
        }
        for d in &config.devices {
            tx.execute("INSERT OR IGNORE INTO device (name) VALUES (?1)", [d.name.get_ref()])?;
        }
        for u in &config.units {
            tx.execute(
                "INSERT INTO unit (name, device) VALUES (?1, ?2) ON CONFLICT DO UPDATE SET device = excluded.device",
                (u.name.get_ref(), u.device.get_ref()),
            )?;
        }
        for s in &config.scorers {
            tx.execute(
                "INSERT INTO scorer (code, scored_by) VALUES (?1, ?2) ON CONFLICT DO UPDATE SET scored_by = excluded.scored_by",
                (s.code.get_ref(), s.scored_by.code()),
            )?;
        }
        for night in nights {
            put_night(&tx, night)?;
        }
        wearings::put_wearings(&tx, config, nights)?;
        put_export_rule(&tx, config)?;
        put_config_hash(&tx, &self.config_sha256)?;
        tx.execute("INSERT OR REPLACE INTO meta (key, value) VALUES ('recheck', '1')", [])?;
        tx.commit()?;
        Ok(())
    }
}

/// Removes what mirrors `study.toml` and nothing refers to; what is still declared is put back.
const FORGET: &str = "
    DELETE FROM wearing;
    DELETE FROM offset_stretch;
    DELETE FROM night WHERE id NOT IN (SELECT night_id FROM recording UNION SELECT night_id FROM acceptance
      UNION SELECT night_id FROM exclusion UNION SELECT night_id FROM night_note UNION SELECT night_id FROM clock_reading
      UNION SELECT night_id FROM clock_setting UNION SELECT night_id FROM choice);
    DELETE FROM participant WHERE code NOT IN (SELECT participant FROM night);
    DELETE FROM unit WHERE name NOT IN (SELECT unit FROM recording WHERE unit IS NOT NULL);
    DELETE FROM device WHERE name NOT IN (SELECT device FROM unit);
    DELETE FROM scorer WHERE code NOT IN (SELECT scorer FROM recording WHERE scorer IS NOT NULL);
";

fn put_config_hash(tx: &rusqlite::Transaction<'_>, sha256: &str) -> Result<(), StoreError> {
    tx.execute("INSERT OR REPLACE INTO meta (key, value) VALUES ('config_sha256', ?1)", [sha256])?;
    Ok(())
}

/// Which of several exports counts is asked in SQL, so the tables must know it.
fn put_export_rule(tx: &rusqlite::Transaction<'_>, config: &Config) -> Result<(), StoreError> {
    let rule = config.plan().map(|p| p.export).unwrap_or_default();
    tx.execute("INSERT OR REPLACE INTO meta (key, value) VALUES ('export_rule', ?1)", [rule.code()])?;
    Ok(())
}

fn put_decision(tx: &rusqlite::Transaction<'_>, decision: &Decision, hash: &str) -> Result<(), StoreError> {
    let act = serde_json::to_string(&decision.act).map_err(|e| StoreError::Word(e.to_string()))?;
    tx.execute(
        "INSERT INTO decision (n, at, by, act, hash) VALUES (?1, ?2, ?3, ?4, ?5)",
        (decision.n, &decision.at, &decision.by, act, hash),
    )?;
    Ok(())
}

fn put_night(tx: &rusqlite::Transaction<'_>, night: &Night) -> Result<(), StoreError> {
    tx.execute(
        "INSERT INTO night (participant, label, kind, zone, from_ms, until_ms, lights_off_ms, lights_on_ms)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)
         ON CONFLICT (participant, label) DO UPDATE SET kind = excluded.kind, zone = excluded.zone,
           from_ms = excluded.from_ms, until_ms = excluded.until_ms,
           lights_off_ms = excluded.lights_off_ms, lights_on_ms = excluded.lights_on_ms",
        (
            &night.participant,
            &night.label,
            night.kind.code(),
            &night.zone,
            night.window.0.0,
            night.window.1.0,
            night.lights.off.map(|t| t.0),
            night.lights.on.map(|t| t.0),
        ),
    )?;
    put_stretches(tx, &night.zone, night.window.0, night.window.1)
}

/// Returns zone and window of the nights that recordings or acceptances refer to.
fn nights_kept(tx: &rusqlite::Transaction<'_>) -> Result<Vec<(String, Instant, Instant)>, StoreError> {
    let mut select = tx.prepare("SELECT zone, from_ms, until_ms FROM night")?;
    let rows = select.query_map([], |r| Ok((r.get(0)?, Instant(r.get(1)?), Instant(r.get(2)?))))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// Stores the offsets of a night's zone, a day beyond its window on either side, so that recordings
/// that reach beyond it have local times too.
pub(crate) fn put_stretches(
    tx: &rusqlite::Transaction<'_>,
    zone: &str,
    from: Instant,
    until: Instant,
) -> Result<(), StoreError> {
    if let (Ok(zone), Some(from), Some(until)) = (Zone::named(zone), from.plus_ms(-DAY_MS), until.plus_ms(DAY_MS)) {
        add_stretches(tx, &zone, from, until)?;
    }
    Ok(())
}

const DAY_MS: i64 = 86_400_000;

/// Stores a zone's offsets for a stretch of time. Stretches are cut at UTC midnights, so that those of
/// several nights fall into each other instead of overlapping.
fn add_stretches(tx: &rusqlite::Transaction<'_>, zone: &Zone, from: Instant, until: Instant) -> Result<(), StoreError> {
    let first = from.0.div_euclid(DAY_MS);
    let last = (until.0 - 1).div_euclid(DAY_MS);
    let mut insert = tx.prepare_cached(
        "INSERT OR REPLACE INTO offset_stretch (zone, from_ms, until_ms, offset_seconds) VALUES (?1, ?2, ?3, ?4)",
    )?;
    for d in first..=last {
        for s in zone.stretches(Instant(d * DAY_MS), Instant((d + 1) * DAY_MS)) {
            insert.execute((zone.name(), s.from.0, s.until.0, s.offset_seconds))?;
        }
    }
    Ok(())
}

/// A writer that was killed leaves its journal; only a connection that writes can roll it back.
fn roll_back_what_was_interrupted(root: &Path) -> Result<(), StoreError> {
    if !root.join("study.db-journal").exists() {
        return Ok(());
    }
    match lock(root) {
        Ok(_guard) => {
            let db = connect(&root.join("study.db"), Access::Write)?;
            db.query_row("SELECT count(*) FROM decision", [], |r| r.get::<_, i64>(0))?;
            Ok(())
        }
        // The journal belongs to a writer that is at work, and SQLite keeps readers out of its way.
        Err(StoreError::Busy) => Ok(()),
        Err(e) => Err(e),
    }
}

fn lock(root: &Path) -> Result<File, StoreError> {
    let path = root.join(".lock");
    let file = File::options().create(true).truncate(false).write(true).open(&path).map_err(StoreError::io(&path))?;
    // Two short commands one after the other are common; a long import is not waited for.
    for _ in 0..50 {
        match file.try_lock() {
            Ok(()) => return Ok(file),
            Err(std::fs::TryLockError::WouldBlock) => std::thread::sleep(Duration::from_millis(40)),
            Err(std::fs::TryLockError::Error(e)) => return Err(StoreError::io(&path)(e)),
        }
    }
    Err(StoreError::Busy)
}

/// Opens the database by its absolute path, never as a URI, with every guard that SQLite has.
pub(crate) fn connect(path: &Path, access: Access) -> Result<Connection, StoreError> {
    let flags = match access {
        Access::Write => OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE,
        // A study that was never written to has no database yet, and a full disk leaves an empty file.
        Access::Read if std::fs::metadata(path).map_or(true, |m| m.len() == 0) => {
            let mut db = Connection::open_in_memory()?;
            migrations::bring_up_to_date(&mut db, path)?;
            return Ok(db);
        }
        Access::Read => OpenFlags::SQLITE_OPEN_READ_ONLY,
    };
    let mut db = Connection::open_with_flags(path, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
    db.busy_timeout(Duration::from_secs(5))?;
    db.set_db_config(DbConfig::SQLITE_DBCONFIG_DQS_DML, false)?;
    db.set_db_config(DbConfig::SQLITE_DBCONFIG_DQS_DDL, false)?;
    db.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    db.set_db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false)?;
    db.pragma_update(None, "foreign_keys", true)?;
    if access == Access::Write {
        db.pragma_update(None, "synchronous", "FULL")?;
        migrations::bring_up_to_date(&mut db, path)?;
    } else {
        migrations::only_if_known(&db, path)?;
    }
    Ok(db)
}

/// Removes a file, if it is there.
pub(crate) fn remove(path: &Path) -> Result<(), StoreError> {
    match std::fs::remove_file(path) {
        Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(StoreError::io(path)(e)),
        _ => Ok(()),
    }
}

/// Writes a text so that a reader finds the old one or the new one, never a part. A link is followed, and
/// the permissions of the old file are kept.
fn write_durably(path: &Path, text: &str) -> Result<(), StoreError> {
    use std::io::Write as _;
    let path = &path.canonicalize().unwrap_or_else(|_| path.to_owned());
    let folder = path.parent().unwrap_or(Path::new("."));
    let mut file = tempfile::NamedTempFile::new_in(folder).map_err(StoreError::io(path))?;
    file.write_all(text.as_bytes()).and_then(|()| file.as_file().sync_all()).map_err(StoreError::io(path))?;
    if let Some(permissions) = permissions_for(path) {
        file.as_file().set_permissions(permissions).map_err(StoreError::io(path))?;
    }
    file.persist(path).map_err(|e| StoreError::Io { path: path.clone(), error: e.error })?;
    Ok(())
}

#[cfg(unix)]
fn permissions_for(path: &Path) -> Option<std::fs::Permissions> {
    use std::os::unix::fs::PermissionsExt as _;
    let fresh = || std::fs::Permissions::from_mode(0o644);
    Some(std::fs::metadata(path).map_or_else(|_| fresh(), |m| m.permissions()))
}

#[cfg(not(unix))]
fn permissions_for(path: &Path) -> Option<std::fs::Permissions> {
    std::fs::metadata(path).ok().map(|m| m.permissions())
}
