//! Is a lay good to cut? Checked from the outlines alone, apart from how it was found.
//!
//! Two pieces are too near when their edges come nearer than the gap, by more than
//! [`RECHECK_TOLERANCE`]; they overlap when some point of one's edge lies deeper than that inside the
//! other, or each covers the other's middle. Every edge is tried at its corners and, between its
//! crossings with the other outline and the feet of the other's corners, at the middle of each run:
//! where two simple polygons share more than a sliver, the edge of the common part is made of such
//! runs. Valid for simple polygons. Distances are f64, good to about 1e-10 mm.

use std::collections::BTreeMap;

use geometry::{Angle, Bounds, Length, Piece, Placement, Point, Roll};
use thiserror::Error;

use crate::slices::Xy;
use crate::{Ask, Lay, Place};

/// What the re-check lets pass. Chosen by us: a hundredth of the 0.1 mm to which outlines are drawn,
/// and twice the rounding of places written to 0.001 mm.
pub const RECHECK_TOLERANCE: Length = Length::from_mm(1e-3);

/// What makes a lay unfit to cut.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum LayFault {
    /// A place for a piece nobody asked for.
    #[error("piece `{name}` is laid, but was not asked for; lay again")]
    Unknown {
        /// Its name.
        name: String,
    },
    /// Too few or too many of a piece.
    #[error("piece `{name}` is laid {found} times, needed {needed}; lay again")]
    Count {
        /// Its name.
        name: String,
        /// Places with that name.
        found: usize,
        /// Count asked for.
        needed: usize,
    },
    /// A turn its grain does not allow.
    #[error("piece `{name}` is turned {:.1}°, which it does not allow; lay again", turn.degrees())]
    Turn {
        /// Its name.
        name: String,
        /// The turn.
        turn: Angle,
    },
    /// Beyond a selvedge or the end of the cloth.
    #[error("piece `{name}` stands {by:.3} off the cloth; lay again")]
    OffCloth {
        /// Its name.
        name: String,
        /// How far, at most.
        by: Length,
    },
    /// Two pieces on the same cloth.
    #[error("pieces `{a}` and `{b}` overlap near x {:.1} y {:.1} mm; lay again", at.x_mm(), at.y_mm())]
    Overlap {
        /// The one.
        a: String,
        /// The other.
        b: String,
        /// A point of both.
        at: Point<Roll>,
    },
    /// Two pieces with too little between them.
    #[error("pieces `{a}` and `{b}` are {found:.3} apart, needed {needed:.3}; lay again")]
    TooNear {
        /// The one.
        a: String,
        /// The other.
        b: String,
        /// Distance between them.
        found: Length,
        /// The gap asked for.
        needed: Length,
    },
}

/// A placed outline.
struct Laid<'a> {
    name: &'a str,
    outline: Vec<Xy>,
    bounds: Bounds<Roll>,
}

/// Checks that a lay is good to cut: every piece asked for, as often as asked, at an allowed turn,
/// on the cloth between its selvedges and within the lay's length, with the gap between any two, all
/// to within [`RECHECK_TOLERANCE`].
///
/// # Errors
/// The first fault found.
pub fn verify(ask: &Ask, lay: &Lay) -> Result<(), LayFault> {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    let mut laid = Vec::with_capacity(lay.places.len());
    for place in &lay.places {
        *counts.entry(&place.name).or_default() += 1;
        laid.push(placed(ask, lay.length, place)?);
    }
    for shape in &ask.shapes {
        let found = counts.get(shape.name.as_str()).copied().unwrap_or(0);
        if found != shape.count {
            return Err(LayFault::Count { name: shape.name.clone(), found, needed: shape.count });
        }
    }
    // Along the roll only neighbours in x can meet.
    laid.sort_by(|a, b| a.bounds.min.x_mm().total_cmp(&b.bounds.min.x_mm()));
    for (i, a) in laid.iter().enumerate() {
        let end = a.bounds.max.x() + ask.gap;
        for b in laid[i + 1..].iter().take_while(|b| b.bounds.min.x() < end) {
            apart(a, b, ask.gap)?;
        }
    }
    Ok(())
}

fn placed<'a>(ask: &'a Ask, length: Length, place: &Place) -> Result<Laid<'a>, LayFault> {
    let shape = ask.shapes.iter().find(|shape| shape.name == place.name);
    let shape = shape.ok_or_else(|| LayFault::Unknown { name: place.name.clone() })?;
    if !shape.turns.contains(&place.turn) {
        return Err(LayFault::Turn { name: place.name.clone(), turn: place.turn });
    }
    let placement = Placement::<Piece, Roll>::new(place.turn, place.at);
    let points: Vec<Point<Roll>> = shape.outline.iter().map(|p| placement.apply(*p)).collect();
    let bounds = Bounds::of_points(points.iter().copied())
        .unwrap_or(Bounds { min: place.at, max: place.at });
    let by = (-bounds.min.x())
        .max(-bounds.min.y())
        .max(bounds.max.y() - ask.width)
        .max(bounds.max.x() - length);
    if by > RECHECK_TOLERANCE {
        return Err(LayFault::OffCloth { name: place.name.clone(), by });
    }
    Ok(Laid { name: &shape.name, outline: points.iter().map(|p| p.mm()).collect(), bounds })
}

/// Checks that two placed pieces keep the gap.
fn apart(a: &Laid, b: &Laid, gap: Length) -> Result<(), LayFault> {
    let clear = |low: &Laid, high: &Laid| {
        let up = high.bounds.min.y() - low.bounds.max.y();
        let along = high.bounds.min.x() - low.bounds.max.x();
        up.max(along) >= gap - RECHECK_TOLERANCE
    };
    if clear(a, b) || clear(b, a) {
        return Ok(());
    }
    let names = || (a.name.to_owned(), b.name.to_owned());
    let inside = deep_point(&a.outline, &b.outline).or_else(|| deep_point(&b.outline, &a.outline));
    if let Some([x, y]) = inside {
        let (a, b) = names();
        return Err(LayFault::Overlap { a, b, at: Point::from_mm(x, y) });
    }
    if gap > RECHECK_TOLERANCE {
        let found = edges(&a.outline)
            .flat_map(|e| edges(&b.outline).map(move |f| distance_between(e, f)))
            .fold(f64::INFINITY, f64::min);
        if found < (gap - RECHECK_TOLERANCE).mm() {
            let (a, b) = names();
            return Err(LayFault::TooNear { a, b, found: Length::from_mm(found), needed: gap });
        }
    }
    Ok(())
}

type Edge = [Xy; 2];

fn edges(outline: &[Xy]) -> impl Iterator<Item = Edge> + '_ {
    (0..outline.len()).map(|i| [outline[i], outline[(i + 1) % outline.len()]])
}

/// A point of `a`, on its edge or in its middle, that lies inside `b` by more than the tolerance.
fn deep_point(a: &[Xy], b: &[Xy]) -> Option<Xy> {
    let deep =
        |p: &Xy| contains(b, *p) && edges(b).all(|e| distance_to(e, *p) > RECHECK_TOLERANCE.mm());
    if let Some(middle) = inner_point(a).filter(deep) {
        return Some(middle);
    }
    edges(a).find_map(|[p, q]| {
        let (dx, dy) = (q[0] - p[0], q[1] - p[1]);
        let at = |t: f64| [p[0] + t * dx, p[1] + t * dy];
        // Runs of this edge between crossings with b lie either inside or outside it.
        let mut runs = vec![0.0, 1.0];
        runs.extend(edges(b).filter_map(|e| crossing_at([p, q], e)));
        runs.sort_by(f64::total_cmp);
        let inside = runs.windows(2).filter(|run| contains(b, at(0.5 * (run[0] + run[1]))));
        inside
            .flat_map(|run| {
                let mut marks = vec![run[0], run[1]];
                marks.extend(b.iter().filter_map(|c| {
                    let foot = ((c[0] - p[0]) * dx + (c[1] - p[1]) * dy) / (dx * dx + dy * dy);
                    (foot > run[0] && foot < run[1]).then_some(foot)
                }));
                marks.sort_by(f64::total_cmp);
                let middles = marks.windows(2).map(|m| at(0.5 * (m[0] + m[1]))).collect::<Vec<_>>();
                marks.iter().map(|t| at(*t)).chain(middles).collect::<Vec<_>>()
            })
            .find(deep)
    })
}

/// Where along the first edge (0..1) the second crosses it; none when they are parallel.
fn crossing_at([p, q]: Edge, [c, d]: Edge) -> Option<f64> {
    let (u, v) = ([q[0] - p[0], q[1] - p[1]], [d[0] - c[0], d[1] - c[1]]);
    let w = [c[0] - p[0], c[1] - p[1]];
    let cross = u[0] * v[1] - u[1] * v[0];
    let along = (w[0] * v[1] - w[1] * v[0]) / cross;
    let other = (w[0] * u[1] - w[1] * u[0]) / cross;
    let within = |t: f64| (0.0..=1.0).contains(&t);
    (cross != 0.0 && within(along) && within(other)).then_some(along)
}

/// Whether the point is inside, by the number of edges that a ray to the right crosses.
fn contains(outline: &[Xy], [x, y]: Xy) -> bool {
    edges(outline).fold(false, |inside, [a, b]| {
        let passes =
            (a[1] > y) != (b[1] > y) && x < a[0] + (b[0] - a[0]) * ((y - a[1]) / (b[1] - a[1]));
        inside != passes
    })
}

/// A point well inside: the middle of the widest stretch, seen at levels halfway between corners.
fn inner_point(outline: &[Xy]) -> Option<Xy> {
    let mut levels: Vec<f64> = outline.iter().map(|p| p[1]).collect();
    levels.sort_by(f64::total_cmp);
    let mut best = (0.0, None);
    for pair in levels.windows(2) {
        let y = 0.5 * (pair[0] + pair[1]);
        let mut xs: Vec<f64> = edges(outline)
            .filter(|[a, b]| (a[1] > y) != (b[1] > y))
            .map(|[a, b]| a[0] + (b[0] - a[0]) * ((y - a[1]) / (b[1] - a[1])))
            .collect();
        xs.sort_by(f64::total_cmp);
        for stretch in xs.chunks_exact(2) {
            let size = (stretch[1] - stretch[0]).min(pair[1] - pair[0]);
            if size > best.0 {
                best = (size, Some([0.5 * (stretch[0] + stretch[1]), y]));
            }
        }
    }
    best.1
}

/// Distance from a point to an edge.
fn distance_to([a, b]: Edge, p: Xy) -> f64 {
    let (u, w) = ([b[0] - a[0], b[1] - a[1]], [p[0] - a[0], p[1] - a[1]]);
    let square = u[0] * u[0] + u[1] * u[1];
    let t = if square > 0.0 { ((w[0] * u[0] + w[1] * u[1]) / square).clamp(0.0, 1.0) } else { 0.0 };
    (w[0] - t * u[0]).hypot(w[1] - t * u[1])
}

/// Distance between two edges, 0 when they cross.
pub(crate) fn distance_between(e: Edge, f: Edge) -> f64 {
    if crossing_at(e, f).is_some() {
        return 0.0;
    }
    let ends =
        [distance_to(e, f[0]), distance_to(e, f[1]), distance_to(f, e[0]), distance_to(f, e[1])];
    ends.into_iter().fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Shape;

    const SIDE: f64 = 100.0;

    fn ask(gap: f64) -> Ask {
        let outline = [(0.0, 0.0), (SIDE, 0.0), (SIDE, SIDE), (0.0, SIDE)];
        let shape = Shape {
            name: "square".into(),
            count: 2,
            turns: vec![Angle::ZERO],
            outline: outline.map(|(x, y)| Point::from_mm(x, y)).to_vec(),
        };
        Ask { width: Length::from_mm(150.0), gap: Length::from_mm(gap), shapes: vec![shape] }
    }

    fn lay(places: [(f64, f64); 2]) -> Lay {
        let places = places.map(|(x, y)| Place {
            name: "square".into(),
            turn: Angle::ZERO,
            at: Point::from_mm(x, y),
        });
        Lay { length: Length::from_mm(300.0), use_: 0.5, places: places.to_vec() }
    }

    #[test]
    fn touching_squares_pass_and_twins_do_not() {
        assert_eq!(verify(&ask(0.0), &lay([(0.0, 0.0), (SIDE, 0.0)])), Ok(()));
        let twins = verify(&ask(0.0), &lay([(0.0, 0.0), (0.0, 0.0)]));
        assert!(matches!(twins, Err(LayFault::Overlap { .. })), "{twins:?}");
    }

    #[test]
    fn an_overlap_is_seen_just_beyond_the_tolerance() {
        let beside = |x: f64| verify(&ask(0.0), &lay([(0.0, 0.0), (x, 10.0)]));
        assert_eq!(beside(SIDE - 0.0009), Ok(()));
        assert!(matches!(beside(SIDE - 0.0025), Err(LayFault::Overlap { .. })));
    }

    #[test]
    fn a_gap_is_measured_corner_to_corner() {
        let apart = |d: f64| verify(&ask(5.0), &lay([(0.0, 0.0), (SIDE + d, 50.0)]));
        assert_eq!(apart(5.0), Ok(()));
        let near = apart(4.99);
        assert!(matches!(near, Err(LayFault::TooNear { .. })), "{near:?}");
    }

    #[test]
    fn a_piece_off_the_cloth_is_seen() {
        let off = verify(&ask(0.0), &lay([(0.0, 0.0), (SIDE, 50.01)]));
        assert!(matches!(off, Err(LayFault::OffCloth { .. })), "{off:?}");
        let off = verify(&ask(0.0), &lay([(-0.01, 0.0), (SIDE, 0.0)]));
        assert!(matches!(off, Err(LayFault::OffCloth { .. })), "{off:?}");
    }

    #[test]
    fn a_missing_a_strange_and_a_wrongly_turned_piece_are_seen() {
        let mut short = lay([(0.0, 0.0), (SIDE, 0.0)]);
        short.places.pop();
        assert!(matches!(verify(&ask(0.0), &short), Err(LayFault::Count { found: 1, .. })));
        short.places[0].name = "other".into();
        assert!(matches!(verify(&ask(0.0), &short), Err(LayFault::Unknown { .. })));
        let mut turned = lay([(0.0, 0.0), (SIDE, 0.0)]);
        turned.places[0].turn = Angle::from_degrees(90.0);
        assert!(matches!(verify(&ask(0.0), &turned), Err(LayFault::Turn { .. })));
    }

    #[test]
    fn a_gap_that_differs_by_a_hair_of_rounding_is_kept() {
        let d = 0.1 + 0.2;
        assert_eq!(verify(&ask(0.3), &lay([(0.0, 0.0), (SIDE + d, 0.0)])), Ok(()));
    }
}
