//! Quantities, frames, paths of lines and arcs, and the outline of a pane.
//!
//! Everything here is pure: values in, values out. Lengths are millimetres inside, y is up, angles
//! run anticlockwise, and left and right are as seen from outside, facing the glass.

mod carry;
mod outline;
mod path;
mod point;
mod quantity;
pub mod shape;
pub mod tolerance;

pub use outline::{Outline, OutlineError};
pub use path::{Bounds, Enclosed, Path, Segment, Vertex};
pub use point::{Frame, Page, Pane, Piece, Placement, Point, Roll};
pub use quantity::{Angle, Area, Length, MM_PER_INCH};
