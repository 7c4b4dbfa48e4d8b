//! The flattening of a doubly bent surface against plate theory and against libigl.
//!
//! Sources:
//!
//! - A. Föppl's equations for a free disc of radius a with the small Gaussian curvature K and no sideways
//!   contraction (from memory): flat against bent, the strain is −K·a²/16 in the middle and +K·a²/8 round the
//!   edge. For a sphere of R 3 m and a 0.9 m: −0.5625 % and +1.125 %. They neglect terms of the order (a/R)² of
//!   themselves, 9 % here; strains must agree within 5 %.
//! - libigl 2.6.3 (MPL-2.0), run by `checks/python/check_flattening.py`: its least-squares conformal map
//!   followed by its as-rigid-as-possible solver, energy by elements. Same mesh, same energy: strains must
//!   agree within 1e-5, the energy within one part in 10,000 (its solver stops by its own measure).

use std::f64::consts::TAU;

use drafting::{Settled, SpacePoint, Strain, Surface, flatten};
use serde_json::{Value, json};

const R: f64 = 3000.0;
const A: f64 = 900.0;
const RINGS: usize = 20;
const ROUND: usize = 72;

/// A cap of a sphere: its middle, then ring after ring, equally far apart along the sphere.
fn cap() -> Surface {
    let ring = |ring: usize| {
        let tilt = A / R * ring as f64 / RINGS as f64;
        (0..ROUND).map(move |k| {
            let turn = TAU * k as f64 / ROUND as f64;
            let out = R * tilt.sin();
            SpacePoint::from_mm(out * turn.cos(), out * turn.sin(), R * tilt.cos())
        })
    };
    let middle = SpacePoint::from_mm(0.0, 0.0, R);
    let at = |ring: usize, k: usize| 1 + (ring - 1) * ROUND + k % ROUND;
    let fan = (0..ROUND).map(|k| [0, at(1, k), at(1, k + 1)]);
    let bands = (1..RINGS).flat_map(|r| {
        (0..ROUND).flat_map(move |k| {
            let (a, b, c, d) = (at(r, k), at(r + 1, k), at(r + 1, k + 1), at(r, k + 1));
            [[a, b, c], [a, c, d]]
        })
    });
    Surface {
        places: std::iter::once(middle).chain((1..=RINGS).flat_map(ring)).collect(),
        triangles: fan.chain(bands).collect(),
    }
}

#[test]
fn a_spherical_cap_is_strained_as_plate_theory_says() {
    let flat = flatten("cap", &cap()).expect("a cap can be laid flat");
    assert!(matches!(flat.settled, Settled::Still { .. }), "{:?}", flat.settled);
    let mean = |strains: &[Strain], of: fn(&Strain) -> f64| {
        strains.iter().map(of).sum::<f64>() / strains.len() as f64
    };
    let curvature = 1.0 / (R * R);
    let middle = mean(&flat.strains[..ROUND], |s| 0.5 * (s.most + s.least));
    let expected = -curvature * A * A / 16.0;
    assert!((middle / expected - 1.0).abs() < 0.05, "{middle} against {expected}");
    // The last band lies between the last two rings: the formula's strain there, not at the edge, is
    // K(3r² − a²)/16.
    let edge = mean(&flat.strains[flat.strains.len() - 2 * ROUND..], |s| s.most);
    let r = A * (1.0 - 0.5 / RINGS as f64);
    let expected = curvature * (3.0 * r * r - A * A) / 16.0;
    assert!((edge / expected - 1.0).abs() < 0.05, "{edge} against {expected}");
}

#[test]
fn a_spherical_cap_is_flattened_as_libigl_does() {
    let surface = cap();
    let ours = flatten("cap", &surface).expect("a cap can be laid flat");
    let places: Vec<_> = surface.places.iter().map(|p| p.mm()).collect();
    let ask = json!({"places": places, "triangles": surface.triangles});
    let answer = checks::python::run("check_flattening.py", &[], &ask.to_string());
    let theirs: Value = serde_json::from_str(&answer).expect("the script prints JSON");
    let strains: Vec<[f64; 2]> =
        serde_json::from_value(theirs["strains"].clone()).expect("two strains a triangle");
    assert_eq!(strains.len(), ours.strains.len());
    let off = |(a, b): (&Strain, &[f64; 2])| (a.most - b[0]).abs().max((a.least - b[1]).abs());
    let worst = ours.strains.iter().zip(&strains).map(off).fold(0.0, f64::max);
    assert!(worst < 1e-5, "{worst}");
    let area = |&[a, b, c]: &[usize; 3]| {
        let [a, b, c] = [a, b, c].map(|k| nalgebra::Vector3::from(surface.places[k].mm()));
        0.5 * (b - a).cross(&(c - a)).norm()
    };
    let energy: f64 = surface
        .triangles
        .iter()
        .zip(&ours.strains)
        .map(|(t, s)| area(t) * (s.most * s.most + s.least * s.least))
        .sum();
    let their_energy = theirs["energy"].as_f64().expect("a number");
    assert!((energy / their_energy - 1.0).abs() < 1e-4, "{energy} against {their_energy}");
}
