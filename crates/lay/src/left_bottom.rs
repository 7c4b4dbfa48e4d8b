//! Pieces one after another, each as far left as it goes; then again in other orders.
//!
//! For a piece at one turn and one height on the roll, the slides at which it would overlap those
//! already laid are intervals (see `slices`); the leftmost gap between them is exact. Only the height
//! is searched: first at the heights where its edges align with others', and at even steps between;
//! then the best few are refined by halving steps. The order decides the rest, so the whole list is
//! laid by area, by length, by width, and then in orders that differ a little from the best one.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::problem::{Problem, Spot};
use crate::slices::HAIR;
use crate::{Effort, Progress};
use geometry::Length;

/// Even steps across the roll at which a piece is first tried.
const N_STEPS: usize = 24;
/// How many heights are refined for each turn.
const N_REFINED: usize = 3;

/// Lays the whole list `effort.rounds` times and keeps the shortest.
pub(crate) fn search(problem: &Problem, effort: &Effort) -> Vec<Spot> {
    let mut rng = ChaCha8Rng::seed_from_u64(effort.seed);
    let starts = starting_orders(problem);
    let mut best: Option<(f64, Vec<usize>, Vec<Spot>)> = None;
    for round in 0..effort.rounds.max(1) {
        if best.is_some() && !(effort.keep_going)() {
            break;
        }
        let order = match &best {
            Some((_, order, _)) if round >= starts.len() => varied(order, &mut rng),
            _ => starts[round].clone(),
        };
        let limit = best.as_ref().map_or(f64::INFINITY, |(length, ..)| *length);
        let stop = || best.is_some() && !(effort.keep_going)();
        if let Some(spots) = fill(problem, &order, limit, &stop) {
            best = Some((problem.length(&spots), order, spots));
        }
        let length = Length::from_mm(best.as_ref().map_or(0.0, |(length, ..)| *length));
        (effort.progress)(Progress { round: round + 1, rounds: effort.rounds, length });
    }
    best.expect("the first round always fills the roll").2
}

fn starting_orders(problem: &Problem) -> Vec<Vec<usize>> {
    let size = |shape: usize, axis: usize| {
        let t = &problem.turned[shape][0];
        t.max[axis] - t.min[axis]
    };
    let by = |key: &dyn Fn(usize) -> f64| {
        let mut order = problem.pieces();
        order.sort_by(|a, b| key(*b).total_cmp(&key(*a)));
        order
    };
    vec![
        by(&|s| problem.areas[s]),
        by(&|s| size(s, 0)),
        by(&|s| size(s, 1)),
        by(&|s| size(s, 0) + size(s, 1)),
    ]
}

/// The order with a few pieces moved or exchanged.
fn varied(order: &[usize], rng: &mut ChaCha8Rng) -> Vec<usize> {
    let mut order = order.to_vec();
    let n = order.len();
    for _ in 0..rng.random_range(1..=3) {
        let (i, j) = (rng.random_range(0..n), rng.random_range(0..n));
        if rng.random_bool(0.5) {
            order.swap(i, j);
        } else {
            let piece = order.remove(i);
            order.insert(j, piece);
        }
    }
    order
}

/// Lays the pieces in order; `None` once one stands beyond `limit` or `stop` says so.
fn fill(
    problem: &Problem,
    order: &[usize],
    limit: f64,
    stop: &dyn Fn() -> bool,
) -> Option<Vec<Spot>> {
    let mut spots = Vec::with_capacity(order.len());
    for &shape in order {
        if stop() {
            return None;
        }
        spots.push(best_spot(problem, &spots, shape, limit - HAIR)?);
    }
    Some(spots)
}

/// The place where the piece's right end is least, then its height; `None` beyond `limit`.
fn best_spot(problem: &Problem, laid: &[Spot], shape: usize, limit: f64) -> Option<Spot> {
    let mut best: Option<([f64; 2], Spot)> = None;
    let mut spans = Vec::new();
    for (turn, turned) in problem.turned[shape].iter().enumerate() {
        let low = -turned.min[1];
        let high = (problem.width - turned.max[1]).max(low);
        // The right end when the piece is raised by y, if it beats `limit`.
        let mut right_at = |y: f64, limit: f64| {
            leftmost(problem, laid, shape, turn, y, limit - turned.max[0], &mut spans)
                .map(|x| x + turned.max[0])
        };
        let mut tried: Vec<[f64; 2]> = heights(problem, laid, shape, turn, low, high)
            .into_iter()
            .filter_map(|y| right_at(y, limit).map(|right| [right, y]))
            .collect();
        tried.sort_by(|a, b| a.partial_cmp(b).expect("finite"));
        for start in tried.into_iter().take(N_REFINED) {
            let mut spot = start;
            let mut step = (high - low) / N_STEPS as f64;
            while step > 0.1 * HAIR {
                let beside = [spot[1] - step, spot[1] + step];
                let better = beside
                    .into_iter()
                    .map(|y| y.clamp(low, high))
                    .filter_map(|y| right_at(y, spot[0]).map(|right| [right, y]))
                    .find(|next| next[0] < spot[0] - HAIR);
                match better {
                    Some(next) => spot = next,
                    None => step /= 2.0,
                }
            }
            if best.as_ref().is_none_or(|(key, _)| spot < *key) {
                let at = [spot[0] - turned.max[0], spot[1]];
                best = Some((spot, Spot { shape, turn, at }));
            }
        }
    }
    best.map(|(_, spot)| spot)
}

/// Heights to try: the lowest and highest, even steps, and where edges align with those laid.
fn heights(
    problem: &Problem,
    laid: &[Spot],
    shape: usize,
    turn: usize,
    low: f64,
    high: f64,
) -> Vec<f64> {
    let mover = &problem.turned[shape][turn];
    let mut heights: Vec<f64> =
        (0..=N_STEPS).map(|i| low + (high - low) * i as f64 / N_STEPS as f64).collect();
    for spot in laid {
        let fixed = problem.turned_at(spot);
        let y = spot.at[1];
        heights.push(y + fixed.slices.reach[1] - mover.slices.reach[0]);
        heights.push(y + fixed.slices.reach[0] - mover.slices.reach[1]);
        heights.push(y + fixed.min[1] - mover.min[1]);
        heights.push(y + fixed.max[1] - mover.max[1]);
    }
    heights.retain(|y| (low..=high).contains(y));
    heights.sort_by(f64::total_cmp);
    heights.dedup_by(|b, a| *b - *a < HAIR);
    heights
}

/// The least slide at which the piece, raised by `y`, overlaps nothing; `None` beyond `limit`.
fn leftmost(
    problem: &Problem,
    laid: &[Spot],
    shape: usize,
    turn: usize,
    y: f64,
    limit: f64,
    spans: &mut Vec<[f64; 2]>,
) -> Option<f64> {
    let mover = &problem.turned[shape][turn];
    spans.clear();
    for spot in laid {
        let fixed = problem.turned_at(spot);
        fixed.slices.add_spans(&mover.slices, y - spot.at[1], spot.at[0], spans);
    }
    spans.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let mut x = -mover.min[0];
    for [l, r] in spans.iter() {
        if *l >= x - HAIR {
            // Intervals start further right from here on.
            break;
        }
        x = x.max(*r);
    }
    (x <= limit).then_some(x)
}
