//! Readings in, outline out: parsing, error model, inference, doubts, chance of fit.

pub mod adjust;
pub mod bend;
mod blade;
mod explain;
mod fit;
mod fitness;
mod hood;
mod judge;
mod keep_out;
mod learn;
mod lone;
mod model;
mod name;
mod normal;
mod policy;
mod prior;
mod reading;
mod standing;
mod tape;
mod words;

pub use blade::{Blade, BladePoint, Park, judge_blades};
pub use explain::SlipKind;
pub use hood::{Hood, HoodSide, judge_hoods};
pub use judge::{
    Depth, Doubt, EdgePoint, JudgeError, Judgement, Question, Standpoint, Verdict, judge,
    judge_with,
};
pub use keep_out::{Across, KeepOut, KeepOutKind, KeepOutShape, Up};
pub use learn::{OutlineEvidence, learn_entry, normal_mean};
pub use lone::{FittingDoubt, FittingJudgement, FittingQuestion};
pub use name::{
    Class, Column, Corner, Course, Edge, Family, Flank, Half, Level, ReadingName, Side, Slope,
    Span, Station, Steering, UnknownName, nearest,
};
pub use normal::normal_below;
pub use policy::{ErrorModel, FitRule, Policy, SlipRates, TapeClass};
pub use prior::{N_STATIONS, Prior, Source};
pub use reading::{BookEntry, GlassBook, PaneReadings, Reading, Vehicle};
pub use standing::{NamedCorners, SMALL_PANE, Standing, StationPoint};
pub use tape::{TapeError, TapeReading, Unit, from_number, read_tape, show, typeset};
pub use words::{Voice, how_often, in_a_hundred};
