//! The hood of one mirror housing: a front, and a gusset round it that is drawn in behind the rim.
//!
//! ```text
//!         front, seen from in front              gusset, laid flat
//!        ┌─────────── B ───────────┐        ┌─D───── C ───── B ───── A ─────D─┐  front seam
//!      ╱                           │        │                          ╭─╮    │
//!  C  │ camera                     A  arm   │                          │ │slot│
//!      ╲                           │        └──────────────────────────┘ └────┘  rear opening
//!        └─────────── D ───────────┘          casing, turned in
//! ```
//!
//! The housing is taken to be a box with rounded edges: height × width, and on the side away from the
//! vehicle a swelling over the camera, which the measured width includes. Its outline O is
//! offset along its own normals, to
//!
//! - the front seam, O moved outwards by m − t, the depth d + m before the rim;
//! - the rear opening, O moved outwards by m + t·b/(d + m), the distance b behind the rim.
//!
//! | symbol | meaning |
//! | --- | --- |
//! | d | depth of the housing, rim to deepest point, mm |
//! | m | room left all round and in front, mm |
//! | t | by how much the front is drawn in on each side, mm |
//! | b | how far the hood reaches behind the rim, mm |
//!
//! Both edges stand off O along the same normals, so that the gusset between them has one slope all
//! round: flat along the sides and part of a round cone at each corner. It is unrolled by
//! [`unroll`], joined to itself at the middle of the base, where water leaves, and sewn to
//! the front with A on A, B on B, C on C. The arm comes out by a slot on the side towards the vehicle;
//! the casing starts and ends there, so that the cord's ends tie round the arm.
//!
//! Valid for a housing near such a box; one with a point or a waist needs its own pattern. No source:
//! the form is chosen by us, as the plainest that three numbers settle. Accuracy: curves are bridged
//! by chords within [`BRIDGED_WITHIN`], by which seam lengths come out short by less than 0.1 mm.

use std::f64::consts::TAU;

use geometry::{Angle, Length, Path, Piece as PieceFrame, Placement, Point, Vertex, tolerance};

use crate::allowance::{beside, cut_round, without};
use crate::cloth::{Lie, positive};
use crate::draft::PieceFigures;
use crate::marks::{grain, slit, words};
use crate::{
    Cloth, Draft, DraftError, Form, FormPart, Notch, Piece, PieceText, Remark, Sewing, SpacePoint,
    UnrolledStrip, stretch, unroll,
};

/// Which mirror it is, as seen standing outside in front of the vehicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MirrorSide {
    /// The vehicle is to its right.
    Left,
    /// The vehicle is to its left.
    Right,
}

/// The swelling over a camera, on the side away from the vehicle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CameraBulge {
    /// How far the camera stands out from the housing.
    pub stands_out: Length,
    /// Parts of the housing's height between which the swelling is full, from the foot up.
    pub between: [f64; 2],
}

/// Where the arm comes out, on the side towards the vehicle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ArmSlot {
    /// Width of the slot: that of the arm, and room to slip it over.
    pub width: Length,
    /// How far the arm reaches in front of the rim.
    pub depth: Length,
    /// Height of the arm's middle, as a part of the housing's height from its foot.
    pub up: f64,
}

/// What draws the rear opening in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Closure {
    /// A cord, tied round the arm.
    Drawcord,
    /// Elastic, its ends sewn down at the slot.
    Elastic,
}

/// What a hood is drafted from.
#[derive(Clone, Copy, Debug)]
pub struct HoodAsk<'a> {
    /// Name of the mirror: its pieces are the `left mirror hood front` and `… gusset`.
    pub mirror: &'a str,
    /// What identifies the job, written on the pieces.
    pub order: &'a str,
    /// How many to cut.
    pub count: u32,
    /// Which mirror it is.
    pub side: MirrorSide,
    /// Height of the housing at its highest.
    pub height: Length,
    /// Width of the housing at its widest, camera included.
    pub width: Length,
    /// Depth of the housing, from the rim to the deepest point.
    pub depth: Length,
    /// Its camera, if it bears one.
    pub camera: Option<CameraBulge>,
    /// Radius of the housing's corners as seen from in front.
    pub corner_radius: Length,
    /// Room left all round and in front.
    pub room: Length,
    /// By how much the front is narrower than the rim on each side.
    pub draw_in: Length,
    /// How far the hood reaches behind the rim.
    pub reach: Length,
    /// Where the arm comes out.
    pub arm: ArmSlot,
    /// What draws the rear opening in.
    pub closure: Closure,
    /// Cloth turned in at the rear opening for cord or elastic.
    pub casing: Length,
    /// What it is cut from.
    pub cloth: &'a Cloth,
    /// How it is sewn.
    pub sewing: Sewing,
}

/// The pieces of a hood and the form they are sewn to.
#[derive(Clone, Debug, PartialEq)]
pub struct HoodDraft {
    /// Front and gusset, in that order.
    pub draft: Draft,
    /// Where they lie when sewn. Origin at the middle of the base of the housing's body, in the plane
    /// of the rim.
    pub form: Form,
    /// Way round the rear opening.
    pub opening: Length,
}

/// How far a chord may stand off the seam it bridges. Chosen by us: a tenth of a thread, and few
/// enough points for any cutting table.
pub(crate) const BRIDGED_WITHIN: Length = Length::from_mm(0.02);
/// A housing shallower than this gives a hood nothing to hold by. Chosen by us: the width of a
/// casing.
const LEAST_DEPTH: Length = Length::from_mm(20.0);
/// Cloth left between the slot and the front seam. Chosen by us: two seam allowances.
const BEFORE_SLOT: Length = Length::from_mm(25.0);
/// Cord beyond the way round the opening, for a knot and a toggle. Common practice, no source.
const CORD_ENDS: Length = Length::from_mm(400.0);
/// Part of the way round the opening to which elastic is cut. Common practice, no source.
const ELASTIC: f64 = 0.65;
/// Height of words and of notch letters on the cloth. Chosen by us: read from a step away.
const WORDS: Length = Length::from_mm(12.0);
const LETTER: Length = Length::from_mm(16.0);
const QUARTER: Angle = Angle::from_degrees(90.0);

/// Drafts the hood of one mirror. The front's frame is that of the form seen from in front; the
/// gusset lies with the front seam up, its middle over the middle of the hood's top.
///
/// # Errors
/// When it cannot be sewn as asked: see [`DraftError`].
pub fn draft_hood(ask: &HoodAsk<'_>) -> Result<HoodDraft, DraftError> {
    ask.check()?;
    let housing = Housing::new(ask)?;
    let strip = housing.gusset(ask)?;
    let (front, front_form) = housing.draft_front(ask)?;
    let gusset = GussetLines::new(ask, &housing, &strip)?;
    let (piece, finished) = gusset.draft(ask, &housing, &strip)?;
    let figures = vec![
        PieceFigures::of(&front, housing.edge(housing.front_off).area()),
        PieceFigures::of(&piece, finished.area()),
    ];
    let opening = Path::polyline(strip.lower.iter().copied()).length();
    let gusset_form = FormPart {
        piece: piece.name.clone(),
        flat: strip.lower.iter().chain(&strip.upper).copied().collect(),
        space: housing.rear().into_iter().chain(housing.front()).collect(),
        triangles: strip.triangles,
    };
    let remark = Remark::Threaded {
        item: piece.name.clone(),
        closure: ask.closure,
        cut: match ask.closure {
            Closure::Drawcord => opening + CORD_ENDS,
            Closure::Elastic => opening * ELASTIC,
        },
    };
    let form = Form { parts: vec![front_form, gusset_form] };
    let draft = Draft { pieces: vec![front, piece], figures, remarks: vec![remark] };
    Ok(match ask.side {
        MirrorSide::Left => HoodDraft { draft, form, opening },
        MirrorSide::Right => {
            let pieces = draft.pieces.iter().map(Piece::mirrored).collect();
            HoodDraft { draft: Draft { pieces, ..draft }, form: form.mirrored(), opening }
        }
    })
}

impl HoodAsk<'_> {
    fn name(&self) -> String {
        format!("{} hood", self.mirror)
    }

    /// Front depth, rim to front seam.
    fn before_rim(&self) -> Length {
        self.depth + self.room
    }

    fn check(&self) -> Result<(), DraftError> {
        let item = self.name();
        if self.count == 0 {
            return Err(DraftError::Count { item });
        }
        if self.depth < LEAST_DEPTH {
            return Err(DraftError::HoodShallow { item, found: self.depth });
        }
        positive(&format!("the height of the {item}"), self.height)?;
        positive(&format!("the width of the {item}"), self.width)?;
        positive(&format!("the corner radius of the {item}"), self.corner_radius)?;
        positive(&format!("the arm slot's width on the {item}"), self.arm.width)?;
        positive(&format!("the arm slot's depth on the {item}"), self.arm.depth)?;
        self.cloth.check()?;
        self.sewing.check()?;
        for (what, found) in [
            ("room", self.room),
            ("drawing in", self.draw_in),
            ("reach behind the rim", self.reach),
            ("camera", self.camera.map_or(Length::ZERO, |camera| camera.stands_out)),
        ] {
            if found < Length::ZERO {
                let item = format!("the {what} of the {item}");
                return Err(DraftError::Negative { item, found });
            }
        }
        let (hem, stitch) = (self.casing, self.sewing.stitch_from_edge);
        let item = format!("the casing of the {item}");
        if hem <= stitch {
            return Err(DraftError::HemTooNarrow { item, hem, stitch });
        }
        let most = (self.before_rim() + self.reach) / 2.0;
        if hem > most {
            return Err(DraftError::HemTooWide { item, hem, most });
        }
        Ok(())
    }
}

/// A place on the housing's outline, and the direction straight out from it.
#[derive(Clone, Copy, Debug)]
struct Stand {
    at: Point<PieceFrame>,
    out: Angle,
}

impl Stand {
    fn off(&self, by: Length) -> Point<PieceFrame> {
        self.at.toward(self.out, by)
    }
}

/// The outline of the housing of the left mirror, and how the hood stands off it.
struct Housing {
    /// Start and end of each corner's rounding, anticlockwise from the one at the foot away from the
    /// vehicle, and its bulge.
    corners: Vec<([Stand; 2], f64)>,
    /// Places all round from the middle of the base and back there, close enough for chords.
    stands: Vec<Stand>,
    /// Numbers of the places in the middle of the base's three neighbours: towards the vehicle (A),
    /// top (B), away from it (C).
    middles: [usize; 3],
    /// Numbers of the places where the straight side towards the vehicle starts and ends.
    inboard: [usize; 2],
    /// How far front seam and rear opening stand off the outline.
    front_off: Length,
    rear_off: Length,
    /// Where they lie in front of the rim.
    front_z: Length,
    rear_z: Length,
}

impl Housing {
    fn new(ask: &HoodAsk<'_>) -> Result<Self, DraftError> {
        let item = ask.name();
        let slope = ask.draw_in / ask.before_rim();
        let (front_off, rear_off) = (ask.room - ask.draw_in, ask.room + ask.reach * slope);
        let tightest = ask.corner_radius + front_off;
        if tightest <= ask.sewing.seam_allowance {
            let allowance = ask.sewing.seam_allowance;
            return Err(DraftError::CornerTight { item, radius: tightest, allowance });
        }
        let corners = rounded(&item, &polygon(ask)?, ask.corner_radius)?;
        let n = corners.len();
        let (mut stands, mut middles, mut inboard) = (Vec::new(), Vec::new(), [0; 2]);
        let middle = |a: Stand, b: Stand| Stand { at: a.at.midpoint(b.at), out: a.out };
        for side in 0..n {
            let (from, to) = (corners[side].0[1], corners[(side + 1) % n].0[0]);
            if side == 0 {
                stands.push(middle(from, to));
            } else {
                stands.push(from);
                middles.push(stands.len());
                stands.push(middle(from, to));
            }
            if side == 1 {
                inboard = [stands.len() - 2, stands.len()];
            }
            stands.push(to);
            let (ends, _) = corners[(side + 1) % n];
            let chords = bridges(ask.corner_radius + rear_off, turned(ends[0].out, ends[1].out));
            let centre = ends[0].at.toward(ends[0].out, -ask.corner_radius);
            stands.extend((1..chords).map(|k| {
                let part = turned(ends[0].out, ends[1].out) * (k as f64 / chords as f64);
                let out = ends[0].out + Angle::from_radians(part);
                Stand { at: centre.toward(out, ask.corner_radius), out }
            }));
        }
        stands.push(corners[0].0[1]);
        stands.push(stands[0]);
        // The camera's corners add two short sides; the longest away from the vehicle bears C.
        let away = if n > 4 { 3 } else { 2 };
        let middles = [middles[0], middles[1], middles[away]];
        let (front_z, rear_z) = (ask.before_rim(), -ask.reach);
        Ok(Self { corners, stands, middles, inboard, front_off, rear_off, front_z, rear_z })
    }

    /// The closed line that far outside the housing's outline, arcs exact.
    fn edge(&self, off: Length) -> Path<PieceFrame> {
        let vertex = |(ends, bulge): &([Stand; 2], f64)| {
            [(ends[0], *bulge), (ends[1], 0.0)]
                .map(|(stand, bulge)| Vertex { point: stand.off(off), bulge })
        };
        Path::closed(self.corners.iter().flat_map(vertex).collect())
    }

    fn in_space(&self, off: Length, z: Length) -> Vec<SpacePoint> {
        let place = |stand: &Stand| {
            let [x, y] = stand.off(off).mm();
            SpacePoint::from_mm(x, y, z.mm())
        };
        self.stands.iter().map(place).collect()
    }

    fn front(&self) -> Vec<SpacePoint> {
        self.in_space(self.front_off, self.front_z)
    }

    fn rear(&self) -> Vec<SpacePoint> {
        self.in_space(self.rear_off, self.rear_z)
    }

    /// From rear opening to front seam, along the cloth.
    fn slant(&self) -> Length {
        let (rise, run) = (self.front_z - self.rear_z, self.rear_off - self.front_off);
        Length::from_mm(rise.mm().hypot(run.mm()))
    }

    /// The gusset laid flat, the ends of its rear opening level, the middle between them at the
    /// origin.
    fn gusset(&self, ask: &HoodAsk<'_>) -> Result<UnrolledStrip, DraftError> {
        let strip = unroll(&format!("{} gusset", ask.name()), &self.rear(), &self.front())?;
        let (first, last) = (strip.lower[0], strip.lower[strip.lower.len() - 1]);
        let level = Angle::ZERO - first.heading_to(last);
        let turn = Placement::<PieceFrame, PieceFrame>::new(level, Point::ORIGIN);
        let [x, y] = turn.apply(first.midpoint(last)).mm();
        Ok(strip.placed(&Placement::new(level, Point::from_mm(-x, -y))))
    }

    fn draft_front(&self, ask: &HoodAsk<'_>) -> Result<(Piece, FormPart), DraftError> {
        let name = format!("{} front", ask.name());
        let seam = ask.sewing.seam_allowance;
        let finished = self.edge(self.front_off);
        let cut_line = self.edge(self.front_off + seam);
        let lie = lie_of(ask, &name, &cut_line)?;
        let at = |place: usize| self.stands[place];
        let marks =
            [(0, "D"), (self.middles[0], "A"), (self.middles[1], "B"), (self.middles[2], "C")];
        let notch = |(place, _): &(usize, &str)| {
            let stand = at(*place);
            let inward = stand.out + QUARTER * 2.0;
            slit(stand.off(self.front_off + seam), inward, ask.sewing.notch_depth, seam)
        };
        let letter = |(place, letter): &(usize, &str)| {
            let stand = at(*place);
            letter_at(stand.off(self.front_off), stand.out + QUARTER * 2.0, letter)
        };
        let mut lines = vec![ask.order.to_owned(), "outside face up".to_owned()];
        lines.extend(stretch::words(ask.cloth.shrinkage));
        let mut texts = words(&finished, &lines);
        texts.extend(marks.iter().map(letter));
        let piece = Piece {
            texts,
            grain_line: grain(&finished, lie),
            pane: String::new(),
            count: ask.count,
            cloth: ask.cloth.name.clone(),
            cut_line,
            cut_outs: Vec::new(),
            sew_lines: vec![finished],
            fold_lines: Vec::new(),
            internal_lines: Vec::new(),
            notches: marks.iter().filter_map(notch).collect(),
            drill_points: Vec::new(),
            turns: ask.cloth.turns(lie),
            name: name.clone(),
        };
        let piece = stretch::grown(piece, ask.cloth.shrinkage, lie);
        let n = self.stands.len() - 1;
        let form = FormPart {
            piece: name,
            flat: self.stands[..n].iter().map(|stand| stand.off(self.front_off)).collect(),
            space: self.front()[..n].to_vec(),
            triangles: (1..n - 1).map(|k| [0, k, k + 1]).collect(),
        };
        Ok((piece, form))
    }
}

/// Corners of the housing of the left mirror before rounding, anticlockwise from the foot of its
/// body away from the vehicle.
fn polygon(ask: &HoodAsk<'_>) -> Result<Vec<Point<PieceFrame>>, DraftError> {
    let out = ask.camera.map_or(Length::ZERO, |camera| camera.stands_out);
    let (half, height) = ((ask.width - out) / 2.0, ask.height);
    positive(&format!("the width of the {} without its camera", ask.name()), half)?;
    let at = |x: Length, part: f64| Point::new(x, height * part);
    let mut corners = vec![at(-half, 0.0), at(half, 0.0), at(half, 1.0), at(-half, 1.0)];
    if let Some(CameraBulge { stands_out, between: [from, to] }) = ask.camera
        && stands_out > Length::ZERO
    {
        corners.extend([at(-half - stands_out, to), at(-half - stands_out, from)]);
    }
    Ok(corners)
}

/// Where the rounding of each corner of a bulging polygon starts and ends, and its bulge.
fn rounded(
    item: &str,
    corners: &[Point<PieceFrame>],
    radius: Length,
) -> Result<Vec<([Stand; 2], f64)>, DraftError> {
    let n = corners.len();
    let heading = |k: usize| corners[k % n].heading_to(corners[(k + 1) % n]);
    let turn = |k: usize| turned(heading(k + n - 1), heading(k));
    let before = |k: usize| radius * (turn(k % n) / 2.0).tan();
    for k in 0..n {
        let found = corners[k].distance(corners[(k + 1) % n]);
        let needed = before(k) + before(k + 1);
        if found <= needed {
            let item = item.to_owned();
            let (what, smaller) = ("its rounded corners", "corner radius");
            return Err(DraftError::SideShort { item, what, found, needed, smaller });
        }
    }
    let corner = |k: usize| {
        let (into, away) = (heading(k + n - 1), heading(k));
        let start = Stand { at: corners[k].toward(into, -before(k)), out: into - QUARTER };
        let end = Stand { at: corners[k].toward(away, before(k)), out: away - QUARTER };
        ([start, end], (turn(k) / 4.0).tan())
    };
    Ok((0..n).map(corner).collect())
}

/// From one direction to another, within half a turn either way, radians.
fn turned(from: Angle, to: Angle) -> f64 {
    let (sin, cos) = (to - from).radians().sin_cos();
    sin.atan2(cos)
}

/// Number of chords that bridge an arc within [`BRIDGED_WITHIN`].
fn bridges(radius: Length, sweep: f64) -> usize {
    let step = 4.0 * (BRIDGED_WITHIN / (radius * 2.0)).clamp(0.0, 1.0).sqrt().asin();
    ((sweep.abs().min(TAU) / step).ceil() as usize).max(1)
}

fn lie_of(ask: &HoodAsk<'_>, name: &str, cut: &Path<PieceFrame>) -> Result<Lie, DraftError> {
    let bounds = cut.bounds().expect("a cut line has vertices");
    ask.cloth.lie(&bounds).ok_or_else(|| DraftError::ClothNarrow {
        item: name.to_owned(),
        cloth: ask.cloth.name.clone(),
        found: ask.cloth.room(),
        needed: bounds.height().min(bounds.width()),
    })
}

/// A notch's letter, inside the seam.
fn letter_at(on_seam: Point<PieceFrame>, inward: Angle, letter: &str) -> PieceText {
    let middle = on_seam.toward(inward, LETTER * 1.1);
    let at = middle.moved(Length::ZERO, LETTER * -0.5);
    PieceText { at, height: LETTER, text: letter.to_owned() }
}

/// Lines of the gusset that hang on the slot.
struct GussetLines {
    /// The slot, closed, running out below the casing.
    slot: Path<PieceFrame>,
    /// The slot's head.
    head: Point<PieceFrame>,
    folds: Vec<Path<PieceFrame>>,
    stitches: Vec<Path<PieceFrame>>,
}

impl GussetLines {
    fn new(
        ask: &HoodAsk<'_>,
        housing: &Housing,
        strip: &UnrolledStrip,
    ) -> Result<Self, DraftError> {
        let item = ask.name();
        let [from, to] = housing.inboard.map(|place| strip.lower[place]);
        let per_mm = housing.slant() / (housing.front_z - housing.rear_z);
        let (width, deep) = (ask.arm.width, (ask.reach + ask.arm.depth) * per_mm);
        let most = housing.slant() - BEFORE_SLOT;
        if deep > most {
            return Err(DraftError::SlotDeep { item, found: deep, most });
        }
        // The straight side spans the housing's height less its roundings.
        let along_side = {
            let foot = housing.stands[housing.inboard[0]].at.y();
            ask.height * ask.arm.up - foot
        };
        let side = from.distance(to);
        let left = along_side - width / 2.0;
        if left < Length::ZERO || along_side + width / 2.0 > side {
            let needed = (along_side.max(side - along_side) + width / 2.0).max(width);
            let (what, smaller) = ("the arm slot between its corners", "arm slot or corner radius");
            return Err(DraftError::SideShort { item, what, found: side, needed, smaller });
        }
        let along = from.heading_to(to);
        let up = along + QUARTER;
        let at =
            |right: Length, above: Length| from.toward(along, along_side + right).toward(up, above);
        let below = -ask.casing - Length::from_mm(10.0);
        let (half, round) = (width / 2.0, (width / 2.0).min(deep));
        // A slot that is deep enough ends round, a shallow one in two rounded corners.
        let quarter = (QUARTER.radians() / 4.0).tan();
        let head = if half - round < tolerance::SAME_POINT {
            vec![(half, deep - round, 1.0)]
        } else {
            vec![
                (half, deep - round, quarter),
                (half - round, deep, 0.0),
                (round - half, deep, quarter),
            ]
        };
        let foot = [(-half, below, 0.0), (half, below, 0.0)];
        let slot = Path::closed(
            foot.into_iter()
                .chain(head)
                .chain([(-half, deep - round, 0.0)])
                .map(|(right, above, bulge)| Vertex { point: at(right, above), bulge })
                .collect(),
        );
        let parted = |line: Path<PieceFrame>| {
            let cuts =
                [at(-half, Length::ZERO), at(half, Length::ZERO)].map(|edge| line.nearest(edge).0);
            vec![line.part(Length::ZERO, cuts[0]), line.part(cuts[1], line.length())]
        };
        let stitch = beside(&item, &strip.lower, ask.sewing.stitch_from_edge - ask.casing)?;
        Ok(Self {
            slot,
            head: at(Length::ZERO, deep),
            folds: parted(Path::polyline(strip.lower.iter().copied())),
            stitches: parted(Path::open(stitch)),
        })
    }

    /// The gusset, and its finished part.
    fn draft(
        self,
        ask: &HoodAsk<'_>,
        housing: &Housing,
        strip: &UnrolledStrip,
    ) -> Result<(Piece, Path<PieceFrame>), DraftError> {
        let name = format!("{} gusset", ask.name());
        let (seam, casing) = (ask.sewing.seam_allowance, ask.casing);
        let upper: Vec<_> = strip.upper.iter().rev().copied().collect();
        let last = strip.lower.len() - 1;
        let right = [strip.lower[last], strip.upper[last]];
        let left = [strip.upper[0], strip.lower[0]];
        let without_slot = |line: &Path<PieceFrame>| {
            let tangled = || DraftError::Tangled { line: format!("arm slot of {name}") };
            without(line, &self.slot).ok_or_else(tangled)
        };
        let whole = cut_round(
            &name,
            &[(&strip.lower, casing), (&right, seam), (&upper, seam), (&left, seam)],
        )?;
        let cut_line = without_slot(&whole)?;
        let finished = without_slot(&Path::polygon(strip.lower.iter().chain(&upper).copied()))?;
        let lie = lie_of(ask, &name, &cut_line)?;
        // End seams are sewn through the casing, which is turned in afterwards.
        let through = |[rear, front]: [Point<PieceFrame>; 2]| {
            Path::polyline([rear.toward(front.heading_to(rear), casing), front])
        };
        let mut sew_lines = vec![
            Path::polyline(strip.upper.iter().copied()),
            through([strip.lower[0], strip.upper[0]]),
            through(right),
        ];
        sew_lines.extend(self.stitches);

        let mut notches: Vec<Notch> = Vec::new();
        let mut texts = Vec::new();
        let mut mark = |on_seam: Point<PieceFrame>, inward: Angle, letter: &str| {
            let at = on_seam.toward(inward, -seam);
            notches.extend(slit(at, inward, ask.sewing.notch_depth, seam));
            texts.push(letter_at(on_seam, inward, letter));
        };
        for (place, letter) in housing.middles.into_iter().zip(["A", "B", "C"]) {
            let along = strip.upper[place - 1].heading_to(strip.upper[place + 1]);
            mark(strip.upper[place], along - QUARTER, letter);
        }
        for ([from, to], inward) in [(left, QUARTER), (right, QUARTER)] {
            mark(from.midpoint(to), from.heading_to(to) + inward, "D");
        }

        let [_, top, away] = housing.middles;
        let (low, high) = (strip.lower[top], strip.upper[top]);
        let middle = low.midpoint(high);
        let height = WORDS.min(housing.slant() * 0.055);
        let say =
            |at: Point<PieceFrame>, words: &str| PieceText { at, height, text: words.to_owned() };
        let threaded = match ask.closure {
            Closure::Drawcord => "casing: turn in, stitch, thread cord",
            Closure::Elastic => "casing: turn in, stitch, thread elastic",
        };
        let line = height * 1.7;
        texts.extend([
            say(high.moved(Length::ZERO, LETTER * -1.6 - line), "sew this edge to the front"),
            say(middle.moved(Length::ZERO, line * 0.2), ask.order),
            say(middle.moved(Length::ZERO, line * -0.8), "outside face up"),
            say(low.moved(Length::ZERO, casing + line), threaded),
            say(self.head.moved(Length::ZERO, height * 0.7), "arm slot: bind"),
        ]);
        let reach = Length::from_mm(60.0);
        let foot = strip.lower[away].midpoint(strip.upper[away]);
        let piece = Piece {
            grain_line: match lie {
                Lie::XAlong => [foot.moved(-reach, Length::ZERO), foot.moved(reach, Length::ZERO)],
                Lie::YAlong => [foot, foot.moved(Length::ZERO, housing.slant() * 0.3)],
            },
            pane: String::new(),
            count: ask.count,
            cloth: ask.cloth.name.clone(),
            cut_line,
            cut_outs: Vec::new(),
            sew_lines,
            fold_lines: self.folds,
            internal_lines: Vec::new(),
            notches,
            drill_points: Vec::new(),
            turns: ask.cloth.turns(lie),
            texts,
            name,
        };
        Ok((stretch::grown(piece, ask.cloth.shrinkage, lie), finished))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::samples::{SEWING, cloth, hood_ask, hood_asks, mm};

    #[test]
    fn a_hood_covers_its_housing_with_room() {
        let cloth = cloth(1500.0);
        let ask = hood_ask(&cloth);
        let hood = draft_hood(&ask).unwrap();
        let rim_slope = ask.draw_in / (ask.depth + ask.room);
        let all: Vec<[f64; 3]> =
            hood.form.parts.iter().flat_map(|p| &p.space).map(|p| p.mm()).collect();
        let span = |axis: usize| {
            let of = |f: fn(f64, f64) -> f64, start| all.iter().map(|p| p[axis]).fold(start, f);
            of(f64::max, f64::MIN) - of(f64::min, f64::MAX)
        };
        let grown = 2.0 * (ask.room + ask.reach * rim_slope).mm();
        assert!((span(0) - ask.width.mm() - grown).abs() < 0.1, "camera included");
        assert!((span(1) - ask.height.mm() - grown).abs() < 1e-6);
        assert!((span(2) - (ask.depth + ask.room + ask.reach).mm()).abs() < 1e-9);
    }

    #[test]
    fn the_arm_slot_is_on_the_side_towards_the_vehicle() {
        let cloth = cloth(1500.0);
        let at_slot = |side| {
            let hood = draft_hood(&HoodAsk { side, ..hood_ask(&cloth) }).unwrap();
            let gusset = &hood.draft.pieces[1];
            let words = gusset.texts.iter().find(|t| t.text.starts_with("arm slot")).unwrap();
            let part = &hood.form.parts[1];
            let near = (0..part.flat.len())
                .min_by(|&a, &b| {
                    let off = |k: usize| part.flat[k].distance(words.at).mm();
                    off(a).total_cmp(&off(b))
                })
                .unwrap();
            part.space[near].mm()[0]
        };
        // Facing the vehicle, it is to the right of its left mirror.
        assert!(at_slot(MirrorSide::Left) > 90.0);
        assert!(at_slot(MirrorSide::Right) < -90.0);
    }

    #[test]
    fn the_casing_stops_at_the_slot_and_cord_is_cut_for_the_opening() {
        let cloth = cloth(1500.0);
        let hood = draft_hood(&hood_ask(&cloth)).unwrap();
        let gusset = &hood.draft.pieces[1];
        let folded: Length = gusset.fold_lines.iter().map(Path::length).sum();
        assert!((hood.opening - folded - mm(60.0)).mm().abs() < 1e-6);
        let remark = hood.draft.remarks[0].to_string();
        let cut = format!("cord cut to {:.0} mm", hood.opening.mm() + 400.0);
        assert!(remark.contains(&cut), "{remark}");
    }

    #[test]
    fn hoods_that_cannot_be_sewn_are_refused_with_the_way_out() {
        let cloth = cloth(1500.0);
        let refused = |change: fn(&mut HoodAsk<'_>)| {
            let mut ask = hood_ask(&cloth);
            change(&mut ask);
            draft_hood(&ask).unwrap_err()
        };
        let shallow = refused(|a| a.depth = Length::ZERO);
        assert!(matches!(shallow, DraftError::HoodShallow { .. }));
        assert!(shallow.to_string().contains("order a flat cover instead"));
        let tight = refused(|a| a.corner_radius = mm(25.0));
        assert!(matches!(tight, DraftError::CornerTight { .. }), "{tight}");
        let round = refused(|a| a.corner_radius = mm(150.0));
        assert!(matches!(round, DraftError::SideShort { .. }), "{round}");
        let deep = refused(|a| a.arm.depth = mm(170.0));
        assert!(matches!(deep, DraftError::SlotDeep { .. }), "{deep}");
        let high = refused(|a| a.arm.up = 0.95);
        assert!(matches!(high, DraftError::SideShort { .. }), "{high}");
        let narrow = refused(|a| a.casing = mm(4.0));
        assert!(matches!(narrow, DraftError::HemTooNarrow { .. }), "{narrow}");
        assert!(matches!(refused(|a| a.count = 0), DraftError::Count { .. }));
        let camera_only = refused(|a| a.width = mm(30.0));
        assert!(matches!(camera_only, DraftError::NotPositive { .. }), "{camera_only}");
    }

    #[test]
    fn a_gusset_wider_than_the_cloth_is_refused() {
        let cloth = cloth(250.0);
        let refused = draft_hood(&hood_ask(&cloth)).unwrap_err();
        assert!(matches!(refused, DraftError::ClothNarrow { .. }), "{refused}");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]
        #[test]
        fn front_and_gusset_fit_each_other(ask in hood_asks()) {
            let cloth = cloth(3000.0);
            let ask = HoodAsk { cloth: &cloth, ..ask };
            let drafted = draft_hood(&ask);
            prop_assert!(drafted.is_ok(), "{:?}", drafted.err());
            let HoodDraft { draft, form, .. } = drafted.unwrap();
            let (front, gusset) = (&draft.pieces[0], &draft.pieces[1]);
            let seam = SEWING.seam_allowance;

            // The seam is as long on both, all round and from letter to letter.
            let (on_front, on_gusset) = (&front.sew_lines[0], &gusset.sew_lines[0]);
            prop_assert!((on_front.length() - on_gusset.length()).mm().abs() < 0.2);
            // Notches: D, A, B, C on the front; A, B, C and twice D on the gusset.
            let start = on_front.nearest(front.notches[0].at).0;
            let once = |part: f64| part.rem_euclid(1.0).min((-part).rem_euclid(1.0));
            for k in 0..3 {
                let at = on_front.nearest(front.notches[k + 1].at).0 - start;
                let on_front = once(at / on_front.length()) * on_front.length().mm();
                let at = on_gusset.nearest(gusset.notches[k].at).0;
                let on_gusset = once(at / on_gusset.length()) * on_gusset.length().mm();
                prop_assert!((on_front - on_gusset).abs() < 0.2, "{k}: {on_front} {on_gusset}");
            }
            // The gusset's ends are as long as one another.
            let [left, right] = [&gusset.sew_lines[1], &gusset.sew_lines[2]].map(Path::length);
            prop_assert!((left - right).mm().abs() < 1e-6);

            // The cut line stands off each sewn edge by its allowance and never crosses itself.
            for piece in &draft.pieces {
                prop_assert!(!piece.cut_line.crosses_itself());
                prop_assert!(piece.cut_line.area().mm2() > 0.0);
                for notch in &piece.notches {
                    prop_assert!(piece.cut_line.nearest(notch.at).1.mm() < 1e-3);
                    let tip = notch.at.toward(notch.inward, notch.depth);
                    prop_assert!(piece.cut_line.contains(tip));
                }
            }
            let stands_off = |cut: &Path<PieceFrame>, edge: &Path<PieceFrame>, by: Length| {
                let n = 60;
                (1..n).all(|k| {
                    let at = edge.at_length(edge.length() * (f64::from(k) / f64::from(n))).0;
                    (cut.nearest(at).1 - by).mm().abs() < 0.02
                })
            };
            prop_assert!(stands_off(&front.cut_line, on_front, seam));
            prop_assert!(stands_off(&gusset.cut_line, on_gusset, seam));
            for fold in &gusset.fold_lines {
                // Near the slot its bound edge is nearer than the casing's.
                let clear = ask.casing + mm(5.0);
                let part = fold.part(clear, fold.length() - clear);
                prop_assert!(stands_off(&gusset.cut_line, &part, ask.casing));
            }

            // The form is the pieces bent, not stretched.
            for part in &form.parts {
                for &[a, b, c] in &part.triangles {
                    for (p, q) in [(a, b), (b, c), (c, a)] {
                        let flat = part.flat[p].distance(part.flat[q]);
                        let bent = part.space[p].distance(part.space[q]);
                        prop_assert!((flat - bent).mm().abs() < 1e-9);
                    }
                }
            }
        }

        #[test]
        fn a_mirrored_hood_has_mirrored_pieces(ask in hood_asks()) {
            let cloth = cloth(3000.0);
            let drafted = |side| draft_hood(&HoodAsk { side, cloth: &cloth, ..ask });
            let (left, right) =
                (drafted(MirrorSide::Left).unwrap(), drafted(MirrorSide::Right).unwrap());
            let image = |p: Point<PieceFrame>| Point::new(-p.x(), p.y());
            for (piece, twin) in left.draft.pieces.iter().zip(&right.draft.pieces) {
                let off = (piece.cut_line.area() - twin.cut_line.area()).mm2();
                prop_assert!(off.abs() < 1e-3, "both anticlockwise");
                for v in piece.cut_line.vertices() {
                    prop_assert!(twin.cut_line.nearest(image(v.point)).1.mm() < 1e-6);
                }
                for notch in &piece.notches {
                    let twin_of = |n: &&Notch| n.at.distance(image(notch.at)).mm() < 1e-6;
                    let found = twin.notches.iter().find(twin_of).unwrap();
                    let tip = notch.at.toward(notch.inward, notch.depth);
                    let twin_tip = found.at.toward(found.inward, found.depth);
                    prop_assert!(twin_tip.distance(image(tip)).mm() < 1e-6);
                }
            }
        }
    }
}
