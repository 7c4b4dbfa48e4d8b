//! What makes an honest answer about magnets impossible.

use geometry::Length;
use thiserror::Error;

use crate::{FluxDensity, Temperature, Tension};

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
    /// An outline cannot be cut into triangles.
    #[error(
        "the outline would need {n_nodes:.0} nodes, but it must enclose something and need at most \
         10000; choose a coarser mesh or measure the outline again"
    )]
    Mesh {
        /// Nodes it would take.
        n_nodes: f64,
    },
    /// A cloth is described in a way no cloth is.
    #[error(
        "cloth of stiffness {across:.0} across and {up:.0} up, {shear:.0} askew, Poisson's ratio \
         {poisson}: stiffnesses must be more than nothing and the ratio from 0 to below 1; measure \
         strips of the cloth, or leave them out for the usual ones"
    )]
    Cloth {
        /// Stiffness along x.
        across: Tension,
        /// Stiffness along y.
        up: Tension,
        /// Stiffness against shear.
        shear: Tension,
        /// Poisson's ratio.
        poisson: f64,
    },
    /// Too little holds a cover for it to be reckoned with.
    #[error(
        "the cover is held at {found} places, but it needs at least {needed} that do not lie in one \
         line; add grips or straps"
    )]
    Supports {
        /// How many hold it.
        found: usize,
        /// How many are needed.
        needed: usize,
    },
    /// Nowhere on the edge can a grip go.
    #[error(
        "no place on the edge of `{pane}` takes this magnet: {reason}; choose a smaller magnet, read \
         the band and the inside band again, or hold the cover by straps at three corners or more"
    )]
    NoPlace {
        /// The pane.
        pane: String,
        /// Why, at the longest stretch.
        reason: String,
    },
    /// A plan was asked for without a magnet.
    #[error("no magnet to choose from; name at least one, such as disc:20x3:N35")]
    NoMagnet,
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
