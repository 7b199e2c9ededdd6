//! Devices on the same nights, in the epochs that all of them and the reference scored.

use crate::counted::left_out;
use crate::primary::of_table;
use crate::{Comparison, DeviceNight, NightComparison, nights_of_device};
use counterpane_model::{PlanMeasure, Scheme};
use counterpane_stats::{Figure, Table};

/// One night of several devices: each with its table over the same epochs, in the order of the devices.
pub(crate) struct SharedNight<'a> {
    pub(crate) participant: &'a str,
    pub(crate) tables: Vec<Table>,
}

impl SharedNight<'_> {
    /// Returns a measure of the device at that place.
    pub(crate) fn value(&self, at: usize, measure: PlanMeasure, scheme: Scheme) -> Figure {
        let value = of_table(measure, &self.tables[at], scheme)?;
        // Minutes too many and minutes too few are equally far from the reference.
        Ok(if measure.in_minutes() { value.abs() } else { value })
    }

    /// Returns the number of epochs that all scored.
    pub(crate) fn epochs(&self) -> u64 {
        self.tables.first().map_or(0, Table::n)
    }
}

/// Returns the nights on which all of these devices were compared and share an epoch; a night on which a device was worn
/// twice stands once for each of its units.
pub(crate) fn shared_nights<'a>(comparison: &'a Comparison, names: &[&str], scheme: Scheme) -> Vec<SharedNight<'a>> {
    let mut together: Vec<(&NightComparison, Vec<&DeviceNight>)> = Vec::new();
    for (at, name) in names.iter().enumerate() {
        let own = nights_of_device(comparison, name);
        if at == 0 {
            together = own.into_iter().map(|(night, device)| (night, vec![device])).collect();
            continue;
        }
        let with = |(night, before): &(&'a NightComparison, Vec<&'a DeviceNight>)| {
            let same = own.iter().filter(|(other, _)| std::ptr::eq(*other, *night));
            same.map(|(_, device)| (*night, [before.as_slice(), &[*device]].concat())).collect::<Vec<_>>()
        };
        together = together.iter().flat_map(with).collect();
    }
    let of = |(night, devices): (&'a NightComparison, Vec<&'a DeviceNight>)| {
        let tables = tables(night, &devices, scheme)?;
        Some(SharedNight { participant: night.participant.as_str(), tables })
    };
    together.into_iter().filter_map(of).filter(|n| n.epochs() > 0).collect()
}

fn tables(night: &NightComparison, devices: &[&DeviceNight], scheme: Scheme) -> Option<Vec<Table>> {
    // What a device cannot express in the scheme it must not be asked in.
    if !devices.iter().all(|d| d.agreement.as_ref().is_some_and(|a| a.scheme >= scheme)) {
        return None;
    }
    let class = |cell: &counterpane_model::Cell| cell.stage().and_then(|stage| scheme.index(stage));
    let out: Vec<Vec<bool>> = devices.iter().map(|d| left_out(night, d)).collect();
    let counts = |t: &usize| {
        class(&night.reference[*t]).is_some()
            && out.iter().all(|o| !o[*t])
            && devices.iter().all(|d| d.cells.get(*t).and_then(class).is_some())
    };
    let epochs: Vec<usize> = (0..night.reference.len()).filter(counts).collect();
    let side = |cells: &[counterpane_model::Cell]| epochs.iter().map(|t| class(&cells[*t])).collect::<Vec<_>>();
    let reference = side(&night.reference);
    devices.iter().map(|d| Table::from_pairs(scheme.classes().len(), &reference, &side(&d.cells)).ok()).collect()
}
