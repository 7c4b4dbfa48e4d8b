//! Paths of straight lines and circular arcs in one frame.
//!
//! A path is a list of vertices; each carries the *bulge* of the segment that leaves it: the tangent
//! of a quarter of the arc's sweep, 0 for a straight line, positive when the arc turns anticlockwise.
//! Offsets, unions and windings are `cavalier_contours`'s, which keeps arcs exact.

use cavalier_contours::core::math::Vector2;
use cavalier_contours::polyline::{
    BooleanOp, PlineCreation, PlineSource, PlineSourceMut, PlineVertex, Polyline,
};

use crate::{Angle, Area, Frame, Length, Placement, Point, tolerance};

/// One corner of a path, with the bulge of the segment that leaves it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vertex<F: Frame> {
    /// Where it is.
    pub point: Point<F>,
    /// Tangent of a quarter of the sweep of the segment to the next vertex; 0 is straight.
    pub bulge: f64,
}

/// One segment of a path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Segment<F: Frame> {
    /// A straight line.
    Line {
        /// Where it starts.
        from: Point<F>,
        /// Where it ends.
        to: Point<F>,
    },
    /// Part of a circle.
    Arc {
        /// Where it starts.
        from: Point<F>,
        /// Where it ends.
        to: Point<F>,
        /// Middle of the circle.
        centre: Point<F>,
        /// Radius of the circle, positive.
        radius: Length,
        /// Direction from the centre to `from`.
        start: Angle,
        /// How far it turns, anticlockwise positive.
        sweep: Angle,
    },
}

impl<F: Frame> Segment<F> {
    fn between(a: Vertex<F>, to: Point<F>) -> Self {
        let from = a.point;
        if a.bulge == 0.0 {
            return Self::Line { from, to };
        }
        // Centre from the chord's middle: the apothem is c(1−b²)/(2b) for half chord c and bulge b.
        let b = a.bulge;
        let (dx, dy) = (to.x_mm() - from.x_mm(), to.y_mm() - from.y_mm());
        let mid = from.midpoint(to);
        let k = (1.0 - b * b) / (4.0 * b);
        let centre = Point::from_mm(mid.x_mm() - k * dy, mid.y_mm() + k * dx);
        Self::Arc {
            from,
            to,
            centre,
            radius: centre.distance(from),
            start: centre.heading_to(from),
            sweep: Angle::from_radians(4.0 * b.atan()),
        }
    }

    /// Where it starts.
    #[must_use]
    pub fn from(&self) -> Point<F> {
        match *self {
            Self::Line { from, .. } | Self::Arc { from, .. } => from,
        }
    }

    /// Where it ends.
    #[must_use]
    pub fn to(&self) -> Point<F> {
        match *self {
            Self::Line { to, .. } | Self::Arc { to, .. } => to,
        }
    }

    /// Length along it.
    #[must_use]
    pub fn length(&self) -> Length {
        match *self {
            Self::Line { from, to } => from.distance(to),
            Self::Arc { radius, sweep, .. } => radius * sweep.radians().abs(),
        }
    }

    /// The point a fraction 0..1 of the way along, and the direction of travel there.
    #[must_use]
    pub fn at(&self, fraction: f64) -> (Point<F>, Angle) {
        match *self {
            Self::Line { from, to } => {
                let t = fraction;
                let point = Point::from_mm(
                    from.x_mm() + t * (to.x_mm() - from.x_mm()),
                    from.y_mm() + t * (to.y_mm() - from.y_mm()),
                );
                (point, from.heading_to(to))
            }
            Self::Arc { centre, radius, start, sweep, .. } => {
                let out = start + sweep * fraction;
                let quarter = Angle::from_degrees(90.0_f64.copysign(sweep.radians()));
                (centre.toward(out, radius), out + quarter)
            }
        }
    }

    /// Number of equal chords that keep within `tolerance` of the segment.
    ///
    /// A chord that spans the angle s on radius r stands off the arc by r(1 − cos(s/2)), which is
    /// 2r·sin²(s/4): the form that keeps its digits when r is large.
    #[must_use]
    pub fn chords(&self, tolerance: Length) -> usize {
        match *self {
            Self::Line { .. } => 1,
            Self::Arc { radius, sweep, .. } => {
                let step = 4.0 * (tolerance / (radius * 2.0)).clamp(0.0, 1.0).sqrt().asin();
                ((sweep.radians().abs() / step).ceil() as usize).max(1)
            }
        }
    }
}

/// Joined segments in one frame, open or closed. A closed path that encloses cloth or glass runs
/// anticlockwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Path<F: Frame> {
    vertices: Vec<Vertex<F>>,
    closed: bool,
}

/// The smallest upright rectangle around something.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds<F: Frame> {
    /// Lower left corner.
    pub min: Point<F>,
    /// Upper right corner.
    pub max: Point<F>,
}

impl<F: Frame> Bounds<F> {
    /// Around some points; `None` when there are none.
    #[must_use]
    pub fn of_points(points: impl IntoIterator<Item = Point<F>>) -> Option<Self> {
        points.into_iter().fold(None, |bounds: Option<Self>, p| {
            Some(bounds.map_or(Self { min: p, max: p }, |b| b.with(Self { min: p, max: p })))
        })
    }

    /// Around both.
    #[must_use]
    pub fn with(self, other: Self) -> Self {
        Self {
            min: Point::new(self.min.x().min(other.min.x()), self.min.y().min(other.min.y())),
            max: Point::new(self.max.x().max(other.max.x()), self.max.y().max(other.max.y())),
        }
    }

    /// Extent along x.
    #[must_use]
    pub fn width(&self) -> Length {
        self.max.x() - self.min.x()
    }

    /// Extent along y.
    #[must_use]
    pub fn height(&self) -> Length {
        self.max.y() - self.min.y()
    }
}

impl<F: Frame> Path<F> {
    /// A closed path from its vertices; the last one's segment returns to the first.
    #[must_use]
    pub fn closed(vertices: Vec<Vertex<F>>) -> Self {
        Self { vertices, closed: true }
    }

    /// An open path from its vertices; the last one's bulge is ignored.
    #[must_use]
    pub fn open(vertices: Vec<Vertex<F>>) -> Self {
        Self { vertices, closed: false }
    }

    /// A closed polygon.
    #[must_use]
    pub fn polygon(points: impl IntoIterator<Item = Point<F>>) -> Self {
        Self::closed(points.into_iter().map(|point| Vertex { point, bulge: 0.0 }).collect())
    }

    /// An open run of straight lines.
    #[must_use]
    pub fn polyline(points: impl IntoIterator<Item = Point<F>>) -> Self {
        Self::open(points.into_iter().map(|point| Vertex { point, bulge: 0.0 }).collect())
    }

    /// A full circle, anticlockwise.
    #[must_use]
    pub fn circle(centre: Point<F>, radius: Length) -> Self {
        let vertex =
            |side: f64| Vertex { point: centre.moved(radius * side, Length::ZERO), bulge: 1.0 };
        Self::closed(vec![vertex(-1.0), vertex(1.0)])
    }

    /// Its vertices, in order.
    #[must_use]
    pub fn vertices(&self) -> &[Vertex<F>] {
        &self.vertices
    }

    /// Whether its end joins its start.
    #[must_use]
    pub fn is_closed(&self) -> bool {
        self.closed
    }

    /// Its segments, in order.
    pub fn segments(&self) -> impl Iterator<Item = Segment<F>> + '_ {
        let n = self.vertices.len();
        let count = if self.closed { n } else { n.saturating_sub(1) };
        (0..count)
            .map(move |i| Segment::between(self.vertices[i], self.vertices[(i + 1) % n].point))
    }

    /// Length along the whole path.
    #[must_use]
    pub fn length(&self) -> Length {
        self.segments().map(|segment| segment.length()).sum()
    }

    /// Enclosed area of a closed path, anticlockwise positive; zero for an open one.
    #[must_use]
    pub fn area(&self) -> Area {
        if self.closed { Area::from_mm2(self.to_polyline().area()) } else { Area::ZERO }
    }

    /// The smallest upright rectangle around it; `None` when it has no vertex.
    #[must_use]
    pub fn bounds(&self) -> Option<Bounds<F>> {
        if self.vertices.len() == 1 {
            return Bounds::of_points([self.vertices[0].point]);
        }
        self.to_polyline().extents().map(|b| Bounds {
            min: Point::from_mm(b.min_x, b.min_y),
            max: Point::from_mm(b.max_x, b.max_y),
        })
    }

    /// Points along it, close enough that straight lines between them stay within `tolerance`.
    /// A closed path does not repeat its first point.
    #[must_use]
    pub fn flatten(&self, tolerance: Length) -> Vec<Point<F>> {
        let mut points = Vec::new();
        for segment in self.segments() {
            let n = segment.chords(tolerance);
            points.push(segment.from());
            points.extend((1..n).map(|i| segment.at(i as f64 / n as f64).0));
        }
        if !self.closed {
            points.extend(self.vertices.last().map(|v| v.point));
        }
        points
    }

    /// The point `along` the path from its start, with the direction of travel; past the end (or
    /// before the start) of a closed path it goes round again, of an open one it stays there.
    ///
    /// # Panics
    /// When the path has no segment.
    #[must_use]
    pub fn at_length(&self, along: Length) -> (Point<F>, Angle) {
        let total = self.length().mm();
        let mut left =
            if self.closed { along.mm().rem_euclid(total) } else { along.mm().clamp(0.0, total) };
        let mut last = None;
        for segment in self.segments() {
            let length = segment.length().mm();
            if left <= length && length > 0.0 {
                return segment.at(left / length);
            }
            left -= length;
            last = Some(segment);
        }
        last.expect("a path has a segment").at(1.0)
    }

    /// Distance along the path of the place nearest to `point`, and how far off `point` is.
    ///
    /// # Panics
    /// When the path has no vertex.
    #[must_use]
    pub fn nearest(&self, point: Point<F>) -> (Length, Length) {
        let [x, y] = point.mm();
        let polyline = self.to_polyline();
        let found = polyline
            .closest_point(Vector2::new(x, y), tolerance::SAME_POINT.mm())
            .expect("a path has a vertex");
        let foot = Point::from_mm(found.seg_point.x, found.seg_point.y);
        let segments: Vec<Segment<F>> = self.segments().collect();
        let before: Length = segments[..found.seg_start_index].iter().map(Segment::length).sum();
        let within = match segments.get(found.seg_start_index) {
            None => Length::ZERO,
            Some(Segment::Line { from, .. }) => from.distance(foot),
            Some(Segment::Arc { centre, radius, start, sweep, .. }) => {
                let turned = (centre.heading_to(foot) - *start).radians();
                let full = std::f64::consts::TAU;
                let turned = (turned * sweep.radians().signum()).rem_euclid(full);
                let swept = sweep.radians().abs();
                // A hair before the start is the start, not a full turn; a hair past the end is
                // the end.
                *radius * if turned > (swept + full) / 2.0 { 0.0 } else { turned.min(swept) }
            }
        };
        (before + within, Length::from_mm(found.distance))
    }

    /// The part from one distance along the path to another, as an open path. On a closed path it
    /// runs on past the start when `to` is not beyond `from`.
    ///
    /// # Panics
    /// When the path has no segment.
    #[must_use]
    pub fn part(&self, from: Length, to: Length) -> Self {
        let total = self.length().mm();
        let (from, to) = if self.closed {
            let from = from.mm().rem_euclid(total);
            (from, from + (to.mm() - from).rem_euclid(total))
        } else {
            (from.mm().clamp(0.0, total), to.mm().clamp(0.0, total))
        };
        let mut vertices = Vec::new();
        let mut end = self.at_length(Length::from_mm(from)).0;
        let mut start = 0.0;
        // Twice round, since the part of a closed path may run past its start.
        for segment in self.segments().chain(self.segments()) {
            let length = segment.length().mm();
            let first = ((from - start) / length).max(0.0);
            let last = ((to - start) / length).min(1.0);
            start += length;
            // What is shorter than a nanometre is rounding.
            if (last - first) * length > 1e-6 {
                let bulge = match segment {
                    Segment::Line { .. } => 0.0,
                    Segment::Arc { sweep, .. } => (sweep.radians() * (last - first) / 4.0).tan(),
                };
                vertices.push(Vertex { point: segment.at(first).0, bulge });
                end = segment.at(last).0;
            }
        }
        vertices.push(Vertex { point: end, bulge: 0.0 });
        Self::open(vertices)
    }

    /// The same path run the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let mut polyline = self.to_polyline();
        polyline.invert_direction_mut();
        Self::from_polyline(&polyline)
    }

    /// The path in another frame; a mirrored closed path is turned round to stay anticlockwise.
    #[must_use]
    pub fn placed<To: Frame>(&self, placement: &Placement<F, To>) -> Path<To> {
        let flip = if placement.is_mirrored() { -1.0 } else { 1.0 };
        let vertices = self
            .vertices
            .iter()
            .map(|v| Vertex { point: placement.apply(v.point), bulge: flip * v.bulge })
            .collect();
        let path = Path { vertices, closed: self.closed };
        if placement.is_mirrored() && self.closed { path.reversed() } else { path }
    }

    /// Closed paths at `distance` inside (positive) or outside (negative) an anticlockwise closed
    /// path, with round joins outside; empty when nothing is left. Loops that enclose less than
    /// 0.01 mm² are dropped: they are rounding, not cloth.
    #[must_use]
    pub fn inset(&self, distance: Length) -> Vec<Self> {
        // cavalier_contours offsets to the left, which is inside an anticlockwise path.
        self.to_polyline()
            .parallel_offset(distance.mm())
            .iter()
            .filter(|loop_| loop_.area().abs() > SPECK.mm2())
            .map(Self::from_polyline)
            .collect()
    }

    /// What this or the other encloses: the outer loops, and the holes in them.
    #[must_use]
    pub fn union(&self, other: &Self) -> Enclosed<F> {
        self.combined(other, BooleanOp::Or)
    }

    /// What this encloses and the other does not.
    #[must_use]
    pub fn difference(&self, other: &Self) -> Enclosed<F> {
        self.combined(other, BooleanOp::Not)
    }

    /// What both enclose.
    #[must_use]
    pub fn intersection(&self, other: &Self) -> Enclosed<F> {
        self.combined(other, BooleanOp::And)
    }

    fn combined(&self, other: &Self, operation: BooleanOp) -> Enclosed<F> {
        let result = self.to_polyline().boolean(&other.to_polyline(), operation);
        let loops = |found: Vec<cavalier_contours::polyline::BooleanResultPline<Polyline<f64>>>| {
            found
                .into_iter()
                .map(|r| r.pline)
                .filter(|loop_| loop_.area().abs() > SPECK.mm2())
                .map(|loop_| Self::from_polyline(&loop_).anticlockwise())
                .collect()
        };
        Enclosed { outer: loops(result.pos_plines), holes: loops(result.neg_plines) }
    }

    /// The closed path run anticlockwise.
    fn anticlockwise(self) -> Self {
        if self.area() < Area::ZERO { self.reversed() } else { self }
    }

    /// Whether a closed path encloses the point.
    #[must_use]
    pub fn contains(&self, point: Point<F>) -> bool {
        let [x, y] = point.mm();
        self.to_polyline().winding_number(Vector2::new(x, y)) != 0
    }

    /// Whether it crosses or touches itself.
    #[must_use]
    pub fn crosses_itself(&self) -> bool {
        self.to_polyline().scan_for_self_intersect()
    }

    /// Where the two paths cross or touch; of a stretch they share, its ends.
    #[must_use]
    pub fn meetings(&self, other: &Self) -> Vec<Point<F>> {
        let found = self.to_polyline().find_intersects(&other.to_polyline());
        let single = found.basic_intersects.iter().map(|m| m.point);
        let shared = found.overlapping_intersects.iter().flat_map(|m| [m.point1, m.point2]);
        single.chain(shared).map(|p| Point::from_mm(p.x, p.y)).collect()
    }

    /// Whether the two paths meet anywhere.
    #[must_use]
    pub fn meets(&self, other: &Self) -> bool {
        let found = self.to_polyline().find_intersects(&other.to_polyline());
        !found.basic_intersects.is_empty() || !found.overlapping_intersects.is_empty()
    }

    fn to_polyline(&self) -> Polyline<f64> {
        let vertices = self.vertices.iter().map(|v| {
            let [x, y] = v.point.mm();
            PlineVertex::new(x, y, v.bulge)
        });
        Polyline::from_iter(vertices, self.closed)
    }

    fn from_polyline(polyline: &Polyline<f64>) -> Self {
        let vertices = polyline
            .iter_vertexes()
            .map(|v| Vertex { point: Point::from_mm(v.x, v.y), bulge: v.bulge })
            .collect();
        Self { vertices, closed: polyline.is_closed() }
    }
}

/// Loops smaller than this are rounding left over by offsets and unions.
const SPECK: Area = Area::from_mm2(0.01);

/// The result of joining or cutting closed paths, each loop anticlockwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Enclosed<F: Frame> {
    /// Loops that enclose material.
    pub outer: Vec<Path<F>>,
    /// Loops inside them that do not.
    pub holes: Vec<Path<F>>,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Piece;

    fn square() -> Path<Piece> {
        Path::polygon(
            [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(|(x, y)| Point::from_mm(x, y)),
        )
    }

    #[test]
    fn offset_of_a_circle_is_a_circle() {
        let circle = Path::<Piece>::circle(Point::from_mm(3.0, 4.0), Length::from_mm(50.0));
        let inner = circle.inset(Length::from_mm(12.0));
        assert_eq!(inner.len(), 1);
        let expected = std::f64::consts::PI * 38.0 * 38.0;
        assert!((inner[0].area().mm2() - expected).abs() < 1e-9 * expected);
    }

    #[test]
    fn inset_is_inside_and_outset_outside() {
        assert!(square().inset(Length::from_mm(1.0))[0].area().mm2() < 100.0);
        assert!(square().inset(Length::from_mm(-1.0))[0].area().mm2() > 100.0);
    }

    #[test]
    fn a_quarter_circle_has_the_length_of_one() {
        let b = (std::f64::consts::FRAC_PI_2 / 4.0).tan();
        let arc = Path::<Piece>::open(vec![
            Vertex { point: Point::from_mm(10.0, 0.0), bulge: b },
            Vertex { point: Point::from_mm(0.0, 10.0), bulge: 0.0 },
        ]);
        assert!((arc.length().mm() - 5.0 * std::f64::consts::PI).abs() < 1e-12);
        let (point, heading) = arc.at_length(arc.length() / 2.0);
        let r = 10.0 * std::f64::consts::FRAC_1_SQRT_2;
        assert!(point.distance(Point::from_mm(r, r)).mm() < 1e-12);
        assert!((heading.degrees() - 135.0).abs() < 1e-9);
        let (along, off) = arc.nearest(Point::from_mm(8.0, 8.0));
        assert!((along - arc.length() / 2.0).mm().abs() < 1e-9);
        assert!((off.mm() - (8.0 * 2.0_f64.sqrt() - 10.0)).abs() < 1e-9);
    }

    #[test]
    fn a_place_a_hair_before_an_arc_is_its_start() {
        // Found near the corner where a shallow arc of 4.7 m radius leaves a tighter one.
        let path = Path::<Piece>::open(vec![
            Vertex { point: Point::from_mm(618.1607, 700.1035), bulge: 0.11617486643616753 },
            Vertex { point: Point::from_mm(-198.6897, 808.3208), bulge: 0.033726949905550835 },
            Vertex { point: Point::from_mm(-834.4234, 520.8923), bulge: 0.0 },
        ]);
        let first = path.segments().next().unwrap().length();
        for off in [-1e-3, -1e-5, 0.0, 1e-5, 1e-3] {
            let (along, _) = path.nearest(Point::from_mm(-198.6897 + off, 808.3208 + 1.0));
            assert!((along - first).mm().abs() < 1.0, "{along}");
            let (along, _) = path.nearest(Point::from_mm(-198.6897 + off, 808.3208));
            assert!((along - first).mm().abs() < 1e-2, "{along}");
        }
    }

    #[test]
    fn parts_of_a_path_are_the_whole() {
        let circle = Path::<Piece>::circle(Point::ORIGIN, Length::from_mm(10.0));
        let whole = circle.length();
        let (from, to) = (whole * 0.1, whole * 0.7);
        for path in [circle, square()] {
            let (from, to) = (from.min(path.length() * 0.3), to.min(path.length() * 0.8));
            let (part, rest) = (path.part(from, to), path.part(to, from));
            assert!((part.length() - (to - from)).mm().abs() < 1e-9);
            assert!((part.length() + rest.length() - path.length()).mm().abs() < 1e-9);
            let ends = [&part, &rest].map(|p| p.vertices().last().unwrap().point);
            assert!(ends[0].distance(rest.vertices()[0].point).mm() < 1e-9);
            assert!(ends[1].distance(part.vertices()[0].point).mm() < 1e-9);
            let (middle, _) = part.at_length(part.length() / 2.0);
            assert!(middle.distance(path.at_length((from + to) / 2.0).0).mm() < 1e-9);
        }
    }

    #[test]
    fn a_line_meets_a_circle_twice() {
        let circle = Path::<Piece>::circle(Point::ORIGIN, Length::from_mm(5.0));
        let line = Path::polyline([Point::from_mm(3.0, -9.0), Point::from_mm(3.0, 9.0)]);
        let mut found: Vec<f64> = circle.meetings(&line).iter().map(|p| p.y_mm()).collect();
        found.sort_by(f64::total_cmp);
        assert!(found.len() == 2 && (found[0] + 4.0).abs() < 1e-9 && (found[1] - 4.0).abs() < 1e-9);
    }

    #[test]
    fn flattening_keeps_within_its_tolerance() {
        let circle = Path::<Piece>::circle(Point::ORIGIN, Length::from_mm(400.0));
        let tolerance = Length::from_mm(0.05);
        let points = circle.flatten(tolerance);
        for (i, p) in points.iter().enumerate() {
            let q = points[(i + 1) % points.len()];
            let sagitta = 400.0 - p.midpoint(q).distance(Point::ORIGIN).mm();
            assert!(sagitta <= tolerance.mm() * 1.001, "{sagitta}");
        }
    }

    #[test]
    fn a_nearly_straight_arc_is_flattened_within_tolerance_too() {
        // A bow of 0.039 mm on 782 mm: radius 2 km.
        let arc = Path::<Piece>::open(vec![
            Vertex { point: Point::from_mm(0.0, 0.0), bulge: 1e-4 },
            Vertex { point: Point::from_mm(782.0, 0.0), bulge: 0.0 },
        ]);
        let points = arc.flatten(Length::from_mm(1e-3));
        let deepest = points.iter().map(|p| -p.y_mm()).fold(0.0, f64::max);
        assert!((deepest - 0.0391).abs() < 1e-3, "{deepest}");
    }

    #[test]
    fn a_mirrored_path_stays_anticlockwise() {
        let placement = Placement::<Piece, Piece>::mirrored(Angle::ZERO, Point::ORIGIN);
        assert_eq!(square().placed(&placement).area().mm2(), 100.0);
    }
}
