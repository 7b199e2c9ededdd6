//! What an invented phone shows of a night beside its picture.

use crate::night::{Change, STAGES};

/// Totals as the phone shows them: minutes rounded, times of day cut off.
pub(crate) fn shown(night: &[Change]) -> Vec<(&'static str, String)> {
    let length = |stage: &dyn Fn(&str) -> bool| {
        night.windows(2).filter(|w| stage(w[0].stage)).map(|w| w[1].at - w[0].at).sum::<i64>()
    };
    let minutes = |half: i64| format!("{}:{:02}", (half + 1) / 2 / 60, (half + 1) / 2 % 60);
    let mut out = vec![
        ("total sleep", minutes(length(&|s| s != "wake"))),
        ("time in bed", minutes(length(&|_| true))),
        ("start", clock(night[0].at / 2)),
        ("end", clock(night[night.len() - 1].at / 2)),
    ];
    out.extend(STAGES.map(|stage| (stage, minutes(length(&|s| s == stage)))));
    out
}

/// A time of day, from minutes after noon.
pub(crate) fn clock(minutes: i64) -> String {
    let of_day = (minutes + 720).rem_euclid(1440);
    format!("{:02}:{:02}", of_day / 60, of_day % 60)
}
