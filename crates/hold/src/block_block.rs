//! Closed forms for blocks with parallel edges: force, field, and the block's own field.
//!
//! `F = J1 J2 / (4π μ0) Σ ± φ(u, v, w)` over 8 × 8 pairs of corners, (u, v, w) from one to the other
//! `φ_x = ½(v²−w²) ln(r−u) + u v ln(r−v) + v w arctan(u v / r w) + ½ r u`, φ_y likewise,
//! `φ_z = −u w ln(r−u) − v w ln(r−v) + u v arctan(u v / r w) − r w`
//!
//! Source: Akoun & Yonnet, *3D analytical calculation of the forces exerted between two cuboidal
//! magnets*, IEEE Trans. Magn. 20 (1984) 1962, doi 10.1109/TMAG.1984.1063554. Valid for any place;
//! unit permeability. Accuracy 1e-12 of the force near by; digits go as distance⁶/volume², so that
//! 1e-9 is left to usual blocks and 1e-7 to long flat ones where [`crate::far`] takes over.

use std::f64::consts::PI;

use crate::pull::MU0;

/// Added to squared distances (mm²), so that logarithms stay finite on an edge: 1e-8 mm.
const TINY: f64 = 1e-16;

/// One corner to one place: distance and the logarithms and the angle all closed forms share.
struct Ray {
    r: f64,
    /// ln(r − u)
    ln_u: f64,
    /// ln(r − v)
    ln_v: f64,
    /// arctan(u v / r w)
    angle: f64,
}

impl Ray {
    fn new(u: f64, v: f64, w: f64) -> Self {
        let r = (u * u + v * v + w * w + TINY).sqrt();
        // r − s = (r² − s²)/(r + s) keeps its digits where s is nearly r.
        let ln_minus = |s: f64, other: f64| {
            let rest = other * other + w * w + TINY;
            if s > 0.0 { (rest / (r + s)).ln() } else { (r - s).ln() }
        };
        let angle = (u * v * 1_f64.copysign(w)).atan2(r * w.abs());
        Self { r, ln_u: ln_minus(u, v), ln_v: ln_minus(v, u), angle }
    }
}

/// Both ends of a side, with their signs.
fn ends(half: f64) -> [(f64, f64); 2] {
    [(1.0, half), (-1.0, -half)]
}

/// Sum over all pairs of corners of two blocks with their signs.
fn corners(
    outer: [f64; 3],
    inner: [f64; 3],
    centres: [f64; 3],
    mut each: impl FnMut(f64, [f64; 3]),
) {
    let pairs = |axis: usize| {
        ends(outer[axis]).into_iter().flat_map(move |(s, x)| {
            ends(inner[axis]).map(move |(t, y)| (s * t, centres[axis] + x - y))
        })
    };
    for (i, u) in pairs(0) {
        for (j, v) in pairs(1) {
            for (k, w) in pairs(2) {
                each(i * j * k, [u, v, w]);
            }
        }
    }
}

/// The force on the outer block in N at 1 T each; half sizes and `centres` (the outer one's centre
/// seen from the inner one's) in millimetres.
pub(crate) fn force(outer: [f64; 3], inner: [f64; 3], centres: [f64; 3]) -> [f64; 3] {
    let mut force = [0.0; 3];
    corners(outer, inner, centres, |sign, [u, v, w]| {
        let Ray { r, ln_u, ln_v, angle } = Ray::new(u, v, w);
        let half = 0.5 * w * w;
        force[0] +=
            sign * ((0.5 * v * v - half) * ln_u + u * v * ln_v + v * w * angle + 0.5 * r * u);
        force[1] +=
            sign * ((0.5 * u * u - half) * ln_v + u * v * ln_u + u * w * angle + 0.5 * r * v);
        force[2] += sign * (-u * w * ln_u - v * w * ln_v + u * v * angle - r * w);
    });
    force.map(|sum| 1e-6 * sum / (4.0 * PI * MU0))
}

/// The magnetometric demagnetising factor along z: the energy of the block's poles in their own
/// field, with the potential whose slopes are φ (Akoun & Yonnet's energy).
pub(crate) fn own_factor(half: [f64; 3]) -> f64 {
    let mut energy = 0.0;
    corners(half, half, [0.0; 3], |sign, [u, v, w]| {
        let Ray { r, ln_u, ln_v, angle } = Ray::new(u, v, w);
        energy += sign
            * (0.5 * u * (v * v - w * w) * ln_u
                + 0.5 * v * (u * u - w * w) * ln_v
                + u * v * w * angle
                + r * (u * u + v * v - 2.0 * w * w) / 6.0);
    });
    -energy / (4.0 * PI * 8.0 * half[0] * half[1] * half[2])
}

/// The flux density in T at 1 T polarisation, `place` in millimetres from the centre: the field of
/// the two charged poles, and the polarisation too inside.
pub(crate) fn field(half: [f64; 3], place: [f64; 3]) -> [f64; 3] {
    let mut field = [0.0; 3];
    for (i, x) in ends(half[0]) {
        for (j, y) in ends(half[1]) {
            for (k, z) in ends(half[2]) {
                let ray = Ray::new(place[0] - x, place[1] - y, place[2] - z);
                field[0] += i * j * k * ray.ln_v;
                field[1] += i * j * k * ray.ln_u;
                field[2] += i * j * k * ray.angle;
            }
        }
    }
    let inside = (0..3).all(|axis| place[axis].abs() < half[axis]);
    let mut field = field.map(|sum| sum / (4.0 * PI));
    field[2] += f64::from(u8::from(inside));
    field
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cube has 1/3 by symmetry; the factors along three axes add up to one for any body.
    #[test]
    fn demagnetising_factors_add_up_to_one() {
        assert!((own_factor([3.0; 3]) - 1.0 / 3.0).abs() < 1e-12);
        let sum = own_factor([20.0, 6.0, 2.5])
            + own_factor([6.0, 2.5, 20.0])
            + own_factor([2.5, 20.0, 6.0]);
        assert!((sum - 1.0).abs() < 1e-12, "{sum}");
    }

    #[test]
    fn the_field_is_finite_on_an_edge() {
        for place in [[20.0, 6.0, 2.5], [20.0, 0.0, 2.5], [30.0, 6.0, 2.5], [0.0, 0.0, 2.5]] {
            assert!(field([20.0, 6.0, 2.5], place).iter().all(|b| b.is_finite()));
        }
    }

    #[test]
    fn flux_through_a_pole_face_is_continuous() {
        let half = [20.0, 6.0, 2.5];
        let [below, above] = [-1e-7, 1e-7].map(|dz| field(half, [3.0, 1.0, 2.5 + dz])[2]);
        assert!((below - above).abs() < 1e-7);
    }
}
