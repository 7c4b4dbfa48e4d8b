//! A glass book entry of another vehicle must not pass silently, nor turn every reading into a doubt;
//! and where readings do not check one another, that is said.

#![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]

use geometry::{Length, Outline, Point};
use survey::{
    BookEntry, Class, Column, Edge, Family, Judgement, Level, PaneReadings, Policy, Reading,
    ReadingName, SlipKind, Slope, Span, Standing, TapeReading, Unit, Vehicle, Verdict, Voice,
    judge,
};

const CORNERS: [[f64; 2]; 4] =
    [[-1159.0, 20.0], [1159.0, 20.0], [1068.0, 1352.0], [-1068.0, 1352.0]];
const BOWS: [f64; 4] = [45.0, 12.0, 40.0, 12.0];
const RADII: [f64; 4] = [90.0, 90.0, 70.0, 70.0];

const SPANS: [Span; 13] = [
    Span::Height(Column::Left),
    Span::Height(Column::Centre),
    Span::Height(Column::Right),
    Span::Width(Level::Base),
    Span::Width(Level::Middle),
    Span::Width(Level::Top),
    Span::Diagonal(Slope::Rising),
    Span::Diagonal(Slope::Falling),
    Span::Edge(Edge::Left),
    Span::Edge(Edge::Right),
    Span::Edge(Edge::Top),
    Span::Bow(Edge::Base),
    Span::Bow(Edge::Top),
];

/// Readings of a pane to an eighth of an inch, one of them too long by `slip`, judged by a book entry
/// whose pane is wider and higher by `off`, mm.
fn judged(off: f64, slip: f64) -> Judgement {
    judged_with(&SPANS, slip, Some(off)).0
}

/// The same with these readings only; without a book entry where `off` is `None`.
fn judged_with(spans: &[Span], slip: f64, off: Option<f64>) -> (Judgement, Voice) {
    let mm = Length::from_mm;
    let points = CORNERS.iter().map(|c| Point::from_mm(c[0], c[1])).collect();
    let outline = Outline::new(points, BOWS.map(mm).to_vec(), RADII.map(mm).to_vec()).unwrap();
    let standing = Standing::of(&outline, false).unwrap();
    let eighth = 25.4 / 8.0;
    let reading = |(i, span): (usize, Span)| {
        let exact = standing.read(span, None).unwrap() + if i == 0 { slip } else { 0.0 };
        let tape = TapeReading::showing(mm(exact), Unit::Inch, mm(eighth));
        Reading::once(ReadingName::outside(span), tape)
    };
    let readings = spans.iter().copied().enumerate().map(reading).collect();
    let pane = PaneReadings::new("front", Family::Windscreen, readings);
    let wider = |c: &[f64; 2]| {
        let off = off.unwrap_or(0.0);
        let high = if c[1] > 500.0 { off } else { 0.0 };
        [mm(c[0] + 0.5 * off * c[0].signum()), mm(c[1] + high)]
    };
    let entry = BookEntry {
        make: "Corvane".into(),
        model: "Twelve".into(),
        years: [2008, 2016],
        class: Class::Coach,
        family: Family::Windscreen,
        half: None,
        flank: None,
        settled: 9,
        corners: CORNERS.iter().map(wider).collect(),
        bows: BOWS.map(mm).to_vec(),
        radii: RADII.map(mm).to_vec(),
        sd: mm(4.0),
        band: Vec::new(),
        blocked: Vec::new(),
        band_sd: mm(6.0),
    };
    let vehicle = Vehicle::of_class(Class::Coach);
    let voice = Voice::new(Unit::Inch, mm(eighth), &vehicle, &pane);
    let entry = off.map(|_| &entry);
    (judge(&vehicle, &pane, entry, &voice, &Policy::starting()).unwrap(), voice)
}

#[test]
fn a_width_that_nothing_else_checks_is_said_so() {
    let inch = Length::from_inches(1.0);
    let (few, voice) = judged_with(&SPANS[..4], 0.0, None);
    let width = ReadingName::outside(Span::Width(Level::Base));
    assert!(few.unchecked(inch).contains(&width));
    let said = voice.unchecked(&[width]).unwrap();
    assert_eq!(
        said,
        "Nothing else checks the width near the bottom: a slip there would pass unseen."
    );
    let (many, voice) = judged_with(&SPANS, 0.0, Some(0.0));
    assert!(!many.unchecked(inch).contains(&width), "{:?}", many.unchecked(inch));
    assert_eq!(voice.unchecked(&[]), None);
}

#[test]
fn another_vehicles_entry_gives_one_doubt_about_the_vehicle() {
    for off in [100.0, -100.0, 60.0] {
        let judgement = judged(off, 0.0);
        assert_eq!(judgement.doubts.len(), 1, "{:#?}", judgement.doubts);
        let doubt = &judgement.doubts[0];
        assert_eq!(doubt.kind, SlipKind::Unexplained);
        assert!(doubt.probability > 0.9 && doubt.readings.len() > 5);
        assert!(doubt.message.contains("make, model and year"), "{}", doubt.message);
        assert_eq!(judgement.verdict, Verdict::Ask);
    }
}

#[test]
fn one_grossly_wrong_reading_does_not_change_the_vehicle() {
    for slip in [25.4, 304.8, -254.0] {
        let judgement = judged(0.0, slip);
        let named = ReadingName::outside(Span::Height(Column::Left));
        assert_eq!(judgement.doubts[0].readings, [named], "{:#?}", judgement.doubts);
        assert_ne!(judgement.doubts[0].kind, SlipKind::Unexplained);
    }
    assert!(judged(0.0, 0.0).doubts.is_empty());
}
