//! The chance that a cover cut now fits.
//!
//! Outlines are drawn from the mixture of explanations (JCGM 101:2008, propagation by Monte Carlo);
//! for each, the cover is laid on it as well as it can be: the shift and small turn that keep the
//! largest departure smallest. It fits when its finished edge then lies nowhere more than the rule
//! allows outside or inside the glass edge.
//!
//! The best placement is a Chebyshev fit of three unknowns, found by Lawson's weighted least squares
//! (Lawson 1961): any weights give a lower bound on the best largest departure, and any placement
//! an upper one, so the search stops as soon as the answer is certain. Departures are linear in the
//! outline's parameters around the outline that is cut: exact to second order in them.

use nalgebra::{DMatrix, DVector, Matrix3, Vector3};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use crate::explain::Component;
use crate::model::EdgeMotion;
use crate::policy::Policy;

/// Draws outlines and tries the cover on them.
pub(crate) struct Trial<'a> {
    motion: &'a EdgeMotion,
    policy: &'a Policy,
    /// How the edge moves under a shift right, a shift up and a turn.
    placements: Vec<[f64; 3]>,
    /// Inverse of the placements' normal matrix with equal weights.
    first_inverse: Matrix3<f64>,
    /// Random numbers, a column each draw, shared by all trials so that differences between them
    /// are not noise.
    draws: DMatrix<f64>,
    /// Smooth departures of real glass from its outline, a column each draw.
    form: DMatrix<f64>,
}

/// Waves along the edge by which glass departs from its outline.
const N_WAVES: usize = 6;
/// Rounds of reweighting after which a placement counts as not found.
const MOST_ROUNDS: usize = 25;

impl<'a> Trial<'a> {
    pub(crate) fn new(motion: &'a EdgeMotion, policy: &'a Policy) -> Self {
        let n = motion.movement.ncols();
        let m = motion.points.len();
        let mut rng = ChaCha8Rng::seed_from_u64(policy.seed);
        let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
        let draws = DMatrix::from_fn(n, policy.n_samples, |_, _| normal());
        let waves = DMatrix::from_fn(2 * N_WAVES, policy.n_samples, |_, _| normal());
        let basis = DMatrix::from_fn(m, 2 * N_WAVES, |j, k| {
            let turn = std::f64::consts::TAU * (k / 2 + 2) as f64 * j as f64 / m as f64;
            if k % 2 == 0 { turn.cos() } else { turn.sin() }
        });
        let form = basis * waves * (policy.errors.form.mm() / (N_WAVES as f64).sqrt());
        let middle = {
            let (mut x, mut y) = (0.0, 0.0);
            motion.points.iter().for_each(|p| (x, y) = (x + p[0], y + p[1]));
            [x / m as f64, y / m as f64]
        };
        // Turns are measured in mm at one metre, to be of the size of the shifts.
        let placements: Vec<[f64; 3]> = motion
            .points
            .iter()
            .zip(&motion.normals)
            .map(|(p, q)| {
                let (x, y) = ((p[0] - middle[0]) / 1000.0, (p[1] - middle[1]) / 1000.0);
                [q[0], q[1], x * q[1] - y * q[0]]
            })
            .collect();
        let equal = vec![1.0; m];
        let first_inverse =
            normal_matrix(&placements, &equal).try_inverse().unwrap_or_else(Matrix3::zeros);
        Self { motion, policy, placements, first_inverse, draws, form }
    }

    /// The part of covers, cut to the outline with parameters `cut`, that fit panes drawn from the
    /// components; `part` of the draws are used. `covariance` tells how well a component knows the
    /// outline.
    pub(crate) fn chance(
        &self,
        components: &[(f64, &Component)],
        cut: &DVector<f64>,
        part: f64,
        covariance: impl Fn(&Component) -> DMatrix<f64>,
    ) -> f64 {
        let total: f64 = components.iter().map(|c| c.0).sum();
        if total <= 0.0 {
            return 0.0;
        }
        // Each component gets its share of the draws; small ones share by stratified sampling.
        let n = ((self.draws.ncols() as f64 * part).ceil() as usize).clamp(1, self.draws.ncols());
        let mut fits = 0;
        let (mut from, mut gathered) = (0, 0.0);
        for (weight, component) in components {
            gathered += weight / total * n as f64;
            let to = ((gathered + 0.5).floor() as usize).min(n);
            if to > from {
                fits += self.fits(component, covariance(component), cut, from, to - from);
                from = to;
            }
        }
        fits as f64 / from.max(1) as f64
    }

    /// How many of `count` draws from `first` on fit.
    fn fits(
        &self,
        component: &Component,
        covariance: DMatrix<f64>,
        cut: &DVector<f64>,
        first: usize,
        count: usize,
    ) -> usize {
        let n = self.motion.movement.ncols();
        let Some(factor) = covariance.cholesky() else { return 0 };
        let spread = &self.motion.movement * factor.l();
        let middle = &self.motion.movement * (component.state.rows(0, n) - cut.rows(0, n));
        let mut departures = spread * self.draws.columns(first, count);
        departures += self.form.columns(first, count);
        departures
            .column_iter_mut()
            .map(|mut column| {
                column += &middle;
                self.can_be_laid(column.as_slice())
            })
            .filter(|&fits| fits)
            .count()
    }

    /// Whether some placement keeps every departure of the glass edge within the rule.
    fn can_be_laid(&self, departure: &[f64]) -> bool {
        let rule = &self.policy.fit;
        // Finished edge is aim + departure − placement inside the glass edge.
        let high = rule.inside.mm() - rule.aim.mm();
        let low = -rule.outside.mm() - rule.aim.mm();
        let (middle, half) = (0.5 * (high + low), 0.5 * (high - low));
        let m = departure.len();
        let mut weights = vec![1.0 / m as f64; m];
        for round in 0..MOST_ROUNDS {
            let mut right = Vector3::zeros();
            for ((w, p), d) in weights.iter().zip(&self.placements).zip(departure) {
                let pull = w * (d - middle);
                right += Vector3::new(p[0] * pull, p[1] * pull, p[2] * pull);
            }
            let placed = if round == 0 {
                self.first_inverse * right * m as f64
            } else {
                match normal_matrix(&self.placements, &weights).cholesky() {
                    Some(factor) => factor.solve(&right),
                    None => return false,
                }
            };
            let (mut largest, mut squares, mut sum): (f64, f64, f64) = (0.0, 0.0, 0.0);
            for ((w, p), d) in weights.iter_mut().zip(&self.placements).zip(departure) {
                let laid = p[0] * placed[0] + p[1] * placed[1] + p[2] * placed[2];
                let left = (d - middle - laid).abs();
                largest = largest.max(left);
                squares += *w * left * left;
                *w *= left + 1e-12;
                sum += *w;
            }
            if largest <= half {
                return true;
            }
            // The weighted root mean square is never more than the best largest departure.
            if squares.sqrt() > half {
                return false;
            }
            weights.iter_mut().for_each(|w| *w /= sum);
        }
        false
    }
}

fn normal_matrix(placements: &[[f64; 3]], weights: &[f64]) -> Matrix3<f64> {
    let mut s = [0.0; 6];
    for (w, p) in weights.iter().zip(placements) {
        let q = [w * p[0], w * p[1], w * p[2]];
        s[0] += q[0] * p[0];
        s[1] += q[0] * p[1];
        s[2] += q[0] * p[2];
        s[3] += q[1] * p[1];
        s[4] += q[1] * p[2];
        s[5] += q[2] * p[2];
    }
    let tiny = 1e-12;
    Matrix3::new(s[0] + tiny, s[1], s[2], s[1], s[3] + tiny, s[4], s[2], s[4], s[5] + tiny)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square() -> EdgeMotion {
        let (mut points, mut normals) = (Vec::new(), Vec::new());
        for k in 0..10 {
            let t = 100.0 * f64::from(k) - 450.0;
            for (p, n) in [
                ([t, -500.0], [0.0, -1.0]),
                ([500.0, t], [1.0, 0.0]),
                ([t, 500.0], [0.0, 1.0]),
                ([-500.0, t], [-1.0, 0.0]),
            ] {
                points.push(p);
                normals.push(n);
            }
        }
        EdgeMotion {
            movement: DMatrix::zeros(points.len(), 1),
            points,
            normals,
            origin: [0.0, 0.0],
            origin_movement: DMatrix::zeros(2, 1),
        }
    }

    #[test]
    fn a_shifted_or_turned_pane_fits_and_a_larger_one_does_not() {
        let motion = square();
        let policy = Policy::starting();
        let trial = Trial::new(&motion, &policy);
        let of =
            |f: &dyn Fn(usize) -> f64| -> Vec<f64> { (0..motion.points.len()).map(f).collect() };
        let shifted = of(&|j| 80.0 * motion.normals[j][0] - 30.0 * motion.normals[j][1]);
        assert!(trial.can_be_laid(&shifted));
        let turned = of(&|j| {
            let (p, n) = (motion.points[j], motion.normals[j]);
            0.05 * (p[0] * n[1] - p[1] * n[0])
        });
        assert!(trial.can_be_laid(&turned));
        assert!(trial.can_be_laid(&of(&|_| 6.9)));
        assert!(!trial.can_be_laid(&of(&|_| 7.1)));
        // One side 13.8 mm too long is shared out between both sides; 14.2 mm cannot be.
        let wide = |by: f64| of(&|j| if motion.normals[j][0] > 0.5 { by } else { 0.0 });
        assert!(trial.can_be_laid(&wide(13.8)));
        assert!(!trial.can_be_laid(&wide(14.2)));
    }
}
