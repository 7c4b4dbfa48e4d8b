//! What is asked: cloth, gap and shapes; and the checks that make it fit to be laid.

use geometry::{Angle, Area, Length, Path, Piece, Placement, Point, Roll, tolerance};

use crate::LayError;

/// A piece to be cut, some number of times.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    /// Its name, different from every other in the ask.
    pub name: String,
    /// How many to cut.
    pub count: usize,
    /// The turns its grain allows, anticlockwise; any of them may be used.
    pub turns: Vec<Angle>,
    /// Its cut line, in either sense, anywhere relative to its own origin; the last point joins the
    /// first. Curves come as points.
    pub outline: Vec<Point<Piece>>,
}

/// Shapes to lay on a roll.
#[derive(Clone, Debug, PartialEq)]
pub struct Ask {
    /// Usable width of the roll, across it; a piece may touch either selvedge.
    pub width: Length,
    /// Cloth to leave between pieces; none is kept to the selvedges or the cut end.
    pub gap: Length,
    /// What to lay.
    pub shapes: Vec<Shape>,
}

/// Largest roll width, gap, coordinate or piece accepted. Chosen by us: no roll is 100 m wide, and
/// rounding stays below [`crate::RECHECK_TOLERANCE`] by far.
pub const LARGEST: Length = Length::from_mm(100_000.0);

/// Most pieces in one lay. Chosen by us: work grows with the square of the number.
pub const MOST_PIECES: usize = 5_000;

/// Most points in one outline. Chosen by us: a 10 m outline to 0.01 mm needs some hundreds.
pub const MOST_POINTS: usize = 5_000;

/// Least area of a piece. Chosen by us: smaller is a slip of the drawing, not cloth.
const LEAST_AREA: Area = Area::from_mm2(0.01);

/// A shape found fit to be laid: outline anticlockwise without repeated points.
#[derive(Clone, Debug)]
pub(crate) struct Sound {
    pub(crate) outline: Path<Piece>,
    pub(crate) area: Area,
    /// Those of its turns at which it fits across the roll.
    pub(crate) turns: Vec<Angle>,
}

impl Ask {
    /// Checks everything about the ask; the shapes come back sound, in order.
    pub(crate) fn sound(&self) -> Result<Vec<Sound>, LayError> {
        if self.width <= Length::ZERO || self.width > LARGEST {
            return Err(LayError::Width { found: self.width });
        }
        if self.gap < Length::ZERO || self.gap > LARGEST {
            return Err(LayError::Gap { found: self.gap });
        }
        if self.shapes.is_empty() {
            return Err(LayError::NoShapes);
        }
        let n_pieces = self.shapes.iter().fold(0_usize, |n, shape| n.saturating_add(shape.count));
        if n_pieces > MOST_PIECES {
            return Err(LayError::TooMany { found: n_pieces });
        }
        for (i, shape) in self.shapes.iter().enumerate() {
            if self.shapes[..i].iter().any(|other| other.name == shape.name) {
                return Err(LayError::NameTwice { name: shape.name.clone() });
            }
        }
        self.shapes.iter().map(|shape| shape.sound(self.width)).collect()
    }
}

impl Shape {
    fn sound(&self, width: Length) -> Result<Sound, LayError> {
        let name = || self.name.clone();
        if self.count == 0 {
            return Err(LayError::NoCount { name: name() });
        }
        if self.turns.is_empty() {
            return Err(LayError::NoTurns { name: name() });
        }
        if self.outline.len() > MOST_POINTS {
            return Err(LayError::TooManyPoints { name: name(), found: self.outline.len() });
        }
        if let Some(&point) = self.outline.iter().find(|p| p.x().abs().max(p.y().abs()) > LARGEST) {
            return Err(LayError::TooFar { name: name(), point });
        }
        let outline = Path::polygon(without_repeats(&self.outline));
        if outline.vertices().len() < 3 {
            return Err(LayError::TooFewPoints { name: name(), found: outline.vertices().len() });
        }
        if let Some(at) = crossing(&outline) {
            return Err(LayError::Crossing { name: name(), at });
        }
        let area = outline.area();
        if area.abs() < LEAST_AREA {
            return Err(LayError::NoArea { name: name(), found: area.abs() });
        }
        let outline = if area < Area::ZERO { outline.reversed() } else { outline };
        // The rounding of a turn must not make a piece as wide as the cloth too wide for it.
        let most = width + tolerance::SAME_POINT;
        let across = |turn: Angle| {
            let placed = outline.placed(&Placement::<Piece, Roll>::new(turn, Point::ORIGIN));
            placed.bounds().expect("an outline has points").height()
        };
        let turns: Vec<Angle> = self.turns.iter().copied().filter(|t| across(*t) <= most).collect();
        if turns.is_empty() {
            let least = self.turns.iter().map(|t| across(*t)).fold(LARGEST * 3.0, Length::min);
            return Err(LayError::TooWide { name: name(), across: least, width });
        }
        Ok(Sound { outline, area: area.abs(), turns })
    }
}

/// The points, but one where neighbours (the last and first too) are one point.
fn without_repeats(points: &[Point<Piece>]) -> Vec<Point<Piece>> {
    let same = |a: Point<Piece>, b: Point<Piece>| a.distance(b) < tolerance::SAME_POINT;
    let mut kept: Vec<Point<Piece>> = Vec::with_capacity(points.len());
    for &point in points {
        if kept.last().is_none_or(|last| !same(*last, point)) {
            kept.push(point);
        }
    }
    while kept.len() > 1 && same(kept[0], kept[kept.len() - 1]) {
        kept.pop();
    }
    kept
}

/// A point where the outline crosses or touches itself, or turns back on itself.
fn crossing(outline: &Path<Piece>) -> Option<Point<Piece>> {
    let corners: Vec<[f64; 2]> = outline.vertices().iter().map(|v| v.point.mm()).collect();
    let n = corners.len();
    let edge = |i: usize| [corners[i % n], corners[(i + 1) % n]];
    for i in 0..n {
        let [a, b] = edge(i);
        let [_, c] = edge(i + 1);
        let (u, v) = ([b[0] - a[0], b[1] - a[1]], [c[0] - b[0], c[1] - b[1]]);
        let (cross, dot) = (u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1]);
        // Turning back: the next edge lies on this one.
        if dot < 0.0 && cross.abs() <= tolerance::SAME_POINT.mm() * u[0].hypot(u[1]) {
            return Some(Point::from_mm(b[0], b[1]));
        }
        let meets = (i + 2..n).filter(|j| (j + 1) % n != i).map(edge);
        for [c, d] in meets {
            if crate::recheck::distance_between([a, b], [c, d]) == 0.0 {
                return Some(Point::from_mm(c[0], c[1]).midpoint(Point::from_mm(d[0], d[1])));
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shape(corners: &[(f64, f64)]) -> Shape {
        Shape {
            name: "a".into(),
            count: 1,
            turns: vec![Angle::ZERO],
            outline: corners.iter().map(|&(x, y)| Point::from_mm(x, y)).collect(),
        }
    }

    const PANEL: [(f64, f64); 4] = [(0.0, 0.0), (700.0, 0.0), (700.0, 1620.0), (0.0, 1620.0)];

    fn message(width: f64, gap: f64, shapes: Vec<Shape>) -> String {
        let ask = Ask { width: Length::from_mm(width), gap: Length::from_mm(gap), shapes };
        ask.sound().expect_err("the ask is unsound").to_string()
    }

    #[test]
    fn a_piece_wider_than_the_cloth_is_told_the_way_out() {
        assert_eq!(
            message(1500.0, 0.0, vec![shape(&PANEL)]),
            "piece `a` is 1620 mm across at its narrowest allowed turn, cloth is 1500 mm: \
             allow another turn, take a wider roll or join it from two"
        );
    }

    #[test]
    fn turns_that_do_not_fit_are_left_out() {
        let mut panel = shape(&PANEL);
        panel.turns = [0.0, 90.0, 180.0, -90.0].map(Angle::from_degrees).to_vec();
        let sound = panel.sound(Length::from_mm(1500.0)).unwrap();
        assert_eq!(sound.turns, [90.0, -90.0].map(Angle::from_degrees));
        // As wide as the cloth is not too wide, whatever the turn's rounding.
        assert_eq!(panel.sound(Length::from_mm(1620.0)).unwrap().turns.len(), 4);
    }

    #[test]
    fn cloth_that_is_none_is_refused() {
        for width in [0.0, -3.0, 1e9] {
            let message = message(width, 0.0, vec![shape(&PANEL)]);
            assert!(message.starts_with("cloth width is"), "{message}");
        }
        assert!(
            message(1500.0, -1.0, vec![shape(&PANEL)]).starts_with("gap between pieces is -1.0")
        );
        assert!(message(1500.0, 0.0, vec![]).starts_with("no piece to lay"));
    }

    #[test]
    fn counts_and_names_are_checked() {
        let none = Shape { count: 0, ..shape(&PANEL) };
        assert!(message(1500.0, 0.0, vec![none]).contains("count 0"));
        let fixed = Shape { turns: vec![], ..shape(&PANEL) };
        assert!(message(1500.0, 0.0, vec![fixed]).contains("allows no turn"));
        let many = Shape { count: usize::MAX, ..shape(&PANEL) };
        assert!(message(1500.0, 0.0, vec![many, shape(&PANEL)]).contains("split the run"));
        assert!(message(1500.0, 0.0, vec![shape(&PANEL), shape(&PANEL)]).contains("two pieces"));
    }

    #[test]
    fn outlines_that_enclose_no_cloth_are_refused() {
        let refused = |corners: &[(f64, f64)]| message(1500.0, 0.0, vec![shape(corners)]);
        assert!(refused(&[(0.0, 0.0), (9.0, 0.0)]).contains("2 different points"));
        assert!(refused(&[(0.0, 0.0), (9.0, 0.0), (0.0, 0.0)]).contains("2 different points"));
        assert!(refused(&[(0.0, 0.0), (9.0, 0.0), (20.0, 0.0)]).contains("touches itself"));
        assert!(refused(&[(0.0, 0.0), (0.01, 0.0), (0.01, 0.2)]).contains("no cloth"));
        assert!(refused(&[(0.0, 0.0), (9e7, 0.0), (0.0, 9.0)]).contains("check its unit"));
    }

    #[test]
    fn outlines_that_cross_or_touch_themselves_are_refused() {
        let refused = |corners: &[(f64, f64)]| message(1500.0, 0.0, vec![shape(corners)]);
        let bow_tie = [(0.0, 0.0), (100.0, 100.0), (100.0, 0.0), (0.0, 100.0)];
        assert!(refused(&bow_tie).contains("crosses or touches itself"));
        let spike =
            [(0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (100.0, 80.0), (100.0, 50.0), (0.0, 60.0)];
        assert!(refused(&spike).contains("crosses or touches itself"));
        let pinched =
            [(0.0, 0.0), (100.0, 0.0), (50.0, 50.0), (100.0, 100.0), (0.0, 100.0), (50.0, 50.0)];
        assert!(refused(&pinched).contains("crosses or touches itself"));
    }

    #[test]
    fn either_sense_and_repeated_points_are_accepted() {
        let width = Length::from_mm(1700.0);
        let plain = shape(&PANEL).sound(width).unwrap();
        let mut corners = PANEL.to_vec();
        corners.insert(1, (0.0, 0.00001));
        corners.push((0.0, 0.0));
        corners.reverse();
        let sound = shape(&corners).sound(width).unwrap();
        assert_eq!(sound.area, plain.area);
        assert!(sound.outline.area() > Area::ZERO);
        assert_eq!(sound.outline.vertices().len(), 4);
    }
}
