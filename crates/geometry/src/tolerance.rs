//! The project's tolerances, each with its reason.

use crate::Length;

/// How far a chord may stand off the curve it replaces when an outline is written as points:
/// the outline contract promises 0.1 mm; a tenth of that leaves room for rounding of coordinates.
pub const CHORD: Length = Length::from_mm(0.01);

/// Two points nearer than this are one point. Chosen by us: a hundred times finer than the 0.01 mm
/// to which the file formats must agree.
pub const SAME_POINT: Length = Length::from_mm(1e-4);

/// An edge of larger radius is straight. Chosen by us: offsets of rounded corners failed from
/// 24 km up, where the middle of the circle is too far away for double precision; at 10 km a 2 m
/// edge stands 0.05 mm off straight, less than any tape shows.
pub const STRAIGHT: Length = Length::from_mm(1e7);
