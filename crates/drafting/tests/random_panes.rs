//! Panels of 2,000 random panes of each family, drawn from what panes of each class and family look like.
//!
//! Everything is checked on the finished pieces against the glass edge and what was asked for: no line of the
//! draft is taken for granted.

use std::f64::consts::TAU;

use drafting::{
    Cloth, CornerStyle, Corners, Draft, DraftError, EdgeFinish, PanelAsk, Piece, PocketStyle,
    SeamType, Sewing, Shrinkage, draft_panel,
};
use geometry::{Angle, Area, Length, Outline, Pane, Path, Piece as PieceFrame, Placement, Point};
use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;
use survey::{Class, Family, PaneReadings, Prior, Vehicle};

const INSET: f64 = 4.0;
const SEWING: Sewing = Sewing {
    seam_allowance: Length::from_mm(12.0),
    stitch_from_edge: Length::from_mm(5.0),
    notch_depth: Length::from_mm(5.0),
};
/// How far lengths on two pieces that are sewn together may differ, mm.
const MATCH: f64 = 0.2;
/// Points of a line nearer than this are one, so that a seam beside hems that are all but equal is off by it.
const MERGED: f64 = 1e-4;
/// The same of mirrored pieces: where an edge can't be moved inwards by exactly the inset, it is by a micrometre
/// more or less, which a sharp corner shows several times over.
const MIRRORED: f64 = 0.02;

fn mm(mm: f64) -> Length {
    Length::from_mm(mm)
}

const CLASSES: [Class; 6] =
    [Class::Coach, Class::Camper, Class::Van, Class::Lorry, Class::Boat, Class::FarmCab];

/// A pane of that family and of a random class, as far from the usual one as panes are.
fn panes(family: Family) -> impl Strategy<Value = Outline> {
    // Within 3.4 standard deviations each.
    let pair = (0.003..1.0_f64, 0.0..1.0_f64);
    (prop::sample::select(&CLASSES[..]), prop::collection::vec(pair, 8)).prop_filter_map(
        "these numbers close",
        move |(class, pairs)| {
            let pane = PaneReadings::new("pane", family, Vec::new());
            let prior = Prior::of(&Vehicle::of_class(class), &pane, None);
            let n = 4 * prior.n_corners;
            // Box & Muller: two normal deviates from two uniform ones.
            let normal = pairs.iter().flat_map(|(u, v)| {
                let size = (-2.0 * u.ln()).sqrt();
                [size * (TAU * v).cos(), size * (TAU * v).sin()]
            });
            let normal = DVector::from_iterator(n, normal.take(n));
            let covariance = prior.covariance.view((0, 0), (n, n)).into_owned();
            let spread = (covariance + DMatrix::identity(n, n) * 1e-6).cholesky()?.l();
            let drawn = prior.mean.rows(0, n) + spread * normal;
            let (corners, rest) = drawn.as_slice().split_at(n / 2);
            let (bows, radii) = rest.split_at(n / 4);
            let corners = corners.chunks(2).map(|p| Point::from_mm(p[0], p[1])).collect();
            let bows = bows.iter().copied().map(mm).collect();
            let radii = radii.iter().map(|r| mm(r.max(0.0))).collect();
            Outline::new(corners, bows, radii).ok()
        },
    )
}

fn finishes() -> impl Strategy<Value = Vec<EdgeFinish>> {
    let finish = prop_oneof![
        3 => (15.0..40.0).prop_map(|w| EdgeFinish::Hem { width: mm(w) }),
        2 => (12.0..25.0, 6.0..12.0)
            .prop_map(|(w, t)| EdgeFinish::DoubleHem { width: mm(w), tuck: mm(t) }),
        1 => (15.0..30.0).prop_map(|w| EdgeFinish::Welded { width: mm(w) }),
        1 => (20.0..30.0).prop_map(|tape| EdgeFinish::Bound { tape: mm(tape) }),
        1 => Just(EdgeFinish::Raw),
    ];
    prop::collection::vec(finish, 4)
}

fn draft(
    outline: &Outline,
    finishes: &[EdgeFinish],
    style: CornerStyle,
    seam: SeamType,
    width: f64,
) -> Result<Draft, DraftError> {
    let cloth = Cloth {
        name: "mesh".to_owned(),
        usable_width: mm(width),
        half_turn: true,
        print: None,
        shrinkage: Shrinkage::default(),
    };
    draft_panel(&PanelAsk {
        pane: "pane",
        what: "panel",
        order: "H-0142",
        count: 1,
        outline,
        inset: mm(INSET),
        finishes,
        corners: Corners { style, turning: mm(10.0) },
        grips: &[],
        pockets: PocketStyle::Marked,
        keep_outs: &[],
        cloth: &cloth,
        sewing: SEWING,
        seam,
        seams_off: &[],
        straps: &[],
    })
}

/// What may rightly be refused of a random pane with random hems.
fn is_rightly_refused(fault: &DraftError) -> bool {
    matches!(
        fault,
        DraftError::Radius { .. }
            | DraftError::ShortSide { .. }
            | DraftError::HemTooWide { .. }
            | DraftError::HemOnCurve { .. }
            | DraftError::SeamBroken { .. }
            | DraftError::ClothNarrow { .. }
            | DraftError::Inset { .. }
    )
}

/// The cut line stands off each finished side by its allowance, and round its sewn line by that and how deep it
/// is sewn; nothing crosses itself.
fn check_allowances(
    piece: &Piece,
    outline: &Outline,
    finishes: &[EdgeFinish],
) -> Result<(), TestCaseError> {
    let same = Placement::<Pane, PieceFrame>::new(Angle::ZERO, Point::ORIGIN);
    let glass = outline.path().placed(&same);
    let widest = finishes.iter().map(|f| f.allowance()).fold(Length::ZERO, Length::max);
    for (k, (side, finish)) in outline.sides().iter().zip(finishes).enumerate() {
        let side = side.placed(&same);
        let n = outline.corners().len();
        // Where neither corner is near: its rounding, its neighbour's hem and this hem's own end.
        let mitre = |corner: usize| (outline.shape().fillets()[corner].turn() / 2.0).tan().abs();
        let clear = |corner: usize| {
            outline.radii()[corner] * 1.6 + (widest + mm(INSET)) * (2.5 + 1.2 * mitre(corner))
        };
        let (from, to) = (clear(k), side.length() - clear((k + 1) % n));
        if from >= to {
            continue;
        }
        for step in 0..=6 {
            let (on_glass, heading) = side.at_length(from + (to - from) * (f64::from(step) / 6.0));
            let inward = heading + Angle::from_degrees(90.0);
            let finished = on_glass.toward(inward, mm(INSET));
            if (glass.nearest(finished).1.mm() - INSET).abs() > 1e-6 {
                continue; // Another side is nearer: a sliver of a pane.
            }
            let off = piece.cut_line.nearest(finished).1;
            prop_assert!((off - finish.allowance()).mm().abs() < 1e-6, "side {k}: {off} cut");
            if let Some(depth) = finish.seam_depth(&SEWING) {
                let sewn = on_glass.toward(inward, mm(INSET) + depth);
                if (glass.nearest(sewn).1 - mm(INSET) - depth).mm().abs() > 1e-6 {
                    continue;
                }
                // Nor is it the neighbour's cut edge that is nearest, as it may be in a sharp corner.
                let others = (0..n).filter(|other| *other != k);
                let others =
                    others.map(|other| outline.sides()[other].placed(&same).nearest(sewn).1);
                let near = others.fold(mm(1e6), Length::min) - mm(INSET);
                if near <= depth + finish.allowance() {
                    continue;
                }
                let on_a_seam =
                    piece.sew_lines.iter().any(|line| line.nearest(sewn).1.mm() < MERGED);
                prop_assert!(on_a_seam, "side {k} is not sewn {depth} inside");
                let beyond = piece.cut_line.nearest(sewn).1 - depth - finish.allowance();
                prop_assert!(beyond.mm().abs() < 1e-6, "side {k}: {beyond} beyond its seam");
            }
        }
    }
    nothing_crosses_itself(piece)?;
    // The cut line encloses every line of the piece.
    for line in piece.sew_lines.iter().chain(&piece.fold_lines) {
        for k in 0..12 {
            let at = line.at_length(line.length() * (f64::from(k) / 12.0)).0;
            let off = piece.cut_line.nearest(at).1;
            let enclosed = piece.cut_line.contains(at) || off.mm() < 0.01;
            prop_assert!(enclosed, "a line runs {} mm outside the cut at {at:?}", off.mm());
        }
    }
    Ok(())
}

fn nothing_crosses_itself(piece: &Piece) -> Result<(), TestCaseError> {
    prop_assert!(piece.cut_line.area().mm2() > 0.0, "{} runs clockwise", piece.name);
    for line in [&piece.cut_line].into_iter().chain(&piece.sew_lines).chain(&piece.fold_lines) {
        prop_assert!(!line.crosses_itself(), "a line of {} crosses itself", piece.name);
    }
    Ok(())
}

/// Joined seams are of one length with their notches at one height, and the parts are the whole.
fn check_parts(parts: &Draft, whole: &Draft, seam: SeamType) -> Result<(), TestCaseError> {
    let finished = |draft: &Draft| -> Area { draft.figures.iter().map(|f| f.finished_area).sum() };
    prop_assert!((finished(parts) - finished(whole)).mm2().abs() < 0.05);
    for piece in &parts.pieces {
        nothing_crosses_itself(piece)?;
    }
    let n = parts.pieces.len();
    for (k, pair) in parts.pieces.windows(2).enumerate() {
        // Seams are the last lines sewn: the one on a part's left before the one on its right.
        let right = |lines: &[Path<PieceFrame>]| lines[lines.len() - 1].clone();
        let left =
            |lines: &[Path<PieceFrame>]| lines[lines.len() - if k + 2 < n { 2 } else { 1 }].clone();
        let (a, b) = (right(&pair[0].sew_lines), left(&pair[1].sew_lines));
        prop_assert!((a.length() - b.length()).mm().abs() < MATCH);
        let x = a.at_length(Length::ZERO).0.x();
        let [beyond_left, beyond_right] = seam.allowances(SEWING.seam_allowance);
        let along = |piece: &Piece, x: Length| -> Vec<f64> {
            let on = |at: &Point<PieceFrame>| (at.x() - x).abs().mm() < 1e-6;
            piece.notches.iter().map(|n| n.at).filter(on).map(|at| at.y().mm()).collect()
        };
        let (a, b) = (along(&pair[0], x + beyond_left), along(&pair[1], x - beyond_right));
        prop_assert_eq!(a.len(), 3);
        prop_assert_eq!(b.len(), 3);
        for (a, b) in a.iter().zip(&b) {
            prop_assert!((a - b).abs() < MATCH);
        }
    }
    Ok(())
}

/// The pieces of a mirrored pane are the mirrored pieces.
fn check_mirrored(draft: &Draft, image: &Draft) -> Result<(), TestCaseError> {
    prop_assert_eq!(draft.pieces.len(), image.pieces.len());
    for (piece, twin) in draft.pieces.iter().zip(image.pieces.iter().rev()) {
        let mirrored = piece.mirrored();
        for v in mirrored.cut_line.vertices() {
            let off = twin.cut_line.nearest(v.point).1.mm();
            prop_assert!(off < MIRRORED, "{off} mm off its mirror image");
        }
        let off = mirrored.cut_line.area().abs() - twin.cut_line.area();
        let most = twin.cut_line.length() * mm(MIRRORED);
        prop_assert!(off.mm2().abs() < most.mm2(), "{off:?}");
        prop_assert_eq!(mirrored.notches.len(), twin.notches.len());
        for notch in &mirrored.notches {
            let there = twin.notches.iter().any(|n| n.at.distance(notch.at).mm() < MIRRORED);
            prop_assert!(there, "no notch at {:?}", notch.at);
        }
    }
    Ok(())
}

fn check(
    outline: &Outline,
    finishes: &[EdgeFinish],
    style: CornerStyle,
    seam: SeamType,
    part: f64,
) -> Result<(), TestCaseError> {
    let whole = match draft(outline, finishes, style, SeamType::Plain, 9e3) {
        Err(fault) => {
            prop_assert!(is_rightly_refused(&fault), "{fault}");
            return Err(TestCaseError::reject("it can't be sewn so"));
        }
        Ok(whole) => whole,
    };
    check_allowances(&whole.pieces[0], outline, finishes)?;
    // Side k of the mirrored outline is side n − k of this one, for what side 0 is.
    let n = finishes.len();
    let swapped: Vec<EdgeFinish> = (0..n).map(|i| finishes[(n - i) % n]).collect();
    // On the verge of what can be sewn, rounding may decide otherwise.
    if let Ok(image) = draft(&outline.mirrored(), &swapped, style, SeamType::Plain, 9e3) {
        check_mirrored(&whole, &image)?;
    }
    // Cloth on which it goes neither way.
    let bounds = whole.pieces[0].cut_line.bounds().expect("a cut line has vertices");
    let narrow = bounds.width().min(bounds.height()).mm() * part;
    match draft(outline, finishes, style, seam, narrow) {
        Err(fault) => prop_assert!(is_rightly_refused(&fault), "{fault}"),
        Ok(parts) => {
            prop_assert!(parts.pieces.len() > 1);
            check_parts(&parts, &whole, seam)?;
        }
    }
    Ok(())
}

macro_rules! families {
    ($($name:ident: $family:expr),+ $(,)?) => {
        proptest! {
            #![proptest_config(ProptestConfig {
                cases: 2000, max_global_rejects: 20_000, failure_persistence: None,
                ..Default::default()
            })]
            $(
                #[test]
                fn $name(
                    outline in panes($family),
                    finishes in finishes(),
                    style in prop::sample::select(CornerStyle::ALL),
                    seam in prop::sample::select(SeamType::ALL),
                    part in 0.4..0.95,
                ) {
                    check(&outline, &finishes, style, seam, part)?;
                }
            )+
        }
    };
}

families! {
    windscreens_are_drafted_right: Family::Windscreen,
    half_screens_are_drafted_right: Family::HalfScreen,
    cab_windows_are_drafted_right: Family::CabSide,
    door_windows_are_drafted_right: Family::Door,
    side_panes_are_drafted_right: Family::Side,
    rear_panes_are_drafted_right: Family::Rear,
}
