//! How long a loaded cover takes: `cargo bench -p hold --bench membrane`.
//!
//! A windscreen cover of 2.3 × 1.35 m on a mesh of about 1500 nodes: from nothing, and from the shape at
//! a weaker wind, as every search does.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use geometry::{Length, Outline, Point};
use hold::{ClothChoice, Force, Hold, HoldAsk, Loading, Membrane, Mesh, Pressure, Support};

fn cases(c: &mut Criterion) {
    let mm = Length::from_mm;
    let outline = Outline::new(
        [(-1150.0, 0.0), (1150.0, 0.0), (1080.0, 1310.0), (-1080.0, 1310.0)]
            .map(|(x, y)| Point::from_mm(x, y))
            .to_vec(),
        [40.0, 12.0, 40.0, 12.0].map(mm).to_vec(),
        [90.0, 90.0, 70.0, 70.0].map(mm).to_vec(),
    )
    .expect("a windscreen")
    .path();
    let ring = outline.inset(mm(35.0)).remove(0);
    let places: Vec<_> =
        (0..24).map(|i| ring.at_length(ring.length() * (f64::from(i) / 24.0)).0).collect();
    let mesh = Mesh::of(&outline, HoldAsk::FINENESS, &places).expect("a mesh");
    let cloth = ClothChoice::usual();
    let cover =
        Membrane::new(&mesh, cloth.fabric, cloth.hem_stiffness, cloth.ease).expect("a cover");
    let hold = Hold::Grip { slide: Force::from_newtons(12.0), creep: mm(3.0) };
    let supports: Vec<_> = mesh.places().iter().map(|&node| Support { node, hold }).collect();
    let load = |pascals: f64, start| {
        let suction = Pressure::from_pascals(pascals);
        cover.load(suction, Loading::Upright, &supports, start).expect("held by enough")
    };
    let mut group = c.benchmark_group(format!("membrane of {} nodes", cover.n_nodes()));
    group.sample_size(10);
    group.bench_function("from nothing", |b| b.iter(|| black_box(load(15.0, None))));
    let before = load(13.0, None);
    group.bench_function("from a weaker wind", |b| b.iter(|| black_box(load(15.0, Some(&before)))));
    group.finish();
}

criterion_group!(benches, cases);
criterion_main!(benches);
