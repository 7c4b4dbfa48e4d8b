//! How cloth answers to being stretched: it pulls back, and never pushes.
//!
//! `W(E) = ½ E : D E` with Green's strain E and a plane, orthotropic stiffness D, relaxed so that no
//! direction is ever pressed (tension field): `W*(E) = min over S ⪰ 0 of W(E + S)`, S being the depth
//! of wrinkles. Three cases follow:
//!
//! - taut, where both principal tensions of `D E` are positive: `W* = W`;
//! - slack, where no direction is stretched (E ⪯ 0): `W* = 0`;
//! - wrinkled else: `W* = max over θ of ½ E_tt² / c(θ)` with strain `E_tt = t·E t` along `t(θ)` and
//!   compliance `c = tt : D⁻¹ : tt`, a tension `τ = E_tt / c` along t alone.
//!
//! W* is convex in E and never falls as E grows, hence convex in the places of the nodes: the loaded
//! cloth has one energy, whatever the start, and its Hessian is never negative.
//!
//! Symbols: strains as (E11, E22, 2 E12), tensions as (T11, T22, T12) in N/mm, 1 along the weft (x),
//! 2 along the warp (y); ν is the weft's share of Poisson's effect, ν12 with ν12 E2 = ν21 E1.
//! Valid for strains of a few per cent, such as wind brings about; ignores creep, friction between
//! yarns and the stiffness of cloth to bending.
//!
//! Source: A. C. Pipkin, "The relaxed energy density for isotropic elastic membranes", IMA J. Appl.
//! Math. 36 (1986); the extension to orthotropic cloth as a convex programme is our derivation.

use std::f64::consts::PI;

use crate::{HoldError, Tension};

/// Stiffness of a cloth in its plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fabric {
    stiffness: [[f64; 3]; 3],
    compliance: [[f64; 3]; 3],
    /// Directions tried for the tension of wrinkled cloth, and the stiffness along each.
    tried: [([f64; 3], f64); N_TRIED],
}

/// What cloth does at one strain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Response {
    /// Energy for each mm² of cloth, N/mm.
    pub(crate) energy: f64,
    /// Tension, N/mm: along x, along y, shear.
    pub(crate) tension: [f64; 3],
    /// Its growth with strain.
    pub(crate) growth: [[f64; 3]; 3],
}

impl Fabric {
    /// Cloth that stretches alike in every direction: stiffness (tension for each unit of strain)
    /// and Poisson's ratio.
    ///
    /// # Errors
    /// When the stiffness is not positive or Poisson's ratio not from 0 to below 1.
    pub fn even(stiffness: Tension, poisson: f64) -> Result<Self, HoldError> {
        let shear = stiffness / (2.0 * (1.0 + poisson.clamp(0.0, 1.0)));
        Self::woven(stiffness, stiffness, poisson, shear)
    }

    /// Cloth that stretches differently across the pane (x), up the pane (y) and askew.
    ///
    /// # Errors
    /// When a stiffness is not positive, or Poisson's ratio (of a pull along x) not from 0 to below
    /// what the two stiffnesses allow.
    pub fn woven(
        across: Tension,
        up: Tension,
        poisson: f64,
        shear: Tension,
    ) -> Result<Self, HoldError> {
        let (e1, e2, g) = (across.n_per_mm(), up.n_per_mm(), shear.n_per_mm());
        let both = 1.0 - poisson * poisson * e2 / e1;
        if !(e1 > 0.0 && e2 > 0.0 && g > 0.0 && poisson >= 0.0 && both > 0.0) {
            return Err(HoldError::Cloth { across, up, shear, poisson });
        }
        let (d11, d22, d12) = (e1 / both, e2 / both, poisson * e2 / both);
        let compliance =
            [[1.0 / e1, -poisson / e1, 0.0], [-poisson / e1, 1.0 / e2, 0.0], [0.0, 0.0, 1.0 / g]];
        Ok(Self {
            stiffness: [[d11, d12, 0.0], [d12, d22, 0.0], [0.0, 0.0, g]],
            compliance,
            tried: std::array::from_fn(|k| {
                let t = along(PI * k as f64 / N_TRIED as f64);
                (t, 1.0 / dot(t, times(&compliance, t)))
            }),
        })
    }

    /// Mean of its two stiffnesses, for estimates.
    pub(crate) fn mean_stiffness(&self) -> f64 {
        0.5 * (1.0 / self.compliance[0][0] + 1.0 / self.compliance[1][1])
    }

    pub(crate) fn response(&self, strain: [f64; 3]) -> Response {
        let tension = times(&self.stiffness, strain);
        if is_positive(tension[0], tension[1], tension[2]) {
            let energy = 0.5 * dot(strain, tension);
            return Response { energy, tension, growth: self.stiffness };
        }
        if is_positive(-strain[0], -strain[1], -0.5 * strain[2]) {
            return Response { energy: 0.0, tension: [0.0; 3], growth: [[0.0; 3]; 3] };
        }
        self.wrinkled(strain)
    }

    /// Tension along the one direction that stores the most energy.
    fn wrinkled(&self, strain: [f64; 3]) -> Response {
        let stored = |theta: f64| {
            let t = along(theta);
            let stretch = dot(t, strain).max(0.0);
            0.5 * stretch * stretch / dot(t, times(&self.compliance, t))
        };
        // The principal direction of strain is exact for even cloth, near for most other; the rest
        // of the list finds the right hill where a woven cloth has several.
        let principal = 0.5 * strain[2].atan2(strain[0] - strain[1]);
        let mut theta = principal;
        let mut best = stored(theta);
        for (k, (t, stiffness)) in self.tried.iter().enumerate() {
            let stretch = dot(*t, strain).max(0.0);
            let value = 0.5 * stretch * stretch * stiffness;
            if value > best {
                (theta, best) = (PI * k as f64 / N_TRIED as f64, value);
            }
        }
        let mut steps = 0;
        loop {
            let (s2, c2) = (2.0 * theta).sin_cos();
            let t = along(theta);
            let (t1, t2) = ([-s2, s2, c2], [-2.0 * c2, 2.0 * c2, -2.0 * s2]);
            let (a, a1, a2) = (dot(t, strain), dot(t1, strain), dot(t2, strain));
            let st = times(&self.compliance, t);
            let st1 = times(&self.compliance, t1);
            let (c, c1) = (dot(t, st), 2.0 * dot(t1, st));
            let c2nd = 2.0 * (dot(t2, st) + dot(t1, st1));
            let slope = a * a1 / c - 0.5 * a * a * c1 / (c * c);
            let second =
                (a1 * a1 + a * a2) / c - 2.0 * a * a1 * c1 / (c * c) - 0.5 * a * a * c2nd / (c * c)
                    + a * a * c1 * c1 / (c * c * c);
            let step = if second < 0.0 { -slope / second } else { 0.1 * slope.signum() };
            let step = step.clamp(-0.2, 0.2);
            steps += 1;
            if step.abs() < SAME_DIRECTION || steps > 20 {
                let tau = a / c;
                let mixed: [f64; 3] =
                    std::array::from_fn(|i| (a1 / c - a * c1 / (c * c)) * t[i] + tau * t1[i]);
                let turn = if second < 0.0 { -1.0 / second } else { 0.0 };
                return Response {
                    energy: 0.5 * a * tau,
                    tension: t.map(|part| tau * part),
                    growth: std::array::from_fn(|i| {
                        std::array::from_fn(|j| t[i] * t[j] / c + turn * mixed[i] * mixed[j])
                    }),
                };
            }
            // Newton's step is halved until it climbs.
            let mut part = step;
            while stored(theta + part) < best && part.abs() > 1e-11 {
                part *= 0.5;
            }
            theta += part;
            best = best.max(stored(theta));
        }
    }
}

/// Directions tried for the tension of wrinkled cloth. Chosen by us: 15° apart is finer than the
/// hills of any woven cloth.
const N_TRIED: usize = 12;

/// A turn, in radians, that is none. Chosen by us: it moves a tension by 1e-9 of itself.
const SAME_DIRECTION: f64 = 1e-9;

/// The strain that counts along a direction, as parts of E11, E22 and 2 E12.
fn along(theta: f64) -> [f64; 3] {
    let (s, c) = theta.sin_cos();
    [c * c, s * s, s * c]
}

/// Whether a symmetric 2×2 matrix has no negative principal value.
fn is_positive(xx: f64, yy: f64, xy: f64) -> bool {
    xx >= 0.0 && yy >= 0.0 && xx * yy >= xy * xy
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn times(m: &[[f64; 3]; 3], v: [f64; 3]) -> [f64; 3] {
    m.map(|row| dot(row, v))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn kn(value: f64) -> Tension {
        Tension::from_n_per_mm(value)
    }

    #[test]
    fn a_strip_pulled_one_way_wrinkles_and_pulls_as_its_stiffness_says() {
        // Narrowing by more than Poisson's share: only the pull along x remains.
        let even = Fabric::even(kn(100.0), 0.3).unwrap();
        let r = even.response([0.01, -0.02, 0.0]);
        assert!((r.tension[0] - 1.0).abs() < 1e-12 && r.tension[1].abs() < 1e-12);
        let woven = Fabric::woven(kn(200.0), kn(80.0), 0.2, kn(5.0)).unwrap();
        let r = woven.response([-0.03, 0.01, 0.0]);
        assert!((r.tension[1] - 0.8).abs() < 1e-9 && r.tension[0].abs() < 1e-9);
    }

    #[test]
    fn pushed_cloth_does_nothing() {
        let woven = Fabric::woven(kn(200.0), kn(80.0), 0.2, kn(5.0)).unwrap();
        let r = woven.response([-0.01, -0.02, 0.005]);
        assert_eq!((r.energy, r.tension), (0.0, [0.0; 3]));
    }

    #[test]
    fn impossible_cloth_is_refused() {
        assert!(Fabric::even(kn(0.0), 0.3).is_err());
        assert!(Fabric::even(kn(100.0), 1.0).is_err());
        assert!(Fabric::woven(kn(10.0), kn(100.0), 0.4, kn(5.0)).is_err());
    }

    proptest! {
        #[test]
        fn tension_is_the_slope_of_energy_and_never_pushes(
            e in prop::array::uniform3(-0.02..0.02f64),
            (up, shear, nu) in (40.0..200.0f64, 2.0..60.0f64, 0.0..0.4f64),
        ) {
            let fabric = Fabric::woven(kn(100.0), kn(up), nu, kn(shear)).unwrap();
            let r = fabric.response(e);
            let [a, b, c] = r.tension;
            let scale = 1e-9 * (1.0 + a.abs() + b.abs());
            prop_assert!(a >= -scale && b >= -scale && a * b - c * c >= -scale, "{:?}", r);
            let h = 1e-7;
            for i in 0..3 {
                let at = |d: f64| {
                    let mut moved = e;
                    moved[i] += d;
                    fabric.response(moved).energy
                };
                let slope = (at(h) - at(-h)) / (2.0 * h);
                prop_assert!((slope - r.tension[i]).abs() < 2e-5, "{} {} {:?}", i, slope, r);
            }
        }

        #[test]
        fn energy_is_convex(
            e in prop::array::uniform3(-0.02..0.02f64),
            f in prop::array::uniform3(-0.02..0.02f64),
        ) {
            let fabric = Fabric::woven(kn(100.0), kn(60.0), 0.2, kn(4.0)).unwrap();
            let middle = std::array::from_fn(|i| 0.5 * (e[i] + f[i]));
            let mean = 0.5 * (fabric.response(e).energy + fabric.response(f).energy);
            prop_assert!(fabric.response(middle).energy <= mean + 1e-12);
        }
    }
}
