//! Panes, cloth and choices for tests: invented, none of them a real vehicle's.

use std::f64::consts::TAU;

use geometry::{Length, Outline, Point};
use proptest::prelude::*;

use crate::{
    ArmOpening, ArmSlot, BladeSection, CameraBulge, ClosedEnd, Closure, Cloth, CornerStyle,
    Corners, EdgeFinish, HoodAsk, MirrorSide, PanelAsk, PocketStyle, SeamType, Sewing, Shrinkage,
    SleeveAsk,
};

pub(crate) fn mm(mm: f64) -> Length {
    Length::from_mm(mm)
}

/// A bowed windscreen, the same left and right.
pub(crate) fn windscreen() -> Outline {
    let corners = [(-1159.0, 20.0), (1159.0, 20.0), (1068.0, 1352.0), (-1068.0, 1352.0)];
    Outline::new(
        corners.map(|(x, y)| Point::from_mm(x, y)).to_vec(),
        [45.0, 12.0, 40.0, 12.0].map(mm).to_vec(),
        [90.0, 90.0, 70.0, 70.0].map(mm).to_vec(),
    )
    .unwrap()
}

/// Cloth of this usable width that may lie turned by half a turn.
pub(crate) fn cloth(usable_width: f64) -> Cloth {
    Cloth {
        name: "mesh".to_owned(),
        usable_width: mm(usable_width),
        half_turn: true,
        print: None,
        shrinkage: Shrinkage::default(),
    }
}

pub(crate) const SEWING: Sewing = Sewing {
    seam_allowance: Length::from_mm(15.0),
    stitch_from_edge: Length::from_mm(5.0),
    notch_depth: Length::from_mm(5.0),
};

pub(crate) fn ask<'a>(
    outline: &'a Outline,
    finishes: &'a [EdgeFinish],
    cloth: &'a Cloth,
) -> PanelAsk<'a> {
    PanelAsk {
        pane: "front",
        what: "panel",
        order: "H-0142",
        count: 1,
        outline,
        inset: mm(4.0),
        finishes,
        corners: Corners { style: CornerStyle::Mitred, turning: mm(10.0) },
        grips: &[],
        pockets: PocketStyle::Marked,
        keep_outs: &[],
        cloth,
        sewing: SEWING,
        seam: SeamType::Plain,
        seams_off: &[],
        straps: &[],
    }
}

/// Outlines of 3 to 8 corners round an ellipse, edges bowed either way, corners rounded.
pub(crate) fn outlines() -> impl Strategy<Value = Outline> {
    let corner = (-0.25..0.25, -0.03..0.06, 8.0..110.0);
    let size = (500.0..1200.0, 350.0..700.0);
    (size, prop::collection::vec(corner, 3..=8)).prop_filter_map(
        "these bows and radii close",
        |((across, up), corners)| {
            let n = corners.len() as f64;
            // The first corner is the lower left one.
            let angle = |(i, (jitter, ..)): (usize, &(f64, f64, f64))| {
                TAU * (0.625 + (i as f64 + jitter) / n)
            };
            let points: Vec<Point<_>> = corners
                .iter()
                .enumerate()
                .map(angle)
                .map(|a| Point::from_mm(across * a.cos(), up * (1.0 + a.sin())))
                .collect();
            let edge = |i: usize| points[i].distance(points[(i + 1) % points.len()]);
            let bows = corners.iter().enumerate().map(|(i, c)| edge(i) * c.1).collect();
            let radii = corners.iter().map(|c| mm(c.2)).collect();
            Outline::new(points.clone(), bows, radii).ok()
        },
    )
}

/// Hems turned in once, of these widths.
pub(crate) fn turned(widths: &[Length]) -> Vec<EdgeFinish> {
    widths.iter().map(|&width| EdgeFinish::Hem { width }).collect()
}

/// As many hems as an outline may have sides.
pub(crate) fn hems() -> impl Strategy<Value = Vec<Length>> {
    prop::collection::vec((15.0..45.0).prop_map(mm), 8)
}

/// A hood for a housing 17 1/2 × 10 1/4 × 7 inches, camera and all.
pub(crate) fn hood_ask(cloth: &Cloth) -> HoodAsk<'_> {
    HoodAsk {
        mirror: "left mirror",
        order: "H-0142",
        count: 1,
        side: MirrorSide::Left,
        height: mm(444.5),
        width: mm(260.35),
        depth: mm(177.8),
        camera: Some(CameraBulge { stands_out: mm(45.0), between: [0.2, 0.8] }),
        corner_radius: mm(60.0),
        room: mm(6.0),
        draw_in: mm(20.0),
        reach: mm(30.0),
        arm: ArmSlot { width: mm(60.0), depth: mm(70.0), up: 0.5 },
        closure: Closure::Drawcord,
        casing: mm(25.0),
        cloth,
        sewing: SEWING,
    }
}

/// Hoods of any housing, with and without camera, that can be sewn. Give them a cloth.
pub(crate) fn hood_asks() -> impl Strategy<Value = HoodAsk<'static>> {
    static CLOTH: std::sync::OnceLock<Cloth> = std::sync::OnceLock::new();
    let size = (250.0..700.0, 200.0..400.0, 80.0..350.0);
    let shape = (40.0..60.0, 0.0..15.0, 0.0..20.0, 0.0..60.0);
    let arm = (20.0..60.0, 0.05..0.5, 0.4..0.6);
    let camera = prop::option::of((5.0..50.0, 0.25..0.35, 0.65..0.75));
    (size, shape, arm, camera, 15.0..35.0).prop_map(|(size, shape, arm, camera, casing)| HoodAsk {
        height: mm(size.0),
        width: mm(size.1),
        depth: mm(size.2),
        corner_radius: mm(shape.0),
        room: mm(shape.1),
        draw_in: mm(shape.2),
        reach: mm(shape.3),
        arm: ArmSlot { width: mm(arm.0), depth: mm(arm.1 * size.2), up: arm.2 },
        camera: camera
            .map(|(out, from, to)| CameraBulge { stands_out: mm(out), between: [from, to] }),
        casing: mm(casing),
        ..hood_ask(CLOTH.get_or_init(|| self::cloth(3000.0)))
    })
}

/// A sleeve for a blade 32 inches long, its arm in the middle.
pub(crate) fn sleeve_ask(cloth: &Cloth) -> SleeveAsk<'_> {
    SleeveAsk {
        blade: "left blade",
        pane: "front",
        order: "H-0142",
        count: 1,
        blade_length: mm(812.8),
        glass: mm(2700.0),
        section: BladeSection { width: mm(40.0), height: mm(50.0) },
        ease_along: mm(20.0),
        ease_around: mm(40.0),
        overlap: mm(30.0),
        tape: mm(20.0),
        arm: ArmOpening { from_left: mm(406.4), width: mm(40.0) },
        closed: ClosedEnd::Left,
        hem: mm(25.0),
        cloth,
        sewing: SEWING,
    }
}

/// Sleeves of any blade and arm that can be sewn. Give them a cloth.
pub(crate) fn sleeve_asks() -> impl Strategy<Value = SleeveAsk<'static>> {
    static CLOTH: std::sync::OnceLock<Cloth> = std::sync::OnceLock::new();
    let section = (20.0..90.0, 25.0..120.0, 0.0..60.0);
    let along = (250.0..1200.0, 0.0..60.0, 0.3..0.7, 0.3..0.95);
    let closing = (15.0..30.0, 0.0..15.0, 15.0..28.0);
    (section, along, closing, any::<bool>()).prop_map(|(section, along, closing, left)| {
        let (width, height, around): (f64, f64, f64) = section;
        let (length, ease, up, part): (f64, f64, f64, f64) = along;
        let (tape, beyond, hem): (f64, f64, f64) = closing;
        let side = around / 4.0;
        let overlap = (tape + beyond).min(height / 2.0 + width + side);
        SleeveAsk {
            blade_length: mm(length),
            section: BladeSection { width: mm(width), height: mm(height) },
            ease_along: mm(ease),
            ease_around: mm(around),
            overlap: mm(overlap),
            tape: mm(tape.min(overlap)),
            arm: ArmOpening {
                from_left: mm(length * up),
                width: mm(part * (width + side).min(60.0)),
            },
            closed: if left { ClosedEnd::Left } else { ClosedEnd::Right },
            hem: mm(hem.min(height / 2.0 + overlap)),
            ..sleeve_ask(CLOTH.get_or_init(|| self::cloth(3000.0)))
        }
    })
}
