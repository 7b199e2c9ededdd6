//! Each shape, on the smallest input that shows it.

mod common;

use common::{back, brief, definition, given};
use expect_test::{Expect, expect};

const STAGES: &str = "[stages]\nw = \"W\"\nl = \"Light\"\nd = \"N3\"\nx = \"ignored\"\nu = \"unscored\"\n[notes]\nout = \"out-of-bed\"\n";

/// Times of the inputs below are minutes after 22:00.
const START: &str = "start = { at = \"t\", read = \"offset min\", from = { bound = \"start\" } }\n";
const END: &str = "end = { at = \"e\", read = \"offset min\", from = { bound = \"start\" } }\n";

fn check(format: &str, rows: &str, input: &str, expected: Expect) {
    let bindings = counterpane_import::Bindings { start: Some("22:00".into()), ..back() };
    expected.assert_eq(&brief(&definition(format, &format!("[[rows]]\n{rows}\n{STAGES}")), &bindings, input));
}

#[test]
fn an_interval_has_a_start_and_an_end() {
    let rows = format!("shape = \"interval\"\n{START}{END}stage = {{ at = \"s\" }}");
    check(
        "csv",
        &rows,
        "t,e,s\n0,10,w\n10,20,l\n",
        expect!["22:00+11:00-22:10+11:00 W, 22:10+11:00-22:20+11:00 Light"],
    );
    check(
        "csv",
        &rows,
        "t,e,s\n0,10,x\n10,10,l\n10,5,l\n,20,w\n0,10,y\n",
        expect!["length-not-positive, length-not-positive, time-unreadable, unmapped-label"],
    );
}

#[test]
fn a_length_follows_a_start() {
    let rows =
        format!("shape = \"length\"\n{START}length = {{ at = \"n\", read = \"mm:ss\" }}\nstage = {{ at = \"s\" }}");
    check(
        "csv",
        &rows,
        "t,n,s\n0,10:30,w\n10.5,9:30,l\n20,,out\n",
        expect!["22:00+11:00-22:10:30+11:00 W, 22:10:30+11:00-22:20+11:00 Light, 22:20+11:00 out-of-bed"],
    );
}

#[test]
fn a_change_lasts_to_the_next() {
    let rows = format!("shape = \"change\"\n{START}stage = {{ at = \"s\" }}");
    check(
        "csv",
        &rows,
        "t,s\n0,w\n20,d\n10,l\n30,u\n",
        expect!["22:00+11:00-22:10+11:00 W, 22:10+11:00-22:20+11:00 Light, 22:20+11:00-22:30+11:00 N3, end-missing"],
    );
    let ended = format!("{rows}\n{END}");
    check(
        "csv",
        &ended,
        "t,s,e\n0,w,15\n10,l,15\n",
        expect!["22:00+11:00-22:10+11:00 W, 22:10+11:00-22:15+11:00 Light"],
    );
}

#[test]
fn a_change_that_cannot_be_used_still_ends_the_one_above() {
    let rows = format!("shape = \"change\"\norder = \"file\"\n{START}{END}stage = {{ at = \"s\" }}");
    check(
        "csv",
        &rows,
        "t,s,e\n0,w,40\n10,what,40\n20,l,40\nsoon,d,40\n30,w,40\n",
        expect!["22:00+11:00-22:10+11:00 W, 22:30+11:00-22:40+11:00 W, end-missing, time-unreadable, unmapped-label"],
    );
}

#[test]
fn codes_stand_one_for_each_epoch() {
    let epoch = "epoch = { const = 10, read = \"min\" }\n";
    let text = |split: &str| format!("shape = \"codes\"\n{START}{epoch}codes = {{ at = \"c\", split = \"{split}\" }}");
    check(
        "csv",
        &text("letter"),
        "t,c\n0,wld\n",
        expect!["22:00+11:00-22:10+11:00 W, 22:10+11:00-22:20+11:00 Light, 22:20+11:00-22:30+11:00 N3"],
    );
    check(
        "csv",
        &text(" "),
        "t,c\n0,w l x d\n",
        expect!["22:00+11:00-22:10+11:00 W, 22:10+11:00-22:20+11:00 Light, 22:30+11:00-22:40+11:00 N3"],
    );
    check(
        "json",
        &format!("each = \"$\"\nshape = \"codes\"\n{START}{epoch}codes = {{ at = \"c\" }}"),
        "{\"t\":0,\"c\":[\"w\",\"l\",\"q\"]}",
        expect!["22:00+11:00-22:10+11:00 W, 22:10+11:00-22:20+11:00 Light, unmapped-label"],
    );
    let rows = "shape = \"codes\"\nstart = { bound = \"start\" }\nepoch = { const = 10, read = \"min\" }\ncodes = { at = \"line\", split = \"row\" }";
    check(
        "text",
        rows,
        "w\nl\n\nd\n",
        expect!["22:00+11:00-22:10+11:00 W, 22:10+11:00-22:20+11:00 Light, 22:20+11:00-22:30+11:00 N3"],
    );
}

#[test]
fn codes_that_do_not_fill_the_stated_time_are_an_error() {
    let rows = format!(
        "shape = \"codes\"\n{START}{END}epoch = {{ const = 10, read = \"min\" }}\ncodes = {{ at = \"c\", split = \"letter\" }}"
    );
    check(
        "csv",
        &rows,
        "t,e,c\n0,30,wld\n",
        expect!["22:00+11:00-22:10+11:00 W, 22:10+11:00-22:20+11:00 Light, 22:20+11:00-22:30+11:00 N3"],
    );
    check(
        "csv",
        &rows,
        "t,e,c\n0,30,wl\n",
        expect!["22:00+11:00-22:10+11:00 W, 22:10+11:00-22:20+11:00 Light, code-count"],
    );
}

#[test]
fn columns_hold_one_code_each() {
    let rows = format!(
        "shape = \"columns\"\n{START}epoch = {{ const = 10, read = \"min\" }}\ncodes = {{ first = \"#2\", last = \"#4\" }}"
    );
    check(
        "csv",
        &rows,
        "t,a,b,c\n0,w,l,d\n40,w,w,q\n",
        expect![
            "22:00+11:00-22:10+11:00 W, 22:10+11:00-22:20+11:00 Light, 22:20+11:00-22:30+11:00 N3, 22:40+11:00-22:50+11:00 W, 22:50+11:00-23:00+11:00 W, unmapped-label"
        ],
    );
}

#[test]
fn parallel_arrays_belong_together() {
    let rows = format!("each = \"$\"\nshape = \"arrays\"\n{START}{END}stage = {{ at = \"s\" }}");
    check(
        "json",
        &rows,
        r#"{"t":[0,10],"e":[10,20],"s":["w","l"]}"#,
        expect!["22:00+11:00-22:10+11:00 W, 22:10+11:00-22:20+11:00 Light"],
    );
    check("json", &rows, r#"{"t":[0,10],"e":[10],"s":["w","l"]}"#, expect!["value-unreadable"]);
    let change = format!("each = \"$\"\nshape = \"arrays\"\n{START}stage = {{ at = \"s\" }}");
    check(
        "json",
        &change,
        r#"{"t":[0,10,30],"s":["w","l","d"]}"#,
        expect!["22:00+11:00-22:10+11:00 W, 22:10+11:00-22:30+11:00 Light, end-missing"],
    );
}

#[test]
fn the_key_of_a_list_can_be_the_stage() {
    let rows =
        format!("each = \"$\"\nshape = \"keyed\"\nlists = {{ at = \"m\" }}\n{START}{END}stage = {{ key = true }}");
    check(
        "json",
        &rows,
        r#"{"m":{"w":[{"t":0,"e":10},{"t":20,"e":30}],"l":[{"t":10,"e":20}],"d":[]}}"#,
        expect!["22:00+11:00-22:10+11:00 W, 22:10+11:00-22:20+11:00 Light, 22:20+11:00-22:30+11:00 W"],
    );
    check("json", &rows, r#"{"m":{"w":[{"t":0}],"l":7}}"#, expect!["value-unreadable, value-unreadable"]);
}

#[test]
fn child_rows_reach_their_parent() {
    let rows = "each = \"$.n[*]\"\nnest = \"p[*]\"\nshape = \"interval\"\nstart = { at = \"t\", read = \"offset min\", from = { at = \"z\", up = 1, read = \"rfc3339\", offset = \"trust\" } }\nend = { at = \"e\", read = \"offset min\", from = { at = \"z\", up = 1, read = \"rfc3339\", offset = \"trust\" } }\nstage = { at = \"s\" }\nkeep = { at = \"k\", up = 1, in = [\"sleep\"] }";
    let input = r#"{"n":[{"z":"2026-04-04T23:00:00+11:00","k":"sleep","p":[{"t":0,"e":5,"s":"w"}]},{"z":"2026-04-04T20:00:00+11:00","k":"walk","p":[{"t":0,"e":5,"s":"w"}]}]}"#;
    check("json", rows, input, expect!["23:00+11:00-23:05+11:00 W"]);
}

#[test]
fn a_higher_layer_wins_where_it_speaks() {
    let block = |each: &str, layer| {
        format!(
            "[[rows]]\neach = \"$.{each}[*]\"\nshape = \"interval\"\nlayer = {layer}\n{START}{END}stage = {{ at = \"s\" }}\n"
        )
    };
    let rows = format!("{}{}", block("coarse", 0), block("fine", 1));
    check(
        "json",
        rows.trim_start_matches("[[rows]]\n"),
        r#"{"fine":[{"t":10,"e":12,"s":"w"}],"coarse":[{"t":0,"e":30,"s":"l"},{"t":10,"e":11,"s":"d"}]}"#,
        expect!["22:00+11:00-22:10+11:00 Light, 22:10+11:00-22:12+11:00 W, 22:12+11:00-22:30+11:00 Light"],
    );
}

#[test]
fn notes_are_mapped_like_stages() {
    let rows = format!("shape = \"notes\"\n{START}note = {{ at = \"s\" }}");
    check("csv", &rows, "t,s\n0,out\n5,w\n6,in\n", expect!["22:00+11:00 out-of-bed, unmapped-label, unmapped-label"]);
}

#[test]
fn the_rule_that_leaves_a_row_out_is_counted() {
    let rows = format!(
        "shape = \"length\"\nkeep = {{ at = \"k\", in = [\"sleep\", \"nap\"] }}\n{START}length = {{ const = 10, read = \"min\" }}\nstage = {{ at = \"s\" }}"
    );
    let bindings = counterpane_import::Bindings { start: Some("22:00".into()), ..back() };
    let definition = definition("csv", &format!("[[rows]]\n{rows}\n{STAGES}"));
    expect![[r#"
        night 2026-04-04: Australia/Lord_Howe, elapsed from an anchor, step 0 ms
          2026-04-04T22:00:00+11:00 2026-04-04T22:10:00+11:00  W  `w`  line 2:9
          2026-04-04T22:20:00+11:00 2026-04-04T22:30:00+11:00  W  `w`  line 5:8
        info[duplicate-row]: 1 row repeats an earlier row exactly and was dropped
          help: nothing needs to be done
        rows 5: spans 2, ignored (`x` is ignored) 1, ignored (keep: `k` is not `sleep`, `nap`) 1, ignored (the same row stands above) 1
    "#]].assert_eq(&given(
        &definition,
        &bindings,
        "t,k,s\n0,sleep,w\n10,walk,w\n20,nap,x\n20,nap,w\n20,nap,w\n",
    ));
}

#[test]
fn a_decimal_comma_is_declared() {
    let rows = format!(
        "shape = \"length\"\n{START}length = {{ at = \"n\", read = \"min\" }}\nstage = {{ at = \"s\" }}\n[text]\ndelimiter = \";\"\ndecimal = \",\""
    );
    check("csv", &rows, "t;n;s\n0;0,5;w\n0.5;1;w\n", expect!["22:00+11:00-22:00:30+11:00 W, time-unreadable"]);
}

#[test]
fn what_cannot_be_obeyed_yet_is_refused_in_one_sentence() {
    let rows = format!("shape = \"interval\"\n{START}{END}stage = {{ at = \"s\" }}");
    check("xml", &format!("each = \"a/b\"\n{rows}"), "", expect!["refused: the file is empty"]);
    check("csv", &format!("cell = \"c\"\n{rows}"), "", expect!["refused: the file is empty"]);
    check("csv", &format!("filter = {{ jq = \".\" }}\n{rows}"), "", expect!["refused: the file is empty"]);
    check(
        "csv",
        "shape = \"change\"\norder = \"file\"\nstart = { at = \"t\", read = \"clock 12h\", zone = \"night\" }\nstage = { at = \"s\" }",
        "",
        expect!["refused: the file is empty"],
    );
}

#[test]
fn a_file_without_rows_is_not_passed_over_in_silence() {
    let rows = format!("each = \"$.nights[*]\"\nshape = \"interval\"\n{START}{END}stage = {{ at = \"s\" }}");
    check("json", &rows, "{\"sleeps\":[]}", expect!["row-unreadable"]);
    check("json", &rows, "{\"nights\":[]}", expect!["no-rows"]);
}
