//! Grips by our plan beside equal spacing, for the same rated wind: ten panes of five families.
//!
//! Run: `cargo run --release -p hold --example grips` (all), `… --example grips 3` (the third pane only).
//!
//! Both have the same spots to choose from, magnets, cloth and rating (hold over 1.5, and any one grip
//! gone), neighbours as far apart as wind allows. Equal spacing gets as many grips as reach what the
//! plan is rated for.

use std::error::Error;
use std::io::Write;

use geometry::{Length, Outline, Pane, Point};
use hold::{
    CapacityAsk, ClothChoice, GripAsk, HeldGrip, HoldAsk, HoldEffort, Holding, Loading, Magnet,
    MagnetChoice, Membrane, Mesh, Partner, Places, Pressure, grip_capacity, grip_spots, plan_hold,
};
use survey::{
    Class, Column, Family, Judgement, Level, PaneReadings, Policy, Reading, ReadingName, Slope,
    Span, Standing, Station, TapeReading, Unit, Vehicle, Voice, judge,
};

/// Name, family, width at base and top, height, black band, band visible inside at the base, mm.
const PANES: [(&str, Family, [f64; 5]); 10] = [
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

/// Suction wanted of panes above and below 1 m², Pa. Chosen by us so that more than the corners are needed.
const WANTED: [f64; 2] = [10.0, 40.0];
/// Farthest neighbours: far enough that wind decides, not how close the hem shall lie.
const MOST_APART: Length = Length::from_mm(700.0);

fn mm(value: f64) -> Length {
    Length::from_mm(value)
}

fn judged(
    name: &str,
    family: Family,
    [base, top, height, band, seen]: [f64; 5],
) -> Result<Judgement, Box<dyn Error>> {
    let corners =
        [(-0.5 * base, 0.0), (0.5 * base, 0.0), (0.5 * top, height), (-0.5 * top, height)];
    let points = corners.map(|(x, y)| Point::from_mm(x, y)).to_vec();
    let outline = Outline::new(points, [6.0; 4].map(mm).to_vec(), [60.0; 4].map(mm).to_vec())?;
    let standing = Standing::of(&outline, false).ok_or("the outline does not stand")?;
    let reading = |name, exact: f64| {
        Reading::once(name, TapeReading::showing(mm(exact), Unit::Millimetre, mm(1.0)))
    };
    let spans = [
        Span::Height(Column::Left),
        Span::Height(Column::Centre),
        Span::Height(Column::Right),
        Span::Width(Level::Base),
        Span::Width(Level::Middle),
        Span::Width(Level::Top),
        Span::Diagonal(Slope::Rising),
        Span::Diagonal(Slope::Falling),
    ];
    let read = |span| Some(reading(ReadingName::outside(span), standing.read(span, None)?));
    let mut readings: Vec<Reading> = spans.into_iter().filter_map(read).collect();
    for &station in Station::ALL {
        let is_base =
            matches!(station, Station::BaseLeft | Station::BaseCentre | Station::BaseRight);
        readings.push(reading(ReadingName::outside(Span::Band(station)), band));
        let seen = if is_base { seen } else { band };
        readings.push(reading(ReadingName::inside(Span::Band(station)), seen));
    }
    let pane = PaneReadings::new(name, family, readings);
    let vehicle = Vehicle::of_class(Class::Coach);
    let voice = Voice::new(Unit::Millimetre, mm(1.0), &vehicle, &pane);
    Ok(judge(&vehicle, &pane, None, &voice, &Policy::starting())?)
}

/// Spots at equal distances along all that is feasible.
fn equal(places: &Places, length: f64, n: usize) -> Vec<Point<Pane>> {
    let parts: Vec<(f64, f64)> =
        places.feasible.iter().map(|s| (s.from.mm(), (s.to - s.from).mm())).collect();
    let total: f64 = parts.iter().map(|part| part.1).sum();
    let at = |i: usize| {
        let mut way = total * (i as f64 + 0.5) / n as f64;
        for &(from, span) in &parts {
            if way <= span {
                return (from + way).rem_euclid(length);
            }
            way -= span;
        }
        parts[0].0
    };
    let nearest = |along: f64| {
        let far = |other: f64| {
            let apart = (other - along).rem_euclid(length);
            apart.min(length - apart)
        };
        let spots = places.spots.iter();
        spots.min_by(|a, b| far(a.along.mm()).total_cmp(&far(b.along.mm())))
    };
    (0..n).filter_map(|i| nearest(at(i)).map(|spot| spot.at)).collect()
}

fn main() -> Result<(), Box<dyn Error>> {
    let only: Option<usize> = std::env::args().nth(1).map(|n| n.parse()).transpose()?;
    let magnet: Magnet = "block:40x12x5:N42H".parse()?;
    let capacity = grip_capacity(&CapacityAsk::usual(magnet, Partner::Magnet(magnet), mm(7.2)))?;
    let magnets = [MagnetChoice {
        name: "block".into(),
        outer: magnet,
        inner: magnet,
        pull: capacity.pull_off,
        capacity: capacity.clone(),
        non_slip: None,
        cost: None,
    }];
    let effort = HoldEffort { most_shapes: 2000, keep_going: &|| true, progress: &|_| () };
    let mut out = std::io::stdout().lock();
    writeln!(out, "| pane | rated suction, Pa | our grips | equally spaced | shapes |")?;
    writeln!(out, "| --- | --- | --- | --- | --- |")?;
    for (i, (name, family, sizes)) in PANES.into_iter().enumerate() {
        if only.is_some_and(|only| only != i + 1) {
            continue;
        }
        let pane = judged(name, family, sizes)?;
        let area = pane.outline.path().area().m2();
        let ask = HoldAsk {
            pane: &pane,
            magnets: &magnets,
            gap: mm(7.2),
            inset: mm(4.0),
            clearance: mm(7.0),
            forbidden: &[],
            confidence: 0.95,
            most_apart: MOST_APART,
            most_grips: HoldAsk::MOST_GRIPS,
            cloth: ClothChoice::usual(),
            straps: &[],
            wanted: Pressure::from_pascals(WANTED[usize::from(area < 1.0)]),
            margin: HoldAsk::MARGIN,
            loading: Loading::Upright,
            fineness: HoldAsk::COARSE,
        };
        let plan = plan_hold(&ask, &effort)?;
        let places = grip_spots(
            &GripAsk {
                most_apart: MOST_APART,
                ..GripAsk::usual(&pane, &magnet, &magnet, ask.gap, ask.clearance)
            },
            mm(10.0),
        );
        let length = pane.outline.path().length().mm();
        let finished = pane.outline.path().inset(ask.inset).remove(0);
        let reaches = |n: usize| -> Result<bool, Box<dyn Error>> {
            let mesh = Mesh::of(&finished, ask.fineness, &equal(&places, length, n))?;
            let cloth = &ask.cloth;
            let cover = Membrane::new(&mesh, cloth.fabric, cloth.hem_stiffness, cloth.ease)?;
            let grip = |&node: &usize| HeldGrip::new(node, capacity.clone(), places.diameter);
            let grips: Vec<HeldGrip> = mesh.places().iter().map(grip).collect();
            let holding =
                Holding { cover: &cover, loading: ask.loading, grips: &grips, straps: &[] };
            let rated = holding.rated(ask.margin, plan.suction() * 1.5, &effort)?;
            Ok(rated.suction >= plan.suction())
        };
        let n_ours = plan.plan.grips.len();
        let mut n_equal = n_ours;
        // From as many as ours upwards; below it, equal spacing would be the better.
        if reaches(n_equal)? {
            while n_equal > 4 && reaches(n_equal - 1)? {
                n_equal -= 1;
            }
        } else {
            n_equal += 1;
            while n_equal < 3 * n_ours && !reaches(n_equal)? {
                n_equal += 1;
            }
        }
        writeln!(
            out,
            "| {name} | {:.1} | {n_ours} | {n_equal} | {} |",
            plan.suction().pascals(),
            plan.n_shapes
        )?;
        out.flush()?;
    }
    Ok(())
}
