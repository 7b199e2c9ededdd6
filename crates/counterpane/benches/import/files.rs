//! Files of any size, written as a stream: a hundred records, one of which is about sleep.

use std::io::{BufWriter, Write};
use std::path::Path;

/// What is measured: a format, its file and the definition that reads it.
pub(crate) struct Case {
    /// What the table calls it.
    pub(crate) name: &'static str,
    /// Ending of the file's name.
    pub(crate) ending: &'static str,
    /// The definition.
    pub(crate) definition: &'static str,
}

/// The cases, in the order of the table.
pub(crate) const CASES: [Case; 5] = [
    Case {
        name: "xml",
        ending: "xml",
        definition: "version = 1\ntitle = \"t\"\n[match]\nformat = \"xml\"\n[[rows]]\neach = \"Record[@kind='sleep']\"\nshape = \"interval\"\nstart = { at = \"@from\", read = \"%Y-%m-%d %H:%M:%S %z\", offset = \"trust\" }\nend = { at = \"@to\", read = \"%Y-%m-%d %H:%M:%S %z\", offset = \"trust\" }\nstage = { at = \"@value\" }\n[stages]\n\"deep\" = \"N3\"\n",
    },
    Case {
        name: "xml, by `keep`",
        ending: "xml",
        definition: "version = 1\ntitle = \"t\"\n[match]\nformat = \"xml\"\n[[rows]]\neach = \"Record\"\nkeep = { at = \"@kind\", in = [\"sleep\"] }\nshape = \"interval\"\nstart = { at = \"@from\", read = \"%Y-%m-%d %H:%M:%S %z\", offset = \"trust\" }\nend = { at = \"@to\", read = \"%Y-%m-%d %H:%M:%S %z\", offset = \"trust\" }\nstage = { at = \"@value\" }\n[stages]\n\"deep\" = \"N3\"\n",
    },
    Case {
        name: "json",
        ending: "json",
        definition: "version = 1\ntitle = \"t\"\n[match]\nformat = \"json\"\n[[rows]]\neach = \"$.rows[*]\"\nkeep = { at = \"kind\", in = [\"sleep\"] }\nshape = \"interval\"\nstart = { at = \"from\", read = \"rfc3339\", offset = \"trust\" }\nend = { at = \"to\", read = \"rfc3339\", offset = \"trust\" }\nstage = { at = \"value\" }\n[stages]\n\"deep\" = \"N3\"\n",
    },
    Case {
        name: "jsonl",
        ending: "jsonl",
        definition: "version = 1\ntitle = \"t\"\n[match]\nformat = \"jsonl\"\n[[rows]]\nkeep = { at = \"kind\", in = [\"sleep\"] }\nshape = \"interval\"\nstart = { at = \"from\", read = \"rfc3339\", offset = \"trust\" }\nend = { at = \"to\", read = \"rfc3339\", offset = \"trust\" }\nstage = { at = \"value\" }\n[stages]\n\"deep\" = \"N3\"\n",
    },
    Case {
        name: "csv",
        ending: "csv",
        definition: "version = 1\ntitle = \"t\"\n[match]\nformat = \"csv\"\n[[rows]]\nkeep = { at = \"kind\", in = [\"sleep\"] }\nshape = \"interval\"\nstart = { at = \"from\", read = \"rfc3339\", offset = \"trust\" }\nend = { at = \"to\", read = \"rfc3339\", offset = \"trust\" }\nstage = { at = \"value\" }\n[stages]\n\"deep\" = \"N3\"\n",
    },
];

/// One record of a file: of a hundred, the first is a piece of sleep of 20 minutes.
struct Record {
    kind: &'static str,
    from: String,
    to: String,
    value: String,
}

/// Pieces of a night, 20 minutes each.
const PIECES: usize = 24;

/// Of a hundred records one is a piece of sleep, night after night, from midnight to eight.
fn record(n: usize) -> Record {
    if !n.is_multiple_of(100) {
        let time = |second: usize| format!("2026-04-04T22:{:02}:{second:02}", n % 60);
        return Record { kind: "steps", from: time(0), to: time(30), value: (n % 977).to_string() };
    }
    let (night, piece) = (n / 100 / PIECES, n / 100 % PIECES);
    let day = jiff::civil::date(2001, 1, 1).saturating_add(jiff::Span::new().days(night as i64));
    let at = |minute: usize| format!("{day}T{:02}:{:02}:00", minute / 60, minute % 60);
    Record { kind: "sleep", from: at(piece * 20), to: at(piece * 20 + 20), value: "deep".into() }
}

/// Writes a file of about so many bytes.
pub(crate) fn write(path: &Path, ending: &str, bytes: u64) -> std::io::Result<()> {
    let mut out = BufWriter::with_capacity(1 << 20, std::fs::File::create(path)?);
    let (head, foot) = match ending {
        "xml" => ("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<Export locale=\"en_AU\">\n", "</Export>\n"),
        "json" => ("{\"device\": \"ring-a (invented)\", \"rows\": [\n", "\n]}\n"),
        "csv" => ("kind,from,to,value,maker\n", ""),
        _ => ("", ""),
    };
    out.write_all(head.as_bytes())?;
    let (mut written, mut n) = (0, 0);
    while written < bytes {
        let line = line(ending, n, &record(n));
        written += line.len() as u64;
        out.write_all(line.as_bytes())?;
        n += 1;
    }
    out.write_all(foot.as_bytes())?;
    out.flush()
}

fn line(ending: &str, n: usize, r: &Record) -> String {
    let (kind, from, to, value) = (r.kind, &r.from, &r.to, &r.value);
    match ending {
        "xml" => {
            let plain = |time: &str| time.replace('T', " ");
            format!(
                " <Record kind=\"{kind}\" maker=\"ring-a (invented)\" from=\"{} +0000\" to=\"{} +0000\" value=\"{value}\"/>\n",
                plain(from),
                plain(to)
            )
        }
        "csv" => format!("{kind},{from}Z,{to}Z,{value},ring-a (invented)\n"),
        _ => {
            let comma = if ending == "json" && n > 0 { ",\n" } else { "" };
            let end = if ending == "jsonl" { "\n" } else { "" };
            format!(
                "{comma}{{\"kind\":\"{kind}\",\"maker\":\"ring-a (invented)\",\"from\":\"{from}Z\",\"to\":\"{to}Z\",\"value\":\"{value}\"}}{end}"
            )
        }
    }
}
