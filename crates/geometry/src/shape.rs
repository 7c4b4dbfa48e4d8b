//! A polygon whose edges bow and whose corners are rounded, over any number type that carries
//! derivatives.
//!
//! Each edge is a circular arc over its chord (the straight between two corners before rounding),
//! with half chord c and bow h (sagitta, outwards positive). In the chord's own frame, u along the
//! chord from its middle and v outwards, with q = h/c:
//!
//! - the arc is u = c·w(1+q²)/(1+q²w²), v = h(1−w²)/(1+q²w²), w from −1 to 1;
//! - its curvature is κ = 2h/(c²+h²), and cos θ = (1−q²)/(1+q²) for half its sweep θ;
//! - g(u,v) = κ/2·(u²+v²−c²) + v·cos θ is zero on its circle, |∇g|² = 1 + 2κg, and
//!   d = 2g/(1+√(1+2κg)) is the distance outside it.
//!
//! None of these has a singular place at h = 0, where the edge is straight. A corner of radius r is
//! the circle about the point with d = −r to both edges. Valid for |h| < c. Elementary geometry;
//! exact up to rounding.
//!
//! Derivatives are exact to first order: roots are found on plain numbers, then one Newton step in
//! the carrying type gives the implicit derivative.

use num_dual::{DualNum, DualStruct};

/// A number that may carry derivatives: `f64`, or one of `num_dual`'s types over it.
pub trait Scalar: DualNum<Primitive = f64> + DualStruct<Real = f64> + Copy {}
impl<D: DualNum<Primitive = f64> + DualStruct<Real = f64> + Copy> Scalar for D {}

/// A point or vector whose coordinates may carry derivatives, millimetres.
pub type Pair<D> = [D; 2];

/// One edge before its corners are rounded.
#[derive(Clone, Copy, Debug)]
pub struct EdgeArc<D> {
    middle: Pair<D>,
    along: Pair<D>,
    half_chord: D,
    bow: D,
    curvature: D,
    cos_half_sweep: D,
}

impl<D: Scalar> EdgeArc<D> {
    /// The edge from one corner to the next, bowing outwards (to the right of travel) by `bow`.
    fn new(from: Pair<D>, to: Pair<D>, bow: D) -> Self {
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let chord = (dx * dx + dy * dy).sqrt();
        let half_chord = chord * 0.5;
        let q = bow / half_chord;
        let one = D::from(1.0);
        Self {
            middle: [(from[0] + to[0]) * 0.5, (from[1] + to[1]) * 0.5],
            along: [dx / chord, dy / chord],
            half_chord,
            bow,
            curvature: q * 2.0 / ((one + q * q) * half_chord),
            cos_half_sweep: (one - q * q) / (one + q * q),
        }
    }

    /// Unit vector along the chord.
    #[must_use]
    pub fn along(&self) -> Pair<D> {
        self.along
    }

    /// The point's place in the chord's frame.
    fn local(&self, p: Pair<D>) -> Pair<D> {
        let (dx, dy) = (p[0] - self.middle[0], p[1] - self.middle[1]);
        [dx * self.along[0] + dy * self.along[1], dx * self.along[1] - dy * self.along[0]]
    }

    /// From a vector in the chord's frame.
    fn global(&self, v: Pair<D>) -> Pair<D> {
        [v[0] * self.along[0] + v[1] * self.along[1], v[0] * self.along[1] - v[1] * self.along[0]]
    }

    /// The point at parameter w, from −1 (first corner) to 1 (second).
    #[must_use]
    pub fn at(&self, w: f64) -> Pair<D> {
        let q2 = (self.bow / self.half_chord).powi(2);
        let one = D::from(1.0);
        let below = one + q2 * (w * w);
        let u = self.half_chord * w * (one + q2) / below;
        let v = self.bow * (1.0 - w * w) / below;
        let out = self.global([u, v]);
        [out[0] + self.middle[0], out[1] + self.middle[1]]
    }

    /// Parameter w of a point on the arc.
    #[must_use]
    pub fn parameter(&self, p: Pair<D>) -> f64 {
        let u = self.local(p)[0].re();
        let (c, k) = (self.half_chord.re(), self.curvature.re());
        let cos = (1.0 - (k * u).powi(2)).max(0.0).sqrt();
        u / c * (1.0 + self.cos_half_sweep.re()) / (1.0 + cos)
    }

    /// g, zero on the edge's circle and growing outwards.
    fn level(&self, p: Pair<D>) -> D {
        let [u, v] = self.local(p);
        let c = self.half_chord;
        self.curvature * 0.5 * (u * u + v * v - c * c) + v * self.cos_half_sweep
    }

    /// Distance outside the edge's circle.
    #[must_use]
    pub fn distance(&self, p: Pair<D>) -> D {
        let g = self.level(p);
        let one = D::from(1.0);
        let root = (one + self.curvature * g * 2.0).sqrt();
        g * 2.0 / (one + root)
    }

    /// Unit outward normal of the circle through the point that has the same middle.
    #[must_use]
    pub fn normal(&self, p: Pair<D>) -> Pair<D> {
        let [u, v] = self.local(p);
        let gradient = [self.curvature * u, self.curvature * v + self.cos_half_sweep];
        let size = (gradient[0] * gradient[0] + gradient[1] * gradient[1]).sqrt();
        self.global([gradient[0] / size, gradient[1] / size])
    }

    /// Signed curvature of the arc, 1/mm, positive when it bulges outwards.
    #[must_use]
    pub fn curvature(&self) -> D {
        self.curvature
    }
}

/// One rounded corner.
#[derive(Clone, Copy, Debug)]
pub struct Fillet<D> {
    /// Middle of its circle; the corner itself when the radius is zero.
    pub centre: Pair<D>,
    /// Its radius.
    pub radius: D,
    /// Where it leaves the edge before it.
    pub start: Pair<D>,
    /// Where it meets the edge after it.
    pub end: Pair<D>,
    /// The mid-point of the rounded corner.
    pub middle: Pair<D>,
    /// Outward normals at `start` and `end`.
    pub normals: [Pair<D>; 2],
}

impl<D: Scalar> Fillet<D> {
    fn between(
        before: &EdgeArc<D>,
        after: &EdgeArc<D>,
        corner: Pair<D>,
        radius: D,
    ) -> Option<Self> {
        let centre = Self::centre(before, after, corner, radius)?;
        let normals = [before.normal(centre), after.normal(centre)];
        let out = |n: Pair<D>| [centre[0] + radius * n[0], centre[1] + radius * n[1]];
        let (x, y) = (normals[0][0] + normals[1][0], normals[0][1] + normals[1][1]);
        let size = (x * x + y * y).sqrt();
        (size.re() > 1e-6).then(|| Self {
            centre,
            radius,
            start: out(normals[0]),
            end: out(normals[1]),
            middle: out([x / size, y / size]),
            normals,
        })
    }

    /// The point with distance −r to both edges: Newton's method on plain numbers from the corner,
    /// then one step that carries the derivatives.
    fn centre(
        before: &EdgeArc<D>,
        after: &EdgeArc<D>,
        corner: Pair<D>,
        radius: D,
    ) -> Option<Pair<D>> {
        let mut at = corner.map(|c| c.re());
        let mut settled = 0;
        for _ in 0..30 {
            let p = at.map(D::from);
            let (n, m) = (before.normal(p).map(|c| c.re()), after.normal(p).map(|c| c.re()));
            let det = n[0] * m[1] - n[1] * m[0];
            if det.abs() < 1e-9 {
                return None;
            }
            let (f, g) = (before.distance(p) + radius, after.distance(p) + radius);
            let step = [(f * m[1] - g * n[1]) / det, (g * n[0] - f * m[0]) / det];
            if settled > 0 {
                return Some([p[0] - step[0], p[1] - step[1]]);
            }
            at = [at[0] - step[0].re(), at[1] - step[1].re()];
            if !(at[0].is_finite() && at[1].is_finite()) {
                return None;
            }
            if step[0].re().hypot(step[1].re()) < 1e-9 * (1.0 + radius.re().abs()) {
                settled += 1;
            }
        }
        None
    }

    /// How far it turns, radians, anticlockwise positive.
    #[must_use]
    pub fn turn(&self) -> f64 {
        let [a, b] = self.normals.map(|n| n.map(|c| c.re()));
        (a[0] * b[1] - a[1] * b[0]).atan2(a[0] * b[0] + a[1] * b[1])
    }

    fn level(&self, p: Pair<D>) -> D {
        let (dx, dy) = (p[0] - self.centre[0], p[1] - self.centre[1]);
        (dx * dx + dy * dy - self.radius * self.radius) * 0.5
    }

    /// Whether a point on its circle lies between `start` and `end`.
    fn spans(&self, p: [f64; 2]) -> bool {
        let c = self.centre.map(|c| c.re());
        let w = [p[0] - c[0], p[1] - c[1]];
        let [a, b] = self.normals.map(|n| n.map(|c| c.re()));
        let slack = -1e-9 * self.radius.re().abs().max(1.0);
        let turn = self.turn().signum();
        turn * (a[0] * w[1] - a[1] * w[0]) >= slack && turn * (w[0] * b[1] - w[1] * b[0]) >= slack
    }
}

/// A place on the boundary of a shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Place {
    /// On the edge of that number, at parameter w.
    Edge(usize, f64),
    /// On the rounding of the corner of that number, a fraction 0..1 of its turn from its start.
    Fillet(usize, f64),
}

/// Where a straight line leaves or enters a shape.
#[derive(Clone, Copy, Debug)]
pub struct Crossing<D> {
    /// Whether it crosses a straight part or a rounding, and where.
    pub place: Place,
    /// Distance along the line from its starting point, along its direction.
    pub along: D,
    /// Unit outward normal of the shape there, as plain numbers.
    pub normal: [f64; 2],
}

/// The whole solved shape: `edges[i]` runs from `fillets[i]` to `fillets[i + 1]`, anticlockwise.
#[derive(Clone, Debug)]
pub struct Shape<D> {
    edges: Vec<EdgeArc<D>>,
    fillets: Vec<Fillet<D>>,
}

impl<D: Scalar> Shape<D> {
    /// Solves the shape; `None` when it is none: a bow of half its chord or more, corners that run
    /// into one another, or a corner that does not turn.
    ///
    /// A radius below zero is no glass, but every formula goes on smoothly through zero, so that a
    /// search may pass through it; [`Outline`](crate::Outline) refuses it.
    #[must_use]
    pub fn new(corners: &[Pair<D>], bows: &[D], radii: &[D]) -> Option<Self> {
        let n = corners.len();
        debug_assert!(
            bows.len() == n && radii.len() == n,
            "one bow and one radius for each corner"
        );
        let edges: Vec<EdgeArc<D>> =
            (0..n).map(|i| EdgeArc::new(corners[i], corners[(i + 1) % n], bows[i])).collect();
        let sound = |e: &EdgeArc<D>| {
            let c = e.half_chord.re();
            c > 1e-6 && e.bow.re().abs() < c
        };
        if !edges.iter().all(sound) || radii.iter().any(|r| !r.re().is_finite()) {
            return None;
        }
        let fillets = (0..n)
            .map(|i| Fillet::between(&edges[(i + n - 1) % n], &edges[i], corners[i], radii[i]))
            .collect::<Option<Vec<_>>>()?;
        let shape = Self { edges, fillets };
        let in_order = (0..n).all(|i| {
            let (w0, w1) = shape.edge_range(i);
            w0 < w1 && w0 > -3.0 && w1 < 3.0
        });
        in_order.then_some(shape)
    }

    /// Number of corners.
    #[must_use]
    pub fn n_corners(&self) -> usize {
        self.fillets.len()
    }

    /// The edges, each from the corner of its number to the next.
    #[must_use]
    pub fn edges(&self) -> &[EdgeArc<D>] {
        &self.edges
    }

    /// The rounded corners.
    #[must_use]
    pub fn fillets(&self) -> &[Fillet<D>] {
        &self.fillets
    }

    /// Parameters between which edge `i` runs, from corner to corner.
    #[must_use]
    pub fn edge_range(&self, i: usize) -> (f64, f64) {
        let next = (i + 1) % self.fillets.len();
        let edge = &self.edges[i];
        (edge.parameter(self.fillets[i].end), edge.parameter(self.fillets[next].start))
    }

    /// Places all round, anticlockwise from the start of the first corner's rounding, so near one
    /// another that straight lines between them stay within `tolerance` (mm) of the curve and no
    /// two are farther apart than `apart` (mm).
    #[must_use]
    pub fn places(&self, tolerance: f64, apart: f64) -> Vec<Place> {
        // A chord over the angle s on curvature κ stands off by about s²/(8κ).
        let count = |length: f64, curvature: f64| {
            let by_bend = length * (curvature.abs() / (8.0 * tolerance)).sqrt();
            by_bend.max(length / apart).ceil().max(1.0) as usize
        };
        let mut places = Vec::new();
        for (i, fillet) in self.fillets.iter().enumerate() {
            let r = fillet.radius.re();
            if r > 1e-9 {
                let n = count(r * fillet.turn().abs(), 1.0 / r);
                places.extend((0..n).map(|k| Place::Fillet(i, k as f64 / n as f64)));
            }
            let (w0, w1) = self.edge_range(i);
            let (k, c) = (self.edges[i].curvature.re(), self.edges[i].half_chord.re());
            let n = count(c * (w1 - w0), k);
            places.extend((0..n).map(|j| Place::Edge(i, w0 + (w1 - w0) * j as f64 / n as f64)));
        }
        places
    }

    /// The point at a place, carrying derivatives at fixed parameter.
    #[must_use]
    pub fn point(&self, place: Place) -> Pair<D> {
        match place {
            Place::Edge(i, w) => self.edges[i].at(w),
            Place::Fillet(i, fraction) => {
                let fillet = &self.fillets[i];
                let (sin, cos) = (fillet.turn() * fraction).sin_cos();
                let [x, y] = fillet.normals[0];
                let out = [x * cos - y * sin, x * sin + y * cos];
                [0, 1].map(|k| fillet.centre[k] + fillet.radius * out[k])
            }
        }
    }

    /// How far `p`, a point near that place's edge or rounding, stands outside it, and the outward
    /// normal. Minus the derivatives of the distance say how far the boundary moves outwards.
    #[must_use]
    pub fn outside(&self, place: Place, p: Pair<D>) -> (D, [f64; 2]) {
        match place {
            Place::Edge(i, _) => {
                (self.edges[i].distance(p), self.edges[i].normal(p).map(|c| c.re()))
            }
            Place::Fillet(i, _) => {
                let fillet = &self.fillets[i];
                let r = fillet.radius.re();
                let normal = [0, 1].map(|k| (p[k] - fillet.centre[k]).re() / r);
                (fillet.level(p) / r, normal)
            }
        }
    }

    /// Where the line through `from` along the unit vector `heading` first and last crosses the
    /// shape; `None` when it misses.
    #[must_use]
    pub fn crossings(&self, from: Pair<D>, heading: Pair<D>) -> Option<[Crossing<D>; 2]> {
        let (p, d) = (from.map(|c| c.re()), heading.map(|c| c.re()));
        let mut ends: [Option<(f64, usize, bool)>; 2] = [None, None];
        let mut note = |along: f64, i: usize, on_edge: bool| {
            if ends[0].is_none_or(|(best, ..)| along < best) {
                ends[0] = Some((along, i, on_edge));
            }
            if ends[1].is_none_or(|(best, ..)| along > best) {
                ends[1] = Some((along, i, on_edge));
            }
        };
        for (i, edge) in self.edges.iter().enumerate() {
            // g(p + t·d) = κ/2·t² + b·t + g(p), b the slope of g at p along d.
            let k = edge.curvature.re();
            let [u, v] = edge.local(from).map(|c| c.re());
            let a = edge.along.map(|c| c.re());
            let (du, dv) = (d[0] * a[0] + d[1] * a[1], d[0] * a[1] - d[1] * a[0]);
            let b = k * (u * du + v * dv) + dv * edge.cos_half_sweep.re();
            let (w0, w1) = self.edge_range(i);
            for t in roots(0.5 * k, b, edge.level(from).re()) {
                let hit = [p[0] + t * d[0], p[1] + t * d[1]];
                // The circle's other side is no part of the edge.
                let near = {
                    let v = edge.local(hit.map(D::from))[1].re();
                    k * v + edge.cos_half_sweep.re() >= 0.0
                };
                let w = edge.parameter(hit.map(D::from));
                if near && w >= w0 - 1e-9 && w <= w1 + 1e-9 {
                    note(t, i, true);
                }
            }
        }
        for (i, fillet) in self.fillets.iter().enumerate() {
            if fillet.radius.re() < 1e-9 {
                continue; // The edges meet there, or run a little past one another.
            }
            let c = fillet.centre.map(|c| c.re());
            let b = (p[0] - c[0]) * d[0] + (p[1] - c[1]) * d[1];
            for t in roots(0.5, b, fillet.level(from).re()) {
                if fillet.spans([p[0] + t * d[0], p[1] + t * d[1]]) {
                    note(t, i, false);
                }
            }
        }
        let [first, last] = ends;
        let carry = |(t, i, on_edge): (f64, usize, bool)| {
            let hit = [from[0] + heading[0] * t, from[1] + heading[1] * t];
            let place = if on_edge {
                Place::Edge(i, self.edges[i].parameter(hit))
            } else {
                let [a, _] = self.fillets[i].normals.map(|n| n.map(|c| c.re()));
                let w = [0, 1].map(|k| (hit[k] - self.fillets[i].centre[k]).re());
                let turned = (a[0] * w[1] - a[1] * w[0]).atan2(a[0] * w[0] + a[1] * w[1]);
                Place::Fillet(i, turned / self.fillets[i].turn())
            };
            let (level, normal) = self.outside(place, hit);
            let slope = normal[0] * d[0] + normal[1] * d[1];
            (slope.abs() > 1e-9).then(|| Crossing { place, along: -level / slope + t, normal })
        };
        Some([carry(first?)?, carry(last?)?])
    }

    /// How far the boundary between the middles of corners `from` and `to` (anticlockwise) stands
    /// outside the straight between them, where it stands off most; negative when that is inside.
    #[must_use]
    pub fn bow_between(&self, from: usize, to: usize) -> D {
        let n = self.n_corners();
        let (a, b) = (self.fillets[from].middle, self.fillets[to].middle);
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let size = (dx * dx + dy * dy).sqrt();
        let out = [dy / size, -dx / size];
        let off = |p: Pair<D>| (p[0] - a[0]) * out[0] + (p[1] - a[1]) * out[1];
        let o = out.map(|c| c.re());
        let mut best = D::from(0.0);
        let mut consider = |p: Pair<D>| {
            let distance = off(p);
            if distance.re().abs() > best.re().abs() {
                best = distance;
            }
        };
        let mut i = from;
        loop {
            let fillet = &self.fillets[i];
            if i != from {
                consider(fillet.middle);
            }
            let top = [0, 1].map(|k| fillet.centre[k] + fillet.radius * o[k]);
            if fillet.spans(top.map(|c| c.re())) {
                consider(top);
            }
            if i == to {
                return best;
            }
            consider(fillet.end);
            let edge = &self.edges[i];
            consider(self.fillets[(i + 1) % n].start);
            // The edge's own extreme is where its normal is the string's: sin φ = normal along the
            // chord, and w = tan(φ/2)/q.
            let al = edge.along.map(|c| c.re());
            let (sin, cos) = (o[0] * al[0] + o[1] * al[1], o[0] * al[1] - o[1] * al[0]);
            let q = (edge.bow / edge.half_chord).re();
            if cos > 0.0 && q.abs() > 1e-12 {
                let w = sin / (1.0 + cos) / q;
                let (w0, w1) = self.edge_range(i);
                if w > w0 && w < w1 {
                    consider(edge.at(w));
                }
            }
            i = (i + 1) % n;
        }
    }
}

/// Real roots of a·t² + b·t + c, without loss when a is small.
fn roots(a: f64, b: f64, c: f64) -> impl Iterator<Item = f64> {
    let discriminant = b * b - 4.0 * a * c;
    let q = -0.5 * (b + discriminant.max(0.0).sqrt().copysign(b));
    let found = if discriminant < 0.0 { [f64::NAN; 2] } else { [c / q, q / a] };
    found.into_iter().filter(|t| t.is_finite() && t.abs() < 1e6)
}

#[cfg(test)]
mod tests {
    use super::*;
    use num_dual::DualSVec64;

    const CORNERS: [[f64; 2]; 4] =
        [[-1159.0, 20.0], [1159.0, 20.0], [1068.0, 1352.0], [-1068.0, 1352.0]];

    fn shape<D: Scalar>(x: &[D; 16]) -> Shape<D> {
        let corners: Vec<Pair<D>> = (0..4).map(|i| [x[2 * i], x[2 * i + 1]]).collect();
        Shape::new(&corners, &x[8..12], &x[12..16]).unwrap()
    }

    fn parameters() -> [f64; 16] {
        let mut x = [0.0; 16];
        for i in 0..4 {
            x[2 * i] = CORNERS[i][0];
            x[2 * i + 1] = CORNERS[i][1];
        }
        x[8..].copy_from_slice(&[45.0, 12.0, -40.0, 1e-7, 90.0, 90.0, 70.0, 0.0]);
        x
    }

    #[test]
    fn a_straight_edge_is_the_limit_of_a_bowed_one() {
        let edge: EdgeArc<f64> = EdgeArc::new([0.0, 0.0], [100.0, 0.0], 0.0);
        assert_eq!(edge.distance([30.0, -7.0]), 7.0);
        let bowed: EdgeArc<f64> = EdgeArc::new([0.0, 0.0], [100.0, 0.0], 1e-9);
        assert!((bowed.distance([30.0, -7.0]) - 7.0).abs() < 1e-8);
    }

    #[test]
    fn an_edge_is_the_circle_through_its_corners_and_its_bow() {
        let (c, h) = (50.0_f64, 20.0_f64);
        let edge: EdgeArc<f64> = EdgeArc::new([0.0, 0.0], [2.0 * c, 0.0], h);
        let radius = (c * c + h * h) / (2.0 * h);
        assert!((edge.curvature() - 1.0 / radius).abs() < 1e-15);
        for w in [-1.0, -0.3, 0.0, 0.8, 1.0] {
            let [x, y] = edge.at(w);
            assert!(((x - c).hypot(y - (radius - h)) - radius).abs() < 1e-12);
            assert!((edge.parameter([x, y]) - w).abs() < 1e-12);
            assert!(edge.distance([x, y]).abs() < 1e-12);
        }
        assert!((edge.distance([c, -(h + 9.0)]) - 9.0).abs() < 1e-12);
    }

    #[test]
    fn a_fillet_touches_both_edges() {
        let s = shape(&parameters());
        for (i, fillet) in s.fillets().iter().enumerate() {
            for edge in [&s.edges()[(i + 3) % 4], &s.edges()[i]] {
                assert!((edge.distance(fillet.centre) + fillet.radius).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn derivatives_agree_with_differences() {
        let x = parameters();
        let dual: [DualSVec64<16>; 16] =
            std::array::from_fn(|i| DualSVec64::from_re(x[i]).derivative(i));
        let wanted = |x: &[f64; 16]| -> Vec<f64> { outputs(&shape(x)) };
        let carried = outputs(&shape(&dual));
        for i in 0..16 {
            let step = if i >= 12 { 1e-3 } else { 1e-4 };
            let (mut up, mut down) = (x, x);
            up[i] += step;
            down[i] -= if x[i] == 0.0 && i >= 12 { 0.0 } else { step };
            let span = up[i] - down[i];
            for ((a, b), c) in wanted(&up).iter().zip(wanted(&down)).zip(&carried) {
                let slope = (a - b) / span;
                let exact = c.eps.0.map_or(0.0, |e| e[i]);
                assert!((slope - exact).abs() < 2e-5, "parameter {i}: {slope} against {exact}");
            }
        }
    }

    fn outputs<D: Scalar>(s: &Shape<D>) -> Vec<D> {
        let lines =
            [([300.0, 500.0], [0.0, 1.0]), ([0.0, 60.0], [1.0, 0.0]), ([0.0, 0.0], [0.6, 0.8])];
        let mut out = Vec::new();
        for (p, d) in lines {
            let [a, b] = s.crossings(p.map(D::from), d.map(D::from)).unwrap();
            out.extend([a.along, b.along]);
        }
        for fillet in s.fillets() {
            out.extend(fillet.middle);
        }
        out.extend((0..4).map(|i| s.bow_between(i, (i + 1) % 4)));
        out
    }
}
