//! The force between a disc and a block, at any sideways offset.
//!
//! `F_x = −∮ Φ cos θ R dθ`, `F_y = −∮ Φ sin θ R dθ`, `F_z = ∮ G cos θ R dθ` round the rims of the
//! disc's two poles, times `± J1 J2 / (4π μ0)`, with for each pole of the block
//! `Φ = Σ ± [u ln(r+v) + v ln(r+u) − w arctan(u v / r w)]`,
//! `G = Σ ± [u arctan(u v / r w) + w ln(r+v)]`
//!
//! Φ is the potential of an evenly charged rectangle and `∂G/∂x = −∂Φ/∂w`; (u, v, w) leads from a
//! corner of the rectangle to the rim. The divergence theorem turns the integral of the field over
//! a pole of the disc into one round its rim, which leaves one smooth periodic integral.
//!
//! Source: charge model of Akoun & Yonnet (see `block_block`); the rim form is derived here.
//! Valid for gap > 0; unit permeability. Accuracy 1e-10: the trapezoid rule on a periodic analytic
//! function squares its error when doubled, and doubling stops once it changes less than 1e-7.

use std::f64::consts::{PI, TAU};

use crate::disc_disc::Disc;
use crate::pull::MU0;

/// Points round the rim at first.
const START: usize = 32;
/// Points round the rim at most; reached only below a hundredth of a millimetre of gap.
const MOST: usize = 1 << 20;
/// Change between doublings at which the last one is good to its square.
const SETTLED: f64 = 1e-7;

/// The force on the disc in N at 1 T each, with the disc above the block and `offset` to its axis
/// from the block's; `half` sizes of the block, all in millimetres.
pub(crate) fn force(disc: Disc, half: [f64; 3], gap: f64, offset: [f64; 2]) -> [f64; 3] {
    let mut n = START;
    let mut sum = round(disc, half, gap, offset, n, 0.0);
    loop {
        let between = round(disc, half, gap, offset, n, 0.5);
        let change = norm(std::array::from_fn(|i| sum[i] - between[i]));
        sum = std::array::from_fn(|i| sum[i] + between[i]);
        n *= 2;
        if change <= SETTLED * norm(sum) || n >= MOST {
            let scale = 1e-6 / (4.0 * PI * MU0) * disc.radius * TAU / n as f64;
            return sum.map(|s| scale * s);
        }
    }
}

/// Sum over n points of the rims, begun `shift` steps round.
fn round(
    disc: Disc,
    [a, b, c]: [f64; 3],
    gap: f64,
    offset: [f64; 2],
    n: usize,
    shift: f64,
) -> [f64; 3] {
    let (t, block) = (disc.thickness, 2.0 * c);
    // Heights of the disc's poles over the block's: like poles count positive.
    let heights = [(-1.0, gap), (1.0, gap + t), (1.0, gap + block), (-1.0, gap + t + block)];
    let mut sum = [0.0; 3];
    for i in 0..n {
        let (sin, cos) = (TAU * (i as f64 + shift) / n as f64).sin_cos();
        let (x, y) = (offset[0] + disc.radius * cos, offset[1] + disc.radius * sin);
        let (mut potential, mut lift) = (0.0, 0.0);
        for (sign, w) in heights {
            for (sign, u) in [(sign, x + a), (-sign, x - a)] {
                for (sign, v) in [(sign, y + b), (-sign, y - b)] {
                    let r = (u * u + v * v + w * w).sqrt();
                    let ln_plus = |s: f64, other: f64| {
                        if s < 0.0 {
                            ((other * other + w * w) / (r - s)).ln()
                        } else {
                            (r + s).ln()
                        }
                    };
                    let (ln_v, angle) = (ln_plus(v, u), (u * v / (r * w)).atan());
                    potential += sign * (u * ln_v + v * ln_plus(u, v) - w * angle);
                    lift += sign * (u * angle + w * ln_v);
                }
            }
        }
        sum[0] -= potential * cos;
        sum[1] -= potential * sin;
        sum[2] += lift * cos;
    }
    sum
}

fn norm([x, y, z]: [f64; 3]) -> f64 {
    x.hypot(y).hypot(z)
}
