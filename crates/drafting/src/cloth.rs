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
    /// How its print stands on the roll; pieces stand upright in it.
    pub print: Option<Print>,
    /// How much it shrinks before it is used, for which pieces are cut larger.
    pub shrinkage: Shrinkage,
}

/// Which way of the roll is up in a print.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Print {
    /// Along it: towards its cut end.
    Along,
    /// Across it: towards the upper selvedge, with the cut end on the left.
    Across,
}

impl Print {
    /// Every one, in order.
    pub const ALL: &'static [Self] = &[Self::Along, Self::Across];

    /// How it is spelt in files.
    #[must_use]
    pub const fn spelling(self) -> &'static str {
        match self {
            Self::Along => "along",
            Self::Across => "across",
        }
    }
}

/// How much a cloth shrinks, as parts of what was cut: 0.02 for 2 %; below 0 where it stretches.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Shrinkage {
    /// Along the roll.
    pub warp: f64,
    /// Across it.
    pub weft: f64,
}

impl Shrinkage {
    /// Most it may be. Chosen by us: a cloth that gives more is no good for fitted covers.
    pub const MOST: f64 = 0.1;

    /// What lengths along and across the roll are multiplied by: what shrinks by s is cut 1/(1 − s)
    /// times as long.
    #[must_use]
    pub fn growth(self) -> [f64; 2] {
        [1.0 / (1.0 - self.warp), 1.0 / (1.0 - self.weft)]
    }

    fn check(self, cloth: &str) -> Result<(), DraftError> {
        match [self.warp, self.weft]
            .into_iter()
            .find(|part| part.is_nan() || part.abs() > Self::MOST)
        {
            None => Ok(()),
            Some(part) => Err(DraftError::Shrinkage { cloth: cloth.to_owned(), part }),
        }
    }
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
    /// Refuses cloth that nothing can be cut from.
    pub(crate) fn check(&self) -> Result<(), DraftError> {
        positive("the usable width of the cloth", self.usable_width)?;
        self.shrinkage.check(&self.name)
    }

    /// Width of a piece, before it is cut larger for shrinking, that just fits across.
    pub(crate) fn room(&self) -> Length {
        self.usable_width / self.shrinkage.growth()[1]
    }

    /// How a piece of these bounds fits across the cloth: preferably with x along the roll.
    pub(crate) fn lie(&self, bounds: &Bounds<PieceFrame>) -> Option<Lie> {
        if bounds.height() <= self.room() && self.print != Some(Print::Along) {
            Some(Lie::XAlong)
        } else if bounds.width() <= self.room() && self.print != Some(Print::Across) {
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
        let second = (self.half_turn && self.print.is_none()).then_some(first + 180.0);
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
