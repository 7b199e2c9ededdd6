//! Printed intervals of shares.

use crate::{Check, Source};
use counterpane_stats::{exact_interval, wilson_interval};

pub(crate) fn checks(rows: &mut Vec<Check>) {
    let newcombe = "Newcombe 1998, Statistics in Medicine 17, 857-872, table I";
    let memory = "Newcombe 1998, Statistics in Medicine 17, 857-872, table I (from memory)";
    let fagerland =
        "Fagerland, Lydersen and Laake, Statistical Analysis of Contingency Tables, in the R package contingencytables";
    for (data, source, (x, n), low, high) in [
        ("81 of 263", newcombe, (81, 263), "0.2553", "0.3662"),
        ("15 of 148", memory, (15, 148), "0.0624", "0.1605"),
        ("0 of 20", memory, (0, 20), "0.0000", "0.1611"),
        ("1 of 29", memory, (1, 29), "0.0061", "0.1718"),
        ("13 of 16", fagerland, (13, 16), "0.5699", "0.9341"),
    ] {
        let of = wilson_interval(x, n).unwrap();
        Source::of(rows, data, source).row("Wilson, lower limit", low, of.0).row("Wilson, upper limit", high, of.1);
    }
    for (data, source, (x, n), low, high) in
        [("81 of 263", newcombe, (81, 263), "0.2527", "0.3676"), ("13 of 16", fagerland, (13, 16), "0.5435", "0.9595")]
    {
        let of = exact_interval(x, n).unwrap();
        Source::of(rows, data, source).row("exact, lower limit", low, of.0).row("exact, upper limit", high, of.1);
    }
}
