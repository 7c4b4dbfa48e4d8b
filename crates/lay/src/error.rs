//! Why nothing was laid, and the way out.

use geometry::{Area, Length, Piece, Point};
use thiserror::Error;

use crate::ask::{LARGEST, MOST_PIECES, MOST_POINTS};
use crate::recheck::LayFault;

/// Why nothing was laid.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum LayError {
    /// The roll's width is not one.
    #[error(
        "cloth width is {found:.1}, needed more than 0 and at most {LARGEST:.0}; give the usable width of the roll"
    )]
    Width {
        /// The width asked for.
        found: Length,
    },
    /// The gap is not one.
    #[error(
        "gap between pieces is {found:.1}, needed 0 to {LARGEST:.0}; give 0 to let pieces touch"
    )]
    Gap {
        /// The gap asked for.
        found: Length,
    },
    /// The list is empty.
    #[error("no piece to lay; give at least one")]
    NoShapes,
    /// More than can be laid in one go.
    #[error("{found} pieces to lay, at most {MOST_PIECES} in one lay; split the run")]
    TooMany {
        /// How many were asked for.
        found: usize,
    },
    /// Places could not say which of the two they mean.
    #[error("two pieces are named `{name}`; give each its own name, or one of them a higher count")]
    NameTwice {
        /// The name.
        name: String,
    },
    /// None is wanted.
    #[error("piece `{name}` has count 0; leave it out or give a count of 1 or more")]
    NoCount {
        /// Which piece.
        name: String,
    },
    /// No turn is allowed.
    #[error("piece `{name}` allows no turn; give at least one, 0° to lay it as drawn")]
    NoTurns {
        /// Which piece.
        name: String,
    },
    /// Not an outline.
    #[error(
        "piece `{name}` has {found} different points, needed 3 or more; draw its cut line again"
    )]
    TooFewPoints {
        /// Which piece.
        name: String,
        /// Points left once repeated ones are dropped.
        found: usize,
    },
    /// An outline far too fine.
    #[error(
        "piece `{name}` has {found} points, at most {MOST_POINTS}; use a coarser outline, 0.1 mm is fine enough"
    )]
    TooManyPoints {
        /// Which piece.
        name: String,
        /// Points given.
        found: usize,
    },
    /// A point out of all measure.
    #[error("piece `{name}` has a point at ({:.0}, {:.0}) mm, needed within {LARGEST:.0} of its origin; check its unit", point.x_mm(), point.y_mm())]
    TooFar {
        /// Which piece.
        name: String,
        /// The point.
        point: Point<Piece>,
    },
    /// An outline that crosses or touches itself.
    #[error("the outline of piece `{name}` crosses or touches itself near ({:.1}, {:.1}) mm; put its points in order around it, or split it there", at.x_mm(), at.y_mm())]
    Crossing {
        /// Which piece.
        name: String,
        /// Where, to within the length of an edge.
        at: Point<Piece>,
    },
    /// All points on a line.
    #[error("piece `{name}` encloses {:.4} mm², no cloth at all; check its points", found.mm2())]
    NoArea {
        /// Which piece.
        name: String,
        /// What it encloses.
        found: Area,
    },
    /// Wider than the cloth however it is turned.
    #[error(
        "piece `{name}` is {across:.0} across at its narrowest allowed turn, cloth is {width:.0}: allow another turn, take a wider roll or join it from two"
    )]
    TooWide {
        /// Which piece.
        name: String,
        /// Its extent across the roll at the best turn.
        across: Length,
        /// Usable width of the roll.
        width: Length,
    },
    /// Its outline could not be grown by half the gap.
    #[error(
        "no outline with half of the {gap:.1} gap could be drawn around piece `{name}`; use a coarser outline or a gap of 0"
    )]
    NoRoom {
        /// Which piece.
        name: String,
        /// The gap asked for.
        gap: Length,
    },
    /// The lay failed its re-check even with room to spare.
    #[error("no lay passed its re-check ({0}); lay fewer pieces at a time, or give a gap of 1 mm")]
    Unconfirmed(LayFault),
}
