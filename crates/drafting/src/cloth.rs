//! What a workshop chooses once: its cloth, and how it sews.

use geometry::{Angle, Bounds, Length, Piece as PieceFrame};

use crate::DraftError;

/// A cloth on a roll.
#[derive(Clone, Debug, PartialEq)]
pub struct Cloth {
    /// The workshop's name for it.
    pub name: String,
    /// Width between the selvedges that can be cut.
    pub usable_width: Length,
    /// Whether a piece may lie turned by half a turn: not on cloth with a nap or a one-way print.
    pub half_turn: bool,
}

/// How the workshop sews.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sewing {
    /// Cloth left beyond a seam, on each of the parts it joins.
    pub seam_allowance: Length,
    /// How far the stitch of a turned hem runs from the hem's cut edge. About 5 mm: common
    /// practice, no source.
    pub stitch_from_edge: Length,
    /// How deep notches go, where the allowance is at least twice as wide. About 5 mm: common
    /// practice, no source.
    pub notch_depth: Length,
}

/// How a piece lies on the roll.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Lie {
    /// Its x runs along the roll.
    XAlong,
    /// Its y runs along the roll, its top to the cut end.
    YAlong,
}

impl Cloth {
    /// How a piece of these bounds fits across the cloth: preferably with x along the roll.
    pub(crate) fn lie(&self, bounds: &Bounds<PieceFrame>) -> Option<Lie> {
        if bounds.height() <= self.usable_width {
            Some(Lie::XAlong)
        } else if bounds.width() <= self.usable_width {
            Some(Lie::YAlong)
        } else {
            None
        }
    }

    /// The turns on the roll at which a piece may lie.
    pub(crate) fn turns(&self, lie: Lie) -> Vec<Angle> {
        let first = match lie {
            Lie::XAlong => 0.0,
            Lie::YAlong => 90.0,
        };
        let second = self.half_turn.then_some(first + 180.0);
        [first].into_iter().chain(second).map(Angle::from_degrees).collect()
    }
}

impl Sewing {
    /// Refuses what cannot be sewn.
    pub(crate) fn check(&self) -> Result<(), DraftError> {
        positive("the seam allowance", self.seam_allowance)?;
        positive("the distance of the hem stitch from the cut edge", self.stitch_from_edge)?;
        positive("the depth of notches", self.notch_depth)
    }
}

/// Refuses a length of nothing or less.
pub(crate) fn positive(item: &str, found: Length) -> Result<(), DraftError> {
    if found > Length::ZERO {
        Ok(())
    } else {
        Err(DraftError::NotPositive { item: item.to_owned(), found })
    }
}
