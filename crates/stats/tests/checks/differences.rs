//! Printed values of differences of two methods.

use crate::published::PEAK_FLOW;
use crate::{Check, Source};
use counterpane_stats::{bca_interval, bias, ccc, differences, icc, plan_icc, plan_limits};

pub(crate) fn checks(rows: &mut Vec<Check>) {
    let of = bias(&differences(&PEAK_FLOW.map(|[large, mini]| [mini, large]))).unwrap();
    let (sd, interval) = (of.sd.unwrap(), of.interval.unwrap());
    Source::of(rows, "peak flow, 17 people", "Bland and Altman 1986, Lancet 327, 307-310")
        .row("bias", "-2.1", of.mean)
        .row("standard deviation of the differences", "38.8", sd)
        .row("standard error of the bias", "9.4", sd / 17_f64.sqrt())
        .row("bias, lower limit", "-22.0", interval.0)
        .row("bias, upper limit", "17.8", interval.1)
        .row("standard error of a limit, form of 1986", "16.3", sd * (3_f64 / 17.0).sqrt());
    let of = ccc(&PEAK_FLOW).unwrap();
    Source::of(rows, "peak flow, 17 people", "Lin 1989, Biometrics 45, 255-268; digits from memory")
        .row("Lin's concordance", "0.943", of.value)
        .row("its standard error", "0.029", of.se.unwrap());
    let judges = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]];
    let of = icc(&judges.map(|row| row.map(f64::from))).unwrap();
    let (absolute, consistency) = (of.absolute.unwrap(), of.consistency.unwrap());
    Source::of(rows, "6 targets, 4 judges", "Shrout and Fleiss 1979, Psychological Bulletin 86, 420-428")
        .row("mean square of targets", "11.24", of.participants)
        .row("mean square of judges", "32.49", of.sides)
        .row("mean square of the rest", "1.02", of.rest)
        .row("ICC(2,1)", "0.29", absolute.value)
        .row("ICC(3,1)", "0.71", consistency.value);
    let (absolute, consistency) = (absolute.interval.unwrap(), consistency.interval.unwrap());
    Source::of(rows, "6 targets, 4 judges", "common software on the data of Shrout and Fleiss 1979 (from memory)")
        .row("ICC(2,1), lower limit", "0.019", absolute.0)
        .row("ICC(2,1), upper limit", "0.761", absolute.1)
        .row("ICC(3,1), lower limit", "0.342", consistency.0)
        .row("ICC(3,1), upper limit", "0.946", consistency.1);
    Source::of(rows, "r = 0.85, 4 sides, width 0.2", "Bonett 2002, Statistics in Medicine 21, 1331-1335").row(
        "participants for an intraclass correlation",
        "20",
        plan_icc(0.85, 4, 0.2).unwrap(),
    );
    Source::of(rows, "100 and 200 participants", "Bland, note on sample sizes for studies of agreement (from memory)")
        .row("half-width of a limit's interval, 100", "0.34", plan_limits(100).unwrap().half_width)
        .row("half-width of a limit's interval, 200", "0.24", plan_limits(200).unwrap().half_width);
    let times = [3.0, 5.0, 7.0, 18.0, 43.0, 85.0, 91.0, 98.0, 100.0, 130.0, 230.0, 487.0];
    let all: f64 = times.iter().sum();
    let of = bca_interval(&[0.0, 1.0], 0.5, &times.map(|t| (all - t) / 11.0)).unwrap();
    Source::of(rows, "twelve times between failures", "Davison and Hinkley 1997, chapter 5").row(
        "BCa, acceleration of the mean",
        "0.0938",
        of.corrections.unwrap().1,
    );
}
