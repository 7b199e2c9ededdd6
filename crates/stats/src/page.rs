//! The page `docs/statistics.md`, made from the facts beside the code.

use crate::{STATISTICS, Statistic, Undefined};
use std::fmt::Write as _;

const HEAD: &str = "\
<!-- Made from crates/stats by its tests: `UPDATE_EXPECT=1 cargo test -p counterpane-stats` writes it. -->
# Statistics

Every statistic of agreement that the program defines and tests, with its definition, its source and the cases in which it has no
value. The measures of a whole night, such as total sleep time, are in [measures.md](measures.md). `counterpane agree` and
`counterpane compare` print those of two sides; `compare` and the report also those of several raters, of differences over nights and
of uncertainty ([intervals.md](intervals.md) says which is used when), and `counterpane plan` those of planning. Values printed in the literature stand beside ours in [checks.md](checks.md).

**The table.** Two sides say one of K classes for each epoch. `n_ij` is the number of epochs to which the reference gives class
i and the device class j: **the reference is in the rows, the device in the columns**. `r_i` is the sum of row i, `c_j` the
sum of column j, `n` the sum of all, and `p` a count divided by n. An epoch enters only if both sides scored it. The classes
are those of the scheme, used or not.

**Differences.** `d` is always device minus reference, one for each night, `s` the standard deviation of d with divisor n - 1. Where a
statistic takes participants, each has one value: nights of one person are not independent.

**One class against the others.** `TP = n_ii`, `FN = r_i - TP`, `FP = c_i - TP`, `TN = n - TP - FN - FP`.

**Undefined is a value.** Where a statistic has no value the program prints the reason, in JSON `null` and the reason's name. It
never puts 0, 1 or \"not a number\" in its place. Means over nights leave such nights out and print how many they left out.

**Epochs are not independent.** The standard errors below hold for independent pairs. The epochs of one night depend on each
other, so an interval made of these standard errors would be far too narrow; they are computed to prove the code
and for data of other kinds, and are not printed as intervals about sleep.
";

/// Returns the text of `docs/statistics.md`.
#[must_use]
pub fn page() -> String {
    let mut out = String::from(HEAD);
    out.push_str("\n## Why a statistic may have no value\n\n| name in JSON | reason |\n| --- | --- |\n");
    for reason in Undefined::ALL {
        let _ = writeln!(out, "| `{}` | {} |", reason.code(), reason.words());
    }
    out.push_str("\n## The statistics\n");
    for statistic in STATISTICS {
        section(&mut out, statistic);
    }
    out
}

fn section(out: &mut String, statistic: &Statistic) {
    let Statistic { key, name, meaning, formula, range, undefined, caution, source } = statistic;
    let _ = write!(
        out,
        "\n### {name}\n\n{meaning}\n\n- Formula: {formula}\n- Values: {range}\n- Undefined when {undefined}\n- Caution: {caution}\n\
         - Source: {source}\n- Code: [`crates/stats/src/{key}.rs`](../crates/stats/src/{key}.rs)\n"
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use expect_test::expect_file;

    #[test]
    fn the_page_is_what_the_code_says() {
        expect_file!["../../../docs/statistics.md"].assert_eq(&page());
    }
}
