//! Whether a cover cut to an outline fits a piece of glass: the same rule, by other means.
//!
//! Departures are distances from points of the cut outline to the true edge; the best shift and turn
//! are sought by weighted least squares whose weights grow with the departure (Lawson 1961), with
//! the distances measured anew as the cover moves.

use geometry::{Length, Outline};
use nalgebra::{Matrix3, Vector3};
use survey::FitRule;

use crate::glass::Glass;

/// Rounds in which the cover is moved and its distances measured anew.
const N_MOVES: usize = 3;
/// Rounds of weighting in each.
const N_ROUNDS: usize = 60;

pub(crate) fn fits(outline: &Outline, glass: &Glass, rule: &FitRule) -> bool {
    let path = outline.path();
    let cut: Vec<[f64; 2]> =
        path.flatten(Length::from_mm(0.15)).into_iter().map(|p| p.mm()).collect();
    let middle = |points: &[[f64; 2]]| {
        let (low, high) = points.iter().fold(([f64::MAX; 2], [f64::MIN; 2]), |(l, h), p| {
            ([0, 1].map(|k| l[k].min(p[k])), [0, 1].map(|k| h[k].max(p[k])))
        });
        [0, 1].map(|k| 0.5 * (low[k] + high[k]))
    };
    let (from, to) = (middle(&cut), middle(&glass.points));
    let cut = thinned(&cut, 40.0);
    // How far the finished edge may depart from where it is aimed, either way of the middle.
    let high = rule.outside.mm() + rule.aim.mm();
    let low = rule.aim.mm() - rule.inside.mm();
    let (centre, half) = (0.5 * (high + low), 0.5 * (high - low));
    let mut laid: Vec<[f64; 2]> =
        cut.iter().map(|p| [0, 1].map(|k| p[k] - from[k] + to[k])).collect();
    for _ in 0..N_MOVES {
        let measured: Vec<(f64, [f64; 3])> = laid
            .iter()
            .map(|&p| {
                let (off, n) = departure(&glass.points, p);
                let (x, y) = ((p[0] - to[0]) / 1000.0, (p[1] - to[1]) / 1000.0);
                (off - centre, [n[0], n[1], x * n[1] - y * n[0]])
            })
            .collect();
        let largest = measured.iter().map(|m| m.0.abs()).fold(0.0, f64::max);
        if largest <= half {
            return true;
        }
        let Some(step) = best_move(&measured) else { return false };
        let turn = (step[2] / 1000.0).sin_cos();
        for p in &mut laid {
            let (x, y) = (p[0] - to[0], p[1] - to[1]);
            *p = [
                to[0] + x * turn.1 - y * turn.0 + step[0],
                to[1] + x * turn.0 + y * turn.1 + step[1],
            ];
        }
    }
    laid.iter().all(|&p| (departure(&glass.points, p).0 - centre).abs() <= half + 0.01)
}

/// Points at most so far apart, mm, along a closed line.
fn thinned(line: &[[f64; 2]], apart: f64) -> Vec<[f64; 2]> {
    let n = line.len();
    (0..n)
        .flat_map(|i| {
            let (a, b) = (line[i], line[(i + 1) % n]);
            let parts = ((b[0] - a[0]).hypot(b[1] - a[1]) / apart).ceil().max(1.0) as usize;
            (0..parts).map(move |k| {
                let t = k as f64 / parts as f64;
                [a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t]
            })
        })
        .collect()
}

/// The shift and turn that lessen the largest departure.
fn best_move(measured: &[(f64, [f64; 3])]) -> Option<Vector3<f64>> {
    let mut weights = vec![1.0 / measured.len() as f64; measured.len()];
    let mut best = (f64::MAX, Vector3::zeros());
    for _ in 0..N_ROUNDS {
        let (mut normal, mut right) = (Matrix3::zeros(), Vector3::zeros());
        for (w, (off, p)) in weights.iter().zip(measured) {
            let p = Vector3::from(*p);
            normal += p * p.transpose() * *w;
            right -= p * (*w * off);
        }
        let step = (normal + Matrix3::identity() * 1e-12).cholesky()?.solve(&right);
        let left = |(off, p): &(f64, [f64; 3])| (off + Vector3::from(*p).dot(&step)).abs();
        let largest = measured.iter().map(left).fold(0.0, f64::max);
        if largest < best.0 {
            best = (largest, step);
        }
        let mut sum = 0.0;
        for (w, m) in weights.iter_mut().zip(measured) {
            *w *= left(m) + 1e-9;
            sum += *w;
        }
        weights.iter_mut().for_each(|w| *w /= sum);
    }
    Some(best.1)
}

/// How far a point stands outside the edge of the glass, and the outward normal there. The nearest
/// place lies beside the nearest of the edge's points, which are close together.
fn departure(edge: &[[f64; 2]], p: [f64; 2]) -> (f64, [f64; 2]) {
    let n = edge.len();
    let away = |q: &[f64; 2]| (p[0] - q[0]).powi(2) + (p[1] - q[1]).powi(2);
    let (mut nearest, mut least) = (0, f64::MAX);
    for (i, q) in edge.iter().enumerate() {
        let away = away(q);
        if away < least {
            (nearest, least) = (i, away);
        }
    }
    let mut best = (f64::MAX, 0.0, [0.0; 2]);
    for i in (0..4).map(|k| (nearest + n + k - 2) % n) {
        let (a, b) = (edge[i], edge[(i + 1) % n]);
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let (x, y) = (p[0] - a[0], p[1] - a[1]);
        let square = dx * dx + dy * dy;
        if square < 1e-18 {
            continue;
        }
        let t = ((x * dx + y * dy) / square).clamp(0.0, 1.0);
        let away = (x - t * dx).powi(2) + (y - t * dy).powi(2);
        if away < best.0 {
            let length = square.sqrt();
            best = (away, (x * dy - y * dx) / length, [dy / length, -dx / length]);
        }
    }
    (best.0.sqrt().copysign(best.1), best.2)
}
