//! Why there is no report.

use counterpane_model::zone::UnknownZone;

/// Why a figure or a page cannot be made.
#[derive(Debug, thiserror::Error)]
pub enum ReportError {
    /// The zone of a night is not in the database.
    #[error("{night}: {source}; correct the zone of the night, because its axis is in local time")]
    Zone {
        /// The night.
        night: String,
        /// The name, and the nearest that exists.
        source: UnknownZone,
    },
    /// The page could not be put together.
    #[error("the page could not be written: {0}")]
    Template(#[from] askama::Error),
    /// The data of the crosshair could not be put together.
    #[error("the data of the crosshair could not be written: {0}")]
    Data(#[from] serde_json::Error),
}
