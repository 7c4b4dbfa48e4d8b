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

pub use crate::carry::{Carrying, Scalar};

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

    /// The same edge without derivatives.
    fn plain(&self) -> EdgeArc<f64> {
        EdgeArc {
            middle: self.middle.map(|c| c.re()),
            along: self.along.map(|c| c.re()),
            half_chord: self.half_chord.re(),
            bow: self.bow.re(),
            curvature: self.curvature.re(),
            cos_half_sweep: self.cos_half_sweep.re(),
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
        let q = self.bow / self.half_chord;
        let q2 = q * q;
        let one = D::from(1.0);
        let below = one + q2 * (w * w);
        let u = self.half_chord * w * (one + q2) / below;
        let v = self.bow * (1.0 - w * w) / below;
        let out = self.global([u, v]);
        [out[0] + self.middle[0], out[1] + self.middle[1]]
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

impl EdgeArc<f64> {
    /// Parameter w of a point on the arc.
    #[must_use]
    pub fn parameter(&self, p: Pair<f64>) -> f64 {
        let u = self.local(p)[0];
        let cos = (1.0 - (self.curvature * u).powi(2)).max(0.0).sqrt();
        u / self.half_chord * (1.0 + self.cos_half_sweep) / (1.0 + cos)
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
        edges: [&EdgeArc<D>; 2],
        plain: [&EdgeArc<f64>; 2],
        corner: Pair<D>,
        radius: D,
    ) -> Option<Self> {
        let [before, after] = edges;
        let near = centre(plain, corner.map(|c| c.re()), radius.re())?;
        // One Newton step that carries the derivatives.
        let p = near.map(D::from);
        let step = step(plain, near, before.distance(p) + radius, after.distance(p) + radius)?;
        let centre = [p[0] - step[0], p[1] - step[1]];
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

    /// The same rounding without derivatives.
    fn plain(&self) -> Fillet<f64> {
        let re = |p: Pair<D>| p.map(|c| c.re());
        Fillet {
            centre: re(self.centre),
            radius: self.radius.re(),
            start: re(self.start),
            end: re(self.end),
            middle: re(self.middle),
            normals: self.normals.map(re),
        }
    }

    fn level(&self, p: Pair<D>) -> D {
        let (dx, dy) = (p[0] - self.centre[0], p[1] - self.centre[1]);
        (dx * dx + dy * dy - self.radius * self.radius) * 0.5
    }
}

impl Fillet<f64> {
    /// How far it turns, radians, anticlockwise positive.
    #[must_use]
    pub fn turn(&self) -> f64 {
        self.turned_to(self.normals[1])
    }

    /// How far the direction `to` is turned from its start, radians.
    fn turned_to(&self, to: Pair<f64>) -> f64 {
        let a = self.normals[0];
        (a[0] * to[1] - a[1] * to[0]).atan2(a[0] * to[0] + a[1] * to[1])
    }

    /// Whether a point on its circle lies between `start` and `end`.
    fn spans(&self, p: Pair<f64>) -> bool {
        let w = [p[0] - self.centre[0], p[1] - self.centre[1]];
        let [a, b] = self.normals;
        let slack = -1e-9 * self.radius.abs().max(1.0);
        let turn = (a[0] * b[1] - a[1] * b[0]).signum();
        turn * (a[0] * w[1] - a[1] * w[0]) >= slack && turn * (w[0] * b[1] - w[1] * b[0]) >= slack
    }
}

/// The point with distance −r to both edges, by Newton's method from the corner.
fn centre(edges: [&EdgeArc<f64>; 2], corner: Pair<f64>, radius: f64) -> Option<Pair<f64>> {
    let mut at = corner;
    for _ in 0..30 {
        let [f, g] = edges.map(|edge| edge.distance(at) + radius);
        let by = step(edges, at, f, g)?;
        at = [at[0] - by[0], at[1] - by[1]];
        if !(at[0].is_finite() && at[1].is_finite()) {
            return None;
        }
        if by[0].hypot(by[1]) < 1e-9 * (1.0 + radius.abs()) {
            return Some(at);
        }
    }
    None
}

/// Newton's step for two distances `f` and `g` whose slopes are the edges' normals at `at`.
fn step<D: Scalar>(edges: [&EdgeArc<f64>; 2], at: Pair<f64>, f: D, g: D) -> Option<Pair<D>> {
    let [n, m] = edges.map(|edge| edge.normal(at));
    let det = n[0] * m[1] - n[1] * m[0];
    (det.abs() > 1e-9).then(|| [(f * m[1] - g * n[1]) / det, (g * n[0] - f * m[0]) / det])
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
///
/// Everything is kept twice, with derivatives and without: searches run on plain numbers.
#[derive(Clone, Debug)]
pub struct Shape<D> {
    edges: Vec<EdgeArc<D>>,
    fillets: Vec<Fillet<D>>,
    plain_edges: Vec<EdgeArc<f64>>,
    plain_fillets: Vec<Fillet<f64>>,
    /// Parameters between which each edge runs.
    ranges: Vec<(f64, f64)>,
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
        debug_assert!(bows.len() == n && radii.len() == n, "one bow and one radius a corner");
        let edges: Vec<EdgeArc<D>> =
            (0..n).map(|i| EdgeArc::new(corners[i], corners[(i + 1) % n], bows[i])).collect();
        let plain_edges: Vec<EdgeArc<f64>> = edges.iter().map(EdgeArc::plain).collect();
        let sound = |e: &EdgeArc<f64>| e.half_chord > 1e-6 && e.bow.abs() < e.half_chord;
        if !plain_edges.iter().all(sound) || radii.iter().any(|r| !r.re().is_finite()) {
            return None;
        }
        let fillets = (0..n)
            .map(|i| {
                let before = (i + n - 1) % n;
                let plain = [&plain_edges[before], &plain_edges[i]];
                Fillet::between([&edges[before], &edges[i]], plain, corners[i], radii[i])
            })
            .collect::<Option<Vec<_>>>()?;
        let plain_fillets: Vec<Fillet<f64>> = fillets.iter().map(Fillet::plain).collect();
        let range = |i: usize| {
            let (from, to) = (plain_fillets[i].end, plain_fillets[(i + 1) % n].start);
            (plain_edges[i].parameter(from), plain_edges[i].parameter(to))
        };
        let ranges: Vec<(f64, f64)> = (0..n).map(range).collect();
        let in_order = ranges.iter().all(|&(w0, w1)| w0 < w1 && w0 > -3.0 && w1 < 3.0);
        in_order.then_some(Self { edges, fillets, plain_edges, plain_fillets, ranges })
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
        self.ranges[i]
    }

    /// The same shape without derivatives.
    #[must_use]
    pub fn plain(&self) -> Shape<f64> {
        Shape {
            edges: self.plain_edges.clone(),
            fillets: self.plain_fillets.clone(),
            plain_edges: self.plain_edges.clone(),
            plain_fillets: self.plain_fillets.clone(),
            ranges: self.ranges.clone(),
        }
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
        for (i, fillet) in self.plain_fillets.iter().enumerate() {
            let r = fillet.radius;
            if r > 1e-9 {
                let n = count(r * fillet.turn().abs(), 1.0 / r);
                places.extend((0..n).map(|k| Place::Fillet(i, k as f64 / n as f64)));
            }
            let (w0, w1) = self.edge_range(i);
            let (k, c) = (self.plain_edges[i].curvature, self.plain_edges[i].half_chord);
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
                let (sin, cos) = (self.plain_fillets[i].turn() * fraction).sin_cos();
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
        let d = heading.map(|c| c.re());
        let found = self.places_crossed(from.map(|c| c.re()), d)?;
        let carry = |(t, place): (f64, Place)| {
            let hit = [from[0] + heading[0] * t, from[1] + heading[1] * t];
            let (level, normal) = self.outside(place, hit);
            let slope = normal[0] * d[0] + normal[1] * d[1];
            (slope.abs() > 1e-9).then(|| Crossing { place, along: -level / slope + t, normal })
        };
        Some([carry(found[0])?, carry(found[1])?])
    }

    /// First and last place on a line, with the distance along it.
    fn places_crossed(&self, p: Pair<f64>, d: Pair<f64>) -> Option<[(f64, Place); 2]> {
        let mut ends: [Option<(f64, Place)>; 2] = [None, None];
        let mut note = |along: f64, place: Place| {
            if ends[0].is_none_or(|(best, _)| along < best) {
                ends[0] = Some((along, place));
            }
            if ends[1].is_none_or(|(best, _)| along > best) {
                ends[1] = Some((along, place));
            }
        };
        let hit = |t: f64| [p[0] + t * d[0], p[1] + t * d[1]];
        for (i, edge) in self.plain_edges.iter().enumerate() {
            // g(p + t·d) = κ/2·t² + b·t + g(p), b the slope of g at p along d.
            let k = edge.curvature;
            let ([u, v], a) = (edge.local(p), edge.along);
            let (du, dv) = (d[0] * a[0] + d[1] * a[1], d[0] * a[1] - d[1] * a[0]);
            let b = k * (u * du + v * dv) + dv * edge.cos_half_sweep;
            let (w0, w1) = self.ranges[i];
            for t in roots(0.5 * k, b, edge.level(p)) {
                // The circle's other side is no part of the edge.
                let near = k * (v + t * dv) + edge.cos_half_sweep >= 0.0;
                if !near {
                    continue;
                }
                let w = edge.parameter(hit(t));
                if w >= w0 - 1e-9 && w <= w1 + 1e-9 {
                    note(t, Place::Edge(i, w));
                }
            }
        }
        for (i, fillet) in self.plain_fillets.iter().enumerate() {
            if fillet.radius < 1e-9 {
                continue; // The edges meet there, or run a little past one another.
            }
            let c = fillet.centre;
            let b = (p[0] - c[0]) * d[0] + (p[1] - c[1]) * d[1];
            for t in roots(0.5, b, fillet.level(p)) {
                let at = hit(t);
                if fillet.spans(at) {
                    let turned = fillet.turned_to([at[0] - c[0], at[1] - c[1]]);
                    note(t, Place::Fillet(i, turned / fillet.turn()));
                }
            }
        }
        Some([ends[0]?, ends[1]?])
    }

    /// How far the boundary between the middles of corners `from` and `to` (anticlockwise) stands
    /// outside the straight between them, where it stands off most; negative when that is inside.
    #[must_use]
    pub fn bow_between(&self, from: usize, to: usize) -> D {
        let place = self.farthest_between(from, to);
        let (a, b) = (self.fillets[from].middle, self.fillets[to].middle);
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let size = (dx * dx + dy * dy).sqrt();
        // At a farthest place the edge runs along the string, so that moving along it changes
        // nothing: the place may stay fixed while derivatives are taken.
        let p = self.point(place);
        ((p[0] - a[0]) * dy - (p[1] - a[1]) * dx) / size
    }

    /// The place between two corners' middles that stands off their string most.
    fn farthest_between(&self, from: usize, to: usize) -> Place {
        let n = self.n_corners();
        let (a, b) = (self.plain_fillets[from].middle, self.plain_fillets[to].middle);
        let size = (b[0] - a[0]).hypot(b[1] - a[1]);
        let out = [(b[1] - a[1]) / size, -(b[0] - a[0]) / size];
        let off = |p: Pair<f64>| ((p[0] - a[0]) * out[0] + (p[1] - a[1]) * out[1]).abs();
        let mut best = (0.0, Place::Fillet(from, 0.5));
        let mut consider = |p: Pair<f64>, place: Place| {
            if off(p) > best.0 {
                best = (off(p), place);
            }
        };
        let mut i = from;
        loop {
            let fillet = &self.plain_fillets[i];
            if i != from && i != to {
                consider(fillet.middle, Place::Fillet(i, 0.5));
            }
            let top = [0, 1].map(|k| fillet.centre[k] + fillet.radius * out[k]);
            let turned = fillet.turned_to(out) / fillet.turn();
            // Only the half of an end corner's rounding that belongs to this side.
            let within = (if i == from { 0.5 } else { 0.0 })..=(if i == to { 0.5 } else { 1.0 });
            if within.contains(&turned) {
                consider(top, Place::Fillet(i, turned));
            }
            if i == to {
                return best.1;
            }
            let edge = &self.plain_edges[i];
            let (w0, w1) = self.ranges[i];
            consider(fillet.end, Place::Edge(i, w0));
            consider(self.plain_fillets[(i + 1) % n].start, Place::Edge(i, w1));
            // The edge's own extreme is where its normal is the string's: sin φ = normal along the
            // chord, and w = tan(φ/2)/q.
            let al = edge.along;
            let (sin, cos) = (out[0] * al[0] + out[1] * al[1], out[0] * al[1] - out[1] * al[0]);
            let q = edge.bow / edge.half_chord;
            if cos > 0.0 && q.abs() > 1e-12 {
                let w = sin / (1.0 + cos) / q;
                if w > w0 && w < w1 {
                    consider(edge.at(w), Place::Edge(i, w));
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
        let dual: [Carrying<16>; 16] = std::array::from_fn(|i| Carrying::variable(x[i], i));
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
                let exact = c.slopes[i];
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
