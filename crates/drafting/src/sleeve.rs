//! The sleeve of one wiper blade: a rectangle folded lengthwise round the blade.
//!
//! ```text
//!  closed end                              open end
//!  ┌──────────────────────────────────────────┐  ← long edge, seam allowance outside the seam
//!  │ ┌──────────────────────────────────┬──── │
//!  │ │ · · · · · · · fold · · · · · · · │ hem │  y = 0
//!  │ └──────────────────────────────────┴──── │
//!  └──────────────────────────────────────────┘
//!    x = 0                              x = length
//! ```
//!
//! Folded along y = 0 with the outside face in, both long edges are sewn to one another and so is
//! the closed end; turned out, the open end slips over the blade. A plain development: the cloth's
//! thickness is part of the ease that is asked for.

use geometry::{Length, Path, Point};

use crate::cloth::positive;
use crate::draft::PieceFigures;
use crate::marks::{grain, slit, words};
use crate::{Cloth, Draft, DraftError, Piece, Sewing};

/// What a sleeve is drafted from.
#[derive(Clone, Copy, Debug)]
pub struct SleeveAsk<'a> {
    /// Name of the blade: the sleeve of `left blade` is the `left blade sleeve`.
    pub blade: &'a str,
    /// Name of the pane it wipes.
    pub pane: &'a str,
    /// What identifies the job, written on the piece.
    pub order: &'a str,
    /// How many to cut.
    pub count: u32,
    /// Length of the blade, tip to tip.
    pub blade_length: Length,
    /// The longest straight line on the glass it wipes.
    pub glass: Length,
    /// By how much the sleeve is longer inside than the blade.
    pub ease: Length,
    /// Round the blade and its arm's end, ease and thickness of the cloth included: the finished
    /// sleeve lies flat half as wide.
    pub around: Length,
    /// Hem of the open end, turned in once.
    pub hem: Length,
    /// What it is cut from.
    pub cloth: &'a Cloth,
    /// How it is sewn.
    pub sewing: Sewing,
}

/// Drafts the sleeve of one wiper blade. Its frame has x along the blade from the closed end and
/// y = 0 on the fold.
///
/// # Errors
/// When it cannot be sewn as asked: see [`DraftError`].
pub fn draft_sleeve(ask: &SleeveAsk<'_>) -> Result<Draft, DraftError> {
    ask.check()?;
    let (seam, hem) = (ask.sewing.seam_allowance, ask.hem);
    let (length, half) = (ask.blade_length + ask.ease, ask.around / 2.0);
    let at = |x: Length, y: Length| Point::new(x, y);
    let rectangle = |left: Length, right: Length, half: Length| {
        Path::polygon([at(left, -half), at(right, -half), at(right, half), at(left, half)])
    };
    let upright = |x: Length| Path::polyline([at(x, -half - seam), at(x, half + seam)]);

    let (left, right) = (-seam, length + hem);
    let cut_line = rectangle(left, right, half + seam);
    let finished = rectangle(Length::ZERO, length, half);
    let name = ask.name();
    let bounds = cut_line.bounds().expect("a rectangle has corners");
    let lie = ask.cloth.lie(&bounds).ok_or_else(|| DraftError::ClothNarrow {
        item: name.clone(),
        cloth: ask.cloth.name.clone(),
        found: ask.cloth.usable_width,
        needed: bounds.height().min(bounds.width()),
    })?;
    let notch = |x: Length, y: Length, degrees: f64, allowance: Length| {
        let inward = geometry::Angle::from_degrees(degrees);
        slit(at(x, y), inward, ask.sewing.notch_depth, allowance)
    };
    let lines = [ask.order.to_owned(), "outside face up".to_owned()];
    let piece = Piece {
        texts: words(&finished, &lines),
        grain_line: grain(&finished, lie),
        name,
        pane: ask.pane.to_owned(),
        count: ask.count,
        cloth: ask.cloth.name.clone(),
        cut_line,
        cut_outs: Vec::new(),
        sew_lines: vec![
            Path::polyline([
                at(right, -half),
                at(Length::ZERO, -half),
                at(Length::ZERO, half),
                at(right, half),
            ]),
            upright(length - hem + ask.sewing.stitch_from_edge),
        ],
        fold_lines: vec![
            Path::polyline([at(left, Length::ZERO), at(right, Length::ZERO)]),
            upright(length),
        ],
        internal_lines: Vec::new(),
        notches: [
            notch(left, Length::ZERO, 0.0, seam),
            notch(right, Length::ZERO, 180.0, hem),
            notch(length / 2.0, -half - seam, 90.0, seam),
            notch(length / 2.0, half + seam, -90.0, seam),
        ]
        .into_iter()
        .flatten()
        .collect(),
        drill_points: Vec::new(),
        turns: ask.cloth.turns(lie),
    };
    let figures = PieceFigures::of(&piece, finished.area());
    Ok(Draft { pieces: vec![piece], figures: vec![figures], remarks: Vec::new() })
}

impl SleeveAsk<'_> {
    fn name(&self) -> String {
        format!("{} sleeve", self.blade)
    }

    fn check(&self) -> Result<(), DraftError> {
        let name = self.name();
        if self.count == 0 {
            return Err(DraftError::Count { item: name });
        }
        positive(&format!("the blade length of the {name}"), self.blade_length)?;
        if self.blade_length > self.glass {
            let (blade, found) = (self.blade.to_owned(), self.blade_length);
            return Err(DraftError::BladeLong { blade, found, most: self.glass });
        }
        positive(&format!("the way round the {name}"), self.around)?;
        positive("the usable width of the cloth", self.cloth.usable_width)?;
        self.sewing.check()?;
        if self.ease < Length::ZERO {
            let item = format!("the ease of the {name}");
            return Err(DraftError::Negative { item, found: self.ease });
        }
        let (hem, stitch) = (self.hem, self.sewing.stitch_from_edge);
        let item = format!("the open end of the {name}");
        if hem <= stitch {
            return Err(DraftError::HemTooNarrow { item, hem, stitch });
        }
        let most = (self.blade_length + self.ease) / 2.0;
        if hem > most {
            return Err(DraftError::HemTooWide { item, hem, most });
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use geometry::Angle;

    use super::*;
    use crate::samples::{SEWING, cloth, mm};

    fn ask(cloth: &Cloth) -> SleeveAsk<'_> {
        SleeveAsk {
            blade: "left blade",
            pane: "front",
            order: "H-0142",
            count: 1,
            blade_length: mm(812.8),
            glass: mm(2700.0),
            ease: mm(20.0),
            around: mm(160.0),
            hem: mm(25.0),
            cloth,
            sewing: SEWING,
        }
    }

    #[test]
    fn a_sleeve_is_cut_round_the_blade_with_its_allowances() {
        let draft = draft_sleeve(&ask(&cloth(1500.0))).unwrap();
        let figures = draft.figures[0];
        // 812.8 + 20 inside, 15 at the closed end, 25 at the open one; 160 round, 15 each side.
        assert!((figures.along_roll.mm() - 872.8).abs() < 1e-9);
        assert!((figures.across_roll.mm() - 190.0).abs() < 1e-9);
        assert!((figures.finished_area.mm2() - 832.8 * 160.0).abs() < 1e-6);
        let piece = &draft.pieces[0];
        assert_eq!(piece.name, "left blade sleeve");
        for notch in &piece.notches {
            assert!(piece.cut_line.nearest(notch.at).1.mm() < 1e-9);
            assert!(piece.cut_line.contains(notch.at.toward(notch.inward, notch.depth)));
        }
    }

    #[test]
    fn folding_a_sleeve_brings_its_long_edges_together() {
        let piece = draft_sleeve(&ask(&cloth(1500.0))).unwrap().pieces.remove(0);
        let folded = |p: Point<_>| Point::new(p.x(), -p.y());
        for path in [&piece.cut_line, &piece.sew_lines[0]] {
            for v in path.vertices() {
                assert!(path.nearest(folded(v.point)).1.mm() < 1e-9);
            }
        }
        for notch in &piece.notches {
            assert!(piece.notches.iter().any(|n| n.at.distance(folded(notch.at)).mm() < 1e-9));
        }
    }

    #[test]
    fn a_sleeve_is_turned_on_narrow_cloth_and_refused_on_a_ribbon() {
        let narrow = draft_sleeve(&ask(&cloth(190.0))).unwrap();
        assert_eq!(narrow.pieces[0].turns, [0.0, 180.0].map(Angle::from_degrees));
        let ribbon = draft_sleeve(&ask(&cloth(150.0)));
        assert!(matches!(ribbon, Err(DraftError::ClothNarrow { .. })));
    }

    #[test]
    fn a_sleeve_that_cannot_be_sewn_is_refused() {
        let cloth = cloth(1500.0);
        let refused = |change: fn(&mut SleeveAsk<'_>)| {
            let mut ask = ask(&cloth);
            change(&mut ask);
            draft_sleeve(&ask).unwrap_err()
        };
        assert!(matches!(refused(|a| a.hem = mm(5.0)), DraftError::HemTooNarrow { .. }));
        assert!(matches!(refused(|a| a.hem = mm(500.0)), DraftError::HemTooWide { .. }));
        assert!(matches!(refused(|a| a.around = mm(0.0)), DraftError::NotPositive { .. }));
        assert!(matches!(refused(|a| a.ease = mm(-1.0)), DraftError::Negative { .. }));
        assert!(matches!(refused(|a| a.glass = mm(800.0)), DraftError::BladeLong { .. }));
        assert!(matches!(refused(|a| a.count = 0), DraftError::Count { .. }));
    }
}
