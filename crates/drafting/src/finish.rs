//! How an edge is finished, how corners are made, and how parts are joined.
//!
//! What a finish needs of the cloth, for its width w and tuck t:
//!
//! | finish | cut beyond the finished edge | reaches in | sewn at, inside the finished edge |
//! | --- | --- | --- | --- |
//! | raw | 0 | 0 | nowhere |
//! | turned hem, once | w | w | w less the stitch's distance from the cut edge |
//! | turned hem, twice | w + t | w | w less 2 mm, through the inner fold |
//! | welded hem | w | w | w/2, the middle of the weld |
//! | bound, tape of width w | 0 | w/2 | w/2 less 2 mm, through the tape's edge |
//!
//! Common practice, no source; the 2 mm are chosen by us: a stitch that holds the edge and does not
//! run off it.

use geometry::Length;

use crate::{PocketStyle, Print, Sewing};

/// How far a stitch runs from a folded edge it holds down. Chosen by us.
pub(crate) const FROM_FOLD: Length = Length::from_mm(2.0);

/// How one side of a panel is finished.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum EdgeFinish {
    /// Cut and left.
    Raw,
    /// Turned in once and stitched.
    Hem {
        /// How much is turned in.
        width: Length,
    },
    /// Turned in twice and stitched: no cut edge shows.
    DoubleHem {
        /// Width of the finished hem.
        width: Length,
        /// How much is tucked under.
        tuck: Length,
    },
    /// Turned in once and welded.
    Welded {
        /// How much is turned in.
        width: Length,
    },
    /// Tape folded round the cut edge and stitched through.
    Bound {
        /// Width of the tape before it is folded.
        tape: Length,
    },
}

impl EdgeFinish {
    /// Cloth it needs outside the finished edge.
    #[must_use]
    pub fn allowance(self) -> Length {
        match self {
            Self::Raw | Self::Bound { .. } => Length::ZERO,
            Self::Hem { width } | Self::Welded { width } => width,
            Self::DoubleHem { width, tuck } => width + tuck,
        }
    }

    /// How far in from the finished edge it reaches once made.
    #[must_use]
    pub fn reach(self) -> Length {
        match self {
            Self::Raw => Length::ZERO,
            Self::Hem { width } | Self::Welded { width } | Self::DoubleHem { width, .. } => width,
            Self::Bound { tape } => tape / 2.0,
        }
    }

    /// How far inside the finished edge it is sewn or welded.
    #[must_use]
    pub fn seam_depth(self, sewing: &Sewing) -> Option<Length> {
        match self {
            Self::Raw => None,
            Self::Hem { width } => Some(width - sewing.stitch_from_edge),
            Self::DoubleHem { width, .. } => Some(width - FROM_FOLD),
            Self::Welded { width } => Some(width / 2.0),
            Self::Bound { tape } => Some(tape / 2.0 - FROM_FOLD),
        }
    }

    /// The least that [`EdgeFinish::reach`] must exceed, for there to be something to sew.
    pub(crate) fn least_reach(self, sewing: &Sewing) -> Length {
        match self {
            Self::Raw | Self::Welded { .. } => Length::ZERO,
            Self::Hem { .. } => sewing.stitch_from_edge,
            Self::DoubleHem { .. } | Self::Bound { .. } => FROM_FOLD,
        }
    }

    /// Whether cloth is turned in along the finished edge.
    #[must_use]
    pub fn is_turned(self) -> bool {
        self.allowance() > Length::ZERO
    }
}

/// How corners are made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CornerStyle {
    /// Each hem ends in a mitre, so that the two meet without lying on one another; round the corner
    /// itself only a narrow turning is left.
    Mitred,
    /// Each hem is cut off square where the rounding begins, or at a sharp corner.
    Butted,
    /// The hem goes round the corner at its full width; Vs are taken out so that it lies flat.
    Rounded,
}

impl CornerStyle {
    /// Every one, in order.
    pub const ALL: &'static [Self] = &[Self::Mitred, Self::Butted, Self::Rounded];

    /// How it is spelt in files.
    #[must_use]
    pub const fn spelling(self) -> &'static str {
        match self {
            Self::Mitred => "mitred",
            Self::Butted => "butted",
            Self::Rounded => "rounded",
        }
    }
}

/// How all corners of a panel are made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corners {
    /// Their style.
    pub style: CornerStyle,
    /// Width of the turning left round mitred and butted corners, and beyond the seam of a mitre.
    pub turning: Length,
}

/// How parts of a panel are joined.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SeamType {
    /// Sewn once, pressed open: the same allowance on both.
    Plain,
    /// The wide allowance of one part folded round the narrow one of the other and sewn down: half
    /// the allowance on the left part, the whole on the right one.
    FlatFelled,
    /// One part laid over the other and welded: half the overlap beyond the seam on both.
    Overlapped,
}

impl SeamType {
    /// Every one, in order.
    pub const ALL: &'static [Self] = &[Self::Plain, Self::FlatFelled, Self::Overlapped];

    /// How it is spelt in files.
    #[must_use]
    pub const fn spelling(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::FlatFelled => "flat-felled",
            Self::Overlapped => "overlapped",
        }
    }

    /// Cloth beyond the seam on the part to its left and the part to its right.
    #[must_use]
    pub fn allowances(self, seam_allowance: Length) -> [Length; 2] {
        match self {
            Self::Plain => [seam_allowance; 2],
            Self::FlatFelled => [seam_allowance / 2.0, seam_allowance],
            Self::Overlapped => [seam_allowance / 2.0; 2],
        }
    }
}

macro_rules! shown_as_spelt {
    ($($name:ident),*) => {$(
        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.spelling())
            }
        }
    )*};
}
shown_as_spelt!(CornerStyle, SeamType, Print, PocketStyle);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_double_hem_takes_its_width_and_its_tuck() {
        let mm = Length::from_mm;
        let double = EdgeFinish::DoubleHem { width: mm(20.0), tuck: mm(10.0) };
        assert_eq!((double.allowance(), double.reach()), (mm(30.0), mm(20.0)));
        let bound = EdgeFinish::Bound { tape: mm(24.0) };
        assert_eq!((bound.allowance(), bound.reach()), (mm(0.0), mm(12.0)));
    }

    #[test]
    fn a_felled_seam_is_wider_on_the_part_that_is_folded() {
        let mm = Length::from_mm;
        assert_eq!(SeamType::FlatFelled.allowances(mm(16.0)), [mm(8.0), mm(16.0)]);
    }
}
