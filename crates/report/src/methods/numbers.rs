//! What was computed, how it got its intervals, and what was laid down beforehand.

use super::sources::{Source, Sources};
use crate::Page;
use crate::words::{count, minutes, planned, when};
use counterpane_compare::Nights;
use counterpane_model::Looked;

/// The measures.
pub(super) fn figures(page: &Page, sources: &mut Sources) -> String {
    if page.comparison.devices.iter().all(|d| d.pooled.is_none()) {
        return String::new();
    }
    let cohen = sources.cite(Source::Cohen1960);
    let mut out = format!(
        "Agreement is told as the share of epochs that agree, as Cohen's kappa {cohen}, and for each stage as sensitivity and \
         positive predictive value from the matrix of counts. Over nights each is the mean over participants of the mean over \
         their nights, so that each person weighs the same; the matrix of all epochs is shown beside it. Differences in minutes \
         are device minus reference."
    );
    let limits = || page.inference.deviations.iter().flat_map(|d| &d.measures).filter(|m| m.limits.is_ok());
    if limits().any(|m| m.whose == Nights::OneEach) {
        out.push_str(&format!(
            " Limits of agreement of whole-night measures follow {}.",
            sources.cite(Source::BlandAltman1999)
        ));
    }
    if limits().any(|m| m.whose == Nights::SeveralEach) {
        let (bland, zou) = (sources.cite(Source::BlandAltman2007), sources.cite(Source::Zou2013));
        out.push_str(&format!(
            " Limits of agreement of whole-night measures, with several nights of a person, follow {bland}, with intervals after {zou}."
        ));
    }
    out
}

/// Intervals and tests, as far as they were used.
pub(super) fn intervals(page: &Page, sources: &mut Sources) -> String {
    let drawn = page.inference.asked;
    let [blocks, length, corrected, wilson] =
        [Source::PolitisRomano1994, Source::PolitisWhite2004, Source::PattonPolitisWhite2009, Source::Wilson1927]
            .map(|s| sources.cite(s));
    let mut out = vec![format!(
        "Intervals are 95 % intervals. Within a night the pairs of epochs were drawn anew in blocks by the stationary bootstrap \
         {blocks}, with lengths of blocks after {length} and {corrected}, {} times from seed {}; shares of 0 and 100 % have \
         Wilson's interval {wilson} with what the epochs are worth as independent ones.",
        drawn.replicates, drawn.seed
    )];
    let people: Vec<usize> = page.comparison.devices.iter().map(|d| d.participants).filter(|p| *p > 0).collect();
    if people.iter().any(|p| (2..20).contains(p)) {
        out.push(format!(
            "Over participants they are Student's {}, from one mean for each person.",
            sources.cite(Source::Student1908)
        ));
    }
    if people.iter().any(|p| *p >= 20) {
        out.push(format!(
            "From 20 participants on people were drawn anew with all their nights {}.",
            sources.cite(Source::FieldWelsh2007)
        ));
    }
    if people.iter().all(|p| *p == 1) {
        out.push("All nights are of one person, so nothing is said of other people.".into());
    }
    let tested = page.inference.pairs.pairs.iter().any(|p| p.main.p.is_ok());
    if tested {
        out.push(format!(
            "Two devices were compared on the epochs that both and the reference scored, by the sign-flip test of one difference \
             for each person {}, adjusted by Holm's method {}.",
            sources.cite(Source::Fisher1935),
            sources.cite(Source::Holm1979)
        ));
    }
    out.join(" ")
}

/// What was predeclared.
pub(super) fn laid_down(page: &Page, sources: &mut Sources) -> String {
    let Some(laid) = &page.standing.laid else {
        return "No protocol was laid down before results were looked at; all results are exploratory.".into();
    };
    let what = match laid.plan.primary {
        Some(primary) => format!("The primary measure is {}.", planned::measure(primary)),
        None => "No primary measure was named.".into(),
    };
    let seen = laid.seen.last().map_or_else(String::new, |seen| {
        let looked = match seen.looked {
            Looked::Before => "before any comparison was made",
            Looked::After => "after results had been looked at",
        };
        format!(" The protocol was noted {} {looked} (SHA-256 {}).", when(&seen.at), seen.sha256)
    });
    let tolerance = laid.plan.tolerance.map_or_else(String::new, |t| {
        format!(
            " A mean difference within {} counts as small enough, by two one-sided tests {}.",
            minutes(t),
            sources.cite(Source::Schuirmann1987)
        )
    });
    let lines = &page.standing.lines;
    let predeclared = lines.iter().filter(|l| l.exploratory.is_empty() && l.value.is_ok()).count();
    let worth = match predeclared {
        0 => "All results are exploratory.".to_owned(),
        n => format!("It is predeclared for {}; all other results are exploratory.", count(n, "device")),
    };
    format!("{what}{seen}{tolerance} {worth}")
}
