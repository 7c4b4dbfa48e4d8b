//! Things on the glass that a cover must leave free, placed as people measure them.
//!
//! A place is two distances by tape: level from the left or right glass edge to the nearer edge of
//! the thing, at the height of its middle (or its middle from the centre line); and upright from the
//! base or top glass edge to the nearer edge of the thing, in the upright through its middle. Since
//! each is measured where the other one puts the middle, both are found by turns, which ends within
//! 0.01 mm: edges of glass are much nearer level or upright than 45°.

use std::fmt;

use geometry::{Length, Outline, Pane, Path, Point, Vertex};

/// What a cover leaves free.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum KeepOutKind {
    /// A rain or light sensor.
    Sensor,
    /// A camera behind the glass.
    Camera,
    /// A handle of a sliding window or door.
    Handle,
    /// A rail of a sliding window.
    Rail,
    /// Where wipers sweep or park.
    Wipers,
    /// The arm of a mirror.
    MirrorArm,
}

impl KeepOutKind {
    /// Every one, in order.
    pub const ALL: &'static [Self] =
        &[Self::Sensor, Self::Camera, Self::Handle, Self::Rail, Self::Wipers, Self::MirrorArm];

    /// How it is spelt in files.
    #[must_use]
    pub const fn spelling(self) -> &'static str {
        match self {
            Self::Sensor => "sensor",
            Self::Camera => "camera",
            Self::Handle => "handle",
            Self::Rail => "rail",
            Self::Wipers => "wipers",
            Self::MirrorArm => "mirror-arm",
        }
    }

    /// Whether a magnet must keep away from it: magnets upset what measures and sees.
    #[must_use]
    pub const fn minds_magnets(self) -> bool {
        matches!(self, Self::Sensor | Self::Camera)
    }
}

impl fmt::Display for KeepOutKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.spelling())
    }
}

/// Where something is, level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Across {
    /// From the left glass edge to its left edge.
    FromLeft(Length),
    /// From the right glass edge to its right edge.
    FromRight(Length),
    /// From the centre line to its middle, to the right positive.
    FromCentre(Length),
}

/// Where something is, upright.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Up {
    /// From the base glass edge to its lower edge.
    FromBase(Length),
    /// From the top glass edge to its upper edge.
    FromTop(Length),
}

/// Its shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum KeepOutShape {
    /// An upright rectangle.
    Rectangle {
        /// Level.
        width: Length,
        /// Upright.
        height: Length,
    },
    /// A circle.
    Circle {
        /// Across it.
        diameter: Length,
    },
}

/// Something on the glass that a cover must leave free.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KeepOut {
    /// What it is.
    pub kind: KeepOutKind,
    /// Where it is, level.
    pub across: Across,
    /// Where it is, upright.
    pub up: Up,
    /// Its shape.
    pub shape: KeepOutShape,
}

impl KeepOut {
    /// Its edge on the pane, closed and anticlockwise; `None` when the tape readings put it nowhere
    /// near the glass.
    #[must_use]
    pub fn path(&self, outline: &Outline) -> Option<Path<Pane>> {
        let (width, height) = match self.shape {
            KeepOutShape::Rectangle { width, height } => (width, height),
            KeepOutShape::Circle { diameter } => (diameter, diameter),
        };
        let edge = outline.path();
        let bounds = edge.bounds()?;
        let mut middle = bounds.min.midpoint(bounds.max);
        for _ in 0..40 {
            let before = middle;
            let x = match self.across {
                Across::FromCentre(off) => off,
                Across::FromLeft(off) => reach(&edge, middle.y(), false)?[0] + off + width / 2.0,
                Across::FromRight(off) => reach(&edge, middle.y(), false)?[1] - off - width / 2.0,
            };
            middle = Point::new(x, middle.y());
            let y = match self.up {
                Up::FromBase(off) => reach(&edge, middle.x(), true)?[0] + off + height / 2.0,
                Up::FromTop(off) => reach(&edge, middle.x(), true)?[1] - off - height / 2.0,
            };
            middle = Point::new(middle.x(), y);
            if middle.distance(before).mm() < 0.001 {
                break;
            }
        }
        Some(match self.shape {
            KeepOutShape::Circle { diameter } => Path::circle(middle, diameter / 2.0),
            KeepOutShape::Rectangle { .. } => {
                let corner = |right: f64, up: f64| Vertex {
                    point: middle.moved(width * (right / 2.0), height * (up / 2.0)),
                    bulge: 0.0,
                };
                let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
                Path::closed(corners.map(|(right, up)| corner(right, up)).to_vec())
            }
        })
    }
}

/// First and last place where the upright at that x, or the level at that y, meets the glass edge; of
/// one beside the glass, where the nearest one does that meets it.
fn reach(edge: &Path<Pane>, at: Length, upright: bool) -> Option<[Length; 2]> {
    let bounds = edge.bounds()?;
    let hair = Length::from_mm(1.0);
    let (min, max) = if upright {
        (bounds.min.x() + hair, bounds.max.x() - hair)
    } else {
        (bounds.min.y() + hair, bounds.max.y() - hair)
    };
    let at = at.max(min).min(max);
    let ends = if upright {
        [Point::new(at, bounds.min.y() - hair), Point::new(at, bounds.max.y() + hair)]
    } else {
        [Point::new(bounds.min.x() - hair, at), Point::new(bounds.max.x() + hair, at)]
    };
    let met = edge.meetings(&Path::polyline(ends));
    let along = met.iter().map(|p| if upright { p.y() } else { p.x() });
    let first = along.clone().reduce(Length::min)?;
    Some([first, along.reduce(Length::max)?])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(mm: f64) -> Length {
        Length::from_mm(mm)
    }

    /// A trapezium 1000 wide at the base, 800 at the top, 600 high.
    fn trapezium() -> Outline {
        let corners = [(-500.0, 0.0), (500.0, 0.0), (400.0, 600.0), (-400.0, 600.0)];
        let corners = corners.map(|(x, y)| Point::from_mm(x, y)).to_vec();
        Outline::new(corners, vec![mm(0.0); 4], vec![mm(20.0); 4]).unwrap()
    }

    #[test]
    fn a_place_is_measured_from_the_glass_edges() {
        let shape = KeepOutShape::Rectangle { width: mm(100.0), height: mm(60.0) };
        let (across, up) = (Across::FromLeft(mm(50.0)), Up::FromTop(mm(30.0)));
        let sensor = KeepOut { kind: KeepOutKind::Sensor, across, up, shape };
        let bounds = sensor.path(&trapezium()).unwrap().bounds().unwrap();
        // Its middle is at 600 − 30 − 30 = 540, where the left edge is at −500 + 540/6 = −410.
        assert!((bounds.min.x().mm() + 360.0).abs() < 0.01, "{bounds:?}");
        assert!((bounds.max.y().mm() - 570.0).abs() < 0.01);
        let shape = KeepOutShape::Circle { diameter: mm(40.0) };
        let (across, up) = (Across::FromCentre(mm(-10.0)), Up::FromBase(mm(5.0)));
        let handle = KeepOut { kind: KeepOutKind::Handle, across, up, shape };
        let bounds = handle.path(&trapezium()).unwrap().bounds().unwrap();
        assert!((bounds.min.y().mm() - 5.0).abs() < 0.01);
        assert!((bounds.min.x().mm() + 30.0).abs() < 0.01);
    }
}
