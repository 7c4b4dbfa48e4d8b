//! The finished form in space, kept beside the flat pieces it is sewn from.
//!
//! A form is a mesh for each piece: places on the flat piece, where each of them lies in the finished
//! thing, and the triangles between them. What is sewn to what can be seen from it: two places of
//! different pieces that lie at one place in space meet in a seam. Pictures and checks read it; nothing is cut
//! from it.
//!
//! Frame of a form: millimetres, seen from outside and in front; x to the right, y up, z towards the
//! one who looks.

use geometry::{Angle, Area, Length, Piece as PieceFrame, Placement, Point};
use nalgebra::Vector3;

/// A place in space.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpacePoint(pub(crate) Vector3<f64>);

impl SpacePoint {
    /// From three finite coordinates in millimetres.
    ///
    /// # Panics
    /// When a coordinate is NaN or infinite.
    #[must_use]
    pub fn from_mm(x: f64, y: f64, z: f64) -> Self {
        assert!(x.is_finite() && y.is_finite() && z.is_finite(), "a place must be finite");
        Self(Vector3::new(x, y, z))
    }

    /// Its coordinates in millimetres.
    #[must_use]
    pub fn mm(self) -> [f64; 3] {
        self.0.into()
    }

    /// Straight distance to another.
    #[must_use]
    pub fn distance(self, other: Self) -> Length {
        Length::from_mm((self.0 - other.0).norm())
    }

    /// Its image with left and right exchanged.
    #[must_use]
    pub fn mirrored(self) -> Self {
        let [x, y, z] = self.mm();
        Self::from_mm(-x, y, z)
    }
}

/// The finished form of what is sewn from some pieces.
#[derive(Clone, Debug, PartialEq)]
pub struct Form {
    /// One part for each piece, in the draft's order.
    pub parts: Vec<FormPart>,
}

/// Where one piece lies in the finished form.
#[derive(Clone, Debug, PartialEq)]
pub struct FormPart {
    /// Name of the piece.
    pub piece: String,
    /// Places on the flat piece, its finished part only.
    pub flat: Vec<Point<PieceFrame>>,
    /// Where each of them lies in the form.
    pub space: Vec<SpacePoint>,
    /// Triangles between them, by number, anticlockwise on the piece.
    pub triangles: Vec<[usize; 3]>,
}

impl Form {
    /// The form with left and right exchanged, of mirrored pieces.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        Self { parts: self.parts.iter().map(FormPart::mirrored).collect() }
    }
}

impl FormPart {
    fn mirrored(&self) -> Self {
        let flip = mirror();
        Self {
            piece: self.piece.clone(),
            flat: self.flat.iter().map(|p| flip.apply(*p)).collect(),
            space: self.space.iter().map(|p| p.mirrored()).collect(),
            triangles: self.triangles.iter().map(|&[a, b, c]| [a, c, b]).collect(),
        }
    }

    /// Area in the form.
    #[must_use]
    pub fn area(&self) -> Area {
        let of = |&[a, b, c]: &[usize; 3]| {
            let [a, b, c] = [a, b, c].map(|i| self.space[i].0);
            0.5 * (b - a).cross(&(c - a)).norm()
        };
        Area::from_mm2(self.triangles.iter().map(of).sum())
    }
}

/// Left and right exchanged.
pub(crate) fn mirror() -> Placement<PieceFrame, PieceFrame> {
    Placement::mirrored(Angle::ZERO, Point::ORIGIN)
}
