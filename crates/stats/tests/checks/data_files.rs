//! Values printed for data that are not part of the checkout: `COUNTERPANE_CHECK_DATA` names the file that holds both.
//!
//! The file is a list of `{source, inputs: {name: numbers}, expected: [{name, printed, computed}]}`.

use counterpane_stats::{
    Spread, bias, differences, limits_of_agreement, log_limits, mover_limits, proportional_bias, regression_limits,
    repeated_limits, replicate_limits, spread_growth,
};
use serde_json::Value;

struct Entry<'a> {
    source: &'a str,
    inputs: &'a Value,
    expected: &'a Value,
}

impl<'a> Entry<'a> {
    /// Returns the entry whose source holds a text.
    fn of(all: &'a [Value], source: &str) -> Entry<'a> {
        let entry = all.iter().find(|e| e["source"].as_str().unwrap().contains(source));
        let entry = entry.unwrap_or_else(|| panic!("no entry has `{source}` in its source"));
        Entry { source: entry["source"].as_str().unwrap(), inputs: &entry["inputs"], expected: &entry["expected"] }
    }

    fn numbers(&self, name: &str) -> Vec<f64> {
        self.inputs[name].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
    }

    /// Pairs of `[second, first]`, so that the difference is first minus second.
    fn pairs(&self, first: &str, second: &str) -> Vec<[f64; 2]> {
        self.numbers(second)
            .into_iter()
            .zip(self.numbers(first))
            .map(|(reference, device)| [reference, device])
            .collect()
    }

    /// Readings of the second and the first side, by the number of the subject.
    fn subjects(&self, first: &str, second: &str) -> Vec<[Vec<f64>; 2]> {
        let ids = self.numbers("id");
        let mut order = ids.clone();
        order.dedup();
        let of = |name: &str, id: f64| {
            self.numbers(name).into_iter().zip(&ids).filter(|(_, i)| **i == id).map(|(v, _)| v).collect::<Vec<f64>>()
        };
        order.iter().map(|id| [of(second, *id), of(first, *id)]).collect()
    }

    /// Holds our value against the printed one and the one in full.
    #[track_caller]
    fn gives(&self, name: &str, ours: f64) -> &Self {
        let row = self.expected.as_array().unwrap().iter().find(|e| e["name"].as_str().unwrap().starts_with(name));
        let row = row.unwrap_or_else(|| panic!("{}: no value is called `{name}`", self.source));
        let full = row["computed"].as_f64().unwrap();
        // The value in full of the limits by MOVER was computed with z rounded to 1.959964.
        let relative = if self.source.starts_with("Zou") { 1e-7 } else { 1e-8 };
        assert!((ours - full).abs() <= relative * full.abs(), "{}: {name}: {ours}, not {full}", self.source);
        if let Some(printed) = row["printed"].as_str() {
            let wanted: f64 = printed.parse().unwrap();
            let (_, allowed) = crate::precision(printed);
            assert!((ours - wanted).abs() <= allowed, "{}: {name}: {ours}, printed {printed}", self.source);
        }
        self
    }
}

#[test]
fn values_printed_for_data_outside_the_checkout_are_ours() {
    let Ok(path) = std::env::var("COUNTERPANE_CHECK_DATA") else {
        let how = "COUNTERPANE_CHECK_DATA names a file of published data sets with their printed values";
        let required = std::env::var("COUNTERPANE_REQUIRE").unwrap_or_default();
        assert!(
            !required.split(',').any(|r| r.trim() == "check-data"),
            "COUNTERPANE_REQUIRE lists `check-data`: {how}"
        );
        println!("not run: `check-data` is absent: {how}");
        return;
    };
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("COUNTERPANE_CHECK_DATA={path}: {e}"));
    let all: Vec<Value> = serde_json::from_str(&text).unwrap();
    blood_pressure(&all);
    cardiac_output(&all);
    sizes(&all);
}

fn blood_pressure(all: &[Value]) {
    let once = Entry::of(all, "1999 SMMR 8:135-160 section 2");
    let d = differences(&once.pairs("J1", "S1"));
    let (mean, of) = (bias(&d).unwrap(), limits_of_agreement(&d).unwrap());
    once.gives("bias", mean.mean).gives("sd", of.sd).gives("lo", of.lower.value).gives("hi", of.upper.value);
    once.gives("bias ci lo", mean.interval.unwrap().0).gives("bias ci hi", mean.interval.unwrap().1);
    once.gives("upper limit ci lo", of.upper.approximate.0).gives("lower limit ci hi", of.lower.approximate.1);
    once.gives("lower limit ci lo", of.lower.approximate.0).gives("upper limit ci hi", of.upper.approximate.1);

    let thrice = Entry::of(all, "1999 section 5.1");
    let readings = |name: &str| -> Vec<Vec<f64>> { serde_json::from_value(thrice.inputs[name].clone()).unwrap() };
    let people: Vec<[Vec<f64>; 2]> = readings("S").into_iter().zip(readings("J")).map(|(s, j)| [s, j]).collect();
    let of = replicate_limits(&people).unwrap();
    thrice.gives("within var J", of.within[1]).gives("within var S", of.within[0]).gives("bias", of.bias);
    thrice.gives("total var", of.sd * of.sd).gives("sd", of.sd).gives("lo", of.limits.0).gives("hi", of.limits.1);
}

fn cardiac_output(all: &[Value]) {
    let unchanging = Entry::of(all, "1999 section 5.2");
    let people = unchanging.subjects("RV", "IC");
    let of = replicate_limits(&people).unwrap();
    unchanging.gives("within var RV", of.within[1]).gives("within var IC", of.within[0]).gives("bias", of.bias);
    unchanging.gives("sd", of.sd).gives("lo", of.limits.0).gives("hi", of.limits.1);

    let d: Vec<Vec<f64>> = people.iter().map(|[ic, rv]| rv.iter().zip(ic).map(|(rv, ic)| rv - ic).collect()).collect();
    let changing = Entry::of(all, "Bland & Altman 2007");
    let of = repeated_limits(&d).unwrap();
    changing.gives("bias", of.bias).gives("sd", of.sd).gives("lo", of.limits.0).gives("hi", of.limits.1);
    changing.gives("within MS", of.within);

    let recovered = Entry::of(all, "Zou 2013");
    let (means, of) = (of.mean_of_means, mover_limits(&d).unwrap());
    recovered.gives("bias", of.bias).gives("mean of participant means", means).gives("sd", of.sd);
    recovered.gives("lo", of.lower).gives("lo ci lo", of.lower_interval.0).gives("lo ci hi", of.lower_interval.1);
    recovered.gives("hi", of.upper).gives("hi ci lo", of.upper_interval.0).gives("hi ci hi", of.upper_interval.1);
}

fn sizes(all: &[Value]) {
    let volume = Entry::of(all, "1999 section 3.1");
    let pairs = volume.pairs("nadler", "hurley");
    let of = log_limits(&pairs).unwrap();
    volume.gives("log bias", of.bias.ln()).gives("log lo", of.lower.value.ln()).gives("log hi", of.upper.value.ln());
    volume.gives("ratio (", of.bias).gives("ratio lo", of.lower.value).gives("ratio hi", of.upper.value);

    let growing = Entry::of(all, "1999 eq. 3.2");
    let (line, growth) = (proportional_bias(&pairs).unwrap(), spread_growth(&pairs).unwrap());
    growing.gives("b0", line.intercept).gives("b1", line.slope).gives("c1 p", growth.line.slope_p);
    growing.gives("c0", growth.line.intercept).gives("c1", growth.line.slope);

    let milk = Entry::of(all, "1999 section 3.2");
    let pairs = milk.pairs("trig", "gerber");
    let (line, growth) = (proportional_bias(&pairs).unwrap(), spread_growth(&pairs).unwrap());
    milk.gives("intercept", line.intercept).gives("slope", line.slope).gives("p of slope", line.slope_p);
    milk.gives("residual sd", line.residual_sd).gives("|resid| on A: intercept", growth.line.intercept);
    milk.gives("|resid| on A: slope", growth.line.slope).gives("|resid| slope p", growth.line.slope_p);
    milk.gives("lower limit at A=3", regression_limits(&pairs, 3.0, Spread::Constant).unwrap().lower);
    milk.gives("Koenker-Breusch-Pagan LM", growth.lm).gives("Koenker-Breusch-Pagan p", growth.p);
}
