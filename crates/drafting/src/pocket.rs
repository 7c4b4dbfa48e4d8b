//! Pockets that hold the magnets of grips.
//!
//! A magnet sits in a pocket [`ROOM`] larger than itself on every side, so that it lies where it is marked
//! and still goes in.
//!
//! - *In the hem*: between the cloth and what is turned in, fold on one side, the hem's stitch on the other,
//!   and a cross stitch on either side of the magnet. With d its diameter and s = d/2 + room it fits where
//!   its middle stands at least d/2 from the fold and s from the hem's stitch, and the hem has its full
//!   width over 2s of the edge. A weld leaves no room inside it.
//! - *In a patch*: a square of cloth on the inner face, its edges turned in and sewn down
//!   [`FROM_FOLD`] inside its folds, so 2(s + that) wide when finished; square to the nearest edge. Where that
//!   edge is rounded a corner of the square may reach over it, and says so.
//!
//! Elementary geometry, exact. Stitching a magnet in and closing its pocket after it: common practice, no
//! source.

use geometry::{Angle, Length, Path, Piece as PieceFrame, Point, Vertex};

use crate::edge::FinishedEdge;
use crate::finish::FROM_FOLD;
use crate::{DrillPoint, Remark};

/// Room round a magnet in its pocket. Chosen by us: a thread; it slides in and does not wander.
pub(crate) const ROOM: Length = Length::from_mm(1.0);
/// Cloth turned in round a patch. Common practice, no source.
pub(crate) const TURNING: Length = Length::from_mm(10.0);
/// How far a patch may reach over a rounded edge unsaid. Chosen by us: less than a stitch's thread.
const OVER: Length = Length::from_mm(0.5);

/// How magnets are held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PocketStyle {
    /// Stitched into the hem where they fit, each in a patch of its own where they don't.
    Hem,
    /// Each in a patch of its own.
    Patch,
    /// Only marked.
    Marked,
}

impl PocketStyle {
    /// Every one, in order.
    pub const ALL: &'static [Self] = &[Self::Hem, Self::Patch, Self::Marked];

    /// How it is spelt in files.
    #[must_use]
    pub const fn spelling(self) -> &'static str {
        match self {
            Self::Hem => "hem",
            Self::Patch => "patch",
            Self::Marked => "marked",
        }
    }
}

/// The pockets of one panel.
#[derive(Clone, Debug, Default)]
pub(crate) struct Pockets {
    /// Cross stitches of those in the hem.
    pub(crate) stitches: Vec<Path<PieceFrame>>,
    /// Where patches go, closed.
    pub(crate) places: Vec<Path<PieceFrame>>,
    /// Diameters of the magnets in patches, each once, and how many of each.
    pub(crate) patches: Vec<(Length, u32)>,
    /// Names of the grips in the hem, and of those in patches.
    pub(crate) in_hem: Vec<String>,
    pub(crate) in_patches: Vec<String>,
    /// Patches that reach over a rounded edge: the grip's name, and by how much.
    pub(crate) over: Vec<(String, Length)>,
}

/// What pockets are made on.
pub(crate) struct Ground<'a> {
    pub(crate) edge: &'a FinishedEdge<PieceFrame>,
    pub(crate) cut: &'a Path<PieceFrame>,
    /// Depth of each side's hem stitch, where it has a hem that a pocket can be made in.
    pub(crate) depths: &'a [Option<Length>],
}

impl Pockets {
    /// Pockets for all these places.
    pub(crate) fn new(style: PocketStyle, drills: &[DrillPoint], ground: &Ground<'_>) -> Self {
        let mut pockets = Self::default();
        for drill in drills {
            let stitched = match style {
                PocketStyle::Marked => continue,
                PocketStyle::Hem => ground.cross_stitches(drill),
                PocketStyle::Patch => None,
            };
            match stitched {
                Some(stitches) => {
                    pockets.stitches.extend(stitches);
                    pockets.in_hem.push(drill.name.clone());
                }
                None => pockets.patch(drill, ground),
            }
        }
        pockets
    }

    /// What there is to say about them on a panel.
    pub(crate) fn remarks(&self, panel: &str) -> Vec<Remark> {
        let none = self.in_hem.is_empty() && self.in_patches.is_empty();
        let pocketed = (!none).then(|| Remark::Pocketed {
            item: panel.to_owned(),
            in_hem: self.in_hem.clone(),
            in_patches: self.in_patches.clone(),
        });
        let over =
            self.over.iter().map(|(name, by)| Remark::PocketOver { name: name.clone(), by: *by });
        pocketed.into_iter().chain(over).collect()
    }

    fn patch(&mut self, drill: &DrillPoint, ground: &Ground<'_>) {
        let whole = &ground.edge.whole;
        let (_, heading) = whole.at_length(whole.nearest(drill.at).0);
        let place = square(drill.at, heading, finished_side(drill.diameter) / 2.0);
        let reach = |v: &Vertex<PieceFrame>| {
            let off = whole.nearest(v.point).1;
            if whole.contains(v.point) { -off } else { off }
        };
        let over = place.vertices().iter().map(reach).fold(Length::ZERO, Length::max);
        if over > OVER {
            self.over.push((drill.name.clone(), over));
        }
        self.places.push(place);
        self.in_patches.push(drill.name.clone());
        match self.patches.iter_mut().find(|(diameter, _)| *diameter == drill.diameter) {
            Some((_, n)) => *n += 1,
            None => self.patches.push((drill.diameter, 1)),
        }
    }
}

impl Ground<'_> {
    /// The two cross stitches that hold a magnet in the hem; `None` where it doesn't fit.
    fn cross_stitches(&self, drill: &DrillPoint) -> Option<[Path<PieceFrame>; 2]> {
        let half = drill.diameter / 2.0;
        let wide = half + ROOM;
        let off = |side: &Path<PieceFrame>| side.nearest(drill.at).1;
        let sides = self.edge.sides.iter().zip(self.depths);
        let (side, depth) = sides.min_by(|a, b| off(a.0).mm().total_cmp(&off(b.0).mm()))?;
        let depth = (*depth)?;
        let (along, off) = side.nearest(drill.at);
        let between = off >= half && off + wide <= depth;
        let on_side = along > wide && along + wide < side.length();
        if !(between && on_side) {
            return None;
        }
        let stitch = |along: Length| {
            let (on_fold, heading) = side.at_length(along);
            let inward = heading + Angle::from_degrees(90.0);
            // What is turned in lies outside the fold as yet: it must be there, up to the hem's stitch.
            let turned_in = on_fold.toward(inward, -depth * 0.999);
            let is_hemmed = self.cut.contains(turned_in);
            is_hemmed.then(|| Path::polyline([on_fold, on_fold.toward(inward, depth)]))
        };
        Some([stitch(along - wide)?, stitch(along + wide)?])
    }
}

/// Side of a patch for a magnet of that diameter, once its edges are turned in.
pub(crate) fn finished_side(diameter: Length) -> Length {
    diameter + (ROOM + FROM_FOLD) * 2.0
}

/// A square about a place, one of its sides along a heading.
pub(crate) fn square(at: Point<PieceFrame>, heading: Angle, half: Length) -> Path<PieceFrame> {
    let up = heading + Angle::from_degrees(90.0);
    let corner =
        |along: f64, across: f64| at.toward(heading, half * along).toward(up, half * across);
    Path::polygon([corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)])
}

#[cfg(test)]
mod tests {
    use hold::{Force, Grip};

    use super::*;
    use crate::samples::{ask, cloth, mm, turned, windscreen};
    use crate::{Draft, EdgeFinish, PanelAsk, draft_panel};

    /// A grip so deep inside the glass edge, that far along it from the middle of the base.
    fn grip(number: u32, along: f64, depth: f64) -> Grip {
        let edge = windscreen().path();
        let base = edge.nearest(Point::from_mm(0.0, -25.0)).0;
        let (on_edge, heading) = edge.at_length(base + mm(along));
        Grip {
            number,
            at: on_edge.toward(heading + Angle::from_degrees(90.0), mm(depth)),
            along: mm(along),
            depth: mm(depth),
            diameter: mm(20.0),
            pull: Force::from_newtons(5.0),
        }
    }

    fn drafted(finishes: &[EdgeFinish], grips: &[Grip], pockets: PocketStyle) -> Draft {
        let (outline, cloth) = (windscreen(), cloth(1600.0));
        let plain = ask(&outline, finishes, &cloth);
        draft_panel(&PanelAsk { grips, pockets, ..plain }).unwrap()
    }

    #[test]
    fn a_magnet_that_fits_the_hem_is_held_between_fold_stitch_and_cross_stitches() {
        let (finishes, grips) = (turned(&[mm(40.0); 4]), [grip(1, 300.0, 20.0)]);
        let plain = drafted(&finishes, &grips, PocketStyle::Marked);
        let draft = drafted(&finishes, &grips, PocketStyle::Hem);
        assert_eq!(draft.pieces.len(), 1);
        let n = plain.pieces[0].sew_lines.len();
        let stitches = &draft.pieces[0].sew_lines[n..];
        assert_eq!(stitches.len(), 2);
        let magnet = draft.pieces[0].drill_points[0].at;
        for stitch in stitches {
            // A millimetre beside the magnet, from the fold to the hem's stitch 35 mm inside it.
            // The base is bowed, so both lean to one another by a little.
            assert!((stitch.nearest(magnet).1.mm() - 11.0).abs() < 0.05);
            assert!((stitch.length().mm() - 35.0).abs() < 1e-6);
            let [fold, sewn] = [mm(0.0), stitch.length()].map(|along| stitch.at_length(along).0);
            let on = |lines: &[Path<PieceFrame>], at: Point<PieceFrame>| {
                lines.iter().any(|line| line.nearest(at).1.mm() < 1e-3)
            };
            assert!(on(&draft.pieces[0].fold_lines, fold));
            assert!(on(&draft.pieces[0].sew_lines[..n], sewn));
        }
        let says = draft.remarks.iter().any(|r| r.to_string().contains("Grip 1 sits in the hem"));
        assert!(says, "{:?}", draft.remarks);
    }

    #[test]
    fn a_magnet_that_fits_no_hem_gets_a_patch() {
        let narrow = turned(&[mm(20.0); 4]);
        let (wide, deep) = (turned(&[mm(40.0); 4]), grip(2, 300.0, 60.0));
        let welded = [EdgeFinish::Welded { width: mm(40.0) }; 4];
        let near = grip(2, 300.0, 20.0);
        for (finishes, grip) in [(&narrow[..], near), (&wide[..], deep), (&welded[..], near)] {
            let draft = drafted(finishes, &[grip], PocketStyle::Hem);
            let [panel, pocket] = &draft.pieces[..] else { panic!("a panel and its pocket") };
            assert_eq!((pocket.name.as_str(), pocket.count), ("front panel pocket", 1));
            // Its place on the panel is its finished size, round the magnet.
            let place = &panel.internal_lines[0];
            let magnet = panel.drill_points[0].at;
            assert!((place.area() - pocket.fold_lines[0].area()).mm2().abs() < 1e-6);
            assert!((place.nearest(magnet).1.mm() - 13.0).abs() < 1e-6);
            // Between its stitches the magnet has a millimetre on every side.
            let inside = pocket.sew_lines[0].bounds().unwrap();
            assert!((inside.width().mm() - 22.0).abs() < 1e-9);
        }
    }

    #[test]
    fn patches_are_cut_once_for_each_magnet() {
        let (finishes, grips) =
            (turned(&[mm(40.0); 4]), [1, 2, 3].map(|k| grip(k, 200.0 * f64::from(k), 20.0)));
        let draft = drafted(&finishes, &grips, PocketStyle::Patch);
        assert_eq!(draft.pieces[1].count, 3);
        assert_eq!(draft.pieces[0].internal_lines.len(), 3);
        // They cover what the panel covers already.
        assert_eq!(draft.figures[1].finished_area.mm2(), 0.0);
    }

    #[test]
    fn a_patch_at_a_rounded_corner_says_how_far_it_reaches_over() {
        let finishes = turned(&[mm(20.0); 4]);
        let outline = windscreen();
        // In the middle of the first corner's rounding, rim 3 mm inside the finished edge.
        let edge = outline.path();
        let corner = edge.nearest(outline.corners()[0]).0;
        let (on_edge, heading) = edge.at_length(corner);
        let at = on_edge.toward(heading + Angle::from_degrees(90.0), mm(17.0));
        let draft = drafted(&finishes, &[Grip { at, ..grip(4, 0.0, 17.0) }], PocketStyle::Hem);
        let over = draft.remarks.iter().find_map(|remark| match remark {
            Remark::PocketOver { by, .. } => Some(by.mm()),
            _ => None,
        });
        // The finished edge there has a radius of 86 mm; a corner of the square stands 13 mm aside on its
        // tangent: √(86² + 13²) − 86.
        let expected = 86.0_f64.hypot(13.0) - 86.0;
        assert!((over.unwrap() - expected).abs() < 0.01, "{over:?} against {expected}");
    }
}
