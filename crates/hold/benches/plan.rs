//! How long a whole plan takes: `cargo bench -p hold --bench plan`.
//!
//! A coach windscreen of 2.3 × 1.35 m: places, search, rating on about 1500 nodes with every single loss
//! looked at, what would raise it, and then the unzipping of the planned cover in a storm.

#[path = "../tests/common/mod.rs"]
mod common;

use std::hint::black_box;

use common::{PANES, effort, judged_pane, magnet_choice, plan_ask};
use criterion::{Criterion, criterion_group, criterion_main};
use hold::{HeldGrip, HoldAsk, HoldPlan, Holding, Membrane, Mesh, Pressure, Unzipped, plan_hold};

/// The planned cover in twice the wind that it holds.
fn unzipped(ask: &HoldAsk<'_>, plan: &HoldPlan) -> Unzipped {
    let finished = ask.pane.outline.path().inset(ask.inset).remove(0);
    let grips = &plan.plan.grips;
    let places: Vec<_> = grips.iter().map(|grip| grip.at).collect();
    let mesh = Mesh::of(&finished, ask.fineness, &places).expect("a mesh");
    let cloth = &ask.cloth;
    let cover = Membrane::new(&mesh, cloth.fabric, cloth.hem_stiffness, cloth.ease);
    let cover = cover.expect("a cover");
    let capacity = &ask.magnets[0].capacity;
    let held = mesh.places().iter().zip(grips);
    let held: Vec<HeldGrip> =
        held.map(|(&node, grip)| HeldGrip::new(node, capacity.clone(), grip.diameter)).collect();
    let holding = Holding { cover: &cover, loading: ask.loading, grips: &held, straps: &[] };
    let hold = plan.rated.as_ref().expect("it is rated").hold;
    holding.unzip(hold * 4.0, &effort(100)).expect("enough holds it")
}

fn plans(c: &mut Criterion) {
    let pane = judged_pane(PANES[0]);
    let mut group = c.benchmark_group("plan of a coach windscreen");
    group.sample_size(10);
    for (spec, wanted) in [("disc:20x3:N35", 100.0), ("block:40x12x5:N42H", 10.0)] {
        let magnets = [magnet_choice(spec)];
        let wanted = Pressure::from_pascals(wanted);
        let ask = HoldAsk { fineness: HoldAsk::FINENESS, ..plan_ask(&pane, &magnets, wanted) };
        let name = format!("{spec}, {wanted} wanted, with unzipping");
        group.bench_function(name, |b| {
            b.iter(|| {
                let plan = plan_hold(&ask, &effort(2000)).expect("a plan");
                black_box(unzipped(&ask, &plan))
            });
        });
    }
    group.finish();
}

criterion_group!(benches, plans);
criterion_main!(benches);
