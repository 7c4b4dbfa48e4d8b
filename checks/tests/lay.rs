//! Lays of the public sets, judged by another program's collision engine.
//!
//! Sets: EURO ESICUP by way of github Oscar-Oliveira/OR-Datasets (MIT), see `data/lay/README.md`.
//! Judge: crate jagua-rs 1.1 (MPL-2.0), a single-precision engine that shares nothing with ours. It
//! counts touching as collision and rounds to about 0.004 at 40 000, so each piece is drawn in by
//! [`DRAWN_IN`] of the roll's width first: 0.3 mm on 1500 mm cloth, less than a cutter follows.
//! Floors: what our first form reached with this small effort, less 0.01 to 0.02, so that a worse search
//! fails; they claim nothing. Published uses, 1200 s, 3 threads, mean of 50 (Gardeyn, Vanden Berghe,
//! Wauters, arXiv:2509.13329): swim 0.783, shirts 0.897, trousers 0.918, albano 0.895, fu 0.923. The
//! same method with 25 CPU seconds reached 40.5 m on workshop1, left-bottom filling with that engine
//! 43 to 44.8 m, and 5002 mm on exactfit1, whose least length is 4000 mm.

#![allow(clippy::unwrap_used, clippy::print_stdout)] // Helpers of tests are tests.

#[path = "../../crates/lay/examples/lay_set/shapes_file.rs"]
mod shapes_file;

use std::sync::Arc;

use geometry::{Length, Piece, Placement, Point, Roll};
use jagua_rs::collision_detection::CDEConfig;
use jagua_rs::collision_detection::hazards::filter::NoFilter;
use jagua_rs::entities::{Container, Item, Layout};
use jagua_rs::geometry::fail_fast::SPSurrogateConfig;
use jagua_rs::geometry::geo_enums::RotationRange;
use jagua_rs::geometry::primitives::{self, Rect, SPolygon};
use jagua_rs::geometry::shape_modification::{ShapeModifyConfig, ShapeModifyMode};
use jagua_rs::geometry::{AllowedOrientations, DTransformation, OriginalShape};
use lay::{Ask, Effort, Lay, lay, verify};

/// How far each piece is drawn in for the judge, as a share of the roll's width.
const DRAWN_IN: f64 = 2e-4;

fn read(set: &str) -> Ask {
    let path = format!("{}/data/lay/{set}.json", env!("CARGO_MANIFEST_DIR"));
    shapes_file::read(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn laid(ask: &Ask, rounds: usize) -> Lay {
    lay(ask, &Effort { seed: 1, rounds, keep_going: &|| true, progress: &|_| () }).unwrap()
}

/// Whether the other engine finds every piece on the cloth and clear of the rest.
fn judge_finds_clear(ask: &Ask, lay: &Lay) -> bool {
    let margin = DRAWN_IN * ask.width.mm();
    let none = ShapeModifyConfig::default();
    let config = CDEConfig {
        quadtree_depth: 6,
        cd_threshold: 16,
        item_surrogate_config: SPSurrogateConfig::none(),
    };
    let original = |shape: SPolygon, offset: f32| OriginalShape {
        shape,
        pre_transform: DTransformation::empty(),
        modify_mode: ShapeModifyMode::Deflate,
        modify_config: ShapeModifyConfig { offset: (offset > 0.0).then_some(offset), ..none },
    };
    let cloth = Rect::try_new(0.0, 0.0, lay.length.mm() as f32, ask.width.mm() as f32).unwrap();
    let container = Container::new(original(cloth.into(), 0.0), vec![], config).unwrap();
    let mut layout = Layout::new(container);
    lay.places.iter().enumerate().all(|(i, place)| {
        let shape = ask.shapes.iter().find(|s| s.name == place.name).unwrap();
        let placement = Placement::<Piece, Roll>::new(place.turn, place.at);
        let corner = |p: &Point<Piece>| {
            let [x, y] = placement.apply(*p).mm();
            primitives::Point(x as f32, y as f32)
        };
        let outline = SPolygon::new(shape.outline.iter().map(corner).collect()).unwrap();
        let turns = AllowedOrientations::new(RotationRange::None, vec![]).unwrap();
        let surrogate = config.item_surrogate_config;
        let drawn_in = original(outline, margin as f32);
        let item = Arc::new(Item::new(i, i as u64, drawn_in, turns, None, surrogate).unwrap());
        let clear = !layout.cde().detect_poly_collision(item.shape_cd(), &NoFilter);
        layout.place_item(&item, DTransformation::empty());
        clear
    })
}

/// Lays a set in `rounds` rounds and checks it twice; its use must be above `floor`.
fn check(set: &str, rounds: usize, floor: f64) {
    for gap in [0.0, 0.01] {
        let ask = read(set);
        let ask = Ask { gap: ask.width * gap, ..ask };
        let lay = laid(&ask, rounds);
        assert_eq!(verify(&ask, &lay), Ok(()));
        assert!(judge_finds_clear(&ask, &lay), "{set}: the other engine sees a collision");
        println!("{set}, gap {:.1}: length {:.1} use {:.4}", ask.gap, lay.length, lay.use_);
        if gap == 0.0 {
            assert!(lay.use_ > floor, "{set}: use {} is not above {floor}", lay.use_);
        }
    }
}

#[test]
fn swim_is_laid() {
    check("swim", 8, 0.60);
}

#[test]
fn shirts_are_laid() {
    check("shirts", 8, 0.83);
}

#[test]
fn trousers_are_laid() {
    check("trousers", 8, 0.86);
}

#[test]
fn albano_is_laid() {
    check("albano", 50, 0.80);
}

#[test]
fn fu_is_laid() {
    check("fu", 50, 0.83);
}

#[test]
fn a_workshops_run_is_laid_below_43_m() {
    check("workshop1", 2, 0.90);
    let lay = laid(&read("workshop1"), 1);
    assert!(lay.length < Length::from_mm(43_000.0), "{}", lay.length);
}

#[test]
fn pieces_that_fit_exactly_leave_no_cloth() {
    let lay = laid(&read("exactfit1"), 1);
    assert!((lay.length.mm() - 4000.0).abs() < 1e-6, "{}", lay.length);
}

#[test]
fn the_judge_sees_a_piece_moved_onto_another() {
    let ask = read("exactfit1");
    let mut lay = laid(&ask, 1);
    assert!(judge_finds_clear(&ask, &lay));
    let at = &mut lay.places[20].at;
    *at = at.moved(Length::from_mm(2.0), Length::ZERO);
    assert!(!judge_finds_clear(&ask, &lay));
}
