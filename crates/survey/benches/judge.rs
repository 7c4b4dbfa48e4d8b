//! How long one pane takes to judge: `cargo bench -p survey`.

use criterion::{Criterion, criterion_group, criterion_main};
use geometry::{Length, Outline, Point};
use std::hint::black_box;
use survey::{
    BookEntry, Class, Column, Edge, Family, Level, PaneReadings, Policy, Reading, ReadingName,
    Slope, Span, Standing, Station, TapeReading, Unit, Vehicle, Voice, judge,
};

/// Outside and inside readings of a coach windscreen to an eighth of an inch, the first `slip` long.
fn pane(outline: &Outline, slip: f64) -> PaneReadings {
    let standing = Standing::of(outline, false).expect("the outline stands");
    let eighth = 25.4 / 8.0;
    let spans = [
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
    let outside = spans.into_iter().enumerate().filter_map(|(i, span)| {
        let exact = standing.read(span, None)? + if i == 0 { slip } else { 0.0 };
        Some((ReadingName::outside(span), exact))
    });
    let bands = [Station::BaseCentre, Station::BaseLeft, Station::TopCentre];
    let bands = bands.map(|s| (ReadingName::outside(Span::Band(s)), 115.0));
    let visible = [Station::BaseCentre, Station::BaseLeft];
    let visible = visible.map(|s| (ReadingName::inside(Span::Band(s)), 60.0));
    let inside = [Column::Left, Column::Centre].into_iter().filter_map(|column| {
        let span = Span::Height(column);
        Some((ReadingName::inside(span), standing.read(span, None)? - 75.0))
    });
    let readings = outside
        .chain(bands)
        .chain(visible)
        .chain(inside)
        .map(|(name, exact)| {
            let (exact, eighth) = (Length::from_mm(exact), Length::from_mm(eighth));
            Reading::once(name, TapeReading::showing(exact, Unit::Inch, eighth))
        })
        .collect();
    PaneReadings::new("front", Family::Windscreen, readings)
}

fn benches(c: &mut Criterion) {
    let mm = Length::from_mm;
    let corners = [[-1159.0, 20.0], [1159.0, 20.0], [1068.0, 1352.0], [-1068.0, 1352.0]];
    let bows = [45.0, 12.0, 40.0, 12.0].map(mm);
    let radii = [90.0, 90.0, 70.0, 70.0].map(mm);
    let points = corners.iter().map(|c| Point::from_mm(c[0], c[1])).collect();
    let outline = Outline::new(points, bows.to_vec(), radii.to_vec()).expect("a pane");
    let vehicle = Vehicle::of_class(Class::Coach);
    let entry = BookEntry {
        make: String::new(),
        model: String::new(),
        years: [2008, 2016],
        class: Class::Coach,
        family: Family::Windscreen,
        half: None,
        flank: None,
        settled: 9,
        corners: corners.iter().map(|c| c.map(mm)).collect(),
        bows: bows.to_vec(),
        radii: radii.to_vec(),
        sd: mm(4.0),
        band: Vec::new(),
        blocked: Vec::new(),
        band_sd: mm(6.0),
    };
    for (name, slip, entry) in [
        ("known, clean", 0.0, Some(&entry)),
        ("known, an inch long", 25.4, Some(&entry)),
        ("unknown, clean", 0.0, None),
        ("unknown, an inch long", 25.4, None),
    ] {
        let pane = pane(&outline, slip);
        let voice = Voice::new(Unit::Inch, mm(25.4 / 8.0), &vehicle, &pane);
        let policy = Policy::starting();
        c.bench_function(&format!("judge a pane: {name}"), |b| {
            b.iter(|| judge(&vehicle, black_box(&pane), entry, &voice, &policy));
        });
    }
}

criterion_group!(judging, benches);
criterion_main!(judging);
