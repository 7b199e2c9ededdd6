//! Times and lengths.

use super::origin::{self, keys_with};
use super::table::{At, Parser, Table};
use crate::grammar::origin::{Bound, FileFact};
use crate::grammar::{FoldRule, LengthRead, LengthValue, OffsetRule, Origin, TimeRead, TimeValue, Word, ZoneRule};
use toml::de::DeValue;

/// The keys of a time beside those of its origin.
pub(super) const TIME_KEYS: &[&str] = &["read", "offset", "zone", "fold", "from", "unit"];
/// The keys of a length beside those of its origin.
pub(super) const LENGTH_KEYS: &[&str] = &["read", "unit"];

/// Reads a time that stands alone in its table.
pub(super) fn time(p: &mut Parser, table: &Table<'_>) -> Option<TimeValue> {
    p.know(table, &keys_with(TIME_KEYS));
    time_in(p, table)
}

/// Reads the time in a table that may hold other keys too.
pub(super) fn time_in(p: &mut Parser, table: &Table<'_>) -> Option<TimeValue> {
    let origin = origin::read(p, table);
    let read: Vec<TimeRead> = p.texts(table, "read").into_iter().filter_map(|t| way(p, t)).collect();
    let offset = p.word::<OffsetRule>(table, "offset").map(|w| w.value);
    let zone = zone(p, table);
    let fold = p.word::<FoldRule>(table, "fold").map(|w| w.value);
    let from = p.table(table, "from", format!("`from` of {}", table.name)).and_then(|t| time(p, &t)).map(Box::new);
    let unit = origin::below(p, table, "unit");
    let value = TimeValue { origin: origin?, read, offset, zone, fold, from, unit };
    check(p, table, &value);
    Some(value)
}

/// Reads one way to read a time.
fn way(p: &mut Parser, text: At<String>) -> Option<TimeRead> {
    if let Some((_, way)) = TimeRead::NAMED.iter().find(|(word, _)| *word == text.value) {
        return Some(way.clone());
    }
    if text.value.contains('%') {
        return pattern(p, text);
    }
    let names: Vec<&str> = TimeRead::NAMED.iter().map(|(word, _)| *word).collect();
    let near = super::near(&text.value, names.iter().copied());
    let meant = near.map(|n| format!("did you mean `{n}`? ")).unwrap_or_default();
    let all = names.iter().map(|n| format!("`{n}`")).collect::<Vec<_>>().join(", ");
    let help = match text.value.as_str() {
        "serial" => "say which system: `serial 1900` or `serial 1904`".to_owned(),
        "epoch" => "say the unit: `epoch s`, `epoch ms` or `epoch us`".to_owned(),
        _ => format!("{meant}a time is read by a pattern such as `%d.%m.%Y %H:%M`, or by {all}"),
    };
    p.refuse(text.span, format!("`{}` is not a way to read a time", text.value), help);
    None
}

/// The `strptime` specifiers that definitions may use; what needs the machine or is not a time stays out.
const SPECIFIERS: &str = "aAbBdefFhHIjmMnpPrRsStTyYz%lk:.";

fn pattern(p: &mut Parser, text: At<String>) -> Option<TimeRead> {
    let letters = specifiers(&text.value);
    if let Some(bad) = letters.iter().find(|c| !SPECIFIERS.contains(**c)) {
        let message = format!("`%{bad}` cannot stand in a pattern");
        p.refuse(
            text.span,
            message,
            "use `%Y`, `%m`, `%d`, `%b`, `%y`, `%H`, `%I`, `%p`, `%M`, `%S`, `%f`, `%z` and the like",
        );
        return None;
    }
    let has = |any: &str| letters.iter().any(|c| any.contains(*c));
    let date = (has("Yy") && ((has("mbBh") && has("de")) || has("j"))) || has("F");
    if !date && has("YymbBhdeaAj") {
        let help = "a date needs `%Y` or `%y`, a month and a day; leave all of them out for a time of day";
        p.refuse(text.span, format!("`{}` reads only part of a date", text.value), help);
        return None;
    }
    if has("s") || !has("HIkTRrl") {
        let help = "add `%H` or `%I`; for seconds since 1970 write `epoch s`";
        p.refuse(text.span, format!("`{}` reads no time of day", text.value), help);
        return None;
    }
    Some(TimeRead::Pattern { date, offset: has("z"), text: text.value })
}

/// Returns the letters after each `%`, flags and widths left out.
fn specifiers(pattern: &str) -> Vec<char> {
    let mut out = Vec::new();
    let mut chars = pattern.chars();
    while let Some(c) = chars.next() {
        if c == '%' {
            out.extend(chars.by_ref().find(|c| !matches!(c, '0'..='9' | '-' | '_' | '^' | '#' | ':' | '.')));
        }
    }
    out
}

fn zone(p: &mut Parser, table: &Table<'_>) -> Option<ZoneRule> {
    let value = table.get("zone")?;
    match value.get_ref() {
        DeValue::String(text) if text == "night" => Some(ZoneRule::Night),
        DeValue::String(text) => {
            let help = format!("write `zone = \"night\"`, or `zone = {{ const = \"{text}\" }}` for an IANA name");
            p.refuse(value.span(), format!("`{text}` is not a rule for the zone"), help);
            None
        }
        _ => {
            let inner = p.as_table(value, "zone", format!("`zone` of {}", table.name))?;
            let origin = origin::alone(p, &inner)?;
            if let Origin::Const { text } = &origin
                && let Err(unknown) = counterpane_model::Zone::named(text)
            {
                p.refuse(value.span(), unknown.to_string(), "write a name such as `Australia/Lord_Howe`");
            }
            Some(ZoneRule::Of(origin))
        }
    }
}

/// Refuses keys that contradict each other, and what has no default.
fn check(p: &mut Parser, table: &Table<'_>, time: &TimeValue) {
    match &time.origin {
        Origin::Bound { bound: Bound::Start | Bound::End } => return only(p, table, "a time of the command line", &[]),
        Origin::File { file: FileFact::Start, .. } => {
            only(p, table, "the start that an EDF+ header gives", &["zone", "fold"]);
            return zone_needed(p, table, time, "the start that an EDF+ header gives is a wall time");
        }
        Origin::Row { .. } => return only(p, table, "an edge of the row", &[]),
        Origin::Key { .. } | Origin::Bound { .. } => {
            return p.refuse(
                table.span.clone(),
                format!("{} is not a time", table.name),
                "take it from a field with `at`",
            );
        }
        Origin::At { .. } | Origin::Const { .. } | Origin::File { .. } | Origin::Join { .. } => {}
    }
    // A way that could not be understood has been refused already.
    if time.read.is_empty() {
        if !table.has("read") {
            p.missing(
                table,
                "read",
                "say how the text is read, such as `read = \"%d.%m.%Y %H:%M\"` or `read = \"epoch ms\"`",
            );
        }
        return;
    }
    check_unit(p, table, time);
    let counts = time.read.iter().any(TimeRead::counts);
    if counts != time.from.is_some() && counts != table.has("from") {
        let (message, help) = if counts {
            (
                "a time that is counted needs its anchor, `from`",
                "such as `from = { bound = \"start\" }` or `from = { file = \"start\", zone = \"night\" }`",
            )
        } else {
            ("`from` goes with `offset s` and its like only", "leave `from` out")
        };
        p.refuse(table.span_of("from"), message, help);
    }
    let carries = time.read.iter().any(TimeRead::has_offset);
    if carries && !table.has("offset") {
        let help = "`offset = \"trust\"` when it is true, `offset = \"ignore\"` when a `Z` stands on local times";
        p.missing(table, "offset", help);
    }
    if !carries && table.has("offset") {
        p.refuse(table.span_of("offset"), "`offset` goes with a text that has an offset", "leave `offset` out");
    }
    let wall = time.read.iter().any(|r| r.is_wall(time.offset == Some(OffsetRule::Trust)));
    if wall && !(carries && time.offset.is_none()) {
        zone_needed(p, table, time, "a wall time has no meaning without its zone");
    }
    if !wall && table.has("fold") {
        p.refuse(table.span_of("fold"), "`fold` goes with wall times only", "leave `fold` out");
    }
}

/// Refuses two units of epoch numbers in one value, and a count whose unit nobody says.
fn check_unit(p: &mut Parser, table: &Table<'_>, time: &TimeValue) {
    let epochs: std::collections::BTreeSet<i64> =
        time.read.iter().filter_map(|r| if let TimeRead::Epoch(us) = r { Some(*us) } else { None }).collect();
    if epochs.len() > 1 {
        let help = "a column has one unit: write one of them; a file that mixes them is mended first";
        p.refuse(table.span_of("read"), "`read` names two units for numbers since 1970", help);
    }
    let named = time.read.iter().any(|r| matches!(r, TimeRead::OffsetIn(_)));
    if named && !table.has("unit") {
        let help = "say the unit: `offset ms`, `offset s`, `offset min` or `offset h`, or where the source names it: `unit = { at = \"unit\" }`";
        p.missing(table, "unit", help);
    }
    if !named && table.has("unit") {
        p.refuse(table.span_of("unit"), "`unit` goes with `offset` and `before` only", "leave `unit` out");
    }
}

fn zone_needed(p: &mut Parser, table: &Table<'_>, time: &TimeValue, why: &str) {
    if time.zone.is_none() && !table.has("zone") {
        let help = format!(
            "{why}; write `zone = \"night\"`, `zone = {{ const = \"Europe/Berlin\" }}` or `zone = {{ at = \"tz\" }}`"
        );
        p.missing(table, "zone", &help);
    }
}

fn only(p: &mut Parser, table: &Table<'_>, what: &str, keys: &[&str]) {
    for key in TIME_KEYS.iter().filter(|k| table.has(k) && !keys.contains(k)) {
        p.refuse(table.span_of(key), format!("`{key}` has no meaning for {what}"), format!("leave `{key}` out"));
    }
}

/// Reads a length of time.
pub(super) fn length(p: &mut Parser, table: &Table<'_>) -> Option<LengthValue> {
    p.know(table, &keys_with(LENGTH_KEYS));
    let origin = origin::read(p, table);
    if !table.has("read") && !table.has("unit") {
        let known = LengthRead::WORDS.iter().map(|(w, _)| format!("`{w}`")).collect::<Vec<_>>().join(", ");
        p.missing(table, "read", &format!("say the unit; there is no default: {known}"));
    }
    if table.has("read") && table.has("unit") {
        p.refuse(table.span_of("unit"), "`read` and `unit` say the same thing twice", "leave one of them out");
    }
    let read = p.word::<LengthRead>(table, "read").map(|w| w.value);
    let unit = origin::below(p, table, "unit");
    (read.is_some() || unit.is_some()).then_some(LengthValue { origin: origin?, read, unit })
}
