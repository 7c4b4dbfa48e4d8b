//! One flat part to be cut, with every line and mark that belongs to it.

use geometry::{Angle, Length, Path, Piece as PieceFrame, Point};

use crate::form::mirror;

/// One flat part to be cut.
///
/// Lengths are millimetres in the piece's own frame, outside face up; [`Piece::grain_line`] says
/// which way the roll runs.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// What the benches call it: `front panel`, `front panel, left part`.
    pub name: String,
    /// The pane it is for.
    pub pane: String,
    /// How many to cut.
    pub count: u32,
    /// The cloth it is cut from, by the workshop's name for it.
    pub cloth: String,
    /// Where the knife goes: closed, anticlockwise.
    pub cut_line: Path<PieceFrame>,
    /// Holes cut out of it, each closed.
    pub cut_outs: Vec<Path<PieceFrame>>,
    /// Where the needle goes, and where a raw finished edge lies.
    pub sew_lines: Vec<Path<PieceFrame>>,
    /// Where cloth is turned.
    pub fold_lines: Vec<Path<PieceFrame>>,
    /// Lines drawn for the bench that are neither cut, sewn nor folded.
    pub internal_lines: Vec<Path<PieceFrame>>,
    /// Small cuts in the edge that say what meets what.
    pub notches: Vec<Notch>,
    /// Places marked through the cloth: middles of grips, ends of straps.
    pub drill_points: Vec<DrillPoint>,
    /// Direction of the warp, from and to.
    pub grain_line: [Point<PieceFrame>; 2],
    /// Turns on the cloth, about the piece's origin, that the cloth and its print allow.
    pub turns: Vec<Angle>,
    /// Words drawn on the piece beside its name, count and cloth, which every drawing adds itself.
    pub texts: Vec<PieceText>,
}

impl Piece {
    /// The piece with left and right exchanged; its words stay readable.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let flip = mirror();
        let paths = |paths: &[Path<PieceFrame>]| paths.iter().map(|p| p.placed(&flip)).collect();
        let notch = |notch: &Notch| Notch {
            at: flip.apply(notch.at),
            inward: Angle::from_degrees(180.0) - notch.inward,
            ..*notch
        };
        let drill = |drill: &DrillPoint| DrillPoint { at: flip.apply(drill.at), ..drill.clone() };
        let words = |text: &PieceText| PieceText { at: flip.apply(text.at), ..text.clone() };
        Self {
            cut_line: self.cut_line.placed(&flip),
            cut_outs: paths(&self.cut_outs),
            sew_lines: paths(&self.sew_lines),
            fold_lines: paths(&self.fold_lines),
            internal_lines: paths(&self.internal_lines),
            notches: self.notches.iter().map(notch).collect(),
            drill_points: self.drill_points.iter().map(drill).collect(),
            grain_line: self.grain_line.map(|end| flip.apply(end)),
            texts: self.texts.iter().map(words).collect(),
            ..self.clone()
        }
    }
}

/// A V or slit in the cut line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Notch {
    /// On the cut line.
    pub at: Point<PieceFrame>,
    /// Into the piece.
    pub inward: Angle,
    /// How deep it goes.
    pub depth: Length,
    /// Its form.
    pub form: NotchForm,
}

/// How a notch is cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NotchForm {
    /// A straight cut.
    Slit,
    /// Two cuts that meet.
    Vee {
        /// How far apart they are at the edge.
        width: Length,
    },
}

/// A place marked through the cloth.
#[derive(Clone, Debug, PartialEq)]
pub struct DrillPoint {
    /// Where.
    pub at: Point<PieceFrame>,
    /// What it is for: `grip 3`.
    pub name: String,
    /// Diameter of the magnet that sits there, drawn as a circle for the bench; nothing where none does.
    pub diameter: Length,
}

/// Words drawn on a piece.
#[derive(Clone, Debug, PartialEq)]
pub struct PieceText {
    /// Middle of the base line of the words.
    pub at: Point<PieceFrame>,
    /// Height of capital letters.
    pub height: Length,
    /// What they say.
    pub text: String,
}
