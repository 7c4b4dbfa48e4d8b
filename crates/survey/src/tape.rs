//! What people write when they read a tape, and how it is shown back.

use geometry::Length;

/// The unit a tape is read in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Unit {
    /// Inches.
    Inch,
    /// Centimetres.
    Centimetre,
    /// Millimetres.
    Millimetre,
}

/// One number taken with a tape, in the owner's own words.
#[derive(Clone, Debug, PartialEq)]
pub struct TapeReading {
    /// Exactly what was written.
    pub words: String,
    /// The length it means.
    pub length: Length,
    /// The unit it was read in.
    pub unit: Unit,
    /// The finest step of the tape that the words show (or the order states).
    pub graduation: Length,
    /// Whether the owner marked it as rough (`~`, `about`).
    pub rough: bool,
}
