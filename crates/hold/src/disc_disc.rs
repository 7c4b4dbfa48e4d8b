//! The force between two discs with parallel axes, at any sideways offset.
//!
//! `F_z = C ∫ w J0(k d) dk`, `F_ρ = C ∫ w J1(k d) dk` over k from 0 to ∞, `C = π J1 J2 R1 R2 / μ0`,
//! `w = J1(k R1) J1(k R2) e^{−k g} (1 − e^{−k t1}) (1 − e^{−k t2}) / k`
//!
//! g gap, d offset, R radii, t thicknesses (mm), k wave number (1/mm), J polarisations (T).
//!
//! Source: the Hankel-transform form of Vokoun, Beleggia, Heller & Šittner, *Magnetostatic
//! interactions and forces between cylindrical permanent magnets*, J. Magn. Magn. Mater. 321 (2009)
//! 3758, here for unequal discs. Valid for g > 0; unit permeability, even magnetisation.
//!
//! Accuracy 1e-10 of the force (tested over random pairs against rules of twice the order, and in
//! `checks` against values of 40 digits). The integrand is entire and dies as `e^{−k g}`, so
//! Gauss-Legendre converges faster than any geometric series once twice the points outnumber the
//! radians of phase in half a panel; [`Plan`] sets the cut and the points from that.

use std::f64::consts::PI;

use crate::bessel::Bessel;
use crate::pull::MU0;
use crate::quadrature::{MOST_POINTS, gauss};

/// Radius and thickness, in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Disc {
    pub(crate) radius: f64,
    pub(crate) thickness: f64,
}

/// Force in N at 1 T each, as (pull, part that draws back to centre).
pub(crate) fn force(one: Disc, two: Disc, gap: f64, offset: f64) -> (f64, f64) {
    integrate(one, two, gap, offset, Plan::new(one, two, gap, offset))
}

/// Where the integral is cut, and how it is divided.
#[derive(Clone, Copy, Debug)]
struct Plan {
    cut: f64,
    panels: usize,
    points: usize,
}

impl Plan {
    fn new(one: Disc, two: Disc, gap: f64, offset: f64) -> Self {
        // `envelope` is w without e^{−k g}. Beyond the cut the integrand is below e^{−25} of its
        // height at k = 3/g, about where it is highest for a thin, distant pair.
        let envelope = |k: f64| {
            let grown = |x: f64| (k * x).min(1.0);
            grown(one.radius) * grown(two.radius) * grown(one.thickness) * grown(two.thickness) / k
        };
        let cut = (28.0 + (envelope(28.0 / gap) / envelope(3.0 / gap)).ln()) / gap;
        // Over half the range: radians of the fastest oscillation, e-foldings of the fastest decay.
        let phase = 0.5 * cut * (one.radius + two.radius + offset);
        let decay = 0.5 * cut * (gap + one.thickness + two.thickness);
        let panels = (phase / MOST_PHASE).max(decay / MOST_DECAY).ceil().max(1.0);
        let (phase, decay) = (phase / panels, decay / panels);
        let lag = if panels > 1.0 { LAG_EVEN } else { LAG_DAMPED };
        let points = 0.5 * (phase * phase + 35.0 * decay).sqrt() + lag * phase.cbrt() + 6.0;
        Self { cut, panels: panels as usize, points: (points.ceil() as usize).min(MOST_POINTS) }
    }
}

/// Radians of phase and e-foldings of decay over half a panel at most, so that no panel needs more
/// than [`MOST_POINTS`].
const MOST_PHASE: f64 = 160.0;
const MOST_DECAY: f64 = 300.0;

/// Points for each cube root of the phase ω, beyond half a point a radian: n = ω/2 + 4.4 ω^{1/3}
/// brings J_2n(ω), a coefficient of `e^{iωx}`, to e^{−25} (Abramowitz & Stegun 9.3.23). Even panels
/// were found to need 3.7, and one panel that holds the whole decay 1.9. Like the 35 and 6 above,
/// fitted to 3000 random pairs.
const LAG_EVEN: f64 = 3.9;
const LAG_DAMPED: f64 = 2.0;

fn integrate(one: Disc, two: Disc, gap: f64, offset: f64, plan: Plan) -> (f64, f64) {
    let bessel = Bessel::new();
    let half = 0.5 * plan.cut / plan.panels as f64;
    let (mut pull, mut back) = (0.0, 0.0);
    for panel in 0..plan.panels {
        let middle = half * (2 * panel + 1) as f64;
        for &[x, weight] in gauss(plan.points) {
            let k = middle + half * x;
            let near = |t: f64| 1.0 - (-k * t).exp();
            let (j_one, p_one) = (bessel.j1(k * one.radius), near(one.thickness));
            let j_two = if two.radius == one.radius { j_one } else { bessel.j1(k * two.radius) };
            let p_two = if two.thickness == one.thickness { p_one } else { near(two.thickness) };
            let w = weight * j_one * j_two * (-k * gap).exp() * p_one * p_two / k;
            let (j0, j1) = bessel.both(k * offset);
            pull += w * j0;
            back += w * j1;
        }
    }
    let scale = 1e-6 * PI * one.radius * two.radius / MU0 * half;
    (scale * pull, scale * back)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]
        /// A longer cut and twice the points change nothing in ten digits.
        #[test]
        fn the_plan_is_good_to_ten_digits(
            r1 in 1.0..30.0_f64, ratio in 0.2..5.0_f64,
            t1 in 0.3..40.0_f64, t2 in 0.3..40.0_f64,
            log_gap in -1.0..2.0_f64, side in 0.0..2.5_f64,
        ) {
            let (one, two) = (
                Disc { radius: r1, thickness: t1 },
                Disc { radius: r1 * ratio, thickness: t2 },
            );
            let (gap, offset) = (10_f64.powf(log_gap), side * (one.radius + two.radius));
            let plan = Plan::new(one, two, gap, offset);
            let finer = Plan { cut: 1.6 * plan.cut, panels: 2 * plan.panels, points: MOST_POINTS };
            let (a, b) = integrate(one, two, gap, offset, plan);
            let (x, y) = integrate(one, two, gap, offset, finer);
            let error = (a - x).hypot(b - y) / x.hypot(y);
            prop_assert!(error < 1e-10, "{one:?} {two:?} {gap} {offset} {plan:?}: {error:e}");
        }
    }
}
