//! How many pair forces a second: `cargo bench -p hold --bench pull`.

use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use geometry::Length;
use hold::{Magnet, pair_force};

/// Offsets from nothing to two radii, so that no case is favoured.
const OFFSETS: u32 = 100;

fn pulls(c: &mut Criterion) {
    let mut group = c.benchmark_group("pull");
    group.throughput(Throughput::Elements(u64::from(OFFSETS)));
    for (name, outer, inner, gap) in [
        ("equal discs at 7 mm", "disc:20x3:N35", "disc:20x3:N35", 7.0),
        ("unequal discs at 7 mm", "disc:20x5:N42", "disc:15x3:N35", 7.0),
        ("equal discs at 4 mm", "disc:20x3:N35", "disc:20x3:N35", 4.0),
        ("blocks at 7 mm", "block:40x12x5:N35", "block:30x10x4:N42", 7.0),
        ("disc and block at 7 mm", "disc:20x3:N35", "block:40x12x5:N35", 7.0),
    ] {
        let [outer, inner] = [outer, inner].map(|spec| spec.parse::<Magnet>().expect("a magnet"));
        group.bench_function(name, |b| {
            b.iter(|| {
                for i in 1..=OFFSETS {
                    let aside = (Length::from_mm(0.2 * f64::from(i)), Length::ZERO);
                    black_box(
                        pair_force(&outer, &inner, Length::from_mm(gap), aside).expect("near"),
                    );
                }
            });
        });
    }
    group.finish();
}

criterion_group!(benches, pulls);
criterion_main!(benches);
