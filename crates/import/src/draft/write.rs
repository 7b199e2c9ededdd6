//! A plan as the text of a definition: every key with what it means and on what evidence.

use super::plan::{Block, Length, OPEN, Origin, Pick, Time, Total};
use super::stacked::NUMBER;
use super::tables::{Sample, Way, Written};
use super::wording::{count, rows, words_of};
use super::{Options, kept, places};
use crate::grammar::FormatWord;
use counterpane_formats::Format;
use std::fmt::Write as _;

/// Returns a text in the quotes of TOML.
pub(super) fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => {
                out.push('\\');
                out.push(c);
            }
            '\t' => out.push_str("\\t"),
            '\n' => out.push_str("\\n"),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", c as u32);
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// Returns the text of a definition. Several blocks are rivals, of which a person chooses one.
pub(super) fn definition(
    sample: &Sample,
    blocks: &[Block],
    passed_over: &[String],
    has: &[String],
    options: &Options,
) -> String {
    let mut out = head(sample, blocks, options);
    out.push_str(&matching(sample, has));
    out.push_str(&text(&sample.text));
    match blocks {
        [one] => one.all().into_iter().for_each(|b| out.push_str(&block(sample, b))),
        several => {
            out.push_str("\n# choose one of the blocks below: take the `# ` from before its lines, and delete the\n# others and the two lines that follow here.\n[[rows]]\n");
            let _ = writeln!(out, "shape = {OPEN}");
            for one in several.iter().flat_map(Block::all) {
                out.push_str(&commented(&block(sample, one)));
            }
        }
    }
    for other in passed_over {
        let _ = writeln!(
            out,
            "\n# Not used: {other}, which hold words for stages too. Where they are finer, add a block for them with `layer = 1`:"
        );
        let _ = writeln!(out, "# the higher layer wins where it speaks.");
    }
    out.push_str(&words(blocks));
    out
}

fn head(sample: &Sample, blocks: &[Block], options: &Options) -> String {
    let looked: usize = blocks.iter().map(|b| sample.tables[b.table].rows()).max().unwrap_or(0);
    let mut out = String::new();
    let name = &sample.name;
    let _ = writeln!(
        out,
        "# Drafted from `{}`: {} looked at. Each key says what it means and on what evidence it",
        name.replace(['\n', '\r'], " "),
        rows(looked)
    );
    let _ = writeln!(
        out,
        "# was chosen. Where the sample cannot decide, rivals stand side by side and the value is `choose one`: nothing is"
    );
    let _ = writeln!(
        out,
        "# imported until you have chosen. The meaning of the words is yours to write; see docs/definitions.md."
    );
    let _ = writeln!(out, "version = 1");
    let _ = writeln!(out, "title = {}", quoted(&format!("{} (drafted)", options.id)));
    let _ = writeln!(out, "sources = [{}]", quoted(&format!("drafted from the sample {name}")));
    out
}

fn matching(sample: &Sample, has: &[String]) -> String {
    let word = if sample.member.is_some() { "zip" } else { places::word(sample.format) };
    let mut out = String::new();
    let _ = writeln!(out, "\n# Which files it is for: all of this must hold.\n[match]");
    let _ = writeln!(out, "format = {}", quoted(word));
    if sample.member.is_some() {
        let _ = writeln!(out, "members = [{}]", has.iter().map(|h| quoted(h)).collect::<Vec<_>>().join(", "));
        return out;
    }
    if !has.is_empty() && !matches!(sample.format, Format::Text | Format::Edf) {
        let list = has.iter().map(|h| quoted(h)).collect::<Vec<_>>().join(", ");
        let _ = writeln!(out, "has = [{list}]");
    }
    out
}

fn text(written: &Written) -> String {
    let mut out = String::new();
    if let Some(encoding) = &written.encoding {
        let _ = writeln!(
            out,
            "# the bytes of the sample are no UTF-8, and every one of them is a character in this encoding"
        );
        let _ = writeln!(out, "encoding = {}", quoted(encoding));
    }
    if let Some(mark) = written.delimiter {
        let _ = writeln!(out, "delimiter = {}", quoted(&mark.to_string()));
    }
    if written.comma {
        let _ = writeln!(out, "# numbers have a decimal comma, and none has a point\ndecimal = \",\"");
    }
    if let Some(header) = &written.header {
        let line = written.header_line.map(|l| format!(", line {l}")).unwrap_or_default();
        let _ = writeln!(
            out,
            "# the header is the first line that holds this text{line}; the lines above it are passed over"
        );
        let _ = writeln!(out, "header = {}", quoted(header));
    }
    if let Some(comment) = &written.comment {
        let _ = writeln!(out, "# lines that begin with this are left out\ncomment = {}", quoted(comment));
    }
    if out.is_empty() { out } else { format!("\n[text]\n{out}") }
}

fn commented(text: &str) -> String {
    text.lines().map(|l| if l.is_empty() { "#\n".to_owned() } else { format!("# {l}\n") }).collect()
}

/// Returns the text of one block, or of one for each number of the columns that it is made from.
pub(super) fn block(sample: &Sample, block: &Block) -> String {
    let text = one_block(sample, block);
    let Some(numbers) = &sample.tables[block.table].stack else { return text };
    let short: String = text.lines().filter(|l| !l.starts_with("# ")).map(|l| format!("{l}\n")).collect();
    let of = |(n, number): (usize, &String)| if n == 0 { &text } else { &short }.replace(NUMBER, number);
    numbers.iter().enumerate().map(of).collect()
}

fn one_block(sample: &Sample, block: &Block) -> String {
    let table = &sample.tables[block.table];
    let mut out = String::new();
    let _ = writeln!(out, "\n# {}.\n[[rows]]", block.why);
    let (each, nest) = table.each_and_nest(block.up());
    // In JSON Lines each line is a document, and the whole document is a row.
    if let Some(each) = each.filter(|e| sample.format != Format::Jsonl || e != "$") {
        let _ = writeln!(out, "each = {}", quoted(&each));
    }
    if let Some(cell) = &table.cell {
        let _ = writeln!(out, "# the cells of this column hold JSON\ncell = {}", quoted(cell));
    }
    if let Some(nest) = nest {
        let _ = writeln!(out, "nest = {}", quoted(&nest));
    }
    if let Some(member) = &sample.member {
        let _ = writeln!(out, "in = {}", quoted(member));
        if FormatWord::of_name(member).map(FormatWord::format) != Some(sample.format) {
            let _ = writeln!(out, "format = {}", quoted(places::word(sample.format)));
        }
    } else if let Way::Sheet(name) = &table.way {
        let _ = writeln!(out, "in = {}", quoted(name));
    }
    match (&block.keep, &table.keep) {
        (Some(keep), _) => pick(&mut out, "keep", keep),
        (None, Some((field, texts))) if !block.guard.is_empty() => {
            let all = kept::keep(field, &block.guard);
            let _ =
                writeln!(out, "# a word that the sample lacks is an error: it may belong to this layer or to another");
            let _ = writeln!(
                out,
                "keep = [\n  {}, otherwise = \"error\" }},\n  {},\n]",
                all.trim_end_matches(" }"),
                kept::keep(field, texts)
            );
        }
        (None, Some((field, texts))) => {
            let _ = writeln!(out, "# other rows are ignored here, and counted");
            let _ = writeln!(out, "keep = {}", kept::keep(field, texts));
        }
        (None, None) => {}
    }
    if let (Some(_), Some((Origin::At { at, .. }, _))) = (&table.stack, &block.stage) {
        let _ = writeln!(out, "# one block for each number; a night with fewer pieces leaves the last ones empty");
        let _ = writeln!(out, "keep = {{ at = {}, there = true }}", quoted(at.first().map_or("", String::as_str)));
    }
    if block.layer > 0 {
        let _ = writeln!(out, "# where blocks speak of the same time, the higher layer wins\nlayer = {}", block.layer);
    }
    let _ = writeln!(out, "shape = {}", quoted(block.shape));
    if let Some(why) = &block.order {
        let _ = writeln!(out, "# {why}\norder = \"file\"");
    }
    if let Some(night) = &block.night {
        let _ = writeln!(out, "\n# {}\n[rows.night]", night.why);
        origin(&mut out, &night.origin);
        pick(&mut out, "means", &night.means);
        night.read.iter().for_each(|read| pick(&mut out, "read", read));
    }
    for (key, value) in [("start", &block.start), ("end", &block.end)] {
        if let Some(value) = value {
            time(&mut out, key, value);
        }
    }
    if let Some(value) = &block.length {
        length(&mut out, "length", value);
    }
    if let Some(path) = &block.lists {
        let _ = writeln!(
            out,
            "\n# the map whose keys are the source's words, each over a list\n[rows.lists]\nat = {}",
            quoted(path)
        );
    }
    if let Some((from, why)) = &block.stage {
        let _ = writeln!(out, "\n# {why}\n[rows.stage]");
        origin(&mut out, from);
    }
    if let Some(codes) = &block.codes {
        let _ = writeln!(out, "\n# {}\n[rows.codes]", codes.why);
        match &codes.at {
            Ok(from) => origin(&mut out, from),
            Err((first, last)) => {
                let _ = writeln!(out, "first = {}\nlast = {}", quoted(first), quoted(last));
            }
        }
        if let Some(split) = &codes.split {
            let _ = writeln!(out, "split = {}", quoted(split));
        }
    }
    if let Some(value) = &block.epoch {
        length(&mut out, "epoch", value);
    }
    if !block.totals.is_empty() {
        totals(&mut out, &block.totals);
    }
    out
}

fn time(out: &mut String, key: &str, time: &Time) {
    let _ = writeln!(out, "\n# {}\n[rows.{key}]", time.why);
    time_keys(out, time, key);
}

fn time_keys(out: &mut String, time: &Time, table: &str) {
    origin(out, &time.origin);
    time.read.iter().for_each(|p| pick(out, "read", p));
    time.offset.iter().for_each(|p| pick(out, "offset", p));
    time.zone.iter().for_each(|z| pick(out, "zone", &z.pick));
    time.fold.iter().for_each(|p| pick(out, "fold", p));
    if let Some(from) = &time.from {
        let _ = writeln!(out, "\n# {}\n[rows.{table}.from]", from.why);
        time_keys(out, from, &format!("{table}.from"));
    }
}

fn length(out: &mut String, key: &str, length: &Length) {
    let _ = writeln!(out, "\n# {}\n[rows.{key}]", length.why);
    origin(out, &length.origin);
    pick(out, "read", &length.read);
}

/// Writes where a value comes from. An open origin has no line at all, so that the table is refused at its name.
fn origin(out: &mut String, from: &Origin) {
    let _ = match from {
        Origin::Open(options) => {
            let _ = writeln!(out, "# choose one: take the `# ` from before it");
            let ups: std::collections::BTreeSet<usize> = options.iter().map(|(o, _)| o.up()).collect();
            let up = ups.iter().next().copied().filter(|_| ups.len() == 1).unwrap_or(0);
            for (option, note) in options {
                let mut line = String::new();
                origin(&mut line, option);
                let note = if note.is_empty() { String::new() } else { format!("   # {note}") };
                let line = line.trim_end().replace('\n', ", ");
                let _ = writeln!(out, "# {}{note}", line.strip_suffix(&format!(", up = {up}")).unwrap_or(&line));
            }
            if up > 0 {
                let _ = writeln!(out, "up = {up}");
            }
            Ok(())
        }
        Origin::At { at, up } => {
            let paths: Vec<String> = at.iter().map(|p| quoted(p)).collect();
            let value = if let [one] = paths.as_slice() { one.clone() } else { format!("[{}]", paths.join(", ")) };
            let up = if *up > 0 { format!("up = {up}\n") } else { String::new() };
            writeln!(out, "at = {value}").and_then(|()| out.write_str(&up))
        }
        Origin::Via(via) => writeln!(out, "{}", via.keys().join("\n")),
        Origin::Key => writeln!(out, "key = true"),
        Origin::Const(text) => writeln!(out, "const = {text}"),
        Origin::Bound(word) => writeln!(out, "bound = {}", quoted(word)),
        Origin::FileStart => writeln!(out, "file = \"start\""),
    };
}

/// Writes a key that is decided, or its rivals and a value that no import accepts.
fn pick(out: &mut String, key: &str, pick: &Pick) {
    match pick.options.as_slice() {
        [] => {}
        [(value, _)] => {
            if !pick.why.is_empty() {
                let _ = writeln!(out, "# {}", pick.why);
            }
            let _ = writeln!(out, "{key} = {value}");
        }
        several => {
            let _ = writeln!(out, "# choose one: {}", pick.why);
            for (value, note) in several {
                let note = if note.is_empty() { String::new() } else { format!("   # {note}") };
                let _ = writeln!(out, "#   {key} = {value}{note}");
            }
            let _ = writeln!(out, "{key} = {OPEN}");
        }
    }
}

fn totals(out: &mut String, totals: &[Total]) {
    let _ = writeln!(
        out,
        "\n# What the source says of itself. Write what each total is in place of `?` and take the `# ` away; one that you"
    );
    let _ = writeln!(
        out,
        "# do not need stays as it is. Names: `minutes W`, `minutes Light` and so on, `total-sleep`, `time-in-bed`."
    );
    let _ = writeln!(out, "# `rounding` is the step of which every value of the sample is a multiple.\n[rows.claims]");
    for total in totals {
        let mut at = String::new();
        origin(&mut at, &total.origin);
        let at = at.trim_end().replace('\n', ", ");
        let perhaps = total.perhaps.as_ref().map(|p| format!("; its name says `{p}`")).unwrap_or_default();
        let _ = writeln!(
            out,
            "# \"?\" = {{ {at}, unit = {}, rounding = {} }}   # {}{perhaps}",
            quoted(total.unit),
            quoted(&total.rounding),
            total.note
        );
    }
}

/// Writes the words as lines that a person completes. None is filled in: a word that is unmistakable is said to be.
fn words(blocks: &[Block]) -> String {
    let mut out = String::new();
    let mut all = std::collections::BTreeMap::new();
    for (word, used) in blocks.iter().flat_map(Block::all).flat_map(|b| &b.words) {
        all.entry(word.clone()).or_insert_with(|| used.clone());
    }
    if all.is_empty() {
        return out;
    }
    let _ = writeln!(
        out,
        "\n# The source's words. Write what each means between the quotes and take the `# ` away: W, N1, N2, N3, R, Light (N1"
    );
    let _ = writeln!(
        out,
        "# or N2), NREM, Asleep, unscored, off, ignored{}. A word that is left out is an error.",
        if blocks.iter().any(|b| b.shape == "change" || b.needs.contains(&"--end")) { ", end" } else { "" }
    );
    let _ = writeln!(out, "[stages]");
    for (word, used) in &all {
        let minutes = used.seconds.map(|s| format!(", {}", words_of(s))).unwrap_or_default();
        let perhaps = used.perhaps.map(|p| match p {
            "end" => "; it stands only in the last row of each night, perhaps `end`".to_owned(),
            p => format!("; in English plainly `{p}`"),
        });
        let _ = writeln!(
            out,
            "# {} = \"\"   # {}{minutes}{}",
            quoted(word),
            count(used.rows, "row"),
            perhaps.unwrap_or_default()
        );
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_of_a_file_cannot_leave_their_quotes() {
        assert_eq!(quoted("a\"b\\c\n\u{1}"), "\"a\\\"b\\\\c\\n\\u0001\"");
    }

    #[test]
    fn an_open_choice_shows_its_rivals_and_a_value_that_nothing_accepts() {
        let mut out = String::new();
        let options = vec![("\"a\"".to_owned(), "3 rows".to_owned()), ("\"b\"".to_owned(), String::new())];
        pick(&mut out, "read", &Pick::open(options, "both fit"));
        assert_eq!(
            out,
            "# choose one: both fit\n#   read = \"a\"   # 3 rows\n#   read = \"b\"\nread = \"choose one\"\n"
        );
    }
}
