//! Invented panes for tests and examples: read with a tape, judged, ready to be held.

#![allow(dead_code, unreachable_pub, reason = "no test uses all of it")]

use geometry::{Length, Outline, Pane, Path, Point};
use hold::{
    CapacityAsk, ClothChoice, Fineness, GripAsk, HeldGrip, HoldAsk, HoldEffort, Holding, Loading,
    Magnet, MagnetChoice, Membrane, Mesh, Partner, Places, Pressure, grip_capacity, grip_spots,
};
use survey::{
    Class, Family, Judgement, PaneReadings, Policy, Reading, ReadingName, SMALL_PANE, Side, Span,
    Standing, Station, TapeReading, Unit, Vehicle, Voice, judge,
};

pub fn mm(value: f64) -> Length {
    Length::from_mm(value)
}

/// The pane as judged from a tape that slipped nowhere: every length there is, and at each station
/// the band and how much of it is seen from inside.
pub fn judged(
    name: &str,
    family: Family,
    outline: &Outline,
    band: impl Fn(Station) -> f64,
    seen: impl Fn(Station) -> f64,
) -> Option<Judgement> {
    let standing = Standing::of(outline, false)?;
    let standing = match standing.height() < SMALL_PANE.mm() {
        true => Standing::of(outline, true)?,
        false => standing,
    };
    let reading = |name, exact: f64| {
        Reading::once(name, TapeReading::showing(mm(exact), Unit::Millimetre, mm(1.0)))
    };
    let is_length = |span: &Span| {
        span.can_be_read(Side::Outside)
            && matches!(span, Span::Height(_) | Span::Width(_) | Span::Diagonal(_))
    };
    let lengths = Span::all().into_iter().filter(is_length);
    let read = |span| Some(reading(ReadingName::outside(span), standing.read(span, None)?));
    let mut readings: Vec<Reading> = lengths.filter_map(read).collect();
    for &station in Station::ALL {
        readings.push(reading(ReadingName::outside(Span::Band(station)), band(station)));
        readings.push(reading(ReadingName::inside(Span::Band(station)), seen(station)));
    }
    let pane = PaneReadings::new(name, family, readings);
    let vehicle = Vehicle::of_class(Class::Coach);
    let voice = Voice::new(Unit::Millimetre, mm(1.0), &vehicle, &pane);
    judge(&vehicle, &pane, None, &voice, &Policy::starting()).ok()
}

/// A magnet before its like through 6 mm of glass and 1.2 mm of cloth.
pub fn magnet_choice(spec: &str) -> MagnetChoice {
    let magnet: Magnet = spec.parse().expect("a magnet");
    let ask = CapacityAsk::usual(magnet, Partner::Magnet(magnet), GAP);
    let capacity = grip_capacity(&ask).expect("in range");
    MagnetChoice {
        name: spec.to_owned(),
        outer: magnet,
        inner: magnet,
        pull: capacity.pull_off,
        capacity,
        non_slip: None,
        cost: None,
    }
}

/// Glass of 6 mm and two cloths of 0.6 mm.
pub const GAP: Length = Length::from_mm(7.2);

/// A mesh so coarse that it only shows that all goes together.
pub const COARSEST: Fineness =
    Fineness { edge: Length::from_mm(120.0), middle: Length::from_mm(300.0) };

/// As most plans are asked for, on a coarse mesh.
pub fn plan_ask<'a>(
    pane: &'a Judgement,
    magnets: &'a [MagnetChoice],
    wanted: Pressure,
) -> HoldAsk<'a> {
    HoldAsk {
        pane,
        magnets,
        gap: GAP,
        inset: mm(4.0),
        clearance: mm(7.0),
        forbidden: &[],
        confidence: 0.95,
        most_apart: HoldAsk::MOST_APART,
        most_grips: HoldAsk::MOST_GRIPS,
        cloth: ClothChoice::usual(),
        straps: &[],
        wanted,
        margin: HoldAsk::MARGIN,
        loading: Loading::Upright,
        fineness: HoldAsk::COARSE,
    }
}

pub fn effort(most_shapes: usize) -> HoldEffort<'static> {
    HoldEffort { most_shapes, keep_going: &|| true, progress: &|_| () }
}

/// Name, family, width at base and top, height, black band, band visible inside at the base, mm.
pub type PaneSizes = (&'static str, Family, [f64; 5]);

/// Ten panes of five families.
pub const PANES: [PaneSizes; 10] = [
    ("coach windscreen", Family::Windscreen, [2300.0, 2140.0, 1350.0, 90.0, 90.0]),
    ("windscreen, dash in the way", Family::Windscreen, [2100.0, 1900.0, 1100.0, 90.0, 0.0]),
    ("coach rear window", Family::Rear, [1800.0, 1700.0, 800.0, 90.0, 90.0]),
    ("camper rear window", Family::Rear, [1200.0, 1150.0, 600.0, 80.0, 80.0]),
    ("long side window", Family::Side, [1600.0, 1600.0, 700.0, 80.0, 80.0]),
    ("short side window", Family::Side, [900.0, 900.0, 550.0, 80.0, 80.0]),
    ("tall door pane", Family::Door, [600.0, 600.0, 1500.0, 75.0, 75.0]),
    ("low door pane", Family::Door, [700.0, 650.0, 600.0, 75.0, 75.0]),
    ("lorry cab side window", Family::CabSide, [800.0, 650.0, 650.0, 75.0, 75.0]),
    ("coach cab side window", Family::CabSide, [1100.0, 1000.0, 900.0, 80.0, 80.0]),
];

/// The pane of those sizes, judged.
pub fn judged_pane((name, family, [base, top, height, band, seen]): PaneSizes) -> Judgement {
    let corners =
        [(-0.5 * base, 0.0), (0.5 * base, 0.0), (0.5 * top, height), (-0.5 * top, height)];
    let points = corners.map(|(x, y)| Point::from_mm(x, y)).to_vec();
    let outline = Outline::new(points, [6.0; 4].map(mm).to_vec(), [60.0; 4].map(mm).to_vec());
    let is_base = |s| matches!(s, Station::BaseLeft | Station::BaseCentre | Station::BaseRight);
    let seen = |station| if is_base(station) { seen } else { band };
    judged(name, family, &outline.expect("a pane"), |_| band, seen).expect("it can be judged")
}

/// Grips at equal distances along all that is feasible, beside a plan: same magnets, cloth and rating.
pub struct EqualSpacing<'a> {
    ask: &'a HoldAsk<'a>,
    places: Places,
    round: f64,
    finished: Path<Pane>,
    /// How far a grip may slide, in diameters, where not as usual.
    pub most_slide: Option<f64>,
}

impl<'a> EqualSpacing<'a> {
    pub fn new(ask: &'a HoldAsk<'a>) -> Self {
        let places = grip_spots(
            &GripAsk {
                pane: ask.pane,
                outer: &ask.magnets[0].outer,
                inner: &ask.magnets[0].inner,
                gap: ask.gap,
                clearance: ask.clearance,
                most_apart: ask.most_apart,
                confidence: ask.confidence,
                forbidden: ask.forbidden,
            },
            mm(10.0),
        );
        let path = ask.pane.outline.path();
        let (round, finished) = (path.length().mm(), path.inset(ask.inset).remove(0));
        Self { ask, places, round, finished, most_slide: None }
    }

    /// Middles of n grips, the first `phase` of a distance on.
    fn middles(&self, n: usize, phase: f64) -> Vec<Point<Pane>> {
        let parts: Vec<(f64, f64)> =
            self.places.feasible.iter().map(|s| (s.from.mm(), (s.to - s.from).mm())).collect();
        let total: f64 = parts.iter().map(|part| part.1).sum();
        let at = |i: usize| {
            let mut way = total * (i as f64 + phase) / n as f64;
            for &(from, span) in &parts {
                if way <= span {
                    return (from + way).rem_euclid(self.round);
                }
                way -= span;
            }
            parts[0].0
        };
        let nearest = |along: f64| {
            let far = |other: f64| {
                let apart = (other - along).rem_euclid(self.round);
                apart.min(self.round - apart)
            };
            let spots = self.places.spots.iter();
            spots.min_by(|a, b| far(a.along.mm()).total_cmp(&far(b.along.mm())))
        };
        (0..n).filter_map(|i| nearest(at(i)).map(|spot| spot.at)).collect()
    }

    /// What n of them are rated for, the better of a half and a quarter distance from the first
    /// feasible place; looked for near `guess`.
    pub fn rated(&self, n: usize, guess: Pressure) -> Pressure {
        let rated = |phase: f64| {
            let (ask, cloth) = (self.ask, &self.ask.cloth);
            let mesh = Mesh::of(&self.finished, ask.fineness, &self.middles(n, phase));
            let mesh = mesh.expect("a mesh");
            let cover = Membrane::new(&mesh, cloth.fabric, cloth.hem_stiffness, cloth.ease);
            let cover = cover.expect("a cover");
            let capacity = &ask.magnets[0].capacity;
            let grip = |&node: &usize| {
                let grip = HeldGrip::new(node, capacity.clone(), self.places.diameter);
                let most = self.most_slide.map(|share| self.places.diameter * share);
                HeldGrip { most_slide: most.unwrap_or(grip.most_slide), ..grip }
            };
            let grips: Vec<HeldGrip> = mesh.places().iter().map(grip).collect();
            let holding =
                Holding { cover: &cover, loading: ask.loading, grips: &grips, straps: &[] };
            holding.rated(ask.margin, guess * 1.5, &effort(2000)).expect("held").suction
        };
        rated(0.5).max(rated(0.25))
    }
}
