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
        // The principal direction of strain is exact for even cloth, near for most other; the rest
        // of the list finds the right hill where a woven cloth has several.
        let mut towards = Direction::principal(strain);
        let mut best = 2.0 * self.stretched(towards, strain).energy();
        for &(t, stiffness) in &self.tried {
            let stretch = dot(t, strain).max(0.0);
            let twice = stretch * stretch * stiffness;
            if twice > best {
                (towards, best) = (Direction::of(t), twice);
            }
        }
        best *= 0.5;
        let (mut from, mut step) = (towards, 0.0_f64);
        for _ in 0..MOST_TURNS {
            let at = self.stretched(towards, strain);
            // Newton's step is halved until it climbs.
            if at.energy() < best && step.abs() > LEAST_TURN {
                step *= 0.5;
                towards = from.turned(step);
                continue;
            }
            let is_last = step != 0.0 && step.abs() < SMALL_TURN;
            best = best.max(at.energy());
            let next =
                if at.second < 0.0 { -at.slope / at.second } else { 0.1 * at.slope.signum() };
            if is_last || next.abs() < LEAST_TURN {
                return at.response();
            }
            (from, step) = (towards, next.clamp(-0.2, 0.2));
            towards = from.turned(step);
        }
        self.stretched(towards, strain).response()
    }

    /// Cloth that pulls along one direction only, and how its energy changes as that turns.
    fn stretched(&self, Direction([c2, s2]): Direction, strain: [f64; 3]) -> Stretched {
        let t = [0.5 * (1.0 + c2), 0.5 * (1.0 - c2), 0.5 * s2];
        let (t1, t2) = ([-s2, s2, c2], [-2.0 * c2, 2.0 * c2, -2.0 * s2]);
        let (a, a1, a2) = (dot(t, strain), dot(t1, strain), dot(t2, strain));
        let (st, st1) = (times(&self.compliance, t), times(&self.compliance, t1));
        let (c, c1) = (dot(t, st), 2.0 * dot(t1, st));
        let c2nd = 2.0 * (dot(t2, st) + dot(t1, st1));
        let (tension, part) = (a / c, c1 / c);
        Stretched {
            t,
            t1,
            compliance: c,
            stretch: a,
            tension,
            tension_turned: a1 / c - tension * part,
            slope: tension * (a1 - 0.5 * a * part),
            second: (a1 * a1 + a * a2) / c
                - 2.0 * tension * a1 * part
                - 0.5 * tension * tension * c2nd
                + tension * a * part * part,
        }
    }
}

/// A direction in the cloth, by cosine and sine of twice its angle from across: it and its opposite are one.
#[derive(Clone, Copy)]
struct Direction([f64; 2]);

impl Direction {
    /// The principal direction of a strain.
    fn principal([across, up, askew]: [f64; 3]) -> Self {
        let (x, y) = (across - up, askew);
        let size = (x * x + y * y).sqrt();
        if size > 0.0 { Self([x / size, y / size]) } else { Self([1.0, 0.0]) }
    }

    /// From how much of E11, E22 and 2 E12 counts along it.
    fn of(t: [f64; 3]) -> Self {
        Self([t[0] - t[1], 2.0 * t[2]])
    }

    /// Turned by about that many radians, the nearer the smaller the turn: by twice its arctangent.
    fn turned(self, by: f64) -> Self {
        let Self([x, y]) = self;
        let size = 1.0 + by * by;
        let (c, s) = ((1.0 - by * by) / size, 2.0 * by / size);
        Self([c * x - s * y, s * x + c * y])
    }
}

/// Cloth pulled along one direction.
struct Stretched {
    /// What counts along the direction, as parts of E11, E22 and 2 E12, and how it changes as it turns.
    t: [f64; 3],
    t1: [f64; 3],
    /// Strain along it for a unit of tension.
    compliance: f64,
    stretch: f64,
    tension: f64,
    tension_turned: f64,
    /// First and second change of energy as it turns.
    slope: f64,
    second: f64,
}

impl Stretched {
    /// Energy; none where it would push.
    fn energy(&self) -> f64 {
        0.5 * self.stretch.max(0.0) * self.tension
    }

    fn response(&self) -> Response {
        let Self { t, t1, tension, .. } = *self;
        let mixed: [f64; 3] = std::array::from_fn(|i| self.tension_turned * t[i] + tension * t1[i]);
        let turn = if self.second < 0.0 { -1.0 / self.second } else { 0.0 };
        let row = |i: usize| {
            std::array::from_fn(|j| t[i] * t[j] / self.compliance + turn * mixed[i] * mixed[j])
        };
        Response {
            energy: 0.5 * self.stretch * tension,
            tension: t.map(|part| tension * part),
            growth: std::array::from_fn(row),
        }
    }
}

/// Directions tried for the tension of wrinkled cloth. Chosen by us: 15° apart is finer than the
/// hills of any woven cloth.
const N_TRIED: usize = 12;

/// A turn, in radians, that is none. Chosen by us: it moves a tension by 1e-9 of itself.
const LEAST_TURN: f64 = 1e-9;
/// A turn after which the next would be none, as Newton's steps square what is left.
const SMALL_TURN: f64 = 1e-5;
/// Most directions looked at. Chosen by us: three times what was seen to be needed.
const MOST_TURNS: usize = 30;

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
