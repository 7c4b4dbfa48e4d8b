//! Straps that hold a cover's corner to a door, a mirror's arm or a wheel.
//!
//! ```text
//!  ├─ sewn on ─┼──────────── free length ────────────┼─ loop ─┤
//!  ┌───────────┬─────────────────────────────────────┬────────┐
//!  │- - - - - - - - - - - - - fold - - - - - - - - - - - - - -│  to the middle
//!  │- - - - - - - - - - - - - fold - - - - - - - - - - - - - -│  in half
//!  │- - - - - - - - - - - - - fold - - - - - - - - - - - - - -│  to the middle
//!  └───────────┴─────────────────────────────────────┴────────┘
//! ```
//!
//! A strip four times as wide as the strap: both edges are turned to the middle, then the strip is folded in half
//! and stitched along both edges. The loop is turned back by its half and sewn down. Common practice, no source.

use geometry::{Angle, Area, Length, Path, Piece as PieceFrame, Point};

use crate::cloth::{Lie, positive};
use crate::draft::PieceFigures;
use crate::finish::FROM_FOLD;
use crate::marks::words;
use crate::{Cloth, Draft, DraftError, Piece, stretch};

/// Cloth turned back at the free end for a loop, hook or buckle. Common practice, no source.
const LOOP: Length = Length::from_mm(80.0);
/// From the end of the loop's turned-back cloth to its stitch. Common practice, no source.
const LOOP_STITCH: Length = Length::from_mm(10.0);

/// Where a strap is sewn to a panel.
#[derive(Clone, Debug, PartialEq)]
pub struct StrapPlace {
    /// Index of the corner, in the outline's order.
    pub corner: usize,
    /// What it is called: `strap to the door`.
    pub name: String,
    /// Width of the strap.
    pub width: Length,
    /// How much of it lies on the panel, from the corner inwards.
    pub sewn_on: Length,
}

/// What a strap is drafted from.
#[derive(Clone, Copy, Debug)]
pub struct StrapAsk<'a> {
    /// The pane whose cover it holds.
    pub pane: &'a str,
    /// What it is called: `front strap, base-left to the door`.
    pub name: &'a str,
    /// What identifies the job, written on the piece.
    pub order: &'a str,
    /// How many to cut.
    pub count: u32,
    /// From the cover's edge to the end of the loop.
    pub length: Length,
    /// Width when finished.
    pub width: Length,
    /// How much of it lies on the panel.
    pub sewn_on: Length,
    /// What it is cut from.
    pub cloth: &'a Cloth,
}

/// Drafts one strap. It lies along x, its sewn-on end at the origin.
///
/// # Errors
/// [`DraftError`] when a length is nothing, or the cloth is too narrow for the strip.
pub fn draft_strap(ask: &StrapAsk<'_>) -> Result<Draft, DraftError> {
    let name = ask.name.to_owned();
    if ask.count == 0 {
        return Err(DraftError::Count { item: name });
    }
    positive(&format!("the length of the {name}"), ask.length)?;
    positive(&format!("what is sewn on of the {name}"), ask.sewn_on)?;
    ask.cloth.check()?;
    if ask.width <= FROM_FOLD * 4.0 {
        let (hem, stitch) = (ask.width, FROM_FOLD * 4.0);
        return Err(DraftError::HemTooNarrow { item: format!("the {name}"), hem, stitch });
    }
    let end = ask.sewn_on + ask.length;
    let (across, along) = (ask.width * 4.0, end + LOOP);
    let at = |x: Length, y: Length| Point::<PieceFrame>::new(x, y);
    let cut_line = Path::polygon([
        at(Length::ZERO, Length::ZERO),
        at(along, Length::ZERO),
        at(along, across),
        at(Length::ZERO, across),
    ]);
    let bounds = cut_line.bounds().expect("a strip has corners");
    let lie = ask.cloth.lie(&bounds).ok_or_else(|| DraftError::ClothNarrow {
        item: name.clone(),
        cloth: ask.cloth.name.clone(),
        found: ask.cloth.usable_width,
        needed: across,
    })?;
    let level = |y: Length| Path::polyline([at(Length::ZERO, y), at(along, y)]);
    let upright = |x: Length| Path::polyline([at(x, Length::ZERO), at(x, across)]);
    let folds = [1.0, 2.0, 3.0].map(|k| level(ask.width * k));
    // Both long edges of the finished strap, seen on the quarter that faces outwards.
    let edges = [ask.width + FROM_FOLD, ask.width * 2.0 - FROM_FOLD].map(level);
    let finished = Path::polygon([
        at(Length::ZERO, ask.width),
        at(end, ask.width),
        at(end, ask.width * 2.0),
        at(Length::ZERO, ask.width * 2.0),
    ]);
    let third = |part: f64| at(along * part, ask.width * 2.5);
    let piece = Piece {
        texts: words(&finished, &[ask.order.to_owned()]),
        grain_line: match lie {
            Lie::XAlong => [third(0.3), third(0.7)],
            Lie::YAlong => [at(along / 2.0, ask.width * 2.2), at(along / 2.0, ask.width * 2.8)],
        },
        name,
        pane: ask.pane.to_owned(),
        count: ask.count,
        cloth: ask.cloth.name.clone(),
        cut_line,
        cut_outs: Vec::new(),
        sew_lines: edges.into_iter().chain([upright(along - LOOP_STITCH)]).collect(),
        fold_lines: folds.into_iter().chain([upright(end)]).collect(),
        internal_lines: vec![upright(ask.sewn_on)],
        notches: Vec::new(),
        drill_points: Vec::new(),
        turns: ask.cloth.turns(lie),
    };
    let piece = stretch::grown(piece, ask.cloth.shrinkage, lie);
    let finished: Area = ask.length * ask.width;
    let figures = vec![PieceFigures::of(&piece, finished)];
    Ok(Draft { pieces: vec![piece], figures, remarks: Vec::new() })
}

/// Where a strap lies on a panel whose corner is there, seen along the line out of it: closed.
pub(crate) fn place_on(
    place: &StrapPlace,
    corner: Point<PieceFrame>,
    out: Angle,
) -> Path<PieceFrame> {
    let side = out + Angle::from_degrees(90.0);
    let at = |inwards: Length, across: f64| {
        corner.toward(out, -inwards).toward(side, place.width * across)
    };
    let zero = Length::ZERO;
    Path::polygon([at(zero, 0.5), at(place.sewn_on, 0.5), at(place.sewn_on, -0.5), at(zero, -0.5)])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{cloth, mm};

    fn ask(cloth: &Cloth) -> StrapAsk<'_> {
        StrapAsk {
            pane: "front",
            name: "front strap",
            order: "H-0142",
            count: 2,
            length: mm(400.0),
            width: mm(25.0),
            sewn_on: mm(50.0),
            cloth,
        }
    }

    #[test]
    fn a_strap_folds_to_its_width_and_its_length() {
        let draft = draft_strap(&ask(&cloth(1500.0))).unwrap();
        let piece = &draft.pieces[0];
        assert_eq!(piece.count, 2);
        // Both cut edges turned over their folds come to lie on the middle one; then half on half.
        let [low, middle, high, end] =
            [0, 1, 2, 3].map(|k| piece.fold_lines[k].bounds().unwrap().min);
        let cut = piece.cut_line.bounds().unwrap();
        assert!((low.y() * 2.0 - cut.min.y() - middle.y()).mm().abs() < 1e-9);
        assert!((high.y() * 2.0 - cut.max.y() - middle.y()).mm().abs() < 1e-9);
        assert!((middle.y() - low.y() - mm(25.0)).mm().abs() < 1e-9);
        // Sewn on, the loop turned back: 400 mm are free.
        assert!((end.x() - mm(50.0) - mm(400.0)).mm().abs() < 1e-9);
        assert_eq!(draft.figures[0].finished_area, mm(400.0) * mm(25.0));
    }

    #[test]
    fn a_strap_that_cannot_be_sewn_is_refused_with_the_way_out() {
        let (wide, narrow) = (cloth(1500.0), cloth(80.0));
        let ribbon = draft_strap(&ask(&narrow)).unwrap_err().to_string();
        assert!(ribbon.contains("choose a wider cloth"), "{ribbon}");
        let thread = draft_strap(&StrapAsk { width: mm(6.0), ..ask(&wide) }).unwrap_err();
        assert!(matches!(thread, DraftError::HemTooNarrow { .. }), "{thread}");
        let none = draft_strap(&StrapAsk { length: mm(0.0), ..ask(&wide) }).unwrap_err();
        assert!(matches!(none, DraftError::NotPositive { .. }), "{none}");
    }
}
