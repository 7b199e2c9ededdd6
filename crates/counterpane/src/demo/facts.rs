//! What the demo's study states of its invented devices, and what was worn.

use std::fmt::Write as _;

/// What is stated of one device, each as `study.toml` has it.
struct Facts {
    device: &'static str,
    route: &'static str,
    steps: u32,
    minutes: f64,
    finest_step: &'static str,
    lost: &'static str,
    obtained: &'static str,
}

#[rustfmt::skip]
const FACTS: [Facts; 9] = [
    Facts { device: "band-a", route: "its app shows a picture and exports nothing: typed from the screen", steps: 3, minutes: 14.0, finest_step: "1 min, as far as the picture can be read", lost: "everything but the picture", obtained: "lent" },
    Facts { device: "band-b", route: "an archive of the whole account, asked for on its web page", steps: 6, minutes: 4.0, finest_step: "1 min", lost: "a day now and then", obtained: "lent" },
    Facts { device: "mat-a", route: "a button in its app, sent by mail", steps: 2, minutes: 1.0, finest_step: "a night", lost: "the stages over time: totals only", obtained: "given" },
    Facts { device: "patch-a", route: "its cradle writes a workbook", steps: 4, minutes: 3.0, finest_step: "30 s", lost: "which clock its times are from", obtained: "lent" },
    Facts { device: "patch-z", route: "its cradle writes one file for each night", steps: 4, minutes: 3.0, finest_step: "1 s", lost: "nothing: it tells sleep from wake only", obtained: "lent" },
    Facts { device: "ring-a", route: "one file for the whole account, by a button in its app", steps: 2, minutes: 0.5, finest_step: "30 s", lost: "nothing that the app shows", obtained: "bought" },
    Facts { device: "ring-b", route: "one file for the whole account, by a button in its app", steps: 2, minutes: 0.5, finest_step: "2 min", lost: "N1 and N2 apart", obtained: "given" },
    Facts { device: "ring-c", route: "the dump of the whole phone that it is tied to", steps: 5, minutes: 9.0, finest_step: "1 s", lost: "what the ring's own app shows of a night", obtained: "bought" },
    Facts { device: "watch-a", route: "a sheet for each night, saved from its web page", steps: 5, minutes: 2.5, finest_step: "1 min", lost: "the date: times of day only", obtained: "bought" },
];

/// Returns the lines of `study.toml` that state how a device gives its data.
pub(super) fn lines(device: &str) -> String {
    let Some(f) = FACTS.iter().find(|f| f.device == device) else { return String::new() };
    format!(
        "route = \"{}\"\nsteps = {}\nminutes = {:?}\nfinest_step = \"{}\"\nlost = \"{}\"\nobtained = \"{}\"\n",
        f.route, f.steps, f.minutes, f.finest_step, f.lost, f.obtained
    )
}

/// Returns the lines that state what was worn on a night: rings on a finger, of which one changed its hand.
pub(super) fn wearings(participants: &[&str], labels: &[&str]) -> String {
    let mut out = String::new();
    for (device, site) in [("ring-a", "finger"), ("watch-a", "wrist")] {
        for (i, participant) in participants.iter().enumerate() {
            for label in labels {
                let moved = (device, *participant, *label) == ("ring-a", "P02", "2026-04-05");
                let side = if moved { "right" } else { "left" };
                let unit = i + 1;
                let _ = write!(
                    out,
                    "\n[[wearing]]\nunit = \"{device}-{unit}\"\nparticipant = \"{participant}\"\nnight = \"{label}\"\n\
                     site = \"{site}\"\nside = \"{side}\"\nfirmware = \"1.0\"\n"
                );
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_device_has_its_facts() {
        for device in super::super::steps::DEVICES {
            assert!(lines(device).contains("obtained = "), "{device} has a line in FACTS");
        }
        assert!(lines("nothing").is_empty());
    }
}
