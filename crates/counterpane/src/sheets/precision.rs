//! How finely a picture could be read.

use super::Sheet;
use serde::Deserialize;
use std::str::FromStr;

/// How finely the times of a sheet were read, in milliseconds either way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(try_from = "f64")]
pub(crate) struct Precision(pub(crate) i64);

impl Precision {
    /// Returns it in minutes.
    #[expect(clippy::cast_precision_loss, reason = "at most an hour")]
    pub(crate) fn minutes(self) -> f64 {
        self.0 as f64 / 60_000.0
    }
}

impl TryFrom<f64> for Precision {
    type Error = String;

    fn try_from(minutes: f64) -> Result<Precision, String> {
        let within = (0.0..=60.0).contains(&minutes);
        within
            .then(|| Precision((minutes * 60_000.0).round() as i64))
            .ok_or_else(|| format!("`{minutes}` is not a number of minutes from 0 to 60"))
    }
}

impl FromStr for Precision {
    type Err = String;

    fn from_str(text: &str) -> Result<Precision, String> {
        let minutes: f64 =
            text.trim().parse().map_err(|_| format!("`{text}` is not a number of minutes; write such as 1 or 2.5"))?;
        Precision::try_from(minutes)
    }
}

impl Sheet {
    /// Returns the precision that the head states; `None` where it states none.
    ///
    /// # Errors
    /// What it states is not a number of minutes from 0 to 60.
    pub(crate) fn precision(&self) -> anyhow::Result<Option<Precision>> {
        let read = |text: &str| text.parse().map_err(|e| anyhow::anyhow!("the precision in its head: {e}"));
        self.field("precision").map(read).transpose()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn minutes_are_whole_or_have_a_decimal_point() {
        let read = |text: &str| text.parse::<Precision>().map(|p| p.0);
        assert_eq!([read("0"), read("1"), read(" 2.5 ")], [Ok(0), Ok(60_000), Ok(150_000)]);
        assert_eq!(read("2,5"), Err("`2,5` is not a number of minutes; write such as 1 or 2.5".into()));
        assert_eq!(read("61"), Err("`61` is not a number of minutes from 0 to 60".into()));
        assert!(read("-1").is_err() && read("NaN").is_err());
    }
}
