//! Time to its last corner: travel, old rules, clocks that change, naps, years that cannot be.

use crate::common::{Bench, Run};
use crate::import::{import, ring};

const HEAD: &str = "version = 1\nname = \"travel, invented\"\nauthor = \"me\"\n[[participant]]\ncode = \"P01\"\n\
                    [[device]]\nname = \"band-a\"\ndefinition = \"typed-table\"\n[[unit]]\nname = \"band-a-1\"\ndevice = \"band-a\"\n\
                    [[device]]\nname = \"ring-a\"\ndefinition = \"ring-a\"\n[[unit]]\nname = \"ring-a-1\"\ndevice = \"ring-a\"\n";

/// A study `s` in a zone, with nights as given.
fn study(zone: &str, nights: &str) -> Bench {
    let bench = Bench::new();
    bench.line(&format!("new s --zone {zone}")).ends(0);
    bench.write(
        "s/study.toml",
        format!("{HEAD}{nights}").replacen("version = 1", &format!("version = 1\nzone = \"{zone}\""), 1),
    );
    bench
}

/// A sheet of changes, such as `22:00 wake, 05:00 end`, of the night given.
fn typed(bench: &Bench, night: &str, changes: &str) -> Run {
    let rows: Vec<String> = changes.split(", ").map(|c| c.replacen(' ', "\t", 1)).collect();
    bench.write("sheet.tsv", format!("clock\tstage\n{}\n", rows.join("\n")));
    import(bench, &format!("sheet.tsv --unit band-a-1 --night {night}"))
}

fn ask(bench: &Bench, sql: &str) -> String {
    bench.run(&["--study", "s", "query", sql, "--format", "csv"]).ends(0).stdout
}

const STAGES: &str = "SELECT stage, count(*) AS n, min(local_start) AS first, min(utc_offset) AS low, max(utc_offset) AS high \
                      FROM epoch_local GROUP BY stage ORDER BY first";

const EAST: &str = "[[night]]\nparticipant = \"P01\"\nlabel = \"2026-04-04\"\n\
                    itinerary = [{ from = \"2026-04-04 23:30\", zone = \"Asia/Dubai\" }]\nlights_off = \"22:30\"\nlights_on = \"05:00\"\n";

#[test]
fn a_night_flight_to_the_east_loses_no_minute_and_tells_the_hours_that_never_were() {
    let bench = study("Europe/Berlin", EAST);
    typed(&bench, "2026-04-04", "22:00 wake, 23:20 light, 01:40 deep, 05:00 end").ends(0);
    // 23:20 to 23:30 in Berlin and 01:30 to 01:40 in Dubai are twenty minutes: 40 epochs.
    assert_eq!(
        ask(&bench, STAGES),
        "stage,n,first,low,high\nW,160,2026-04-04 22:00:00,+02:00,+02:00\n\
         Light,40,2026-04-04 23:20:00,+02:00,+04:00\nN3,400,2026-04-05 01:40:00,+04:00,+04:00\n"
    );
    let shown = bench.line("--study s show 2026-04-04").ends(0).stdout;
    let flat = shown.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("Europe/Berlin, then Asia/Dubai from 2026-04-04T21:30:00Z"), "{shown}");
    assert!(flat.contains("the clock changes from UTC+02:00 to UTC+04:00"), "{shown}");
    assert!(flat.contains("lights off 22:30, lights on 05:00"), "{shown}");
    let said = typed(&bench, "2026-04-04", "22:00 wake, 00:10 light, 05:00 end").ends(1);
    assert!(said.stdout.contains("error[time-skipped]"), "{}", said.stdout);
    assert!(bench.line("--study s rebuild").ends(0).stderr.contains("the same as before"));
}

#[test]
fn to_the_west_the_order_of_rows_tells_which_of_two_equal_times_is_meant() {
    let west = EAST.replace("itinerary", "zone = \"Asia/Dubai\"\nitinerary");
    let west = west.replace("2026-04-04 23:30\", zone = \"Asia/Dubai", "2026-04-05 01:30\", zone = \"Europe/Berlin");
    let bench = study("Europe/Berlin", &west);
    // At 01:30 it is 23:30 again: midnight comes twice.
    typed(&bench, "2026-04-04", "23:00 wake, 00:10 light, 01:20 deep, 00:10 rem, 05:00 end").ends(0);
    assert_eq!(
        ask(&bench, "SELECT stage, count(*) / 2 AS minutes FROM epoch_local GROUP BY stage ORDER BY min(start_ms)"),
        "stage,minutes\nW,70\nLight,70\nN3,50\nR,290\n"
    );
}

#[test]
fn an_itinerary_that_cannot_be_is_refused_with_its_line() {
    let refused = |leg: &str| {
        let bench =
            study("Europe/Berlin", &EAST.replace("{ from = \"2026-04-04 23:30\", zone = \"Asia/Dubai\" }", leg));
        bench.line("--study s nights").ends(2).stderr
    };
    let said = refused("{ from = \"2026-04-04 23:30\", zone = \"Asia/Dubay\" }");
    assert!(said.contains("study.toml:") && said.contains("`Asia/Dubay` is not an IANA time zone"), "{said}");
    let two = "{ from = \"2026-04-04 23:30\", zone = \"Asia/Dubai\" }, { from = \"2026-04-05 01:30\", zone = \"Asia/Tokyo\" }";
    assert!(refused(two).contains("does not begin after the one before it"));
    assert!(refused("{ from = \"23:30\", zone = \"Asia/Dubai\" }").contains("`23:30`"));
}

#[test]
fn a_unit_with_old_rules_is_read_by_its_own_clock() {
    // Mexico has had no summer time since 2022; a phone that does not know it shows an hour more (tz database, NEWS for 2022f).
    let night = "[[night]]\nparticipant = \"P01\"\nlabel = \"2026-04-10\"\n";
    let worn =
        "[[wearing]]\nunit = \"band-a-1\"\nparticipant = \"P01\"\nnight = \"2026-04-10\"\nzone = \"UTC-05:00\"\n";
    let bench = study("America/Mexico_City", &format!("{night}{worn}"));
    let run = typed(&bench, "2026-04-10", "23:00 wake, 23:30 light, 06:00 end").ends(0);
    assert!(run.stdout.contains("(times: zone of the unit's clock)"), "{}", run.stdout);
    assert_eq!(
        ask(&bench, "SELECT min(local_start) AS first, min(utc_offset) AS offset FROM epoch_local"),
        "first,offset\n2026-04-10 22:00:00,-06:00\n"
    );
    let check = bench.line("--study s check --format concise").ends(0).stdout;
    assert!(check.contains("warning[zone-other] P01/2026-04-10/band-a-1"), "{check}");
    let again = import(&bench, "sheet.tsv --unit band-a-1 --night 2026-04-10").ends(0).stderr;
    assert!(again.contains("nothing to do"), "{again}");
    assert!(bench.line("--study s rebuild").ends(0).stderr.contains("the same as before"));
    // Another clock than declared is another reading of the same sheet, and takes its place.
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", text.replace("zone = \"UTC-05:00\"\n", ""));
    import(&bench, "sheet.tsv --unit band-a-1 --night 2026-04-10").ends(0);
    assert_eq!(ask(&bench, "SELECT min(local_start) AS first FROM epoch_local"), "first\n2026-04-10 23:00:00\n");
}

/// What a unit's clock had on a range of nights, in Mexico: see the test above.
fn with_offset(nights: &str, keys: &str) -> Bench {
    let bench = study("America/Mexico_City", nights);
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", text.replace("name = \"band-a-1\"", &format!("name = \"band-a-1\"\n{keys}")));
    bench
}

const OFFSET: &str = "offset = \"-05:00\"\noffset_from = \"2026-04-05\"\noffset_to = \"2026-04-10\"\n\
                      offset_reason = \"the phone has the rules of 2021\"";

const FIRST: &str =
    "SELECT night, min(local_start) AS first, utc_offset FROM epoch_local GROUP BY night ORDER BY night";

#[test]
fn a_unit_says_once_of_a_range_of_nights_which_offset_its_clock_had_and_why() {
    let nights = "[[night]]\nparticipant = \"P01\"\nlabel = \"2026-04-10\"\n[[night]]\nparticipant = \"P01\"\nlabel = \"2026-04-11\"\n";
    let bench = with_offset(nights, OFFSET);
    let run = typed(&bench, "2026-04-10", "23:00 wake, 23:30 light, 06:00 end").ends(0);
    assert!(run.stdout.contains("(times: zone of the unit's clock)"), "{}", run.stdout);
    let flat = run.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
    let told = "clock was at UTC-05:00 from 2026-04-05 to 2026-04-10: the phone has the rules of 2021";
    assert!(flat.contains(told), "{flat}");
    // The night after the range is read in its zone again.
    let run = typed(&bench, "2026-04-11", "23:00 wake, 23:30 light, 06:00 end").ends(0);
    assert!(run.stdout.contains("(times: zone of the night)"), "{}", run.stdout);
    let rows = "night,first,utc_offset\n2026-04-10,2026-04-10 22:00:00,-06:00\n2026-04-11,2026-04-11 23:00:00,-06:00\n";
    assert_eq!(ask(&bench, FIRST), rows);
    let history = bench.line("--study s show 2026-04-10 --history").ends(0).stdout;
    assert!(history.split_whitespace().collect::<Vec<_>>().join(" ").contains(told), "{history}");
    // Another wording of the reason is no other reading; a zone that is typed outranks the unit.
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", text.replace("the rules of 2021", "old rules"));
    assert!(typed(&bench, "2026-04-10", "23:00 wake, 23:30 light, 06:00 end").ends(0).stderr.contains("nothing to do"));
    assert!(bench.line("--study s rebuild").ends(0).stderr.contains("the same as before"));
    import(&bench, "sheet.tsv --unit band-a-1 --night 2026-04-10 --zone America/Mexico_City").ends(0);
    assert_eq!(ask(&bench, FIRST), rows.replace("22:00:00", "23:00:00"));
}

#[test]
fn an_offset_of_a_unit_is_whole_and_its_nights_are_declared_or_nothing_is_read() {
    let night = "[[night]]\nparticipant = \"P01\"\nlabel = \"2026-04-20\"\n";
    let refused = |keys: &str| with_offset(night, keys).line("--study s nights").ends(2).stderr;
    assert!(refused("offset = \"-05:00\"").contains("an offset needs `offset`, `offset_from`, `offset_to`"));
    assert!(refused(&OFFSET.replace("-05:00", "-5")).contains("`-5` is not an offset; write it such as +01:00"));
    assert!(refused(&OFFSET.replace("2026-04-10", "April")).contains("`April` is not a date"));
    assert!(refused(&OFFSET.replace("2026-04-10", "2026-04-01")).contains("is before the first"));
    let bench = with_offset(night, OFFSET);
    bench.write("sheet.tsv", "clock\tstage\n23:00\twake\n06:00\tend\n");
    let said =
        import(&bench, "sheet.tsv --unit band-a-1 --participant P01 --night 2026-04-10 --new-nights").ends(2).stderr;
    assert!(said.contains("had UTC-05:00 on 2026-04-10") && said.contains("label = \"2026-04-10\""), "{said}");
    assert_eq!(ask(&bench, "SELECT count(*) AS n FROM recording"), "n\n0\n");
}

#[test]
fn clocks_that_go_on_and_back_inside_a_night_lose_and_gain_what_they_should() {
    let nights = "[[night]]\nparticipant = \"P01\"\nlabel = \"2026-03-28\"\n[[night]]\nparticipant = \"P01\"\nlabel = \"2026-10-24\"\n";
    let bench = study("Europe/Berlin", nights);
    typed(&bench, "2026-03-28", "23:00 wake, 01:30 light, 03:30 deep, 06:00 end").ends(0);
    let minutes = "SELECT stage, count(*) / 2 AS minutes FROM epoch_local GROUP BY stage ORDER BY min(start_ms)";
    assert_eq!(ask(&bench, minutes), "stage,minutes\nW,150\nLight,60\nN3,150\n");
    let bench = study("Europe/Berlin", nights);
    typed(&bench, "2026-10-24", "23:00 wake, 02:30 light, 02:10 deep, 06:00 end").ends(0);
    assert_eq!(ask(&bench, minutes), "stage,minutes\nW,210\nLight,40\nN3,230\n");
}

#[test]
fn day_sleep_and_a_nap_inside_the_window_of_a_night_are_nights_of_their_own() {
    let nights = "[[night]]\nparticipant = \"P01\"\nlabel = \"2026-04-04\"\n\
                  [[night]]\nparticipant = \"P01\"\nlabel = \"after the late shift\"\nkind = \"day\"\nwindow = [\"2026-04-06 06:00\", \"2026-04-06 18:00\"]\n\
                  [[night]]\nparticipant = \"P01\"\nlabel = \"nap\"\nkind = \"nap\"\nwindow = [\"2026-04-04 13:00\", \"2026-04-04 15:00\"]\n";
    let bench = study("Europe/Berlin", nights);
    bench.write(
        "ring.json",
        ring(&[
            ("2026-04-04T13:10:00+02:00", "2026-04-04T14:00:00+02:00", "shallow"),
            ("2026-04-04T23:10:00+02:00", "2026-04-05T06:00:00+02:00", "deep"),
            ("2026-04-06T08:10:00+02:00", "2026-04-06T12:00:00+02:00", "shallow"),
        ]),
    );
    import(&bench, "ring.json --unit ring-a-1").ends(0);
    let sql = "SELECT night, kind, minutes_light, minutes_n3 FROM night_summary ORDER BY night";
    assert_eq!(
        ask(&bench, sql),
        "night,kind,minutes_light,minutes_n3\n2026-04-04,night,0,410\nafter the late shift,day,230,0\nnap,nap,50,0\n"
    );
}

#[test]
fn an_offset_that_its_own_zone_does_not_have_is_told_and_a_year_that_cannot_be_is_refused() {
    let bench = study("Europe/Berlin", "[[night]]\nparticipant = \"P01\"\nlabel = \"2026-04-04\"\n");
    let one = |from: &str| {
        bench.write(
            "ring.json",
            ring(&[
                (from, "2026-04-05T06:00:00+02:00", "deep"),
                ("2026-04-04T22:00:00+02:00", "2026-04-04T23:00:00+02:00", "awake"),
            ]),
        );
        let run = import(&bench, "ring.json --unit ring-a-1").ends(1);
        run.stdout.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let said = one("2026-04-04T23:00:00+05:00[Europe/Berlin]");
    assert!(said.contains("warning[zone-differs]: the source says +05:00; Europe/Berlin was at +02:00"), "{said}");
    assert!(said.contains("$.sleeps[0].pieces[0].from"), "{said}");
    assert!(one("0051-04-04T23:00:00+02:00").contains("error[time-unreadable]"));
}
