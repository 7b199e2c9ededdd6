//! Made-up differences, resamples and series, against scipy, statsmodels, pingouin, arch and the plain definitions.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use counterpane_stats::{
    bca_interval, bias, block_length, ccc, differences, holm, icc, limits_of_agreement, log_limits, mae, mape,
    percentile_interval, proportional_bias, repeated_limits, rmse, spread_growth,
};
use serde_json::Value;

fn data() -> Value {
    serde_json::from_str(include_str!("data/discrepancies.json")).unwrap()
}

fn numbers(list: &Value) -> Vec<f64> {
    list.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

/// One problem with its wanted values.
struct Case<'a> {
    name: String,
    wanted: &'a Value,
}

impl Case<'_> {
    /// `null` is undefined; `relative` is the allowed error.
    #[track_caller]
    fn same(&self, path: &str, got: Option<f64>, relative: f64) {
        let wanted = path.split('/').fold(self.wanted, |value, key| match key.parse::<usize>() {
            Ok(at) => &value[at],
            Err(_) => &value[key],
        });
        match (wanted.as_f64(), got) {
            (None, None) => {}
            (Some(w), Some(g)) => {
                assert!((w - g).abs() <= relative * w.abs().max(1e-3), "{}: {path}: {g}, not {w}", self.name)
            }
            (w, g) => panic!("{}: {path}: {g:?}, not {w:?}", self.name),
        }
    }

    #[track_caller]
    fn same_two(&self, path: &str, got: Option<(f64, f64)>, relative: f64) {
        self.same(&format!("{path}/0"), got.map(|g| g.0), relative);
        self.same(&format!("{path}/1"), got.map(|g| g.1), relative);
    }
}

#[test]
fn twelve_sets_of_pairs_give_the_values_of_other_programs() {
    let data = data();
    let sets = data["pairs"].as_array().unwrap();
    assert_eq!(sets.len(), 12);
    for (at, wanted) in sets.iter().enumerate() {
        let case = Case { name: format!("set {at}"), wanted };
        let sides = numbers(&wanted["reference"]).into_iter().zip(numbers(&wanted["device"]));
        let pairs: Vec<[f64; 2]> = sides.map(|(r, d)| [r, d]).collect();
        limits(&case, &pairs);
        lines(&case, &pairs);
        coefficients(&case, &pairs);
    }
}

fn limits(case: &Case<'_>, pairs: &[[f64; 2]]) {
    let d = differences(pairs);
    let of = bias(&d).unwrap();
    case.same("bias", Some(of.mean), 1e-10);
    case.same("sd", of.sd.ok(), 1e-10);
    case.same_two("bias_interval", of.interval.ok(), 1e-8);
    let of = limits_of_agreement(&d).unwrap();
    case.same_two("limits", Some((of.lower.value, of.upper.value)), 1e-10);
    case.same_two("lower_approximate", Some(of.lower.approximate), 1e-8);
    case.same_two("upper_approximate", Some(of.upper.approximate), 1e-8);
    case.same_two("lower_exact", Some(of.lower.exact), 1e-8);
    case.same_two("upper_exact", Some(of.upper.exact), 1e-8);
    case.same("mae", mae(&d).ok(), 1e-10);
    case.same("rmse", rmse(&d).ok(), 1e-10);
    case.same("mape", mape(pairs).ok(), 1e-10);
    let ratios = log_limits(pairs).ok();
    case.same("log/ratio", ratios.map(|l| l.bias), 1e-10);
    case.same("log/sd", ratios.map(|l| l.sd), 1e-10);
    case.same("log/lo", ratios.map(|l| l.lower.value), 1e-10);
    case.same("log/hi", ratios.map(|l| l.upper.value), 1e-10);
}

fn lines(case: &Case<'_>, pairs: &[[f64; 2]]) {
    let line = proportional_bias(pairs).unwrap();
    case.same("proportional_bias/intercept", Some(line.intercept), 1e-9);
    case.same("proportional_bias/slope", Some(line.slope), 1e-9);
    case.same("proportional_bias/slope_p", Some(line.slope_p), 1e-8);
    case.same("proportional_bias/resid_sd", Some(line.residual_sd), 1e-10);
    let growth = spread_growth(pairs).unwrap();
    case.same("sizes_of_residuals/c0", Some(growth.line.intercept), 1e-9);
    case.same("sizes_of_residuals/c1", Some(growth.line.slope), 1e-9);
    case.same("sizes_of_residuals/c1_p", Some(growth.line.slope_p), 1e-8);
    case.same("koenker/lm", Some(growth.lm), 1e-8);
    case.same("koenker/p", Some(growth.p), 1e-8);
}

fn coefficients(case: &Case<'_>, pairs: &[[f64; 2]]) {
    let of = ccc(pairs).unwrap();
    case.same("correlation", of.correlation.ok(), 1e-10);
    case.same("ccc", Some(of.value), 1e-10);
    case.same_two("ccc_interval", of.interval.ok(), 1e-8);
    let of = icc(pairs).unwrap();
    let (absolute, consistency) = (of.absolute.unwrap(), of.consistency.unwrap());
    case.same("icc_absolute", Some(absolute.value), 1e-10);
    case.same("icc_consistency", Some(consistency.value), 1e-10);
    case.same_two("icc_absolute_interval", absolute.interval.ok(), 1e-8);
    case.same_two("icc_consistency_interval", consistency.interval.ok(), 1e-8);
}

#[test]
fn six_sets_of_repeated_nights_give_their_limits() {
    let data = data();
    let sets = data["repeated"].as_array().unwrap();
    assert_eq!(sets.len(), 6);
    for (at, wanted) in sets.iter().enumerate() {
        let case = Case { name: format!("set {at}"), wanted };
        let of = repeated_limits(&by_participant(&numbers(&wanted["participant"]), &numbers(&wanted["difference"])));
        let of = of.unwrap();
        case.same("bias", Some(of.bias), 1e-10);
        case.same("within", Some(of.within), 1e-10);
        case.same("between", Some(of.between), 1e-9);
        case.same("sd", Some(of.sd), 1e-10);
        case.same_two("limits", Some(of.limits), 1e-10);
    }
}

fn by_participant(participants: &[f64], differences: &[f64]) -> Vec<Vec<f64>> {
    let mut groups: Vec<(f64, Vec<f64>)> = Vec::new();
    for (who, d) in participants.iter().zip(differences) {
        match groups.iter_mut().find(|(known, _)| known == who) {
            Some((_, group)) => group.push(*d),
            None => groups.push((*who, vec![*d])),
        }
    }
    groups.into_iter().map(|(_, group)| group).collect()
}

#[test]
fn ten_series_give_their_block_length() {
    let data = data();
    let series = data["block_lengths"].as_array().unwrap();
    assert_eq!(series.len(), 10);
    for (at, wanted) in series.iter().enumerate() {
        let case = Case { name: format!("series {at}"), wanted };
        let agree: Vec<f64> =
            wanted["agree"].as_str().unwrap().chars().map(|c| f64::from(u8::from(c == '1'))).collect();
        let got = block_length(&agree).unwrap();
        case.same("stationary", Some(got), 1e-9);
        // Another program scales its correlations a little differently.
        let other = wanted["arch_stationary"].as_f64().unwrap();
        assert!((got - other).abs() < 1.6, "series {at}: {got}, and arch {other}");
    }
}

#[test]
fn six_samples_with_given_resamples_give_their_intervals() {
    let data = data();
    let samples = data["bca"].as_array().unwrap();
    assert_eq!(samples.len(), 6);
    for (at, wanted) in samples.iter().enumerate() {
        let case = Case { name: format!("sample {at}"), wanted };
        let (sample, replicates) = (numbers(&wanted["x"]), numbers(&wanted["replicates"]));
        let statistic = |values: &[f64]| statistic(wanted["statistic"].as_str().unwrap(), values);
        let without = |left_out: usize| [&sample[..left_out], &sample[left_out + 1..]].concat();
        let jackknife: Vec<f64> = (0..sample.len()).map(|i| statistic(&without(i))).collect();
        let of = bca_interval(&replicates, statistic(&sample), &jackknife).unwrap();
        case.same_two("percentile_type7", percentile_interval(&replicates).ok(), 1e-10);
        case.same("definition/z0", of.corrections.map(|c| c.0), 1e-8);
        case.same("definition/a", of.corrections.map(|c| c.1), 1e-8);
        case.same("definition/lo", Some(of.interval.0), 1e-8);
        case.same("definition/hi", Some(of.interval.1), 1e-8);
    }
}

fn statistic(name: &str, values: &[f64]) -> f64 {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    match name {
        "mean" => mean,
        "variance_ddof0" => values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n,
        "median" => {
            let mut sorted = values.to_vec();
            sorted.sort_by(f64::total_cmp);
            f64::midpoint(sorted[(sorted.len() - 1) / 2], sorted[sorted.len() / 2])
        }
        other => panic!("no statistic is called `{other}`"),
    }
}

#[test]
fn five_families_of_p_give_their_adjusted_p() {
    let data = data();
    let families = data["holm"].as_array().unwrap();
    assert_eq!(families.len(), 5);
    for (at, wanted) in families.iter().enumerate() {
        let case = Case { name: format!("family {at}"), wanted };
        for (i, got) in holm(&numbers(&wanted["p"])).into_iter().enumerate() {
            case.same(&format!("adjusted/{i}"), Some(got), 1e-10);
        }
    }
}
