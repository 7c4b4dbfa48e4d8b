//! Nonsense is refused, and told what to do instead.

#![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]

mod common;

use common::{COARSEST, effort, judged, magnet_choice, mm, plan_ask};
use geometry::{Length, Outline, Point};
use hold::{
    CapacityAsk, ClothChoice, Fabric, Force, GapParts, HoldAsk, Loading, Magnet, Membrane, Mesh,
    Partner, Pressure, Support, gap_through, grip_capacity, iron_pull, pair_force, plan_hold,
};
use survey::{Family, Judgement};

/// A message that names what was found and says the way out.
fn says(message: &str, found: &str) {
    assert!(message.contains(found), "{message:?} does not say {found:?}");
    assert!(message.contains("; "), "{message:?} gives no way out");
}

fn pane(band: f64) -> Judgement {
    let corners = [(-500.0, 0.0), (500.0, 0.0), (480.0, 600.0), (-480.0, 600.0)];
    let outline = Outline::new(
        corners.map(|(x, y)| Point::from_mm(x, y)).to_vec(),
        vec![mm(6.0); 4],
        vec![mm(60.0); 4],
    );
    judged("rear", Family::Rear, &outline.unwrap(), |_| band, |_| band).unwrap()
}

#[test]
fn a_gap_below_nothing_is_refused() {
    let magnet: Magnet = "disc:20x3:N35".parse().unwrap();
    let none = (Length::ZERO, Length::ZERO);
    for gap in [-3.0, 0.0] {
        let found = format!("gap is {gap} mm");
        says(&pair_force(&magnet, &magnet, mm(gap), none).unwrap_err().to_string(), &found);
        let partner = Partner::Magnet(magnet);
        let ask = CapacityAsk::usual(magnet, partner, mm(gap));
        says(&grip_capacity(&ask).unwrap_err().to_string(), &found);
        let Partner::Iron(iron) = "iron:20x3".parse().unwrap() else { panic!("it is iron") };
        says(&iron_pull(&magnet, &iron, mm(gap)).unwrap_err().to_string(), &found);
    }
}

#[test]
fn glass_of_60_mm_is_refused() {
    let parts =
        GapParts { glass: mm(60.0), outer_cloth: mm(0.6), inner_cloth: mm(0.6), pad: Length::ZERO };
    says(&gap_through(&parts).unwrap_err().to_string(), "glass is 60 mm");
    let less = GapParts { glass: mm(-6.0), ..parts };
    says(&gap_through(&less).unwrap_err().to_string(), "glass is -6 mm");
}

#[test]
fn magnets_that_cannot_be_are_refused() {
    for (spec, found) in [
        ("disc:20x3:5", "polarisation is 5"),
        ("disc:20x3:0", "polarisation is 0"),
        ("disc:0x3:N35", "diameter is 0"),
        ("disc:20x-3:N35", "thickness is -3"),
        ("disc:20x3:N99", "N99"),
        ("ring:20x3:N35", "ring"),
        ("", "magnet"),
    ] {
        says(&spec.parse::<Magnet>().unwrap_err().to_string(), found);
    }
}

#[test]
fn a_plan_without_a_magnet_or_a_place_is_refused() {
    let (wide, narrow) = (pane(80.0), pane(24.0));
    let none = plan_ask(&wide, &[], Pressure::from_pascals(5.0));
    says(&plan_hold(&none, &effort(5)).unwrap_err().to_string(), "no magnet");
    let magnets = [magnet_choice("disc:20x3:N35")];
    let nowhere = plan_ask(&narrow, &magnets, Pressure::from_pascals(5.0));
    says(&plan_hold(&nowhere, &effort(5)).unwrap_err().to_string(), "band 24 mm");
}

#[test]
fn a_plan_for_what_cannot_be_asked_is_refused() {
    let pane = pane(80.0);
    let magnets = [magnet_choice("disc:20x3:N35")];
    let usual =
        HoldAsk { fineness: COARSEST, ..plan_ask(&pane, &magnets, Pressure::from_pascals(5.0)) };
    let eased = |ease| ClothChoice { ease, ..ClothChoice::usual() };
    for (ask, found) in [
        (HoldAsk { gap: mm(-7.0), ..usual }, "gap is -7 mm"),
        (HoldAsk { wanted: Pressure::from_pascals(-5.0), ..usual }, "wanted suction is -5 Pa"),
        (HoldAsk { wanted: Pressure::from_pascals(1e6), ..usual }, "wanted suction is 1000000 Pa"),
        (HoldAsk { margin: 0.0, ..usual }, "margin is 0"),
        (HoldAsk { most_grips: 0, ..usual }, "most grips is 0"),
        (HoldAsk { confidence: 1.2, ..usual }, "confidence is 1.2"),
        (HoldAsk { clearance: mm(-1.0), ..usual }, "hem clearance is -1 mm"),
        (HoldAsk { most_apart: Length::ZERO, ..usual }, "distance between grips is 0 mm"),
        (HoldAsk { inset: mm(900.0), ..usual }, "inset is 900 mm"),
        (HoldAsk { cloth: eased(-0.1), ..usual }, "ease is -0.1"),
        (HoldAsk { cloth: eased(2.0), ..usual }, "ease is 2"),
    ] {
        says(&plan_hold(&ask, &effort(5)).unwrap_err().to_string(), found);
    }
    assert!(plan_hold(&usual, &effort(5)).is_ok());
}

#[test]
fn cloth_held_at_two_places_is_refused() {
    let outline = pane(80.0).outline.path();
    let mesh = Mesh::of(&outline, COARSEST, &[]).unwrap();
    let fabric: Fabric = ClothChoice::usual().fabric;
    let cover = Membrane::new(&mesh, fabric, Force::from_newtons(6000.0), 0.01).unwrap();
    let held: Vec<Support> = [0, 5].map(|node| Support { node, hold: hold::Hold::Fixed }).to_vec();
    let suction = Pressure::from_pascals(5.0);
    let fault = cover.load(suction, Loading::Upright, &held, None).unwrap_err();
    says(&fault.to_string(), "held at 2 places");
}
