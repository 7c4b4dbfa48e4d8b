//! Notches that let a turned hem lie flat on a curved edge.
//!
//! Cloth turned in by a along an edge of radius R has its cut edge at R + a and comes to lie at
//! R − a: it is 2a/(R − a) too long where the edge bulges; where the edge is hollow it comes to lie
//! at R + a and is 2a/(R + a) too short. Over an arc that turns by φ that is 2aφ of length. Woven
//! cloth takes [`EASE`] of it; beyond that, Vs as wide as what is too much, or slits that open by what
//! is too little, are spread evenly over the arc.
//!
//! Valid for R > a where the edge bulges; nearer than [`KEPT`] to that, no notches help and the hem is
//! refused. Elementary geometry, exact for circular arcs.

use geometry::{Angle, Length, Path, Piece as PieceFrame, Segment};

use crate::edge::FLAT;
use crate::{DraftError, Notch, NotchForm, Remark};

/// Part of a hem's length by which it may be too long or short and still lie flat. Common practice
/// with woven cloth, no source.
const EASE: f64 = 0.04;

/// Cloth left between a notch and the fold. Common practice, no source.
const KEPT: Length = Length::from_mm(5.0);

/// Widest V, and widest gap a slit may open. Chosen by us: a thumb's breadth is soon snipped and
/// leaves no hole.
const WIDEST: Length = Length::from_mm(12.0);

/// Most an edge turns between notches. Chosen by us: the fold then stands within a hundredth of its
/// radius of the curve.
const TURN: Angle = Angle::from_degrees(15.0);

/// A stretch of edge along which cloth is turned in.
pub(crate) struct Turned {
    /// `side 1` or `corner 1`.
    pub(crate) item: String,
    /// Where it is folded, anticlockwise round the piece.
    pub(crate) fold: Path<PieceFrame>,
    /// How much is turned in.
    pub(crate) allowance: Length,
    /// Whether it is a narrow turning, which every seamstress snips without being told.
    pub(crate) is_turning: bool,
}

/// Notches for all of these edges of one piece, and what is to be said about them.
pub(crate) fn eased(
    piece: &str,
    edges: &[Turned],
) -> Result<(Vec<Notch>, Option<Remark>), DraftError> {
    let mut notches = Vec::new();
    let mut places: Vec<(String, bool)> = Vec::new();
    let (mut most, mut n_told) = (0.0_f64, 0);
    for edge in edges {
        let hem = edge.allowance;
        for segment in edge.fold.segments() {
            let Segment::Arc { radius, sweep, .. } = segment else { continue };
            let spare = sweep > Angle::ZERO;
            let lies_at = if spare { radius - hem } else { radius + hem };
            // A slight turn leaves room for its one V, however tight it is.
            let turn = sweep.radians().abs();
            if lies_at < KEPT.min(radius / 3.0) && turn > FLAT.to_radians() {
                let item = edge.item.clone();
                let most = (radius - KEPT).max(Length::ZERO);
                return Err(DraftError::HemOnCurve { item, radius, hem, most });
            }
            // What closes up altogether is called ten times too full.
            let full = if lies_at > Length::ZERO { hem * 2.0 / lies_at } else { 10.0 };
            let excess = full.min(10.0);
            if excess <= EASE {
                continue;
            }
            let removed = hem * (2.0 * turn);
            let n = (removed / WIDEST).ceil().max((turn / TURN.radians()).ceil()).max(1.0);
            let width = removed / n;
            let form = if spare { NotchForm::Vee { width } } else { NotchForm::Slit };
            let depth = (hem - KEPT).max(hem / 2.0);
            let mut k = 0.5;
            while k < n {
                let (on_fold, heading) = segment.at(k / n);
                let inward = heading + Angle::from_degrees(90.0);
                n_told += usize::from(!edge.is_turning);
                notches.push(Notch { at: on_fold.toward(inward, -hem), inward, depth, form });
                k += 1.0;
            }
            if edge.is_turning {
                continue;
            }
            most = most.max(excess);
            if !places.iter().any(|place| *place == (edge.item.clone(), spare)) {
                places.push((edge.item.clone(), spare));
            }
        }
    }
    let (n, item) = (n_told, piece.to_owned());
    let remark = (n > 0).then_some(Remark::Eased { item, places, n, excess: most });
    Ok((notches, remark))
}

#[cfg(test)]
mod tests {
    use geometry::{Point, Vertex};

    use super::*;
    use crate::samples::mm;

    /// A quarter circle of radius 100, bulging or hollow.
    fn quarter(hollow: bool, allowance: f64) -> Turned {
        let bulge = (std::f64::consts::FRAC_PI_2 / 4.0).tan();
        let (from, to) = (Point::from_mm(100.0, 0.0), Point::from_mm(0.0, 100.0));
        let ends = if hollow { [(to, -bulge), (from, 0.0)] } else { [(from, bulge), (to, 0.0)] };
        let vertices = ends.map(|(point, bulge)| Vertex { point, bulge }).to_vec();
        Turned {
            item: "corner 1".to_owned(),
            fold: Path::open(vertices),
            allowance: mm(allowance),
            is_turning: false,
        }
    }

    #[test]
    fn vs_take_out_what_is_too_long() {
        let (notches, remark) = eased("panel", &[quarter(false, 30.0)]).unwrap();
        // (130 − 70) · π/2 = 94.2 mm, in 8 Vs.
        let total: Length = notches
            .iter()
            .map(|notch| match notch.form {
                NotchForm::Vee { width } => width,
                NotchForm::Slit => Length::ZERO,
            })
            .sum();
        assert_eq!(notches.len(), 8);
        assert!((total.mm() - 60.0 * std::f64::consts::FRAC_PI_2).abs() < 1e-9);
        for notch in &notches {
            let from = |p: Point<PieceFrame>| p.distance(Point::ORIGIN).mm();
            assert!((from(notch.at) - 130.0).abs() < 1e-9);
            assert!((from(notch.at.toward(notch.inward, notch.depth)) - 105.0).abs() < 1e-9);
        }
        let Some(Remark::Eased { excess, .. }) = remark else { panic!("{remark:?}") };
        assert!((excess - 60.0 / 70.0).abs() < 1e-12);
    }

    #[test]
    fn a_hollow_edge_is_snipped() {
        let (notches, _) = eased("panel", &[quarter(true, 30.0)]).unwrap();
        assert_eq!(notches.len(), 8);
        for notch in &notches {
            assert_eq!(notch.form, NotchForm::Slit);
            // The hem lies nearer the middle than the edge does.
            assert!((notch.at.distance(Point::ORIGIN).mm() - 70.0).abs() < 1e-9);
        }
    }

    #[test]
    fn a_shallow_bow_needs_no_notch_and_a_tight_one_is_refused() {
        assert_eq!(eased("panel", &[quarter(false, 1.9)]).unwrap(), (Vec::new(), None));
        let found = eased("panel", &[quarter(false, 96.0)]).unwrap_err();
        assert!(found.to_string().contains("turn in no more than 95.0 mm"), "{found}");
    }
}
