//! The chain from an order to everything that leaves the workshop, as values:
//! `readings → outline → grips → pieces → lay → files`.
//!
//! What the order does not state is taken from named defaults, and every such choice is listed in
//! [`Made::assumed`]: nothing is guessed silently. Nothing here touches the disk; see
//! [`write_folder`](crate::write_folder).

use std::collections::BTreeSet;
use std::mem::take;

use drafting::{
    ArmOpening, ArmSlot, BladeSection, CameraBulge, ClosedEnd, Closure, Cloth, DoubleBend, Draft,
    DraftError, EdgeFinish, FlatPane, Form, HoodAsk, HoodDraft, MirrorSide, PanelAsk, Piece,
    Sewing, Shrinkage, SleeveAsk, SleeveDraft, StrapAsk, StrapPlace, bound_length, draft_hood,
    draft_panel, draft_sleeve, draft_strap, flatten_pane,
};
use geometry::{Angle, Length, Outline, Pane, Path, Placement, Point};
use hold::{Caution, CautionKind, CoverSide, GripPlan, HoldError, StrapTo};
use lay::{Ask, Effort, Lay, LayError, Shape};
use survey::{
    Blade, Corner, Edge, Family, Flank, GlassBook, Half, Hood, HoodSide, JudgeError, Judgement,
    NamedCorners, PaneReadings, Policy, ReadingName, Span, Steering, Unit, Verdict, Voice, judge,
};
use thiserror::Error;

use crate::beside::Beside;
use crate::cover::{CoverChoices, CoverKind, CoverWishes, LayerChoices};
use crate::held::{HoldSearch, PaneHold, PaneToHold, cautions_of};
use crate::hold_wishes::MagnetEntry;
use crate::materials::Materials;
use crate::order::{Order, SleeveWishes};

/// Usable width of cloth where the order states none. Common practice, no source.
pub const CLOTH_WIDTH: Length = Length::from_mm(1500.0);
/// Name of the cloth where the order states none.
pub const CLOTH: &str = "cover cloth";
/// Thickness of glass where it was not read. Common practice, no source: laminated screens are about
/// 6 mm.
pub const GLASS: Length = Length::from_mm(6.0);
/// Magnets where the order states none. Common practice, no source.
pub const MAGNET: &str = "disc:20x3:N35";
/// Gap left between pieces on the cloth: room for the knife. Common practice, no source.
pub const KNIFE_GAP: Length = Length::from_mm(3.0);
/// From the finished edge to the rim of a magnet: the fold and a thread. Chosen by us.
const RIM: Length = Length::from_mm(3.0);
/// By how much a sleeve is longer inside than its blade. Common practice, no source.
const SLEEVE_EASE: Length = Length::from_mm(40.0);
/// By how much the way round a sleeve is longer than that round blade and arm. Common practice, no
/// source.
const SLEEVE_ROUND: Length = Length::from_mm(40.0);
/// Blade and arm, cut across where they are thickest. Common practice, no source.
const SECTION: BladeSection =
    BladeSection { width: Length::from_mm(40.0), height: Length::from_mm(50.0) };
/// How far a sleeve closes over itself, and the tape it closes with. Common practice, no source.
const SLEEVE_OVERLAP: Length = Length::from_mm(30.0);
const SLEEVE_TAPE: Length = Length::from_mm(20.0);
/// Width of the opening for a blade's arm. Common practice, no source.
const SLEEVE_ARM: Length = Length::from_mm(40.0);
/// Room a hood leaves round its housing and in front of it. Common practice, no source.
const HOOD_ROOM: Length = Length::from_mm(6.0);
/// By how much a hood's front is narrower than the rim on each side. Chosen by us: housings are
/// rounded in front, and cloth that leans in lies closer.
const HOOD_DRAW_IN: Length = Length::from_mm(20.0);
/// How far a hood reaches behind the rim, to be drawn in there. Common practice, no source.
const HOOD_REACH: Length = Length::from_mm(30.0);
/// Radius of a housing's corners. Common practice, no source.
const HOOD_RADIUS: Length = Length::from_mm(60.0);
/// Most of a housing's width its corners may round off; a narrow one has tighter corners. Chosen by
/// us, so that a straight side is left for the arm.
const HOOD_ROUNDED: f64 = 0.25;
/// How far a camera stands out from its housing, and the part of the height it may sit on. Common
/// practice, no source.
const CAMERA: CameraBulge = CameraBulge { stands_out: Length::from_mm(45.0), between: [0.2, 0.8] };
/// Where an arm comes out. Common practice, no source.
const ARM: ArmSlot =
    ArmSlot { width: Length::from_mm(60.0), depth: Length::from_mm(70.0), up: 0.5 };
/// Most of a hood's depth that the slot takes. Chosen by us: cloth is left in front of it.
const ARM_DEPTH: f64 = 0.5;
/// Cloth turned in for a hood's drawcord. Common practice, no source.
const HOOD_CASING: Length = Length::from_mm(25.0);
/// How far to either side of a driver's line of sight no seam of an inside cover runs. Chosen by us: the
/// breadth of a head, and as much again for how they sit.
const SIGHT: Length = Length::from_mm(150.0);
/// Width of a strap, and how much of it is sewn to the cover. Common practice, no source.
const STRAP_WIDTH: Length = Length::from_mm(25.0);
const STRAP_SEWN_ON: Length = Length::from_mm(50.0);
/// By how much cloth gathers or stretches without a crease where the order doesn't say. Common practice with
/// woven cover cloth, no source.
const GIVES: f64 = 0.01;
/// How far stitches run from a cut edge where the order says nothing. Common practice, no source.
pub const STITCH: Length = Length::from_mm(5.0);
/// Pieces are laid as polygons this near their curves.
const LAID_WITHIN: Length = Length::from_mm(0.05);

/// Why an order cannot be carried through.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum MakeError {
    /// Its readings give no outline.
    #[error(transparent)]
    Judge(#[from] JudgeError),
    /// Its magnets cannot be reckoned with.
    #[error("pane `{pane}`: {fault}")]
    Hold {
        /// The pane.
        pane: String,
        /// Why.
        fault: HoldError,
    },
    /// A piece cannot be drafted.
    #[error("{item}: {fault}")]
    Draft {
        /// The pane, blade or mirror.
        item: String,
        /// Why.
        fault: DraftError,
    },
    /// The pieces cannot be laid.
    #[error(transparent)]
    Lay(#[from] LayError),
    /// A piece or pane was asked for that the order does not make.
    #[error("nothing is made that is called `{name}`; choose from: {}", .known.join(", "))]
    NoSuchPiece {
        /// What was asked for.
        name: String,
        /// Pieces there are, and panes they are for.
        known: Vec<String>,
    },
    /// There is nothing to lay.
    #[error("no order has a pane that can be cut; settle its questions first")]
    Nothing,
}

/// One pane carried through.
#[derive(Clone, Debug)]
pub struct DraftedPane {
    /// What its readings are worth.
    pub judgement: Judgement,
    /// Where its grips go, and where none can.
    pub plan: GripPlan,
    /// What holds it, in what wind.
    pub hold: PaneHold,
    /// Its pieces; `None` when no cover can be cut from these readings.
    pub draft: Option<Draft>,
}

/// A whole order carried through.
#[derive(Clone, Debug)]
pub struct Made {
    /// Its panes, in the order's order.
    pub panes: Vec<DraftedPane>,
    /// What is said beside its panes' doubts.
    pub beside: Beside,
    /// Sleeves for its blades.
    pub sleeves: Vec<Draft>,
    /// Hoods for its mirrors.
    pub hoods: Vec<Draft>,
    /// The finished form of each sleeve, in the same order.
    pub sleeve_forms: Vec<Form>,
    /// The finished form of each hood, in the same order.
    pub forms: Vec<Form>,
    /// What each piece is cut from, by the piece's name.
    pub cut_from: Vec<(String, Cloth)>,
    /// What it takes of cloth, thread and the rest.
    pub materials: Materials,
    /// What to beware of, with figures: of all its magnets in one parcel.
    pub cautions: Vec<Caution>,
    /// What was not stated and how it was filled in, in plain sentences.
    pub assumed: Vec<String>,
}

impl Made {
    /// Everything drafted.
    pub fn drafts(&self) -> impl Iterator<Item = &Draft> {
        let panels = self.panes.iter().filter_map(|pane| pane.draft.as_ref());
        panels.chain(&self.sleeves).chain(&self.hoods)
    }

    /// Every piece.
    pub fn pieces(&self) -> impl Iterator<Item = &Piece> {
        self.drafts().flat_map(|draft| &draft.pieces)
    }

    /// What a piece is cut from.
    #[must_use]
    pub fn cloth_of(&self, piece: &Piece) -> Option<&Cloth> {
        let of = self.cut_from.iter().find(|(name, _)| *name == piece.name);
        of.map(|(_, cloth)| cloth)
    }

    /// The same with only those pieces, named themselves or by the pane they are for.
    ///
    /// # Errors
    /// [`MakeError::NoSuchPiece`] when a name is nobody's.
    pub fn only(mut self, names: &[String]) -> Result<Self, MakeError> {
        let known: BTreeSet<&str> =
            self.pieces().flat_map(|piece| [piece.name.as_str(), &piece.pane]).collect();
        if let Some(name) = names.iter().find(|name| !known.contains(name.as_str())) {
            let known = known.into_iter().filter(|name| !name.is_empty()).map(str::to_owned);
            return Err(MakeError::NoSuchPiece { name: name.clone(), known: known.collect() });
        }
        let panels = self.panes.iter_mut().filter_map(|pane| pane.draft.as_mut());
        for draft in panels.chain(&mut self.sleeves).chain(&mut self.hoods) {
            let wanted = |piece: &Piece| names.contains(&piece.name) || names.contains(&piece.pane);
            let (pieces, figures) = (take(&mut draft.pieces), take(&mut draft.figures));
            (draft.pieces, draft.figures) =
                pieces.into_iter().zip(figures).filter(|(piece, _)| wanted(piece)).unzip();
        }
        Ok(self)
    }

    /// Whether all its readings are trusted.
    #[must_use]
    pub fn is_settled(&self) -> bool {
        let panes = self.panes.iter().all(|pane| pane.judgement.verdict == Verdict::Accept);
        panes && self.beside.is_settled()
    }
}

/// How an order's owner is spoken to about one of its panes.
#[must_use]
pub fn voice_of(order: &Order, pane: &PaneReadings) -> Voice {
    Voice::new(order.unit, graduation(order), &order.vehicle, pane)
}

/// The step to which lengths are shown.
pub(crate) fn graduation(order: &Order) -> Length {
    let usual = match order.unit {
        Unit::Inch => Length::from_inches(0.125),
        Unit::Centimetre | Unit::Millimetre => Length::from_mm(1.0),
    };
    order.graduation.unwrap_or(usual)
}

/// Judges every pane of an order.
///
/// # Errors
/// When a pane has no honest answer; see [`judge`].
pub fn judge_order(
    order: &Order,
    book: &GlassBook,
    policy: &Policy,
) -> Result<Vec<Judgement>, JudgeError> {
    let of = |pane: &PaneReadings| {
        let entry = book.find(&order.vehicle, pane);
        judge(&order.vehicle, pane, entry, &voice_of(order, pane), policy)
    };
    order.panes.iter().map(of).collect()
}

/// Carries an order through to its pieces.
///
/// # Errors
/// When a link of the chain has no honest answer; the message says which item and the way out.
pub fn make_order(
    order: &Order,
    book: &GlassBook,
    policy: &Policy,
    search: &HoldSearch<'_>,
) -> Result<Made, MakeError> {
    let mut assumed = Vec::new();
    let mut materials = Materials::default();
    let mut cut_from: Vec<(String, Cloth)> = Vec::new();
    let judgements = judge_order(order, book, policy)?;
    let beside = Beside::of(order, &judgements, policy);
    let mut panes = Vec::new();
    for (i, (readings, judgement)) in order.panes.iter().zip(judgements).enumerate() {
        let pane = &readings.name;
        let cover = order.cover_of(i);
        let hold = |fault| MakeError::Hold { pane: pane.clone(), fault };
        let wishes = order.hold_of(i);
        let magnets = magnets_of(order, &cover, &wishes.magnets, &mut assumed).map_err(hold)?;
        let what = format!("glass thickness of `{pane}`");
        let glass = stated(readings.glass, GLASS, &what, &mut assumed);
        let keep_outs = order.keep_outs.get(i).into_iter().flatten();
        let to_hold = PaneToHold {
            judgement: &judgement,
            cover: &cover,
            choices: wishes.choices().map_err(hold)?,
            magnets,
            straps: straps_of(order, pane),
            glass,
            forbidden: keep_outs
                .filter_map(|free| free.clear_of_magnets(&judgement.outline))
                .flatten()
                .collect(),
            clearance: cover.layers[0].inset + RIM,
        };
        let (plan, hold) = to_hold.hold(search).map_err(hold)?;
        if judgement.verdict != Verdict::Refuse {
            hold.assumed().for_each(|line| note(&mut assumed, line.clone()));
        }
        let draft = match judgement.verdict {
            Verdict::Refuse => None,
            _ => {
                let (draft, cloths, bound) =
                    cover_draft(order, i, &cover, &judgement, &plan, &mut assumed)?;
                materials.add(&draft, &cloths);
                let names = draft.pieces.iter().map(|piece| piece.name.clone());
                cut_from.extend(names.zip(cloths));
                materials.bind(bound);
                // A grip that would stand by something left free is not sewn in.
                let drills = draft.pieces.iter().flat_map(|piece| &piece.drill_points);
                let n_pairs = drills.filter(|drill| drill.diameter > Length::ZERO).count();
                materials.hold(&hold.magnet, n_pairs);
                materials.n_labels += 1;
                Some(draft)
            }
        };
        panes.push(DraftedPane { judgement, plan, hold, draft });
    }
    let cover = order.cover.choices(order.panes[0].family);
    let cloth = cloth_of(order, &cover.layers[0], &mut assumed);
    let sewing = sewing(&cover);
    let (mut sleeves, mut sleeve_forms) = (Vec::new(), Vec::new());
    for (i, blade) in order.blades.iter().enumerate() {
        let wishes = order.sleeves.get(i).copied().unwrap_or_default();
        let SleeveDraft { draft, form, bound } =
            sleeve(order, blade, wishes, &panes, (&cover, &cloth), &mut assumed)?;
        materials.bind(bound);
        sleeves.push(draft);
        sleeve_forms.push(form);
    }
    let (hoods, forms): (Vec<Draft>, Vec<Form>) = order
        .hoods
        .iter()
        .map(|mirror| {
            let HoodDraft { draft, form, .. } = hood(order, mirror, &cloth, sewing, &mut assumed)?;
            Ok((draft, form))
        })
        .collect::<Result<Vec<_>, MakeError>>()?
        .into_iter()
        .unzip();
    for draft in sleeves.iter().chain(&hoods) {
        let cloths = vec![cloth.clone(); draft.pieces.len()];
        materials.add(draft, &cloths);
        materials.n_labels += 1;
        cut_from.extend(draft.pieces.iter().map(|piece| piece.name.clone()).zip(cloths));
    }
    let cautions = all_cautions(&panes)?;
    Ok(Made {
        panes,
        beside,
        sleeves,
        sleeve_forms,
        hoods,
        forms,
        cut_from,
        materials,
        cautions,
        assumed,
    })
}

/// The magnets a pane may be held by, the one to be used first.
fn magnets_of(
    order: &Order,
    cover: &CoverChoices,
    wished: &[String],
    assumed: &mut Vec<String>,
) -> Result<Vec<MagnetEntry>, HoldError> {
    let known = |name: &str| match order.magnets.iter().find(|magnet| magnet.name == name) {
        Some(magnet) => Ok(magnet.clone()),
        None => MagnetEntry::alike(name),
    };
    let mut magnets: Vec<MagnetEntry> =
        wished.iter().map(|name| known(name)).collect::<Result<_, _>>()?;
    if magnets.is_empty() {
        magnets.extend(cover.magnet.as_deref().map(known).transpose()?);
    }
    if magnets.is_empty() && order.magnets.is_empty() {
        note(assumed, format!("magnets not stated: {MAGNET}, one outside and one inside"));
        magnets.push(MagnetEntry::alike(MAGNET)?);
    }
    // One was named or none: the rest of the list is what it is compared with.
    if magnets.len() < 2 {
        let others = order.magnets.iter().filter(|magnet| !magnets.contains(magnet));
        let others: Vec<MagnetEntry> = others.cloned().collect();
        magnets.extend(others);
    }
    Ok(magnets)
}

fn straps_of(order: &Order, pane: &str) -> Vec<(Corner, StrapTo)> {
    let of_pane = order.straps.iter().filter(|strap| strap.pane == pane);
    of_pane.map(|strap| (strap.corner, strap.to)).collect()
}

/// The cautions of all panes, each once: magnets are told as they lie in one parcel.
fn all_cautions(panes: &[DraftedPane]) -> Result<Vec<Caution>, MakeError> {
    let mut all: Vec<Caution> = Vec::new();
    let several = panes.iter().filter(|pane| !pane.hold.grips.is_empty()).count() > 1;
    for pane in panes.iter().filter(|pane| !pane.hold.grips.is_empty()) {
        let hold = &pane.hold;
        let alike = panes.iter().filter(|other| other.hold.magnet == hold.magnet);
        let n_pairs = Some(alike.map(|other| other.hold.grips.len()).sum());
        let rated = hold.wind().map(|wind| wind.gust);
        let name = &pane.judgement.name;
        let found = cautions_of(&hold.magnet, n_pairs, hold.side, rated)
            .map_err(|fault| MakeError::Hold { pane: name.clone(), fault })?;
        for mut caution in found {
            match caution.kind {
                CautionKind::Wind if hold.side == CoverSide::Inside => continue,
                CautionKind::Wind if several => {
                    caution.words = format!("{name}: {}", caution.words)
                }
                _ => {}
            }
            if !all.iter().any(|known| known.words == caution.words) {
                all.push(caution);
            }
        }
    }
    all.sort_by_key(|caution| caution.kind);
    Ok(all)
}

/// All layers of the cover of pane `i`, the cloth of each piece, and the length of their bound edges.
fn cover_draft(
    order: &Order,
    i: usize,
    cover: &CoverChoices,
    judgement: &Judgement,
    plan: &GripPlan,
    assumed: &mut Vec<String>,
) -> Result<(Draft, Vec<Cloth>, Length), MakeError> {
    let pane = &order.panes[i].name;
    let job = job_words(order, judgement);
    let fault = |fault| MakeError::Draft { item: format!("pane `{pane}`"), fault };
    let free = order.keep_outs.get(i).into_iter().flatten();
    let mut keep_outs: Vec<_> = free
        .map(|free| free.free(&judgement.outline, cover.tape))
        .collect::<Result<_, _>>()
        .map_err(fault)?;
    let mut grips = plan.grips.clone();
    // Of glass bent both ways the flat form is drafted; what is on the glass goes with it.
    let flat = laid_flat(&order.panes[i], &judgement.outline, assumed).map_err(fault)?;
    if let Some(flat) = &flat {
        for free in &mut keep_outs {
            free.shape = moved_with(flat, &free.shape);
        }
        for grip in &mut grips {
            grip.at = flat.place(grip.at);
        }
    }
    let outline = flat.as_ref().map_or(&judgement.outline, |flat| &flat.outline);
    let straps = strap_places(order, pane, outline);
    let seams_off = match cover.kind {
        CoverKind::Blackout => sight_lines(order, i, outline),
        CoverKind::Screen | CoverKind::Cover => Vec::new(),
    };
    let mut whole = Draft { pieces: Vec::new(), figures: Vec::new(), remarks: Vec::new() };
    let (mut cloths, mut bound) = (Vec::new(), Length::ZERO);
    for (k, layer) in cover.layers.iter().enumerate() {
        let cloth = cloth_of(order, layer, assumed);
        let ask = PanelAsk {
            pane,
            what: &layer.name,
            order: &job,
            count: 1,
            outline,
            inset: layer.inset,
            finishes: &finishes(layer, judgement),
            corners: cover.corners,
            // Magnets are sewn to the first layer.
            grips: if k == 0 { &grips } else { &[] },
            pockets: cover.pockets,
            keep_outs: &keep_outs,
            cloth: &cloth,
            sewing: sewing(cover),
            seam: cover.seam_type,
            seams_off: &seams_off,
            // Straps are sewn to the first layer too.
            straps: if k == 0 { &straps } else { &[] },
        };
        let draft = draft_panel(&ask).map_err(fault)?;
        bound += bound_length(&ask).map_err(fault)?;
        cloths.extend(vec![cloth.clone(); draft.pieces.len()]);
        whole.pieces.extend(draft.pieces);
        whole.figures.extend(draft.figures);
        whole.remarks.extend(draft.remarks);
        let gives = order.cloths.iter().find(|entry| entry.name == cloth.name);
        let gives = gives.and_then(|entry| entry.gives).unwrap_or(GIVES);
        let item = format!("{pane} {}", layer.name);
        whole.remarks.extend(flat.as_ref().and_then(|flat| flat.remark(&item, gives)));
    }
    let cloth = cloth_of(order, &cover.layers[0], assumed);
    for (corner, to) in straps_of(order, pane) {
        let length = strap_length(to);
        note(assumed, format!("strap to the {}: {length:.0} from the edge", spoken(to)));
        let strap = draft_strap(&StrapAsk {
            pane,
            name: &format!("{pane} strap, {corner} to the {}", spoken(to)),
            order: &job,
            count: 1,
            length,
            width: STRAP_WIDTH,
            sewn_on: STRAP_SEWN_ON,
            cloth: &cloth,
        })
        .map_err(fault)?;
        cloths.extend(vec![cloth.clone(); strap.pieces.len()]);
        whole.pieces.extend(strap.pieces);
        whole.figures.extend(strap.figures);
    }
    Ok((whole, cloths, bound))
}

/// Where straps are sewn to the cover of a pane.
fn strap_places(order: &Order, pane: &str, outline: &Outline) -> Vec<StrapPlace> {
    let corners: Vec<[f64; 2]> = outline.corners().iter().map(|p| p.mm()).collect();
    let names = NamedCorners::of(&corners);
    let place = |(corner, to): (Corner, StrapTo)| StrapPlace {
        corner: names.corner(corner),
        name: format!("strap to the {}", spoken(to)),
        width: STRAP_WIDTH,
        sewn_on: STRAP_SEWN_ON,
    };
    straps_of(order, pane).into_iter().map(place).collect()
}

fn spoken(to: StrapTo) -> String {
    to.to_string().replace('-', " ")
}

/// How far a strap reaches from the cover's edge, its loop included. Common practice, no source; what it is
/// tied with makes up the difference.
const fn strap_length(to: StrapTo) -> Length {
    match to {
        StrapTo::Door => Length::from_mm(300.0),
        StrapTo::MirrorArm => Length::from_mm(500.0),
        StrapTo::Wheel => Length::from_mm(1200.0),
    }
}

/// The flat form of a pane that is read to be bent from bottom to top too; `None` of any other.
fn laid_flat(
    pane: &PaneReadings,
    outline: &Outline,
    assumed: &mut Vec<String>,
) -> Result<Option<FlatPane>, DraftError> {
    let read = |span: Span| {
        let name = ReadingName::outside(span);
        let reading = pane.readings.iter().find(|reading| reading.name == name)?;
        let n = reading.taken.len() as f64;
        Some(reading.taken.iter().map(|take| take.length).sum::<Length>() / n)
    };
    let Some(up) = read(Span::BendUp).filter(|up| *up != Length::ZERO) else { return Ok(None) };
    let across = read(Span::Bend).unwrap_or_else(|| {
        note(assumed, format!("`bend` of `{}` not read: taken to be straight across", pane.name));
        Length::ZERO
    });
    flatten_pane(&pane.name, outline, DoubleBend { across, up }).map(Some)
}

/// A path moved as its middle is when its glass is laid flat.
fn moved_with(flat: &FlatPane, path: &Path<Pane>) -> Path<Pane> {
    let Some(bounds) = path.bounds() else { return path.clone() };
    let middle = bounds.min.midpoint(bounds.max);
    let to = flat.place(middle);
    path.placed(&Placement::new(Angle::ZERO, Point::new(to.x() - middle.x(), to.y() - middle.y())))
}

/// From where to where across pane `i` its driver looks, so that no seam of an inside cover runs there: before
/// a seat in the middle of their half of the screen, or of their own window. Where it is not known on which side
/// the driver sits, both halves count.
fn sight_lines(order: &Order, i: usize, outline: &Outline) -> Vec<[Length; 2]> {
    let pane = &order.panes[i];
    let Some(bounds) = outline.path().bounds() else { return Vec::new() };
    let before =
        |part: f64| [-SIGHT, SIGHT].map(|aside| bounds.min.x() + bounds.width() * part + aside);
    // Who sits on the right inside is seen on the left from outside.
    let on_left = order.vehicle.steering.map(|steering| steering == Steering::Right);
    match pane.family {
        Family::Windscreen => match on_left {
            Some(true) => vec![before(0.25)],
            Some(false) => vec![before(0.75)],
            None => vec![before(0.25), before(0.75)],
        },
        Family::HalfScreen => match (pane.half, on_left) {
            (Some(half), Some(on_left)) if (half == Half::Left) != on_left => Vec::new(),
            _ => vec![before(0.5)],
        },
        Family::CabSide | Family::Door => match pane.flank {
            Some(Flank::Passenger) => Vec::new(),
            _ => vec![before(0.5)],
        },
        Family::Side | Family::Rear => Vec::new(),
    }
}

fn sewing(cover: &CoverChoices) -> Sewing {
    Sewing { seam_allowance: cover.seam, stitch_from_edge: STITCH, notch_depth: STITCH }
}

/// The cloth of a layer: as the order describes it, or plain and of the width stated with it.
fn cloth_of(order: &Order, layer: &LayerChoices, assumed: &mut Vec<String>) -> Cloth {
    let name = layer.cloth.as_deref().unwrap_or(CLOTH);
    let entry = order.cloths.iter().find(|cloth| cloth.name == name);
    if let Some(entry) = entry {
        return entry.cloth(layer.cloth_width.unwrap_or(entry.width));
    }
    let usable_width = layer.cloth_width.unwrap_or_else(|| {
        let what = if layer.cloth.is_some() { name } else { "the cloth" };
        note(assumed, format!("usable width of {what} not stated: {CLOTH_WIDTH:.0}"));
        CLOTH_WIDTH
    });
    Cloth {
        name: name.to_owned(),
        usable_width,
        half_turn: true,
        print: None,
        shrinkage: Shrinkage::default(),
    }
}

/// Adds a line that is not there yet.
fn note(assumed: &mut Vec<String>, line: String) {
    if !assumed.contains(&line) {
        assumed.push(line);
    }
}

/// What is written on a piece about its order: an unsettled one must not be cut by mistake.
fn job_words(order: &Order, judgement: &Judgement) -> String {
    match judgement.verdict {
        Verdict::Accept => order.reference.clone(),
        _ => format!("{}, not settled: do not cut", order.reference),
    }
}

fn stated(value: Option<Length>, usual: Length, what: &str, assumed: &mut Vec<String>) -> Length {
    value.unwrap_or_else(|| {
        assumed.push(format!("{what} not stated: {usual:.0}"));
        usual
    })
}

/// Finish of each side of the outline: that of the named edge it belongs to.
fn finishes(layer: &LayerChoices, judgement: &Judgement) -> Vec<EdgeFinish> {
    let corners: Vec<[f64; 2]> = judgement.outline.corners().iter().map(|p| p.mm()).collect();
    let names = NamedCorners::of(&corners);
    let n = corners.len();
    let runs_along = |side: usize, edge: Edge| {
        let (from, to) = names.edge(edge);
        (side + n - from) % n < (to + n - from) % n
    };
    (0..n)
        .map(|side| {
            let edge = Edge::ALL.iter().copied().find(|&edge| runs_along(side, edge));
            layer.finish(edge.unwrap_or(Edge::Base))
        })
        .collect()
}

/// The longest straight line on the glass of the first pane, which the blades wipe.
fn longest_on(panes: &[DraftedPane]) -> Length {
    let edge = panes
        .first()
        .map_or(Vec::new(), |pane| pane.judgement.outline.path().flatten(Length::from_mm(1.0)));
    let apart = |a: &Point<geometry::Pane>| {
        edge.iter().map(|b| a.distance(*b)).fold(Length::ZERO, Length::max)
    };
    edge.iter().map(apart).fold(Length::ZERO, Length::max)
}

fn sleeve(
    order: &Order,
    blade: &Blade,
    wishes: SleeveWishes,
    panes: &[DraftedPane],
    (cover, cloth): (&CoverChoices, &Cloth),
    assumed: &mut Vec<String>,
) -> Result<SleeveDraft, MakeError> {
    let name = &blade.name;
    let section = wishes.section.unwrap_or(SECTION);
    if wishes.section.is_none() {
        assumed.push(format!(
            "section of `{name}` not stated: blade and arm {:.0} along the glass and {:.0} off it",
            section.width, section.height
        ));
    }
    let from_left = wishes.arm.unwrap_or_else(|| {
        assumed.push(format!("arm of `{name}` not stated: at the blade's middle"));
        blade.length.length / 2.0
    });
    let closed = wishes.closed.unwrap_or_else(|| {
        assumed.push(format!("closed end of the sleeve of `{name}` not stated: the left one"));
        ClosedEnd::Left
    });
    note(
        assumed,
        format!(
            "blade sleeves: {SLEEVE_EASE:.0} longer than the blade, {SLEEVE_ROUND:.0} of ease round it, \
             overlapping by {SLEEVE_OVERLAP:.0}, arm opening {SLEEVE_ARM:.0} wide"
        ),
    );
    // A sleeve's edges are turned in as the cover's base is, but no wider than usual: they are short.
    let hem = match cover.layers[0].finish(Edge::Base).reach() {
        Length::ZERO => CoverWishes::HEM,
        hem => hem.min(CoverWishes::HEM),
    };
    let ask = SleeveAsk {
        blade: &blade.name,
        pane: order.panes.first().map_or("", |pane| &pane.name),
        order: &order.reference,
        count: 1,
        blade_length: blade.length.length,
        glass: longest_on(panes),
        section,
        ease_along: SLEEVE_EASE,
        ease_around: SLEEVE_ROUND,
        overlap: SLEEVE_OVERLAP,
        tape: SLEEVE_TAPE,
        // A slim blade has a slim arm.
        arm: ArmOpening { from_left, width: SLEEVE_ARM.min(section.width) },
        closed,
        hem,
        cloth,
        sewing: sewing(cover),
    };
    draft_sleeve(&ask)
        .map_err(|fault| MakeError::Draft { item: format!("blade `{}`", blade.name), fault })
}

/// Which mirror a hood is for: as the order says, else as its name does, else the left one.
fn side_of(mirror: &Hood, assumed: &mut Vec<String>) -> MirrorSide {
    let named = |word: &str| mirror.name.to_lowercase().split_whitespace().any(|w| w == word);
    match (mirror.side, named("left"), named("right")) {
        (Some(HoodSide::Left), ..) | (None, true, false) => MirrorSide::Left,
        (Some(HoodSide::Right), ..) | (None, false, true) => MirrorSide::Right,
        (None, ..) => {
            assumed.push(format!(
                "side of `{}` not stated: left as seen facing the vehicle",
                mirror.name
            ));
            MirrorSide::Left
        }
    }
}

fn hood(
    order: &Order,
    mirror: &Hood,
    cloth: &Cloth,
    sewing: Sewing,
    assumed: &mut Vec<String>,
) -> Result<HoodDraft, MakeError> {
    let camera = mirror.camera.then_some(CAMERA);
    let body = mirror.width.length - camera.map_or(Length::ZERO, |camera| camera.stands_out);
    let corner_radius = HOOD_RADIUS.min(body * HOOD_ROUNDED);
    let arm = ArmSlot { depth: ARM.depth.min(mirror.depth.length * ARM_DEPTH), ..ARM };
    let ask = HoodAsk {
        mirror: &mirror.name,
        order: &order.reference,
        count: 1,
        side: side_of(mirror, assumed),
        height: mirror.height.length,
        width: mirror.width.length,
        depth: mirror.depth.length,
        camera,
        corner_radius,
        room: HOOD_ROOM,
        draw_in: HOOD_DRAW_IN.min(mirror.depth.length * 0.1),
        reach: HOOD_REACH,
        arm,
        closure: Closure::Drawcord,
        casing: HOOD_CASING,
        cloth,
        sewing,
    };
    assumed.push(format!(
        "hood of `{}`: {:.0} room, corners rounded by {:.0}, front drawn in by {:.0}, {:.0} behind \
         the rim; arm slot {:.0} wide and {:.0} deep from the rim, at half height",
        mirror.name, ask.room, ask.corner_radius, ask.draw_in, ask.reach, arm.width, arm.depth,
    ));
    if let Some(CameraBulge { stands_out, between: [from, to] }) = camera {
        assumed.push(format!(
            "camera of `{}`: stands out by {stands_out:.0} on the side away from the vehicle, \
             between {:.0} % and {:.0} % of the height",
            mirror.name,
            from * 100.0,
            to * 100.0
        ));
    }
    draft_hood(&ask)
        .map_err(|fault| MakeError::Draft { item: format!("mirror `{}`", mirror.name), fault })
}

/// Pieces of one or several orders on one cloth.
#[derive(Clone, Debug)]
pub struct LaidPieces<'a> {
    /// The pieces, each under the name its places use.
    pub pieces: Vec<(String, &'a Piece)>,
    /// The cloth.
    pub cloth: Cloth,
    /// Where they lie.
    pub lay: Lay,
}

/// Lays the pieces of orders together, those of each cloth by themselves, in the order in which the cloths
/// are first needed.
///
/// `width` overrides the cloths' usable width, `gap` is kept between pieces.
///
/// # Errors
/// When there is nothing to lay, or the pieces do not fit their cloth.
pub fn lay_orders<'a>(
    made: &'a [(&Order, Made)],
    width: Option<Length>,
    gap: Length,
    effort: &Effort<'_>,
) -> Result<Vec<LaidPieces<'a>>, MakeError> {
    let several = made.len() > 1;
    let mut heaps: Vec<(Cloth, Vec<(String, &Piece)>)> = Vec::new();
    for (order, made) in made {
        for piece in made.pieces() {
            let mut cloth = made.cloth_of(piece).ok_or(MakeError::Nothing)?.clone();
            cloth.usable_width = width.unwrap_or(cloth.usable_width);
            let name = match several {
                true => format!("{} {}", order.reference, piece.name),
                false => piece.name.clone(),
            };
            match heaps.iter_mut().find(|(known, _)| *known == cloth) {
                Some((_, pieces)) => pieces.push((name, piece)),
                None => heaps.push((cloth, vec![(name, piece)])),
            }
        }
    }
    if heaps.is_empty() {
        return Err(MakeError::Nothing);
    }
    let laid = |(cloth, pieces): (Cloth, Vec<(String, &'a Piece)>)| {
        let shape = |(name, piece): &(String, &Piece)| Shape {
            name: name.clone(),
            count: piece.count as usize,
            turns: piece.turns.clone(),
            outline: piece.cut_line.flatten(LAID_WITHIN).into_iter().map(snapped).collect(),
        };
        let shapes = pieces.iter().map(shape).collect();
        let lay = lay::lay(&Ask { width: cloth.usable_width, gap, shapes }, effort)?;
        Ok(LaidPieces { pieces, cloth, lay })
    };
    heaps.into_iter().map(laid).collect()
}

/// Coordinates to a thousandth of a millimetre, so that a lay does not hang on rounding.
fn snapped(p: Point<geometry::Piece>) -> Point<geometry::Piece> {
    let round = |v: f64| (v * 1e3).round() / 1e3;
    Point::from_mm(round(p.x_mm()), round(p.y_mm()))
}
