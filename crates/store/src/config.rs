//! `study.toml`: what the study is, written by hand or by commands.

mod facts;
mod protocol;

pub use facts::Obtained;
pub use protocol::ProtocolConfig;

use crate::StoreError;
use counterpane_model::zone::Date;
use counterpane_model::{Fold, Instant, Lights, MAJORITY, Night, NightKind, ScoredBy, Wall, Zone, typed_instant};
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::path::Path;
use toml::Spanned;

/// The study as `study.toml` describes it, checked.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Config {
    /// Version of the file's form: 1.
    pub version: u32,
    /// Name of the study, for titles.
    pub name: String,
    /// IANA zone of nights that name no other.
    zone: Spanned<String>,
    /// Who decides, where a command names nobody.
    pub author: Option<String>,
    /// Whether what identifies a person is blanked in files on their way in.
    #[serde(default)]
    pub blank_identity: bool,
    /// Folder, seen from the study, in which pictures are looked for that the head of a sheet names and that are not beside it.
    pub pictures: Option<std::path::PathBuf>,
    /// The people under test.
    #[serde(default, rename = "participant")]
    pub participants: Vec<ParticipantConfig>,
    /// The product models under test.
    #[serde(default, rename = "device")]
    pub devices: Vec<DeviceConfig>,
    /// The physical pieces.
    #[serde(default, rename = "unit")]
    pub units: Vec<UnitConfig>,
    /// Who scores the reference.
    #[serde(default, rename = "scorer")]
    pub scorers: Vec<ScorerConfig>,
    /// The declared nights.
    #[serde(default, rename = "night")]
    pub nights: Vec<NightConfig>,
    /// A unit on a night.
    #[serde(default, rename = "wearing")]
    pub wearings: Vec<WearingConfig>,
    /// How comparisons are made, as it was laid down beforehand.
    #[serde(default)]
    pub protocol: ProtocolConfig,
    /// Limits of the readers that are other than usual, by name; who reads files knows the names.
    #[serde(default)]
    pub limits: BTreeMap<String, LimitConfig>,
}

/// A person under test, known by a code only.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ParticipantConfig {
    /// The code, such as `P01`.
    pub code: Spanned<String>,
    /// Name of a group of participants, such as `older than 60`, by which results can be told apart.
    pub group: Option<String>,
}

/// A product model under test.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DeviceConfig {
    /// Its name.
    pub name: Spanned<String>,
    /// The definition that reads its exports, unless a command names another.
    pub definition: Option<String>,
    /// How its data is got, in words: `button in the app`, `typed from its screen`.
    pub route: Option<Spanned<String>>,
    /// Steps that this takes for one night, 0..=999.
    pub steps: Option<Spanned<i64>>,
    /// Minutes that are spent on it per night, 0..=1440.
    pub minutes: Option<Spanned<f64>>,
    /// The finest step of what is got, in words: `30 s`, `a pixel, about 2 min`.
    pub finest_step: Option<Spanned<String>>,
    /// What the export lacks of what the device shows.
    pub lost: Option<Spanned<String>>,
    /// How the reviewer came by it.
    pub obtained: Option<Obtained>,
    /// Whatever else is to be said.
    pub note: Option<Spanned<String>>,
}

/// A physical piece of a device.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UnitConfig {
    /// Its name, such as `ring-a-1`.
    pub name: Spanned<String>,
    /// The device it is a piece of.
    pub device: Spanned<String>,
    /// Who wears it, where it is always the same person.
    pub participant: Option<Spanned<String>>,
    /// The definition that reads its exports, where it is not the device's usual one.
    pub definition: Option<String>,
    /// Names of its files, such as `P01/ring-*.json`: a file of such a name is taken as this unit's.
    #[serde(default)]
    pub files: Vec<String>,
    /// Zone of wall times in its files, where neither the file nor the night gives it.
    pub zone: Option<Spanned<String>>,
    /// Whether nights of its files that are not declared are declared with the import.
    pub new_nights: Option<bool>,
    /// Offset from UTC that its clock had on a range of nights, such as `+01:00`, where that was not the offset of the
    /// nights' zone. All four keys stand together.
    pub offset: Option<Spanned<String>>,
    /// Date of the first of these nights.
    pub offset_from: Option<Spanned<String>>,
    /// Date of the last of these nights.
    pub offset_to: Option<Spanned<String>>,
    /// Why, such as rules of before a change.
    pub offset_reason: Option<Spanned<String>>,
}

/// Somebody, or a program, that scores the reference.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ScorerConfig {
    /// Code of the scorer.
    pub code: Spanned<String>,
    /// `human` or `algorithm`.
    pub scored_by: ScoredBy,
    /// The definition that reads the scoring, unless a command names another.
    pub definition: Option<String>,
    /// Names of its files, such as `P01/psg-*.edf`: a file of such a name is taken as this scorer's.
    #[serde(default)]
    pub files: Vec<String>,
    /// Zone of wall times in its files, where neither the file nor the night gives it.
    pub zone: Option<Spanned<String>>,
    /// Whether nights of its files that are not declared are declared with the import.
    pub new_nights: Option<bool>,
}

/// The value of a limit: a number, or a text such as `128 MiB`.
#[derive(Clone, Debug, Deserialize)]
#[serde(untagged)]
pub enum LimitConfig {
    /// A number.
    Number(u64),
    /// A number with its unit.
    Text(String),
}

/// A declared night.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NightConfig {
    /// The participant's code.
    pub participant: Spanned<String>,
    /// Label: the date of the evening, or another name with an explicit window.
    pub label: Spanned<String>,
    /// What kind of sleep period it is.
    #[serde(default)]
    pub kind: NightKind,
    /// IANA zone, where it is not the study's.
    pub zone: Option<Spanned<String>>,
    /// Other zones into which the person travelled in the night, in order of time.
    #[serde(default)]
    pub itinerary: Vec<LegConfig>,
    /// First and last local time, where it is not noon to noon.
    pub window: Option<[Spanned<String>; 2]>,
    /// Lights off, local.
    pub lights_off: Option<Spanned<String>>,
    /// Lights on, local.
    pub lights_on: Option<Spanned<String>>,
}

/// A zone into which a person came in a night.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LegConfig {
    /// From when on: local time of the zone before, with its date.
    pub from: Spanned<String>,
    /// IANA zone from there on.
    pub zone: Spanned<String>,
}

/// A unit on a night.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WearingConfig {
    /// The unit.
    pub unit: Spanned<String>,
    /// Who wore it.
    pub participant: Spanned<String>,
    /// Label of the night.
    pub night: Spanned<String>,
    /// Where on the body.
    pub site: Option<String>,
    /// Left or right.
    pub side: Option<String>,
    /// Version of the firmware.
    pub firmware: Option<String>,
    /// Version of the app.
    pub app: Option<String>,
    /// Zone that its clock followed, where that is not the zone of the night: an IANA name, or `UTC+05:30`.
    pub zone: Option<Spanned<String>>,
}

impl Config {
    /// Reads and checks the text of a `study.toml`.
    ///
    /// # Errors
    /// [`StoreError::Config`], whose text points at the line and says what may stand there.
    pub fn parse(path: &Path, text: &str) -> Result<Config, StoreError> {
        let fail = |problem| StoreError::Config { path: path.to_owned(), problem };
        let config: Config = toml::from_str(text).map_err(|e| fail(e.to_string().trim_end().to_owned()))?;
        config.check().map_err(|(span, message)| fail(point_at(text, &span, &message)))?;
        Ok(config)
    }

    /// Returns the name of the study's zone.
    #[must_use]
    pub fn zone(&self) -> &str {
        self.zone.get_ref()
    }

    /// Returns the declared nights with their windows as instants, in the order of the file.
    ///
    /// # Errors
    /// None after [`Config::parse`], which has resolved each once already.
    pub fn resolved_nights(&self) -> Result<Vec<Night>, StoreError> {
        let told = |(_, problem)| StoreError::Config { path: "study.toml".into(), problem };
        self.nights.iter().map(|n| self.resolve(n).map_err(told)).collect()
    }

    /// Returns what was laid down about comparisons; `None` where `[protocol]` says nothing.
    #[must_use]
    pub fn plan(&self) -> Option<counterpane_model::Plan> {
        // Checked by [`Config::parse`] already.
        self.protocol.plan().ok().flatten()
    }

    /// Returns the unit of that name.
    #[must_use]
    pub fn unit(&self, name: &str) -> Option<&UnitConfig> {
        self.units.iter().find(|u| u.name.get_ref() == name)
    }

    /// Returns the units of a device, in the order of the file.
    pub fn units_of<'a>(&'a self, device: &'a str) -> impl Iterator<Item = &'a UnitConfig> {
        self.units.iter().filter(move |u| u.device.get_ref() == device)
    }

    /// Returns the device of that name.
    #[must_use]
    pub fn device(&self, name: &str) -> Option<&DeviceConfig> {
        self.devices.iter().find(|d| d.name.get_ref() == name)
    }

    /// Returns the scorer of that code.
    #[must_use]
    pub fn scorer(&self, code: &str) -> Option<&ScorerConfig> {
        self.scorers.iter().find(|s| s.code.get_ref() == code)
    }

    fn check(&self) -> Result<(), (Range<usize>, String)> {
        if self.version != 1 {
            return Err((0..0, format!("version {} is not known; this counterpane reads version 1", self.version)));
        }
        Zone::named(self.zone.get_ref()).map_err(|e| (self.zone.span(), e.to_string()))?;
        let participants = unique("participant", self.participants.iter().map(|p| &p.code))?;
        let devices = unique("device", self.devices.iter().map(|d| &d.name))?;
        self.devices.iter().try_for_each(facts::check)?;
        let units = unique("unit", self.units.iter().map(|u| &u.name))?;
        let scorers = unique("scorer", self.scorers.iter().map(|s| &s.code))?;
        for unit in &self.units {
            if scorers.contains(unit.name.get_ref().as_str()) {
                let both =
                    format!("`{}` is a unit and a scorer; keys of recordings need two names", unit.name.get_ref());
                return Err((unit.name.span(), both));
            }
        }
        for name in self.units.iter().map(|u| &u.name).chain(self.scorers.iter().map(|s| &s.code)) {
            if name.get_ref() == MAJORITY {
                let taken = "stands for the majority of the scorers of a night; give another name";
                return Err((name.span(), format!("`{MAJORITY}` {taken}")));
            }
        }
        self.protocol.check(&devices, &scorers)?;
        for unit in &self.units {
            known("device", &unit.device, &devices)?;
            unit.participant.as_ref().map_or(Ok(()), |p| known("participant", p, &participants))?;
        }
        self.units.iter().try_for_each(|u| u.offset().map(|_| ()))?;
        for zone in self.units.iter().map(|u| &u.zone).chain(self.scorers.iter().map(|s| &s.zone)).flatten() {
            Zone::named(zone.get_ref()).map_err(|e| (zone.span(), e.to_string()))?;
        }
        let mut labels = BTreeSet::new();
        for night in &self.nights {
            known("participant", &night.participant, &participants)?;
            name_is_clean("night", &night.label)?;
            self.resolve(night)?;
            let key = (night.participant.get_ref().as_str(), night.label.get_ref().as_str());
            if !labels.insert(key) {
                return Err((night.label.span(), format!("{} has a night `{}` already", key.0, key.1)));
            }
        }
        for wearing in &self.wearings {
            known("unit", &wearing.unit, &units)?;
            if let Some(zone) = &wearing.zone {
                Zone::named(zone.get_ref()).map_err(|e| (zone.span(), e.to_string()))?;
            }
            known("participant", &wearing.participant, &participants)?;
            let key = (wearing.participant.get_ref().as_str(), wearing.night.get_ref().as_str());
            if !labels.contains(&key) {
                return Err((wearing.night.span(), format!("{} has no night `{}`; declare it first", key.0, key.1)));
            }
        }
        Ok(())
    }

    fn resolve(&self, night: &NightConfig) -> Result<Night, (Range<usize>, String)> {
        let zone_name = night.zone.as_ref().unwrap_or(&self.zone);
        let zone = Zone::named(zone_name.get_ref()).map_err(|e| (zone_name.span(), e.to_string()))?;
        let zone = travelled(zone, &night.itinerary)?;
        let typed = |text: &Spanned<String>, window| {
            typed_instant(text.get_ref(), Some(&zone), window).map_err(|e| (text.span(), e.to_string()))
        };
        let window = match &night.window {
            Some([from, until]) => {
                let window = (typed(from, None)?, typed(until, None)?);
                if window.0 >= window.1 {
                    return Err((until.span(), "the window ends before it begins".into()));
                }
                window
            }
            None => noon_to_noon(night.label.get_ref(), &zone).ok_or_else(|| {
                let help =
                    "is not a date such as 2026-04-04, so the night needs a window: window = [\"2026-04-04 12:00\", \"2026-04-05 12:00\"]";
                (night.label.span(), format!("`{}` {help}", night.label.get_ref()))
            })?,
        };
        let light = |text: &Option<Spanned<String>>| text.as_ref().map(|t| typed(t, Some(window))).transpose();
        let lights = Lights { off: light(&night.lights_off)?, on: light(&night.lights_on)? };
        if let (Some(off), Some(on), Some(text)) = (lights.off, lights.on, &night.lights_on)
            && on <= off
        {
            return Err((
                text.span(),
                "lights go on before they go off; write the date too where it is not clear".into(),
            ));
        }
        Ok(Night {
            participant: night.participant.get_ref().clone(),
            label: night.label.get_ref().clone(),
            kind: night.kind,
            zone: zone.name().to_owned(),
            window,
            lights,
        })
    }
}

/// An offset that a unit's clock had on a range of nights.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnitOffset {
    /// The zone of that offset, such as `UTC+01:00`.
    pub zone: String,
    /// Date of the first night.
    pub from: Date,
    /// Date of the last night.
    pub to: Date,
    /// Why.
    pub reason: String,
}

impl UnitOffset {
    /// Says whether a night is one of the range: by the local date on which its window begins, which is that of the evening.
    #[must_use]
    pub fn covers(&self, night: &Night) -> bool {
        let date = Zone::named(&night.zone).map(|z| z.wall_of(night.window.0).date());
        date.is_ok_and(|date| (self.from..=self.to).contains(&date))
    }
}

impl UnitConfig {
    /// Returns the offset that its clock had on a range of nights.
    ///
    /// # Errors
    /// One of the four keys is absent or cannot be read: its place and what may stand there. None after [`Config::parse`].
    pub fn offset(&self) -> Result<Option<UnitOffset>, (Range<usize>, String)> {
        let given = [&self.offset, &self.offset_from, &self.offset_to, &self.offset_reason];
        let [Some(offset), Some(from), Some(to), Some(reason)] = given else {
            return match given.into_iter().flatten().next() {
                None => Ok(None),
                Some(one) => Err((
                    one.span(),
                    "an offset needs `offset`, `offset_from`, `offset_to` and `offset_reason`: what the clock had, from which night to which, and why".into(),
                )),
            };
        };
        let zone = format!("UTC{}", offset.get_ref());
        Zone::named(&zone).map_err(|_| {
            (offset.span(), format!("`{}` is not an offset; write it such as +01:00", offset.get_ref()))
        })?;
        let date = |text: &Spanned<String>| {
            let wrong = || (text.span(), format!("`{}` is not a date such as 2026-04-04", text.get_ref()));
            text.get_ref().parse::<Date>().map_err(|_| wrong())
        };
        let (first, last) = (date(from)?, date(to)?);
        if last < first {
            return Err((to.span(), "the last night of the offset is before the first".into()));
        }
        if reason.get_ref().trim().is_empty() {
            return Err((reason.span(), "say why the clock had another offset".into()));
        }
        Ok(Some(UnitOffset { zone, from: first, to: last, reason: reason.get_ref().trim().to_owned() }))
    }
}

/// Returns a zone with the others that follow it in a night.
fn travelled(mut zone: Zone, itinerary: &[LegConfig]) -> Result<Zone, (Range<usize>, String)> {
    for leg in itinerary {
        let next = Zone::named(leg.zone.get_ref()).map_err(|e| (leg.zone.span(), e.to_string()))?;
        let from =
            typed_instant(leg.from.get_ref(), Some(&zone), None).map_err(|e| (leg.from.span(), e.to_string()))?;
        let order = || (leg.from.span(), "this leg of the itinerary does not begin after the one before it".to_owned());
        zone = zone.itinerary(from, &next).map_err(|_| order())?;
    }
    Ok(zone)
}

/// Returns noon of the evening's date to noon of the next day, or `None` when the label is no date.
#[must_use]
pub fn noon_to_noon(label: &str, zone: &Zone) -> Option<(Instant, Instant)> {
    let noon = |day: &str| format!("{day}T12:00:00").parse::<Wall>().ok();
    let from = noon(label)?;
    let until = from.date().tomorrow().ok()?.to_datetime(from.time());
    let from = zone.instant_of(from, Fold::First).ok()?;
    // A zone that skipped a whole day has no next noon; a day later is what is left.
    let until = zone.instant_of(until, Fold::First).ok().or_else(|| from.plus_ms(86_400_000))?;
    Some((from, until))
}

/// Returns the lines of `study.toml` that declare a night.
#[must_use]
pub fn night_lines(night: &Night, study_zone: &str) -> String {
    let mut out =
        format!("\n[[night]]\nparticipant = {}\nlabel = {}\n", quoted(&night.participant), quoted(&night.label));
    if night.zone != study_zone {
        out.push_str(&format!("zone = {}\n", quoted(&night.zone)));
    }
    let default = Zone::named(&night.zone).ok().and_then(|z| noon_to_noon(&night.label, &z));
    if default != Some(night.window) {
        let (from, until) = (night.window.0.utc_text(), night.window.1.utc_text());
        out.push_str(&format!("window = [{}, {}]\n", quoted(&from), quoted(&until)));
    }
    out
}

/// Returns a name as a TOML string.
#[must_use]
pub fn quoted(name: &str) -> String {
    toml::Value::String(name.to_owned()).to_string()
}

fn unique<'a>(
    what: &str,
    names: impl Iterator<Item = &'a Spanned<String>>,
) -> Result<BTreeSet<&'a str>, (Range<usize>, String)> {
    let mut seen = BTreeSet::new();
    for name in names {
        name_is_clean(what, name)?;
        if !seen.insert(name.get_ref().as_str()) {
            return Err((name.span(), format!("there is a {what} `{}` already", name.get_ref())));
        }
    }
    Ok(seen)
}

/// Names become parts of keys and file names, so they hold no slash, control character or outer blank.
fn name_is_clean(what: &str, name: &Spanned<String>) -> Result<(), (Range<usize>, String)> {
    let text = name.get_ref();
    let bad = text.trim() != text || text.chars().any(|c| c.is_control() || matches!(c, '/' | '\\' | '#'));
    if text.is_empty() || bad {
        let rule = "must not be empty, begin or end with a blank, or hold / \\ # or control characters";
        return Err((name.span(), format!("the name of a {what} {rule}")));
    }
    Ok(())
}

fn known(what: &str, name: &Spanned<String>, names: &BTreeSet<&str>) -> Result<(), (Range<usize>, String)> {
    if names.contains(name.get_ref().as_str()) {
        return Ok(());
    }
    let list =
        if names.is_empty() { "none yet".to_owned() } else { names.iter().copied().collect::<Vec<_>>().join(", ") };
    Err((name.span(), format!("{what} `{}` is not declared; declared are {list}", name.get_ref())))
}

/// Draws the line and a caret below the place, as the TOML parser does for its own errors.
fn point_at(text: &str, span: &Range<usize>, message: &str) -> String {
    let before = text.get(..span.start).unwrap_or_default();
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    let line = text.get(line_start..).unwrap_or_default().lines().next().unwrap_or_default();
    let number = before.matches('\n').count() + 1;
    let column = before[line_start..].chars().count();
    let width = text.get(span.clone()).map_or(1, |t| t.chars().count()).max(1);
    let margin = " ".repeat(number.to_string().len());
    format!(
        "TOML error at line {number}, column {}\n{margin} |\n{number} | {line}\n{margin} | {}{}\n{message}",
        column + 1,
        " ".repeat(column),
        "^".repeat(width.min(line.chars().count().max(1)))
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use expect_test::{Expect, expect};

    const HEAD: &str = "version = 1\nname = \"t\"\nzone = \"Australia/Lord_Howe\"\n[[participant]]\ncode = \"P01\"\n";

    fn check(rest: &str, expected: Expect) {
        let said = match Config::parse(Path::new("study.toml"), &format!("{HEAD}{rest}")) {
            Ok(config) => config.resolved_nights().unwrap().iter().map(|n| format!("{n:?}\n")).collect(),
            Err(e) => e.to_string(),
        };
        expected.assert_eq(&said);
    }

    #[test]
    fn a_night_runs_from_noon_to_noon_also_when_the_clock_changes() {
        check(
            "[[night]]\nparticipant = \"P01\"\nlabel = \"2026-04-04\"\nlights_off = \"22:40\"\n",
            expect![[r#"
                Night { participant: "P01", label: "2026-04-04", kind: Night, zone: "Australia/Lord_Howe", window: (Instant(1775264400000), Instant(1775352600000)), lights: Lights { off: Some(Instant(1775302800000)), on: None } }
            "#]],
        );
    }

    #[test]
    fn a_typo_is_pointed_at() {
        check(
            "[[night]]\nparticipnat = \"P01\"\nlabel = \"2026-04-04\"\n",
            expect![[r#"
                study.toml: TOML parse error at line 7, column 1
                  |
                7 | participnat = "P01"
                  | ^^^^^^^^^^^
                unknown field `participnat`, expected one of `participant`, `label`, `kind`, `zone`, `itinerary`, `window`, `lights_off`, `lights_on`"#]],
        );
    }

    #[test]
    fn facts_of_a_device_are_read() {
        let facts = "route = \"its app\"\nsteps = 4\nminutes = 2.5\nfinest_step = \"30 s\"\nlost = \"naps\"\nobtained = \"lent\"\nnote = \"x\"\n";
        let read = |facts: &str| {
            let text = format!("{HEAD}[[device]]\nname = \"ring-a\"\n{facts}");
            Config::parse(Path::new("study.toml"), &text).unwrap().devices.remove(0)
        };
        let all = read(facts);
        assert_eq!(
            [all.route, all.finest_step, all.lost, all.note].map(|t| t.unwrap().into_inner()),
            ["its app", "30 s", "naps", "x"]
        );
        assert_eq!((all.steps.unwrap().into_inner(), all.obtained), (4, Some(Obtained::Lent)));
        assert_eq!(all.minutes.unwrap().into_inner(), 2.5);
        assert_eq!(read("minutes = 3\n").minutes.unwrap().into_inner(), 3.0);
        assert!(read("").minutes.is_none());
    }

    #[test]
    fn a_fact_that_cannot_be_is_pointed_at_with_its_value() {
        let device = "[[device]]\nname = \"ring-a\"\n";
        check(
            &format!("{device}minutes = 2000\n"),
            expect![[r#"
            study.toml: TOML error at line 8, column 11
              |
            8 | minutes = 2000
              |           ^^^^
            `minutes` is 2000; it is the minutes spent per night, 0 to 1440"#]],
        );
        check(
            &format!("{device}minutes = nan\n"),
            expect![[r#"
            study.toml: TOML error at line 8, column 11
              |
            8 | minutes = nan
              |           ^^^
            `minutes` is NaN; it is the minutes spent per night, 0 to 1440"#]],
        );
        check(
            &format!("{device}steps = -1\n"),
            expect![[r#"
                study.toml: TOML error at line 8, column 9
                  |
                8 | steps = -1
                  |         ^^
                `steps` is -1; it is the steps taken for one night, 0 to 999"#]],
        );
        check(
            &format!("{device}obtained = \"found\"\n"),
            expect![[r#"
            study.toml: TOML parse error at line 8, column 12
              |
            8 | obtained = "found"
              |            ^^^^^^^
            unknown variant `found`, expected one of `bought`, `lent`, `given`"#]],
        );
        check(
            &format!("{device}lost = \"  \"\n"),
            expect![[r#"
            study.toml: TOML error at line 8, column 8
              |
            8 | lost = "  "
              |        ^^^^
            `lost` must say something in one line; take the key away where there is nothing to say"#]],
        );
    }

    #[test]
    fn a_name_that_is_not_declared_is_pointed_at() {
        check(
            "[[night]]\nparticipant = \"P1\"\nlabel = \"2026-04-04\"\n",
            expect![[r#"
                study.toml: TOML error at line 7, column 15
                  |
                7 | participant = "P1"
                  |               ^^^^
                participant `P1` is not declared; declared are P01"#]],
        );
    }

    #[test]
    fn the_majority_is_nobodys_name_and_a_tie_is_settled_by_a_declared_scorer() {
        const SCORER: &str = "[[scorer]]\ncode = \"S1\"\nscored_by = \"human\"\n";
        check(&format!("[protocol]\nscorer = \"majority\"\ntie = \"S1\"\n{SCORER}"), expect![""]);
        check(
            &SCORER.replace("S1", "majority"),
            expect![[r#"
            study.toml: TOML error at line 7, column 8
              |
            7 | code = "majority"
              |        ^^^^^^^^^^
            `majority` stands for the majority of the scorers of a night; give another name"#]],
        );
        check(
            &format!("[protocol]\ntie = \"majority\"\n{SCORER}"),
            expect![[r#"
            study.toml: TOML error at line 7, column 7
              |
            7 | tie = "majority"
              |       ^^^^^^^^^^
            scorer `majority` is not declared; declared are S1"#]],
        );
        check(
            &format!("[protocol]\nscorer = \"S2\"\n{SCORER}"),
            expect![[r#"
            study.toml: TOML error at line 7, column 10
              |
            7 | scorer = "S2"
              |          ^^^^
            scorer `S2` is not declared; declared are S1"#]],
        );
    }

    #[test]
    fn a_label_that_is_no_date_needs_a_window() {
        check(
            "[[night]]\nparticipant = \"P01\"\nlabel = \"first\"\n",
            expect![[r#"
                study.toml: TOML error at line 8, column 9
                  |
                8 | label = "first"
                  |         ^^^^^^^
                `first` is not a date such as 2026-04-04, so the night needs a window: window = ["2026-04-04 12:00", "2026-04-05 12:00"]"#]],
        );
    }

    #[test]
    fn lights_in_the_repeated_half_hour_ask_for_an_offset() {
        check(
            "[[night]]\nparticipant = \"P01\"\nlabel = \"2026-04-04\"\nlights_off = \"01:45\"\n",
            expect![[r#"
                study.toml: TOML error at line 9, column 14
                  |
                9 | lights_off = "01:45"
                  |              ^^^^^^^
                `2026-04-05T01:45:00` happened twice in Australia/Lord_Howe, at +11 and at +10:30; write the offset too, such as `2026-04-05T01:45:00+11:00`"#]],
        );
    }
}
