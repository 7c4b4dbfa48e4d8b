//! Outline and grips to pieces ready to cut.

mod piece;

pub use piece::{DrillPoint, Notch, NotchForm, Piece, PieceText};
