//! An outline standing upright on its vehicle: its centre line, its named corners, and every reading
//! as a function of it.
//!
//! The centre line is the vertical through the middle of `width.base`, which lies 150 mm above the
//! base edge's point on that same centre line: a fixed point, found by iteration. The step shrinks by
//! (slope of the base edge) × (mean slope of the side edges off the vertical), well below 1 for
//! glass. Its derivative comes from one Newton step on the same equation.
//!
//! A small pane, shorter than 500 mm, uses a third of its height or width instead of 150 and 200 mm.
//! Whether a pane is small is a property of the pane, settled before its outline is fitted, so that
//! readings stay smooth functions of the outline.

use geometry::shape::{Crossing, Pair, Place, Scalar, Shape};
use geometry::{Length, Outline};

use crate::name::{Column, Corner, Edge, Level, Slope, Span, Station};

/// Height below which a pane is small, mm.
pub const SMALL_PANE: Length = Length::from_mm(500.0);
/// How far above the base edge (below the top edge) the low (high) width is taken, mm.
const LEVEL: f64 = 150.0;
/// How far in from the ends of `width.base` the side heights are taken, mm.
const IN_FROM_SIDE: f64 = 200.0;

/// Which corners of a polygon are the four named ones; a triangle gives one corner two names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NamedCorners {
    index: [usize; 4],
}

impl NamedCorners {
    /// Four corners are named in order. Of three, the most level edge is the base (or the top), and
    /// the corner across from it has both other names. Of more, each name goes to the corner farthest
    /// out in its direction, measured in widths and heights of the pane.
    #[must_use]
    pub fn of(corners: &[[f64; 2]]) -> Self {
        if corners.len() == 4 {
            return Self { index: [0, 1, 2, 3] };
        }
        if let [a, b, c] = corners {
            return Self::of_triangle([*a, *b, *c]);
        }
        let extent = |k: usize| {
            let (low, high) = corners
                .iter()
                .fold((f64::MAX, f64::MIN), |(low, high), c| (low.min(c[k]), high.max(c[k])));
            (high - low).max(f64::MIN_POSITIVE)
        };
        let (w, h) = (extent(0), extent(1));
        let farthest = |sx: f64, sy: f64| {
            let out = |c: &[f64; 2]| sx * c[0] / w + sy * c[1] / h;
            (0..corners.len())
                .max_by(|&a, &b| out(&corners[a]).total_cmp(&out(&corners[b])))
                .expect("a pane has corners")
        };
        Self {
            index: [
                farthest(-1.0, -1.0),
                farthest(1.0, -1.0),
                farthest(1.0, 1.0),
                farthest(-1.0, 1.0),
            ],
        }
    }

    fn of_triangle(corners: [[f64; 2]; 3]) -> Self {
        let level = |i: usize| {
            let (a, b) = (corners[i], corners[(i + 1) % 3]);
            ((b[1] - a[1]) / (b[0] - a[0]).hypot(b[1] - a[1])).abs()
        };
        let flattest = (0..3)
            .min_by(|&i, &j| level(i).total_cmp(&level(j)))
            .expect("a triangle has three edges");
        let (from, to, apex) = (flattest, (flattest + 1) % 3, (flattest + 2) % 3);
        // Corners run anticlockwise, so a base runs to the right and a top to the left.
        match corners[to][0] > corners[from][0] {
            true => Self { index: [from, to, apex, apex] },
            false => Self { index: [apex, apex, from, to] },
        }
    }

    /// The number of a named corner.
    #[must_use]
    pub fn corner(&self, corner: Corner) -> usize {
        self.index[corner as usize]
    }

    /// The corners between which a named edge runs, anticlockwise.
    #[must_use]
    pub fn edge(&self, edge: Edge) -> (usize, usize) {
        let (from, to) = match edge {
            Edge::Base => (Corner::BaseLeft, Corner::BaseRight),
            Edge::Right => (Corner::BaseRight, Corner::TopRight),
            Edge::Top => (Corner::TopRight, Corner::TopLeft),
            Edge::Left => (Corner::TopLeft, Corner::BaseLeft),
        };
        (self.corner(from), self.corner(to))
    }
}

/// A point of the boundary where a station lies.
#[derive(Clone, Copy, Debug)]
pub struct StationPoint<D> {
    /// Where.
    pub at: Pair<D>,
    /// On which part of the boundary.
    pub place: Place,
    /// Outward normal there.
    pub normal: [f64; 2],
}

/// A shape with its centre line found.
#[derive(Clone, Debug)]
pub struct Standing<D> {
    shape: Shape<D>,
    names: NamedCorners,
    centre_x: D,
    base_y: D,
    top_y: D,
    side: [D; 2],
    level_step: D,
    side_step: D,
}

impl<D: Scalar> Standing<D> {
    /// Stands a shape up; `None` when no centre line can be found on it.
    #[must_use]
    pub fn new(shape: Shape<D>, names: NamedCorners, small: bool) -> Option<Self> {
        let centre_x = Self::centre_line(&shape, small)?;
        let [base, top] = vertical(&shape, centre_x)?;
        let height = top.along - base.along;
        let level_step = if small { height / 3.0 } else { D::from(LEVEL) };
        let [left, right] = level(&shape, base.along + level_step)?;
        let width = right.along - left.along;
        Some(Self {
            centre_x,
            base_y: base.along,
            top_y: top.along,
            side: [left.along, right.along],
            level_step,
            side_step: if small { width / 3.0 } else { D::from(IN_FROM_SIDE) },
            shape,
            names,
        })
    }

    /// x of the centre line: the fixed point found on plain numbers, then one step that carries the
    /// derivatives.
    fn centre_line(shape: &Shape<D>, small: bool) -> Option<D> {
        let plain = shape.plain();
        let corners = plain.fillets().iter().map(|f| f.centre[0]);
        let mut x = corners.sum::<f64>() / plain.n_corners() as f64;
        for _ in 0..40 {
            let (middle, pace) = middle_of_base(&plain, x, small)?;
            let step = (middle - x) / (1.0 - pace);
            if !step.is_finite() {
                return None;
            }
            if step.abs() < 1e-10 {
                let (middle, pace) = middle_of_base(shape, D::from(x), small)?;
                return Some((middle - x) / (1.0 - pace) + x);
            }
            x += step;
        }
        None
    }

    /// The shape itself.
    #[must_use]
    pub fn shape(&self) -> &Shape<D> {
        &self.shape
    }

    /// Where the centre line meets the base edge: the origin of the pane's frame.
    #[must_use]
    pub fn origin(&self) -> Pair<D> {
        [self.centre_x, self.base_y]
    }

    /// Height along the centre line.
    #[must_use]
    pub fn height(&self) -> D {
        self.top_y - self.base_y
    }

    /// x of a column's vertical; `place` is its distance in from the end of `width.base`, mm.
    #[must_use]
    pub fn column_x(&self, column: Column, place: Option<f64>) -> D {
        let step = place.map_or(self.side_step, D::from);
        match column {
            Column::Left => self.side[0] + step,
            Column::Centre => self.centre_x,
            Column::Right => self.side[1] - step,
        }
    }

    /// y of a width's level; `place` is its distance from the base (top) edge, mm.
    #[must_use]
    pub fn level_y(&self, which: Level, place: Option<f64>) -> D {
        let step = place.map_or(self.level_step, D::from);
        match which {
            Level::Base => self.base_y + step,
            Level::Middle => (self.base_y + self.top_y) * 0.5,
            Level::Top => self.top_y - step,
        }
    }

    /// Both ends of a span, where they are points of the boundary: heights, widths, diagonals and
    /// edges. `None` for other spans and where the tape would miss the glass.
    #[must_use]
    pub fn ends(&self, span: Span, place: Option<f64>) -> Option<[Pair<D>; 2]> {
        let middle = |corner: Corner| self.shape.fillets()[self.names.corner(corner)].middle;
        match span {
            Span::Height(column) => {
                let x = self.column_x(column, place);
                vertical(&self.shape, x).map(|ends| ends.map(|c| [x, c.along]))
            }
            Span::Width(which) => {
                let y = self.level_y(which, place);
                level(&self.shape, y).map(|ends| ends.map(|c| [c.along, y]))
            }
            Span::Diagonal(Slope::Rising) => {
                Some([middle(Corner::BaseLeft), middle(Corner::TopRight)])
            }
            Span::Diagonal(Slope::Falling) => {
                Some([middle(Corner::TopLeft), middle(Corner::BaseRight)])
            }
            Span::Edge(edge) => {
                let (from, to) = self.names.edge(edge);
                (from != to).then(|| [from, to].map(|i| self.shape.fillets()[i].middle))
            }
            _ => None,
        }
    }

    /// What an outside tape would read, mm; `None` where there is nothing to read: a tape that
    /// misses the glass, an edge a triangle lacks, or a span that is no function of the outline.
    #[must_use]
    pub fn read(&self, span: Span, place: Option<f64>) -> Option<D> {
        match span {
            Span::Bow(edge) => {
                let (from, to) = self.names.edge(edge);
                (from != to).then(|| self.shape.bow_between(from, to))
            }
            Span::Radius(corner) => Some(self.shape.fillets()[self.names.corner(corner)].radius),
            Span::Height(_) | Span::Width(_) | Span::Diagonal(_) | Span::Edge(_) => {
                let [a, b] = self.ends(span, place)?;
                let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
                let square = dx * dx + dy * dy;
                (square.re() > 1e-12).then(|| square.sqrt())
            }
            Span::Bend | Span::BendUp | Span::Band(_) | Span::Blocked(_) => None,
        }
    }

    /// Where a station lies.
    #[must_use]
    pub fn station(&self, station: Station) -> Option<StationPoint<D>> {
        let on_vertical = |column: Column, which: usize| {
            let x = self.column_x(column, None);
            vertical(&self.shape, x).map(|ends| (ends[which], [x, ends[which].along]))
        };
        let on_level = |part: f64, which: usize| {
            let y = self.base_y + self.height() * part;
            level(&self.shape, y).map(|ends| (ends[which], [ends[which].along, y]))
        };
        let (crossing, at) = match station {
            Station::BaseLeft => on_vertical(Column::Left, 0),
            Station::BaseCentre => on_vertical(Column::Centre, 0),
            Station::BaseRight => on_vertical(Column::Right, 0),
            Station::TopRight => on_vertical(Column::Right, 1),
            Station::TopCentre => on_vertical(Column::Centre, 1),
            Station::TopLeft => on_vertical(Column::Left, 1),
            Station::RightLow => on_level(0.25, 1),
            Station::RightHigh => on_level(0.75, 1),
            Station::LeftLow => on_level(0.25, 0),
            Station::LeftHigh => on_level(0.75, 0),
        }?;
        Some(StationPoint { at, place: crossing.place, normal: crossing.normal })
    }
}

impl<D: Scalar> Standing<D> {
    /// The upright part of the outward unit normal at a station: 1 or −1 where the edge is level.
    #[must_use]
    pub fn upright(&self, station: Station) -> Option<D> {
        let StationPoint { at, place, .. } = self.station(station)?;
        Some(match place {
            Place::Edge(i, _) => self.shape.edges()[i].normal(at)[1],
            Place::Fillet(i, _) => {
                let fillet = &self.shape.fillets()[i];
                (at[1] - fillet.centre[1]) / fillet.radius
            }
        })
    }
}

impl Standing<f64> {
    /// Stands an outline up.
    #[must_use]
    pub fn of(outline: &Outline, small: bool) -> Option<Self> {
        let corners: Vec<[f64; 2]> = outline.corners().iter().map(|p| p.mm()).collect();
        Self::new(outline.shape(), NamedCorners::of(&corners), small)
    }
}

/// Middle of `width.base` were the centre line at `x`, and how fast it moves with `x`.
fn middle_of_base<D: Scalar>(shape: &Shape<D>, x: D, small: bool) -> Option<(D, f64)> {
    let [base, top] = vertical(shape, x)?;
    let step = if small { (top.along - base.along) / 3.0 } else { D::from(LEVEL) };
    let [left, right] = level(shape, base.along + step)?;
    let lean = |c: &Crossing<D>| -c.normal[1] / c.normal[0];
    let slope = |c: &Crossing<D>| -c.normal[0] / c.normal[1];
    let rise = if small { (2.0 * slope(&base) + slope(&top)) / 3.0 } else { slope(&base) };
    Some(((left.along + right.along) * 0.5, 0.5 * (lean(&left) + lean(&right)) * rise))
}

/// Lowest and highest crossing of the vertical at `x`; `along` is y.
fn vertical<D: Scalar>(shape: &Shape<D>, x: D) -> Option<[Crossing<D>; 2]> {
    shape.crossings([x, D::from(0.0)], [D::from(0.0), D::from(1.0)])
}

/// Leftmost and rightmost crossing of the level at `y`; `along` is x.
fn level<D: Scalar>(shape: &Shape<D>, y: D) -> Option<[Crossing<D>; 2]> {
    shape.crossings([D::from(0.0), y], [D::from(1.0), D::from(0.0)])
}

#[cfg(test)]
mod tests {
    use super::*;
    use geometry::shape::Carrying;

    /// A plain rectangle's readings are arithmetic.
    #[test]
    fn a_rectangle_reads_its_sides() {
        let corners = [[0.0, 0.0], [1000.0, 0.0], [1000.0, 800.0], [0.0, 800.0]];
        let shape = Shape::new(&corners, &[0.0; 4], &[0.0; 4]).unwrap();
        let s = Standing::new(shape, NamedCorners::of(&corners), false).unwrap();
        assert!((s.origin()[0] - 500.0_f64).abs() < 1e-9);
        let read = |span: Span| s.read(span, None).unwrap();
        for column in Column::ALL {
            assert!((read(Span::Height(*column)) - 800.0).abs() < 1e-9);
        }
        for which in Level::ALL {
            assert!((read(Span::Width(*which)) - 1000.0).abs() < 1e-9);
        }
        for slope in Slope::ALL {
            assert!((read(Span::Diagonal(*slope)) - 1000.0_f64.hypot(800.0)).abs() < 1e-9);
        }
        let low = s.station(Station::LeftLow).unwrap();
        assert!((low.at[1] - 200.0_f64).abs() < 1e-9 && (low.at[0]).abs() < 1e-9);
    }

    #[test]
    fn a_string_across_round_corners_stands_inside_a_straight_edge() {
        // The middle of a square corner of radius r lies r(1 − 1/√2) inside both edges.
        let corners = [[0.0, 0.0], [1000.0, 0.0], [1000.0, 800.0], [0.0, 800.0]];
        let shape = Shape::new(&corners, &[0.0; 4], &[100.0; 4]).unwrap();
        let s = Standing::new(shape, NamedCorners::of(&corners), false).unwrap();
        let expected = 100.0 * (1.0 - std::f64::consts::FRAC_1_SQRT_2);
        assert!((s.read(Span::Bow(Edge::Base), None).unwrap() - expected).abs() < 1e-9);
        let edge = s.read(Span::Edge(Edge::Base), None).unwrap();
        assert!((edge - (1000.0 - 2.0 * expected)).abs() < 1e-9);
    }

    #[test]
    fn readings_carry_the_derivative_of_the_centre_line() {
        let x = [
            -900.0, -60.0, 700.0, 80.0, 620.0, 900.0, -500.0, 820.0, 20.0, 5.0, 30.0, -6.0, 60.0,
            70.0, 80.0, 50.0,
        ];
        for small in [false, true] {
            let values = |x: &[f64; 16]| all(&stand(x, small));
            let dual: [Carrying<16>; 16] = std::array::from_fn(|i| Carrying::variable(x[i], i));
            let carried = all(&stand(&dual, small));
            for i in 0..16 {
                let (mut up, mut down) = (x, x);
                up[i] += 1e-3;
                down[i] -= 1e-3;
                for ((a, b), c) in values(&up).iter().zip(values(&down)).zip(&carried) {
                    let slope = (a - b) / 2e-3;
                    let exact = c.slopes[i];
                    assert!((slope - exact).abs() < 1e-5, "{small} {i}: {slope} against {exact}");
                }
            }
        }
    }

    #[test]
    fn a_right_angled_triangle_has_one_upper_corner() {
        let names = NamedCorners::of(&[[0.0, 0.0], [600.0, 10.0], [0.0, 550.0]]);
        assert_eq!(names, NamedCorners { index: [0, 1, 2, 2] });
        // Hanging from its top edge.
        let names = NamedCorners::of(&[[0.0, 0.0], [0.0, 550.0], [-600.0, 560.0]]);
        assert_eq!(names, NamedCorners { index: [0, 0, 1, 2] });
    }

    fn stand<D: Scalar>(x: &[D; 16], small: bool) -> Standing<D> {
        let corners: Vec<Pair<D>> = (0..4).map(|i| [x[2 * i], x[2 * i + 1]]).collect();
        let shape = Shape::new(&corners, &x[8..12], &x[12..16]).unwrap();
        let plain: Vec<[f64; 2]> = corners.iter().map(|c| c.map(|d| d.re())).collect();
        Standing::new(shape, NamedCorners::of(&plain), small).unwrap()
    }

    fn all<D: Scalar>(s: &Standing<D>) -> Vec<D> {
        let mut out: Vec<D> =
            Span::all().into_iter().filter_map(|span| s.read(span, None)).collect();
        out.extend(s.origin());
        out.extend(s.read(Span::Height(Column::Left), Some(333.0)));
        out
    }
}
