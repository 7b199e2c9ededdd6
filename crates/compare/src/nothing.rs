//! Why a night cannot be compared at all.

use counterpane_model::Instant;

/// Why a night cannot be compared with a reference.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NothingToCompare {
    /// A recording of another night or another participant.
    #[error("`{key}` belongs to night `{found}` and the night compared is `{wanted}`; compare it with its own night")]
    OtherNight {
        /// Key of the recording.
        key: String,
        /// Participant and label of its night.
        found: String,
        /// Participant and label of the night that is compared.
        wanted: String,
    },
    /// The reference gives no stages over time.
    #[error("the reference `{key}` gives no stages over time; import its scored epochs")]
    NoSpans {
        /// Key of the reference.
        key: String,
    },
    /// The night, or its reference, is left out on purpose.
    #[error("{what} is left out by decision {decision}: {reason}")]
    Excluded {
        /// The night, or the reference.
        what: String,
        /// Number of the decision.
        decision: u64,
        /// Why.
        reason: String,
    },
    /// A majority needs two scorers at least.
    #[error("the scorings of night `{night}` make no majority: {}; choose that scorer, or import another scoring", .who.as_ref().map_or_else(|| "none of them counts".to_owned(), |who| format!("only that of `{who}` counts")))]
    NoMajority {
        /// Participant and label.
        night: String,
        /// The only scorer, if there is one.
        who: Option<String>,
    },
    /// The words of the scorers do not fit together.
    #[error(
        "the scorers of night `{night}` share no classes, not even sleep and wake, so they make no majority; choose one of them"
    )]
    NoSharedClasses {
        /// Participant and label.
        night: String,
    },
    /// The window ends before it begins, or holds no epoch.
    #[error(
        "the window of night `{night}` runs from {from} to {until} and holds no epoch; correct lights off and on, or the span"
    )]
    EmptyWindow {
        /// Participant and label.
        night: String,
        /// Start of the window.
        from: Instant,
        /// End of the window.
        until: Instant,
    },
    /// The window is longer than any night.
    #[error(
        "the window of night `{night}` runs from {from} to {until}, longer than {} days; correct lights off and on, or the span",
        crate::window::LONGEST_DAYS
    )]
    LongWindow {
        /// Participant and label.
        night: String,
        /// Start of the window.
        from: Instant,
        /// End of the window.
        until: Instant,
    },
    /// No epoch of the window has a stage of the reference.
    #[error("the reference `{key}` gives no stage between {from} and {until}; correct its times or the window")]
    NothingScored {
        /// Key of the reference.
        key: String,
        /// Start of the window.
        from: Instant,
        /// End of the window.
        until: Instant,
    },
}
