//! Slips of the hand.

use crate::dice::Dice;
use crate::night::{Change, STAGES};
use crate::reader::{Row, Sheet, read, written};

/// A kind of slip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Hour,
    Digits,
    Stage,
    Missing,
    Doubled,
}

impl Kind {
    pub(crate) const ALL: [Kind; 5] = [Kind::Hour, Kind::Digits, Kind::Stage, Kind::Missing, Kind::Doubled];

    pub(crate) fn words(self) -> &'static str {
        match self {
            Kind::Hour => "a wrong hour",
            Kind::Digits => "two digits swapped",
            Kind::Stage => "a wrong stage",
            Kind::Missing => "a row missing",
            Kind::Doubled => "a row doubled",
        }
    }
}

/// Puts one slip into a sheet, and returns in which row it stands now; a missing row stood before that one.
pub(crate) fn slip(dice: &mut Dice, sheet: &mut Sheet, night: &[Change], kind: Kind) -> usize {
    loop {
        let last = sheet.rows.len() - 1;
        let row = dice.below(if kind == Kind::Stage { last } else { last + 1 });
        match kind {
            Kind::Hour => sheet.rows[row].at = other_hour(&sheet.rows[row].at, dice.below(2) == 0),
            Kind::Digits => match swapped(dice, &sheet.rows[row].at) {
                Some(at) => sheet.rows[row].at = at,
                None => continue,
            },
            Kind::Stage => {
                let others: Vec<&'static str> = STAGES.into_iter().filter(|s| *s != sheet.rows[row].is).collect();
                sheet.rows[row].is = dice.one(&others);
            }
            Kind::Missing => drop(sheet.rows.remove(row)),
            Kind::Doubled => {
                let again = again(dice, sheet, night, row);
                sheet.rows.insert(row + 1, again);
                return row + 1;
            }
        }
        return row;
    }
}

/// The same row, read off the picture once more.
fn again(dice: &mut Dice, sheet: &Sheet, night: &[Change], row: usize) -> Row {
    let style = dice.below(4);
    let at = read(dice, night[sheet.rows[row].of].at, sheet.precision, i64::MIN);
    Row { at: written(at, style), ..sheet.rows[row].clone() }
}

/// The same time with the hour before or after it, in the same way of typing.
fn other_hour(text: &str, later: bool) -> String {
    let digits = text.chars().take_while(char::is_ascii_digit).count();
    let length = if digits > 2 { digits - 2 } else { digits };
    let (hour, rest) = text.split_at(length);
    let hour: i64 = hour.parse().unwrap();
    let by = if later { 1 } else { -1 };
    if rest.ends_with('m') {
        return format!("{}{rest}", (hour + by + 11).rem_euclid(12) + 1);
    }
    format!("{:02}{rest}", (hour + by).rem_euclid(24))
}

/// The same time with two digits beside each other swapped, where it has two that differ.
fn swapped(dice: &mut Dice, text: &str) -> Option<String> {
    let mut chars: Vec<char> = text.chars().collect();
    let digits: Vec<usize> = (0..chars.len()).filter(|i| chars[*i].is_ascii_digit()).collect();
    let first = dice.below(digits.len() - 1);
    let (a, b) = (digits[first], digits[first + 1]);
    chars.swap(a, b);
    let other: String = chars.iter().collect();
    (other != text).then_some(other)
}

/// Puts the slips of an ordinary typist into a sheet: each field by itself, as often as single entry goes wrong.
///
/// 0.29 % of fields are wrong after single entry (pooled over 93 papers, PMC13078370).
pub(crate) fn rare(dice: &mut Dice, sheet: &mut Sheet) {
    for row in 0..sheet.rows.len() {
        if dice.share() < 0.0029 {
            let at = sheet.rows[row].at.clone();
            let other = if dice.below(2) == 0 { swapped(dice, &at) } else { None };
            sheet.rows[row].at = other.unwrap_or_else(|| other_hour(&at, true));
        }
        if dice.share() < 0.0029 && sheet.rows[row].is != "end" {
            sheet.rows[row].is = STAGES[(STAGES.iter().position(|s| *s == sheet.rows[row].is).unwrap() + 1) % 4];
        }
    }
}
