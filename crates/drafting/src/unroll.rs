//! A ruled strip between two curves in space, laid flat without stretching.
//!
//! The strip is bridged by triangles, each with one side on one of the edges. Of all bridgings the one is
//! taken that folds least, by a search over the lattice of bridges: the cost of a bridging is the sum over its
//! bridges of 1 − n₁·n₂,
//!
//! | symbol | meaning |
//! | --- | --- |
//! | n₁, n₂ | unit normals of the triangles on either side of a bridge |
//!
//! which is half the square of a small fold. The triangles are then laid down one beside another.
//! Where bridgings fold alike (a flat part) the one with shorter bridges is taken.
//!
//! Valid for any two curves; the strip is as near to the surface that cloth would take between them as
//! straight bridges are. Source of the method: C. C. L. Wang, K. Tang, *Optimal boundary triangulations of an
//! interpolating ruled surface*, Journal of Computing and Information Science in Engineering 5 (2005), from memory; the cost is chosen by
//! us. Accuracy: every side of every triangle keeps its length to rounding, 1e-9 mm; of a curve of
//! radius r that is given with its chords within e of it, the area comes out short by no more than the part e/r.

use geometry::{Angle, Area, Length, Piece as PieceFrame, Placement, Point};
use nalgebra::Vector3;

use crate::{DraftError, SpacePoint};

/// A strip laid flat.
#[derive(Clone, Debug, PartialEq)]
pub struct UnrolledStrip {
    /// Places of the lower edge, in the order given.
    pub lower: Vec<Point<PieceFrame>>,
    /// Places of the upper edge, in the order given.
    pub upper: Vec<Point<PieceFrame>>,
    /// The triangles from left to right, anticlockwise. A number below `lower.len()` is a place of
    /// the lower edge; the others count on through the upper one.
    pub triangles: Vec<[usize; 3]>,
    /// Area of the triangles.
    pub area: Area,
}

impl UnrolledStrip {
    /// The strip moved on its plane.
    #[must_use]
    pub fn placed(self, placement: &Placement<PieceFrame, PieceFrame>) -> Self {
        let moved = |points: Vec<Point<PieceFrame>>| {
            points.into_iter().map(|p| placement.apply(p)).collect()
        };
        Self { lower: moved(self.lower), upper: moved(self.upper), ..self }
    }
}

/// Lays the strip between two edges flat. Both run from left to right as the strip's outside face is
/// seen, `upper` above `lower`; one of them may be a single place, as a cone's apex. The flat strip
/// starts with the lower edge at the origin and its left end upright.
///
/// # Errors
/// [`DraftError::Strip`] when an edge has too few places or stands still; `item` names the strip.
pub fn unroll(
    item: &str,
    lower: &[SpacePoint],
    upper: &[SpacePoint],
) -> Result<UnrolledStrip, DraftError> {
    let refuse = |fault: &'static str| DraftError::Strip { item: item.to_owned(), fault };
    if lower.is_empty() || upper.is_empty() || lower.len() + upper.len() < 3 {
        return Err(refuse("an edge has too few places"));
    }
    let stands_still = |edge: &[SpacePoint]| edge.windows(2).any(|ends| ends[0] == ends[1]);
    if stands_still(lower) || stands_still(upper) {
        return Err(refuse("an edge names one place twice running"));
    }
    if lower[0] == upper[0] {
        return Err(refuse("its edges start at one place"));
    }
    let steps = Lattice { lower, upper }.least_fold();
    let n = lower.len();
    let mut flat = (vec![Point::ORIGIN], Vec::new());
    let along = Angle::from_degrees(90.0);
    flat.1.push(Point::ORIGIN.toward(along, lower[0].distance(upper[0])));
    let (mut triangles, mut area) = (Vec::new(), 0.0);
    for step in steps {
        let (i, j) = (flat.0.len() - 1, flat.1.len() - 1);
        let (a, b) = (lower[i].0, upper[j].0);
        let next = match step {
            Step::Lower => lower[i + 1].0,
            Step::Upper => upper[j + 1].0,
        };
        // Foot along the bridge and height beside it, which keeps both distances to rounding.
        let bridge = b - a;
        let length = bridge.norm();
        let along = (next - a).dot(&bridge) / length;
        let beside = (next - a).cross(&bridge).norm() / length;
        area += 0.5 * beside * length;
        let up = flat.0[i].heading_to(flat.1[j]);
        let right = up - Angle::from_degrees(90.0);
        let at =
            flat.0[i].toward(up, Length::from_mm(along)).toward(right, Length::from_mm(beside));
        match step {
            Step::Lower => {
                triangles.push([i, i + 1, n + j]);
                flat.0.push(at);
            }
            Step::Upper => {
                triangles.push([i, n + j + 1, n + j]);
                flat.1.push(at);
            }
        }
    }
    let (lower, upper) = flat;
    Ok(UnrolledStrip { lower, upper, triangles, area: Area::from_mm2(area) })
}

/// Which edge the next triangle has a side on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Step {
    Lower,
    Upper,
}

/// Every bridge between a place of one edge and a place of the other.
struct Lattice<'a> {
    lower: &'a [SpacePoint],
    upper: &'a [SpacePoint],
}

/// Weight of a bridge's length, per mm: far below any fold that matters, so that it only decides
/// between bridgings that fold alike.
const SHORTER: f64 = 1e-12;

impl Lattice<'_> {
    /// Unit normal of the triangle a step from bridge (i, j) adds; `None` where it has no area.
    fn normal(&self, i: usize, j: usize, step: Step) -> Option<Vector3<f64>> {
        let next = match step {
            Step::Lower => self.lower.get(i + 1)?.0,
            Step::Upper => self.upper.get(j + 1)?.0,
        };
        let a = self.lower[i].0;
        (next - a).cross(&(self.upper[j].0 - a)).try_normalize(1e-12)
    }

    /// The steps from the first bridge to the last that fold least.
    fn least_fold(&self) -> Vec<Step> {
        let (n, m) = (self.lower.len(), self.upper.len());
        let at = |i: usize, j: usize| i * m + j;
        // For each bridge and each step by which it was reached: the least fold up to there, and the
        // step before.
        let mut least = vec![[(f64::INFINITY, Step::Lower); 2]; n * m];
        let mut normals = vec![[None; 2]; n * m];
        for i in 0..n {
            for j in 0..m {
                normals[at(i, j)] =
                    [self.normal(i, j, Step::Lower), self.normal(i, j, Step::Upper)];
                let long = SHORTER * (self.lower[i].0 - self.upper[j].0).norm();
                let reached = |from: Option<usize>, step: Step| {
                    let start = from == Some(0);
                    let normal = from.and_then(|from| normals[from][step as usize]);
                    let (Some(from), Some(normal)) = (from, normal) else {
                        return (f64::INFINITY, Step::Lower);
                    };
                    if start {
                        return (long, step);
                    }
                    let over = |before: Step| {
                        // The triangle before the bridge we come from.
                        let back = match before {
                            Step::Lower => from.checked_sub(m),
                            Step::Upper => from.checked_sub(1),
                        };
                        let fold = back
                            .and_then(|back| normals[back][before as usize])
                            .map_or(f64::INFINITY, |n: Vector3<f64>| 1.0 - n.dot(&normal));
                        (least[from][before as usize].0 + fold + long, before)
                    };
                    let (lower, upper) = (over(Step::Lower), over(Step::Upper));
                    if lower.0 <= upper.0 { lower } else { upper }
                };
                let by_lower = (i > 0).then(|| at(i - 1, j));
                let by_upper = (j > 0).then(|| at(i, j - 1));
                least[at(i, j)] = [reached(by_lower, Step::Lower), reached(by_upper, Step::Upper)];
            }
        }
        let (mut i, mut j) = (n - 1, m - 1);
        let last = least[at(i, j)];
        let mut step = if last[0].0 <= last[1].0 { Step::Lower } else { Step::Upper };
        let mut steps = Vec::with_capacity(n + m - 2);
        while i + j > 0 {
            // A strip with a triangle of no area on every way has no least fold: go along its edges.
            if (step == Step::Lower && i == 0) || (step == Step::Upper && j == 0) {
                step = if i > 0 { Step::Lower } else { Step::Upper };
            }
            steps.push(step);
            let before = least[at(i, j)][step as usize].1;
            match step {
                Step::Lower => i -= 1,
                Step::Upper => j -= 1,
            }
            step = before;
        }
        steps.reverse();
        steps
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn space(points: &[[f64; 3]]) -> Vec<SpacePoint> {
        points.iter().map(|[x, y, z]| SpacePoint::from_mm(*x, *y, *z)).collect()
    }

    #[test]
    fn a_flat_strip_stays_as_it_is() {
        let lower = space(&[[0.0, 0.0, 0.0], [30.0, 0.0, 0.0], [70.0, 5.0, 0.0]]);
        let upper = space(&[[0.0, 20.0, 0.0], [40.0, 25.0, 0.0], [75.0, 30.0, 0.0]]);
        let strip = unroll("strip", &lower, &upper).unwrap();
        for (flat, space) in strip.lower.iter().zip(&lower).chain(strip.upper.iter().zip(&upper)) {
            let [x, y, _] = space.mm();
            assert!(flat.distance(Point::from_mm(x, y)).mm() < 1e-9);
        }
        assert_eq!(strip.triangles.len(), 4);
    }

    #[test]
    fn an_edge_that_stands_still_is_refused() {
        let lower = space(&[[0.0, 0.0, 0.0], [0.0, 0.0, 0.0], [70.0, 5.0, 0.0]]);
        let upper = space(&[[0.0, 20.0, 0.0], [40.0, 25.0, 0.0]]);
        let refused = unroll("gusset", &lower, &upper).unwrap_err().to_string();
        assert!(refused.starts_with("gusset cannot be laid flat"), "{refused}");
        assert!(unroll("gusset", &lower[..1], &upper[..1]).is_err());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]
        #[test]
        fn lengths_are_kept_and_the_area_with_them(
            steps in prop::collection::vec(
                (5.0..40.0, -8.0..8.0, -8.0..8.0, 5.0..40.0, -8.0..8.0, -8.0..8.0), 2..12,
            ),
            apart in 30.0..200.0,
        ) {
            let (mut lower, mut upper) = (vec![[0.0; 3]], vec![[0.0, apart, 0.0]]);
            for (a, b, c, d, e, f) in steps {
                let ([x, y, z], [u, v, w]) = (lower[lower.len() - 1], upper[upper.len() - 1]);
                lower.push([x + a, y + b, z + c]);
                upper.push([u + d, v + e, w + f]);
            }
            let (lower, upper) = (space(&lower), space(&upper));
            let strip = unroll("strip", &lower, &upper).unwrap();
            let flat: Vec<_> = strip.lower.iter().chain(&strip.upper).collect();
            let form: Vec<_> = lower.iter().chain(&upper).collect();
            let mut area = 0.0;
            for &[a, b, c] in &strip.triangles {
                for (p, q) in [(a, b), (b, c), (c, a)] {
                    let off = flat[p].distance(*flat[q]) - form[p].distance(*form[q]);
                    prop_assert!(off.mm().abs() < 1e-9);
                }
                area += geometry::Path::polygon([a, b, c].map(|i| *flat[i])).area().mm2();
            }
            prop_assert!((area - strip.area.mm2()).abs() < 1e-9 * area);
        }
    }
}
