//! Pieces cut larger for cloth that shrinks, smaller for cloth that stretches.
//!
//! Every place moves by x' = gₓ·x, y' = g_y·y. An arc becomes part of an ellipse, which is drawn as
//! arcs again: each part of it turns by 5° at most and goes through the images of its ends and its
//! middle. For growths that differ by d, radius r and half a part's turn of β the ellipse then stands
//! off by about r·d·β³/10, under a micrometre for r = 5 m, d = 0.02 (measured in the tests, where it
//! stays below 0.01 mm for any growth within 10 %).

use geometry::{Path, Piece as PieceFrame, Point, Segment, Vertex};

use crate::cloth::Lie;
use crate::{Notch, Piece, Shrinkage};

/// Most an arc turns before it is parted, radians.
const PART: f64 = 5.0 * std::f64::consts::PI / 180.0;

/// Growth along x and y.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Growth {
    x: f64,
    y: f64,
}

impl Growth {
    fn point(self, p: Point<PieceFrame>) -> Point<PieceFrame> {
        Point::new(p.x() * self.x, p.y() * self.y)
    }

    fn path(self, path: &Path<PieceFrame>) -> Path<PieceFrame> {
        let mut vertices = Vec::new();
        let mut end = None;
        for segment in path.segments() {
            let n = match segment {
                Segment::Line { .. } => 1.0,
                Segment::Arc { sweep, .. } => (sweep.radians().abs() / PART).ceil().max(1.0),
            };
            let at = |k: f64| self.point(segment.at(k / n).0);
            let mut k = 0.0;
            while k < n {
                let [from, middle, to] = [at(k), at(k + 0.5), at(k + 1.0)];
                let bulge = match segment {
                    Segment::Line { .. } => 0.0,
                    Segment::Arc { .. } => bulge_through(from, middle, to),
                };
                vertices.push(Vertex { point: from, bulge });
                end = Some(to);
                k += 1.0;
            }
        }
        if path.is_closed() {
            return Path::closed(vertices);
        }
        vertices.extend(end.map(|point| Vertex { point, bulge: 0.0 }));
        Path::open(vertices)
    }

    fn notch(self, notch: &Notch) -> Notch {
        let tip = notch.at.toward(notch.inward, notch.depth);
        let (at, tip) = (self.point(notch.at), self.point(tip));
        Notch { at, inward: at.heading_to(tip), ..*notch }
    }
}

/// Bulge of the arc through three points: half the tangent of what the chord's ends are turned apart
/// by seen from the middle one, by the theorem of the angle at the circumference.
fn bulge_through(from: Point<PieceFrame>, middle: Point<PieceFrame>, to: Point<PieceFrame>) -> f64 {
    let (a, b) = (from.heading_to(middle).radians(), middle.heading_to(to).radians());
    let half_turn = (b - a).sin().atan2((b - a).cos());
    (half_turn / 2.0).tan()
}

/// The piece cut larger for cloth that shrinks, where it lies like that.
pub(crate) fn grown(piece: Piece, shrinkage: Shrinkage, lie: Lie) -> Piece {
    if shrinkage == Shrinkage::default() {
        return piece;
    }
    let [warp, weft] = shrinkage.growth();
    let growth = match lie {
        Lie::XAlong => Growth { x: warp, y: weft },
        Lie::YAlong => Growth { x: weft, y: warp },
    };
    let paths = |paths: &[Path<PieceFrame>]| paths.iter().map(|p| growth.path(p)).collect();
    let mut texts = piece.texts;
    for text in &mut texts {
        text.at = growth.point(text.at);
    }
    let mut drill_points = piece.drill_points;
    for drill in &mut drill_points {
        drill.at = growth.point(drill.at);
    }
    Piece {
        cut_line: growth.path(&piece.cut_line),
        cut_outs: paths(&piece.cut_outs),
        sew_lines: paths(&piece.sew_lines),
        fold_lines: paths(&piece.fold_lines),
        internal_lines: paths(&piece.internal_lines),
        notches: piece.notches.iter().map(|n| growth.notch(n)).collect(),
        grain_line: piece.grain_line.map(|p| growth.point(p)),
        texts,
        drill_points,
        ..piece
    }
}

/// How that is said on the piece.
pub(crate) fn words(shrinkage: Shrinkage) -> Option<String> {
    let percent = |part: f64| {
        let word = if part < 0.0 { "stretches" } else { "shrinks" };
        if part == 0.0 {
            "keeps its length".to_owned()
        } else {
            format!("{word} {:.1} %", part.abs() * 100.0)
        }
    };
    let Shrinkage { warp, weft } = shrinkage;
    (shrinkage != Shrinkage::default())
        .then(|| format!("cut for cloth that {} along, {} across", percent(warp), percent(weft)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::mm;

    #[test]
    fn a_stretched_circle_is_an_ellipse() {
        let growth = Growth { x: 1.1, y: 0.9 };
        let circle = Path::circle(Point::ORIGIN, mm(100.0));
        let ellipse = growth.path(&circle);
        // Area of an ellipse: π·a·b.
        let expected = std::f64::consts::PI * 110.0 * 90.0;
        assert!((ellipse.area().mm2() / expected - 1.0).abs() < 1e-6);
        for point in ellipse.flatten(mm(1e-4)) {
            let level = (point.x_mm() / 110.0).hypot(point.y_mm() / 90.0);
            assert!((level - 1.0).abs() * 100.0 < 0.01, "{point:?}");
        }
    }

    #[test]
    fn what_shrinks_comes_back_to_size() {
        let shrinkage = Shrinkage { warp: 0.02, weft: -0.01 };
        let [warp, weft] = shrinkage.growth();
        assert!((1000.0 * warp * 0.98 - 1000.0).abs() < 1e-9);
        assert!((1000.0 * weft * 1.01 - 1000.0).abs() < 1e-9);
        assert!(words(shrinkage).unwrap().contains("shrinks 2.0 % along, stretches 1.0 % across"));
    }
}
