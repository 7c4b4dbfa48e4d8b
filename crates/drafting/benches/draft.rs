//! How fast a windscreen's set is drafted: panel with grips, pockets and a sensor left free, two sleeves, two
//! hoods.
//!
//! `cargo bench -p drafting --bench draft`

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use drafting::{
    ArmOpening, ArmSlot, BladeSection, CameraBulge, ClosedEnd, Closure, Cloth, CornerStyle,
    Corners, EdgeFinish, Free, FreeFinish, HoodAsk, MirrorSide, PanelAsk, PocketStyle, SeamType,
    Sewing, Shrinkage, SleeveAsk, draft_hood, draft_panel, draft_sleeve,
};
use geometry::{Length, Outline, Path, Point};
use hold::{Force, Grip};

fn mm(mm: f64) -> Length {
    Length::from_mm(mm)
}

const SEWING: Sewing = Sewing {
    seam_allowance: Length::from_mm(12.0),
    stitch_from_edge: Length::from_mm(5.0),
    notch_depth: Length::from_mm(5.0),
};

/// An invented coach windscreen.
fn windscreen() -> Outline {
    let corners = [(-1159.0, 20.0), (1159.0, 20.0), (1068.0, 1352.0), (-1068.0, 1352.0)];
    Outline::new(
        corners.map(|(x, y)| Point::from_mm(x, y)).to_vec(),
        [45.0, 12.0, 40.0, 12.0].map(mm).to_vec(),
        [90.0, 90.0, 70.0, 70.0].map(mm).to_vec(),
    )
    .expect("a sound outline")
}

/// A grip every 300 mm or so, 20 mm inside the glass edge.
fn grips(outline: &Outline) -> Vec<Grip> {
    let edge = outline.path();
    let on_edge = (0..24).map(|k| edge.length() * ((f64::from(k) + 0.5) / 24.0));
    let grip = |(number, along): (u32, Length)| {
        let (at, heading) = edge.at_length(along);
        let inward = heading + geometry::Angle::from_degrees(90.0);
        Grip {
            number,
            at: at.toward(inward, mm(20.0)),
            along,
            depth: mm(20.0),
            diameter: mm(20.0),
            pull: Force::from_newtons(8.0),
        }
    };
    (1..).zip(on_edge).map(grip).collect()
}

/// Drafts everything and answers how many pieces it is.
fn draft_set(cloth: &Cloth) -> usize {
    let outline = windscreen();
    let grips = grips(&outline);
    let sensor = Free {
        name: "sensor".to_owned(),
        shape: Path::circle(Point::from_mm(0.0, 1250.0), mm(50.0)),
        clearance: mm(5.0),
        finish: FreeFinish::Faced { turning: mm(8.0), width: mm(30.0) },
        slit: false,
        magnets_off: mm(100.0),
    };
    let panel = draft_panel(&PanelAsk {
        pane: "front",
        what: "panel",
        order: "H-0142",
        count: 1,
        outline: &outline,
        inset: mm(4.0),
        finishes: &[EdgeFinish::Hem { width: mm(30.0) }; 4],
        corners: Corners { style: CornerStyle::Mitred, turning: mm(10.0) },
        grips: &grips,
        pockets: PocketStyle::Hem,
        keep_outs: &[sensor],
        cloth,
        sewing: SEWING,
        seam: SeamType::Plain,
        seams_off: &[],
        straps: &[],
    });
    let sleeve = |blade: &str, closed: ClosedEnd| {
        draft_sleeve(&SleeveAsk {
            blade,
            pane: "front",
            order: "H-0142",
            count: 1,
            blade_length: mm(812.8),
            glass: mm(2700.0),
            section: BladeSection { width: mm(40.0), height: mm(50.0) },
            ease_along: mm(40.0),
            ease_around: mm(40.0),
            overlap: mm(30.0),
            tape: mm(20.0),
            arm: ArmOpening { from_left: mm(406.4), width: mm(40.0) },
            closed,
            hem: mm(20.0),
            cloth,
            sewing: SEWING,
        })
    };
    let hood = |mirror: &str, side: MirrorSide| {
        draft_hood(&HoodAsk {
            mirror,
            order: "H-0142",
            count: 1,
            side,
            height: mm(444.5),
            width: mm(260.35),
            depth: mm(177.8),
            camera: Some(CameraBulge { stands_out: mm(45.0), between: [0.2, 0.8] }),
            corner_radius: mm(54.0),
            room: mm(6.0),
            draw_in: mm(18.0),
            reach: mm(30.0),
            arm: ArmSlot { width: mm(60.0), depth: mm(70.0), up: 0.5 },
            closure: Closure::Drawcord,
            casing: mm(25.0),
            cloth,
            sewing: SEWING,
        })
    };
    let n_of_panel = panel.expect("a panel").pieces.len();
    let sleeves = [sleeve("left blade", ClosedEnd::Left), sleeve("right blade", ClosedEnd::Right)];
    let hoods = [hood("left mirror", MirrorSide::Left), hood("right mirror", MirrorSide::Right)];
    let n_of_sleeves: usize =
        sleeves.into_iter().map(|s| s.expect("a sleeve").draft.pieces.len()).sum();
    let n_of_hoods: usize = hoods.into_iter().map(|h| h.expect("a hood").draft.pieces.len()).sum();
    n_of_panel + n_of_sleeves + n_of_hoods
}

fn benches(c: &mut Criterion) {
    for (what, width) in [("in one piece", 1500.0), ("in two parts", 1250.0)] {
        let cloth = Cloth {
            name: "mesh".to_owned(),
            usable_width: mm(width),
            half_turn: true,
            print: None,
            shrinkage: Shrinkage { warp: 0.005, weft: 0.0 },
        };
        c.bench_function(&format!("a windscreen set, its panel {what}"), |b| {
            b.iter(|| draft_set(black_box(&cloth)));
        });
    }
}

criterion_group!(all, benches);
criterion_main!(all);
