//! What the command line, or a line of a list, says of a file.

use crate::sheets::Precision;
use serde::Deserialize;
use std::path::PathBuf;

/// What the command line says of a file beyond its name, or a list of files (`load`) says of one of them.
#[derive(Clone, Debug, Default, clap::Args, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(crate) struct Asked {
    /// Where the file is; only a list of files says it here.
    #[arg(skip)]
    pub(crate) path: Option<PathBuf>,
    /// Device that gave them
    #[arg(long, value_name = "NAME")]
    pub(crate) device: Option<String>,
    /// Unit that gave them, where the device has several
    #[arg(long, value_name = "NAME")]
    pub(crate) unit: Option<String>,
    /// Participant, where it does not follow from the unit
    #[arg(long, value_name = "CODE")]
    pub(crate) participant: Option<String>,
    /// The only night to take; needed where the file holds times of day without a date
    #[arg(long, value_name = "LABEL")]
    pub(crate) night: Option<String>,
    /// Scorer, for a reference
    #[arg(long, value_name = "CODE")]
    pub(crate) scorer: Option<String>,
    /// Zone of wall times, where neither the file nor the night gives it
    #[arg(long, value_name = "ZONE")]
    pub(crate) zone: Option<String>,
    /// Start of the recording, where the file does not hold it
    #[arg(long, value_name = "TIME")]
    pub(crate) start: Option<String>,
    /// End of the recording, where the file does not hold it
    #[arg(long, value_name = "TIME")]
    pub(crate) end: Option<String>,
    /// Lights off
    #[arg(long, value_name = "TIME")]
    pub(crate) lights_off: Option<String>,
    /// Lights on
    #[arg(long, value_name = "TIME")]
    pub(crate) lights_on: Option<String>,
    /// How finely the times of its changes were read off a picture, in minutes either way; a sheet's head says it
    #[arg(long, value_name = "MINUTES")]
    pub(crate) precision: Option<Precision>,
    /// Definition that reads the file; else the device's usual one, else the one that fits
    #[arg(long, value_name = "ID")]
    pub(crate) definition: Option<String>,
    /// Declare the nights of the file that study.toml does not have
    #[arg(long, num_args = 0, default_missing_value = "true", value_name = "YES")]
    pub(crate) new_nights: Option<bool>,
    /// Blank what identifies a person on the way in: patient and staff in EDF headers, metadata of pictures
    #[arg(long, num_args = 0..=1, require_equals = true, default_missing_value = "true", value_name = "YES")]
    pub(crate) blank_identity: Option<bool>,
    /// Picture that the file was read from, PNG or JPEG, which is kept with it; else those that the head of a sheet names
    #[arg(long, value_name = "FILE")]
    #[serde(deserialize_with = "files")]
    pub(crate) picture: Vec<PathBuf>,
    /// Raise or lower a limit of the readers, such as rows=2000000 or row_bytes=128MiB; docs/limits.md lists them
    #[arg(long, value_name = "NAME=VALUE")]
    #[serde(skip)]
    pub(crate) limit: Vec<String>,
}

impl Asked {
    /// Returns what is said, and what holds for all where nothing is said.
    pub(crate) fn or(self, all: &Asked) -> Asked {
        // A file that names its own source does not inherit another one.
        let sourced = self.device.is_some() || self.unit.is_some() || self.scorer.is_some();
        let source = |own: Option<String>, all: &Option<String>| if sourced { own } else { all.clone() };
        let or = |own: Option<String>, all: &Option<String>| own.or_else(|| all.clone());
        Asked {
            path: self.path,
            device: source(self.device, &all.device),
            unit: source(self.unit, &all.unit),
            scorer: source(self.scorer, &all.scorer),
            participant: or(self.participant, &all.participant),
            night: or(self.night, &all.night),
            zone: or(self.zone, &all.zone),
            start: or(self.start, &all.start),
            end: or(self.end, &all.end),
            lights_off: or(self.lights_off, &all.lights_off),
            lights_on: or(self.lights_on, &all.lights_on),
            precision: self.precision.or(all.precision),
            definition: or(self.definition, &all.definition),
            new_nights: self.new_nights.or(all.new_nights),
            blank_identity: self.blank_identity.or(all.blank_identity),
            picture: self.picture,
            limit: self.limit,
        }
    }

    /// Says whether nights that nobody declared are declared with the import.
    pub(crate) fn takes_new_nights(&self) -> bool {
        self.new_nights.unwrap_or(false)
    }
}

/// Reads names of files: a list of them, or one text with `, ` between them, as a column of CSV and the head of a sheet have it.
fn files<'de, D: serde::Deserializer<'de>>(from: D) -> Result<Vec<PathBuf>, D::Error> {
    struct Files;
    impl<'de> serde::de::Visitor<'de> for Files {
        type Value = Vec<PathBuf>;

        fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
            f.write_str("the name of a file, or a list of names")
        }

        fn visit_str<E>(self, text: &str) -> Result<Vec<PathBuf>, E> {
            Ok(text.split(", ").map(str::trim).filter(|n| !n.is_empty()).map(PathBuf::from).collect())
        }

        fn visit_seq<A: serde::de::SeqAccess<'de>>(self, mut names: A) -> Result<Vec<PathBuf>, A::Error> {
            let mut out = Vec::new();
            while let Some(name) = names.next_element()? {
                out.push(name);
            }
            Ok(out)
        }
    }
    from.deserialize_any(Files)
}
