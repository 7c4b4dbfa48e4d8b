//! Readings in, outline out: parsing, error model, inference, doubts, chance of fit.

mod name;
mod reading;
mod tape;

pub use name::{
    Class, Column, Corner, Edge, Family, Flank, Half, Level, ReadingName, Side, Slope, Span,
    Station, Steering, UnknownName, nearest,
};
pub use reading::{BookEntry, GlassBook, PaneReadings, Reading, Vehicle};
pub use tape::{TapeReading, Unit};
