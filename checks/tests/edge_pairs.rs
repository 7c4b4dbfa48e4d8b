//! Pair forces at the edges of what can be asked: paper-thin, touching, far apart, far aside, rims and
//! edges exactly in line, very unequal, largest and smallest; and of sixty random pairs, with the field
//! of forty random magnets at random places.
//!
//! Source: `data/magnets/edge_pairs.json` and `random_pairs.json`, 37 and 60 cases computed outside this
//! code base by `python/make_edge_pairs.py` (discs: Hankel integral with SciPy; blocks: closed form in 50
//! digits with mpmath; mixed: magpylib's field over the poles), most of them a second time with magpylib,
//! which differs by at most 2e-8 at the edges and 1e-12 of the random; fields by magpylib. Licence: our
//! own; magpylib is BSD-2-Clause. Tolerance: 1e-6 of the size of the force or field, 1e-5 for a disc before
//! a block.

#![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]

use geometry::Length;
use hold::{Force, Magnet, flux_density, pair_force};
use serde_json::Value;

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

fn text<'a>(of: &'a Value, key: &str) -> &'a str {
    of[key].as_str().expect("words")
}

/// A magnet of 1 T.
fn magnet(of: &Value, key: &str) -> Magnet {
    format!("{}:1", text(of, key)).parse().expect("a magnet of 1 T")
}

/// How far apart two vectors are as a share of the size of what was wanted.
fn error(found: [f64; 3], wanted: [f64; 3]) -> f64 {
    let size = |v: [f64; 3]| v.iter().map(|x| x * x).sum::<f64>().sqrt();
    size(std::array::from_fn(|i| found[i] - wanted[i])) / size(wanted)
}

/// Compares every case of a file; the worst error of like pairs and of mixed ones.
fn compare(file: &str, n: usize) -> [f64; 2] {
    let cases: Value = serde_json::from_str(file).expect("it is JSON");
    let cases = cases["cases"].as_array().expect("a list of cases");
    assert_eq!(cases.len(), n);
    let mut worst = [0.0_f64; 2];
    let mut missed = Vec::new();
    for case in cases {
        let (outer, inner) = (magnet(case, "outer"), magnet(case, "inner"));
        let gap = Length::from_mm(number(&case["gap_mm"]));
        let offset = [0, 1].map(|i| Length::from_mm(number(&case["offset_mm"][i])));
        let pair = pair_force(&outer, &inner, gap, (offset[0], offset[1])).expect("in range");
        let found = pair.force.map(Force::newtons);
        let wanted: [f64; 3] = std::array::from_fn(|i| number(&case["force_n"][i]));
        let error = error(found, wanted);
        let mixed = text(case, "outer").starts_with('d') != text(case, "inner").starts_with('d');
        let allowed = if mixed { 1e-5 } else { 1e-6 };
        let worst = &mut worst[usize::from(mixed)];
        *worst = worst.max(error);
        if error.is_nan() || error > allowed {
            missed.push(format!("{}: {error:e}, {found:?} for {wanted:?}", text(case, "name")));
        }
    }
    assert!(missed.is_empty(), "{missed:#?}");
    worst
}

#[test]
fn forces_hold_at_the_edges_of_what_can_be_asked() {
    let [like, mixed] = compare(include_str!("../data/magnets/edge_pairs.json"), 37);
    println!("worst of like pairs {like:.1e}, of mixed ones {mixed:.1e}");
}

#[test]
fn forces_of_random_pairs_are_those_computed_elsewhere() {
    let [like, mixed] = compare(include_str!("../data/magnets/random_pairs.json"), 60);
    println!("worst of like pairs {like:.1e}, of mixed ones {mixed:.1e}");
}

#[test]
fn fields_of_random_magnets_are_magpylibs() {
    let file = include_str!("../data/magnets/random_pairs.json");
    let fields: Value = serde_json::from_str(file).expect("it is JSON");
    let fields = fields["fields"].as_array().expect("a list of fields");
    assert_eq!(fields.len(), 40);
    for field in fields {
        let place = std::array::from_fn(|i| Length::from_mm(number(&field["place_mm"][i])));
        let found = flux_density(&magnet(field, "magnet"), place).map(|b| b.tesla());
        let wanted: [f64; 3] = std::array::from_fn(|i| number(&field["field_t"][i]));
        let error = error(found, wanted);
        println!("{:30} {error:.1e}", text(field, "magnet"));
        assert!(error < 1e-6, "{field}: {found:?}, {error:e}");
    }
}
