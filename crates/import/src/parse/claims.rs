//! Claims.

use super::origin::{self, keys_with};
use super::table::{Parser, Table};
use super::time;
use crate::grammar::claims::{TimeClaim, Total, Unit, UnitRule};
use crate::grammar::{ClaimValue, Rounding, Word};
use counterpane_model::Quantity;
use std::collections::BTreeMap;

/// The keys of a total beside those of its origin.
pub(super) const TOTAL_KEYS: &[&str] = &["unit", "rounding", "named"];

/// Reads `[rows.claims]`.
pub(super) fn read(p: &mut Parser, rows: &Table<'_>) -> BTreeMap<String, ClaimValue> {
    let mut out = BTreeMap::new();
    let Some(table) = p.table(rows, "claims", "[rows.claims]".into()) else { return out };
    let codes: Vec<String> = Quantity::all().iter().map(|q| q.code()).collect();
    let known: Vec<&str> = codes.iter().map(String::as_str).collect();
    p.know(&table, &known);
    for (key, value) in table.entries() {
        let Ok(quantity) = key.value.parse::<Quantity>() else { continue };
        let name = format!("the claim `{}`", key.value);
        let Some(inner) = p.as_table(value, key.value, name) else { continue };
        let claim = match quantity {
            Quantity::Start | Quantity::End => time_claim(p, &inner).map(ClaimValue::Time),
            _ => total(p, &inner, quantity).map(ClaimValue::Total),
        };
        out.extend(claim.map(|c| (key.value.to_owned(), c)));
    }
    out
}

fn total(p: &mut Parser, table: &Table<'_>, quantity: Quantity) -> Option<Total> {
    p.know(table, &keys_with(TOTAL_KEYS));
    let origin = origin::read(p, table);
    if !table.has("unit") {
        let known = Unit::WORDS.iter().map(|(w, _)| format!("`{w}`")).collect::<Vec<_>>().join(", ");
        p.missing(table, "unit", &format!("there is no default: {known}"));
    }
    let unit = unit(p, table, quantity);
    let rounding = rounding(p, table, quantity);
    let named = p.text(table, "named").map(|t| t.value);
    Some(Total { origin: origin?, unit: unit?, rounding: rounding?, named })
}

fn unit(p: &mut Parser, table: &Table<'_>, quantity: Quantity) -> Option<UnitRule> {
    if table.get("unit").is_some_and(|u| u.get_ref().is_table()) {
        return origin::below(p, table, "unit").map(UnitRule::Of);
    }
    let unit = p.word::<Unit>(table, "unit")?;
    if unit.value.becomes() != quantity.unit() {
        let message = format!("`{quantity}` is given in {}, which this unit is not", words(quantity.unit()));
        p.refuse(unit.span, message, "choose a unit of the same kind");
        return None;
    }
    Some(UnitRule::Is(unit.value))
}

fn time_claim(p: &mut Parser, table: &Table<'_>) -> Option<TimeClaim> {
    p.know(table, &keys_with(&[time::TIME_KEYS, &["rounding", "named"]].concat()));
    let time = time::time_in(p, table);
    let rounding = rounding(p, table, Quantity::Start);
    let named = p.text(table, "named").map(|t| t.value);
    Some(TimeClaim { time: time?, rounding: rounding?, named })
}

fn rounding(p: &mut Parser, table: &Table<'_>, quantity: Quantity) -> Option<Rounding> {
    if !table.has("rounding") {
        p.missing(table, "rounding", "the step to which the source rounds, such as `1 min`, `1 %` or `1`; or `none`");
    }
    let text = p.text(table, "rounding")?;
    let rounding = Rounding::parse(&text.value).filter(|r| r.in_unit(quantity.unit()).is_some());
    if rounding.is_none() {
        let message = format!("`{}` is not a step of {}", text.value, words(quantity.unit()));
        p.refuse(text.span, message, "write `1 min`, `30 s`, `1 %`, `1` or `none`");
    }
    rounding
}

fn words(unit: &str) -> &'static str {
    match unit {
        "%" => "per cent",
        "count" => "a count",
        _ => "time",
    }
}
