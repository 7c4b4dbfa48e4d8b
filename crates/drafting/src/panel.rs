//! The outside screen of one pane: one panel, or parts to be joined where the cloth is too narrow.
//!
//! The panel's frame is the pane's, seen from outside, so that what is drafted at a place on the
//! glass covers that place; [`PanelAsk::FROM_PANE`] says so. A panel lies with x along the roll when
//! it fits so, else with y along the roll, else it is cut along upright seams into parts of equal
//! finished width, as few as fit. A part is what the whole panel's lines leave between its seams and
//! their allowances, so what is joined along the seams is the whole panel again. The parts are
//! joined first and hemmed afterwards.

use geometry::{
    Angle, Length, Outline, Pane, Path, Piece as PieceFrame, Placement, Point, tolerance,
};
use hold::Grip;

use crate::cloth::{Lie, positive};
use crate::draft::PieceFigures;
use crate::edge::{cut_line, edge_at, joined, side_name, sides_at, widest};
use crate::marks::{across, chord, grain, meetings_along, slit, words};
use crate::{Cloth, Draft, DraftError, DrillPoint, Notch, Piece, Remark, Sewing};

/// What a panel is drafted from.
#[derive(Clone, Copy, Debug)]
pub struct PanelAsk<'a> {
    /// Name of the pane: the panel of `front` is the `front panel`.
    pub pane: &'a str,
    /// What identifies the job, written on the piece.
    pub order: &'a str,
    /// How many to cut.
    pub count: u32,
    /// The glass edge.
    pub outline: &'a Outline,
    /// How far the finished edge runs inside the glass edge.
    pub inset: Length,
    /// Hem of each side of the outline, outside the finished edge, turned in once; 0 for a raw edge.
    pub allowances: &'a [Length],
    /// Where magnets are sewn in.
    pub grips: &'a [Grip],
    /// What it is cut from.
    pub cloth: &'a Cloth,
    /// How it is sewn.
    pub sewing: Sewing,
}

/// Part of a hem's length by which it may be too long or short and still lie flat. Common practice
/// with woven cloth, no source.
const EASE: f64 = 0.04;

/// A side's middle notch is left out nearer than this to a centre mark, lest they be taken for one
/// another. Chosen by us: a hand's breadth.
const NOTCHES_APART: Length = Length::from_mm(80.0);

/// Most parts of one panel. Chosen by us: more seams than this are a wrong width, not a plan.
const MOST_PARTS: usize = 12;

/// Drafts the panel of one pane.
///
/// # Errors
/// When it cannot be sewn as asked: see [`DraftError`].
pub fn draft_panel(ask: &PanelAsk<'_>) -> Result<Draft, DraftError> {
    let whole = Whole::new(ask)?;
    let bounds = whole.cut.bounds().expect("a cut line has vertices");
    let mut remarks = ask.remarks(&whole);
    let parts = match ask.cloth.lie(&bounds) {
        Some(lie) => vec![whole.part(ask, &Strip::whole(lie))?],
        None => {
            let strips = whole.strips(ask)?;
            remarks.extend(ask.seam_remarks(&strips));
            strips.iter().map(|strip| whole.part(ask, strip)).collect::<Result<_, _>>()?
        }
    };
    let (pieces, figures) = parts.into_iter().unzip();
    Ok(Draft { pieces, figures, remarks })
}

impl PanelAsk<'_> {
    /// The panel's frame lies on the pane's.
    pub const FROM_PANE: Placement<Pane, PieceFrame> = Placement::new(Angle::ZERO, Point::ORIGIN);

    fn name(&self) -> String {
        format!("{} panel", self.pane)
    }

    fn check(&self) -> Result<(), DraftError> {
        if self.count == 0 {
            return Err(DraftError::Count { item: self.name() });
        }
        if self.inset < Length::ZERO {
            let item = "the inset of the finished edge".to_owned();
            return Err(DraftError::Negative { item, found: self.inset });
        }
        let sides = self.outline.corners().len();
        if self.allowances.len() != sides {
            return Err(DraftError::Allowances { sides, found: self.allowances.len() });
        }
        self.sewing.check()?;
        positive("the usable width of the cloth", self.cloth.usable_width)?;
        for (i, &hem) in self.allowances.iter().enumerate() {
            if hem < Length::ZERO {
                let item = format!("the hem of {}", side_name(i));
                return Err(DraftError::Negative { item, found: hem });
            }
            let stitch = self.sewing.stitch_from_edge;
            if hem > Length::ZERO && hem <= stitch {
                return Err(DraftError::HemTooNarrow { item: side_name(i), hem, stitch });
            }
        }
        Ok(())
    }

    /// Refuses hems that would lie on one another when turned in.
    fn check_hems(&self) -> Result<(), DraftError> {
        let fits = |hem: Length| edge_at(self.outline, self.inset + hem).is_some();
        match self.allowances.iter().position(|&hem| !fits(hem)) {
            None => Ok(()),
            Some(i) => {
                let hem = self.allowances[i];
                let most = widest(fits, Length::ZERO, hem);
                Err(DraftError::HemTooWide { item: side_name(i), hem, most })
            }
        }
    }

    /// How far inside the finished edge the hem of a side is stitched; `None` on a raw side.
    fn stitch_depth(&self, allowance: Length) -> Option<Length> {
        (allowance > Length::ZERO).then(|| allowance - self.sewing.stitch_from_edge)
    }

    /// Stitches of the hems.
    fn hem_stitches(&self) -> Result<Vec<Path<Pane>>, DraftError> {
        let depths: Vec<Option<Length>> =
            self.allowances.iter().map(|&hem| self.stitch_depth(hem)).collect();
        if let [Some(depth), rest @ ..] = &depths[..]
            && rest.iter().all(|other| *other == Some(*depth))
        {
            // The same all round needs no sides, so a short one may be lost inside.
            return Ok(edge_at(self.outline, self.inset + *depth).into_iter().collect());
        }
        let side = |(i, depth): (usize, &Option<Length>)| match depth {
            None => Ok(None),
            Some(depth) => {
                let mut sides = sides_at(self.outline, self.inset + *depth).ok_or_else(|| {
                    let (item, hem) = (side_name(i), self.allowances[i]);
                    let fits = |hem| sides_at(self.outline, self.inset + hem).is_some();
                    let most = widest(fits, Length::ZERO, *depth) + self.sewing.stitch_from_edge;
                    DraftError::HemTooWide { item, hem, most }
                })?;
                Ok(Some(sides.swap_remove(i)))
            }
        };
        let stitches: Vec<Option<Path<Pane>>> =
            depths.iter().enumerate().map(side).collect::<Result<_, _>>()?;
        Ok(joined(&stitches))
    }

    fn drill_points(&self, finished: &Path<PieceFrame>) -> Result<Vec<DrillPoint>, DraftError> {
        let drill = |grip: &Grip| {
            let at = Self::FROM_PANE.apply(grip.at);
            let off = finished.nearest(at).1;
            let found = if finished.contains(at) { off } else { -off };
            let needed = grip.diameter / 2.0;
            if found < needed {
                return Err(DraftError::GripOutside { number: grip.number, found, needed });
            }
            let name = format!("grip {}", grip.number);
            Ok(DrillPoint { at, name, diameter: grip.diameter })
        };
        self.grips.iter().map(drill).collect()
    }

    /// What there is to say about the edge.
    fn remarks(&self, whole: &Whole) -> Vec<Remark> {
        let sharp = self.outline.radii().iter().enumerate().filter_map(|(i, &radius)| {
            let lost = radius > Length::ZERO && radius <= self.inset;
            lost.then_some(Remark::SharpCorner { corner: i + 1, radius, inset: self.inset })
        });
        let curved = [true, false].into_iter().filter_map(|spare| {
            let excess: Vec<f64> = whole
                .sides
                .iter()
                .zip(self.allowances)
                .map(|(side, &hem)| hem_excess(side, hem, spare))
                .collect();
            let full = |&i: &usize| excess[i] > EASE;
            let sides: Vec<usize> = (0..excess.len()).filter(full).map(|i| i + 1).collect();
            let excess = excess.into_iter().fold(0.0, f64::max);
            let item = self.name();
            (!sides.is_empty()).then_some(Remark::HemOnCurve { item, sides, spare, excess })
        });
        sharp.chain(curved).collect()
    }

    fn seam_remarks(&self, strips: &[Strip]) -> Vec<Remark> {
        let joined = Remark::Joined {
            item: self.name(),
            n_parts: strips.len(),
            usable_width: self.cloth.usable_width,
        };
        let seams: Vec<Length> = strips.iter().filter_map(|strip| strip.right).collect();
        let on_seam = self.grips.iter().filter_map(|grip| {
            let x = Self::FROM_PANE.apply(grip.at).x();
            let from_seam = seams.iter().map(|seam| (*seam - x).abs()).reduce(Length::min)?;
            let reach = grip.diameter / 2.0 + self.sewing.seam_allowance;
            (from_seam < reach).then_some(Remark::GripOnSeam { number: grip.number, from_seam })
        });
        std::iter::once(joined).chain(on_seam).collect()
    }
}

/// How much longer (or, of a hollow side, shorter) the cut edge of a hem is than where it comes to
/// lie once turned in, relative to the latter, at the side's tightest arc.
///
/// The cut edge lies at R + a and comes to lie at R − a for fold radius R and allowance a: the
/// difference is 2a/(R − a) of it, beyond all bounds at R ≤ a; hollow, 2a/(R + a).
fn hem_excess(side: &Path<PieceFrame>, hem: Length, spare: bool) -> f64 {
    let of_arc = |segment| match segment {
        geometry::Segment::Arc { radius, sweep, .. } if (sweep > Angle::ZERO) == spare => {
            let lies_at = if spare { radius - hem } else { radius + hem };
            // A corner that closes up altogether is called ten times too full.
            if lies_at.mm() > 0.0 { (hem * 2.0 / lies_at).min(10.0) } else { 10.0 }
        }
        _ => 0.0,
    };
    if hem > Length::ZERO { side.segments().map(of_arc).fold(0.0, f64::max) } else { 0.0 }
}

/// The panel before it is known to need seams.
struct Whole {
    sides: Vec<Path<PieceFrame>>,
    finished: Path<PieceFrame>,
    cut: Path<PieceFrame>,
    folds: Vec<Path<PieceFrame>>,
    stitches: Vec<Path<PieceFrame>>,
    notches: Vec<Notch>,
    drill_points: Vec<DrillPoint>,
}

/// What of the panel one piece is: between two seams, or between a seam and the panel's end.
struct Strip {
    /// What the part is called, when the panel has parts.
    name: Option<String>,
    left: Option<Length>,
    right: Option<Length>,
    lie: Lie,
}

impl Strip {
    fn whole(lie: Lie) -> Self {
        Self { name: None, left: None, right: None, lie }
    }

    /// Whether a place is between its seams; one on a seam belongs to both parts.
    fn holds(&self, at: Point<PieceFrame>) -> bool {
        let spare = tolerance::SAME_POINT;
        self.left.is_none_or(|l| l <= at.x() + spare)
            && self.right.is_none_or(|r| at.x() <= r + spare)
    }

    /// What a closed line encloses between the seams, widened by `allowance` beyond each; `None`
    /// when that is not one piece.
    fn of(&self, closed: &Path<PieceFrame>, allowance: Length) -> Option<Path<PieceFrame>> {
        if self.left.is_none() && self.right.is_none() {
            return Some(closed.clone());
        }
        let bounds = closed.bounds()?;
        let spare = Length::from_mm(10.0);
        let left = self.left.map_or(bounds.min.x() - spare, |l| l - allowance);
        let right = self.right.map_or(bounds.max.x() + spare, |r| r + allowance);
        let (low, high) = (bounds.min.y() - spare, bounds.max.y() + spare);
        let corners = [(left, low), (right, low), (right, high), (left, high)];
        let slice = Path::polygon(corners.map(|(x, y)| Point::new(x, y)));
        let mut outer = closed.intersection(&slice).outer;
        if outer.len() == 1 { outer.pop() } else { None }
    }

    /// The runs of a line between the seams, widened by `allowance` beyond each.
    fn runs(&self, line: &Path<PieceFrame>, allowance: Length) -> Vec<Path<PieceFrame>> {
        let ends = [self.left.map(|l| l - allowance), self.right.map(|r| r + allowance)];
        let mut cuts: Vec<Length> = ends
            .iter()
            .flatten()
            .flat_map(|&x| line.meetings(&across(line, x, true)))
            .map(|p| line.nearest(p).0)
            .collect();
        let inside = |at: Point<PieceFrame>| {
            ends[0].is_none_or(|l| l <= at.x()) && ends[1].is_none_or(|r| at.x() <= r)
        };
        if cuts.is_empty() {
            let whole = inside(line.at_length(Length::ZERO).0);
            return if whole { vec![line.clone()] } else { Vec::new() };
        }
        if !line.is_closed() {
            cuts.extend([Length::ZERO, line.length()]);
        }
        cuts.sort_by(|a, b| a.mm().total_cmp(&b.mm()));
        if line.is_closed() {
            cuts.push(cuts[0]);
        }
        cuts.windows(2)
            .map(|pair| line.part(pair[0], pair[1]))
            .filter(|run| run.length() > tolerance::SAME_POINT)
            .filter(|run| inside(run.at_length(run.length() / 2.0).0))
            .collect()
    }
}

impl Whole {
    fn new(ask: &PanelAsk<'_>) -> Result<Self, DraftError> {
        ask.check()?;
        let on_piece = |path: &Path<Pane>| path.placed(&PanelAsk::FROM_PANE);
        let lost = || DraftError::Inset { inset: ask.inset };
        let finished = on_piece(&edge_at(ask.outline, ask.inset).ok_or_else(lost)?);
        let sides: Vec<Path<PieceFrame>> =
            sides_at(ask.outline, ask.inset).ok_or_else(lost)?.iter().map(on_piece).collect();
        ask.check_hems()?;
        let cut = cut_line(&sides, ask.allowances)?;
        let hemmed =
            |(side, hem): (&Path<PieceFrame>, &Length)| (*hem > Length::ZERO).then(|| side.clone());
        let hems: Vec<_> = sides.iter().zip(ask.allowances).map(hemmed).collect();
        let stitches: Vec<_> = ask.hem_stitches()?.iter().map(on_piece).collect();
        if stitches.iter().any(Path::crosses_itself) {
            return Err(DraftError::Tangled { line: "hem stitch".to_owned() });
        }
        let mut whole = Self {
            folds: joined(&hems),
            stitches,
            drill_points: ask.drill_points(&finished)?,
            sides,
            finished,
            cut,
            notches: Vec::new(),
        };
        whole.notches = whole.edge_notches(ask);
        Ok(whole)
    }

    /// Centre marks at base and top, and one at each side's middle.
    fn edge_notches(&self, ask: &PanelAsk<'_>) -> Vec<Notch> {
        let depth = ask.sewing.notch_depth;
        let at_cut = |at: Point<PieceFrame>| {
            let (along, _) = self.cut.nearest(at);
            let (at, heading) = self.cut.at_length(along);
            let inward = heading + Angle::from_degrees(90.0);
            slit(at, inward, depth, self.finished.nearest(at).1)
        };
        let centre = chord(&self.cut, Length::ZERO, true);
        let mut notches: Vec<Notch> = centre.into_iter().flatten().filter_map(at_cut).collect();
        for (side, &hem) in self.sides.iter().zip(ask.allowances) {
            let (middle, heading) = side.at_length(side.length() / 2.0);
            let at = middle.toward(heading - Angle::from_degrees(90.0), hem);
            let near = |notch: &Notch| notch.at.distance(at) < NOTCHES_APART;
            if !notches.iter().any(near) {
                notches.extend(at_cut(at));
            }
        }
        notches
    }

    /// The parts of equal finished width, as few as fit on the cloth.
    fn strips(&self, ask: &PanelAsk<'_>) -> Result<Vec<Strip>, DraftError> {
        let bounds = self.finished.bounds().expect("a finished edge has vertices");
        let (left, width) = (bounds.min.x(), bounds.width());
        let seam = ask.sewing.seam_allowance;
        for n in 2..=MOST_PARTS {
            let at = |k: usize| (0 < k && k < n).then(|| left + width * (k as f64 / n as f64));
            let strips: Vec<Strip> = (0..n)
                .map(|k| {
                    let name = Some(part_name(k, n));
                    Strip { name, left: at(k), right: at(k + 1), lie: Lie::YAlong }
                })
                .collect();
            let fits = |strip: &Strip| {
                let cut = strip.of(&self.cut, seam).and_then(|part| part.bounds());
                cut.is_none_or(|b| b.width() <= ask.cloth.usable_width)
            };
            if strips.iter().all(fits) {
                return Ok(strips);
            }
        }
        Err(DraftError::ClothNarrow {
            item: ask.name(),
            cloth: ask.cloth.name.clone(),
            found: ask.cloth.usable_width,
            needed: width / MOST_PARTS as f64 + seam * 2.0,
        })
    }

    /// One piece of the panel, with its figures.
    fn part(&self, ask: &PanelAsk<'_>, strip: &Strip) -> Result<(Piece, PieceFigures), DraftError> {
        let seam = ask.sewing.seam_allowance;
        let name = strip.name.iter().fold(ask.name(), |panel, part| format!("{panel}, {part}"));
        let broken = || DraftError::SeamBroken { item: name.clone() };
        let cut_line = strip.of(&self.cut, seam).ok_or_else(broken)?;
        let finished = strip.of(&self.finished, Length::ZERO).ok_or_else(broken)?;
        let runs = |lines: &[Path<PieceFrame>]| -> Vec<Path<PieceFrame>> {
            lines.iter().flat_map(|line| strip.runs(line, seam)).collect()
        };
        let mut sew_lines = runs(&self.stitches);
        let held = |notch: &&Notch| strip.holds(notch.at);
        let mut notches: Vec<Notch> = self.notches.iter().filter(held).copied().collect();
        for (x, out) in [(strip.left, -1.0), (strip.right, 1.0)] {
            let Some(x) = x else { continue };
            let &[foot, head] = &meetings_along(&self.cut, x, true)[..] else {
                return Err(broken());
            };
            sew_lines.push(Path::polyline([foot, head]));
            notches.extend(seam_notches(foot, head, seam * out, ask.sewing.notch_depth));
        }
        let lines = [ask.order.to_owned(), "outside face up".to_owned()];
        let piece = Piece {
            texts: words(&finished, &lines),
            grain_line: grain(&finished, strip.lie),
            name,
            pane: ask.pane.to_owned(),
            count: ask.count,
            cloth: ask.cloth.name.clone(),
            cut_line,
            cut_outs: Vec::new(),
            sew_lines,
            fold_lines: runs(&self.folds),
            internal_lines: Vec::new(),
            notches,
            drill_points: self
                .drill_points
                .iter()
                .filter(|drill| strip.holds(drill.at))
                .cloned()
                .collect(),
            turns: ask.cloth.turns(strip.lie),
        };
        let figures = PieceFigures::of(&piece, finished.area());
        Ok((piece, figures))
    }
}

/// What part `k` of `n`, from the left, is called.
fn part_name(k: usize, n: usize) -> String {
    match (k, n) {
        (0, 2 | 3) => "left part".to_owned(),
        (1, 3) => "middle".to_owned(),
        (1, 2) | (2, 3) => "right part".to_owned(),
        _ => format!("part {} of {n} from the left", k + 1),
    }
}

/// Balance notches of a seam, on the cut edge `out` beyond it: one in its lower third, two in its
/// upper third, so that no part can be joined upside down.
fn seam_notches(
    foot: Point<PieceFrame>,
    head: Point<PieceFrame>,
    out: Length,
    depth: Length,
) -> impl Iterator<Item = Notch> {
    // The pair's distance apart. Chosen by us: told from one at arm's length.
    let pair = Length::from_mm(15.0);
    let length = head.y() - foot.y();
    let inward = Angle::from_degrees(if out > Length::ZERO { 180.0 } else { 0.0 });
    let up = [length / 3.0, length * (2.0 / 3.0) - pair / 2.0, length * (2.0 / 3.0) + pair / 2.0];
    up.into_iter().filter_map(move |up| slit(foot.moved(out, up), inward, depth, out.abs()))
}

#[cfg(test)]
mod tests {
    use geometry::Area;
    use hold::Force;
    use proptest::prelude::*;

    use super::*;
    use crate::samples::{SEWING, ask, cloth, hems, mm, outlines, windscreen};

    const HEM: [Length; 4] = [Length::from_mm(40.0); 4];

    fn grip(number: u32, x: f64, y: f64) -> Grip {
        Grip {
            number,
            at: Point::from_mm(x, y),
            along: Length::ZERO,
            depth: mm(20.0),
            diameter: mm(20.0),
            pull: Force::from_newtons(5.0),
        }
    }

    #[test]
    fn a_windscreen_lies_along_the_roll_where_the_cloth_is_wide_enough() {
        let (outline, cloth) = (windscreen(), cloth(1500.0));
        let draft = draft_panel(&ask(&outline, &HEM, &cloth)).unwrap();
        let [piece] = &draft.pieces[..] else { panic!("one piece") };
        assert_eq!(piece.name, "front panel");
        assert_eq!(piece.turns, [0.0, 180.0].map(Angle::from_degrees));
        let [from, to] = piece.grain_line;
        assert!(from.y() == to.y() && to.x() - from.x() > mm(1000.0));
        let figures = draft.figures[0];
        let glass = outline.path();
        let finished = glass.area() - glass.length() * mm(4.0);
        assert!((figures.finished_area - finished).mm2().abs() < 200.0);
        assert!(figures.across_roll < mm(1500.0) && figures.along_roll > mm(2300.0));
    }

    #[test]
    fn a_one_way_cloth_allows_one_turn() {
        let outline = windscreen();
        let cloth = Cloth { half_turn: false, ..cloth(1500.0) };
        let draft = draft_panel(&ask(&outline, &HEM, &cloth)).unwrap();
        assert_eq!(draft.pieces[0].turns, [Angle::ZERO]);
    }

    #[test]
    fn parts_meet_at_equal_seams_with_matching_notches() {
        let (outline, cloth) = (windscreen(), cloth(1250.0));
        let draft = draft_panel(&ask(&outline, &HEM, &cloth)).unwrap();
        let names: Vec<&str> = draft.pieces.iter().map(|p| p.name.as_str()).collect();
        assert_eq!(names, ["front panel, left part", "front panel, right part"]);
        assert!(matches!(draft.remarks[..], [.., Remark::Joined { n_parts: 2, .. }]));
        let [left, right] = &draft.pieces[..] else { panic!("two parts") };
        assert_eq!(left.turns, [90.0, 270.0].map(Angle::from_degrees));
        let seam = |piece: &Piece| piece.sew_lines.last().unwrap().length();
        assert!((seam(left) - seam(right)).mm().abs() < 0.2);
        let on_seam = |piece: &Piece, x: f64| -> Vec<f64> {
            let on = |n: &&Notch| (n.at.x_mm() - x).abs() < 1e-6;
            piece.notches.iter().filter(on).map(|n| n.at.y_mm()).collect()
        };
        // The seam allowance of 15 mm reaches over the middle from both parts.
        let (a, b) = (on_seam(left, 15.0), on_seam(right, -15.0));
        assert_eq!(a.len(), 3);
        assert_eq!(a, b);
    }

    #[test]
    fn marks_lie_on_the_piece() {
        let outline = windscreen();
        for width in [1500.0, 1250.0, 700.0] {
            let cloth = cloth(width);
            for piece in draft_panel(&ask(&outline, &HEM, &cloth)).unwrap().pieces {
                for notch in &piece.notches {
                    assert!(piece.cut_line.nearest(notch.at).1.mm() < 1e-6, "{notch:?}");
                    let tip = notch.at.toward(notch.inward, notch.depth);
                    assert!(piece.cut_line.contains(tip) && notch.depth == mm(5.0));
                }
                for line in piece.fold_lines.iter().chain(&piece.sew_lines) {
                    let (middle, _) = line.at_length(line.length() / 2.0);
                    assert!(piece.cut_line.contains(middle));
                }
                assert!(piece.grain_line.iter().all(|p| piece.cut_line.contains(*p)));
                for text in &piece.texts {
                    let half = text.height * (0.4 * text.text.chars().count() as f64);
                    for side in [-1.0, 1.0] {
                        let end = text.at.moved(half * side, Length::ZERO);
                        assert!(piece.cut_line.contains(end), "{text:?}");
                    }
                }
            }
        }
    }

    #[test]
    fn the_hem_stitch_keeps_from_the_cut_edge_turned_in() {
        let (outline, cloth) = (windscreen(), cloth(1600.0));
        let hems = [60.0, 40.0, 40.0, 0.0].map(mm);
        for hems in [HEM, hems] {
            let ask = ask(&outline, &hems, &cloth);
            let piece = draft_panel(&ask).unwrap().pieces.remove(0);
            let sides = sides_at(&outline, ask.inset).unwrap();
            for (side, hem) in sides.iter().zip(hems).filter(|(_, hem)| *hem > Length::ZERO) {
                let (middle, heading) = side.at_length(side.length() / 2.0);
                let depth = hem - SEWING.stitch_from_edge;
                let at = middle.toward(heading + Angle::from_degrees(90.0), depth);
                let at = PanelAsk::FROM_PANE.apply(at);
                assert!(piece.sew_lines[0].nearest(at).1.mm() < 1e-6);
            }
            assert_eq!(piece.fold_lines[0].is_closed(), hems == HEM);
        }
    }

    #[test]
    fn grips_are_marked_on_the_part_that_holds_them() {
        let (outline, cloth) = (windscreen(), cloth(1250.0));
        let grips = [grip(1, -1000.0, 100.0), grip(2, 10.0, 20.0), grip(3, 1000.0, 100.0)];
        let ask = PanelAsk { grips: &grips, ..ask(&outline, &HEM, &cloth) };
        let draft = draft_panel(&ask).unwrap();
        let marked = |i: usize| -> Vec<&str> {
            draft.pieces[i].drill_points.iter().map(|d| d.name.as_str()).collect()
        };
        assert_eq!((marked(0), marked(1)), (vec!["grip 1"], vec!["grip 2", "grip 3"]));
        let warned =
            draft.remarks.iter().any(|r| matches!(r, Remark::GripOnSeam { number: 2, .. }));
        assert!(warned);
    }

    #[test]
    fn what_cannot_be_sewn_is_refused_with_a_way_out() {
        let (outline, cloth) = (windscreen(), cloth(1500.0));
        let sound = ask(&outline, &HEM, &cloth);
        let refused = |ask: PanelAsk<'_>| draft_panel(&ask).unwrap_err();
        let outside = [grip(7, 0.0, -20.0)];
        let found = refused(PanelAsk { grips: &outside, ..sound });
        assert!(matches!(found, DraftError::GripOutside { number: 7, .. }), "{found}");
        let wide = [mm(720.0); 4];
        match refused(PanelAsk { allowances: &wide, ..sound }) {
            // 1417 mm from bow to bow, 1409 between finished edges: half of that fits.
            DraftError::HemTooWide { most, .. } => {
                assert!((most.mm() - 704.5).abs() < 3.0, "{most}");
            }
            other => panic!("{other}"),
        }
        let narrow = [mm(4.0); 4];
        let found = refused(PanelAsk { allowances: &narrow, ..sound });
        assert!(matches!(found, DraftError::HemTooNarrow { .. }));
        let below = [mm(-4.0); 4];
        let found = refused(PanelAsk { allowances: &below, ..sound });
        assert!(matches!(found, DraftError::Negative { .. }));
        let found = refused(PanelAsk { allowances: &HEM[..3], ..sound });
        assert_eq!(found, DraftError::Allowances { sides: 4, found: 3 });
        let found = refused(PanelAsk { inset: mm(900.0), ..sound });
        assert_eq!(found, DraftError::Inset { inset: mm(900.0) });
        let ribbon = Cloth { usable_width: mm(100.0), ..cloth.clone() };
        let found = refused(PanelAsk { cloth: &ribbon, ..sound });
        assert!(matches!(found, DraftError::ClothNarrow { .. }));
        assert!(found.to_string().ends_with("choose a wider cloth or narrower allowances"));
    }

    #[test]
    fn a_hem_on_a_tight_curve_is_remarked_on() {
        let (outline, cloth) = (windscreen(), cloth(1500.0));
        let draft = draft_panel(&ask(&outline, &HEM, &cloth)).unwrap();
        let [Remark::HemOnCurve { sides, spare: true, excess, .. }] = &draft.remarks[..] else {
            panic!("{:?}", draft.remarks);
        };
        // Corners of 70 mm, 66 finished: 2 · 40 / (66 − 40).
        assert!(sides == &[1, 2, 3, 4] && (excess - 80.0 / 26.0).abs() < 1e-6);
        let sharp = PanelAsk { inset: mm(80.0), ..ask(&outline, &HEM, &cloth) };
        let remarks = draft_panel(&sharp).unwrap().remarks;
        let is_sharp = |r: &&Remark| matches!(r, Remark::SharpCorner { .. });
        assert_eq!(remarks.iter().filter(is_sharp).count(), 2);
    }

    /// Draws each outline's panel on cloth of this width; `None` where it is rightly refused.
    fn drafted(outline: &Outline, hems: &[Length], width: f64) -> Option<Draft> {
        let cloth = cloth(width);
        match draft_panel(&ask(outline, hems, &cloth)) {
            Ok(draft) => Some(draft),
            Err(
                DraftError::Radius { .. }
                | DraftError::ShortSide { .. }
                | DraftError::HemTooWide { .. }
                | DraftError::SeamBroken { .. }
                | DraftError::Inset { .. },
            ) => None,
            Err(other) => panic!("{other}"),
        }
    }

    proptest! {
        #[test]
        fn parts_together_are_the_whole(
            outline in outlines(), hems in hems(), width in 300.0..700.0,
        ) {
            let hems = &hems[..outline.corners().len()];
            let (whole, parts) = (drafted(&outline, hems, 9e3), drafted(&outline, hems, width));
            prop_assume!(whole.is_some() && parts.is_some());
            let (whole, parts) = (whole.unwrap(), parts.unwrap());
            let finished = |d: &Draft| -> Area { d.figures.iter().map(|f| f.finished_area).sum() };
            prop_assert!((finished(&whole) - finished(&parts)).mm2().abs() < 0.05);
            for (piece, figures) in parts.pieces.iter().zip(&parts.figures) {
                prop_assert!(!piece.cut_line.crosses_itself());
                prop_assert!(figures.across_roll.mm() <= width + 1e-6);
                prop_assert!(figures.cut_area > figures.finished_area);
            }
            for pair in parts.pieces.windows(2) {
                // A seam is the last sew line of the part left of it, the first straight one of the
                // part right of it.
                let seam = pair[0].sew_lines.last().unwrap();
                prop_assert!(pair[1].sew_lines.iter().any(|line| line == seam));
            }
        }

        #[test]
        fn a_mirrored_pane_gives_mirrored_pieces(
            outline in outlines(), hems in hems(), width in 300.0..900.0,
        ) {
            let n = outline.corners().len();
            let hems = &hems[..n];
            let swapped: Vec<Length> = (0..n).map(|i| hems[(n - i) % n]).collect();
            let draft = drafted(&outline, hems, width);
            let image = drafted(&outline.mirrored(), &swapped, width);
            prop_assert_eq!(draft.is_some(), image.is_some());
            prop_assume!(draft.is_some());
            let (draft, image) = (draft.unwrap(), image.unwrap());
            let flip = Placement::<PieceFrame, PieceFrame>::mirrored(Angle::ZERO, Point::ORIGIN);
            prop_assert_eq!(draft.pieces.len(), image.pieces.len());
            for (piece, twin) in draft.pieces.iter().zip(image.pieces.iter().rev()) {
                prop_assert!((piece.cut_line.area() - twin.cut_line.area()).mm2().abs() < 0.05);
                for v in piece.cut_line.vertices() {
                    prop_assert!(twin.cut_line.nearest(flip.apply(v.point)).1.mm() < 1e-3);
                }
                prop_assert_eq!(piece.notches.len(), twin.notches.len());
                for notch in &piece.notches {
                    let at = flip.apply(notch.at);
                    prop_assert!(twin.notches.iter().any(|m| m.at.distance(at).mm() < 1e-3));
                }
            }
        }
    }
}
