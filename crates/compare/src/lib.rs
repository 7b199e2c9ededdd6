//! Devices against references, on the grid of (night, reference).
//!
//! **Invariant.** Recordings and a protocol in, a comparison out. No I/O, no clock, no text for
//! people beyond the names of things and the reason why two things cannot be compared: the report and
//! the commands word the results.

pub mod agreement;
pub mod comparison;
mod counted;
mod device_night;
mod explained;
pub mod groups;
mod inference;
pub mod json;
mod majority;
mod measures;
mod measures_page;
mod night;
mod nothing;
mod panel;
mod primary;
mod reading;
mod rules;
pub mod scheme;
mod scorers;
mod stage_minutes;
mod standing;
mod summary;
#[cfg(test)]
mod testing;
pub mod what_if;
mod window;

pub use comparison::{
    Agreement, Chosen, ChosenBy, ClassFigures, Clocked, Comparison, DeviceNight, DeviceSummary, LeftOut, Measures,
    NightComparison, Protocol, Window, Worst,
};
pub use explained::{Explained, ExplainedDevice, MeanSplit, Part, Split, explained, explained_night, tenths};
pub use inference::{
    Across, AgreementIntervals, AgreementOverPeople, AtSize, BOUTS_WANT, Chance, ClassIntervals, ClassOverPeople,
    ClockDevice, ClockNight, Clocks, Coefficient, Deviation, Deviations, DevicePair, DevicePairs, DevicePeople, Drift,
    Inference, Interval, LEVEL, Limit, Limits, LimitsBy, MAX_LAG, NightLimits, NightMeasure, NightPair, Nights,
    NoInterval, NoOffset, NotSaid, OverPeople, PEOPLE_WITHOUT_TEST, PairDifference, PairOverPeople, PairWithinNight,
    Person, PooledIntervals, Ranked, Ranks, SHOW_EACH_BELOW, ScorerIntervals, Shifted, Slope, WANT_FOR_COEFFICIENTS,
    WANT_FOR_LIMITS, WithinNight, WithinNights, agreement_intervals, deviations, infer, over_people, people,
};
pub use inference::{
    BOUT_LONG, BOUT_SHARE, BOUT_SHORTEST, Bout, BoutCounts, BoutLength, BoutSeen, BoutsTogether, DeviceBouts,
    NightBouts, Tally, Verdict, WakeEvents,
};
pub use inference::{
    Baselines, Beside, Ceiling, CeilingPair, DeviceBaselines, NightBaselines, PRIOR_STRETCH, RANDOM_NIGHTS,
    RandomNights, usual_guess,
};
pub use majority::{Consensus, LightsNamed, Majority, VoteCounts, Voter, majority, voters};
pub use measures::measures;
pub use measures_page::{MEASURES, MeasureFacts, measures_page};
pub use night::compare_night;
pub use nothing::NothingToCompare;
pub use primary::{primary, scheme_of};
pub use reading::{MOST_REDRAWS, MeansRead, Read, Reading, Spread, means_read, of_night as reading_of, reading};
pub use rules::{Ruled, apply_rules};
pub use scorers::{
    PairSummary, ScorerGroup, ScorerPair, Scorers, ScorersNight, scorers, scorers_of_night, specific_agreement,
};
pub use stage_minutes::{can_say, minutes_in};
pub use standing::{Departure, Exploratory, Laid, PrimaryLine, Seen, Standing, headline_measures, standing};
pub use summary::{compare, mean_over_participants, nights_of_device};
// What a reader of a comparison must be able to name: the report may not import `stats` itself.
pub use counterpane_stats::{
    CoverageRange, Equivalence, Figure, IntervalBy, LIMITS_WANT, Resampling, Scale, Undefined, measured_coverage,
};
