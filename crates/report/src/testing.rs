//! Small constructors for the tests of this crate.

use counterpane_compare::Measures;
use counterpane_compare::comparison::Undefined;
use counterpane_model::Stage;

/// Measures that hold these minutes, ten minutes of wake and nothing else.
pub(crate) fn measures(stages: &[(Stage, f64)]) -> Measures {
    let none = Err(Undefined::NoSleep);
    let total_sleep = stages.iter().filter(|(s, _)| s.is_sleep()).map(|(_, m)| m).sum();
    Measures {
        recording_time: total_sleep + 10.0,
        total_sleep,
        wake: 10.0,
        unscored: 0.0,
        stage_minutes: stages.to_vec(),
        sleep_latency: none,
        sleep_latency_bounds: None,
        wake_after_onset: none,
        wake_within_sleep: none,
        terminal_wake: none,
        sleep_period: none,
        efficiency: none,
        efficiency_scored: none,
        maintenance_to_end: none,
        maintenance_in_period: none,
        rem_latency: none,
        awakenings: none,
    }
}
