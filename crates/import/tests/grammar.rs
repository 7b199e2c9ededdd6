//! What is wrong with a definition, as its writer sees it.

use counterpane_import::Definition;
use expect_test::{Expect, expect};

fn check(text: &str, expected: Expect) {
    let said = match Definition::parse("t", text) {
        Ok(_) => "sound".to_owned(),
        Err(errors) => errors.render("importer.toml") + "\n",
    };
    expected.assert_eq(&said);
}

const HEAD: &str = "version = 1\ntitle = \"t\"\nmatch = { format = \"csv\" }\n";

fn check_rows(rows: &str, expected: Expect) {
    check(&format!("{HEAD}[stages]\nw = \"W\"\n[[rows]]\n{rows}"), expected);
}

#[test]
fn a_slip_of_the_hand_is_shown_with_the_keys_that_exist() {
    check_rows(
        "shape = \"interval\"\nstrat = { at = \"Begin\", read = \"rfc3339\", offset = \"trust\" }\nend = { at = \"End\", read = \"rfc3339\", offset = \"trust\" }\nstage = { at = \"Phase\" }",
        expect![[r#"
            error: [[rows]] lacks the key `start`
             --> importer.toml:6:1
              |
            6 | [[rows]]
              | ^^^^^^^^
              |
              = help: shape `interval` needs `start`, `end`, `stage`

            error: unknown key `strat`
             --> importer.toml:8:1
              |
            8 | strat = { at = "Begin", read = "rfc3339", offset = "trust" }
              | ^^^^^
              |
              = help: did you mean `start`? the keys of [[rows]] are `in`, `format`, `each`, `nest`, `cell`, `keep`, `filter`, `shape`, `layer`, `order`, `night`, `start`, `end`, `length`, `stage`, `codes`, `epoch`, `note`, `lists`, `name`, `claims`
        "#]],
    );
}

#[test]
fn every_problem_is_told_at_once() {
    check(
        "version = 2\ntitel = \"t\"\n[match]\nformat = \"pdf\"\n[[rows]]\nshape = \"intervall\"\n[stages]\nw = \"wake\"\n",
        expect![[r#"
            error: the top of a definition lacks the key `title`
             --> importer.toml:1:1
              |
            1 | version = 2
              | ^
              |
              = help: say in one line what is read

            error: version 2 of the language is not known
             --> importer.toml:1:11
              |
            1 | version = 2
              |           ^
              |
              = help: this program reads `version = 1`

            error: unknown key `titel`
             --> importer.toml:2:1
              |
            2 | titel = "t"
              | ^^^^^
              |
              = help: did you mean `title`? the keys of the top of a definition are `version`, `title`, `sources`, `step`, `match`, `text`, `rows`, `stages`, `notes`, `units`

            error: `pdf` is not a format
             --> importer.toml:4:10
              |
            4 | format = "pdf"
              |          ^^^^^
              |
              = help: did you mean `edf`? the words that can stand here are `csv`, `edf`, `json`, `jsonl`, `sheet`, `text`, `xml`, `zip`

            error: `intervall` is not a shape
             --> importer.toml:6:9
              |
            6 | shape = "intervall"
              |         ^^^^^^^^^^^
              |
              = help: did you mean `interval`? the words that can stand here are `interval`, `length`, `change`, `codes`, `arrays`, `keyed`, `columns`, `claims`, `notes`

            error: `wake` is not a stage
             --> importer.toml:8:5
              |
            8 | w = "wake"
              |     ^^^^^^
              |
              = help: the words that can stand here are `W`, `N1`, `N2`, `N3`, `R`, `NREM`, `Light`, `Asleep`, `unscored`, `off`, `ignored`, `end`
        "#]],
    );
}

#[test]
fn broken_toml_is_located() {
    check(
        "version = 1\ntitle = \"t\n",
        expect![[r#"
        error: this is not TOML: invalid basic string, expected `"`
         --> importer.toml:2:11
          |
        2 | title = "t
          |           ^
          |
          = help: see docs/definitions.md for how each key is written
    "#]],
    );
}

#[test]
fn there_is_no_default_for_the_zone() {
    check_rows(
        "shape = \"change\"\nstart = { at = \"t\", read = \"%d.%m.%Y %H:%M\" }\nstage = { at = \"s\" }",
        expect![[r#"
            error: [rows.start] lacks the key `zone`
             --> importer.toml:8:9
              |
            8 | start = { at = "t", read = "%d.%m.%Y %H:%M" }
              |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
              |
              = help: a wall time has no meaning without its zone; write `zone = "night"`, `zone = { const = "Europe/Berlin" }` or `zone = { at = "tz" }`
        "#]],
    );
}

#[test]
fn an_offset_is_trusted_or_ignored_on_purpose() {
    check_rows(
        "shape = \"change\"\nstart = { at = \"t\", read = [\"rfc3339\", \"%Y-%m-%d %H:%M %z\"] }\nstage = { at = \"s\" }",
        expect![[r#"
            error: [rows.start] lacks the key `offset`
             --> importer.toml:8:9
              |
            8 | start = { at = "t", read = ["rfc3339", "%Y-%m-%d %H:%M %z"] }
              |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
              |
              = help: `offset = "trust"` when it is true, `offset = "ignore"` when a `Z` stands on local times
        "#]],
    );
}

#[test]
fn the_unit_of_a_number_is_said() {
    check_rows(
        "shape = \"length\"\nstart = { at = \"t\", read = \"epoch\" }\nlength = { at = \"l\" }\nstage = { at = \"s\" }",
        expect![[r#"
            error: `epoch` is not a way to read a time
             --> importer.toml:8:28
              |
            8 | start = { at = "t", read = "epoch" }
              |                            ^^^^^^^
              |
              = help: say the unit: `epoch s`, `epoch ms` or `epoch us`

            error: [rows.length] lacks the key `read`
             --> importer.toml:9:10
              |
            9 | length = { at = "l" }
              |          ^^^^^^^^^^^^
              |
              = help: say the unit; there is no default: `ms`, `s`, `min`, `h`, `days`, `h:mm`, `h:mm:ss`, `mm:ss`, `iso`, `h m s`, `cell`
        "#]],
    );
}

#[test]
fn a_shape_says_what_it_needs_and_what_it_cannot_use() {
    check_rows(
        "shape = \"notes\"\nstart = { at = \"t\", read = \"epoch s\" }\nepoch = { const = 30, read = \"s\" }",
        expect![[r#"
            error: the top of a definition lacks the key `notes`
             --> importer.toml:1:1
              |
            1 | version = 1
              | ^
              |
              = help: list the source's exact words, such as `[notes]` with `"Lights off" = "lights-off"`

            error: [[rows]] lacks the key `note`
             --> importer.toml:6:1
              |
            6 | [[rows]]
              | ^^^^^^^^
              |
              = help: shape `notes` needs `start`, `note`

            error: shape `notes` has no use for `epoch`
             --> importer.toml:9:1
              |
            9 | epoch = { const = 30, read = "s" }
              | ^^^^^
              |
              = help: leave `epoch` out, or choose another shape
        "#]],
    );
}

#[test]
fn order_is_needed_where_order_decides() {
    check_rows(
        "shape = \"change\"\nstart = { at = \"t\", read = \"clock\", zone = \"night\", fold = \"order\" }\nstage = { at = \"s\" }",
        expect![[r#"
            error: `fold = "order"` needs rows in the order of time
             --> importer.toml:8:1
              |
            8 | start = { at = "t", read = "clock", zone = "night", fold = "order" }
              | ^^^^^
              |
              = help: add `order = "file"` if rows stand in the order of time, or choose `first`, `second` or `error`

            error: change points by time of day need rows in the order of time
             --> importer.toml:8:1
              |
            8 | start = { at = "t", read = "clock", zone = "night", fold = "order" }
              | ^^^^^
              |
              = help: add `order = "file"` if rows stand in the order of time
        "#]],
    );
}

#[test]
fn a_value_comes_from_one_place() {
    check_rows(
        "shape = \"change\"\nstart = { at = \"t\", const = \"x\", read = \"epoch s\" }\nstage = { up = 1 }",
        expect![[r#"
            error: [rows.start] must say where its value comes from, once; it says at and const
             --> importer.toml:8:9
              |
            8 | start = { at = "t", const = "x", read = "epoch s" }
              |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
              |
              = help: write exactly one of `at`, `key`, `file`, `const`, `bound`, `join`, `row`

            error: [rows.stage] must say where its value comes from, once; it says none
             --> importer.toml:9:9
              |
            9 | stage = { up = 1 }
              |         ^^^^^^^^^^
              |
              = help: write exactly one of `at`, `key`, `file`, `const`, `bound`, `join`, `row`
        "#]],
    );
}

#[test]
fn an_anchor_goes_with_counted_times() {
    check_rows(
        "shape = \"change\"\nstart = { at = \"t\", read = \"offset s\" }\nstage = { at = \"s\", up = 3 }",
        expect![[r#"
            error: a time that is counted needs its anchor, `from`
             --> importer.toml:8:9
              |
            8 | start = { at = "t", read = "offset s" }
              |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
              |
              = help: such as `from = { bound = "start" }` or `from = { file = "start", zone = "night" }`

            error: `up = 3` goes above the rows: there are 0 above
             --> importer.toml:9:1
              |
            9 | stage = { at = "s", up = 3 }
              | ^^^^^
              |
              = help: each `[*]` of `nest` adds one level that `up` can reach
        "#]],
    );
}

#[test]
fn a_pattern_reads_a_whole_date_or_none() {
    check_rows(
        "shape = \"change\"\nstart = { at = \"t\", read = [\"%d.%m. %H:%M\", \"%Q\", \"%Y-%m-%d\"], zone = \"night\" }\nstage = { at = \"s\" }",
        expect![[r#"
            error: `%d.%m. %H:%M` reads only part of a date
             --> importer.toml:8:29
              |
            8 | start = { at = "t", read = ["%d.%m. %H:%M", "%Q", "%Y-%m-%d"], zone = "night" }
              |                             ^^^^^^^^^^^^^^
              |
              = help: a date needs `%Y` or `%y`, a month and a day; leave all of them out for a time of day

            error: `%Q` cannot stand in a pattern
             --> importer.toml:8:45
              |
            8 | start = { at = "t", read = ["%d.%m. %H:%M", "%Q", "%Y-%m-%d"], zone = "night" }
              |                                             ^^^^
              |
              = help: use `%Y`, `%m`, `%d`, `%b`, `%y`, `%H`, `%I`, `%p`, `%M`, `%S`, `%f`, `%z` and the like

            error: `%Y-%m-%d` reads no time of day
             --> importer.toml:8:51
              |
            8 | start = { at = "t", read = ["%d.%m. %H:%M", "%Q", "%Y-%m-%d"], zone = "night" }
              |                                                   ^^^^^^^^^^
              |
              = help: add `%H` or `%I`; for seconds since 1970 write `epoch s`
        "#]],
    );
}

#[test]
fn claims_name_quantity_unit_and_rounding() {
    check_rows(
        "shape = \"claims\"\n[rows.claims]\n\"minutes REM\" = { at = \"r\", unit = \"min\", rounding = \"1 min\" }\n\"efficiency\" = { at = \"e\", unit = \"min\", rounding = \"1 min\" }\n\"total-sleep\" = { at = \"t\", unit = \"min\" }",
        expect![[r#"
            error: unknown key `minutes REM`
             --> importer.toml:9:1
              |
            9 | "minutes REM" = { at = "r", unit = "min", rounding = "1 min" }
              | ^^^^^^^^^^^^^
              |
              = help: did you mean `minutes NREM`? the keys of [rows.claims] are `minutes W`, `minutes N1`, `minutes N2`, `minutes N3`, `minutes R`, `minutes Light`, `minutes NREM`, `minutes Asleep`, `total-sleep`, `time-in-bed`, `sleep-latency`, `wake-after-onset`, `awakenings`, `efficiency`, `start`, `end`

            error: `efficiency` is given in per cent, which this unit is not
              --> importer.toml:10:35
               |
            10 | "efficiency" = { at = "e", unit = "min", rounding = "1 min" }
               |                                   ^^^^^
               |
               = help: choose a unit of the same kind

            error: `1 min` is not a step of per cent
              --> importer.toml:10:53
               |
            10 | "efficiency" = { at = "e", unit = "min", rounding = "1 min" }
               |                                                     ^^^^^^^
               |
               = help: write `1 min`, `30 s`, `1 %`, `1` or `none`

            error: the claim `total-sleep` lacks the key `rounding`
              --> importer.toml:11:17
               |
            11 | "total-sleep" = { at = "t", unit = "min" }
               |                 ^^^^^^^^^^^^^^^^^^^^^^^^^^
               |
               = help: the step to which the source rounds, such as `1 min`, `1 %` or `1`; or `none`
        "#]],
    );
}

#[test]
fn an_end_belongs_to_change_points() {
    check(
        &format!(
            "{HEAD}[stages]\nw = \"W\"\nstop = \"end\"\n[[rows]]\nshape = \"interval\"\nstart = {{ at = \"a\", read = \"epoch s\" }}\nend = {{ at = \"b\", read = \"epoch s\" }}\nstage = {{ at = \"s\" }}\n"
        ),
        expect![[r#"
            error: `end` has a meaning in shape `change` only
             --> importer.toml:6:1
              |
            6 | stop = "end"
              | ^^^^
              |
              = help: use `ignored`, or choose another shape
        "#]],
    );
}

#[test]
fn a_zone_is_a_name_of_the_database() {
    check_rows(
        "shape = \"change\"\nstart = { at = \"t\", read = \"%Y-%m-%d %H:%M\", zone = { const = \"europe/berlin\" } }\nstage = { at = \"s\" }",
        expect![[r#"
            error: `europe/berlin` is not an IANA time zone; did you mean `Europe/Berlin`?
             --> importer.toml:8:53
              |
            8 | start = { at = "t", read = "%Y-%m-%d %H:%M", zone = { const = "europe/berlin" } }
              |                                                     ^^^^^^^^^^^^^^^^^^^^^^^^^^^
              |
              = help: write a name such as `Australia/Lord_Howe`
        "#]],
    );
}

#[test]
fn what_a_later_version_reads_is_part_of_the_language_already() {
    let zip = "version = 1\ntitle = \"t\"\n[match]\nformat = \"zip\"\nmembers = [\"days/*.csv\"]\n[[rows]]\nin = \"days/*.csv\"\ncell = \"payload\"\nfilter = { jq = \".\" }\nshape = \"interval\"\nstage = { at = \"s\" }\n[rows.start]\nat = \"b\"\nread = \"%Y-%m-%d %H:%M\"\nzone = { join = \"meta.json\", on = [\"Night\", \"id\"], at = \"tz\" }\n[rows.end]\nat = \"e\"\nread = \"epoch s\"\n[stages]\nw = \"W\"\n";
    check(zip, expect!["sound"]);
}

#[test]
fn paths_are_those_of_the_format() {
    let json = "version = 1\ntitle = \"t\"\n[match]\nformat = \"json\"\n[[rows]]\neach = \"nights[*]\"\nnest = \"$.p[*]\"\nshape = \"change\"\nstart = { at = \"$.t\", read = \"epoch s\" }\nstage = { at = \"a[\" }\n[stages]\nw = \"W\"\n";
    check(
        json,
        expect![[r#"
            error: the path of `each` must begin with `$`
             --> importer.toml:6:8
              |
            6 | each = "nights[*]"
              |        ^^^^^^^^^^^
              |
              = help: write where the rows are, such as `$.nights[*]`; `$` alone is the whole document

            error: the path of `nest` must not begin with `$`
             --> importer.toml:7:8
              |
            7 | nest = "$.p[*]"
              |        ^^^^^^^^
              |
              = help: write where the rows are inside the row, such as `pieces[*]`

            error: `a[` is not a path: a `[` is never closed
              --> importer.toml:10:16
               |
            10 | stage = { at = "a[" }
               |                ^^^^
               |
               = help: write a path such as `minutes.awake` or `pieces[0].from`
        "#]],
    );
    let edf = "version = 1\ntitle = \"t\"\n[match]\nformat = \"edf\"\n[[rows]]\nshape = \"notes\"\nstart = { at = \"onsets\", read = \"epoch s\" }\nnote = { at = \"text\" }\n[notes]\nw = \"alarm\"\n";
    check(
        edf,
        expect![[r#"
        error: `onsets` is not a field of an annotation
         --> importer.toml:7:16
          |
        7 | start = { at = "onsets", read = "epoch s" }
          |                ^^^^^^^^
          |
          = help: did you mean `onset`? the fields are `onset`, `duration`, `text`, `channel`, `record`
    "#]],
    );
}

#[test]
fn a_filter_is_marked_where_it_is_wrong() {
    let rest = "shape = \"change\"\nstart = { at = \"t\", read = \"epoch s\" }\nstage = { at = \"s\" }";
    check_rows(
        &format!("filter = '.a | (.b'\n{rest}"),
        expect![[r#"
        error: the filter ends before `(` is closed
         --> importer.toml:7:16
          |
        7 | filter = '.a | (.b'
          |                ^
          |
          = help: a filter is written in the language of jq, without clock, environment, files and further inputs; see docs/definitions.md
    "#]],
    );
    check_rows(
        &format!("filter = '{{t: now, s: .s}}'\n{rest}"),
        expect![[r#"
        error: `now` is not a function that filters have
         --> importer.toml:7:15
          |
        7 | filter = '{t: now, s: .s}'
          |               ^^^
          |
          = help: a filter is written in the language of jq, without clock, environment, files and further inputs; see docs/definitions.md
    "#]],
    );
    check_rows(
        &format!("filter = \"\"\".a |\"\"\"\n{rest}"),
        expect![[r#"
            error: the filter cannot be read here: term expected
             --> importer.toml:7:17
              |
            7 | filter = """.a |"""
              |                 ^
              |
              = help: a filter is written in the language of jq, without clock, environment, files and further inputs; see docs/definitions.md
        "#]],
    );
    check_rows(
        &format!("filter = {{ jq = '.', take = [\"t\"], env = true }}\n{rest}"),
        expect![[r#"
        error: unknown key `env`
         --> importer.toml:7:36
          |
        7 | filter = { jq = '.', take = ["t"], env = true }
          |                                    ^^^
          |
          = help: the keys of [rows.filter] are `jq`, `take`
    "#]],
    );
}

#[test]
fn a_column_has_one_unit() {
    check_rows(
        "shape = \"change\"\nstart = { at = \"t\", read = [\"epoch s\", \"epoch ms\"] }\nstage = { at = \"s\" }",
        expect![[r#"
            error: `read` names two units for numbers since 1970
             --> importer.toml:8:21
              |
            8 | start = { at = "t", read = ["epoch s", "epoch ms"] }
              |                     ^^^^
              |
              = help: a column has one unit: write one of them; a file that mixes them is mended first
        "#]],
    );
    check_rows(
        "shape = \"length\"\nstart = { at = \"t\", read = \"offset\", from = { bound = \"start\" } }\nlength = { at = \"n\", read = \"s\", unit = { at = \"u\" } }\nstage = { at = \"s\" }",
        expect![[r#"
            error: [rows.start] lacks the key `unit`
             --> importer.toml:8:9
              |
            8 | start = { at = "t", read = "offset", from = { bound = "start" } }
              |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
              |
              = help: say the unit: `offset ms`, `offset s`, `offset min` or `offset h`, or where the source names it: `unit = { at = "unit" }`

            error: `read` and `unit` say the same thing twice
             --> importer.toml:9:34
              |
            9 | length = { at = "n", read = "s", unit = { at = "u" } }
              |                                  ^^^^
              |
              = help: leave one of them out
        "#]],
    );
}

#[test]
fn a_join_says_where_and_by_what() {
    check_rows(
        "shape = \"change\"\nstart = { at = \"t\", read = \"epoch s\" }\nstage = { join = \"*.json\", on = [\"s\"], at = \"w\" }",
        expect![[r#"
            error: `join` needs `on` with two fields, and `at`
             --> importer.toml:9:9
              |
            9 | stage = { join = "*.json", on = ["s"], at = "w" }
              |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
              |
              = help: write `{ join = "meta.json", on = ["field here", "field there"], at = "field there" }`
        "#]],
    );
    check_rows(
        "shape = \"change\"\nstart = { at = \"t\", read = \"epoch s\" }\nstage = { join = \"*.json\", on = [\"s\", \"k\"], at = \"w\", missing = \"guess\" }",
        expect![[r#"
            error: `guess` is not a rule for keys that are not found
             --> importer.toml:9:65
              |
            9 | stage = { join = "*.json", on = ["s", "k"], at = "w", missing = "guess" }
              |                                                                 ^^^^^^^
              |
              = help: the words that can stand here are `error`, `own`
        "#]],
    );
    check_rows(
        "shape = \"change\"\nnight = { file = \"name\", pattern = \"night.csv\", means = \"evening\" }\nstart = { at = \"t\", read = \"epoch s\" }\nstage = { at = \"s\", missing = \"own\" }",
        expect![[r#"
            error: `night.csv` does not have one `*`
             --> importer.toml:8:36
              |
            8 | night = { file = "name", pattern = "night.csv", means = "evening" }
              |                                    ^^^^^^^^^^^
              |
              = help: write one `*` where the wanted text stands, such as `night-*.csv`

            error: `missing` goes with `join` only
              --> importer.toml:10:21
               |
            10 | stage = { at = "s", missing = "own" }
               |                     ^^^^^^^
               |
               = help: leave `missing` out
        "#]],
    );
}

#[test]
fn a_join_leads_to_a_part_that_there_can_be() {
    let stage = |join: &str| {
        format!(
            "shape = \"change\"\nstart = {{ at = \"t\", read = \"epoch s\" }}\nstage = {{ join = \"{join}\", on = [\"s\", \"k\"], at = \"w\" }}"
        )
    };
    check_rows(&stage("*.json"), expect![["sound"]]);
    check_rows(
        &stage("*.meta"),
        expect![[r#"
        error: the ending of `*.meta` does not say which format it is
         --> importer.toml:9:18
          |
        9 | stage = { join = "*.meta", on = ["s", "k"], at = "w" }
          |                  ^^^^^^^^
          |
          = help: name a file whose ending says its format, such as `nights.json`
    "#]],
    );
    check_rows(
        &stage("$.words[*]"),
        expect![[r#"
        error: this format has no part `$.words[*]`
         --> importer.toml:9:18
          |
        9 | stage = { join = "$.words[*]", on = ["s", "k"], at = "w" }
          |                  ^^^^^^^^^^^^
          |
          = help: name the file beside this one, such as `*.json`, where `*` stands for this file's name
    "#]],
    );
}

#[test]
fn a_condition_asks_one_thing() {
    check_rows(
        "shape = \"change\"\nkeep = [{ at = \"k\", in = [\"a\"], there = true }, { at = \"k\", there = \"yes\" }, { at = \"k\", there = true, otherwise = \"stop\" }]\nstart = { at = \"t\", read = \"epoch s\" }\nstage = { at = \"s\" }",
        expect![[r#"
            error: `in` and `there` do not go together
             --> importer.toml:8:33
              |
            8 | keep = [{ at = "k", in = ["a"], there = true }, { at = "k", there = "yes" }, { at = "k", there = true, otherwise = "stop" }]
              |                                 ^^^^^
              |
              = help: leave one of them out

            error: `there` must be true or false
             --> importer.toml:8:69
              |
            8 | keep = [{ at = "k", in = ["a"], there = true }, { at = "k", there = "yes" }, { at = "k", there = true, otherwise = "stop" }]
              |                                                                     ^^^^^
              |
              = help: write it without quotes

            error: `stop` is not a rule for rows that do not pass
             --> importer.toml:8:116
              |
            8 | keep = [{ at = "k", in = ["a"], there = true }, { at = "k", there = "yes" }, { at = "k", there = true, otherwise = "stop" }]
              |                                                                                                                    ^^^^^^
              |
              = help: the words that can stand here are `ignored`, `error`
        "#]],
    );
}

#[test]
fn an_edge_of_the_row_is_claimed_only_where_there_is_one() {
    check_rows(
        "shape = \"claims\"\n[rows.claims]\nstart = { row = \"start\", rounding = \"none\" }",
        expect![[r#"
        error: the block does not say when its rows begin or end
         --> importer.toml:8:7
          |
        8 | [rows.claims]
          |       ^^^^^^
          |
          = help: say in `rows.start`, `rows.end` or `rows.length` when the row began and ended
    "#]],
    );
    check_rows(
        "shape = \"change\"\nstart = { at = \"t\", read = \"epoch s\" }\nstage = { row = \"start\" }",
        expect![[r#"
            error: `row` goes with claims only
             --> importer.toml:9:1
              |
            9 | stage = { row = "start" }
              | ^^^^^
              |
              = help: take the value from a field with `at`
        "#]],
    );
}

#[test]
fn an_archive_says_which_members_and_their_format() {
    let rows = |part: &str| {
        format!(
            "version = 1\ntitle = \"t\"\nmatch = {{ format = \"zip\" }}\n[stages]\nw = \"W\"\n[[rows]]\n{part}shape = \"change\"\nstart = {{ at = \"t\", read = \"epoch s\" }}\nstage = {{ at = \"s\" }}"
        )
    };
    check(
        &rows(""),
        expect![[r#"
        error: [[rows]] lacks the key `in`
         --> importer.toml:6:1
          |
        6 | [[rows]]
          | ^^^^^^^^
          |
          = help: say which members of the archive are read, such as `in = "days/*.csv"`
    "#]],
    );
    check(
        &rows("in = \"days/*.dat\"\n"),
        expect![[r#"
        error: the ending of `days/*.dat` does not say which format it is
         --> importer.toml:6:1
          |
        6 | [[rows]]
          | ^^^^^^^^
          |
          = help: add `format`, such as `format = "csv"`
    "#]],
    );
    check(
        &rows("in = \"days/*.json\"\n"),
        expect![[r#"
        error: [[rows]] lacks the key `each`
         --> importer.toml:6:1
          |
        6 | [[rows]]
          | ^^^^^^^^
          |
          = help: say where the rows are, such as `each = "$.nights[*]"`
    "#]],
    );
    check(&rows("in = \"days/*.dat\"\nformat = \"csv\"\n"), expect![["sound"]]);
    check_rows(
        "format = \"csv\"\ncell = \"payload\"\neach = \"$\"\nshape = \"change\"\nstart = { at = \"t\", up = 3, read = \"epoch s\" }\nstage = { at = \"a b\" }",
        expect![[r#"
            error: `format` of [[rows]] goes with archives only
             --> importer.toml:6:1
              |
            6 | [[rows]]
              | ^^^^^^^^
              |
              = help: leave it out: `format` of `[match]` says how the file is read

            error: `each` and `nest` go with formats that have a tree
             --> importer.toml:6:1
              |
            6 | [[rows]]
              | ^^^^^^^^
              |
              = help: leave them out: every row of the file is read

            error: `up = 3` goes above the rows: there is 1 above
              --> importer.toml:11:1
               |
            11 | start = { at = "t", up = 3, read = "epoch s" }
               | ^^^^^
               |
               = help: each `[*]` of `nest` adds one level that `up` can reach

            error: `a b` is not a path: write the name `a b` in brackets and quotes, such as `["odd name"]`
              --> importer.toml:12:16
               |
            12 | stage = { at = "a b" }
               |                ^^^^^
               |
               = help: write a path such as `minutes.awake` or `pieces[0].from`
        "#]],
    );
}
