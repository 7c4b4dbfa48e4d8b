//! Pair forces at the edges of what can be asked: paper-thin, touching, far apart, far aside, rims and
//! edges exactly in line, very unequal, largest and smallest.
//!
//! Source: `data/magnets/edge_pairs.json`, 37 cases computed outside this code base by
//! `python/make_edge_pairs.py` (discs: Hankel integral with SciPy; blocks: closed form in 50 digits with
//! mpmath; mixed: magpylib's field over the poles), most of them a second time with magpylib, which
//! differs by at most 2e-8. Licence: our own; magpylib is BSD-2-Clause. Tolerance: 1e-6 of the size of
//! the force, 1e-5 for a disc before a block.

use geometry::Length;
use hold::{Force, Magnet, pair_force};
use serde_json::Value;

#[test]
fn forces_hold_at_the_edges_of_what_can_be_asked() {
    let cases: Value =
        serde_json::from_str(include_str!("../data/magnets/edge_pairs.json")).expect("JSON");
    let cases = cases["cases"].as_array().expect("a list");
    assert_eq!(cases.len(), 37);
    let number = |value: &Value| value.as_f64().expect("a number");
    let mut missed = Vec::new();
    for case in cases {
        let text = |key: &str| case[key].as_str().expect("words");
        let magnet =
            |key: &str| format!("{}:1", text(key)).parse::<Magnet>().expect("a magnet of 1 T");
        let (outer, inner) = (magnet("outer"), magnet("inner"));
        let gap = Length::from_mm(number(&case["gap_mm"]));
        let offset = [0, 1].map(|i| Length::from_mm(number(&case["offset_mm"][i])));
        let pair = pair_force(&outer, &inner, gap, (offset[0], offset[1])).expect("in range");
        let found = pair.force.map(Force::newtons);
        let wanted: [f64; 3] = std::array::from_fn(|i| number(&case["force_n"][i]));
        let size = |v: [f64; 3]| v.iter().map(|x| x * x).sum::<f64>().sqrt();
        let error = size(std::array::from_fn(|i| found[i] - wanted[i])) / size(wanted);
        println!("{:45} {error:.1e}", text("name"));
        let mixed = text("outer").starts_with('d') != text("inner").starts_with('d');
        let allowed = if mixed { 1e-5 } else { 1e-6 };
        if error.is_nan() || error > allowed {
            missed.push(format!("{}: {error:e}, {found:?} for {wanted:?}", text("name")));
        }
    }
    assert!(missed.is_empty(), "{missed:#?}");
}
