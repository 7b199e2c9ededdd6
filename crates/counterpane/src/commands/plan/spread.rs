//! How far people and nights lie apart: as given, or as in this study.

use super::answer::Spread;
use crate::cli::Cli;
use crate::comparing::{Asked, Beside, Choice, gather};
use crate::opening;
use crate::output::clean;
use anyhow::bail;
use counterpane_compare::{Comparison, DeviceNight, NightComparison, nights_of_device};
use counterpane_stats::{bias, repeated_limits};
use std::collections::BTreeMap;

/// What a spread may be taken from.
#[derive(Debug, clap::Args)]
pub(super) struct Given {
    /// Standard deviation between people
    #[arg(long, value_name = "SD", required_unless_present = "from")]
    between: Option<f64>,
    /// Standard deviation between nights of one person; 0 where it is part of the other
    #[arg(long, value_name = "SD", default_value_t = 0.0)]
    within: f64,
    /// In place of both: take them from the nights of this device in the study
    #[arg(long, value_name = "DEVICE", conflicts_with_all = ["between", "within"])]
    pub(super) from: Option<String>,
    /// Nights of each person, several with commas
    #[arg(long, value_name = "N,...", value_delimiter = ',', default_value = "1,2,4",
        value_parser = clap::value_parser!(u32).range(1..=1000))]
    pub(super) nights: Vec<u32>,
}

/// A number of a device on a night, where it has one.
pub(super) type OfNight<'a> = &'a dyn Fn(&NightComparison, &DeviceNight) -> Option<f64>;

impl Given {
    /// Returns the spread as given, or that of a number over the nights of the device; with the mean where it is known. With
    /// `less`, of the number less that of another device on the same night.
    ///
    /// # Errors
    /// A standard deviation is no number from 0 up; the device has too few people or nights.
    pub(super) fn spread(
        &self,
        cli: &Cli,
        less: Option<&str>,
        of: OfNight<'_>,
    ) -> anyhow::Result<(Spread, Option<f64>)> {
        let Some(device) = &self.from else {
            let between = self.between.unwrap_or_default();
            for (name, sd) in [("--between", between), ("--within", self.within)] {
                if !(sd >= 0.0 && sd.is_finite()) {
                    bail!("{name} {sd}: a standard deviation is a number from 0 up");
                }
            }
            return Ok((Spread { between, within: self.within, people: 0, nights: 0 }, None));
        };
        let comparison = compared(cli, [Some(device.as_str()), less])?;
        let mut own = values(&comparison, device, of);
        if let Some(less) = less {
            let other = values(&comparison, less, of);
            own.retain(|night, _| other.contains_key(night));
            own.iter_mut().for_each(|(night, v)| *v -= other.get(night).copied().unwrap_or_default());
        }
        let mut people: BTreeMap<String, Vec<f64>> = BTreeMap::new();
        for ((person, _), value) in own {
            people.entry(person).or_default().push(value);
        }
        of_people(&people.into_values().collect::<Vec<_>>())
    }
}

/// Splits values by person into what differs between people and between nights of one.
fn of_people(people: &[Vec<f64>]) -> anyhow::Result<(Spread, Option<f64>)> {
    let nights = people.iter().map(Vec::len).sum();
    let means: Vec<f64> = people.iter().map(|v| v.iter().sum::<f64>() / v.len() as f64).collect();
    let mean = bias(&means).ok().map(|b| b.mean);
    if people.len() < 2 {
        bail!(
            "the study has {} with this number, and how far people lie apart needs two or more; give --between and --within",
            crate::wording::count_of(people.len() as u64, "person", "people")
        );
    }
    let (between, within) = match repeated_limits(people) {
        Ok(of) => (of.between.sqrt(), of.within.sqrt()),
        // One night each: what differs between nights is part of what differs between people.
        Err(_) => (bias(&means).and_then(|b| b.sd).map_err(|why| anyhow::anyhow!("{}", why.words()))?, 0.0),
    };
    Ok((Spread { between, within, people: people.len(), nights }, mean))
}

fn compared(cli: &Cli, devices: [Option<&str>; 2]) -> anyhow::Result<Comparison> {
    let study = opening::to_read(cli)?;
    let devices = devices.into_iter().flatten().map(str::to_owned).collect();
    match gather(&study, &Choice { devices, replicates: 200, ..Choice::default() }, Beside::default())? {
        Asked::Made(compared) => Ok(compared.comparison),
        Asked::Refused(open) => bail!(
            "{} in the nights of this device: `counterpane check` lists them; nothing is planned from faulty data",
            crate::wording::count(open.len() as u64, "open error")
        ),
    }
}

/// By person and night.
type Values = BTreeMap<(String, String), f64>;

fn values(comparison: &Comparison, device: &str, of: OfNight<'_>) -> Values {
    let nights = nights_of_device(comparison, device).into_iter();
    nights.filter_map(|(n, d)| Some(((n.participant.clone(), n.night.clone()), of(n, d)?))).collect()
}

/// Says that the device has no such number on any night.
pub(super) fn none(device: &str) -> anyhow::Error {
    anyhow::anyhow!("no night of `{}` has this number", clean(device))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn people_and_nights_are_told_apart() {
        // Means 1 and 5; within squares 2 and 2, so MSW = 2; between = 7 (worked by hand).
        let (spread, mean) = of_people(&[vec![0.0, 2.0], vec![4.0, 6.0]]).unwrap();
        assert_eq!((spread.between, spread.within, mean), (7_f64.sqrt(), 2_f64.sqrt(), Some(3.0)));
    }

    #[test]
    fn one_night_each_is_one_spread() {
        let (spread, _) = of_people(&[vec![1.0], vec![2.0], vec![3.0]]).unwrap();
        assert_eq!((spread.between, spread.within, spread.nights), (1.0, 0.0, 3));
    }

    #[test]
    fn one_person_has_none() {
        let said = of_people(&[vec![1.0, 2.0]]).unwrap_err().to_string();
        assert!(said.starts_with("the study has 1 person with this number"), "{said}");
    }
}
