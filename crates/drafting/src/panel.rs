//! The outside screen of one pane: one panel, or parts to be joined where the cloth is too narrow.
//!
//! The panel's frame is the pane's, seen from outside, so that what is drafted at a place on the
//! glass covers that place; [`PanelAsk::FROM_PANE`] says so. A panel lies with x along the roll when
//! it fits so, else with y along the roll, else it is cut along upright seams into parts of equal
//! finished width, as few as fit; a seam that would run where none may is moved aside, to the nearer end
//! that leaves parts which fit. A part is what the whole panel's lines leave between its seams and
//! their allowances, so what is joined along the seams is the whole panel again. The parts are
//! joined first and hemmed afterwards.

use geometry::{
    Angle, Area, Length, Outline, Pane, Path, Piece as PieceFrame, Placement, Point, tolerance,
};
use hold::Grip;

use crate::cloth::Lie;
use crate::draft::PieceFigures;
use crate::ease::{Turned, eased};
use crate::edge::{
    CornerCut, CutEdge, FinishedEdge, corner_name, edge_at, joined, middle_heading, outside,
    side_name, sides_at, widest,
};
use crate::finish::FROM_FOLD;
use crate::keep_out::{Facing, Freed, left, runs};
use crate::marks::{across, chord, grain, meetings_along, slit, words};
use crate::pocket::{self, Ground, PocketStyle, Pockets, finished_side};
use crate::{
    Cloth, CornerStyle, Corners, Draft, DraftError, DrillPoint, EdgeFinish, Free, FreeFinish,
    Notch, Piece, Print, Remark, SeamType, Sewing, StrapPlace, strap, stretch,
};

/// What a panel is drafted from.
#[derive(Clone, Copy, Debug)]
pub struct PanelAsk<'a> {
    /// Name of the pane: the panel of `front` is the `front panel`.
    pub pane: &'a str,
    /// What it is: `panel`, or what one layer of several is called.
    pub what: &'a str,
    /// What identifies the job, written on the piece.
    pub order: &'a str,
    /// How many to cut.
    pub count: u32,
    /// The glass edge.
    pub outline: &'a Outline,
    /// How far the finished edge runs inside the glass edge.
    pub inset: Length,
    /// How each side of the outline is finished.
    pub finishes: &'a [EdgeFinish],
    /// How its corners are made.
    pub corners: Corners,
    /// Where magnets are sewn in.
    pub grips: &'a [Grip],
    /// How they are held.
    pub pockets: PocketStyle,
    /// What it leaves free.
    pub keep_outs: &'a [Free<Pane>],
    /// What it is cut from.
    pub cloth: &'a Cloth,
    /// How it is sewn.
    pub sewing: Sewing,
    /// How its parts are joined where the cloth is too narrow.
    pub seam: SeamType,
    /// From where to where across the pane no seam may run, unless there is no other way: a driver's line
    /// of sight.
    pub seams_off: &'a [[Length; 2]],
    /// Straps sewn to its corners, each marked by a drill point where it ends on the panel.
    pub straps: &'a [StrapPlace],
}

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
    let bounds = whole.freed.cut.bounds().expect("a cut line has vertices");
    let mut remarks = ask.remarks();
    remarks.extend(whole.remarks.iter().cloned());
    let parts = match ask.cloth.lie(&bounds) {
        Some(lie) => vec![whole.part(ask, &Strip::whole(lie))?],
        // Seams run upright, which leaves the print lying down.
        None if ask.cloth.print == Some(Print::Across) => {
            return Err(DraftError::PrintNarrow {
                item: ask.name(),
                cloth: ask.cloth.name.clone(),
                found: ask.cloth.usable_width,
                needed: ask.cloth.usable_width * (bounds.height() / ask.cloth.room()),
            });
        }
        None => {
            let (strips, kept_off) = whole.strips(ask)?;
            remarks.extend(ask.seam_remarks(&strips, kept_off));
            strips.iter().map(|strip| whole.part(ask, strip)).collect::<Result<_, _>>()?
        }
    };
    let facings = whole.freed.facings.iter().map(|facing| ask.facing(facing));
    let patches = &whole.pockets.patches;
    let patches = patches.iter().map(|&(d, n)| ask.patch(d, n, patches.len() > 1));
    let small: Vec<_> = facings.chain(patches).collect::<Result<_, _>>()?;
    let (pieces, figures) = parts.into_iter().chain(small).unzip();
    Ok(Draft { pieces, figures, remarks })
}

/// Length of the edges of a panel that are bound, those round what is left free included.
///
/// # Errors
/// As [`draft_panel`].
pub fn bound_length(ask: &PanelAsk<'_>) -> Result<Length, DraftError> {
    let whole = Whole::new(ask)?;
    let n = ask.finishes.len();
    let is_bound = |i: usize| matches!(ask.finishes[i % n], EdgeFinish::Bound { .. });
    let mut lines: Vec<Path<PieceFrame>> = Vec::new();
    for (i, (side, corner)) in whole.edge.sides.iter().zip(&whole.edge.corners).enumerate() {
        // Tape goes on round a corner between a bound and a hemmed side, where no hem does.
        if is_bound(i) || is_bound(i + n - 1) {
            lines.extend(corner.rounding.clone());
        }
        if is_bound(i) {
            lines.push(side.clone());
        }
    }
    let edges: Length =
        lines.iter().flat_map(|line| whole.freed.spared(line)).map(|line| line.length()).sum();
    let free = ask.keep_outs.iter().zip(&whole.freed.regions);
    let round_free = free.filter(|(free, _)| matches!(free.finish, FreeFinish::Bound { .. }));
    let round_free: Length = round_free
        .flat_map(|(_, region)| runs(region, &whole.edge.whole, true))
        .map(|line| line.length())
        .sum();
    Ok((edges + round_free) * f64::from(ask.count))
}

impl PanelAsk<'_> {
    /// The panel's frame lies on the pane's.
    pub const FROM_PANE: Placement<Pane, PieceFrame> = Placement::new(Angle::ZERO, Point::ORIGIN);

    /// Cloth beyond the seam to a part's left and the one to its right.
    fn beyond_seams(&self) -> [Length; 2] {
        // The part to the right of a seam has that seam on its left.
        let [left_part, right_part] = self.seam.allowances(self.sewing.seam_allowance);
        [right_part, left_part]
    }

    fn name(&self) -> String {
        format!("{} {}", self.pane, self.what)
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
        if self.finishes.len() != sides {
            return Err(DraftError::Finishes { sides, found: self.finishes.len() });
        }
        self.sewing.check()?;
        self.cloth.check()?;
        if self.corners.turning < Length::ZERO {
            let item = "the turning of corners".to_owned();
            return Err(DraftError::Negative { item, found: self.corners.turning });
        }
        for (i, &finish) in self.finishes.iter().enumerate() {
            let (hem, stitch) = (finish.reach(), finish.least_reach(&self.sewing));
            if hem < Length::ZERO || finish.allowance() < hem && finish.is_turned() {
                let item = format!("the hem of {}", side_name(i));
                let found = hem.min(finish.allowance() - hem);
                return Err(DraftError::Negative { item, found });
            }
            if finish != EdgeFinish::Raw && hem <= stitch {
                return Err(DraftError::HemTooNarrow { item: side_name(i), hem, stitch });
            }
        }
        Ok(())
    }

    fn allowances(&self) -> Vec<Length> {
        self.finishes.iter().map(|finish| finish.allowance()).collect()
    }

    /// Refuses hems that would lie on one another when turned in.
    fn check_hems(&self) -> Result<(), DraftError> {
        let fits = |hem: Length| edge_at(self.outline, self.inset + hem).is_some();
        match self.finishes.iter().position(|finish| !fits(finish.reach())) {
            None => Ok(()),
            Some(i) => {
                let hem = self.finishes[i].reach();
                let most = widest(fits, Length::ZERO, hem);
                Err(DraftError::HemTooWide { item: side_name(i), hem, most })
            }
        }
    }

    /// How deep the hem of each side is where a magnet can be stitched into it: a weld leaves no room,
    /// and what isn't turned in neither.
    fn pocket_depths(&self) -> Vec<Option<Length>> {
        let depth = |finish: &EdgeFinish| match finish {
            EdgeFinish::Hem { .. } | EdgeFinish::DoubleHem { .. } => {
                finish.seam_depth(&self.sewing)
            }
            EdgeFinish::Welded { .. } | EdgeFinish::Bound { .. } | EdgeFinish::Raw => None,
        };
        self.finishes.iter().map(depth).collect()
    }

    /// Stitches of the hems.
    fn hem_stitches(&self) -> Result<Vec<Path<Pane>>, DraftError> {
        let depths: Vec<Option<Length>> =
            self.finishes.iter().map(|finish| finish.seam_depth(&self.sewing)).collect();
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
                    let (item, hem) = (side_name(i), self.finishes[i].reach());
                    let fits = |hem| sides_at(self.outline, self.inset + hem).is_some();
                    let most = widest(fits, Length::ZERO, *depth) + (hem - *depth);
                    DraftError::HemTooWide { item, hem, most }
                })?;
                Ok(Some(sides.swap_remove(i)))
            }
        };
        let stitches: Vec<Option<Path<Pane>>> =
            depths.iter().enumerate().map(side).collect::<Result<_, _>>()?;
        Ok(joined(&stitches))
    }

    /// A facing, cut with the panel's cloth.
    fn facing(&self, facing: &Facing) -> Result<(Piece, PieceFigures), DraftError> {
        let name = format!("{}, {} facing", self.name(), facing.name);
        let bounds = facing.edge.bounds().expect("a facing has vertices");
        let lie = self.cloth.lie(&bounds).ok_or_else(|| DraftError::ClothNarrow {
            item: name.clone(),
            cloth: self.cloth.name.clone(),
            found: self.cloth.usable_width,
            needed: bounds.height().min(bounds.width()),
        })?;
        let piece = Piece {
            texts: words(&facing.edge, &[self.order.to_owned()]),
            grain_line: grain(&facing.edge, lie),
            name,
            pane: self.pane.to_owned(),
            count: self.count,
            cloth: self.cloth.name.clone(),
            cut_line: facing.edge.clone(),
            cut_outs: facing.holes.clone(),
            sew_lines: facing.sewn.clone(),
            fold_lines: Vec::new(),
            internal_lines: facing.slits.clone(),
            notches: Vec::new(),
            drill_points: Vec::new(),
            turns: self.cloth.turns(lie),
        };
        let piece = stretch::grown(piece, self.cloth.shrinkage, lie);
        // A facing covers what the panel covers already.
        let figures = PieceFigures::of(&piece, Area::ZERO);
        Ok((piece, figures))
    }

    /// The patches for magnets of one diameter, `n` of them on a panel.
    fn patch(
        &self,
        diameter: Length,
        n: u32,
        of_several: bool,
    ) -> Result<(Piece, PieceFigures), DraftError> {
        let mut name = format!("{} pocket", self.name());
        if of_several {
            name = format!("{name}, {diameter:.0}");
        }
        let square = |side: Length| pocket::square(Point::ORIGIN, Angle::ZERO, side / 2.0);
        let side = finished_side(diameter);
        let finished = square(side);
        let cut_line = square(side + pocket::TURNING * 2.0);
        let bounds = cut_line.bounds().expect("a square has corners");
        let lie = self.cloth.lie(&bounds).ok_or_else(|| DraftError::ClothNarrow {
            item: name.clone(),
            cloth: self.cloth.name.clone(),
            found: self.cloth.usable_width,
            needed: bounds.width(),
        })?;
        let piece = Piece {
            // It has no room for words but its label's.
            texts: Vec::new(),
            grain_line: grain(&finished, lie),
            name,
            pane: self.pane.to_owned(),
            count: self.count * n,
            cloth: self.cloth.name.clone(),
            cut_line,
            cut_outs: Vec::new(),
            sew_lines: vec![square(side - FROM_FOLD * 2.0)],
            fold_lines: vec![finished],
            internal_lines: Vec::new(),
            notches: Vec::new(),
            drill_points: Vec::new(),
            turns: self.cloth.turns(lie),
        };
        let piece = stretch::grown(piece, self.cloth.shrinkage, lie);
        // A pocket covers what the panel covers already.
        let figures = PieceFigures::of(&piece, Area::ZERO);
        Ok((piece, figures))
    }

    /// The first thing left free that a grip stands on or too near to.
    fn keep_out_at(&self, grip: &Grip) -> Option<&Free<Pane>> {
        self.keep_outs.iter().find(|free| {
            let off = free.shape.nearest(grip.at).1;
            let room = free.clearance.max(free.magnets_off) + grip.diameter / 2.0;
            free.shape.contains(grip.at) || off < room
        })
    }

    fn drill_points(&self, finished: &Path<PieceFrame>) -> Result<Vec<DrillPoint>, DraftError> {
        let drill = |grip: &&Grip| {
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
        let kept = self.grips.iter().filter(|grip| self.keep_out_at(grip).is_none());
        kept.collect::<Vec<_>>().iter().map(drill).collect()
    }

    /// What there is to say about the corners.
    fn remarks(&self) -> Vec<Remark> {
        let sharp = self.outline.radii().iter().enumerate().filter_map(|(i, &radius)| {
            let lost = radius > Length::ZERO && radius <= self.inset;
            lost.then_some(Remark::SharpCorner { corner: i + 1, radius, inset: self.inset })
        });
        let left_out = self.grips.iter().filter_map(|grip| {
            let name = self.keep_out_at(grip)?.name.clone();
            Some(Remark::GripLeftOut { number: grip.number, name })
        });
        sharp.chain(left_out).collect()
    }

    fn seam_remarks(&self, strips: &[Strip], kept_off: bool) -> Vec<Remark> {
        let joined = Remark::Joined {
            item: self.name(),
            n_parts: strips.len(),
            usable_width: self.cloth.usable_width,
            kept_off,
        };
        let seams: Vec<Length> = strips.iter().filter_map(|strip| strip.right).collect();
        let on_seam = self.grips.iter().filter_map(|grip| {
            let x = Self::FROM_PANE.apply(grip.at).x();
            let from_seam = seams.iter().map(|seam| (*seam - x).abs()).reduce(Length::min)?;
            let [l, r] = self.seam.allowances(self.sewing.seam_allowance);
            let reach = grip.diameter / 2.0 + l.max(r);
            (from_seam < reach).then_some(Remark::GripOnSeam { number: grip.number, from_seam })
        });
        std::iter::once(joined).chain(on_seam).collect()
    }
}

/// The panel before it is known to need seams.
struct Whole {
    edge: FinishedEdge<PieceFrame>,
    /// The cut line and the finished edge, less what is left free.
    freed: Freed,
    folds: Vec<Path<PieceFrame>>,
    stitches: Vec<Path<PieceFrame>>,
    notches: Vec<Notch>,
    drill_points: Vec<DrillPoint>,
    pockets: Pockets,
    /// Where straps are sewn on, closed.
    straps: Vec<Path<PieceFrame>>,
    remarks: Vec<Remark>,
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

    /// What a closed line encloses between the seams, widened by the allowances beyond the left and
    /// the right one; `None` when that is not one piece.
    fn of(&self, closed: &Path<PieceFrame>, beyond: [Length; 2]) -> Option<Path<PieceFrame>> {
        if self.left.is_none() && self.right.is_none() {
            return Some(closed.clone());
        }
        let bounds = closed.bounds()?;
        let spare = Length::from_mm(10.0);
        let left = self.left.map_or(bounds.min.x() - spare, |l| l - beyond[0]);
        let right = self.right.map_or(bounds.max.x() + spare, |r| r + beyond[1]);
        let (low, high) = (bounds.min.y() - spare, bounds.max.y() + spare);
        let corners = [(left, low), (right, low), (right, high), (left, high)];
        let slice = Path::polygon(corners.map(|(x, y)| Point::new(x, y)));
        let mut outer = closed.intersection(&slice).outer;
        if outer.len() == 1 { outer.pop() } else { None }
    }

    /// The runs of a line between the seams, widened likewise.
    fn runs(&self, line: &Path<PieceFrame>, beyond: [Length; 2]) -> Vec<Path<PieceFrame>> {
        let ends = [self.left.map(|l| l - beyond[0]), self.right.map(|r| r + beyond[1])];
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
        let edge = FinishedEdge::new(ask.outline, ask.inset).ok_or_else(lost)?;
        let edge = edge.placed(&PanelAsk::FROM_PANE);
        ask.check_hems()?;
        let cut = CutEdge::new(&edge, &ask.allowances(), &ask.corners)?;
        let mut stitches: Vec<_> = ask.hem_stitches()?.iter().map(on_piece).collect();
        if stitches.iter().any(Path::crosses_itself) {
            return Err(DraftError::Tangled { line: "hem stitch".to_owned() });
        }
        stitches.extend(corner_stitches(ask, &edge, &cut)?);
        let mut folds = folds(ask, &edge, &cut)?;
        let (ease_notches, eased) = eased(&ask.name(), &turned_edges(ask, &edge, &cut))?;
        let reach =
            ask.finishes.iter().map(|finish| finish.reach()).fold(Length::ZERO, Length::max);
        let free: Vec<Free<PieceFrame>> = ask.keep_outs.iter().map(on_panel).collect();
        let freed = Freed::new(edge.whole.clone(), cut.line, reach, &free)?;
        let spared = |lines: &[Path<PieceFrame>]| -> Vec<Path<PieceFrame>> {
            lines.iter().flat_map(|line| freed.spared(line)).collect()
        };
        (folds, stitches) = (spared(&folds), spared(&stitches));
        folds.extend(freed.folds.iter().cloned());
        stitches.extend(freed.sewn.iter().cloned());
        let mut drill_points = ask.drill_points(&freed.finished)?;
        let depths = ask.pocket_depths();
        let ground = Ground { edge: &edge, cut: &freed.cut, depths: &depths };
        let pockets = Pockets::new(ask.pockets, &drill_points, &ground);
        stitches.extend(pockets.stitches.iter().cloned());
        let mut straps = Vec::new();
        for place in ask.straps {
            let Some(corner) = edge.corners.get(place.corner) else { continue };
            let out = middle_heading(&edge, place.corner);
            straps.push(strap::place_on(place, corner.at, out));
            drill_points.push(DrillPoint {
                at: corner.at.toward(out, -place.sewn_on),
                name: place.name.clone(),
                diameter: Length::ZERO,
            });
        }
        let mut whole = Self {
            folds,
            stitches,
            drill_points,
            edge,
            freed,
            notches: Vec::new(),
            remarks: eased.into_iter().chain(pockets.remarks(&ask.name())).collect(),
            pockets,
            straps,
        };
        whole.notches = whole.edge_notches(ask);
        whole.notches.extend(ease_notches);
        whole.notches.retain(|n| whole.freed.cut.nearest(n.at).1 < tolerance::SAME_POINT);
        Ok(whole)
    }

    /// Centre marks at base and top, and one at each side's middle.
    fn edge_notches(&self, ask: &PanelAsk<'_>) -> Vec<Notch> {
        let depth = ask.sewing.notch_depth;
        let at_cut = |at: Point<PieceFrame>| {
            let (along, _) = self.freed.cut.nearest(at);
            let (at, heading) = self.freed.cut.at_length(along);
            let inward = heading + Angle::from_degrees(90.0);
            slit(at, inward, depth, self.edge.whole.nearest(at).1)
        };
        let centre = chord(&self.freed.cut, Length::ZERO, true);
        let mut notches: Vec<Notch> = centre.into_iter().flatten().filter_map(at_cut).collect();
        for (side, hem) in self.edge.sides.iter().zip(ask.allowances()) {
            let (middle, heading) = side.at_length(side.length() / 2.0);
            let at = middle.toward(heading - Angle::from_degrees(90.0), hem);
            let near = |notch: &Notch| notch.at.distance(at) < NOTCHES_APART;
            if !notches.iter().any(near) {
                notches.extend(at_cut(at));
            }
        }
        notches
    }

    /// The parts of equal finished width, or as nearly equal as seams allow that keep off what they must;
    /// as few as fit on the cloth. Says whether any was moved aside.
    fn strips(&self, ask: &PanelAsk<'_>) -> Result<(Vec<Strip>, bool), DraftError> {
        let bounds = self.edge.whole.bounds().expect("a finished edge has vertices");
        let (left, width) = (bounds.min.x(), bounds.width());
        let seam = ask.beyond_seams();
        let fits = |strip: &Strip| {
            let cut = strip.of(&self.freed.cut, seam).and_then(|part| part.bounds());
            cut.is_none_or(|b| b.width() <= ask.cloth.room())
        };
        for n in 2..=MOST_PARTS {
            let equal: Vec<Length> = (1..n).map(|k| left + width * (k as f64 / n as f64)).collect();
            for seams in kept_off(&equal, ask.seams_off, seam[0] + seam[1]) {
                let strips: Vec<Strip> = (0..n)
                    .map(|k| Strip {
                        name: Some(part_name(k, n)),
                        left: k.checked_sub(1).map(|k| seams[k]),
                        right: seams.get(k).copied(),
                        lie: Lie::YAlong,
                    })
                    .collect();
                if strips.iter().all(fits) {
                    return Ok((strips, seams != equal));
                }
            }
        }
        Err(DraftError::ClothNarrow {
            item: ask.name(),
            cloth: ask.cloth.name.clone(),
            found: ask.cloth.usable_width,
            needed: width / MOST_PARTS as f64 + seam[0] + seam[1],
        })
    }

    /// One piece of the panel, with its figures.
    fn part(&self, ask: &PanelAsk<'_>, strip: &Strip) -> Result<(Piece, PieceFigures), DraftError> {
        let seam = ask.beyond_seams();
        let name = strip.name.iter().fold(ask.name(), |panel, part| format!("{panel}, {part}"));
        let broken = || DraftError::SeamBroken { item: name.clone() };
        let mut cut_line = strip.of(&self.freed.cut, seam).ok_or_else(broken)?;
        let mut cut_outs = Vec::new();
        for hole in &self.freed.holes {
            if cut_line.meets(hole) {
                // A seam runs through the hole: each part has its share of it as a notch.
                cut_line = left(&cut_line, hole).ok_or_else(broken)?;
            } else if cut_line.contains(hole.at_length(Length::ZERO).0) {
                cut_outs.push(hole.clone());
            }
        }
        let finished = strip.of(&self.freed.finished, [Length::ZERO; 2]).ok_or_else(broken)?;
        let within = |lines: &[Path<PieceFrame>]| -> Vec<Path<PieceFrame>> {
            lines.iter().flat_map(|line| strip.runs(line, seam)).collect()
        };
        let mut sew_lines = within(&self.stitches);
        let held = |notch: &&Notch| strip.holds(notch.at);
        let mut notches: Vec<Notch> = self.notches.iter().filter(held).copied().collect();
        for (x, out) in [(strip.left, -seam[0]), (strip.right, seam[1])] {
            let Some(x) = x else { continue };
            let &[foot, head] = &meetings_along(&self.freed.cut, x, true)[..] else {
                return Err(broken());
            };
            let seam_line = Path::polyline([foot, head]);
            let holes = &self.freed.holes;
            let parted = holes.iter().fold(vec![seam_line], |lines, hole| {
                lines.iter().flat_map(|line| runs(line, hole, false)).collect()
            });
            sew_lines.extend(parted);
            notches.extend(seam_notches(foot, head, out, ask.sewing.notch_depth));
        }
        let internal = [&self.freed.slits[..], &self.pockets.places[..], &self.straps[..]].concat();
        let mut lines = vec![ask.order.to_owned(), "outside face up".to_owned()];
        lines.extend(stretch::words(ask.cloth.shrinkage));
        let piece = Piece {
            texts: words(&finished, &lines),
            grain_line: grain(&finished, strip.lie),
            name,
            pane: ask.pane.to_owned(),
            count: ask.count,
            cloth: ask.cloth.name.clone(),
            cut_line,
            cut_outs,
            sew_lines,
            fold_lines: within(&self.folds),
            internal_lines: within(&internal),
            notches,
            drill_points: self
                .drill_points
                .iter()
                .filter(|drill| strip.holds(drill.at))
                .cloned()
                .collect(),
            turns: ask.cloth.turns(strip.lie),
        };
        let piece = stretch::grown(piece, ask.cloth.shrinkage, strip.lie);
        let holes = self.freed.finished_holes.iter().map(|hole| {
            let shares = finished.intersection(hole).outer;
            shares.iter().map(Path::area).sum::<Area>()
        });
        let figures = PieceFigures::of(&piece, finished.area() - holes.sum());
        Ok((piece, figures))
    }
}

/// Something left free, in the panel's frame.
fn on_panel(free: &Free<Pane>) -> Free<PieceFrame> {
    Free {
        name: free.name.clone(),
        shape: free.shape.placed(&PanelAsk::FROM_PANE),
        clearance: free.clearance,
        finish: free.finish,
        slit: free.slit,
        magnets_off: free.magnets_off,
    }
}

/// Where hems are folded: along the finished edge, and twice turned ones along their inner fold too.
fn folds(
    ask: &PanelAsk<'_>,
    edge: &FinishedEdge<PieceFrame>,
    cut: &CutEdge<PieceFrame>,
) -> Result<Vec<Path<PieceFrame>>, DraftError> {
    let mut round: Vec<Option<Path<PieceFrame>>> = Vec::new();
    let mut inner = Vec::new();
    for (i, finish) in ask.finishes.iter().enumerate() {
        if let (Some(rounding), CornerCut::Round(allowance)) =
            (&edge.corners[i].rounding, cut.corners[i])
        {
            round.push((allowance > Length::ZERO).then(|| rounding.clone()));
        }
        round.push(finish.is_turned().then(|| edge.sides[i].clone()));
        if let EdgeFinish::DoubleHem { width, tuck } = *finish
            && tuck > Length::ZERO
        {
            // The end of a hem is cut straight, which its inner fold may overshoot on a bow.
            inner.extend(runs(&cut.along_hem(edge, i, width)?, &cut.line, true));
        }
    }
    let mut folds = joined(&round);
    folds.extend(inner);
    Ok(folds)
}

/// Stitches that hold down the narrow turnings of corners.
fn corner_stitches(
    ask: &PanelAsk<'_>,
    edge: &FinishedEdge<PieceFrame>,
    cut: &CutEdge<PieceFrame>,
) -> Result<Vec<Path<PieceFrame>>, DraftError> {
    let n = edge.sides.len();
    let mut stitches = Vec::new();
    for (k, corner) in edge.corners.iter().enumerate() {
        let depths = [(k + n - 1) % n, k].map(|i| ask.finishes[i].seam_depth(&ask.sewing));
        let [Some(before), Some(after)] = depths else { continue };
        let (Some(rounding), CornerCut::Round(turning)) = (&corner.rounding, cut.corners[k]) else {
            continue;
        };
        // Where the hems' own stitch catches it, it needs none.
        if turning > Length::ZERO && turning < before.min(after) {
            stitches.push(outside(&corner_name(k), rounding, turning * -0.5)?);
        }
    }
    Ok(stitches)
}

/// Every stretch of edge along which cloth is turned in.
fn turned_edges(
    ask: &PanelAsk<'_>,
    edge: &FinishedEdge<PieceFrame>,
    cut: &CutEdge<PieceFrame>,
) -> Vec<Turned> {
    let mut turned = Vec::new();
    for i in 0..edge.sides.len() {
        if let (Some(rounding), CornerCut::Round(allowance)) =
            (&edge.corners[i].rounding, cut.corners[i])
        {
            let fold = rounding.clone();
            let is_turning = ask.corners.style != CornerStyle::Rounded;
            turned.push(Turned { item: corner_name(i), fold, allowance, is_turning });
        }
        let allowance = ask.finishes[i].allowance();
        let fold = edge.sides[i].clone();
        turned.push(Turned { item: side_name(i), fold, allowance, is_turning: false });
    }
    turned.retain(|t| t.allowance > Length::ZERO);
    turned
}

/// Ways to move seams out of where none may run, each to one end of that stretch, the least moved first;
/// the seams as they are when they run nowhere amiss. Seams nearer to one another than `apart` are none.
fn kept_off(equal: &[Length], off: &[[Length; 2]], apart: Length) -> Vec<Vec<Length>> {
    let mut ways = vec![(Length::ZERO, Vec::new())];
    for &seam in equal {
        let amiss = off.iter().find(|[from, to]| *from < seam && seam < *to);
        let places = amiss.map_or(vec![seam], |[from, to]| vec![*from, *to]);
        let longer = |(moved, seams): &(Length, Vec<Length>)| {
            let (moved, seams) = (*moved, seams.clone());
            let with = move |place: &Length| {
                let seams: Vec<Length> = seams.iter().copied().chain([*place]).collect();
                (moved + (*place - seam).abs(), seams)
            };
            places.iter().map(with).collect::<Vec<_>>()
        };
        ways = ways.iter().flat_map(longer).collect();
    }
    ways.retain(|(_, seams)| seams.windows(2).all(|pair| pair[1] - pair[0] > apart));
    ways.sort_by(|(a, _), (b, _)| a.mm().total_cmp(&b.mm()));
    ways.into_iter().map(|(_, seams)| seams).collect()
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
    use hold::Force;
    use proptest::prelude::*;

    use super::*;
    use crate::NotchForm;
    use crate::samples::{SEWING, ask, cloth, hems, mm, outlines, turned, windscreen};

    const HEM: [EdgeFinish; 4] = [EdgeFinish::Hem { width: Length::from_mm(40.0) }; 4];

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
                    assert!(piece.cut_line.contains(tip) && notch.depth == mm(5.0), "{notch:?}");
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
        for hems in [[mm(40.0); 4], hems] {
            let finishes: Vec<EdgeFinish> = hems
                .iter()
                .map(|&width| match width {
                    Length::ZERO => EdgeFinish::Raw,
                    width => EdgeFinish::Hem { width },
                })
                .collect();
            let ask = ask(&outline, &finishes, &cloth);
            let piece = draft_panel(&ask).unwrap().pieces.remove(0);
            let sides = sides_at(&outline, ask.inset).unwrap();
            for (side, hem) in sides.iter().zip(hems).filter(|(_, hem)| *hem > Length::ZERO) {
                let (middle, heading) = side.at_length(side.length() / 2.0);
                let depth = hem - SEWING.stitch_from_edge;
                let at = middle.toward(heading + Angle::from_degrees(90.0), depth);
                let at = PanelAsk::FROM_PANE.apply(at);
                assert!(piece.sew_lines[0].nearest(at).1.mm() < 1e-6);
            }
            assert_eq!(piece.fold_lines[0].is_closed(), hems == [mm(40.0); 4]);
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
        let wide = turned(&[mm(720.0); 4]);
        match refused(PanelAsk { finishes: &wide, ..sound }) {
            // 1417 mm from bow to bow, 1409 between finished edges: half of that fits.
            DraftError::HemTooWide { most, .. } => {
                assert!((most.mm() - 704.5).abs() < 3.0, "{most}");
            }
            other => panic!("{other}"),
        }
        let narrow = turned(&[mm(4.0); 4]);
        let found = refused(PanelAsk { finishes: &narrow, ..sound });
        assert!(matches!(found, DraftError::HemTooNarrow { .. }));
        let below = turned(&[mm(-4.0); 4]);
        let found = refused(PanelAsk { finishes: &below, ..sound });
        assert!(matches!(found, DraftError::Negative { .. }));
        let found = refused(PanelAsk { finishes: &HEM[..3], ..sound });
        assert_eq!(found, DraftError::Finishes { sides: 4, found: 3 });
        let found = refused(PanelAsk { inset: mm(900.0), ..sound });
        assert_eq!(found, DraftError::Inset { inset: mm(900.0) });
        let ribbon = Cloth { usable_width: mm(100.0), ..cloth.clone() };
        let found = refused(PanelAsk { cloth: &ribbon, ..sound });
        assert!(matches!(found, DraftError::ClothNarrow { .. }));
        assert!(found.to_string().ends_with("choose a wider cloth or narrower allowances"));
    }

    #[test]
    fn a_hem_round_a_corner_has_vs_taken_out_or_is_refused() {
        let (outline, cloth) = (windscreen(), cloth(1500.0));
        let rounded = Corners { style: CornerStyle::Rounded, turning: mm(10.0) };
        let ask = PanelAsk { corners: rounded, ..ask(&outline, &HEM, &cloth) };
        let draft = draft_panel(&ask).unwrap();
        let [Remark::Eased { places, n, excess, .. }] = &draft.remarks[..] else {
            panic!("{:?}", draft.remarks);
        };
        // Corners of 70 mm, 66 finished: 2 · 40 / (66 − 40).
        assert!(places.len() == 4 && (excess - 80.0 / 26.0).abs() < 1e-6);
        let is_vee = |notch: &&Notch| matches!(notch.form, NotchForm::Vee { .. });
        assert_eq!(draft.pieces[0].notches.iter().filter(is_vee).count(), *n);
        let wide = turned(&[mm(70.0); 4]);
        let found = draft_panel(&PanelAsk { finishes: &wide, ..ask }).unwrap_err();
        assert!(matches!(found, DraftError::HemOnCurve { .. }), "{found}");
        assert!(found.to_string().contains("bind the edge, choose mitred corners"));
        let mitred = Corners { style: CornerStyle::Mitred, ..rounded };
        assert!(draft_panel(&PanelAsk { finishes: &wide, corners: mitred, ..ask }).is_ok());
    }

    #[test]
    fn a_lost_rounding_is_remarked_on() {
        let (outline, cloth) = (windscreen(), cloth(1500.0));
        let sharp = PanelAsk { inset: mm(80.0), ..ask(&outline, &HEM, &cloth) };
        let remarks = draft_panel(&sharp).unwrap().remarks;
        let is_sharp = |r: &&Remark| matches!(r, Remark::SharpCorner { .. });
        assert_eq!(remarks.iter().filter(is_sharp).count(), 2);
    }

    #[test]
    fn a_hem_turned_twice_has_two_folds_and_a_bound_edge_none() {
        let (outline, cloth) = (windscreen(), cloth(1600.0));
        let double = EdgeFinish::DoubleHem { width: mm(25.0), tuck: mm(10.0) };
        let bound = EdgeFinish::Bound { tape: mm(24.0) };
        let finishes = [double, bound, double, bound];
        let ask = ask(&outline, &finishes, &cloth);
        let piece = draft_panel(&ask).unwrap().pieces.remove(0);
        assert_eq!(piece.fold_lines.len(), 4);
        // Inner folds run 25 mm outside the outer ones, and the cut 35 mm.
        let middle = |line: &Path<PieceFrame>| line.at_length(line.length() / 2.0).0;
        let at = middle(&piece.fold_lines[2]);
        assert!((piece.fold_lines[0].nearest(at).1.mm() - 25.0).abs() < 1e-6);
        assert!((piece.cut_line.nearest(at).1.mm() - 10.0).abs() < 1e-6);
        let finished = FinishedEdge::new(&outline, mm(4.0)).unwrap();
        let side = PanelAsk::FROM_PANE.apply(finished.sides[1].at_length(mm(500.0)).0);
        assert!(piece.cut_line.nearest(side).1.mm() < 1e-6);
    }

    #[test]
    fn a_sensor_is_left_free_and_no_magnet_stands_by_it() {
        let (outline, cloth) = (windscreen(), cloth(1600.0));
        let at = |x: f64, y: f64| Free {
            name: "sensor".to_owned(),
            shape: Path::circle(Point::from_mm(x, y), mm(45.0)),
            clearance: mm(5.0),
            finish: FreeFinish::Faced { turning: mm(8.0), width: mm(30.0) },
            slit: false,
            magnets_off: mm(100.0),
        };
        let keep_outs = [at(0.0, 1200.0)];
        let grips = [grip(1, -1000.0, 100.0), grip(2, 120.0, 1200.0)];
        let plain = ask(&outline, &HEM, &cloth);
        let whole = draft_panel(&plain).unwrap();
        let ask = PanelAsk { keep_outs: &keep_outs, grips: &grips, ..plain };
        let draft = draft_panel(&ask).unwrap();
        let names: Vec<&str> = draft.pieces.iter().map(|p| p.name.as_str()).collect();
        assert_eq!(names, ["front panel", "front panel, sensor facing"]);
        let taken = whole.figures[0].finished_area - draft.figures[0].finished_area;
        assert!((taken.mm2() - std::f64::consts::PI * 50.0 * 50.0).abs() < 1e-6);
        let cut = whole.figures[0].cut_area - draft.figures[0].cut_area;
        assert!((cut.mm2() - std::f64::consts::PI * 42.0 * 42.0).abs() < 1e-6);
        assert_eq!(draft.pieces[0].drill_points.len(), 1);
        assert!(draft.remarks.iter().any(|r| matches!(r, Remark::GripLeftOut { number: 2, .. })));
        // Near the top it is open to it, and every line there stops.
        let keep_outs = [at(0.0, 1340.0)];
        let draft = draft_panel(&PanelAsk { keep_outs: &keep_outs, ..ask }).unwrap();
        let piece = &draft.pieces[0];
        assert!(piece.cut_outs.is_empty() && !piece.cut_line.crosses_itself());
        for line in piece.sew_lines.iter().chain(&piece.fold_lines) {
            let (middle, _) = line.at_length(line.length() / 2.0);
            assert!(piece.cut_line.contains(middle));
        }
    }

    #[test]
    fn a_hole_on_a_seam_is_shared_by_both_parts() {
        let (outline, narrow, wide) = (windscreen(), cloth(1250.0), cloth(1600.0));
        let keep_outs = [Free {
            name: "camera".to_owned(),
            shape: Path::circle(Point::from_mm(10.0, 700.0), mm(40.0)),
            clearance: mm(0.0),
            finish: FreeFinish::Bound { tape: mm(20.0) },
            slit: false,
            magnets_off: mm(0.0),
        }];
        let area = |cloth: &Cloth| {
            let ask = PanelAsk { keep_outs: &keep_outs, ..ask(&outline, &HEM, cloth) };
            let draft = draft_panel(&ask).unwrap();
            assert!(draft.pieces.iter().all(|p| !p.cut_line.crosses_itself()));
            draft.figures.iter().map(|f| f.finished_area).sum::<Area>()
        };
        assert!((area(&narrow) - area(&wide)).mm2().abs() < 0.01);
    }

    #[test]
    fn binding_runs_along_bound_edges_and_round_holes() {
        let (outline, cloth) = (windscreen(), cloth(1600.0));
        let bound = [EdgeFinish::Bound { tape: mm(24.0) }; 4];
        let keep_outs = [Free {
            name: "camera".to_owned(),
            shape: Path::circle(Point::from_mm(0.0, 700.0), mm(40.0)),
            clearance: mm(0.0),
            finish: FreeFinish::Bound { tape: mm(20.0) },
            slit: false,
            magnets_off: mm(0.0),
        }];
        let ask = PanelAsk { keep_outs: &keep_outs, ..ask(&outline, &bound, &cloth) };
        let finished = edge_at(&outline, mm(4.0)).unwrap().length();
        let round_hole = mm(80.0) * std::f64::consts::PI;
        let found = bound_length(&ask).unwrap();
        assert!((found - finished - round_hole).mm().abs() < 1e-6, "{found}");
        let hemmed = PanelAsk { finishes: &HEM, keep_outs: &[], ..ask };
        assert_eq!(bound_length(&hemmed).unwrap(), Length::ZERO);
    }

    /// Where the seams of a draft run.
    fn seams(draft: &Draft) -> Vec<f64> {
        let right = |piece: &Piece| piece.sew_lines.last().unwrap().at_length(mm(0.0)).0.x_mm();
        draft.pieces[..draft.pieces.len() - 1].iter().map(right).collect()
    }

    #[test]
    fn no_seam_runs_in_the_drivers_line_of_sight() {
        let (outline, cloth) = (windscreen(), cloth(900.0));
        let plain = ask(&outline, &HEM, &cloth);
        let equal = draft_panel(&plain).unwrap();
        let [left, right] = seams(&equal)[..] else { panic!("three parts") };
        assert!((left + right).abs() < 1e-6, "{left} and {right}");
        // Moved to the nearer end of what is kept free; the other one stays.
        let off = [[mm(left - 30.0), mm(left + 100.0)]];
        let moved = draft_panel(&PanelAsk { seams_off: &off, ..plain }).unwrap();
        let found = seams(&moved);
        assert!((found[0] - (left - 30.0)).abs() < 1e-6 && (found[1] - right).abs() < 1e-6);
        let says = |draft: &Draft| {
            draft.remarks.iter().any(|r| r.to_string().contains("the driver's line of sight"))
        };
        assert!(says(&moved) && !says(&equal));
        // Where moving it leaves parts too wide on either side, there is a part more.
        let off = [[mm(left - 300.0), mm(left + 300.0)]];
        let parted = draft_panel(&PanelAsk { seams_off: &off, ..plain }).unwrap();
        assert!(parted.pieces.len() > 3);
        let free = |x: &f64| *x <= left - 300.0 + 1e-6 || *x >= left + 300.0 - 1e-6;
        assert!(seams(&parted).iter().all(free), "{:?}", seams(&parted));
    }

    #[test]
    fn a_strap_is_marked_where_it_is_sewn_on() {
        let (outline, cloth) = (windscreen(), cloth(1600.0));
        let place = StrapPlace {
            corner: 0,
            name: "strap to the door".to_owned(),
            width: mm(25.0),
            sewn_on: mm(50.0),
        };
        let straps = [place];
        let ask = PanelAsk { straps: &straps, ..ask(&outline, &HEM, &cloth) };
        let piece = draft_panel(&ask).unwrap().pieces.remove(0);
        let mark = &piece.internal_lines[0];
        assert!((mark.area().mm2() - 25.0 * 50.0).abs() < 1e-6);
        // It starts at the finished edge and runs inwards; its end is marked through the cloth.
        let finished = edge_at(&outline, mm(4.0)).unwrap().placed(&PanelAsk::FROM_PANE);
        let end = &piece.drill_points[0];
        assert_eq!((end.name.as_str(), end.diameter), ("strap to the door", mm(0.0)));
        assert!(finished.contains(end.at));
        assert!((finished.nearest(end.at).1.mm() - 50.0).abs() < 1.0);
    }

    #[test]
    fn a_felled_seam_has_half_the_allowance_on_one_part() {
        let (outline, cloth) = (windscreen(), cloth(1250.0));
        let ask = PanelAsk { seam: SeamType::FlatFelled, ..ask(&outline, &HEM, &cloth) };
        let draft = draft_panel(&ask).unwrap();
        let edge = |piece: &Piece| piece.cut_line.bounds().unwrap();
        assert!((edge(&draft.pieces[0]).max.x().mm() - 7.5).abs() < 1e-6);
        assert!((edge(&draft.pieces[1]).min.x().mm() + 15.0).abs() < 1e-6);
    }

    #[test]
    fn a_piece_is_cut_larger_for_cloth_that_shrinks() {
        let outline = windscreen();
        let plain = cloth(1600.0);
        let shrinkage = crate::Shrinkage { warp: 0.02, weft: 0.01 };
        let shrinking = Cloth { shrinkage, ..plain.clone() };
        let figures = |cloth: &Cloth| draft_panel(&ask(&outline, &HEM, cloth)).unwrap();
        let (before, after) = (figures(&plain), figures(&shrinking));
        let ratio =
            |of: fn(&PieceFigures) -> Length| of(&after.figures[0]) / of(&before.figures[0]);
        assert!((ratio(|f| f.along_roll) * 0.98 - 1.0).abs() < 1e-6);
        assert!((ratio(|f| f.across_roll) * 0.99 - 1.0).abs() < 1e-6);
        assert!(after.pieces[0].texts.iter().any(|t| t.text.contains("shrinks 2.0 % along")));
        let too_much = Cloth { shrinkage: crate::Shrinkage { warp: 0.3, weft: 0.0 }, ..plain };
        let found = draft_panel(&ask(&outline, &HEM, &too_much)).unwrap_err();
        assert!(matches!(found, DraftError::Shrinkage { .. }));
    }

    /// Draws each outline's panel on cloth of this width; `None` where it is rightly refused.
    fn drafted(outline: &Outline, hems: &[Length], width: f64) -> Option<Draft> {
        let cloth = cloth(width);
        match draft_panel(&ask(outline, &turned(hems), &cloth)) {
            Ok(draft) => Some(draft),
            Err(
                DraftError::Radius { .. }
                | DraftError::ShortSide { .. }
                | DraftError::HemTooWide { .. }
                | DraftError::HemOnCurve { .. }
                | DraftError::SeamBroken { .. }
                | DraftError::Inset { .. },
            ) => None,
            Err(other) => panic!("{other}"),
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]
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
            if draft.is_some() != image.is_some() {
                // On the verge of what can be sewn rounding may decide; a little off it, never.
                let less = |hems: &[Length]| hems.iter().map(|&h| h * 0.95).collect::<Vec<_>>();
                prop_assert!(drafted(&outline, &less(hems), width).is_some());
                prop_assert!(drafted(&outline.mirrored(), &less(&swapped), width).is_some());
            }
            prop_assume!(draft.is_some() && image.is_some());
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
