//! One round over a workshop's run: 108 pieces, curved panels and small parts, on 1.5 m cloth.

#[path = "../examples/lay_set/shapes_file.rs"]
mod shapes_file;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use lay::{Effort, lay};

fn one_round(c: &mut Criterion) {
    let text = include_str!("../../../checks/data/lay/workshop1.json");
    let ask = shapes_file::read(text).expect("the set is a shapes file");
    let effort = Effort { seed: 1, rounds: 1, keep_going: &|| true, progress: &|_| () };
    c.bench_function("one round over workshop1", |b| b.iter(|| lay(black_box(&ask), &effort)));
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10);
    targets = one_round
}
criterion_main!(benches);
