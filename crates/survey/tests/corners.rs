//! Panes of three, and of five to eight corners: judged by a glass book entry, and by their class
//! alone.

#![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]

use geometry::{Length, Outline, Point};
use survey::{
    BookEntry, Class, Family, GlassBook, Judgement, PaneReadings, Policy, Reading, ReadingName,
    SMALL_PANE, Side, Span, Standing, TapeReading, Unit, Vehicle, Verdict, Voice, judge,
};

fn mm(value: f64) -> Length {
    Length::from_mm(value)
}

/// Corners, bows and radii of an invented pane with that many corners.
fn shape(n: usize) -> (Family, Vec<[f64; 2]>) {
    match n {
        3 => (Family::Door, vec![[-300.0, 0.0], [320.0, 10.0], [-290.0, 560.0]]),
        5 => (
            Family::CabSide,
            vec![[-420.0, 0.0], [430.0, 0.0], [430.0, 480.0], [260.0, 690.0], [-400.0, 690.0]],
        ),
        6 => (
            Family::Side,
            vec![
                [-600.0, 0.0],
                [600.0, 0.0],
                [600.0, 480.0],
                [380.0, 660.0],
                [-370.0, 660.0],
                [-600.0, 470.0],
            ],
        ),
        7 => (
            Family::Side,
            vec![
                [-400.0, 0.0],
                [600.0, 0.0],
                [600.0, 480.0],
                [380.0, 660.0],
                [-370.0, 660.0],
                [-600.0, 470.0],
                [-600.0, 160.0],
            ],
        ),
        _ => (
            Family::Side,
            vec![
                [-380.0, 0.0],
                [380.0, 0.0],
                [600.0, 150.0],
                [600.0, 520.0],
                [380.0, 670.0],
                [-380.0, 670.0],
                [-600.0, 520.0],
                [-600.0, 150.0],
            ],
        ),
    }
}

fn outline(n: usize) -> Outline {
    let corners = shape(n).1.iter().map(|c| Point::from_mm(c[0], c[1])).collect();
    Outline::new(corners, vec![mm(3.0); n], vec![mm(50.0); n]).unwrap()
}

/// The true pane standing up; shorter than 500 mm, it is read in thirds.
fn standing(n: usize) -> Standing<f64> {
    let large = Standing::of(&outline(n), false).unwrap();
    if large.height() < SMALL_PANE.mm() { Standing::of(&outline(n), true).unwrap() } else { large }
}

fn pane(n: usize, slip: f64, wanted: impl Fn(Span) -> bool) -> PaneReadings {
    let standing = standing(n);
    let spans = Span::all().into_iter().filter(|s| s.can_be_read(Side::Outside) && wanted(*s));
    let read = spans.filter_map(|span| Some((span, standing.read(span, None)?)));
    let reading = |(i, (span, exact)): (usize, (Span, f64))| {
        let exact = mm(exact + if i == 0 { slip } else { 0.0 });
        Reading::once(
            ReadingName::outside(span),
            TapeReading::showing(exact, Unit::Millimetre, mm(1.0)),
        )
    };
    let readings = read.enumerate().map(reading).collect();
    PaneReadings::new("pane", shape(n).0, readings)
}

fn judged(pane: &PaneReadings, entry: Option<&BookEntry>) -> Judgement {
    let vehicle = Vehicle::of_class(Class::Camper);
    let voice = Voice::new(Unit::Millimetre, mm(1.0), &vehicle, pane);
    judge(&vehicle, pane, entry, &voice, &Policy::starting()).unwrap()
}

fn entry(n: usize) -> BookEntry {
    let (family, corners) = shape(n);
    BookEntry {
        make: "Fennick".into(),
        model: "Roamer".into(),
        years: [1980, 1990],
        class: Class::Camper,
        family,
        half: None,
        flank: None,
        settled: 5,
        corners: corners.iter().map(|c| c.map(mm)).collect(),
        bows: vec![mm(3.0); n],
        radii: vec![mm(50.0); n],
        sd: mm(4.0),
        band: Vec::new(),
        blocked: Vec::new(),
        band_sd: mm(6.0),
    }
}

/// How far the judged outline is from the true one, at the most, with both in the pane's frame.
fn farthest_off(judgement: &Judgement, n: usize) -> f64 {
    let [x, y] = standing(n).origin();
    let truth = outline(n).moved(mm(-x), mm(-y)).path();
    let off = judgement.edge.iter().map(|p| truth.nearest(p.at).1.mm());
    off.fold(0.0, f64::max)
}

#[test]
fn a_book_entry_of_any_number_of_corners_is_judged_by() {
    for n in [3, 5, 6, 7, 8] {
        let lengths = pane(n, 0.0, Span::is_length);
        let judgement = judged(&lengths, Some(&entry(n)));
        assert_eq!(judgement.verdict, Verdict::Accept, "{n}: {:?}", judgement.questions);
        assert!(farthest_off(&judgement, n) < 4.0, "{n}: {}", farthest_off(&judgement, n));
        // A height an inch too long is found.
        let slipped = judged(&pane(n, 25.4, Span::is_length), Some(&entry(n)));
        assert!(
            slipped.doubts.iter().any(|d| matches!(d.readings[0].span, Span::Height(_))),
            "{n}"
        );
    }
}

#[test]
fn the_book_is_searched_by_number_of_corners_too() {
    let mut vehicle = Vehicle::of_class(Class::Camper);
    (vehicle.make, vehicle.model) = (Some("Fennick".into()), Some("Roamer".into()));
    let book = GlassBook { entries: vec![entry(6), entry(8)] };
    let mut pane = pane(8, 0.0, Span::is_length);
    pane.corners = Some(8);
    assert_eq!(book.find(&vehicle, &pane).unwrap().corners.len(), 8);
    pane.corners = Some(7);
    assert_eq!(book.find(&vehicle, &pane), None);
}

#[test]
fn without_an_entry_every_reading_there_is_finds_the_form() {
    for n in [3, 5, 6, 7, 8] {
        let mut pane = pane(n, 0.0, |_| true);
        pane.corners = Some(n);
        let judgement = judged(&pane, None);
        assert_eq!(judgement.outline.corners().len(), n);
        // Names reach four corners only: of six a cover would fit about every other time, of seven and
        // eight less often, and too little is read to cut one.
        let settled = judgement.verdict == Verdict::Accept;
        assert_eq!(settled, n <= 5, "{n}: {:?}", judgement.verdict);
        if n == 6 {
            let chance = judgement.chance_of_fit;
            assert!((0.4..0.6).contains(&chance), "{chance}");
        }
        let off = farthest_off(&judgement, n);
        assert!(off < 6.0, "{n}: {off}");
    }
}

#[test]
fn few_readings_of_many_corners_are_asked_about() {
    for n in [3, 5, 8] {
        let mut pane = pane(n, 0.0, |s| matches!(s, Span::Height(_)));
        pane.corners = Some(n);
        let judgement = judged(&pane, None);
        assert_ne!(judgement.verdict, Verdict::Accept, "{n}");
        assert!(judgement.questions.len() > 3, "{n}: {:?}", judgement.questions);
    }
}
