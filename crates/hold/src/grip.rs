//! One magnet pair at one place on the glass.

use geometry::{Length, Pane, Point};

use crate::Force;

/// One magnet pair at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grip {
    /// Its number on drawings and sheets, from 1, anticlockwise from the lower left corner.
    pub number: u32,
    /// Middle of the pair, on the glass.
    pub at: Point<Pane>,
    /// How far along the glass edge it sits, from the start of the outline's path.
    pub along: Length,
    /// How far in from the glass edge its middle sits.
    pub depth: Length,
    /// Diameter of the larger disc.
    pub diameter: Length,
    /// Pull of the pair through this glass and cloth, discs exactly opposite each other.
    pub pull: Force,
}
