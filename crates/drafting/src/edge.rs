//! From the glass edge to the finished edge, the hem stitch and the cut line.
//!
//! - The *finished edge* is the glass edge moved inwards, arcs exact. A side of it runs from one
//!   corner's middle line (the line that halves the corner) to the next.
//! - The *cut line* is the edge of everything that lies within a side's allowance of that side:
//!   what is called the union of the finished edge with one round-ended strip for each side. Beside
//!   a raw side (allowance 0) a strip ends square, so that nothing hangs over the raw edge.
//! - The *hem stitch* of a side is the glass edge moved inwards by inset and stitch depth; where
//!   depths differ it steps along the corner's middle line, as a mitred hem does.
//!
//! Valid while each hollow arc of the finished edge has a radius above its allowance, and no strip
//! reaches past a neighbouring side; both are checked. Elementary geometry; exact up to rounding,
//! a hundred-thousandth of a millimetre where lines are intersected.

use geometry::{Angle, Frame, Length, Outline, Pane, Path, Point, Segment, Vertex, tolerance};

use crate::DraftError;

const QUARTER: Angle = Angle::from_degrees(90.0);

/// `side 1` for index 0.
pub(crate) fn side_name(index: usize) -> String {
    format!("side {}", index + 1)
}

/// The glass edge moved inwards by `depth`; `None` when that is not one closed line.
pub(crate) fn edge_at(outline: &Outline, depth: Length) -> Option<Path<Pane>> {
    let edge = outline.path();
    let mut loops = if depth == Length::ZERO { vec![edge] } else { edge.inset(depth) };
    if loops.len() == 1 { loops.pop() } else { None }
}

/// The sides of [`edge_at`]; `None` when one of them is lost.
pub(crate) fn sides_at(outline: &Outline, depth: Length) -> Option<Vec<Path<Pane>>> {
    let edge = edge_at(outline, depth)?;
    let starts: Vec<Length> = outline
        .shape()
        .fillets()
        .iter()
        .map(|fillet| {
            let [a, b] = fillet.normals;
            let out = Angle::from_radians((a[1] + b[1]).atan2(a[0] + b[0]));
            let [x, y] = fillet.middle;
            edge.nearest(Point::from_mm(x, y).toward(out, -depth)).0
        })
        .collect();
    let n = starts.len();
    let sides: Vec<Path<Pane>> =
        (0..n).map(|i| edge.part(starts[i], starts[(i + 1) % n])).collect();
    let total: Length = sides.iter().map(Path::length).sum();
    let in_order = (total - edge.length()).abs() < tolerance::SAME_POINT;
    let all_there = sides.iter().all(|side| side.length() > tolerance::SAME_POINT);
    (in_order && all_there).then_some(sides)
}

/// The widest distance at which `fits` still holds, between a distance that fits and one that does
/// not, to a tenth of a millimetre.
pub(crate) fn widest(fits: impl Fn(Length) -> bool, good: Length, bad: Length) -> Length {
    let (mut good, mut bad) = (good, bad);
    while (bad - good).mm() > 0.1 {
        let middle = (good + bad) / 2.0;
        if fits(middle) { good = middle } else { bad = middle }
    }
    good
}

/// Runs of neighbouring paths, the last one next to the first, joined where each is there: one
/// closed path when none is missing. Gaps are closed by straight lines.
pub(crate) fn joined<F: Frame>(paths: &[Option<Path<F>>]) -> Vec<Path<F>> {
    let n = paths.len();
    let chain = |run: &[&Path<F>], closed: bool| {
        let mut vertices: Vec<Vertex<F>> = Vec::new();
        for path in run {
            append(&mut vertices, path);
        }
        if closed { close(vertices) } else { Path::open(vertices) }
    };
    let Some(gap) = paths.iter().position(Option::is_none) else {
        return vec![chain(&paths.iter().flatten().collect::<Vec<_>>(), true)];
    };
    let turned: Vec<Option<&Path<F>>> = (0..n).map(|i| paths[(gap + i) % n].as_ref()).collect();
    turned
        .split(Option::is_none)
        .filter(|run| !run.is_empty())
        .map(|run| chain(&run.iter().copied().flatten().collect::<Vec<_>>(), false))
        .collect()
}

/// Appends a path; its start replaces an end at the same place.
fn append<F: Frame>(vertices: &mut Vec<Vertex<F>>, path: &Path<F>) {
    let next = path.vertices();
    if vertices.last().is_some_and(|v| v.point.distance(next[0].point) < tolerance::SAME_POINT) {
        vertices.pop();
    }
    vertices.extend(next);
}

/// A closed path from vertices whose last may repeat the first.
fn close<F: Frame>(mut vertices: Vec<Vertex<F>>) -> Path<F> {
    let (first, last) = (vertices[0].point, vertices[vertices.len() - 1].point);
    if first.distance(last) < tolerance::SAME_POINT {
        vertices.pop();
    }
    Path::closed(vertices)
}

/// The side moved outwards (to the right of travel) by `allowance`.
fn outside<F: Frame>(
    index: usize,
    side: &Path<F>,
    allowance: Length,
) -> Result<Path<F>, DraftError> {
    let mut vertices = Vec::new();
    let out = |(point, heading): (Point<F>, Angle)| point.toward(heading - QUARTER, allowance);
    let bulges = side.vertices().iter().map(|v| v.bulge);
    let mut end = None;
    for (segment, bulge) in side.segments().zip(bulges) {
        if let Segment::Arc { radius, sweep, .. } = segment
            && sweep < Angle::ZERO
            && radius <= allowance
        {
            return Err(DraftError::Radius { item: side_name(index), radius, allowance });
        }
        vertices.push(Vertex { point: out(segment.at(0.0)), bulge });
        end = Some(out(segment.at(1.0)));
    }
    vertices.extend(end.map(|point| Vertex { point, bulge: 0.0 }));
    Ok(Path::open(vertices))
}

/// The cut line around sides that together are a closed anticlockwise line, each with its own
/// allowance.
pub(crate) fn cut_line<F: Frame>(
    sides: &[Path<F>],
    allowances: &[Length],
) -> Result<Path<F>, DraftError> {
    let n = sides.len();
    let next = |i: usize| (i + 1) % n;
    let strips = sides.iter().zip(allowances).enumerate();
    let edges: Vec<Path<F>> = strips
        .map(|(i, (side, allowance))| outside(i, side, *allowance))
        .collect::<Result<_, _>>()?;
    let corners: Vec<Point<F>> = sides.iter().map(|side| side.vertices()[0].point).collect();

    // Where the round end of a wider strip covers its neighbour, the neighbour's edge is left out.
    let mut from = vec![Length::ZERO; n];
    let mut to: Vec<Length> = edges.iter().map(Path::length).collect();
    for i in 0..n {
        let (j, corner) = (next(i), corners[next(i)]);
        let (before, after) = (allowances[i], allowances[j]);
        let crossings = |edge: &Path<F>| -> Vec<Length> {
            let end = Path::circle(corner, before.max(after));
            edge.meetings(&end).into_iter().map(|p| edge.nearest(p).0).collect()
        };
        let short = |side: usize| DraftError::ShortSide {
            item: side_name(side),
            length: sides[side].length(),
        };
        if before.min(after) > Length::ZERO && (before - after).abs() > tolerance::SAME_POINT {
            if before > after {
                from[j] =
                    crossings(&edges[j]).into_iter().reduce(Length::min).ok_or_else(|| short(j))?;
            } else {
                to[i] =
                    crossings(&edges[i]).into_iter().reduce(Length::max).ok_or_else(|| short(i))?;
            }
        }
    }
    let mut vertices: Vec<Vertex<F>> = Vec::new();
    for i in 0..n {
        if to[i] - from[i] < tolerance::SAME_POINT {
            let (item, length) = (side_name(i), sides[i].length());
            return Err(DraftError::ShortSide { item, length });
        }
        append(&mut vertices, &edges[i].part(from[i], to[i]));
        let (j, corner) = (next(i), corners[next(i)]);
        let end = edges[i].at_length(to[i]).0;
        let start = edges[j].at_length(from[j]).0;
        let round = allowances[i].min(allowances[j]) > Length::ZERO;
        if round && end.distance(start) >= tolerance::SAME_POINT {
            let sweep = (corner.heading_to(start) - corner.heading_to(end)).radians();
            let half_turn = std::f64::consts::PI;
            let sweep = (sweep + half_turn).rem_euclid(2.0 * half_turn) - half_turn;
            vertices.last_mut().expect("a side has vertices").bulge = (sweep / 4.0).tan();
        }
    }
    let cut = close(vertices);
    if cut.crosses_itself() {
        return Err(DraftError::Tangled { line: "cut line".to_owned() });
    }
    Ok(cut)
}

#[cfg(test)]
mod tests {
    use geometry::Piece as PieceFrame;
    use proptest::prelude::*;

    use super::*;
    use crate::samples::{hems, mm, outlines, windscreen};

    fn square(side: f64) -> Vec<Path<PieceFrame>> {
        let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)];
        let corner = |i: usize| Point::from_mm(corners[i % 4].0, corners[i % 4].1);
        (0..4).map(|i| Path::polyline([corner(i), corner(i + 1)])).collect()
    }

    #[test]
    fn equal_allowances_give_the_offset_with_round_joins() {
        let cut = cut_line(&square(100.0), &[mm(10.0); 4]).unwrap();
        // The square, four strips and four quarter circles.
        let expected = 1e4 + 4e3 + std::f64::consts::PI * 100.0;
        assert!((cut.area().mm2() - expected).abs() < 1e-6);
        let outline = windscreen();
        let sides = sides_at(&outline, mm(4.0)).unwrap();
        let cut = cut_line(&sides, &[mm(40.0); 4]).unwrap();
        let offset = edge_at(&outline, mm(4.0)).unwrap().inset(mm(-40.0)).remove(0);
        assert!((cut.area() - offset.area()).mm2().abs() < 1e-3);
    }

    #[test]
    fn a_strip_ends_square_beside_a_raw_side() {
        let allowances = [10.0, 0.0, 20.0, 0.0].map(mm);
        let cut = cut_line(&square(100.0), &allowances).unwrap();
        assert!((cut.area().mm2() - 1.3e4).abs() < 1e-6);
        assert_eq!(cut.bounds().unwrap().width(), mm(100.0));
    }

    #[test]
    fn a_wider_strip_ends_round_over_its_neighbour() {
        let cut = cut_line(&square(100.0), &[30.0, 10.0, 10.0, 10.0].map(mm)).unwrap();
        // Union of quarter circle of 30 at each base corner with the 10 mm strips: elementary.
        let (a, b) = (30.0_f64, 10.0_f64);
        let quarter = std::f64::consts::FRAC_PI_4;
        // What the wider circle adds above the base and outside the 10 mm strip.
        let cap = 0.5 * (a * a * (b / a).acos() - b * (a * a - b * b).sqrt());
        let base = 100.0 * a + 2.0 * (quarter * a * a + cap);
        let rest = 3.0 * 100.0 * b + 2.0 * quarter * b * b;
        assert!((cut.area().mm2() - (1e4 + base + rest)).abs() < 1e-4);
    }

    #[test]
    fn a_hollow_tighter_than_its_allowance_is_refused() {
        let hollow = Path::<PieceFrame>::open(vec![
            Vertex { point: Point::from_mm(0.0, 0.0), bulge: -0.9 },
            Vertex { point: Point::from_mm(50.0, 0.0), bulge: 0.0 },
        ]);
        let found = outside(0, &hollow, mm(30.0));
        assert!(matches!(found, Err(DraftError::Radius { .. })), "{found:?}");
        assert!(outside(0, &hollow, mm(20.0)).is_ok());
    }

    #[test]
    fn a_side_swallowed_by_its_neighbours_is_refused() {
        let allowances = [60.0, 5.0, 60.0, 5.0].map(mm);
        let found = cut_line(&square(50.0), &allowances);
        assert!(matches!(found, Err(DraftError::ShortSide { .. })), "{found:?}");
    }

    #[test]
    fn runs_are_joined_round_the_start() {
        let sides = square(10.0);
        let keep = |wanted: [bool; 4]| {
            let paths: Vec<_> =
                sides.iter().zip(wanted).map(|(s, w)| w.then(|| s.clone())).collect();
            joined(&paths)
        };
        let all = keep([true; 4]);
        assert!(all.len() == 1 && all[0].is_closed() && all[0].area().mm2() == 100.0);
        let three = keep([true, true, false, true]);
        assert!(three.len() == 1 && !three[0].is_closed() && three[0].length() == mm(30.0));
        assert_eq!(keep([true, false, true, false]).len(), 2);
        assert!(keep([false; 4]).is_empty());
    }

    proptest! {
        #[test]
        fn the_cut_line_stands_off_each_side_by_its_allowance(
            outline in outlines(), hems in hems(),
        ) {
            let finished = edge_at(&outline, mm(4.0));
            let sides = sides_at(&outline, mm(4.0));
            prop_assume!(finished.is_some() && sides.is_some());
            let (finished, sides) = (finished.unwrap(), sides.unwrap());
            let hems = &hems[..sides.len()];
            let cut = cut_line(&sides, hems);
            let too_tight = matches!(cut, Err(DraftError::Radius { .. } | DraftError::ShortSide { .. }));
            prop_assume!(!too_tight);
            let cut = cut.unwrap();
            prop_assert!(!cut.crosses_itself());
            for (side, &hem) in sides.iter().zip(hems) {
                let (middle, heading) = side.at_length(side.length() / 2.0);
                let at = middle.toward(heading - QUARTER, hem);
                // A short side's middle may lie under its neighbour's round end.
                if side.length().mm() > 120.0 {
                    prop_assert!(cut.nearest(at).1.mm() < 1e-6);
                }
                prop_assert!((finished.nearest(at).1 - hem).mm().abs() < 1e-6);
            }
            let least = hems.iter().copied().fold(mm(1e9), Length::min);
            let most = hems.iter().copied().fold(Length::ZERO, Length::max);
            for point in cut.flatten(mm(0.5)) {
                let off = finished.nearest(point).1;
                prop_assert!(!finished.contains(point));
                prop_assert!(off > least - mm(1e-4) && off < most + mm(1e-4), "{off}");
            }
        }
    }
}
