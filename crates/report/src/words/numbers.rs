//! Numbers as a reader wants them.

/// Minutes in one epoch of 30 s.
const EPOCH_MINUTES: f64 = 0.5;

/// Returns minutes with one decimal only where there is one: `52 min`, `52.5 min`.
#[must_use]
pub fn minutes(value: f64) -> String {
    format!("{} min", decimal(value))
}

/// Returns the number of [`minutes`] without its unit.
#[must_use]
pub fn decimal_of_minutes(value: f64) -> String {
    decimal(value)
}

/// Returns a difference of minutes with its sign: `+12 min`, `−3.5 min`, `0 min`.
#[must_use]
pub fn signed(value: f64) -> String {
    let text = decimal(value.abs());
    match text.as_str() {
        "0" => "0 min".into(),
        _ if value < 0.0 => format!("\u{2212}{text} min"),
        _ => format!("+{text} min"),
    }
}

/// Returns a number of epochs as minutes.
#[must_use]
pub fn epochs(n: u64) -> String {
    minutes(n as f64 * EPOCH_MINUTES)
}

/// Returns a count with its noun: `1 night`, `2 nights`.
#[must_use]
pub fn count(n: usize, noun: &str) -> String {
    if n == 1 { format!("1 {noun}") } else { format!("{n} {noun}s") }
}

/// Returns a share as whole per cent. What is not quite nothing or not quite all is never rounded
/// to 0 or 100: `over 99 %` from 99.5 on, `over 99.9 %` from 99.95 on.
#[must_use]
pub fn share(value: f64) -> String {
    let per_cent = value * 100.0;
    if per_cent > 0.0 && per_cent < 0.5 {
        "under 1 %".into()
    } else if (99.95..100.0).contains(&per_cent) {
        "over 99.9 %".into()
    } else if (99.5..99.95).contains(&per_cent) {
        "over 99 %".into()
    } else {
        format!("{per_cent:.0} %")
    }
}

/// Returns a share as per cent with one decimal, `87.8 %`; what is not quite all is never rounded to it.
#[must_use]
pub fn fine_share(value: f64) -> String {
    if (0.9995..1.0).contains(&value) { "> 99.9 %".to_owned() } else { format!("{:.1} %", 100.0 * value) }
}

/// Returns a part of a whole as whole per cent; `all` must not be 0.
#[must_use]
pub fn percent(part: u64, all: u64) -> String {
    share(part as f64 / all as f64)
}

/// Returns [`percent`] where there is little room: `<1 %`, `>99 %`.
#[must_use]
pub fn short_percent(part: u64, all: u64) -> String {
    percent(part, all).replace("under ", "<").replace("over ", ">")
}

/// Returns a number with two decimals and a true minus sign.
#[must_use]
pub fn two(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = if text == "-0.00" { "0.00" } else { &text };
    text.replace('-', "\u{2212}")
}

fn decimal(value: f64) -> String {
    let text = format!("{value:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" { "0".into() } else { text.to_owned() }
}
