//! A hood sewn back: from the lines of its flat pieces alone, sewn as a sewer would, to the form.
//!
//! The front is laid flat at its height. The gusset's front edge is sewn to it, chord by chord from the
//! notches D on. Then the gusset is bent along the lines from each place of its front edge to the place of
//! the same number on its rear opening. Cloth keeps its angles: with c and c′ the directions of the
//! seam before and after a place, and a and b the flat angles between them and the bend, the bend's direction e
//! has e·c = −cos a, e·c′ = cos b and length 1, and hangs behind the front. Where the seam runs straight the
//! flat facet is carried along as it is. Last, the ends of the gusset must meet, and every length
//! across the cloth must be what it was flat.
//! Neither the form kept by the draft nor the unrolling is used for this; only the result is held against
//! the form.

use drafting::{
    ArmSlot, CameraBulge, Closure, Cloth, HoodAsk, MirrorSide, Notch, Piece, Sewing, Shrinkage,
    draft_hood,
};
use geometry::{Length, Path, Piece as PieceFrame, Point};
use nalgebra::Vector3;

type Place = Vector3<f64>;

fn mm(mm: f64) -> Length {
    Length::from_mm(mm)
}

/// Where each point of the gusset's rear opening comes to lie once sewn to the front, and how long the
/// lengths that had to be kept are off at most.
fn sew(
    front: &Piece,
    gusset: &Piece,
    front_z: f64,
    rear: &[Point<PieceFrame>],
) -> (Vec<Place>, f64) {
    let seam = &front.sew_lines[0];
    let edge: Vec<Point<PieceFrame>> =
        gusset.sew_lines[0].vertices().iter().map(|v| v.point).collect();
    let n = edge.len();
    assert_eq!(rear.len(), n);
    // The notch D of the front is its lowest; a mirrored gusset is sewn the other way round.
    let height = |notch: &&Notch| notch.at.y().mm();
    let lowest = front.notches.iter().min_by(|a, b| height(a).total_cmp(&height(b)));
    let notch = lowest.expect("the front has notches");
    let start = seam.nearest(notch.at).0;
    let gusset_runs_right = edge[n - 1].x() > edge[0].x();
    let direction = if gusset_runs_right { 1.0 } else { -1.0 };
    // The gusset's edge is drawn by chords; each of them spans the front's seam from one place to
    // the next.
    let mut along = Length::ZERO;
    let mut sewn: Vec<Place> = Vec::new();
    for k in 0..n {
        let at = |along: Length| seam.at_length(start + along * direction).0;
        if k > 0 {
            let chord = edge[k].distance(edge[k - 1]);
            let from = at(along);
            let (mut low, mut high) = (along, along + chord * 1.1);
            for _ in 0..60 {
                let middle = (low + high) / 2.0;
                if at(middle).distance(from) < chord { low = middle } else { high = middle }
            }
            along = low;
        }
        let [x, y] = at(along).mm();
        sewn.push(Place::new(x, y, front_z));
    }
    let closing = (seam.length() - along).abs();
    assert!(closing.mm() < 0.2, "the seam's lengths differ by {closing}");
    let cosine = |k: usize, other: usize| {
        let at = |a: Point<PieceFrame>, b: Point<PieceFrame>| {
            Place::new((b.x() - a.x()).mm(), (b.y() - a.y()).mm(), 0.0).normalize()
        };
        at(edge[k], edge[other]).dot(&at(edge[k], rear[k]))
    };
    let mut places: Vec<Option<Place>> = vec![None; n];
    for k in 1..n - 1 {
        let before = (sewn[k] - sewn[k - 1]).normalize();
        let after = (sewn[k + 1] - sewn[k]).normalize();
        let turn = before.cross(&after).norm();
        if turn < 1e-4 {
            continue;
        }
        // In the plane of the front: along the seam's mean direction, and square to it.
        let (sum, difference) = (before + after, after - before);
        let (first, second) = (-cosine(k, k - 1), cosine(k, k + 1));
        let along = (first + second) / sum.norm_squared();
        let inward = (second - first) / difference.norm_squared();
        let level = sum * along + difference * inward;
        let behind = -(1.0 - level.norm_squared()).max(0.0).sqrt();
        let bend = level + Place::new(0.0, 0.0, behind);
        places[k] = Some(sewn[k] + bend * rear[k].distance(edge[k]).mm());
    }
    // Along straight parts: the flat facet, carried by the seam and the nearest bend already made.
    let carried = |k: usize, by: usize, towards: usize, bent: Place| {
        let flat = |p: Point<PieceFrame>| {
            Place::new((p.x() - edge[by].x()).mm(), (p.y() - edge[by].y()).mm(), 0.0)
        };
        let frame = |x: Place, y: Place| {
            let x = x.normalize();
            (x, (y - x * y.dot(&x)).normalize())
        };
        let (fx, fy) = frame(flat(edge[towards]), flat(rear[by]));
        let (sx, sy) = frame(sewn[towards] - sewn[by], bent - sewn[by]);
        let p = flat(rear[k]);
        sewn[by] + sx * p.dot(&fx) + sy * p.dot(&fy)
    };
    let bends: Vec<Option<Place>> = places.clone();
    for k in 0..n {
        if bends[k].is_none() {
            let nearest = (0..n)
                .filter(|&j| bends[j].is_some())
                .min_by_key(|&j| j.abs_diff(k))
                .expect("some place bends");
            let towards = if nearest > k { nearest - 1 } else { nearest + 1 };
            places[k] = bends[nearest].map(|bent| carried(k, nearest, towards, bent));
        }
    }
    let places: Vec<Place> = places.into_iter().flatten().collect();
    assert_eq!(places.len(), n);
    let off = |flat: Length, space: f64| (flat.mm() - space).abs();
    let across = (1..n).flat_map(|k| {
        [
            off(rear[k].distance(rear[k - 1]), (places[k] - places[k - 1]).norm()),
            off(rear[k].distance(edge[k - 1]), (places[k] - sewn[k - 1]).norm()),
            off(rear[k - 1].distance(edge[k]), (places[k - 1] - sewn[k]).norm()),
        ]
    });
    let ends = (places[0] - places[n - 1]).norm();
    let worst = across.fold(ends, f64::max);
    (places, worst)
}

fn sewn_back(side: MirrorSide, camera: Option<CameraBulge>) {
    let cloth = Cloth {
        name: "mesh".to_owned(),
        usable_width: mm(1500.0),
        half_turn: true,
        print: None,
        shrinkage: Shrinkage::default(),
    };
    let ask = HoodAsk {
        mirror: "mirror",
        order: "H-0142",
        count: 1,
        side,
        height: mm(444.5),
        width: mm(260.35),
        depth: mm(177.8),
        camera,
        corner_radius: mm(60.0),
        room: mm(6.0),
        draw_in: mm(20.0),
        reach: mm(30.0),
        arm: ArmSlot { width: mm(60.0), depth: mm(70.0), up: 0.5 },
        closure: Closure::Drawcord,
        casing: mm(25.0),
        cloth: &cloth,
        sewing: Sewing {
            seam_allowance: mm(12.0),
            stitch_from_edge: mm(5.0),
            notch_depth: mm(5.0),
        },
    };
    let hood = draft_hood(&ask).expect("a hood");
    let [front, gusset] = &hood.draft.pieces[..] else { panic!("front and gusset") };
    let form = &hood.form.parts[1];
    let n = form.flat.len() / 2;
    // The rear opening is folded along the casing's fold; where the slot interrupts it the flat edge
    // runs straight on, so its points are those of the folds.
    let on_fold = |p: &Point<PieceFrame>| {
        gusset.fold_lines.iter().map(|fold: &Path<_>| fold.nearest(*p).1.mm()).fold(1e9, f64::min)
    };
    let rear: Vec<Point<PieceFrame>> = form.flat[..n].to_vec();
    assert!(rear.iter().filter(|p| on_fold(p) > 1e-6).count() <= 1, "all but the slot's middle");
    let (places, off) = sew(front, gusset, (ask.depth + ask.room).mm(), &rear);
    assert!(off < 0.05, "cloth would have to stretch by {off} mm");
    let worst = places
        .iter()
        .zip(&form.space[..n])
        .map(|(sewn, form)| (sewn - Place::from(form.mm())).norm())
        .fold(0.0, f64::max);
    assert!(worst < 1.0, "{worst} mm off the form");
    // The form itself is what three numbers say, not what the draft says.
    let [x, y, z] = [0, 1, 2].map(|axis| {
        let all = places.iter().map(|p| p[axis]);
        all.clone().fold(f64::MIN, f64::max) - all.fold(f64::MAX, f64::min)
    });
    let grown = 2.0 * (6.0 + 30.0 * 20.0 / 183.8);
    assert!((x - 260.35 - grown).abs() < 1.0, "{x}");
    assert!((y - 444.5 - grown).abs() < 1.0, "{y}");
    assert!(z < 1.0, "the rear opening lies in one plane, but spans {z}");
    let mean_z = places.iter().map(|p| p[2]).sum::<f64>() / places.len() as f64;
    assert!((mean_z + 30.0).abs() < 1.0, "{mean_z}");
}

const CAMERA: CameraBulge = CameraBulge { stands_out: Length::from_mm(45.0), between: [0.2, 0.8] };

#[test]
fn a_hood_sewn_back_from_its_flat_pieces_has_its_form() {
    sewn_back(MirrorSide::Left, None);
}

#[test]
fn a_hood_with_a_camera_sewn_back_has_its_form() {
    sewn_back(MirrorSide::Left, Some(CAMERA));
    sewn_back(MirrorSide::Right, Some(CAMERA));
}
