//! The corners of time: repeated and skipped wall times, midnight, offsets that lie, zones.

mod common;

use common::{back, brief, definition, forward, given, night};
use counterpane_import::Bindings;
use counterpane_model::Zone;
use expect_test::{Expect, expect};

const STAGES: &str = "stage = { at = \"s\" }\n[stages]\nw = \"W\"\nl = \"Light\"\nend = \"end\"\n";

fn check(time: &str, bindings: &Bindings, times: &str, expected: Expect) {
    let rows = format!("[[rows]]\nshape = \"change\"\norder = \"file\"\nstart = {{ at = \"t\", {time} }}\n{STAGES}");
    let words = ["w", "l"].into_iter().cycle();
    let times: Vec<&str> = times.split(", ").collect();
    let last = times.len() - 1;
    let lines =
        times.iter().zip(words).enumerate().map(|(n, (t, s))| format!("{t},{}\n", if n == last { "end" } else { s }));
    let input = format!("t,s\n{}", lines.collect::<String>());
    expected.assert_eq(&brief(&definition("csv", &rows), bindings, &input));
}

const CLOCK: &str = "read = \"clock\", zone = \"night\", fold = \"order\"";
const WALL: &str = "read = \"%Y-%m-%d %H:%M\", zone = \"night\", fold = \"order\"";

#[test]
fn a_time_of_day_crosses_midnight_by_order() {
    check(
        CLOCK,
        &back(),
        "22:47, 23:59, 00:00, 06:40",
        expect!["22:47+11:00-23:59+11:00 W, 23:59+11:00-00:00+11:00 Light, 00:00+11:00-06:40+10:30 W"],
    );
}

#[test]
fn order_settles_the_half_hour_that_happened_twice() {
    check(
        CLOCK,
        &back(),
        "01:20, 01:50, 01:40, 02:05",
        expect!["01:20+11:00-01:50+11:00 W, 01:50+11:00-01:40+10:30 Light, 01:40+10:30-02:05+10:30 W, time-settled"],
    );
    check(
        WALL,
        &back(),
        "2026-04-05 01:20, 2026-04-05 01:50, 2026-04-05 01:40, 2026-04-05 02:05",
        expect!["01:20+11:00-01:50+11:00 W, 01:50+11:00-01:40+10:30 Light, 01:40+10:30-02:05+10:30 W, time-settled"],
    );
}

#[test]
fn a_first_row_within_the_repeated_half_hour_is_not_guessed() {
    check(CLOCK, &back(), "01:40, 02:05, 02:10", expect!["02:05+10:30-02:10+10:30 Light, time-repeated"]);
}

#[test]
fn without_a_policy_a_repeated_time_is_an_error() {
    let time = |fold: &str| format!("read = \"%Y-%m-%d %H:%M\", zone = \"night\"{fold}");
    let times = "2026-04-05 01:20, 2026-04-05 01:40, 2026-04-05 02:05";
    check(&time(""), &back(), times, expect!["end-missing, time-repeated"]);
    check(
        &time(", fold = \"first\""),
        &back(),
        times,
        expect!["01:20+11:00-01:40+11:00 W, 01:40+11:00-02:05+10:30 Light, time-settled"],
    );
    check(
        &time(", fold = \"second\""),
        &back(),
        times,
        expect!["01:20+11:00-01:40+10:30 W, 01:40+10:30-02:05+10:30 Light, time-settled"],
    );
}

#[test]
fn a_time_that_never_happened_is_an_error() {
    check(
        CLOCK,
        &forward(),
        "01:40, 02:15, 02:40, 03:00",
        expect!["02:40+11:00-03:00+11:00 W, end-missing, time-skipped"],
    );
    check(
        WALL,
        &forward(),
        "2026-10-04 01:40, 2026-10-04 02:15, 2026-10-04 02:40",
        expect!["end-missing, time-skipped"],
    );
}

#[test]
fn the_hour_that_is_jumped_over_takes_no_time() {
    check(CLOCK, &forward(), "01:50, 02:40", expect!["01:50+10:30-02:40+11:00 W"]);
}

#[test]
fn a_z_that_lies_is_ignored_on_purpose() {
    let lies = "read = \"rfc3339\", offset = \"ignore\", zone = \"night\"";
    check(lies, &back(), "2026-04-04T22:31:00Z, 2026-04-04T23:00:00Z", expect!["22:31+11:00-23:00+11:00 W"]);
    let trusted = "read = \"rfc3339\", offset = \"trust\"";
    check(
        trusted,
        &back(),
        "2026-04-04T22:31:00Z, 2026-04-04T23:00:00Z",
        expect!["09:01+10:30-09:30+10:30 W, zone-differs"],
    );
}

#[test]
fn a_time_of_day_that_goes_back_is_an_error() {
    check(CLOCK, &back(), "22:47, 22:40, 23:00", expect!["end-missing, order-backwards"]);
    check(CLOCK, &back(), "22:47, 12:30, 11:30", expect!["end-missing, order-backwards"]);
}

#[test]
fn a_wall_time_without_a_zone_asks_for_one() {
    let nowhere = Bindings { nights: vec![], night: None, ..back() };
    check(WALL, &nowhere, "2026-04-04 22:31, 2026-04-04 23:00", expect!["no-zone, no-zone"]);
    let given = Bindings { zone: Some(Zone::named("Europe/Berlin").unwrap()), ..nowhere };
    check(WALL, &given, "2026-04-04 22:31, 2026-04-04 23:00", expect!["22:31+02:00-23:00+02:00 W"]);
}

#[test]
fn a_zone_of_the_command_line_outranks_the_night_and_says_so() {
    let sydney = Bindings { zone: Some(Zone::named("Australia/Sydney").unwrap()), ..back() };
    check(WALL, &sydney, "2026-04-05 01:20, 2026-04-05 06:00", expect!["01:20+11:00-06:30+10:30 W, zone-differs"]);
}

#[test]
fn times_of_day_need_a_night() {
    check(
        CLOCK,
        &Bindings { night: None, ..back() },
        "22:47, 23:00",
        expect!["refused: the source gives times of day without a date; give it with `--night 2026-04-04`"],
    );
    check(
        CLOCK,
        &Bindings { night: Some("2026-04-09".into()), ..back() },
        "22:47, 23:00",
        expect!["22:47+10:30-23:00+10:30 W"],
    );
    check(
        CLOCK,
        &Bindings { night: Some("first".into()), ..back() },
        "22:47, 23:00",
        expect!["refused: `--night`: night `first` is not declared; declared are `2026-04-04`"],
    );
}

#[test]
fn spans_go_to_the_declared_night_and_the_rest_to_evenings() {
    let rows = format!("[[rows]]\nshape = \"length\"\nstart = {{ at = \"t\", read = \"epoch s\" }}\nlength = {{ const = 30, read = \"s\" }}\n{STAGES}").replace("end = \"end\"\n", "");
    let definition = definition("csv", &rows);
    // 2026-04-04 22:31, 2026-04-05 11:59:50 and 12:00:20, 2026-04-06 11:00, all local.
    let input = "t,s\n1775302260,w\n1775352590,w\n1775352620,l\n1775435400,l\n";
    expect![[r#"
        night 2026-04-04: Australia/Lord_Howe, offset in the source, step 0 ms
          2026-04-04T22:31:00+11:00 2026-04-04T22:31:30+11:00  W  `w`  line 2:12
          2026-04-05T11:59:50+10:30 2026-04-05T12:00:20+10:30  W  `w`  line 3:12
        night 2026-04-05, not declared: Australia/Lord_Howe, offset in the source, step 0 ms
          2026-04-05T12:00:20+10:30 2026-04-05T12:00:50+10:30  Light  `l`  line 4:12
          2026-04-06T11:00:00+10:30 2026-04-06T11:00:30+10:30  Light  `l`  line 5:12
        rows 4: spans 4
    "#]]
    .assert_eq(&given(&definition, &back(), input));
}

#[test]
fn two_zones_are_kept_apart_by_night() {
    let nights = vec![night("2026-04-04", "Australia/Lord_Howe"), night("2026-04-07", "Europe/Berlin")];
    let bindings = Bindings { nights, night: None, ..back() };
    check(WALL, &bindings, "2026-04-04 22:31, 2026-04-04 23:00", expect!["22:31+11:00-23:00+11:00 W"]);
    check(WALL, &bindings, "2026-04-07 22:31, 2026-04-07 23:00", expect!["22:31+02:00-23:00+02:00 W"]);
    check(WALL, &bindings, "2026-04-10 22:31, 2026-04-10 23:00", expect!["no-zone, no-zone"]);
}

#[test]
fn date_and_time_may_stand_in_two_columns() {
    let rows = "[[rows]]\nshape = \"length\"\nstart = { at = [\"d\", \"t\"], read = \"%d.%m.%y %I:%M %p\", zone = \"night\" }\nlength = { const = 30, read = \"s\" }\nstage = { at = \"s\" }\n[stages]\nw = \"W\"\n";
    expect!["22:31+11:00-22:31:30+11:00 W"].assert_eq(&brief(
        &definition("csv", rows),
        &back(),
        "d,t,s\n04.04.26,10:31 PM,w\n",
    ));
}

#[test]
fn boundaries_of_elapsed_time_are_rounded_once() {
    let rows = "[[rows]]\nshape = \"length\"\nstart = { at = \"onset\", read = \"offset s\", from = { bound = \"start\" } }\nlength = { at = \"duration\", read = \"s\" }\nstage = { at = \"s\" }\n[stages]\nw = \"W\"\n";
    let bindings = Bindings { start: Some("22:00".into()), ..back() };
    let input = "onset,duration,s\n3.00000384449959,30,w\n33.0000038444996,30,w\n63.0004,30.0004,w\n";
    expect!["22:00:03+11:00-22:00:33+11:00 W, 22:00:33+11:00-22:01:03+11:00 W, 22:01:03+11:00-22:01:33.001+11:00 W"]
        .assert_eq(&brief(&definition("csv", rows), &bindings, input));
}

#[test]
fn the_first_row_of_a_morning_names_its_night() {
    let rows = "[[rows]]\nshape = \"interval\"\norder = \"file\"\nnight = { at = \"woke\", means = \"morning\", read = \"%d.%m.%Y\" }\nstart = { at = \"a\", read = \"clock\", zone = \"night\" }\nend = { at = \"b\", read = \"clock\", zone = \"night\" }\nstage = { at = \"s\" }\n[stages]\nw = \"W\"\n";
    let input = "woke,a,b,s\n05.04.2026,23:50,00:20,w\n06.04.2026,22:00,21:50,w\n06.04.2026,23:00,11:00,w\n";
    expect![[r#"
        night 2026-04-04: Australia/Lord_Howe, zone of the night, step 0 ms
          2026-04-04T23:50:00+11:00 2026-04-05T00:20:00+11:00  W  `w`  line 2:24
        night 2026-04-05, not declared: Australia/Lord_Howe, zone of the night, step 0 ms
          2026-04-05T23:00:00+10:30 2026-04-06T11:00:00+10:30  W  `w`  line 4:24
        error[length-not-positive]: `21:50:00` ends a row that begins at 22:00:00
         --> in: line 3:18
          | 06.04.2026,22:00,21:50,w
          help: compare the row with the original; if its times are local with a wrong offset, see `offset` in docs/definitions.md
        rows 3: spans 2, faulty 1
    "#]].assert_eq(&given(&definition("csv", rows), &back(), input));
}

#[test]
fn a_declared_night_comes_before_the_evening_around_it() {
    let zone = Zone::named("Australia/Lord_Howe").unwrap();
    let at = |wall: &str| zone.instant_of(common::wall(wall), counterpane_model::Fold::First).unwrap();
    let mut short = night("2026-04-04", "Australia/Lord_Howe");
    short.window = (at("2026-04-04 20:00"), at("2026-04-05 10:00"));
    let bindings = Bindings { nights: vec![short], night: None, ..back() };
    let rows = "[[rows]]\nshape = \"length\"\nstart = { at = \"t\", read = \"%Y-%m-%d %H:%M\", zone = \"night\" }\nlength = { const = 30, read = \"s\" }\nstage = { at = \"s\" }\n[stages]\nw = \"W\"\n";
    let input = "t,s\n2026-04-04 13:00,w\n2026-04-04 22:00,w\n2026-04-05 11:00,w\n";
    expect![[r#"
        night 2026-04-04, not declared: Australia/Lord_Howe, zone of the night, step 0 ms
          2026-04-04T13:00:00+11:00 2026-04-04T13:00:30+11:00  W  `w`  line 2:18
          2026-04-05T11:00:00+10:30 2026-04-05T11:00:30+10:30  W  `w`  line 4:18
        night 2026-04-04: Australia/Lord_Howe, zone of the night, step 0 ms
          2026-04-04T22:00:00+11:00 2026-04-04T22:00:30+11:00  W  `w`  line 3:18
        rows 3: spans 3
    "#]]
    .assert_eq(&given(&definition("csv", rows), &bindings, input));
}

/// Elements that share a line, and values that share a cell, have one place each and are still told apart.
#[test]
fn faces_of_one_place_are_told_apart() {
    let rows = |head: &str, times: [&str; 2]| {
        let time =
            |key: &str, at: &str| format!("{key} = {{ at = \"{at}\", read = \"clock 12h\", zone = \"night\" }}\n");
        format!(
            "[[rows]]\n{head}shape = \"interval\"\norder = \"file\"\n{}{}stage = {{ at = \"{}\" }}\n[stages]\nw = \"W\"\nl = \"Light\"\n",
            time("start", times[0]),
            time("end", times[1]),
            if head.contains("cell") { "s" } else { "@s" }
        )
    };
    let expected = "22:31+11:00-23:47+11:00 W, 23:47+11:00-06:40+10:30 Light";
    let xml = definition("xml", &rows("each = \"//part\"\n", ["@a", "@b"]));
    let line = "<n><part a=\"10:31\" b=\"11:47\" s=\"w\"/><part a=\"11:47\" b=\"6:40\" s=\"l\"/></n>";
    assert_eq!(brief(&xml, &back(), line), expected);
    let cell = definition("csv", &rows("cell = \"c\"\nnest = \"[*]\"\n", ["a", "b"]));
    let table = "c\n\"[{\"\"a\"\":\"\"10:31\"\",\"\"b\"\":\"\"11:47\"\",\"\"s\"\":\"\"w\"\"},{\"\"a\"\":\"\"11:47\"\",\"\"b\"\":\"\"6:40\"\",\"\"s\"\":\"\"l\"\"}]\"\n";
    assert_eq!(brief(&cell, &back(), table), expected);
}
