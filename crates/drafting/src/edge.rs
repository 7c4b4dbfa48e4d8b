//! From the glass edge to the finished edge, the hem stitch and the cut line.
//!
//! - The *finished edge* is the glass edge moved inwards by the inset, arcs exact. It falls into
//!   sides and the roundings between them; a rounding whose radius does not exceed the inset is a
//!   sharp corner.
//! - The *cut line* runs outside each side by that side's allowance a, exactly, and outside each
//!   rounding by the corner's own allowance c ≤ a. A wider hem comes down to c beside the rounding,
//!   on the side it belongs to, so that nothing hangs over the neighbour.
//! - A *mitre*: a hem turned in ends on the line that halves the corner. At height h above the
//!   finished edge its end stands t(h) = (h − f)·tan(δ/2) back from the rounding, for a corner that
//!   turns by δ, with f = c at a rounding; two such ends never lie on one another, as R ≥ c. At a
//!   sharp corner the mitre is sewn, with cloth s beyond its seam: f = s/sin(δ/2), and the two ends
//!   meet s/sin δ outside the corner.
//! - The *hem stitch* of a side is the glass edge moved inwards by inset and stitch depth; where
//!   depths differ it steps along the corner's middle line, as a mitred hem does.
//!
//! Valid while each hollow arc of the finished edge has a radius above its allowance, and the ends of
//! a hem leave something of it; both are checked. Elementary geometry; exact up to rounding,
//! a hundred-thousandth of a millimetre where lines are intersected.

use geometry::{
    Angle, Frame, Length, Outline, Pane, Path, Placement, Point, Segment, Vertex, tolerance,
};

use crate::{CornerStyle, Corners, DraftError};

const QUARTER: Angle = Angle::from_degrees(90.0);

/// `side 1` for index 0.
pub(crate) fn side_name(index: usize) -> String {
    format!("side {}", index + 1)
}

/// Depths to try for one that is asked: where a rounding just vanishes the offset may fail, and a
/// micrometre beside it does not.
fn depths(depth: Length) -> [Length; 3] {
    [0.0, 1e-3, -1e-3].map(|beside| depth + Length::from_mm(beside))
}

/// The glass edge moved inwards by `depth`; `None` when that is not one closed line.
pub(crate) fn edge_at(outline: &Outline, depth: Length) -> Option<Path<Pane>> {
    depths(depth).into_iter().find_map(|depth| edge_just_at(outline, depth))
}

fn edge_just_at(outline: &Outline, depth: Length) -> Option<Path<Pane>> {
    let edge = outline.path();
    let mut loops = if depth == Length::ZERO { vec![edge] } else { edge.inset(depth) };
    if loops.len() == 1 { loops.pop() } else { None }
}

/// The sides of [`edge_at`]; `None` when one of them is lost.
pub(crate) fn sides_at(outline: &Outline, depth: Length) -> Option<Vec<Path<Pane>>> {
    depths(depth).into_iter().find_map(|depth| sides_just_at(outline, depth))
}

fn sides_just_at(outline: &Outline, depth: Length) -> Option<Vec<Path<Pane>>> {
    let edge = edge_just_at(outline, depth)?;
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

/// The line moved outwards (to the right of travel) by `allowance`, inwards when that is negative.
pub(crate) fn outside<F: Frame>(
    item: &str,
    side: &Path<F>,
    allowance: Length,
) -> Result<Path<F>, DraftError> {
    let mut vertices = Vec::new();
    let out = |(point, heading): (Point<F>, Angle)| point.toward(heading - QUARTER, allowance);
    let bulges = side.vertices().iter().map(|v| v.bulge);
    let mut end = None;
    for (segment, bulge) in side.segments().zip(bulges) {
        if let Segment::Arc { radius, sweep, .. } = segment
            && radius <= allowance * -sweep.radians().signum()
        {
            let item = item.to_owned();
            return Err(DraftError::Radius { item, radius, allowance: allowance.abs() });
        }
        vertices.push(Vertex { point: out(segment.at(0.0)), bulge });
        end = Some(out(segment.at(1.0)));
    }
    vertices.extend(end.map(|point| Vertex { point, bulge: 0.0 }));
    Ok(Path::open(vertices))
}

/// Below this radius a corner is sewn as a sharp one. Chosen by us: no cloth is turned round less.
const SHARP: Length = Length::from_mm(4.0);

/// Whether a rounding of that radius is drawn at all. A quarter of [`SHARP`], chosen by us: a thread.
fn is_round(radius: Length) -> bool {
    radius > SHARP / 4.0
}

/// Corners that turn by less are no corners to a hem, degrees. Chosen by us.
pub(crate) const FLAT: f64 = 20.0;

/// The finished edge in its parts.
pub(crate) struct FinishedEdge<F: Frame> {
    /// All of it.
    pub(crate) whole: Path<F>,
    /// Side `i` runs from the rounding of corner `i` to that of the next.
    pub(crate) sides: Vec<Path<F>>,
    /// Corner `i` comes before side `i`.
    pub(crate) corners: Vec<FinishedCorner<F>>,
}

/// A corner of the finished edge.
pub(crate) struct FinishedCorner<F: Frame> {
    /// Its middle.
    pub(crate) at: Point<F>,
    /// Its rounding, when it is round.
    pub(crate) rounding: Option<Path<F>>,
    /// Radius of the rounding.
    pub(crate) radius: Length,
    /// How far it turns, anticlockwise positive.
    pub(crate) turn: Angle,
}

impl FinishedEdge<Pane> {
    /// The glass edge moved inwards by `inset`; `None` when a side is lost.
    pub(crate) fn new(outline: &Outline, inset: Length) -> Option<Self> {
        depths(inset).into_iter().find_map(|inset| Self::just(outline, inset))
    }

    fn just(outline: &Outline, inset: Length) -> Option<Self> {
        let whole = edge_just_at(outline, inset)?;
        let heading = |n: [f64; 2]| Angle::from_radians(n[1].atan2(n[0]));
        let point = |p: [f64; 2]| Point::<Pane>::from_mm(p[0], p[1]);
        let shape = outline.shape();
        let found: Vec<(Length, [Length; 2], Angle)> = shape
            .fillets()
            .iter()
            .map(|fillet| {
                let turn = fillet.turn();
                let radius = Length::from_mm(fillet.radius) - inset * turn.signum();
                let [a, b] = fillet.normals;
                let along = |p: [f64; 2], out: [f64; 2]| {
                    whole.nearest(point(p).toward(heading(out), -inset)).0
                };
                let middle = along(fillet.middle, [a[0] + b[0], a[1] + b[1]]);
                // A rounding too small to sew belongs to neither side: hems end square to theirs.
                let ends = if is_round(radius) {
                    [along(fillet.start, a), along(fillet.end, b)]
                } else {
                    let half = radius.max(Length::ZERO) * (turn.abs() / 2.0);
                    [middle - half, middle + half]
                };
                (radius, ends, Angle::from_radians(turn))
            })
            .collect();
        let n = found.len();
        let sides: Vec<Path<Pane>> =
            (0..n).map(|i| whole.part(found[i].1[1], found[(i + 1) % n].1[0])).collect();
        let left_out: Length =
            found.iter().filter(|f| !is_round(f.0)).map(|(_, [from, to], _)| *to - *from).sum();
        let corners: Vec<FinishedCorner<Pane>> = found
            .into_iter()
            .map(|(radius, [from, to], turn)| {
                let rounding = is_round(radius).then(|| whole.part(from, to));
                let at = match &rounding {
                    Some(rounding) => rounding.at_length(rounding.length() / 2.0).0,
                    None => whole.at_length((from + to) / 2.0).0,
                };
                FinishedCorner { at, rounding, radius, turn }
            })
            .collect();
        let roundings = corners.iter().filter_map(|c| c.rounding.as_ref());
        let total: Length = sides.iter().chain(roundings).map(Path::length).sum();
        let in_order = (total + left_out - whole.length()).abs() < tolerance::SAME_POINT;
        let all_there = sides.iter().all(|side| side.length() > tolerance::SAME_POINT);
        (in_order && all_there).then_some(Self { whole, sides, corners })
    }

    /// The same in another frame, which must not be a mirrored one.
    pub(crate) fn placed<To: Frame>(&self, placement: &Placement<Pane, To>) -> FinishedEdge<To> {
        let corner = |c: &FinishedCorner<Pane>| FinishedCorner {
            at: placement.apply(c.at),
            rounding: c.rounding.as_ref().map(|path| path.placed(placement)),
            radius: c.radius,
            turn: c.turn,
        };
        FinishedEdge {
            whole: self.whole.placed(placement),
            sides: self.sides.iter().map(|side| side.placed(placement)).collect(),
            corners: self.corners.iter().map(corner).collect(),
        }
    }
}

/// What is done at one corner.
#[derive(Clone, Copy, Debug)]
pub(crate) enum CornerCut {
    /// The rounding is followed at this allowance.
    Round(Length),
    /// A sharp corner; the cut line goes through a point this far outside it along its middle line.
    Sharp(Length),
}

/// How the hem of a side ends at one of its corners: at height h above the finished edge it stands
/// `slope`·(h − `foot`) back from there.
#[derive(Clone, Copy, Debug)]
struct HemEnd {
    slope: f64,
    foot: Length,
}

impl HemEnd {
    fn back(self, height: Length) -> Length {
        ((height - self.foot) * self.slope).max(Length::ZERO)
    }
}

/// The cut line around a finished edge, and what else goes with its hems.
pub(crate) struct CutEdge<F: Frame> {
    /// The cut line.
    pub(crate) line: Path<F>,
    /// What is done at each corner.
    pub(crate) corners: Vec<CornerCut>,
    ends: Vec<[HemEnd; 2]>,
}

impl<F: Frame> CutEdge<F> {
    /// Lays out the cut line.
    pub(crate) fn new(
        edge: &FinishedEdge<F>,
        allowances: &[Length],
        making: &Corners,
    ) -> Result<Self, DraftError> {
        let n = edge.sides.len();
        let mut corners = Vec::with_capacity(n);
        let mut ends = vec![[HemEnd { slope: 0.0, foot: Length::ZERO }; 2]; n];
        for (k, corner) in edge.corners.iter().enumerate() {
            let before = (k + n - 1) % n;
            let (cut, [end, start]) = corner_cut(corner, allowances[before], allowances[k], making);
            corners.push(cut);
            ends[before][1] = end;
            ends[k][0] = start;
        }
        let mut vertices: Vec<Vertex<F>> = Vec::new();
        for k in 0..n {
            let corner = &edge.corners[k];
            match (&corner.rounding, corners[k]) {
                (Some(rounding), CornerCut::Round(allowance)) => {
                    append(&mut vertices, &outside(&corner_name(k), rounding, allowance)?);
                }
                (_, CornerCut::Round(out) | CornerCut::Sharp(out)) => {
                    let out_of_corner = middle_heading(edge, k);
                    let point = corner.at.toward(out_of_corner, out);
                    append(&mut vertices, &Path::open(vec![Vertex { point, bulge: 0.0 }]));
                }
            }
            let whole = outside(&side_name(k), &edge.sides[k], allowances[k])?;
            append(&mut vertices, &trimmed(k, &edge.sides[k], &whole, ends[k], allowances[k])?);
        }
        let line = close(vertices);
        if line.crosses_itself() {
            return Err(DraftError::Tangled { line: "cut line".to_owned() });
        }
        Ok(Self { line, corners, ends })
    }

    /// The line that runs `height` outside side `i`, as far as the hem there is that high.
    pub(crate) fn along_hem(
        &self,
        edge: &FinishedEdge<F>,
        i: usize,
        height: Length,
    ) -> Result<Path<F>, DraftError> {
        let whole = outside(&side_name(i), &edge.sides[i], height)?;
        trimmed(i, &edge.sides[i], &whole, self.ends[i], height)
    }
}

/// `corner 1` for index 0.
pub(crate) fn corner_name(index: usize) -> String {
    format!("corner {}", index + 1)
}

/// Out of corner `k`, along the line that halves it.
pub(crate) fn middle_heading<F: Frame>(edge: &FinishedEdge<F>, k: usize) -> Angle {
    let before = &edge.sides[(k + edge.sides.len() - 1) % edge.sides.len()];
    let [end, start] =
        [before.at_length(before.length()).1, edge.sides[k].at_length(Length::ZERO).1];
    // Moved inwards, bowed sides meet at another angle than at the glass edge.
    let (sin, cos) = (start - end).radians().sin_cos();
    start - Angle::from_radians(sin.atan2(cos)) / 2.0 - QUARTER
}

/// What is left of a hem's edge at that height between its ends.
fn trimmed<F: Frame>(
    index: usize,
    side: &Path<F>,
    hem_edge: &Path<F>,
    [start, end]: [HemEnd; 2],
    height: Length,
) -> Result<Path<F>, DraftError> {
    let (from, to) = (start.back(height), hem_edge.length() - end.back(height));
    if to - from < tolerance::SAME_POINT {
        return Err(DraftError::ShortSide { item: side_name(index), length: side.length() });
    }
    Ok(hem_edge.part(from, to))
}

/// What is done at a corner between hems of allowance `a` and `b`, and how these end there.
fn corner_cut<F: Frame>(
    corner: &FinishedCorner<F>,
    a: Length,
    b: Length,
    making: &Corners,
) -> (CornerCut, [HemEnd; 2]) {
    let turn = corner.turn.radians();
    let (narrow, zero) = (a.min(b), Length::ZERO);
    let square = [HemEnd { slope: 0.0, foot: zero }; 2];
    let both = |slope: f64, foot: Length| [HemEnd { slope, foot }; 2];
    let is_round = corner.rounding.is_some();
    if is_round && (corner.radius > SHARP || turn < FLAT.to_radians()) {
        let turning = narrow.min(making.turning).min(corner.radius / 2.0);
        return match making.style {
            // A hem that is wider than its neighbour comes down to it at 45°, chosen by us.
            _ if turn < FLAT.to_radians() => (CornerCut::Round(narrow), both(1.0, narrow)),
            CornerStyle::Rounded => (CornerCut::Round(narrow), both(1.0, narrow)),
            CornerStyle::Mitred => (CornerCut::Round(turning), both((turn / 2.0).tan(), turning)),
            CornerStyle::Butted => (CornerCut::Round(turning), square),
        };
    }
    if turn < FLAT.to_radians() {
        // Nearly straight on: the two hems meet where their edges would cross.
        let out = if narrow > zero { narrow / (turn / 2.0).cos() } else { zero };
        return (CornerCut::Sharp(out), both(1.0, narrow));
    }
    // A hem beside a raw or bound edge, or cut off square, does not show beyond that edge once
    // turned in: it ends on the mirror image of it.
    let hidden = both((turn - QUARTER.radians()).tan().max(0.0), zero);
    if narrow == zero || making.style == CornerStyle::Butted {
        // A rounding too small to matter to a hem is cut all the same.
        let cut = if is_round { CornerCut::Round(zero) } else { CornerCut::Sharp(zero) };
        return (cut, hidden);
    }
    // Cloth beyond the mitre's seam, so little that the narrower hem keeps its width.
    let seam = making.turning.min(narrow * ((turn / 2.0).sin() / 2.0));
    let foot = seam / (turn / 2.0).sin();
    (CornerCut::Sharp(seam / turn.sin()), both((turn / 2.0).tan(), foot))
}

#[cfg(test)]
mod tests {
    use std::f64::consts::{FRAC_PI_2, SQRT_2};

    use proptest::prelude::*;

    use super::*;
    use crate::samples::{hems, mm, outlines, windscreen};

    const TURNING: Length = Length::from_mm(10.0);

    fn square(side: f64, radius: f64) -> Outline {
        let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)];
        let corners = corners.map(|(x, y)| Point::from_mm(x, y)).to_vec();
        Outline::new(corners, vec![mm(0.0); 4], vec![mm(radius); 4]).unwrap()
    }

    fn made(style: CornerStyle) -> Corners {
        Corners { style, turning: TURNING }
    }

    fn cut(outline: &Outline, allowances: [f64; 4], style: CornerStyle) -> Path<Pane> {
        let edge = FinishedEdge::new(outline, Length::ZERO).unwrap();
        CutEdge::new(&edge, &allowances.map(mm), &made(style)).unwrap().line
    }

    #[test]
    fn equal_hems_round_the_corners_are_the_offset() {
        let outline = windscreen();
        let edge = FinishedEdge::new(&outline, mm(4.0)).unwrap();
        let cut = CutEdge::new(&edge, &[mm(40.0); 4], &made(CornerStyle::Rounded)).unwrap().line;
        let offset = edge.whole.inset(mm(-40.0)).remove(0);
        assert!((cut.area() - offset.area()).mm2().abs() < 1e-3);
        assert!((cut.length() - offset.length()).mm().abs() < 1e-6);
    }

    #[test]
    fn butted_hems_leave_the_corner_square_out() {
        let cut = cut(&square(100.0, 0.0), [10.0, 20.0, 30.0, 40.0], CornerStyle::Butted);
        assert!((cut.area().mm2() - (1e4 + 100.0 * 100.0)).abs() < 1e-6);
    }

    #[test]
    fn a_right_angled_mitre_is_cut_straight_across_beyond_its_seam() {
        let cut = cut(&square(200.0, 0.0), [40.0; 4], CornerStyle::Mitred);
        // The square with its hems to their crossing, 280 mm wide, less a corner triangle at each:
        // the cut runs at 45°, 10 mm outside the corner, which is 40·√2 − 10 inside the crossing.
        let height = 40.0 * SQRT_2 - TURNING.mm();
        assert!((cut.area().mm2() - (280.0 * 280.0 - 4.0 * height * height)).abs() < 1e-6);
        let corner = Point::from_mm(0.0, 0.0);
        assert!((cut.nearest(corner).1 - TURNING).mm().abs() < 1e-6);
    }

    #[test]
    fn a_mitre_beside_a_rounding_leaves_a_narrow_turning() {
        let cut = cut(&square(400.0, 60.0), [40.0; 4], CornerStyle::Mitred);
        let quarter = |r: f64| 0.5 * FRAC_PI_2 * r * r;
        let finished = 400.0 * 400.0 - 4.0 * (60.0 * 60.0 - quarter(60.0));
        // Each side: 280 mm of hem, less a 45° triangle of 30 mm at either end.
        let hems = 4.0 * (280.0 * 40.0 - 30.0 * 30.0);
        let turnings = 4.0 * (quarter(70.0) - quarter(60.0));
        assert!((cut.area().mm2() - (finished + hems + turnings)).abs() < 1e-6);
    }

    #[test]
    fn a_hem_beside_a_raw_edge_ends_flush_with_it() {
        for style in CornerStyle::ALL {
            let cut = cut(&square(100.0, 0.0), [10.0, 0.0, 20.0, 0.0], *style);
            assert!((cut.area().mm2() - 1.3e4).abs() < 1e-6);
            assert_eq!(cut.bounds().unwrap().width(), mm(100.0));
        }
    }

    #[test]
    fn a_corner_rounded_by_a_hair_is_sewn_as_a_sharp_one() {
        // Its hems used to start half-way round, and crossed one another.
        for radius in [4.002, 4.139, 4.9] {
            let edge = FinishedEdge::new(&square(100.0, radius), mm(4.0)).unwrap();
            let cut = CutEdge::new(&edge, &[mm(20.0); 4], &made(CornerStyle::Butted)).unwrap();
            let side = 92.0 - 2.0 * (radius - 4.0);
            let off = cut.line.area().mm2() - (92.0 * 92.0 + 4.0 * side * 20.0);
            // Eight ends of hems, 20 mm high, lean to the corners by less than their rounding.
            let most = 8.0 * 0.5 * 20.0 * (radius - 4.0);
            assert!((-0.5..most + 0.5).contains(&off), "{off}");
        }
    }

    #[test]
    fn a_wide_hem_hangs_over_no_neighbour() {
        for style in CornerStyle::ALL {
            let outline = square(400.0, 50.0);
            let cut = cut(&outline, [60.0, 20.0, 20.0, 20.0], *style);
            let bounds = cut.bounds().unwrap();
            assert_eq!((bounds.width(), bounds.min.y()), (mm(440.0), mm(-60.0)));
            // Nothing stands farther out than the turning beside the base's end.
            assert!(
                cut.vertices().iter().all(|v| v.point.y() > mm(-20.1) || v.point.x() > mm(49.9))
            );
        }
    }

    #[test]
    fn a_hollow_tighter_than_its_allowance_is_refused() {
        let hollow = Path::<Pane>::open(vec![
            Vertex { point: Point::from_mm(0.0, 0.0), bulge: -0.9 },
            Vertex { point: Point::from_mm(50.0, 0.0), bulge: 0.0 },
        ]);
        let found = outside("side 1", &hollow, mm(30.0));
        assert!(matches!(found, Err(DraftError::Radius { .. })), "{found:?}");
        assert!(outside("side 1", &hollow, mm(20.0)).is_ok());
    }

    #[test]
    fn a_hem_whose_ends_meet_is_refused() {
        let edge = FinishedEdge::new(&square(150.0, 30.0), Length::ZERO).unwrap();
        let found = CutEdge::new(&edge, &[mm(60.0); 4], &made(CornerStyle::Mitred)).err();
        assert!(matches!(found, Some(DraftError::ShortSide { .. })), "{found:?}");
    }

    #[test]
    fn runs_are_joined_round_the_start() {
        let sides = FinishedEdge::new(&square(10.0, 0.0), Length::ZERO).unwrap().sides;
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
        #![proptest_config(ProptestConfig::with_cases(2000))]
        #[test]
        fn the_cut_line_stands_off_each_edge_by_exactly_its_allowance(
            outline in outlines(),
            hems in hems(),
            raw in prop::collection::vec(0..5, 8),
            style in prop::sample::select(CornerStyle::ALL),
        ) {
            let edge = FinishedEdge::new(&outline, mm(4.0));
            prop_assume!(edge.is_some());
            let edge = edge.unwrap();
            let n = edge.sides.len();
            let allowances: Vec<Length> =
                (0..n).map(|i| if raw[i] == 0 { Length::ZERO } else { hems[i] }).collect();
            let cut = CutEdge::new(&edge, &allowances, &made(style));
            let too_tight =
                matches!(cut, Err(DraftError::Radius { .. } | DraftError::ShortSide { .. }));
            prop_assume!(!too_tight);
            let cut = cut.unwrap();
            prop_assert!(!cut.line.crosses_itself());
            // Along each side, between the ends of its hem.
            for (i, &allowance) in allowances.iter().enumerate() {
                let along = cut.along_hem(&edge, i, allowance).unwrap();
                for k in 0..=10 {
                    let at = along.at_length(along.length() * (f64::from(k) / 10.0)).0;
                    prop_assert!(cut.line.nearest(at).1.mm() < 1e-6);
                    prop_assert!((edge.sides[i].nearest(at).1 - allowance).mm().abs() < 1e-6);
                }
            }
            // Round each corner.
            for (corner, made) in edge.corners.iter().zip(&cut.corners) {
                let (Some(rounding), CornerCut::Round(allowance)) = (&corner.rounding, made) else {
                    continue;
                };
                let along = outside("", rounding, *allowance).unwrap();
                let at = along.at_length(along.length() / 2.0).0;
                // Where two hems are all but equal, points nearer than this are made one.
                prop_assert!(cut.line.nearest(at).1 < tolerance::SAME_POINT);
                prop_assert!((edge.whole.nearest(at).1 - *allowance).mm().abs() < 1e-6);
            }
            // Nowhere else farther out than the widest hem to a sharp corner's crossing, nor inside.
            let most = allowances.iter().copied().fold(Length::ZERO, Length::max);
            for point in cut.line.flatten(mm(0.5)) {
                let off = edge.whole.nearest(point).1;
                prop_assert!(off < most * 1.02 + mm(1e-4), "{off}");
                prop_assert!(!edge.whole.contains(point) || off.mm() < 1e-4, "{off} inside");
            }
        }
    }
}
