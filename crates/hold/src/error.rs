//! What makes an honest answer about magnets impossible.

use geometry::Length;
use thiserror::Error;

use crate::{FluxDensity, Temperature};

/// Why a question about holding the cover cannot be answered.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum HoldError {
    /// A magnet is described in a way that cannot be read.
    #[error(
        "magnet “{spec}”: {problem}; write disc:DIAMETERxTHICKNESS:BR or \
         block:LENGTHxWIDTHxTHICKNESS:BR in mm, BR in tesla or a grade, as in disc:20x3:N35"
    )]
    Spec {
        /// What was written.
        spec: String,
        /// What is wrong with it.
        problem: String,
    },
    /// A magnet's size is out of range.
    #[error(
        "magnet {part} is {found}, but must be from {least} to {most}; \
         measure the magnet in mm and enter it again"
    )]
    Size {
        /// Which measure of the magnet.
        part: &'static str,
        /// What was given.
        found: Length,
        /// The smallest that is accepted.
        least: Length,
        /// The largest that is accepted.
        most: Length,
    },
    /// A magnet's polarisation is out of range.
    #[error(
        "magnet polarisation is {found}, but must be above 0 T and at most {most}; \
         take Br from the maker's table, such as 1.19 T for N35"
    )]
    Polarisation {
        /// What was given.
        found: FluxDensity,
        /// The largest that is accepted.
        most: FluxDensity,
    },
    /// A distance between magnets is out of range.
    #[error(
        "{item} is {found}, but must be from {least} to {most}; give it in mm, a gap as the \
         distance between the facing poles, glass, cloth and air together"
    )]
    Distance {
        /// Which distance.
        item: &'static str,
        /// What was given.
        found: Length,
        /// The smallest that is accepted.
        least: Length,
        /// The largest that is accepted.
        most: Length,
    },
    /// A temperature is outside the range of the material data.
    #[error(
        "temperature is {:.0} °C, but the magnet data hold from {:.0} to {:.0} °C; \
         choose a temperature in that range",
        .found.celsius(), .least.celsius(), .most.celsius()
    )]
    Temperature {
        /// What was given.
        found: Temperature,
        /// The lowest that is accepted.
        least: Temperature,
        /// The highest that is accepted.
        most: Temperature,
    },
    /// The magnet's grade is needed but unknown.
    #[error(
        "magnet of {polarisation} has no grade, but its resistance to heat is a matter of grade; \
         name the grade, such as N35H, in place of the tesla"
    )]
    GradeUnknown {
        /// The polarisation that was given in place of a grade.
        polarisation: FluxDensity,
    },
    /// Something asked for is outside what can be answered.
    #[error("{item} is {found}, but must be {needed}; {way_out}")]
    Input {
        /// Which thing.
        item: &'static str,
        /// What was given, with its unit.
        found: String,
        /// What is accepted.
        needed: String,
        /// What to do about it.
        way_out: &'static str,
    },
}

impl HoldError {
    /// Refuses a number that is not from `least` to `most`.
    pub(crate) fn check(
        item: &'static str,
        found: f64,
        [least, most]: [f64; 2],
        unit: &str,
        way_out: &'static str,
    ) -> Result<(), Self> {
        if (least..=most).contains(&found) {
            return Ok(());
        }
        let (found, needed) = (format!("{found}{unit}"), format!("from {least} to {most}{unit}"));
        Err(Self::Input { item, found, needed, way_out })
    }
}
