//! Which spots of the edge get a grip: so many of them, each bearing about the same.
//!
//! Least `Σ (demand between neighbours)²` over all closed paths of n steps through the spots, found
//! exactly by dynamic programming: a path that visits every corner, whose neighbours lie at least so
//! far apart in a straight line and, where asked, at most so far apart along the edge. The straight line
//! counts because two places on either side of a corner, each well in from its own edge, may be one
//! and the same. Grips that are no neighbours come near each other in sharp corners and narrow panes
//! alone; there the one with the smaller demand is taken out and the path found anew.
//!
//! Symbols: demand `d_k` of spot k (any unit, above nothing); what lies between two spots counts half
//! and half, and a stretch without spots as much as its neighbours. n grips, m spots: `O(n m²)`.
//! Source: our own method.

use geometry::Length;

use crate::{Places, Spot};

/// What a layout is asked to keep to.
#[derive(Clone, Copy, Debug)]
pub struct LayoutAsk<'a> {
    /// Where grips could be.
    pub places: &'a Places,
    /// Length of the glass edge all round.
    pub round: Length,
    /// How far apart the spots are where one follows another.
    pub step: Length,
    /// Least distance between any two grips.
    pub least_apart: Length,
    /// Farthest along the edge from one grip to the next, where there are spots between.
    pub most_apart: Option<Length>,
}

impl LayoutAsk<'_> {
    /// The best n spots for a demand at every spot, in the order of the edge; nothing where so many
    /// cannot be laid out.
    #[must_use]
    pub fn best(&self, demand: &[f64], n: usize) -> Option<Vec<usize>> {
        let spots = &self.places.spots;
        if n == 0 || n > spots.len() || demand.len() != spots.len() {
            return None;
        }
        let mut open = vec![true; spots.len()];
        loop {
            let chosen = self.path(demand, n, &open)?;
            let Some((a, b)) = self.too_near(&chosen) else { return Some(chosen) };
            let worth = |i: usize| (spots[i].is_corner, demand[i]);
            let less = |a: usize, b: usize| {
                let ((corner_a, demand_a), (corner_b, demand_b)) = (worth(a), worth(b));
                corner_a.cmp(&corner_b).then(demand_a.total_cmp(&demand_b)).is_lt()
            };
            open[if less(a, b) { a } else { b }] = false;
        }
    }

    /// The corners that every layout of n grips holds: each clear of those before it; none where there
    /// are too few grips for all of them.
    #[must_use]
    pub fn corners(&self, n: usize) -> Vec<usize> {
        let all: Vec<usize> = (0..self.places.spots.len()).collect();
        let kept = self.clear_corners(all.into_iter());
        if kept.len() <= n { kept } else { Vec::new() }
    }

    fn clear_corners(&self, spots: impl Iterator<Item = usize>) -> Vec<usize> {
        let all = &self.places.spots;
        let mut kept: Vec<usize> = Vec::new();
        for i in spots.filter(|&i| all[i].is_corner) {
            if kept.iter().all(|&k| self.is_clear(&all[k], &all[i])) {
                kept.push(i);
            }
        }
        kept
    }

    fn is_clear(&self, a: &Spot, b: &Spot) -> bool {
        a.at.distance(b.at) >= self.least_apart
    }

    /// The first two grips that are nearer than may be.
    fn too_near(&self, chosen: &[usize]) -> Option<(usize, usize)> {
        let spots = &self.places.spots;
        chosen.iter().enumerate().find_map(|(k, &a)| {
            let near = |&&b: &&usize| !self.is_clear(&spots[a], &spots[b]);
            chosen[k + 1..].iter().find(near).map(|&b| (a, b))
        })
    }

    /// Way along the edge from one spot to another, anticlockwise.
    fn between(&self, from: &Spot, to: &Spot) -> f64 {
        (to.along - from.along).mm().rem_euclid(self.round.mm())
    }

    /// The best path through open spots, neighbours kept apart.
    #[allow(clippy::needless_range_loop, reason = "several lists are walked at once")]
    fn path(&self, demand: &[f64], n: usize, open: &[bool]) -> Option<Vec<usize>> {
        let spots = &self.places.spots;
        let count = spots.len();
        let corners = self.clear_corners((0..count).filter(|&i| open[i]));
        let mut forced = vec![false; count];
        // Too few grips for all corners: none is forced but the first.
        if corners.len() <= n {
            corners.into_iter().for_each(|i| forced[i] = true);
        }
        let first = (0..count)
            .filter(|&i| open[i])
            .max_by(|&a, &b| forced[a].cmp(&forced[b]).then(demand[a].total_cmp(&demand[b])))?;
        let at = |k: usize| (first + k) % count;
        // Demand and way from the first spot to each, in order; spot `count` is the first again.
        let mut sum = vec![0.0; count + 1];
        let mut way = vec![0.0; count + 1];
        let mut last_forced = vec![0; count + 1];
        for k in 1..=count {
            let both = 0.5 * (demand[at(k - 1)] + demand[at(k)]);
            way[k] = way[k - 1] + self.between(&spots[at(k - 1)], &spots[at(k)]);
            // A gap with no spots bears load as well.
            let extra = (way[k] - way[k - 1]) / (1.5 * self.step.mm()) - 1.0;
            sum[k] = sum[k - 1] + both * (1.0 + extra.max(0.0));
            last_forced[k] = if forced[at(k - 1)] { k - 1 } else { last_forced[k - 1] };
        }
        let widest = self.most_apart.map_or(f64::INFINITY, Length::mm);
        // Whether one spot may follow another.
        let mut clear = vec![false; count * (count + 1)];
        for i in 0..count {
            for j in (i + 1..=count).filter(|&j| open[at(j)]) {
                // A single grip follows itself.
                clear[i * (count + 1) + j] = n == 1 || self.is_clear(&spots[at(i)], &spots[at(j)]);
            }
        }
        let follows = |i: usize, j: usize| clear[i * (count + 1) + j];
        // The next spot after each that may follow it: the way to it may be as wide as it is.
        let next_open = |i: usize| (i + 1..=count).find(|&j| follows(i, j)).unwrap_or(count);
        let next_open: Vec<usize> = (0..count).map(next_open).collect();
        let mut cost = vec![f64::INFINITY; count + 1];
        cost[0] = 0.0;
        let mut from = Vec::with_capacity(n);
        for _ in 0..n {
            let mut next = vec![f64::INFINITY; count + 1];
            let mut came = vec![usize::MAX; count + 1];
            for j in (1..=count).filter(|&j| open[at(j)]) {
                // A forced spot may not be skipped.
                for i in last_forced[j]..j {
                    if cost[i] == f64::INFINITY {
                        continue;
                    }
                    let near = way[j] - way[i] <= widest || j == next_open[i];
                    if near && follows(i, j) {
                        let load = sum[j] - sum[i];
                        let total = cost[i] + load * load;
                        if total < next[j] {
                            (next[j], came[j]) = (total, i);
                        }
                    }
                }
            }
            // The closing step alone may end on the first spot again.
            cost.clone_from(&next);
            from.push(came);
        }
        if cost[count] == f64::INFINITY {
            return None;
        }
        let mut chosen = Vec::with_capacity(n);
        let mut k = count;
        for came in from.iter().rev() {
            k = came[k];
            chosen.push(at(k));
        }
        chosen.sort_unstable();
        Some(chosen)
    }
}

#[cfg(test)]
mod tests {
    use geometry::Point;

    use super::*;

    fn mm(value: f64) -> Length {
        Length::from_mm(value)
    }

    /// Spots every 50 mm round a square of that side, 40 mm in, none of them nearer to a corner.
    fn square(side: f64) -> Places {
        let n = ((side - 80.0) / 50.0).floor() as usize;
        let mut spots = Vec::new();
        for edge in 0..4 {
            for i in 0..=n {
                let way = 40.0 + 50.0 * i as f64;
                let [x, y] = match edge {
                    0 => [way, 40.0],
                    1 => [side - 40.0, way],
                    2 => [side - way, side - 40.0],
                    _ => [40.0, side - way],
                };
                let along = mm(side * f64::from(edge) + way);
                let (at, depth) = (Point::from_mm(x, y), mm(40.0));
                spots.push(Spot { at, along, depth, is_corner: i == 0 });
            }
        }
        Places { feasible: Vec::new(), barren: Vec::new(), spots, diameter: mm(20.0) }
    }

    fn ask(places: &Places, side: f64) -> LayoutAsk<'_> {
        LayoutAsk {
            places,
            round: mm(4.0 * side),
            step: mm(50.0),
            least_apart: mm(50.0),
            most_apart: None,
        }
    }

    #[test]
    fn an_even_demand_is_shared_evenly() {
        let places = square(880.0);
        let chosen = ask(&places, 880.0).best(&vec![1.0; places.spots.len()], 8).unwrap();
        let ways: Vec<f64> = chosen.iter().map(|&i| places.spots[i].along.mm()).collect();
        for pair in ways.windows(2) {
            assert!((pair[1] - pair[0] - 440.0).abs() < 61.0, "{ways:?}");
        }
    }

    #[test]
    fn grips_crowd_where_the_demand_is() {
        let places = square(880.0);
        let on_base = |spot: &Spot| spot.along < mm(880.0);
        let demand: Vec<f64> =
            places.spots.iter().map(|s| if on_base(s) { 5.0 } else { 1.0 }).collect();
        let chosen = ask(&places, 880.0).best(&demand, 12).unwrap();
        let n = chosen.iter().filter(|&&i| on_base(&places.spots[i])).count();
        assert!((6..=9).contains(&n), "{n}");
    }

    #[test]
    fn two_places_across_a_corner_are_not_both_taken() {
        // The last spot of an edge and the first of the next lie 40 mm from each other, 120 mm of edge.
        let places = square(570.0);
        let layout = ask(&places, 570.0);
        for n in 4..=36 {
            let Some(chosen) = layout.best(&vec![1.0; places.spots.len()], n) else { continue };
            for (k, &i) in chosen.iter().enumerate() {
                for &j in &chosen[..k] {
                    let apart = places.spots[i].at.distance(places.spots[j].at).mm();
                    assert!(apart >= 50.0, "{apart}");
                }
            }
        }
        assert!(layout.best(&vec![1.0; places.spots.len()], 36).is_some());
        assert!(layout.best(&vec![1.0; places.spots.len()], 37).is_none());
    }

    #[test]
    fn impossible_counts_have_no_layout() {
        let places = square(570.0);
        let layout = ask(&places, 570.0);
        let demand = vec![1.0; places.spots.len()];
        assert!(layout.best(&demand, 0).is_none() && layout.best(&demand, 1000).is_none());
        assert!(layout.best(&demand[1..], 4).is_none());
    }
}
