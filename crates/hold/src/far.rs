//! Magnets far apart, as clouds of dipoles.
//!
//! `U = J1 V1 J2 V2 / (4π μ0) · (1/r³ − 3 z²/r⁵)`, `F = −∇U`,
//! `B = J V / (4π) · (3 z r⃗ − r² ẑ) / r⁵`
//!
//! J polarisation, V volume, r⃗ from one dipole to the other place, z its part along both dipoles;
//! each magnet stands as dipoles at Gauss points.
//!
//! Source: the field of a point dipole, in every textbook. Valid beyond [`far_off`] times the sum
//! of both reaches (radius of the ball that holds a magnet); there closed forms lose their digits
//! to cancellation, while every term here has the size of the result. Accuracy 1e-9, by the number
//! of points; n points a side are exact to degree 2n − 1 of the expansion in size/distance.

use std::f64::consts::{PI, TAU};

use crate::magnet::MagnetShape;
use crate::quadrature::gauss;

/// Share of the result left out by a cloud.
const LEFT_OUT: f64 = 1e-10;

/// Distance, in reaches, from which a cloud is better than the forms near by. The integral for two
/// discs loses little, so that it serves longer; the forms for blocks lose with its sixth power.
pub(crate) fn far_off(outer: MagnetShape, inner: MagnetShape) -> f64 {
    match (outer, inner) {
        (MagnetShape::Disc { .. }, MagnetShape::Disc { .. }) => 8.0,
        _ => 3.0,
    }
}

/// Distance, in reaches, from which a cloud gives the field of one magnet.
pub(crate) const FIELD: f64 = 6.0;

/// The least n for which the terms of degree 2n, each `decay`⁻²ⁿ of the first and about (2n + 4)² of
/// them in a force, may be left out.
fn half_degree(decay: f64) -> usize {
    (1..)
        .find(|&n| decay.powi(-2 * n) * f64::from(2 * n + 4).powi(2) < LEFT_OUT)
        .expect("a power of a number below one gets below any limit")
        .unsigned_abs() as usize
}

/// Places in millimetres and weights adding up to one, for use at `distance` with another cloud
/// of half sizes `other`.
fn cloud(shape: MagnetShape, other: [f64; 3], distance: f64) -> Vec<([f64; 3], f64)> {
    let [a, b, c] = shape.half_sizes_mm();
    // An axis of half size h sees (h/r)^2n; Gauss's error constant takes another 4^−n off.
    let ratio = |axis: usize, half: f64| distance / (half + other[axis]);
    let rule = |axis: usize, half: f64| gauss(half_degree(2.0 * ratio(axis, half)));
    let across: Vec<([f64; 2], f64)> = match shape {
        MagnetShape::Block { .. } => rule(0, a)
            .iter()
            .flat_map(|&[x, wx]| {
                rule(1, b).iter().map(move |&[y, wy]| ([a * x, b * y], 0.25 * wx * wy))
            })
            .collect(),
        MagnetShape::Disc { .. } => {
            let (narrow, turns) = (a + other[0].max(other[1]), 2 * half_degree(distance / a));
            // Over ρ² half the points have the same degree in ρ.
            gauss(half_degree(2.0 * distance / narrow).div_ceil(2))
                .iter()
                .flat_map(|&[s, w]| {
                    let radius = a * (0.5 * (1.0 + s)).sqrt();
                    (0..turns).map(move |k| {
                        let (sin, cos) = (TAU * k as f64 / turns as f64).sin_cos();
                        ([radius * cos, radius * sin], 0.5 * w / turns as f64)
                    })
                })
                .collect()
        }
    };
    across
        .iter()
        .flat_map(|&([x, y], w)| {
            rule(2, c).iter().map(move |&[z, wz]| ([x, y, c * z], 0.5 * w * wz))
        })
        .collect()
}

/// The force on the outer magnet in N at 1 T each, `centres` (mm) being its centre seen from the
/// inner one's; nothing when they are too near for this form.
pub(crate) fn force(outer: MagnetShape, inner: MagnetShape, centres: [f64; 3]) -> Option<[f64; 3]> {
    let distance = norm(centres);
    let far = distance >= far_off(outer, inner) * (outer.reach_mm() + inner.reach_mm());
    far.then(|| {
        let outer_cloud = cloud(outer, inner.half_sizes_mm(), distance);
        let inner_cloud = cloud(inner, outer.half_sizes_mm(), distance);
        let mut force = [0.0; 3];
        for (p, wp) in &outer_cloud {
            for (q, wq) in &inner_cloud {
                let [x, y, z] = std::array::from_fn(|i| centres[i] + p[i] - q[i]);
                let r2 = x * x + y * y + z * z;
                let scale = wp * wq / (r2 * r2 * r2.sqrt());
                let cos2 = z * z / r2;
                force[0] += scale * x * (1.0 - 5.0 * cos2);
                force[1] += scale * y * (1.0 - 5.0 * cos2);
                force[2] += scale * z * (3.0 - 5.0 * cos2);
            }
        }
        // Moments are J V / μ0; mm⁶ / mm⁴ leaves 1e-6 m².
        let scale = 3e-6 * volume(outer) * volume(inner) / (4.0 * PI * crate::pull::MU0);
        force.map(|f| scale * f)
    })
}

/// The flux density at `place` (mm from the centre) in T at 1 T polarisation; nothing when it is
/// too near for this form.
pub(crate) fn field(shape: MagnetShape, place: [f64; 3]) -> Option<[f64; 3]> {
    let distance = norm(place);
    (distance >= FIELD * shape.reach_mm()).then(|| {
        let mut field = [0.0; 3];
        for (p, w) in cloud(shape, [0.0; 3], distance) {
            let [x, y, z] = std::array::from_fn(|i| place[i] - p[i]);
            let r2 = x * x + y * y + z * z;
            let scale = w / (r2 * r2 * r2.sqrt());
            field[0] += scale * 3.0 * x * z;
            field[1] += scale * 3.0 * y * z;
            field[2] += scale * (3.0 * z * z - r2);
        }
        field.map(|b| volume(shape) / (4.0 * PI) * b)
    })
}

fn volume(shape: MagnetShape) -> f64 {
    shape.pole_area().mm2() * shape.thickness().mm()
}

fn norm([x, y, z]: [f64; 3]) -> f64 {
    x.hypot(y).hypot(z)
}
