//! The field round one magnet, its own demagnetising field, and its flux index.
//!
//! Disc, with b half the thickness, z± = z ± b, γ = (R − ρ)/(R + ρ), s± = √(z±² + (R + ρ)²),
//! k±² = (z±² + (R − ρ)²) / s±²:
//! `Bρ = J/π · [R/s₊ · C(k₊, 1, 1, −1) − R/s₋ · C(k₋, 1, 1, −1)]`
//! `Bz = J/π · R/(R + ρ) · [z₊/s₊ · C(k₊, γ², 1, γ) − z₋/s₋ · C(k₋, γ², 1, γ)]`
//!
//! Block: the poles as charged rectangles, see `block_block`. Far off: see `far`.
//!
//! Valid inside and outside, unit permeability; on an edge, where the model is infinite, a large
//! finite number. Sources: Derby & Olbert, *Cylindrical magnets and ideal solenoids*, Am. J. Phys.
//! 78 (2010) 229, arXiv 0909.3880; C is Bulirsch's `cel`. Accuracy 1e-9.

use std::f64::consts::PI;

use geometry::Length;

use crate::elliptic::cel;
use crate::quadrature::peak;
use crate::{FluxDensity, Magnet, MagnetShape, block_block, far};

/// Height over the pole at which the flux index is read: 16 CFR 1262 (ASTM F963, 8.25).
pub const FLUX_INDEX_HEIGHT: Length = Length::from_mm(0.38);

/// Flux index, in kG² mm², from which a small magnet is a hazard in a toy: 16 CFR 1262. Magnets
/// that hold a cover are far above it, so they must be kept from children.
pub const FLUX_INDEX_LIMIT: f64 = 50.0;

/// Kilogauss in one tesla, by definition.
const KILOGAUSS_PER_TESLA: f64 = 10.0;

/// Least modulus and |γ| in the disc's field: on the rim the integrals are infinite.
const RIM: f64 = 1e-12;

/// The share of its polarisation with which a magnet opposes itself, along its thickness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Demagnetising {
    /// Mean over the magnet.
    pub magnetometric: f64,
    /// In the middle of the magnet.
    pub centre: f64,
    /// In the middle of a pole.
    pub face_centre: f64,
}

impl Demagnetising {
    /// Permeance coefficient (1 − N)/N of the magnet as a whole.
    #[must_use]
    pub fn permeance(&self) -> f64 {
        (1.0 - self.magnetometric) / self.magnetometric
    }
}

/// The flux density at a place given from the magnet's centre, x, y and z (z along the
/// polarisation).
#[must_use]
pub fn flux_density(magnet: &Magnet, place: [Length; 3]) -> [FluxDensity; 3] {
    unit_field(magnet.shape(), place.map(Length::mm)).map(|b| magnet.polarisation() * b)
}

/// The demagnetising factors of a shape along its thickness.
///
/// Source of the disc's mean: 1 − Nagaoka's coefficient (Chen, Brug & Goldfarb, IEEE Trans. Magn.
/// 27 (1991) 3601); of the block's: see `block_block`; of the others: the field on the axis.
#[must_use]
pub fn demagnetising(shape: MagnetShape) -> Demagnetising {
    let half = shape.half_sizes_mm();
    let magnetometric = match shape {
        MagnetShape::Disc { .. } => {
            let (r, t) = (half[0], 2.0 * half[2]);
            let m = 4.0 * r * r / (4.0 * r * r + t * t);
            let (kc2, m32) = (1.0 - m, m.powf(1.5));
            let kc = t / (4.0 * r * r + t * t).sqrt();
            let (k, e) = (cel(kc, 1.0, 1.0, 1.0), cel(kc, 1.0, 1.0, kc * kc));
            let nagaoka =
                8.0 * r / (3.0 * PI * t) * ((2.0 * m - 1.0) / m32 * e + kc2 / m32 * k - 1.0);
            1.0 - nagaoka
        }
        MagnetShape::Block { .. } => block_block::own_factor(half),
    };
    // B = J (1 − N) on the axis.
    let own = |z: f64| 1.0 - unit_field(shape, [0.0, 0.0, z])[2];
    Demagnetising { magnetometric, centre: own(0.0), face_centre: own(half[2]) }
}

/// The flux index in kG² mm²: the square of the largest field straight off a pole, read
/// [`FLUX_INDEX_HEIGHT`] above it, times the pole's area. Compare with [`FLUX_INDEX_LIMIT`].
///
/// Source: 16 CFR 1262, method of ASTM F963 section 8.25.
#[must_use]
pub fn flux_index(magnet: &Magnet) -> f64 {
    let shape = magnet.shape();
    let [a, b, c] = shape.half_sizes_mm();
    let field = |x: f64, y: f64| unit_field(shape, [x, y, c + FLUX_INDEX_HEIGHT.mm()])[2];
    let (_, most) = match shape {
        MagnetShape::Disc { .. } => peak(0.0, a, |x| field(x, 0.0)),
        MagnetShape::Block { .. } => peak(0.0, a, |x| peak(0.0, b, |y| field(x, y)).1),
    };
    let kilogauss = KILOGAUSS_PER_TESLA * magnet.polarisation().tesla() * most;
    kilogauss * kilogauss * shape.pole_area().mm2()
}

/// Flux density in T at 1 T polarisation; place in millimetres from the centre.
fn unit_field(shape: MagnetShape, place: [f64; 3]) -> [f64; 3] {
    if let Some(field) = far::field(shape, place) {
        return field;
    }
    let half = shape.half_sizes_mm();
    match shape {
        MagnetShape::Block { .. } => block_block::field(half, place),
        MagnetShape::Disc { .. } => {
            let rho = place[0].hypot(place[1]);
            let [across, along] = disc_field(half[0], half[2], rho, place[2]);
            let part = |x: f64| if rho > 0.0 { across * x / rho } else { 0.0 };
            [part(place[0]), part(place[1]), along]
        }
    }
}

/// Derby & Olbert, eqs. for Bρ and Bz with their symbols.
fn disc_field(r: f64, b: f64, rho: f64, z: f64) -> [f64; 2] {
    let gamma = (r - rho) / (r + rho);
    let gamma = if gamma.abs() < RIM { RIM } else { gamma };
    let mut field = [0.0; 2];
    for (sign, z) in [(1.0, z + b), (-1.0, z - b)] {
        let s = z.hypot(r + rho);
        let kc = (z.hypot(r - rho) / s).max(RIM);
        field[0] += sign * r / s * cel(kc, 1.0, 1.0, -1.0);
        field[1] += sign * r / (r + rho) * z / s * cel(kc, gamma * gamma, 1.0, gamma);
    }
    field.map(|sum| sum / PI)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn magnet(spec: &str) -> Magnet {
        spec.parse().unwrap()
    }

    #[test]
    fn magnets_for_covers_are_far_above_the_toy_limit() {
        assert!(flux_index(&magnet("disc:20x3:N35")) > 40.0 * FLUX_INDEX_LIMIT);
    }

    #[test]
    fn the_field_is_finite_on_a_rim() {
        for place in [[10.0, 0.0, 1.5], [10.0, 0.0, 0.0], [0.0, 10.0, -1.5]] {
            let field = flux_density(&magnet("disc:20x3:N35"), place.map(Length::from_mm));
            assert!(field.iter().all(|b| b.tesla().abs() < 20.0), "{field:?}");
        }
    }

    #[test]
    fn near_and_far_forms_of_the_field_meet() {
        for spec in ["disc:20x3:1", "disc:10x40:1", "block:40x12x5:1", "block:10x10x10:1"] {
            let shape = magnet(spec).shape();
            for direction in [[0.0, 0.0, 1.0], [0.6, 0.0, 0.8], [0.36, 0.48, 0.8], [0.8, -0.6, 0.0]]
            {
                let edge = far::FIELD * shape.reach_mm();
                let [near, far] = [1.0 - 1e-12, 1.0 + 1e-12]
                    .map(|k| unit_field(shape, direction.map(|d: f64| d * k * edge)));
                let size = far.iter().map(|b| b * b).sum::<f64>().sqrt();
                for (a, b) in near.iter().zip(far) {
                    assert!((a - b).abs() < 2e-9 * size, "{spec} {direction:?}: {near:?} {far:?}");
                }
            }
        }
    }
}
