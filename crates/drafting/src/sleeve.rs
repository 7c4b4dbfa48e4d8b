//! The sleeve of one wiper blade: one piece, wrapped round blade and arm and closed along the base side.
//!
//! ```text
//!      0                                              L
//!      ┌──────────────────────────────────────────────┐  inner closing edge      y = r/2
//!      │ · · · · · · · · · · loop tape · · · · · · ·  │
//!      │ inner half, on the glass                     │
//!      │ · · · · · · · · · top fold · · · · · · · · · │  y = 0
//!  ┌───┤ outer half              ╭───╮                │ open
//!  │end┆                         │arm│                │ end
//!  └───┤                         │   │                │
//!      │ · · · · hook tape · · · │   │ · · · · · · ·  │
//!      └─────────────────────────┘   └────────────────┘  outer closing edge       y = −(r/2 + o)
//! ```
//!
//! Way round r = 2(w + h) + e. Finished it is a box of the section w + e/4 by h + e/4: the top fold is
//! the middle of its top, both closing edges meet in the middle of its base side, and the outer half
//! goes on for the overlap o and closes over the inner one. The end is as wide as the box and as
//! long as the box is deep; folded back by a quarter turn and sewn round three sides it closes that end.
//!
//! | symbol | meaning |
//! | --- | --- |
//! | w, h | width of blade and arm along the glass, and height off it, mm |
//! | e | ease round them, mm |
//! | o | overlap that bears the hook tape, mm |
//! | L | length of the blade and the ease along it, mm |
//!
//! The outer half lies as it is seen from outside, the blade's base side down. A plain development; the
//! cloth's thickness is part of the ease. No source: the form is chosen by us, as the plainest box that
//! can be put on without lifting the blade. Exact but for rounding.

use std::fmt;

use geometry::{Angle, Length, Path, Piece as PieceFrame, Point, Vertex};

use crate::allowance::{cut_round, without};
use crate::cloth::{Lie, positive};
use crate::draft::PieceFigures;
use crate::marks::{slit, words};
use crate::{
    Cloth, Draft, DraftError, Form, FormPart, Piece, PieceText, Remark, Sewing, SpacePoint, stretch,
};

/// Which end of a sleeve is closed, as seen standing outside, or with the blade's base side down where
/// it parks upright.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClosedEnd {
    /// The left one.
    Left,
    /// The right one.
    Right,
}

impl ClosedEnd {
    /// Both.
    pub const ALL: &'static [Self] = &[Self::Left, Self::Right];
}

impl fmt::Display for ClosedEnd {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Left => "left",
            Self::Right => "right",
        })
    }
}

/// What goes into a sleeve, cut across where it is thickest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BladeSection {
    /// Along the glass, square to the blade.
    pub width: Length,
    /// Off the glass, blade and arm together.
    pub height: Length,
}

/// Where the arm comes out of a sleeve, on its base side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ArmOpening {
    /// From the blade's left end to the middle of the arm.
    pub from_left: Length,
    /// Width of the opening: that of the arm, and room.
    pub width: Length,
}

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
    /// Blade and arm, cut across.
    pub section: BladeSection,
    /// By how much the sleeve is longer inside than the blade.
    pub ease_along: Length,
    /// By how much the way round it is longer than that round blade and arm.
    pub ease_around: Length,
    /// How far the outer half closes over the inner one.
    pub overlap: Length,
    /// Width of the hook-and-loop tape.
    pub tape: Length,
    /// Where the arm comes out.
    pub arm: ArmOpening,
    /// Which end is closed.
    pub closed: ClosedEnd,
    /// Hem of the open end and of both closing edges, turned in once.
    pub hem: Length,
    /// What it is cut from.
    pub cloth: &'a Cloth,
    /// How it is sewn.
    pub sewing: Sewing,
}

/// The piece of a sleeve and the form it is sewn to.
#[derive(Clone, Debug, PartialEq)]
pub struct SleeveDraft {
    /// Its one piece. Origin where the top fold meets the closed end, x along the blade: to the right
    /// when the left end is closed, else from the left up to 0.
    pub draft: Draft,
    /// Where it lies when sewn: x as on the piece, y = 0 at the top, z = 0 on the glass.
    pub form: Form,
    /// Edge of the arm's opening, to be bound.
    pub bound: Length,
}

/// Cloth left beside the arm's opening. Chosen by us: two seam allowances.
const BESIDE_ARM: Length = Length::from_mm(25.0);
/// From the ends of tapes to what they end at. Chosen by us: room for the needle to turn.
const TAPE_ENDS: Length = Length::from_mm(10.0);
const QUARTER: Angle = Angle::from_degrees(90.0);

/// Drafts the sleeve of one wiper blade.
///
/// # Errors
/// When it cannot be sewn as asked: see [`DraftError`].
pub fn draft_sleeve(ask: &SleeveAsk<'_>) -> Result<SleeveDraft, DraftError> {
    ask.check()?;
    let lines = SleeveLines::new(ask)?;
    let (piece, finished) = lines.draft(ask)?;
    let figures = PieceFigures::of(&piece, finished.area());
    let form = Form { parts: vec![lines.form(piece.name.clone())] };
    let [near, far] = lines.hook_runs();
    let hook = [near, far].map(|[from, to]| to - from);
    let [from, to] = lines.loop_run();
    let bound = lines.opening().length();
    let remark = Remark::Fastened {
        item: piece.name.clone(),
        tape: ask.tape,
        hook,
        looped: to - from,
        bound,
    };
    let (piece, form) = match ask.closed {
        ClosedEnd::Left => (piece, form),
        ClosedEnd::Right => (piece.mirrored(), form.mirrored()),
    };
    let draft = Draft { pieces: vec![piece], figures: vec![figures], remarks: vec![remark] };
    Ok(SleeveDraft { draft, form, bound })
}

/// Lines of a sleeve whose left end is closed.
#[derive(Clone, Copy, Debug)]
struct SleeveLines {
    /// Length inside.
    length: Length,
    /// Finished section.
    width: Length,
    height: Length,
    /// Beyond the middle of the base side, and tape on it.
    overlap: Length,
    tape: Length,
    hem: Length,
    /// Middle of the arm, and half the opening's width.
    arm: Length,
    arm_half: Length,
}

fn at(x: Length, y: Length) -> Point<PieceFrame> {
    Point::new(x, y)
}

impl SleeveLines {
    fn new(ask: &SleeveAsk<'_>) -> Result<Self, DraftError> {
        let name = ask.name();
        let side = ask.ease_around / 4.0;
        let (width, height) = (ask.section.width + side, ask.section.height + side);
        let length = ask.blade_length + ask.ease_along;
        let from_left = ask.arm.from_left + ask.ease_along / 2.0;
        let arm_half = ask.arm.width / 2.0;
        if ask.arm.width > width {
            let found = ask.arm.width;
            return Err(DraftError::ArmWide { item: name, found, most: width });
        }
        let beside = arm_half + BESIDE_ARM;
        let (at_closed, at_open) = (beside, beside + ask.hem);
        let ends = match ask.closed {
            ClosedEnd::Left => [at_closed, length - at_open],
            ClosedEnd::Right => [at_open, length - at_closed],
        };
        if from_left < ends[0] || from_left > ends[1] {
            let [least, most] = ends.map(|end| end - ask.ease_along / 2.0);
            let found = ask.arm.from_left;
            return Err(DraftError::ArmAway { item: name, found, least, most });
        }
        let arm = match ask.closed {
            ClosedEnd::Left => from_left,
            ClosedEnd::Right => length - from_left,
        };
        let (overlap, tape, hem) = (ask.overlap, ask.tape, ask.hem);
        let lines = Self { length, width, height, overlap, tape, hem, arm, arm_half };
        // The overlap closes over the inner half's lower parts, not round to its top.
        let most = height / 2.0 + width;
        if overlap > most {
            return Err(DraftError::OverlapWide { item: name, found: overlap, most });
        }
        let item = format!("the closing edge of {name}");
        let most = (height / 2.0 + overlap).min(length / 2.0);
        if hem > most {
            return Err(DraftError::HemTooWide { item, hem, most });
        }
        Ok(lines)
    }

    /// Half the way round.
    fn half(&self) -> Length {
        self.width + self.height
    }

    /// The outer closing edge.
    fn outer(&self) -> Length {
        -self.half() - self.overlap
    }

    /// Allowance of the closed end's seams: narrower on a shallow sleeve, so that those of one corner
    /// leave cloth between them.
    fn end_seam(&self, ask: &SleeveAsk<'_>) -> Length {
        ask.sewing.seam_allowance.min(self.height / 3.0)
    }

    /// Upper and lower side of the closed end's flap.
    fn flap(&self) -> [Length; 2] {
        [-self.height / 2.0, -self.height / 2.0 - self.width]
    }

    /// Corners of the finished piece without the arm's opening, anticlockwise from the open end's foot.
    fn corners(&self) -> [Point<PieceFrame>; 8] {
        let [high, low] = self.flap();
        let (zero, end) = (Length::ZERO, -self.height);
        [
            at(self.length, self.outer()),
            at(self.length, self.half()),
            at(zero, self.half()),
            at(zero, high),
            at(end, high),
            at(end, low),
            at(zero, low),
            at(zero, self.outer()),
        ]
    }

    /// Middle of the round head of the arm's opening: on the middle of the blade.
    fn head(&self) -> Point<PieceFrame> {
        at(self.arm, -(self.height + self.width) / 2.0)
    }

    /// The arm's opening, from the outer closing edge up, round the head and down again.
    fn opening(&self) -> Path<PieceFrame> {
        let [left, right] = [self.arm - self.arm_half, self.arm + self.arm_half];
        let head = self.head().y();
        let vertex = |(x, y, bulge)| Vertex { point: at(x, y), bulge };
        Path::open(
            [
                (right, self.outer(), 0.0),
                (right, head, 1.0),
                (left, head, 0.0),
                (left, self.outer(), 0.0),
            ]
            .map(vertex)
            .to_vec(),
        )
    }

    /// What the opening takes off, run out beyond the hem.
    fn slot(&self) -> Path<PieceFrame> {
        let below = self.outer() - self.hem - BESIDE_ARM;
        let [left, right] = [self.arm - self.arm_half, self.arm + self.arm_half];
        let mut vertices = vec![
            Vertex { point: at(left, below), bulge: 0.0 },
            Vertex { point: at(right, below), bulge: 0.0 },
        ];
        vertices.extend_from_slice(&self.opening().vertices()[1..3]);
        Path::closed(vertices)
    }

    /// From where to where loop tape runs along the inner half.
    fn loop_run(&self) -> [Length; 2] {
        [TAPE_ENDS, self.length - TAPE_ENDS]
    }

    /// From where to where hook tape runs on each side of the arm.
    fn hook_runs(&self) -> [[Length; 2]; 2] {
        let [from, to] = self.loop_run();
        let beside = self.arm_half + TAPE_ENDS;
        [[from, self.arm - beside], [self.arm + beside, to]]
    }

    /// The tapes' outlines: hook on the overlap, loop where it comes to lie.
    fn tapes(&self) -> Vec<Path<PieceFrame>> {
        let low = (self.overlap - self.tape) / 2.0;
        let high = low + self.tape;
        let strip = |[from, to]: [Length; 2], y: [Length; 2]| {
            Path::polygon([at(from, y[0]), at(to, y[0]), at(to, y[1]), at(from, y[1])])
        };
        let (on, under) = (-self.half(), self.half());
        let mut tapes: Vec<_> =
            self.hook_runs().map(|run| strip(run, [on - high, on - low])).into_iter().collect();
        tapes.push(strip(self.loop_run(), [under - high, under - low]));
        tapes
    }

    /// The piece, and its finished part.
    fn draft(&self, ask: &SleeveAsk<'_>) -> Result<(Piece, Path<PieceFrame>), DraftError> {
        let name = ask.name();
        let (seam, hem, stitch) = (self.end_seam(ask), ask.hem, ask.sewing.stitch_from_edge);
        let corners = self.corners();
        let edge = |k: usize| [corners[k], corners[(k + 1) % corners.len()]];
        let allowances = [hem, hem, seam, seam, seam, seam, seam, hem];
        let edges: Vec<_> = (0..corners.len()).map(edge).collect();
        let runs: Vec<_> = edges.iter().zip(allowances).map(|(e, by)| (&e[..], by)).collect();
        let tangled = || DraftError::Tangled { line: format!("arm opening of {name}") };
        let slot = self.slot();
        let cut_line = without(&cut_round(&name, &runs)?, &slot).ok_or_else(tangled)?;
        let finished = without(&Path::polygon(corners), &slot).ok_or_else(tangled)?;
        let bounds = cut_line.bounds().expect("a cut line has vertices");
        let lie = ask.cloth.lie(&bounds).ok_or_else(|| DraftError::ClothNarrow {
            item: name.clone(),
            cloth: ask.cloth.name.clone(),
            found: ask.cloth.room(),
            needed: bounds.height().min(bounds.width()),
        })?;
        let (length, half, outer) = (self.length, self.half(), self.outer());
        let ([high, low], zero) = (self.flap(), Length::ZERO);
        let line = |from: [Length; 2], to: [Length; 2]| {
            Path::polyline([at(from[0], from[1]), at(to[0], to[1])])
        };
        let (left, right) = (-seam, length + hem);
        // Along the outer closing edge, on both sides of the arm.
        let beside_arm = |y: Length| {
            let (a, b) = (self.arm - self.arm_half, self.arm + self.arm_half);
            [line([left, y], [a, y]), line([b, y], [right, y])]
        };
        let [flap_start, flap_end] = [corners[3], corners[6]];
        let mut sew_lines = vec![
            Path::polyline([flap_start, corners[4], corners[5], flap_end]),
            line([zero, half], [zero, high]),
            line([zero, low], [zero, -half]),
            // The overlap's end is turned in and stitched down.
            line([seam / 2.0, -half], [seam / 2.0, outer]),
            line([zero, half - hem + stitch], [right, half - hem + stitch]),
            line([length - hem + stitch, outer - hem], [length - hem + stitch, half + hem]),
        ];
        sew_lines.extend(beside_arm(outer + hem - stitch));
        let mut fold_lines = vec![
            line([left, zero], [right, zero]),
            line([zero, high], [zero, low]),
            line([zero, -half], [zero, outer - hem]),
            line([left, half], [right, half]),
            line([length, outer - hem], [length, half + hem]),
        ];
        fold_lines.extend(beside_arm(outer));

        let notch = |x: Length, y: Length, inward: Angle, allowance: Length| {
            slit(at(x, y), inward, ask.sewing.notch_depth, allowance)
        };
        // The end's middle meets that of the inner half's end; its seam stops where the overlap
        // begins.
        let middle = (high + low) / 2.0;
        let notches = [
            notch(left, zero, Angle::ZERO, seam),
            notch(right, zero, QUARTER * 2.0, hem),
            notch(-self.height - seam, middle, Angle::ZERO, seam),
            notch(left, -middle, Angle::ZERO, seam),
            notch(left, -half, Angle::ZERO, seam),
            notch(self.arm, half + hem, -QUARTER, hem),
        ];

        let mut lines = vec![ask.order.to_owned(), "outside face up".to_owned()];
        lines.extend(stretch::words(ask.cloth.shrinkage));
        let [loop_from, loop_to] = self.loop_run();
        let body = Path::polygon([
            at(loop_from, low),
            at(loop_to, low),
            at(loop_to, half - self.overlap),
            at(loop_from, half - self.overlap),
        ]);
        let mut texts = words(&body, &lines);
        let height = self.tape * 0.4;
        let mut say = |x: Length, y: Length, words: &str| {
            texts.push(PieceText { at: at(x, y), height, text: words.to_owned() });
        };
        let runs = self.hook_runs();
        let long =
            if runs[0][1] - runs[0][0] < runs[1][1] - runs[1][0] { runs[1] } else { runs[0] };
        let there = (long[0] + long[1]) / 2.0;
        // Beside the tapes: the hems' stitches run through them.
        say(there, -half + height * 0.5, "hook tape, on the back");
        say(there, half - self.overlap - height * 1.5, "loop tape, on this face");
        say(self.arm, self.head().y() + self.arm_half + height * 0.5, "arm: bind");

        let across = self.head().y();
        let part = |a: Length, b: Length, t: f64| a + (b - a) * t;
        let piece = Piece {
            grain_line: match lie {
                Lie::XAlong => [0.2, 0.8].map(|t| at(part(long[0], long[1], t), across)),
                Lie::YAlong => {
                    let x = part(long[0], long[1], 0.85);
                    [at(x, low), at(x, half - self.overlap)]
                }
            },
            name,
            pane: ask.pane.to_owned(),
            count: ask.count,
            cloth: ask.cloth.name.clone(),
            cut_line,
            cut_outs: Vec::new(),
            sew_lines,
            fold_lines,
            internal_lines: self.tapes(),
            notches: notches.into_iter().flatten().collect(),
            drill_points: Vec::new(),
            turns: ask.cloth.turns(lie),
            texts,
        };
        Ok((stretch::grown(piece, ask.cloth.shrinkage, lie), finished))
    }

    /// Where the section passes at y on the piece: y and z of the form.
    fn section(&self, y: Length) -> [Length; 2] {
        let (w, h, t) = (self.width, self.height, y.abs());
        let outwards = |z: Length| if y < Length::ZERO { z } else { h - z };
        if t <= h / 2.0 {
            [Length::ZERO, outwards(h / 2.0 + t)]
        } else if t <= h / 2.0 + w {
            [h / 2.0 - t, outwards(h)]
        } else if t <= h * 1.5 + w {
            [-w, outwards(h * 1.5 + w - t)]
        } else {
            [t - h * 1.5 - w * 2.0, outwards(Length::ZERO)]
        }
    }

    fn form(&self, piece: String) -> FormPart {
        let (h, w, half) = (self.height, self.width, self.half());
        let round = h * 1.5 + w;
        let mut levels = vec![self.outer(), -half, -h / 2.0 - w, -h / 2.0, Length::ZERO];
        if -round > self.outer() {
            levels.insert(1, -round);
        }
        levels.extend([h / 2.0, h / 2.0 + w, half]);
        let in_space = |x: Length, [y, z]: [Length; 2]| SpacePoint::from_mm(x.mm(), y.mm(), z.mm());
        let (mut flat, mut space, mut triangles) = (Vec::new(), Vec::new(), Vec::new());
        for &y in &levels {
            for x in [Length::ZERO, self.length] {
                flat.push(at(x, y));
                space.push(in_space(x, self.section(y)));
            }
        }
        for k in (0..levels.len() - 1).map(|level| 2 * level) {
            triangles.extend([[k, k + 1, k + 3], [k, k + 3, k + 2]]);
        }
        // The end's far side lies on the glass, its near side is the outer half's.
        let n = flat.len();
        let [high, low] = self.flap();
        for y in [low, high] {
            let [up, _] = self.section(y);
            for (x, z) in [(-h, Length::ZERO), (Length::ZERO, h)] {
                flat.push(at(x, y));
                space.push(in_space(Length::ZERO, [up, z]));
            }
        }
        triangles.extend([[n, n + 1, n + 3], [n, n + 3, n + 2]]);
        FormPart { piece, flat, space, triangles }
    }
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
        positive(&format!("the width of blade and arm in the {name}"), self.section.width)?;
        positive(&format!("the height of blade and arm in the {name}"), self.section.height)?;
        positive(&format!("the width of the arm's opening in the {name}"), self.arm.width)?;
        positive(&format!("the width of tape on the {name}"), self.tape)?;
        self.cloth.check()?;
        self.sewing.check()?;
        for (what, found) in [("ease along", self.ease_along), ("ease round", self.ease_around)] {
            if found < Length::ZERO {
                let item = format!("the {what} the {name}");
                return Err(DraftError::Negative { item, found });
            }
        }
        if self.overlap < self.tape {
            let (found, needed) = (self.overlap, self.tape);
            return Err(DraftError::OverlapNarrow { item: name, found, needed });
        }
        let (hem, stitch) = (self.hem, self.sewing.stitch_from_edge);
        if hem <= stitch {
            let item = format!("the closing edge of {name}");
            return Err(DraftError::HemTooNarrow { item, hem, stitch });
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::samples::{SEWING, cloth, mm, sleeve_ask, sleeve_asks};

    #[test]
    fn a_sleeve_is_cut_round_blade_and_arm_with_its_allowances() {
        let cloth = cloth(1500.0);
        let SleeveDraft { draft, .. } = draft_sleeve(&sleeve_ask(&cloth)).unwrap();
        let figures = draft.figures[0];
        // 812.8 + 20 inside, 25 at the open end, an end 60 deep and 15 beyond it.
        assert!((figures.along_roll.mm() - (832.8 + 25.0 + 60.0 + 15.0)).abs() < 1e-9);
        // 2 (40 + 50) + 40 round, 30 of overlap, 25 at each closing edge.
        assert!((figures.across_roll.mm() - (220.0 + 30.0 + 50.0)).abs() < 1e-9);
        // The opening is 40 wide with a round head, from the blade's middle down: 25 of the outer
        // face, 60 of the base side halved, 30 of overlap.
        let opening = 40.0 * (25.0 + 30.0 + 30.0) + 0.5 * std::f64::consts::PI * 20.0 * 20.0;
        let whole = 832.8 * 250.0 + 50.0 * 60.0;
        assert!((figures.finished_area.mm2() - (whole - opening)).abs() < 0.1);
        assert_eq!(draft.pieces[0].name, "left blade sleeve");
    }

    #[test]
    fn the_way_round_is_the_section_and_its_ease() {
        let cloth = cloth(1500.0);
        let ask = sleeve_ask(&cloth);
        let part = &draft_sleeve(&ask).unwrap().form.parts[0];
        let span = |axis: usize| {
            let of = |f: fn(f64, f64) -> f64, start| {
                part.space.iter().map(|p| p.mm()[axis]).fold(start, f)
            };
            of(f64::max, f64::MIN) - of(f64::min, f64::MAX)
        };
        assert!((span(0) - 832.8).abs() < 1e-9);
        assert!((span(1) - (40.0 + 10.0)).abs() < 1e-9);
        assert!((span(2) - (50.0 + 10.0)).abs() < 1e-9);
    }

    #[test]
    fn the_arm_comes_out_where_the_order_says() {
        let cloth = cloth(1500.0);
        for closed in [ClosedEnd::Left, ClosedEnd::Right] {
            let arm = ArmOpening { from_left: mm(300.0), width: mm(40.0) };
            let ask = SleeveAsk { closed, arm, ..sleeve_ask(&cloth) };
            let SleeveDraft { draft, form, .. } = draft_sleeve(&ask).unwrap();
            let words = draft.pieces[0].texts.iter().find(|t| t.text.starts_with("arm")).unwrap();
            let left = form.parts[0].space.iter().map(|p| p.mm()[0]).fold(f64::MAX, f64::min);
            assert!((words.at.x_mm() - left - 310.0).abs() < 1e-9, "{closed:?}");
        }
    }

    #[test]
    fn a_sleeve_is_turned_on_narrow_cloth_and_refused_on_a_ribbon() {
        let narrow = draft_sleeve(&sleeve_ask(&cloth(300.0))).unwrap();
        assert_eq!(narrow.draft.pieces[0].turns, [0.0, 180.0].map(Angle::from_degrees));
        let ribbon = draft_sleeve(&sleeve_ask(&cloth(250.0)));
        assert!(matches!(ribbon, Err(DraftError::ClothNarrow { .. })));
    }

    #[test]
    fn a_sleeve_that_cannot_be_sewn_is_refused_with_the_way_out() {
        let cloth = cloth(1500.0);
        let refused = |change: fn(&mut SleeveAsk<'_>)| {
            let mut ask = sleeve_ask(&cloth);
            change(&mut ask);
            draft_sleeve(&ask).unwrap_err()
        };
        assert!(matches!(refused(|a| a.hem = mm(5.0)), DraftError::HemTooNarrow { .. }));
        assert!(matches!(refused(|a| a.hem = mm(80.0)), DraftError::HemTooWide { .. }));
        assert!(matches!(refused(|a| a.section.width = mm(0.0)), DraftError::NotPositive { .. }));
        assert!(matches!(refused(|a| a.ease_around = mm(-1.0)), DraftError::Negative { .. }));
        assert!(matches!(refused(|a| a.glass = mm(800.0)), DraftError::BladeLong { .. }));
        assert!(matches!(refused(|a| a.count = 0), DraftError::Count { .. }));
        assert!(matches!(refused(|a| a.overlap = mm(10.0)), DraftError::OverlapNarrow { .. }));
        assert!(matches!(refused(|a| a.overlap = mm(90.0)), DraftError::OverlapWide { .. }));
        let wide = refused(|a| a.arm.width = mm(60.0));
        assert!(matches!(wide, DraftError::ArmWide { .. }));
        assert!(wide.to_string().contains("choose a narrower opening"), "{wide}");
        let away = refused(|a| a.arm.from_left = mm(800.0));
        assert!(matches!(away, DraftError::ArmAway { .. }), "{away}");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]
        #[test]
        fn a_sleeve_folds_to_its_form_and_is_cut_by_its_allowances(ask in sleeve_asks()) {
            let cloth = cloth(3000.0);
            let ask = SleeveAsk { cloth: &cloth, ..ask };
            let drafted = draft_sleeve(&ask);
            prop_assert!(drafted.is_ok(), "{:?}", drafted.err());
            let SleeveDraft { draft, form, .. } = drafted.unwrap();
            let (piece, part) = (&draft.pieces[0], &form.parts[0]);

            // The form is the piece bent, not stretched.
            for &[a, b, c] in &part.triangles {
                for (p, q) in [(a, b), (b, c), (c, a)] {
                    let off = part.flat[p].distance(part.flat[q])
                        - part.space[p].distance(part.space[q]);
                    prop_assert!(off.mm().abs() < 1e-9);
                }
                let twice = Path::polygon([a, b, c].map(|k| part.flat[k])).area().mm2();
                prop_assert!(twice > 0.0);
            }

            // The end's three seams are as long as the ends they are sewn to.
            let seams = &piece.sew_lines;
            let ends = seams[1].length() + seams[2].length();
            prop_assert!((seams[0].length() - ends).mm().abs() < 0.2);
            // Sewn, each place of the end's seam lies on the body's: those of the same distance from the
            // top corner.
            let place = |p: Point<PieceFrame>| {
                part.triangles.iter().find_map(|&[a, b, c]| {
                    let [[ax, ay], [bx, by], [cx, cy]] = [a, b, c].map(|k| part.flat[k].mm());
                    let [x, y] = p.mm();
                    let whole = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay);
                    let second = ((x - ax) * (cy - ay) - (cx - ax) * (y - ay)) / whole;
                    let third = ((bx - ax) * (y - ay) - (x - ax) * (by - ay)) / whole;
                    let weights = [1.0 - second - third, second, third];
                    weights.iter().all(|w| *w > -1e-9).then(|| {
                        let mut sum = [0.0; 3];
                        for (k, weight) in [a, b, c].into_iter().zip(weights) {
                            let at = part.space[k].mm();
                            (0..3).for_each(|i| sum[i] += weight * at[i]);
                        }
                        SpacePoint::from_mm(sum[0], sum[1], sum[2])
                    })
                })
            };
            // The body's end runs from the end's upper corner over the top and down the inner half.
            let (body, base) = (seams[1].reversed(), seams[2].reversed());
            for k in 0..=20 {
                let along = seams[0].length() * (f64::from(k) / 20.0);
                let on_end = place(seams[0].at_length(along).0).unwrap();
                let on_body = if along <= body.length() {
                    body.at_length(along).0
                } else {
                    base.at_length(along - body.length()).0
                };
                let on_body = place(on_body).unwrap();
                prop_assert!(on_end.distance(on_body).mm() < 0.2, "{k}");
            }

            // The cut line stands off each finished edge by its allowance and never crosses itself.
            prop_assert!(!piece.cut_line.crosses_itself());
            prop_assert!(piece.cut_line.area().mm2() > 0.0);
            for notch in &piece.notches {
                prop_assert!(piece.cut_line.nearest(notch.at).1.mm() < 1e-6);
                prop_assert!(piece.cut_line.contains(notch.at.toward(notch.inward, notch.depth)));
            }
            let stands_off = |edge: &Path<PieceFrame>, by: Length| {
                (1..60).all(|k| {
                    let at = edge.at_length(edge.length() * (f64::from(k) / 60.0)).0;
                    (piece.cut_line.nearest(at).1 - by).mm().abs() < 1e-6
                        && piece.cut_line.contains(at)
                })
            };
            // Seams are nearer to the cut where the end's corners are trimmed, so each is taken
            // between them.
            let height = ask.section.height + ask.ease_around / 4.0;
            let seam = SEWING.seam_allowance.min(height / 3.0);
            for line in [&seams[0], &seams[1], &seams[2]] {
                for segment in line.segments().filter(|s| s.length() > seam * 2.5) {
                    let whole = Path::polyline([segment.from(), segment.to()]);
                    let inner = whole.part(seam, whole.length() - seam);
                    prop_assert!(stands_off(&inner, seam));
                }
            }
            // Hems: the open end between its corners, and both closing edges clear of arm and ends.
            for fold in [&piece.fold_lines[3], &piece.fold_lines[4], &piece.fold_lines[5], &piece.fold_lines[6]] {
                let clear = ask.hem + seam * 1.5;
                if fold.length() > clear * 2.5 {
                    prop_assert!(stands_off(&fold.part(clear, fold.length() - clear), ask.hem));
                }
            }

            // The other way round it is its mirror image.
            let from_left = ask.blade_length - ask.arm.from_left;
            let twin = draft_sleeve(&SleeveAsk {
                closed: match ask.closed {
                    ClosedEnd::Left => ClosedEnd::Right,
                    ClosedEnd::Right => ClosedEnd::Left,
                },
                arm: ArmOpening { from_left, ..ask.arm },
                ..ask
            })
            .unwrap();
            let image = |p: Point<PieceFrame>| Point::new(-p.x(), p.y());
            let other = &twin.draft.pieces[0];
            let off = piece.cut_line.area() - other.cut_line.area();
            prop_assert!(off.mm2().abs() < 1e-3);
            for v in piece.cut_line.vertices() {
                prop_assert!(other.cut_line.nearest(image(v.point)).1.mm() < 1e-6);
            }
        }
    }
}
