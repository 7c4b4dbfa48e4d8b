//! Where along the glass edge a magnet pair can hide and grip, and a first plan of grips there.
//!
//! A pair fits where the solid band is wide enough, past what is out of reach inside and past the
//! cover's own hem, for the larger disc: with band b, blocked depth k, hem clearance e and diameter
//! D, both b − k ≥ D and b ≥ e + D. Bands and depths are known with a spread, so the place counts
//! when both hold together with the wanted probability; by Boole's inequality that is at least
//! 1 − (1 − P(b−k ≥ D)) − (1 − P(b ≥ e+D)), which is what is used. Between stations b and k are
//! interpolated along the edge, with a spread that grows by 1 % of the distance to the nearer
//! station (chosen by us: printed borders change gently).
//!
//! Grips go to both ends of every feasible stretch, nearest the corners, and between them at most
//! 300 mm apart (common practice, no source). No wind is considered: the plan says where grips can
//! be and what each pulls, not what wind they withstand.

use std::fmt;

use geometry::{Length, Outline, Pane, Path, Point};
use survey::{Judgement, N_STATIONS, Station};

use crate::{Force, Grip, HoldError, Magnet, MagnetShape, pair_force};

/// What grips are to be placed, and how.
#[derive(Clone, Copy, Debug)]
pub struct GripAsk<'a> {
    /// The judged pane.
    pub pane: &'a Judgement,
    /// Magnet in the hem, outside.
    pub outer: &'a Magnet,
    /// Magnet inside.
    pub inner: &'a Magnet,
    /// Between the facing poles: glass, cloth and whatever else lies between.
    pub gap: Length,
    /// How far in from the glass edge the outer magnet's rim must stay, for the hem.
    pub clearance: Length,
    /// Farthest two neighbouring grips of one stretch may be apart.
    pub most_apart: Length,
    /// Wanted probability that a grip is hidden and reachable.
    pub confidence: f64,
    /// Closed paths that no magnet may touch: sensors, cameras, aerials.
    pub forbidden: &'a [Path<Pane>],
}

impl<'a> GripAsk<'a> {
    /// As most covers are made: at most 300 mm apart, hidden with a probability of 95 %.
    #[must_use]
    pub const fn usual(
        pane: &'a Judgement,
        outer: &'a Magnet,
        inner: &'a Magnet,
        gap: Length,
        clearance: Length,
    ) -> Self {
        let most_apart = Length::from_mm(300.0);
        Self { pane, outer, inner, gap, clearance, most_apart, confidence: 0.95, forbidden: &[] }
    }
}

/// A part of the glass edge, by distance along the outline's path from its start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Where it starts.
    pub from: Length,
    /// Where it ends; beyond the path's length where it runs through the path's start.
    pub to: Length,
}

/// Why no grip can go somewhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hindrance {
    /// The band is too narrow for the disc and the hem.
    Narrow,
    /// Too little of the band can be reached from inside.
    Blocked,
    /// It may well fit, but the band or the blocked depth is not known well enough.
    Unsure,
    /// A sensor, camera or other keep-out zone lies there.
    Forbidden,
}

/// A stretch where no grip can go.
#[derive(Clone, Debug, PartialEq)]
pub struct Barren {
    /// Where.
    pub stretch: Stretch,
    /// The station nearest its middle.
    pub near: Station,
    /// Why.
    pub hindrance: Hindrance,
    /// Band at its middle.
    pub band: Length,
    /// Blocked depth at its middle.
    pub blocked: Length,
    /// Band needed there.
    pub needed: Length,
}

impl fmt::Display for Barren {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (band, blocked, needed) = (self.band.mm(), self.blocked.mm(), self.needed.mm());
        match self.hindrance {
            Hindrance::Narrow => write!(f, "band {band:.0} mm, {needed:.0} mm needed"),
            Hindrance::Blocked => {
                write!(
                    f,
                    "band {band:.0} mm, {blocked:.0} mm of it out of reach inside, {needed:.0} mm needed"
                )
            }
            Hindrance::Unsure => write!(
                f,
                "band about {band:.0} mm, about {blocked:.0} mm out of reach inside, {needed:.0} mm \
                 needed: not sure enough, read the band and the inside band here"
            ),
            Hindrance::Forbidden => write!(f, "a sensor, camera or other zone to be kept clear"),
        }
    }
}

/// Where grips can be and where they are planned.
#[derive(Clone, Debug, PartialEq)]
pub struct GripPlan {
    /// The planned grips, numbered along the edge.
    pub grips: Vec<Grip>,
    /// Where a grip could be.
    pub feasible: Vec<Stretch>,
    /// Where none can be, with the reason.
    pub barren: Vec<Barren>,
    /// Pull of each pair, discs exactly opposite one another.
    pub pull: Force,
}

/// Places grips along the edge of a judged pane.
///
/// # Errors
/// When the gap is no distance at which magnets can be reckoned with.
pub fn place_grips(ask: &GripAsk<'_>) -> Result<GripPlan, HoldError> {
    let pull = pair_force(ask.outer, ask.inner, ask.gap, (Length::ZERO, Length::ZERO))?.pull;
    let edge = Edge::new(ask);
    let runs = edge.runs();
    let mut grips = Vec::new();
    for stretch in runs.iter().filter(|r| r.hindrance.is_none()) {
        edge.fill(stretch, pull, &mut grips);
    }
    grips.sort_by(|a, b| a.along.mm().total_cmp(&b.along.mm()));
    for (number, grip) in (1..).zip(&mut grips) {
        grip.number = number;
    }
    let feasible = runs.iter().filter(|r| r.hindrance.is_none()).map(|r| r.stretch).collect();
    let barren = runs.iter().filter_map(|r| edge.barren(r)).collect();
    Ok(GripPlan { grips, feasible, barren, pull })
}

/// A place where a grip could be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Middle of the pair, on the glass.
    pub at: Point<Pane>,
    /// How far along the glass edge, from the start of the outline's path.
    pub along: Length,
    /// How far in from the glass edge.
    pub depth: Length,
    /// Whether it is the nearest one to a corner of the glass.
    pub is_corner: bool,
}

/// Everywhere along the edge where grips could be.
#[derive(Clone, Debug, PartialEq)]
pub struct Places {
    /// Where a grip could be.
    pub feasible: Vec<Stretch>,
    /// Where none can be, with the reason.
    pub barren: Vec<Barren>,
    /// Spots along the feasible stretches, in the order of the edge, about `apart` from each other.
    pub spots: Vec<Spot>,
    /// Diameter of the larger magnet.
    pub diameter: Length,
}

/// Finds where grips could be, with spots about `apart` from each other; nothing is pulled yet.
#[must_use]
pub fn grip_spots(ask: &GripAsk<'_>, apart: Length) -> Places {
    let edge = Edge::new(ask);
    let runs = edge.runs();
    let mut spots: Vec<Spot> = Vec::new();
    for run in runs.iter().filter(|run| run.hindrance.is_none()) {
        let Stretch { from, to } = run.stretch;
        let to = (to - STEP).max(from);
        let n = ((to - from) / apart).ceil().max(1.0) as usize;
        // A stretch all round must not begin and end at the same spot.
        let last = if to - from > edge.length - STEP * 1.5 { n - 1 } else { n };
        for i in 0..=last {
            let along = from + (to - from) * (i as f64 / n as f64);
            let along = Length::from_mm(along.mm().rem_euclid(edge.length.mm()));
            if let Some((at, depth)) = edge.spot(along).filter(|_| edge.hindrance(along).is_none())
            {
                spots.push(Spot { at, along, depth, is_corner: false });
            }
        }
    }
    spots.sort_by(|a, b| a.along.mm().total_cmp(&b.along.mm()));
    for fillet in ask.pane.outline.shape().fillets() {
        let corner = Point::from_mm(fillet.middle[0], fillet.middle[1]);
        let far = |spot: &Spot| spot.at.distance(corner).mm();
        let nearest = spots.iter_mut().min_by(|a, b| far(a).total_cmp(&far(b)));
        if let Some(spot) = nearest.filter(|spot| far(spot) < CORNER.mm()) {
            spot.is_corner = true;
        }
    }
    Places {
        feasible: runs.iter().filter(|r| r.hindrance.is_none()).map(|r| r.stretch).collect(),
        barren: runs.iter().filter_map(|r| edge.barren(r)).collect(),
        spots,
        diameter: edge.diameter,
    }
}

/// A spot within this of a corner counts as there. Chosen by us: half the usual distance between
/// grips.
const CORNER: Length = Length::from_mm(150.0);
/// Distance between places tried along the edge.
const STEP: Length = Length::from_mm(10.0);
/// Growth of the spread of a depth with the distance from its station.
const DRIFT: f64 = 0.01;

/// Width a magnet takes up whichever way it is turned.
fn across(magnet: &Magnet) -> Length {
    match magnet.shape() {
        MagnetShape::Disc { diameter, .. } => diameter,
        MagnetShape::Block { length, width, .. } => Length::from_mm(length.mm().hypot(width.mm())),
    }
}

/// Neighbouring places with the same answer.
struct Run {
    stretch: Stretch,
    hindrance: Option<Hindrance>,
}

/// Band and blocked depth at one place of the edge.
struct Depths {
    band: f64,
    blocked: f64,
    band_variance: f64,
    reach_variance: f64,
}

/// The glass edge with its stations in order.
struct Edge<'a> {
    ask: &'a GripAsk<'a>,
    path: Path<Pane>,
    length: Length,
    diameter: Length,
    /// Distance along the path and index of each station, in order.
    stations: Vec<(Length, usize)>,
}

impl<'a> Edge<'a> {
    fn new(ask: &'a GripAsk<'a>) -> Self {
        let outline: &Outline = &ask.pane.outline;
        let path = outline.path();
        let along =
            |&(station, at): &(Station, Point<Pane>)| (path.nearest(at).0, station as usize);
        let mut stations: Vec<(Length, usize)> = ask.pane.stations.iter().map(along).collect();
        stations.sort_by(|a, b| a.0.mm().total_cmp(&b.0.mm()));
        Self {
            ask,
            length: path.length(),
            path,
            diameter: across(ask.outer).max(across(ask.inner)),
            stations,
        }
    }

    fn depths(&self, along: Length) -> Depths {
        let n = self.stations.len();
        let next = self.stations.iter().position(|s| s.0 > along).unwrap_or(0);
        let (a, b) = (self.stations[(next + n - 1) % n], self.stations[next]);
        let round = |l: Length| l.mm().rem_euclid(self.length.mm());
        let (before, span) = (round(along - a.0), round(b.0 - a.0).max(1e-9));
        let t = (before / span).clamp(0.0, 1.0);
        let (bands, blocked) = (&self.ask.pane.bands, &self.ask.pane.blocked);
        let mix = |of: &dyn Fn(usize) -> f64| (1.0 - t) * of(a.1) + t * of(b.1);
        let c = &self.ask.pane.depth_covariance;
        let variance = |row: &dyn Fn(usize) -> f64| {
            let list = [(a.1, 1.0 - t), (b.1, t)];
            let mut total = 0.0;
            for (i, wi) in list {
                for (j, wj) in list {
                    let (bb, bk, kb, kk) = (
                        c[(i, j)],
                        c[(i, N_STATIONS + j)],
                        c[(N_STATIONS + i, j)],
                        c[(N_STATIONS + i, N_STATIONS + j)],
                    );
                    let k = row(0);
                    total += wi * wj * (bb - k * (bk + kb) + k * k * kk);
                }
            }
            total.max(0.0)
        };
        let drift = (DRIFT * before.min(span - before)).powi(2);
        Depths {
            band: mix(&|i| bands[i].value.mm()),
            blocked: mix(&|i| blocked[i].value.mm()),
            band_variance: variance(&|_| 0.0) + drift,
            reach_variance: variance(&|_| 1.0) + 2.0 * drift,
        }
    }

    /// Why no grip can be there, if none can.
    fn hindrance(&self, along: Length) -> Option<Hindrance> {
        let d = self.depths(along);
        let disc = self.diameter.mm();
        let reach = d.band - d.blocked - disc;
        let hem = d.band - self.ask.clearance.mm() - disc;
        let miss = above(reach, d.reach_variance) + above(hem, d.band_variance);
        match () {
            () if self.is_forbidden(along) => Some(Hindrance::Forbidden),
            () if 1.0 - miss >= self.ask.confidence && self.spot(along).is_some() => None,
            () if hem < 0.0 => Some(Hindrance::Narrow),
            () if reach < 0.0 => Some(Hindrance::Blocked),
            () => Some(Hindrance::Unsure),
        }
    }

    /// Middle of a pair at this place and its depth; `None` where the other side of a corner is too
    /// near.
    fn spot(&self, along: Length) -> Option<(Point<Pane>, Length)> {
        let d = self.depths(along);
        let disc = self.diameter.mm();
        let outermost = d.blocked.max(self.ask.clearance.mm()) + disc / 2.0;
        let depth = Length::from_mm(0.5 * (outermost + (d.band - disc / 2.0)).max(2.0 * outermost));
        let (point, heading) = self.path.at_length(along);
        let inwards = heading + geometry::Angle::from_degrees(90.0);
        let middle = point.toward(inwards, depth);
        let room = self.path.nearest(middle).1;
        (self.path.contains(middle) && room.mm() > depth.mm() - 0.5).then_some((middle, depth))
    }

    /// Whether a magnet there would reach into a zone to be kept clear.
    fn is_forbidden(&self, along: Length) -> bool {
        let Some((middle, _)) = self.spot(along) else { return false };
        let reach = self.diameter / 2.0;
        self.ask
            .forbidden
            .iter()
            .any(|zone| zone.contains(middle) || zone.nearest(middle).1 < reach)
    }

    /// The whole edge as neighbouring runs.
    fn runs(&self) -> Vec<Run> {
        let n = ((self.length / STEP).floor() as usize).max(1);
        let step = self.length / n as f64;
        let tried: Vec<Option<Hindrance>> =
            (0..n).map(|i| self.hindrance(step * i as f64)).collect();
        // Start where the answer changes, so that no run is cut in two at the path's start.
        let start = (0..n).find(|&i| tried[i] != tried[(i + n - 1) % n]).unwrap_or(0);
        let mut runs: Vec<Run> = Vec::new();
        for k in start..start + n {
            let stretch = Stretch { from: step * k as f64, to: step * (k + 1) as f64 };
            match runs.last_mut() {
                Some(run) if run.hindrance == tried[k % n] => run.stretch.to = stretch.to,
                _ => runs.push(Run { stretch, hindrance: tried[k % n] }),
            }
        }
        runs
    }

    /// Puts grips at both ends of a feasible run and evenly between; the corners inside it count as
    /// ends.
    fn fill(&self, run: &Run, pull: Force, grips: &mut Vec<Grip>) {
        let Stretch { from, to } = run.stretch;
        let (from, to) = (from, to - STEP);
        let corners = self.corners_between(from, to);
        let mut stops = vec![from];
        stops.extend(corners);
        stops.push(to.max(from));
        for pair in stops.windows(2) {
            let n = ((pair[1] - pair[0]) / self.ask.most_apart).ceil().max(1.0) as usize;
            for i in 0..=n {
                let along = pair[0] + (pair[1] - pair[0]) * (i as f64 / n as f64);
                let within = Length::from_mm(along.mm().rem_euclid(self.length.mm()));
                // The run was looked at every few millimetres; what lies between is looked at here.
                let free = self.spot(within).filter(|_| self.hindrance(within).is_none());
                let Some((at, depth)) = free else { continue };
                // Two pairs must not draw each other out of place.
                let apart = self.diameter * 2.5;
                if grips.iter().all(|g| g.at.distance(at) >= apart) {
                    let diameter = self.diameter;
                    grips.push(Grip { number: 0, at, along: within, depth, diameter, pull });
                }
            }
        }
    }

    /// Middles of the rounded corners between two places, as distances along.
    fn corners_between(&self, from: Length, to: Length) -> Vec<Length> {
        let shape = self.ask.pane.outline.shape();
        let mut found: Vec<Length> = shape
            .fillets()
            .iter()
            .map(|f| self.path.nearest(Point::from_mm(f.middle[0], f.middle[1])).0)
            .flat_map(|s| [s, s + self.length])
            .filter(|s| *s > from && *s < to)
            .collect();
        found.sort_by(|a, b| a.mm().total_cmp(&b.mm()));
        found
    }

    fn barren(&self, run: &Run) -> Option<Barren> {
        let hindrance = run.hindrance?;
        let middle = (run.stretch.from + run.stretch.to) / 2.0;
        let middle = Length::from_mm(middle.mm().rem_euclid(self.length.mm()));
        let d = self.depths(middle);
        let round = |l: Length| {
            let apart = l.mm().rem_euclid(self.length.mm());
            apart.min(self.length.mm() - apart)
        };
        let near = self
            .stations
            .iter()
            .min_by(|a, b| round(a.0 - middle).total_cmp(&round(b.0 - middle)))
            .map(|s| Station::ALL[s.1])?;
        let under = d.blocked.max(self.ask.clearance.mm());
        Some(Barren {
            stretch: run.stretch,
            near,
            hindrance,
            band: Length::from_mm(d.band),
            blocked: Length::from_mm(d.blocked),
            needed: Length::from_mm(under) + self.diameter,
        })
    }
}

/// Probability that a normal deviate with that variance about zero exceeds `x`.
fn above(x: f64, variance: f64) -> f64 {
    survey::normal_below(-x / variance.sqrt().max(1e-9))
}

#[cfg(test)]
pub(crate) mod samples {
    use super::*;
    use survey::{
        Class, Column, Family, Level, PaneReadings, Policy, Reading, ReadingName, Slope, Span,
        TapeReading, Unit, Vehicle, Voice, judge,
    };

    pub(crate) fn mm(value: f64) -> Length {
        Length::from_mm(value)
    }

    fn reading(name: ReadingName, value: f64) -> Reading {
        Reading::once(name, TapeReading::showing(mm(value), Unit::Millimetre, mm(1.0)))
    }

    /// A coach windscreen whose border is read everywhere, outside and inside.
    pub(crate) fn pane(
        band: impl Fn(Station) -> f64,
        visible: impl Fn(Station) -> f64,
    ) -> Judgement {
        let out = |span, value| reading(ReadingName::outside(span), value);
        let mut readings = vec![
            out(Span::Height(Column::Centre), 1457.0),
            out(Span::Height(Column::Left), 1435.0),
            out(Span::Height(Column::Right), 1435.0),
            out(Span::Width(Level::Base), 2318.0),
            out(Span::Width(Level::Top), 2160.0),
            out(Span::Diagonal(Slope::Rising), 2520.0),
            out(Span::Diagonal(Slope::Falling), 2520.0),
        ];
        for &station in Station::ALL {
            readings.push(out(Span::Band(station), band(station)));
            let name = ReadingName::inside(Span::Band(station));
            readings.push(reading(name, visible(station)));
        }
        let pane = PaneReadings::new("front", Family::Windscreen, readings);
        let vehicle = Vehicle::of_class(Class::Coach);
        let voice = Voice::new(Unit::Millimetre, mm(1.0), &vehicle, &pane);
        judge(&vehicle, &pane, None, &voice, &Policy::starting()).unwrap()
    }
}

#[cfg(test)]
mod tests {
    use super::samples::{mm, pane};
    use super::*;

    fn plan(pane: &Judgement) -> GripPlan {
        let disc: Magnet = "disc:20x3:N35".parse().unwrap();
        place_grips(&GripAsk::usual(pane, &disc, &disc, mm(8.0), mm(16.0))).unwrap()
    }

    #[test]
    fn a_wide_free_border_is_gripped_all_round() {
        let pane = pane(|_| 90.0, |_| 90.0);
        let plan = plan(&pane);
        assert!(plan.barren.is_empty(), "{:?}", plan.barren);
        let path = pane.outline.path();
        for pair in plan.grips.windows(2) {
            let apart = (pair[1].along - pair[0].along).mm();
            assert!(apart <= 301.0, "{apart}");
        }
        for grip in &plan.grips {
            let rim = path.nearest(grip.at).1.mm() - 10.0;
            assert!(path.contains(grip.at) && rim >= 15.0 && rim + 20.0 <= 90.5, "{rim}");
        }
        // Four corners: a grip within 150 mm of each.
        for fillet in pane.outline.shape().fillets() {
            let corner = Point::from_mm(fillet.middle[0], fillet.middle[1]);
            assert!(plan.grips.iter().any(|g| g.at.distance(corner).mm() < 150.0));
        }
    }

    #[test]
    fn a_border_behind_the_dash_is_said_to_be_blocked() {
        let base =
            |s: Station| matches!(s, Station::BaseLeft | Station::BaseCentre | Station::BaseRight);
        let pane = pane(|_| 90.0, |s| if base(s) { 0.0 } else { 90.0 });
        let plan = plan(&pane);
        let blocked: Vec<_> =
            plan.barren.iter().filter(|b| b.hindrance == Hindrance::Blocked).collect();
        assert!(!blocked.is_empty());
        let centre = pane.stations.iter().find(|s| s.0 == Station::BaseCentre).unwrap().1;
        assert!(plan.grips.iter().all(|g| g.at.distance(centre).mm() > 300.0));
        assert!(blocked[0].to_string().contains("out of reach inside"));
    }

    #[test]
    fn a_narrow_border_holds_nothing_and_says_what_is_needed() {
        let pane = pane(|_| 25.0, |_| 25.0);
        let plan = plan(&pane);
        assert!(plan.grips.is_empty());
        assert_eq!(plan.barren.len(), 1);
        assert_eq!(plan.barren[0].hindrance, Hindrance::Narrow);
        assert!((plan.barren[0].needed.mm() - 36.0).abs() < 1.0);
    }
}
