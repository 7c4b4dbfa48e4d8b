//! What is ordered: a vehicle's panes as read, its blades and mirrors, and how covers are made.

use drafting::{BladeSection, ClosedEnd};
use geometry::Length;
use survey::{Blade, Hood, PaneReadings, Unit, Vehicle};

use crate::cover::{ClothEntry, CoverChoices, CoverWishes, FreeChoice};
use crate::hold_wishes::{HoldWishes, MagnetEntry, StrapWish};

/// An order as its file states it.
#[derive(Clone, Debug, PartialEq)]
pub struct Order {
    /// The workshop's reference.
    pub reference: String,
    /// Whose vehicle it is.
    pub owner: Option<String>,
    /// What a bare number means, and what the owner is shown.
    pub unit: Unit,
    /// The finest step of the owner's tape, when stated.
    pub graduation: Option<Length>,
    /// The vehicle.
    pub vehicle: Vehicle,
    /// Its panes, at least one, names unique; readings in the order of their names.
    pub panes: Vec<PaneReadings>,
    /// Its wiper blades, names unique.
    pub blades: Vec<Blade>,
    /// What is stated of the sleeve of each blade, in the order of the blades.
    pub sleeves: Vec<SleeveWishes>,
    /// Its mirror housings, names unique.
    pub hoods: Vec<Hood>,
    /// How covers are made.
    pub cover: CoverWishes,
    /// How the cover of each pane differs from that, in the order of the panes.
    pub pane_covers: Vec<CoverWishes>,
    /// What the cover of each pane leaves free, in the order of the panes.
    pub keep_outs: Vec<Vec<FreeChoice>>,
    /// Cloths described, names unique.
    pub cloths: Vec<ClothEntry>,
    /// How covers are held.
    pub hold: HoldWishes,
    /// How the cover of each pane is held differently, in the order of the panes.
    pub pane_holds: Vec<HoldWishes>,
    /// Straps, each naming its pane.
    pub straps: Vec<StrapWish>,
    /// Magnet pairs the workshop has, names unique.
    pub magnets: Vec<MagnetEntry>,
}

/// What an order states of a blade's sleeve.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SleeveWishes {
    /// Blade and arm cut across where they are thickest.
    pub section: Option<BladeSection>,
    /// From the blade's left end, as seen facing the glass, to the middle of its arm.
    pub arm: Option<Length>,
    /// Which end of the sleeve is closed.
    pub closed: Option<ClosedEnd>,
}

impl Order {
    /// How the cover of pane `i` is made.
    #[must_use]
    pub fn cover_of(&self, i: usize) -> CoverChoices {
        let family = self.panes[i].family;
        match self.pane_covers.get(i) {
            Some(pane) => pane.or(&self.cover).choices(family),
            None => self.cover.choices(family),
        }
    }

    /// What is said of how the cover of pane `i` is held.
    #[must_use]
    pub fn hold_of(&self, i: usize) -> HoldWishes {
        match self.pane_holds.get(i) {
            Some(pane) => pane.or(&self.hold),
            None => self.hold.clone(),
        }
    }
}

/// Names that some systems keep for devices, whatever follows a point.
const DEVICES: [&str; 4] = ["con", "prn", "aux", "nul"];

/// The name as part of a file name on any system: letters and digits stay, any run of anything else
/// becomes one `-`; never empty, at most 120 bytes, never a device's name.
///
/// ```
/// assert_eq!(shop::safe_file_name("left / upper"), "left-upper");
/// assert_eq!(shop::safe_file_name("../../x"), "x");
/// ```
#[must_use]
pub fn safe_file_name(name: &str) -> String {
    let mut safe = String::new();
    for c in name.chars() {
        let c = if c.is_alphanumeric() || c == '_' { c } else { '-' };
        if safe.len() + c.len_utf8() > 120 {
            break;
        }
        if c != '-' || !(safe.is_empty() || safe.ends_with('-')) {
            safe.push(c);
        }
    }
    let kept = safe.trim_end_matches('-');
    let lower = kept.to_lowercase();
    let port = lower.strip_prefix("com").or(lower.strip_prefix("lpt"));
    if kept.is_empty() {
        "unnamed".to_owned()
    } else if DEVICES.contains(&&*lower) || port.is_some_and(|n| n.chars().count() == 1) {
        format!("{kept}_")
    } else {
        kept.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn a_safe_file_name_stays_in_its_folder(name in "\\PC{0,300}") {
            let safe = safe_file_name(&name);
            prop_assert!(!safe.is_empty() && safe.len() <= 121);
            prop_assert!(safe.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '_')));
        }
    }

    #[test]
    fn a_device_is_no_file_name() {
        assert_eq!(safe_file_name("NUL"), "NUL_");
        assert_eq!(safe_file_name("com1"), "com1_");
        assert_eq!(safe_file_name("… …"), "unnamed");
        assert_eq!(safe_file_name("pane 1.5"), "pane-1-5");
    }
}
