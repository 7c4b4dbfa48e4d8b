//! No plan breaks a rule of where grips may be.
//!
//! 1000 random panes of every family, of random bands, blocked depths, keep-out zones, hems and magnets;
//! so many would take long to judge, so that each is one judged pane with its outline, stations, bands and
//! depths put in place of those judged. On each the spots are laid out for random demands (whatever the wind may ask for) and counts, by
//! [`LayoutAsk::best`], which every plan is made with; and the plain plan by [`place_grips`]. Whole plans,
//! wind and all, are made on a dozen more with the coarsest of meshes and eight shapes each. The
//! rules are reckoned here anew from the judged pane.

#![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]

mod common;

use std::cell::Cell;

use common::{COARSEST, GAP, PANES, effort, judged_pane, magnet_choice, mm, plan_ask};
use geometry::{Length, Outline, Pane, Path, Point};
use hold::{
    GripAsk, HoldAsk, HoldError, LayoutAsk, Magnet, MagnetShape, Pressure, grip_spots, place_grips,
    plan_hold,
};
use proptest::prelude::*;
use survey::{Family, Judgement, SMALL_PANE, Standing, Station};

/// A pane, and what a workshop would hold its cover with.
#[derive(Clone, Debug)]
struct Sample {
    family: Family,
    outline: Outline,
    /// Band and how much of it is blocked inside, by station.
    depths: Vec<(f64, f64)>,
    /// How much less or more surely they are known than in the template.
    spread: f64,
    magnet: Magnet,
    clearance: f64,
    /// Middles, as shares of width and height, and radii.
    zones: Vec<(f64, f64, f64)>,
    most_apart: f64,
    confidence: f64,
}

impl Sample {
    /// The pane as if judged: what is known of a template, with this outline and these depths.
    fn judged(&self, template: &Judgement) -> Option<Judgement> {
        let standing = Standing::of(&self.outline, false)?;
        let standing = match standing.height() < SMALL_PANE.mm() {
            true => Standing::of(&self.outline, true)?,
            false => standing,
        };
        let mut pane = Judgement { outline: self.outline.clone(), ..template.clone() };
        for (station, at) in &mut pane.stations {
            let [x, y] = standing.station(*station)?.at;
            *at = Point::from_mm(x, y);
        }
        for (depth, known) in pane.bands.iter_mut().zip(&self.depths) {
            depth.value = mm(known.0);
        }
        for (depth, known) in pane.blocked.iter_mut().zip(&self.depths) {
            depth.value = mm(known.1);
        }
        pane.depth_covariance *= self.spread * self.spread;
        Some(pane)
    }

    fn zones(&self) -> Vec<Path<Pane>> {
        let (mut low, mut high) = ([f64::MAX; 2], [f64::MIN; 2]);
        for corner in self.outline.corners() {
            for (k, value) in corner.mm().into_iter().enumerate() {
                (low[k], high[k]) = (low[k].min(value), high[k].max(value));
            }
        }
        let at = |k: usize, share: f64| low[k] + share * (high[k] - low[k]);
        let zone =
            |&(x, y, r): &(f64, f64, f64)| Path::circle(Point::from_mm(at(0, x), at(1, y)), mm(r));
        self.zones.iter().map(zone).collect()
    }

    fn ask<'a>(&'a self, pane: &'a Judgement, forbidden: &'a [Path<Pane>]) -> GripAsk<'a> {
        GripAsk {
            pane,
            outer: &self.magnet,
            inner: &self.magnet,
            gap: GAP,
            clearance: mm(self.clearance),
            most_apart: mm(self.most_apart),
            confidence: self.confidence,
            forbidden,
        }
    }
}

/// Sizes, in mm, of the smallest and largest pane of a family, and how much narrower its top may be.
fn sizes(family: Family) -> ([f64; 2], [f64; 2], f64) {
    match family {
        Family::Windscreen => ([1200.0, 2500.0], [600.0, 1600.0], 0.75),
        Family::HalfScreen => ([700.0, 1300.0], [500.0, 1300.0], 0.8),
        Family::CabSide => ([500.0, 1100.0], [450.0, 1000.0], 0.6),
        Family::Door => ([350.0, 800.0], [450.0, 1600.0], 0.8),
        Family::Side => ([500.0, 2000.0], [350.0, 1000.0], 0.9),
        Family::Rear => ([600.0, 2200.0], [350.0, 1100.0], 0.75),
    }
}

fn sample() -> impl Strategy<Value = Sample> {
    let family = prop::sample::select(Family::ALL.to_vec());
    let form = (0.0..1.0_f64, 0.0..1.0_f64, 0.0..1.0_f64, -0.05..0.05_f64);
    let bends = (0.003..0.03_f64, 0.03..0.12_f64);
    // Some panes have a border all round, some none to speak of, most something between.
    let band = prop::collection::vec((0.0..1.0_f64, 0.0..1.0_f64), Station::ALL.len());
    let bands = (15.0..60.0_f64, 0.0..80.0_f64, 0.0..0.9_f64, 0.2..4.0_f64, band);
    let magnet = prop::sample::select(vec![
        "disc:10x3:N35",
        "disc:15x3:N42",
        "disc:20x3:N35",
        "disc:20x5:N42H",
        "disc:30x5:N35",
        "block:20x10x4:N35",
        "block:40x12x5:N42H",
    ]);
    let zones = prop::collection::vec(
        (0.0..1.0_f64, prop_oneof![0.0..0.1_f64, 0.9..1.0], 10.0..150.0),
        0..3,
    );
    let rules = (3.0..20.0_f64, 120.0..600.0_f64, 0.6..0.99_f64);
    (family, form, bends, bands, magnet, zones, rules).prop_filter_map(
        "no pane",
        |(family, (w, h, narrow, skew), (bow, round), bands, magnet, zones, rules)| {
            let (widths, heights, least) = sizes(family);
            let width = widths[0] + w * (widths[1] - widths[0]);
            let height = heights[0] + h * (heights[1] - heights[0]);
            let top = 0.5 * width * (1.0 - narrow * (1.0 - least));
            let corners = [
                (-0.5 * width, 0.0),
                (0.5 * width, 0.0),
                (top + skew * width, height),
                (skew * width - top, height),
            ];
            let corners = corners.map(|(x, y)| Point::from_mm(x, y)).to_vec();
            let bows = [width, height, width, height].map(|side| mm(bow * side)).to_vec();
            let radius = mm((round * width.min(height)).max(bow * 100.0));
            let outline = Outline::new(corners, bows, vec![radius; 4]).ok()?;
            let (least_band, more_band, blocked, spread, each) = bands;
            let depth = |(b, k): (f64, f64)| {
                let band: f64 = least_band + more_band * b;
                (band, (band * blocked * k).floor())
            };
            let depths = each.into_iter().map(depth).collect();
            Some(Sample {
                family,
                outline,
                depths,
                spread,
                magnet: magnet.parse().ok()?,
                clearance: rules.0,
                zones,
                most_apart: rules.1,
                confidence: rules.2,
            })
        },
    )
}

/// The rules, reckoned from the judged pane.
struct Rules<'a> {
    sample: &'a Sample,
    pane: &'a Judgement,
    zones: &'a [Path<Pane>],
    path: Path<Pane>,
    /// Widest a magnet is, whichever way it is turned.
    across: f64,
}

impl<'a> Rules<'a> {
    fn new(sample: &'a Sample, pane: &'a Judgement, zones: &'a [Path<Pane>]) -> Self {
        let across = match sample.magnet.shape() {
            MagnetShape::Disc { diameter, .. } => diameter.mm(),
            MagnetShape::Block { length, width, .. } => length.mm().hypot(width.mm()),
        };
        Self { sample, pane, zones, path: pane.outline.path(), across }
    }

    /// Band and blocked depth at a place of the edge, straight between the stations on either side.
    fn depths(&self, along: f64) -> (f64, f64) {
        let round = self.path.length().mm();
        let stations = self.pane.stations.iter();
        let places = stations.map(|&(s, at)| (self.path.nearest(at).0.mm(), s as usize));
        let places: Vec<(f64, usize)> = places.collect();
        let ahead = |from: f64, to: f64| (to - from).rem_euclid(round);
        let by = |far: &dyn Fn(f64) -> f64| {
            places.iter().min_by(|a, b| far(a.0).total_cmp(&far(b.0))).copied().unwrap()
        };
        let (before, after) = (by(&|s| ahead(s, along)), by(&|s| ahead(along, s)));
        let (back, on) = (ahead(before.0, along), ahead(along, after.0));
        let share = if back + on > 0.0 { back / (back + on) } else { 0.0 };
        let mix = |list: &[survey::Depth]| {
            (1.0 - share) * list[before.1].value.mm() + share * list[after.1].value.mm()
        };
        (mix(&self.pane.bands), mix(&self.pane.blocked))
    }

    /// Checks grips: middle, place along the edge, depth.
    fn check(&self, grips: &[(Point<Pane>, Length, Length)]) -> Result<(), TestCaseError> {
        let (across, radius) = (self.across, 0.5 * self.across);
        for (i, &(at, along, depth)) in grips.iter().enumerate() {
            let (band, blocked) = self.depths(along.mm());
            let (outer, inner) = (depth.mm() - radius, depth.mm() + radius);
            prop_assert!(inner <= band + 1e-6, "rim {inner} beyond the band of {band}");
            prop_assert!(outer >= blocked - 1e-6, "rim {outer} where {blocked} are blocked");
            let hem = self.sample.clearance;
            prop_assert!(outer >= hem - 1e-6, "rim {outer} in the hem of {hem}");
            prop_assert!(self.path.contains(at));
            let room = self.path.nearest(at).1.mm() - radius;
            prop_assert!(room >= hem - 0.6, "{room} to an edge, hem {hem}");
            for zone in self.zones {
                let clear = !zone.contains(at) && zone.nearest(at).1.mm() >= radius - 1e-6;
                prop_assert!(clear, "grip at {at:?} in a zone to be kept clear");
            }
            for other in &grips[..i] {
                let apart = other.0.distance(at).mm();
                let least = HoldAsk::LEAST_APART * across;
                prop_assert!(apart >= least - 1e-6, "{apart} apart, least {least}");
            }
        }
        Ok(())
    }
}

fn template() -> Judgement {
    judged_pane(PANES[0])
}

fn config(cases: u32) -> ProptestConfig {
    ProptestConfig { cases, failure_persistence: None, ..ProptestConfig::default() }
}

#[test]
fn no_layout_breaks_a_rule_on_a_thousand_panes() {
    let (laid, barren, families) = (Cell::new(0), Cell::new(0), Cell::new(0_u32));
    let demands = prop::collection::vec(0.2..5.0_f64, 300);
    let counts = prop::collection::vec((1_usize..40, any::<bool>()), 3);
    let template = template();
    let mut runner = proptest::test_runner::TestRunner::new(config(1000));
    let result = runner.run(&(sample(), demands, counts), |(sample, demands, counts)| {
        let Some(pane) = sample.judged(&template) else {
            return Err(TestCaseError::reject("not judged"));
        };
        let zones = sample.zones();
        let ask = sample.ask(&pane, &zones);
        let rules = Rules::new(&sample, &pane, &zones);
        families.set(families.get() | 1 << sample.family as u32);
        let grips = place_grips(&ask).unwrap().grips;
        rules.check(&grips.iter().map(|g| (g.at, g.along, g.depth)).collect::<Vec<_>>())?;

        let places = grip_spots(&ask, mm(50.0));
        if places.spots.is_empty() {
            barren.set(barren.get() + 1);
            prop_assert!(!places.barren.is_empty());
            return Ok(());
        }
        let round = rules.path.length();
        let demand = &demands[..places.spots.len()];
        for (n, close) in counts {
            let layout = LayoutAsk {
                places: &places,
                round,
                step: mm(50.0),
                least_apart: places.diameter * HoldAsk::LEAST_APART,
                most_apart: close.then_some(ask.most_apart),
            };
            let Some(chosen) = layout.best(demand, n) else { continue };
            laid.set(laid.get() + 1);
            prop_assert_eq!(chosen.len(), n);
            prop_assert!(chosen.windows(2).all(|pair| pair[0] < pair[1]));
            for corner in layout.corners(n) {
                // Only where a neighbour across a sharp corner is in the way is one left out.
                let there = chosen.contains(&corner);
                let spots = &places.spots;
                let at = spots[corner].at;
                let near = chosen.iter().any(|&i| spots[i].at.distance(at) < layout.least_apart);
                prop_assert!(there || near, "corner {corner} has no grip");
            }
            let spots = chosen.iter().map(|&i| &places.spots[i]);
            rules.check(&spots.map(|s| (s.at, s.along, s.depth)).collect::<Vec<_>>())?;
        }
        Ok(())
    });
    println!("{} layouts, {} panes without a place", laid.get(), barren.get());
    result.unwrap();
    assert_eq!(families.get().count_ones() as usize, Family::ALL.len());
    assert!(laid.get() > 500 && barren.get() > 20, "{} {}", laid.get(), barren.get());
}

#[test]
fn no_whole_plan_breaks_a_rule() {
    let planned = Cell::new(0);
    let template = template();
    let mut runner = proptest::test_runner::TestRunner::new(config(12));
    let result = runner.run(&(sample(), 4_usize..30), |(sample, most_grips)| {
        let Some(pane) = sample.judged(&template) else {
            return Err(TestCaseError::reject("not judged"));
        };
        let zones = sample.zones();
        let magnets = [magnet_choice(&sample.magnet.to_string())];
        let ask = HoldAsk {
            forbidden: &zones,
            clearance: mm(sample.clearance),
            confidence: sample.confidence,
            most_apart: mm(sample.most_apart),
            most_grips,
            fineness: COARSEST,
            ..plan_ask(&pane, &magnets, Pressure::from_pascals(20.0))
        };
        match plan_hold(&ask, &effort(8)) {
            Ok(plan) => {
                let grips = &plan.plan.grips;
                prop_assert!(grips.len() <= most_grips && !grips.is_empty());
                let rules = Rules::new(&sample, &pane, &zones);
                rules.check(&grips.iter().map(|g| (g.at, g.along, g.depth)).collect::<Vec<_>>())?;
                planned.set(planned.get() + 1);
            }
            Err(HoldError::NoPlace { .. }) => {
                prop_assert!(grip_spots(&sample.ask(&pane, &zones), mm(50.0)).spots.len() < 3);
            }
            Err(fault) => return Err(TestCaseError::fail(fault.to_string())),
        }
        Ok(())
    });
    println!("{} plans", planned.get());
    result.unwrap();
    assert!(planned.get() > 6, "{}", planned.get());
}
