//! Marks on a piece: notches, grain line, words.

use geometry::{Angle, Length, Path, Piece as PieceFrame, Point, tolerance};

use crate::cloth::Lie;
use crate::{Notch, NotchForm, PieceText};

/// A slit, so deep that it stays within half the allowance; `None` on a raw edge.
pub(crate) fn slit(
    at: Point<PieceFrame>,
    inward: Angle,
    depth: Length,
    allowance: Length,
) -> Option<Notch> {
    // An allowance below 2 mm leaves nothing to notch. Chosen by us: a slit under 1 mm isn't seen.
    (allowance.mm() >= 2.0).then(|| Notch {
        at,
        inward,
        depth: depth.min(allowance / 2.0),
        form: NotchForm::Slit,
    })
}

/// A straight line right across something, upright at this x or level at this y, within `path`'s
/// bounds and a little beyond.
pub(crate) fn across(path: &Path<PieceFrame>, at: Length, upright: bool) -> Path<PieceFrame> {
    let bounds = path.bounds().expect("a piece has vertices");
    let spare = Length::from_mm(1.0);
    let end = |low: bool| {
        let corner = if low { bounds.min } else { bounds.max };
        let out = if low { -spare } else { spare };
        if upright { Point::new(at, corner.y() + out) } else { Point::new(corner.x() + out, at) }
    };
    Path::polyline([end(true), end(false)])
}

/// Where that line meets `path`, in order along the line, each place once.
pub(crate) fn meetings_along(
    path: &Path<PieceFrame>,
    at: Length,
    upright: bool,
) -> Vec<Point<PieceFrame>> {
    let line = across(path, at, upright);
    let along = |p: &Point<PieceFrame>| if upright { p.y_mm() } else { p.x_mm() };
    let mut met = path.meetings(&line);
    met.sort_by(|a, b| along(a).total_cmp(&along(b)));
    met.dedup_by(|a, b| a.distance(*b) < tolerance::SAME_POINT);
    met
}

/// Where that line first and last meets `path`.
pub(crate) fn chord(
    path: &Path<PieceFrame>,
    at: Length,
    upright: bool,
) -> Option<[Point<PieceFrame>; 2]> {
    let met = meetings_along(path, at, upright);
    Some([*met.first()?, *met.last()?])
}

/// Words, one below another, in the upper half of the piece, as tall as the room there allows.
///
/// Takes the finished part of the piece. A capital's height is at most 16 mm; a character is taken
/// to be 0.8 of it wide, chosen by us: wider than the mean of plain lettering.
pub(crate) fn words(finished: &Path<PieceFrame>, lines: &[String]) -> Vec<PieceText> {
    const WIDEST: f64 = 0.8;
    const LINE: f64 = 1.6;
    let bounds = finished.bounds().expect("a piece has vertices");
    let middle = bounds.min.midpoint(bounds.max);
    let room = bounds.height() / 2.0 * 0.8;
    // Half the room on the narrower side of the middle, at the foot and the head of the words.
    let half = [middle.y(), middle.y() + room]
        .into_iter()
        .filter_map(|y| chord(finished, y, false))
        .map(|[l, r]| (middle.x() - l.x()).min(r.x() - middle.x()))
        .fold(bounds.width() / 2.0, Length::min)
        .max(bounds.width() * 0.05);
    let longest = lines.iter().map(|line| line.chars().count()).max().unwrap_or(1).max(1);
    let height = (half * 1.6 / (WIDEST * longest as f64))
        .min(room / (LINE * lines.len().max(1) as f64))
        .min(Length::from_mm(16.0));
    let up = |i: usize| height * (LINE * (lines.len() - 1 - i) as f64 + 0.5);
    let place = |(i, text): (usize, &String)| PieceText {
        at: middle.moved(Length::ZERO, up(i)),
        height,
        text: text.clone(),
    };
    lines.iter().enumerate().map(place).collect()
}

/// The grain line along the roll, below the words: three fifths of the room there.
pub(crate) fn grain(finished: &Path<PieceFrame>, lie: Lie) -> [Point<PieceFrame>; 2] {
    let bounds = finished.bounds().expect("a piece has vertices");
    let middle = bounds.min.midpoint(bounds.max);
    let between = |a: Point<PieceFrame>, b: Point<PieceFrame>| {
        let at = |t: f64| Point::new(a.x() + (b.x() - a.x()) * t, a.y() + (b.y() - a.y()) * t);
        [at(0.2), at(0.8)]
    };
    match lie {
        Lie::XAlong => {
            let y = middle.y() - bounds.height() * 0.1;
            let ends = [bounds.min.x(), bounds.max.x()].map(|x| Point::new(x, y));
            let [from, to] = chord(finished, y, false).unwrap_or(ends);
            between(from, to)
        }
        Lie::YAlong => {
            let low = Point::new(middle.x(), bounds.min.y());
            let [from, _] = chord(finished, middle.x(), true).unwrap_or([low, middle]);
            between(from, middle)
        }
    }
}
