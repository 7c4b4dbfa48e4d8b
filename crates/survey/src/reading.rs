//! Readings as they came in, and the pane they belong to.

use geometry::Length;

use crate::name::{Class, Family, Flank, Half, ReadingName, Station, Steering};
use crate::tape::TapeReading;

/// One named reading of a pane, taken once or more.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// What was read.
    pub name: ReadingName,
    /// Each time it was taken, in order; never empty.
    pub taken: Vec<TapeReading>,
    /// Where, when not at the usual place: distance in from the side (heights), up from the base
    /// edge (`width.base`) or down from the top edge (`width.top`).
    pub place: Option<Length>,
}

impl Reading {
    /// A reading taken once, at its usual place.
    #[must_use]
    pub fn once(name: ReadingName, tape: TapeReading) -> Self {
        Self { name, taken: vec![tape], place: None }
    }
}

/// Everything read of one pane.
#[derive(Clone, Debug, PartialEq)]
pub struct PaneReadings {
    /// The workshop's name for the pane, unique within the order.
    pub name: String,
    /// What sort of pane.
    pub family: Family,
    /// Which half of a divided screen.
    pub half: Option<Half>,
    /// Which side of the vehicle.
    pub flank: Option<Flank>,
    /// Thickness of the glass.
    pub glass: Option<Length>,
    /// How many corners it has, when the order says so; four where neither it nor the book does.
    pub corners: Option<usize>,
    /// The readings, each name at most once.
    pub readings: Vec<Reading>,
}

impl PaneReadings {
    /// A pane of which nothing more is said.
    #[must_use]
    pub fn new(name: &str, family: Family, readings: Vec<Reading>) -> Self {
        let name = name.to_owned();
        Self { name, family, half: None, flank: None, glass: None, corners: None, readings }
    }
}

/// The vehicle a pane belongs to.
#[derive(Clone, Debug, PartialEq)]
pub struct Vehicle {
    /// What sort of vehicle.
    pub class: Class,
    /// Maker, when known.
    pub make: Option<String>,
    /// Model, when known.
    pub model: Option<String>,
    /// Year built, when known.
    pub year: Option<i32>,
    /// Which side the driver sits, from inside.
    pub steering: Option<Steering>,
}

impl Vehicle {
    /// A vehicle of which nothing more is known.
    #[must_use]
    pub const fn of_class(class: Class) -> Self {
        Self { class, make: None, model: None, year: None, steering: None }
    }
}

/// What the workshop knows about one pane of one vehicle: an entry of the glass book.
#[derive(Clone, Debug, PartialEq)]
pub struct BookEntry {
    /// Maker.
    pub make: String,
    /// Model.
    pub model: String,
    /// First and last year.
    pub years: [i32; 2],
    /// What sort of vehicle.
    pub class: Class,
    /// What sort of pane.
    pub family: Family,
    /// Which half of a divided screen.
    pub half: Option<Half>,
    /// Which side of the vehicle.
    pub flank: Option<Flank>,
    /// How many fitted panes stand behind the entry.
    pub settled: u32,
    /// Corners before rounding, anticlockwise from the base-left one, x and y; placed anywhere.
    pub corners: Vec<[Length; 2]>,
    /// How far the middle of each edge stands outside the straight between its corners: first the
    /// edge from the first corner to the second.
    pub bows: Vec<Length>,
    /// Radius of each corner.
    pub radii: Vec<Length>,
    /// Scatter of each corner coordinate, bow and radius between panes of this model.
    pub sd: Length,
    /// Known band widths.
    pub band: Vec<(Station, Length)>,
    /// Known blocked depths.
    pub blocked: Vec<(Station, Length)>,
    /// Scatter of bands and blocked depths.
    pub band_sd: Length,
}

/// All entries.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GlassBook {
    /// The entries, in file order.
    pub entries: Vec<BookEntry>,
}

impl GlassBook {
    /// The entry for this pane of this vehicle: same make, model (letter case aside), class,
    /// family, half and flank, corners and a year within its years when the order gives them. Of several,
    /// the one with most panes behind it.
    #[must_use]
    pub fn find(&self, vehicle: &Vehicle, pane: &PaneReadings) -> Option<&BookEntry> {
        let same = |wanted: &Option<String>, entry: &str| {
            wanted.as_ref().is_some_and(|w| w.trim().to_lowercase() == entry.trim().to_lowercase())
        };
        let agrees = |entry: &&BookEntry| {
            same(&vehicle.make, &entry.make)
                && same(&vehicle.model, &entry.model)
                && vehicle.class == entry.class
                && pane.family == entry.family
                && (entry.half.is_none() || entry.half == pane.half)
                && (entry.flank.is_none() || entry.flank == pane.flank)
                && pane.corners.is_none_or(|n| n == entry.corners.len())
                && vehicle.year.is_none_or(|y| (entry.years[0]..=entry.years[1]).contains(&y))
        };
        self.entries.iter().filter(agrees).max_by_key(|entry| entry.settled)
    }
}
