//! The page as a whole: the same bytes, no way out, no way in for a hostile name.

#![allow(clippy::unwrap_used, clippy::panic, reason = "helpers of tests")]

#[path = "../examples/sample/data.rs"]
mod data;

use counterpane_compare::comparison::{Clocked, Undefined};
use counterpane_compare::{Comparison, DeviceNight, Measures};
use counterpane_model::{Cell, ClockPoint, ClockSetting, Looked, NightNote, Note, NoteKind, Scheme, ScoredBy, Source};
use counterpane_report::draw::{Size, Theme};
use counterpane_report::figures::FIGURES;
use counterpane_report::{Chosen, Image, ImageKind, Page, page};
use std::collections::BTreeSet;

/// A start tag of a page: its name, and its attributes with their raw values.
struct Tag<'a> {
    name: &'a str,
    attributes: Vec<(&'a str, &'a str)>,
}

/// Reads start tags as the page writes them: lower case, attributes in double quotes. What stands in
/// `script` and `style` is skipped, as a browser would.
fn tags(html: &str) -> Vec<Tag<'_>> {
    let mut out = Vec::new();
    let mut rest = html;
    while let Some(at) = rest.find('<') {
        rest = &rest[at + 1..];
        if rest.starts_with('/') || rest.starts_with('!') {
            continue;
        }
        let end = rest.find('>').unwrap();
        let inside = rest[..end].trim_end_matches('/');
        let (name, mut attributes_text) = inside.split_once(' ').unwrap_or((inside, ""));
        let mut attributes = Vec::new();
        while let Some((key, value)) = attributes_text.split_once("=\"") {
            let (value, more) = value.split_once('"').unwrap();
            attributes.push((key.trim().rsplit(' ').next().unwrap(), value));
            attributes_text = more;
        }
        out.push(Tag { name, attributes });
        rest = &rest[end + 1..];
        if name == "script" || name == "style" {
            rest = &rest[rest.find(&format!("</{name}>")).unwrap()..];
        }
    }
    out
}

#[test]
fn the_same_inputs_give_the_same_bytes() {
    assert_eq!(page(&data::page()).unwrap(), page(&data::page()).unwrap());
}

#[test]
fn no_reference_leads_out() {
    let html = page(&data::page()).unwrap();
    assert!(!html.contains("http:") && !html.contains("https:"), "a page holds no address at all");
    let outward: Vec<&str> = html.match_indices("//").map(|(i, _)| &html[i.saturating_sub(20)..i + 10]).collect();
    assert_eq!(outward, Vec::<&str>::new());
    let asked = ["src", "srcset", "action", "formaction", "poster", "data", "ping", "background", "xlink:href"];
    for tag in tags(&html) {
        for (key, value) in &tag.attributes {
            assert!(!asked.contains(key), "<{} {key}> asks for something", tag.name);
            if *key == "href" {
                assert!(value.starts_with('#'), "<{} href> leads to {value}", tag.name);
            }
            if let Some((_, inside)) = value.split_once("url(") {
                assert!(inside.starts_with('#'), "<{} {key}> leads to {value}", tag.name);
            }
        }
    }
    assert!(!html.contains("@import") && !html.contains("url(\""));
    let policy = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; base-uri 'none'";
    assert!(html.contains(policy) && !html.contains("img-src"));
}

/// The sample, with a picture to be shown.
fn with_picture() -> Page {
    let mut page = data::page();
    page.read_off[0].pictures[0].image = Some(Image { kind: ImageKind::Jpeg, bytes: vec![0xff; 300] });
    page
}

#[test]
fn pictures_are_inside_the_page_and_only_then_does_its_policy_let_them_be_shown() {
    let html = page(&with_picture()).unwrap();
    assert!(html.contains("script-src 'unsafe-inline'; img-src data:; base-uri 'none'"));
    let sources: Vec<&str> =
        tags(&html).iter().flat_map(|t| t.attributes.clone()).filter(|(k, _)| *k == "src").map(|(_, v)| v).collect();
    assert!(matches!(sources.as_slice(), [one] if one.starts_with("data:image/jpeg;base64,////")), "{sources:?}");
}

const HOSTILE: &str =
    "</script><script>alert(1)</script>\"'><img src=x onerror=alert(1)>{{7}}`<i>`\u{202e}\u{0}&amp;]]>";

/// The sample with a hostile text wherever a text comes from outside.
fn hostile() -> Page {
    let mut page = with_picture();
    for text in [&mut page.title, &mut page.made, &mut page.tool] {
        *text = HOSTILE.into();
    }
    page.left_out = vec![HOSTILE.into()];
    for d in &mut page.devices {
        d.name = HOSTILE.into();
        for text in [&mut d.route, &mut d.finest_step, &mut d.lost, &mut d.obtained, &mut d.note] {
            *text = Some(HOSTILE.into());
        }
        d.definitions = vec![HOSTILE.into()];
    }
    for e in &mut page.exports {
        let hostile = || HOSTILE.to_owned();
        for text in [&mut e.night, &mut e.source, &mut e.recording, &mut e.file, &mut e.at] {
            *text = hostile();
        }
        let decided = Chosen::Decided { decision: 5, reason: hostile(), author: hostile(), date: hostile() };
        e.chosen = e.chosen.as_ref().map(|_| decided);
    }
    for w in &mut page.wearings {
        for text in [&mut w.unit, &mut w.participant, &mut w.night] {
            *text = HOSTILE.into();
        }
        for text in [&mut w.site, &mut w.side, &mut w.firmware, &mut w.app] {
            *text = text.as_ref().map(|_| HOSTILE.into());
        }
    }
    for line in &mut page.read_off {
        for text in [&mut line.night, &mut line.recording, &mut line.pictures[0].file] {
            *text = HOSTILE.into();
        }
    }
    for line in &mut page.exclusions {
        let e = &mut line.exclusion;
        e.source = Some(HOSTILE.into());
        for text in [&mut line.night, &mut e.reason, &mut e.by, &mut e.at] {
            *text = HOSTILE.into();
        }
    }
    let setting = clock(HOSTILE);
    page.comparison.nights[0].reference_clock = Some(setting.clone());
    let device = page.comparison.nights[0].devices.last_mut().unwrap();
    device.clock = Some(Clocked { setting, as_exported: Box::new(device.clone()) });
    for f in &mut page.findings {
        for text in [&mut f.code, &mut f.night, &mut f.source, &mut f.message, &mut f.place] {
            *text = HOSTILE.into();
        }
    }
    for p in &mut page.provenance {
        for text in [&mut p.recording, &mut p.file, &mut p.sha256, &mut p.definition, &mut p.time_basis, &mut p.zone] {
            *text = HOSTILE.into();
        }
    }
    for night in &mut page.comparison.nights {
        night.participant = HOSTILE.into();
        night.scorer = HOSTILE.into();
        night.reference_file = HOSTILE.into();
        for device in &mut night.devices {
            device.key = HOSTILE.into();
            device.source = Source::Device { device: HOSTILE.into(), unit: HOSTILE.into() };
            device.not_compared = device.not_compared.as_ref().map(|_| HOSTILE.into());
        }
    }
    for device in &mut page.comparison.devices {
        device.name = HOSTILE.into();
    }
    let at = data::START;
    let note = Note { at, until: None, precision_ms: 0, kind: NoteKind::Other, text: HOSTILE.into(), locator: None };
    let remark = NightNote { decision: 1, source: Some(HOSTILE.into()), note };
    page.comparison.nights[0].remarks = vec![remark];
    page
}

#[test]
fn a_hostile_name_stays_a_name() {
    let calm = page(&with_picture()).unwrap();
    let html = page(&hostile()).unwrap();
    let names = |html: &str| tags(html).iter().map(|t| t.name.to_owned()).collect::<BTreeSet<_>>();
    assert_eq!(names(&html), names(&calm), "no element appears that the calm page has not");
    let scripts = |html: &str| html.matches("<script").count();
    assert_eq!(scripts(&html), scripts(&calm));
    for tag in tags(&html) {
        let bad = tag.attributes.iter().find(|(key, _)| key.starts_with("on"));
        assert!(bad.is_none(), "<{}> has {bad:?}", tag.name);
    }
    assert!(!html.contains('\u{202e}') && !html.contains('\u{0}'));
    assert!(
        html.contains("&lt;/script&gt;") || html.contains("&#60;/script&#62;"),
        "the name is still there to be read"
    );
}

#[test]
fn a_hostile_name_does_not_leave_its_figure() {
    let comparison: Comparison = hostile().comparison;
    for figure in FIGURES {
        let drawn = (figure.draw)(&comparison, Size::WIDE, Theme::Light).unwrap();
        assert!(!drawn.is_empty(), "{} drew nothing", figure.name);
        let stems: BTreeSet<&str> = drawn.iter().map(|d| d.stem.as_str()).collect();
        assert_eq!(stems.len(), drawn.len(), "two figures of {} have one name", figure.name);
        for one in &drawn {
            assert!(one.stem.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_'), "{}", one.stem);
            let known = ["svg", "title", "desc", "defs", "pattern", "rect", "path", "g", "text", "circle"];
            for tag in tags(&one.svg) {
                assert!(known.contains(&tag.name), "<{}> in {}", tag.name, figure.name);
            }
            assert_eq!(one.svg.matches("http").count(), 1, "the name space is the only address");
        }
    }
}

#[test]
fn one_night_of_one_person_is_said_to_rank_nothing() {
    let mut one = data::page();
    one.comparison.nights.truncate(1);
    let html = page(&one).unwrap();
    assert!(html.contains("One night of one person ranks nothing."));
    assert!(html.contains("On this one night of one person the device agreed with the scorer on "));
    assert!(!page(&data::page()).unwrap().contains("One night of one person ranks nothing."));
}

#[test]
fn a_program_is_never_called_the_scorer() {
    let mut by_program = data::page();
    for night in &mut by_program.comparison.nights {
        night.scored_by = ScoredBy::Algorithm;
    }
    let html = page(&by_program).unwrap();
    assert!(
        !html.contains("the scorer") && html.contains("for each stage the scoring program gave"),
        "a program is not a scorer"
    );
    assert!(html.contains("the scoring program called deep"));
    assert!(html.contains("scored by a program, not by a person"));
}

#[test]
fn every_number_has_its_n_and_its_interval_or_why_it_has_none() {
    let html = page(&data::page()).unwrap();
    assert!(html.contains("<small>within this night, approximate</small>"));
    assert!(html.contains("none: counted, not estimated"));
    assert!(!html.to_lowercase().contains("accuracy"), "a share of epochs is named for what it is");
    assert!(!html.contains("NaN") && !html.contains(">inf<"));
}

#[test]
fn invented_data_are_said_to_be_invented_and_others_are_not() {
    let mut real = data::page();
    assert!(page(&real).unwrap().contains("<b>Invented data.</b>"));
    real.invented = false;
    assert!(!page(&real).unwrap().contains("Invented data"));
}

#[test]
fn claims_stand_in_the_minutes_and_are_marked() {
    let html = page(&data::page()).unwrap();
    assert!(html.contains("<tr class=\"claim\"><th scope=\"row\">clip-a<small>claim: its own total</small></th>"));
    assert!(!html.contains("clip-a; P01"), "a device that gives totals only has no matrix");
}

#[test]
fn a_zone_that_does_not_exist_is_named_with_its_night() {
    let mut lost = data::page();
    lost.comparison.nights[0].zone = "Mars/Olympus".into();
    assert_eq!(
        page(&lost).unwrap_err().to_string(),
        "P01, night 2026-04-04: `Mars/Olympus` is not an IANA time zone; correct the zone of the night, because its \
         axis is in local time"
    );
}

#[test]
fn an_empty_comparison_is_a_page_that_says_so() {
    let mut empty = data::page();
    empty.comparison.nights.clear();
    empty.comparison.devices.clear();
    empty.findings.clear();
    empty.provenance.clear();
    empty.left_out.clear();
    empty.exclusions.clear();
    empty.exports.clear();
    empty.with_excluded = None;
    let html = page(&empty).unwrap();
    for words in [
        "There is no night to compare.",
        "The checks found nothing",
        "Nothing was left out on purpose, and no clock corrected.",
        "No origins",
    ] {
        assert!(html.contains(words), "{words}");
    }
}

/// Place of a text in the page, which must hold it.
fn at(html: &str, words: &str) -> usize {
    html.find(words).unwrap_or_else(|| panic!("the page does not hold `{words}`"))
}

#[test]
fn results_over_all_nights_and_findings_come_before_the_nights_and_later_nights_are_folded() {
    let html = page(&data::page()).unwrap();
    let order = ["about", "devices", "findings", "left-out", "night-1", "night-2", "origins"];
    let places: Vec<usize> = order.iter().map(|id| at(&html, &format!("id=\"{id}\""))).collect();
    assert!(places.is_sorted(), "{places:?}");
    assert_eq!(html.matches("<details class=\"fold\" open>").count(), 1);
    assert_eq!(html.matches("<details class=\"fold\">").count(), 1);
    at(&html, "<li class=\"who\"><span>P01</span>");
    at(&html, "<a href=\"#night-2\">night 2026-04-05</a>");
}

/// A clock that was three minutes slow.
fn clock(reason: &str) -> ClockSetting {
    let points = vec![ClockPoint { at: data::START, shift_ms: 180_000 }];
    let (by, decided_at) = ("me".into(), "2026-04-06T09:00:00Z".into());
    ClockSetting { decision: 9, source: "watch-a-1".into(), points, reason: reason.into(), by, decided_at }
}

#[test]
fn what_was_left_out_is_listed_with_its_reason_and_the_numbers_stand_both_ways() {
    let mut left_out = data::page();
    at(&page(&left_out).unwrap(), "What was left out on purpose changes no number over all nights.");
    let whole = left_out.with_excluded.as_mut().unwrap();
    let ring = whole.devices.iter_mut().find(|d| d.name == "ring-a").unwrap();
    let other = data::of_matrix(Scheme::SleepWake, vec![vec![30, 10], vec![10, 50]]);
    (ring.pooled, ring.scheme) = (Some(other.clone()), Some(Scheme::SleepWake));
    let own = whole.nights.iter_mut().flat_map(|n| &mut n.devices).filter(|d| d.source.name() == "ring-a");
    own.enumerate().for_each(|(i, d)| d.agreement = (i == 0).then(|| other.clone()));
    let html = page(&left_out).unwrap();
    let section = &html[at(&html, "id=\"left-out\"")..at(&html, "id=\"night-1\"")];
    for words in [
        "1 decision leaves something out of this report. It was taken before anybody looked at results.",
        "<th scope=\"row\">4</th>",
        "P01, night 2026-04-05<small>band-a-1</small>",
        "2026-04-06 03:40:00 UTC+10:30<small>until 2026-04-06 03:52:00 UTC+10:30</small>",
        "before looking<small>reviewer, 6 April 2026, 09:00 UTC</small>",
        "<small>with it 100</small>",
        "<small>with it 80.0 % (one night: see the interval within it)</small>",
        "<small>with it 0.58 (one night: see the interval within it)</small>",
        "No number differs for band-a, mat-a, watch-a.",
    ] {
        at(section, words);
    }
    left_out.exclusions[0].exclusion.looked = Looked::After;
    left_out.with_excluded = None;
    let html = page(&left_out).unwrap();
    at(&html, "It was taken after looking at results, so it may have been taken because of them.");
    at(&html, "This report was asked to count all of it nevertheless.");
    assert!(!html.contains("With and without what was left out"));
}

#[test]
fn a_corrected_clock_is_said_beside_the_device_with_the_result_on_either_clock() {
    let mut corrected = data::page();
    let device = corrected.comparison.nights[0].devices.last_mut().unwrap();
    let as_exported = DeviceNight { agreement: None, ..device.clone() };
    device.clock = Some(Clocked { setting: clock("seen on the phone"), as_exported: Box::new(as_exported) });
    let html = page(&corrected).unwrap();
    let said = "watch-a: its clock is corrected by +3:00 min (decision 9: seen on the phone): n ";
    assert_eq!(html.matches(said).count(), 3, "in the section, below the hypnograms and in the device's own part");
    at(&html, "on its own clock: not compared");
    at(&html, "On P01, night 2026-04-04 its clock is corrected by +3:00 min");
    at(&html, "clock +3:00 min; in wake, light, deep and REM");
    at(&html, "1 clock was corrected.");
}

#[test]
fn how_a_device_gives_its_data_stands_with_who_reads_it_and_only_where_it_is_stated() {
    let mut stated = data::page();
    let device = &mut stated.devices[0];
    device.minutes = Some(2.5);
    device.obtained = Some("lent".into());
    device.definitions = vec!["typed-table".into()];
    device.typed = true;
    let html = page(&stated).unwrap();
    for words in [
        "<th scope=\"row\">ring-a<small>lent</small></th>",
        "a button in its app<small>read by <code>typed-table</code>: typed from a screen by hand</small>",
        "<td class=\"brief\">2.5 min<small>3 steps</small></td><td>not stated</td>",
        "In every wearing: participant P01, site finger.",
    ] {
        at(&html, words);
    }
    stated.devices.clear();
    stated.wearings.clear();
    assert!(!page(&stated).unwrap().contains("#giving"));
}

#[test]
fn of_several_exports_the_page_says_which_counts_and_what_the_others_say_else() {
    let mut several = data::page();
    let html = page(&several).unwrap();
    at(&html, "<td>counts<small>because it came first</small></td><td>Wake 31 min, Sleep 444 min</td>");
    at(&html, "<th scope=\"row\">mat-a-1#2<small>P01/2026-04-04</small></th>");
    at(&html, "<td>mat-a.csv<small>decision 3, 6 April 2026, 08:00 UTC</small></td>");
    at(&html, "<td>stands beside the one that counts</td><td>against the one that counts: Wake \u{2212}8.5 min</td>");
    let (reason, author, date) = ("protocol".into(), "me".into(), "2026-04-07T08:00:00Z".into());
    several.exports[0].chosen = None;
    several.exports[1].chosen = Some(Chosen::Decided { decision: 5, reason, author, date });
    let html = page(&several).unwrap();
    at(&html, "<td>counts<small>since decision 5: protocol</small><small>me, 7 April 2026, 08:00 UTC</small></td>");
    at(&html, "against the one that counts: Wake +8.5 min");
    several.exports[0].minutes = several.exports[1].minutes.clone();
    at(&page(&several).unwrap(), "no stage differs in minutes");
    several.exports.clear();
    assert!(!page(&several).unwrap().contains("Several exports of one night"));
}

#[test]
fn the_time_of_making_is_written_for_people() {
    let mut made = data::page();
    made.made = "2026-11-25T02:45:31Z".into();
    at(&page(&made).unwrap(), "Made 25 November 2026, 02:45 UTC with");
}

#[test]
fn sums_over_nights_say_what_they_leave_out_and_how_far_nights_differ() {
    let html = page(&data::page()).unwrap();
    let section = &html[at(&html, "id=\"devices\"")..at(&html, "id=\"findings\"")];
    for words in [
        "Read this with care",
        "missing counts as wrong",
        "Coverage",
        "mean difference",
        "<small>nights ",
        "2 nights of",
    ] {
        at(section, words);
    }
}

#[test]
fn what_a_device_has_no_word_for_is_not_said_to_be_absent() {
    let html = page(&data::page()).unwrap();
    let table = &html[at(&html, "Each source by itself (not for comparing)")..];
    let row = &table[at(table, "<th scope=\"row\">mat-a")..];
    let row = &row[..at(row, "</tr>")];
    assert!(row.contains("does not tell it apart") && !row.contains("does not occur"), "{row}");
}

#[test]
fn a_device_that_says_nothing_in_the_window_has_no_minutes() {
    let mut silent = data::page();
    let night = &mut silent.comparison.nights[0];
    let device = night.devices.iter_mut().find(|d| d.source.name() == "mat-a").unwrap();
    let n = device.cells.len();
    device.cells = vec![Cell::Missing; n];
    (device.agreement, device.sleep_wake, device.measures_masked, device.reference_masked) = (None, None, None, None);
    let nothing = Err(Undefined::NoSleep);
    let minutes = n as f64 * 0.5;
    device.measures = device.measures.take().map(|m| Measures {
        total_sleep: 0.0,
        wake: 0.0,
        unscored: minutes,
        stage_minutes: Vec::new(),
        rem_latency: nothing,
        awakenings: nothing,
        ..m
    });
    let html = page(&silent).unwrap();
    let table = &html[at(&html, "Each source by itself (not for comparing)")..];
    let row = &table[at(table, "<th scope=\"row\">mat-a")..];
    let row = &row[..at(row, "</tr>")];
    assert_eq!(row.matches(">-</td>").count(), 5, "{row}");
    assert!(!row.contains(">0 min<"), "{row}");
}

#[test]
fn two_units_of_a_device_on_a_night_are_told_apart_by_their_names() {
    let mut twins = data::page();
    let night = &mut twins.comparison.nights[0];
    let mut second = night.devices.iter().find(|d| d.source.name() == "ring-a").unwrap().clone();
    second.source = Source::Device { device: "ring-a".into(), unit: "ring-a-2".into() };
    second.key = "P01/2026-04-04/ring-a-2".into();
    night.devices.push(second.clone());
    let html = page(&twins).unwrap();
    let first = &html[at(&html, "id=\"night-1\"")..at(&html, "id=\"night-2\"")];
    assert!(first.contains("<th scope=\"row\">ring-a-1<") && first.contains("<th scope=\"row\">ring-a-2<"));
    assert!(!first.contains("<th scope=\"row\">ring-a<"));
    // A second export of the same unit is told apart by the end of its key.
    second.key = "P01/2026-04-04/ring-a-2#2".into();
    twins.comparison.nights[0].devices.push(second);
    at(&page(&twins).unwrap(), "<th scope=\"row\">ring-a-2#2<");
}
