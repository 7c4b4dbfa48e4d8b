//! The cut line round a piece whose finished edge is drawn by points: allowance beside each edge, square
//! corners between them.
//!
//! Where an edge turns away from the allowance the corner is left sharp while the turn is small, else rounded;
//! where it turns towards it the moved lines are cut off where they meet. Edges join where their moved
//! lines meet, as sewers trim the ends of seams. Elementary geometry. A sharp corner of turn t stands
//! off by a/cos(t/2) for an allowance a: with [`SHARP`] by no more than a/20,000 too far.

use geometry::{Angle, Area, Length, Path, Piece as PieceFrame, Point, Vertex};

use crate::DraftError;

/// Turns below this stay sharp: those between the chords of a curve.
const SHARP: f64 = 0.02;
const QUARTER: Angle = Angle::from_degrees(90.0);

/// A run of points moved to its right by `by`; to its left when negative.
///
/// # Errors
/// [`DraftError::Radius`] when it curves more tightly than that; `item` names it.
pub(crate) fn beside(
    item: &str,
    points: &[Point<PieceFrame>],
    by: Length,
) -> Result<Vec<Vertex<PieceFrame>>, DraftError> {
    let sharp = |point| Vertex { point, bulge: 0.0 };
    let headings: Vec<Angle> = points.windows(2).map(|ends| ends[0].heading_to(ends[1])).collect();
    let (first, last) = (headings[0], headings[headings.len() - 1]);
    let mut vertices = vec![sharp(points[0].toward(first - QUARTER, by))];
    for (k, ends) in headings.windows(2).enumerate() {
        let at = points[k + 1];
        let turn = turned(ends[0], ends[1]);
        let away = turn * by.mm() > 0.0;
        if away && turn.abs() > SHARP {
            let bulge = (turn / 4.0).tan();
            vertices.push(Vertex { point: at.toward(ends[0] - QUARTER, by), bulge });
            vertices.push(sharp(at.toward(ends[1] - QUARTER, by)));
            continue;
        }
        let cut_back = (by * (turn / 2.0).tan()).abs();
        let beside = at.distance(points[k]).min(at.distance(points[k + 2]));
        if !away && cut_back > beside {
            let radius = beside / turn.abs();
            return Err(DraftError::Radius { item: item.to_owned(), radius, allowance: by.abs() });
        }
        let halfway = ends[0] + Angle::from_radians(turn / 2.0) - QUARTER;
        vertices.push(sharp(at.toward(halfway, by / (turn / 2.0).cos())));
    }
    vertices.push(sharp(points[points.len() - 1].toward(last - QUARTER, by)));
    Ok(vertices)
}

/// The closed line that runs beside edges which together go anticlockwise round a piece, each with
/// its own allowance.
pub(crate) fn cut_round(
    item: &str,
    edges: &[(&[Point<PieceFrame>], Length)],
) -> Result<Path<PieceFrame>, DraftError> {
    let runs = edges
        .iter()
        .map(|(points, allowance)| beside(item, points, *allowance))
        .collect::<Result<Vec<_>, _>>()?;
    let n = runs.len();
    let corner = |k: usize| {
        let (before, after) = (edges[k].0, edges[(k + 1) % n].0);
        let from = before[before.len() - 2].heading_to(before[before.len() - 1]);
        let to = after[0].heading_to(after[1]);
        let (end, start) = (runs[k][runs[k].len() - 1].point, runs[(k + 1) % n][0].point);
        // Along the first line as far as the second: the distance from end to start, resolved.
        let turn = turned(from, to);
        let gap = end.distance(start);
        let bearing = if gap > Length::ZERO { turned(from, end.heading_to(start)) } else { 0.0 };
        let along = gap * ((turn - bearing).sin() / turn.sin());
        if turn.sin().abs() < 1e-6 { end.midpoint(start) } else { end.toward(from, along) }
    };
    let mut vertices = Vec::new();
    for (k, run) in runs.iter().enumerate() {
        vertices.extend_from_slice(&run[1..run.len() - 1]);
        vertices.push(Vertex { point: corner(k), bulge: 0.0 });
    }
    let cut = Path::closed(vertices);
    if cut.crosses_itself() {
        return Err(DraftError::Tangled { line: format!("cut line of {item}") });
    }
    Ok(cut)
}

/// A closed line without what a slot that runs out of it takes off; `None` when nothing is left or it
/// falls apart.
pub(crate) fn without(
    line: &Path<PieceFrame>,
    slot: &Path<PieceFrame>,
) -> Option<Path<PieceFrame>> {
    let mut outer = line.difference(slot).outer;
    let left = outer.pop().filter(|_| outer.is_empty())?;
    // A difference may come out clockwise.
    Some(if left.area() < Area::ZERO { left.reversed() } else { left })
}

/// From one heading to another, within half a turn either way.
fn turned(from: Angle, to: Angle) -> f64 {
    let (sin, cos) = (to - from).radians().sin_cos();
    sin.atan2(cos)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::mm;

    #[test]
    fn corners_are_square_between_unequal_allowances() {
        let at = Point::from_mm;
        let (a, b, c, d) = (at(0.0, 0.0), at(100.0, 0.0), at(100.0, 50.0), at(0.0, 50.0));
        let edges = [[a, b], [b, c], [c, d], [d, a]];
        let allowances = [20.0, 10.0, 5.0, 0.0].map(mm);
        let edges: Vec<_> =
            edges.iter().zip(allowances).map(|(edge, by)| (&edge[..], by)).collect();
        let cut = cut_round("gusset", &edges).unwrap();
        assert!((cut.area().mm2() - 110.0 * 75.0).abs() < 1e-9);
        assert_eq!(cut.vertices().len(), 4);
    }

    #[test]
    fn a_hollow_tighter_than_its_allowance_is_refused() {
        let at = Point::from_mm;
        let hollow = [at(0.0, 0.0), at(30.0, 0.0), at(32.0, -2.0), at(32.0, -30.0)];
        let refused = beside("front", &hollow, mm(10.0));
        assert!(matches!(refused, Err(DraftError::Radius { .. })), "{refused:?}");
        let bulging: Vec<_> = hollow.iter().rev().copied().collect();
        assert!(beside("front", &bulging, mm(10.0)).is_ok());
    }
}
