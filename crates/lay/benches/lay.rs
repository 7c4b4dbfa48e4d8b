//! One round of a workshop's day: twelve curved panels and thirty-six small pieces on 1.5 m cloth.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use geometry::{Angle, Length, Point};
use lay::{Ask, Effort, Shape, lay};

/// A windscreen panel: base and top bowed, in 16 steps each.
fn panel(name: &str, width: f64, height: f64) -> Shape {
    let half = width / 2.0;
    let edge = |top: f64, sign: f64| {
        (0..16).map(move |i| {
            let t = sign * (f64::from(i) / 8.0 - 1.0);
            let narrowing = 1.0 - 0.06 * top;
            let bow = 25.0 * (1.0 - t * t);
            Point::from_mm(half * narrowing * t, height * top + bow)
        })
    };
    let outline = edge(0.0, 1.0).chain(edge(1.0, -1.0)).collect();
    shape(name, 3, outline)
}

fn rectangle(name: &str, count: usize, width: f64, height: f64) -> Shape {
    let corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)];
    shape(name, count, corners.map(|(x, y)| Point::from_mm(x, y)).to_vec())
}

fn shape(name: &str, count: usize, outline: Vec<Point<geometry::Piece>>) -> Shape {
    let turns = [0.0, 180.0].map(Angle::from_degrees).to_vec();
    Shape { name: name.into(), count, turns, outline }
}

fn one_round(c: &mut Criterion) {
    let shapes = vec![
        panel("coach", 2300.0, 1350.0),
        panel("camper", 1680.0, 780.0),
        panel("lorry", 2140.0, 920.0),
        panel("side", 760.0, 610.0),
        rectangle("sleeve", 12, 820.0, 140.0),
        rectangle("hood", 12, 430.0, 260.0),
        rectangle("tab", 12, 120.0, 60.0),
    ];
    let ask = Ask { width: Length::from_mm(1500.0), gap: Length::from_mm(2.0), shapes };
    let effort = Effort { seed: 1, rounds: 1, keep_going: &|| true, progress: &|_| () };
    c.bench_function("one round of 48 pieces", |b| b.iter(|| lay(black_box(&ask), &effort)));
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20);
    targets = one_round
}
criterion_main!(benches);
