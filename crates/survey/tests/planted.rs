//! An outline drawn at random, read exactly, must come back; and what is done to the pane must be
//! done to the answer.

#![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]

use geometry::{Angle, Length, Outline, Pane, Placement, Point};
use proptest::prelude::*;
use survey::{
    Class, Family, PaneReadings, Policy, Prior, Reading, ReadingName, SMALL_PANE, Side, Span,
    Standing, TapeReading, Unit, Vehicle, Voice, judge_with,
};

fn mm(value: f64) -> Length {
    Length::from_mm(value)
}

/// Every outside reading of an outline.
fn read_all(outline: &Outline, family: Family) -> PaneReadings {
    let standing = [false, true]
        .map(|small| Standing::of(outline, small).unwrap())
        .into_iter()
        .find(|s| s.height() >= SMALL_PANE.mm())
        .unwrap_or_else(|| Standing::of(outline, true).unwrap());
    let readings = Span::all()
        .into_iter()
        .filter(|span| span.can_be_read(Side::Outside))
        .filter_map(|span| {
            let exact = mm(standing.read(span, None)?);
            let tape = TapeReading::showing(exact, Unit::Millimetre, mm(0.001));
            Some(Reading::once(ReadingName::outside(span), tape))
        })
        .collect();
    PaneReadings::new("pane", family, readings)
}

fn vehicle() -> Vehicle {
    Vehicle::of_class(Class::Coach)
}

/// Judges with a prior that says nothing, started from the class's usual pane.
fn recover(pane: &PaneReadings) -> Outline {
    let vehicle = vehicle();
    let prior = Prior::of(&vehicle, pane, None).flattened(mm(20_000.0));
    let voice = Voice::new(Unit::Millimetre, mm(1.0), &vehicle, pane);
    let policy = Policy { n_samples: 16, ..Policy::starting() };
    judge_with(&prior, pane, &voice, &policy).unwrap().outline
}

/// The outline moved so that its origin lies where the pane frame wants it.
fn framed(outline: &Outline) -> Outline {
    let standing = Standing::of(outline, false).unwrap();
    let small = standing.height() < SMALL_PANE.mm();
    let [x, y] = Standing::of(outline, small).unwrap().origin();
    outline.moved(mm(-x), mm(-y))
}

/// Largest distance between two outlines' edges, mm.
fn apart(a: &Outline, b: &Outline) -> f64 {
    let off = |a: &Outline, b: &Outline| {
        let path = b.path();
        a.path().flatten(mm(0.01)).into_iter().map(|p| path.nearest(p).1.mm()).fold(0.0, f64::max)
    };
    off(a, b).max(off(b, a))
}

fn family() -> impl Strategy<Value = Family> {
    prop::sample::select(Family::ALL.to_vec())
}

/// Panes with bows and radii of every sort the readings can tell apart: an edge must bow more than
/// its rounded ends stand in, or stay nearly straight, or its deepest place is not on the edge.
fn pane_outline() -> impl Strategy<Value = Outline> {
    let size = (600.0..2400.0_f64, 350.0..1500.0_f64);
    let corners = prop::collection::vec(-0.08..0.08_f64, 8);
    let bows = prop::collection::vec(0.008..0.04_f64, 4);
    let radii = prop::collection::vec(0.02..0.10_f64, 4);
    (size, corners, bows, radii).prop_filter_map("no pane", |((w, h), c, bows, radii)| {
        let at =
            |i: usize, x: f64, y: f64| Point::from_mm(w * (x + c[2 * i]), h * (y + c[2 * i + 1]));
        let corners = vec![at(0, -0.5, 0.0), at(1, 0.5, 0.0), at(2, 0.45, 1.0), at(3, -0.45, 1.0)];
        let side = |i: usize| if i.is_multiple_of(2) { w } else { h };
        let bows = (0..4).map(|i| mm(bows[i] * side(i))).collect();
        let radii = radii.iter().map(|r| mm(r * w.min(h))).collect();
        Outline::new(corners, bows, radii).ok()
    })
}

fn turned(outline: &Outline, degrees: f64) -> Outline {
    let turn = Placement::<Pane, Pane>::new(Angle::from_degrees(degrees), Point::ORIGIN);
    let corners = outline.corners().iter().map(|&p| turn.apply(p)).collect();
    Outline::new(corners, outline.bows().to_vec(), outline.radii().to_vec()).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 100,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn a_planted_outline_comes_back(truth in pane_outline(), family in family()) {
        let found = recover(&read_all(&truth, family));
        let off = apart(&found, &framed(&truth));
        prop_assert!(off < 0.05, "{off} mm apart");
    }

    #[test]
    fn a_turned_pane_gives_a_turned_outline(truth in pane_outline(), degrees in -3.0..3.0_f64) {
        let turned = turned(&truth, degrees);
        let found = recover(&read_all(&turned, Family::Door));
        prop_assert!(apart(&found, &framed(&turned)) < 0.05);
    }

    #[test]
    fn a_mirrored_pane_gives_a_mirrored_outline(truth in pane_outline()) {
        let found = recover(&read_all(&truth, Family::Windscreen));
        let mirrored = recover(&read_all(&truth.mirrored(), Family::Windscreen));
        prop_assert!(apart(&found.mirrored(), &mirrored) < 0.05);
    }
}
