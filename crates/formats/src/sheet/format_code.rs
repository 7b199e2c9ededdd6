//! Number formats of OOXML: which numbers are dates, and which are lengths of time.

use super::cell::Shown;

/// Returns how the formats without a code of their own show a number (ECMA-376 part 1, 18.8.30; 27 to 36 and 50 to
/// 58 are dates in every East Asian language).
pub(super) fn of_id(id: u32) -> Shown {
    match id {
        14..=22 | 27..=36 | 45 | 47 | 50..=58 => Shown::Date,
        46 => Shown::Elapsed,
        _ => Shown::Plain,
    }
}

/// Returns how a format code shows a number that is not negative: by its first section.
pub(super) fn of_code(code: &str) -> Shown {
    let mut chars = code.chars();
    let mut date = false;
    while let Some(c) = chars.next() {
        match c {
            ';' => break,
            '"' => {
                chars.by_ref().find(|c| *c == '"');
            }
            '\\' | '_' | '*' => {
                chars.next();
            }
            '[' => {
                let inside: String = chars.by_ref().take_while(|c| *c != ']').take(20).collect();
                let same = |unit| !inside.is_empty() && inside.chars().all(|c| c.eq_ignore_ascii_case(&unit));
                if same('h') || same('m') || same('s') {
                    return Shown::Elapsed;
                }
            }
            'd' | 'D' | 'h' | 'H' | 'm' | 'M' | 's' | 'S' | 'y' | 'Y' => date = true,
            _ => {}
        }
    }
    match date && !code.eq_ignore_ascii_case("standard") {
        true => Shown::Date,
        false => Shown::Plain,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_of_dates_count_and_quoted_ones_do_not() {
        for code in ["yyyy-mm-dd", "hh:mm", "h:mm AM/PM", "[$-409]d/mmm/yy;@", "mm:ss.0", "[Red]dd\\.mm\\."] {
            assert_eq!(of_code(code), Shown::Date, "{code}");
        }
        for code in ["[h]:mm", "[hh]:mm:ss", "[mm]:ss", "[s].000", "[$-F400][H]:mm"] {
            assert_eq!(of_code(code), Shown::Elapsed, "{code}");
        }
        for code in ["General", "Standard", "0.00", "#,##0 \"days\"", "0.0E+00", "0\\h", "@", "[Red]0", "0;yyyy", "_d0"]
        {
            assert_eq!(of_code(code), Shown::Plain, "{code}");
        }
        assert_eq!((of_id(14), of_id(46), of_id(0)), (Shown::Date, Shown::Elapsed, Shown::Plain));
    }
}
