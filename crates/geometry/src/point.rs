//! Points that know which frame they are in.
//!
//! All frames are millimetres with y up and angles anticlockwise; exporters flip once.

use std::fmt::{self, Debug};
use std::marker::PhantomData;

use crate::{Angle, Length};

/// A coordinate frame: a name that keeps points of different planes apart.
pub trait Frame: Copy + Debug + PartialEq {
    /// Its name, for messages.
    const NAME: &'static str;
}

macro_rules! frame {
    ($(#[$doc:meta])* $name:ident, $text:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub struct $name;
        impl Frame for $name {
            const NAME: &'static str = $text;
        }
    };
}

frame!(
    /// The developed (flattened) plane of one pane as seen from outside: origin where the vertical
    /// centre line meets the base edge, x to the right, y up.
    Pane, "pane"
);
frame!(
    /// The plane of one piece to be cut, outside face up: x across the grain, y along it, unless
    /// the piece says otherwise.
    Piece, "piece"
);
frame!(
    /// The cloth on the table: x along the roll from its cut end, y across from the lower selvedge.
    Roll, "roll"
);
frame!(
    /// A page of paper: origin at its lower left corner.
    Page, "page"
);

/// A point in frame `F`.
#[derive(Clone, Copy, PartialEq)]
pub struct Point<F> {
    x: f64,
    y: f64,
    frame: PhantomData<F>,
}

impl<F: Frame> Point<F> {
    /// The origin of the frame.
    pub const ORIGIN: Self = Self { x: 0.0, y: 0.0, frame: PhantomData };

    /// From two finite coordinates in millimetres.
    ///
    /// # Panics
    /// When a coordinate is NaN or infinite.
    #[must_use]
    pub const fn from_mm(x: f64, y: f64) -> Self {
        assert!(x.is_finite() && y.is_finite(), "a point must be finite");
        Self { x, y, frame: PhantomData }
    }

    /// From two lengths.
    #[must_use]
    pub const fn new(x: Length, y: Length) -> Self {
        Self::from_mm(x.mm(), y.mm())
    }

    /// Distance to the right of the origin.
    #[must_use]
    pub const fn x(self) -> Length {
        Length::from_mm(self.x)
    }

    /// Distance above the origin.
    #[must_use]
    pub const fn y(self) -> Length {
        Length::from_mm(self.y)
    }

    /// Distance to the right of the origin, in millimetres.
    #[must_use]
    pub const fn x_mm(self) -> f64 {
        self.x
    }

    /// Distance above the origin, in millimetres.
    #[must_use]
    pub const fn y_mm(self) -> f64 {
        self.y
    }

    /// Both coordinates in millimetres.
    #[must_use]
    pub const fn mm(self) -> [f64; 2] {
        [self.x, self.y]
    }

    /// Straight distance to another point.
    #[must_use]
    pub fn distance(self, other: Self) -> Length {
        Length::from_mm((self.x - other.x).hypot(self.y - other.y))
    }

    /// Moved to the right and up.
    #[must_use]
    pub fn moved(self, right: Length, up: Length) -> Self {
        Self::from_mm(self.x + right.mm(), self.y + up.mm())
    }

    /// Moved by `distance` in the direction `heading`, measured anticlockwise from the x axis.
    #[must_use]
    pub fn toward(self, heading: Angle, distance: Length) -> Self {
        let (sin, cos) = heading.radians().sin_cos();
        Self::from_mm(self.x + distance.mm() * cos, self.y + distance.mm() * sin)
    }

    /// Direction from here to `other`, anticlockwise from the x axis.
    #[must_use]
    pub fn heading_to(self, other: Self) -> Angle {
        Angle::from_radians((other.y - self.y).atan2(other.x - self.x))
    }

    /// The point halfway to `other`.
    #[must_use]
    pub fn midpoint(self, other: Self) -> Self {
        Self::from_mm(0.5 * (self.x + other.x), 0.5 * (self.y + other.y))
    }
}

impl<F: Frame> Debug for Point<F> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}({:.4}, {:.4})", F::NAME, self.x, self.y)
    }
}

/// A change of frame that keeps shape: mirror (optional), then turn, then move.
///
/// `x' = cos·s·x − sin·y + dx`, `y' = sin·s·x + cos·y + dy`, with s = −1 when mirrored left to right.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement<From, To> {
    mirrored: bool,
    turn: Angle,
    move_mm: [f64; 2],
    frames: PhantomData<(From, To)>,
}

impl<From: Frame, To: Frame> Placement<From, To> {
    /// Turn about the origin of `From`, then put that origin at `at`.
    #[must_use]
    pub const fn new(turn: Angle, at: Point<To>) -> Self {
        Self { mirrored: false, turn, move_mm: [at.x, at.y], frames: PhantomData }
    }

    /// As [`Placement::new`], mirrored left to right (x to −x) before turning.
    #[must_use]
    pub const fn mirrored(turn: Angle, at: Point<To>) -> Self {
        Self { mirrored: true, turn, move_mm: [at.x, at.y], frames: PhantomData }
    }

    /// Whether left and right change places.
    #[must_use]
    pub const fn is_mirrored(&self) -> bool {
        self.mirrored
    }

    /// The turn, anticlockwise.
    #[must_use]
    pub const fn turn(&self) -> Angle {
        self.turn
    }

    /// Where the origin of `From` goes.
    #[must_use]
    pub const fn at(&self) -> Point<To> {
        Point::from_mm(self.move_mm[0], self.move_mm[1])
    }

    /// The point's place in the other frame.
    #[must_use]
    pub fn apply(&self, p: Point<From>) -> Point<To> {
        let (sin, cos) = self.turn.radians().sin_cos();
        let x = if self.mirrored { -p.x } else { p.x };
        Point::from_mm(cos * x - sin * p.y + self.move_mm[0], sin * x + cos * p.y + self.move_mm[1])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_placement_turns_then_moves() {
        let place =
            Placement::<Piece, Roll>::new(Angle::from_degrees(90.0), Point::from_mm(10.0, 0.0));
        let p = place.apply(Point::from_mm(1.0, 0.0));
        assert!(p.distance(Point::from_mm(10.0, 1.0)).mm() < 1e-12);
    }
}
