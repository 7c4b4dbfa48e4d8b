//! Files and answers against Python's `tomllib` and PyPI `jsonschema`, and units against the
//! agreement that fixes them.
//!
//! Sources: `tomllib` of Python 3.11 or newer (PSF licence) and jsonschema 4.26 (MIT), run by
//! `checks/python/check_schema.py`: a TOML file means to another reader what it means to ours, and
//! another validator takes and refuses by our schemas what our readers do. International yard and
//! pound agreement of 1959, as in NIST Special Publication 811, Appendix B.8 (1 in = 25.4 mm and
//! 1 ft = 304.8 mm, exact) [from memory]: lengths agree to 1e-9 mm, the rounding of doubles.

#![allow(clippy::unwrap_used)] // Helpers of tests are tests.

use checks::python;
use geometry::{Angle, Length, Piece, Point};
use lay::{Ask, Effort, Shape, lay};
use serde_json::{Value, json};
use shop::{
    AfterLossAnswer, BarrenAnswer, Beside, CheckAnswer, DemandAnswer, FileAnswer, GripAnswer,
    GustAnswer, HeatAnswer, HoldAnswer, LayAnswer, MagnetOptionAnswer, MakeAnswer, Materials,
    MaterialsAnswer, PaneAnswer, PullAnswer, PullRow, RaiseAnswer, SCHEMAS, STARTING_POLICY,
    StrapAnswer, WindAnswer, read_book, read_order, read_policy, read_shapes, schema,
    starting_policy, write_order,
};
use survey::{Policy, Unit, Voice, judge, read_tape};

/// The example of the order format with choices for covers, as people would write it.
const ORDER: &str = include_str!("../../fuzz/seeds/order/order.toml");
const ORDER_JSON: &str = include_str!("../../fuzz/seeds/order/order.json");
const BOOK: &str = include_str!("../../fuzz/seeds/order/book.toml");
const SHAPES: &str = include_str!("../../fuzz/seeds/order/shapes.json");

/// What Python makes of texts in TOML and of pairs of a schema's name and a value.
fn ask(toml: &[&str], pairs: &[(&str, Value)]) -> (Vec<Value>, Vec<Option<String>>) {
    let pairs: Vec<Value> =
        pairs.iter().map(|(name, value)| json!([schema(name).unwrap(), value])).collect();
    let input = json!({"toml": toml, "pairs": pairs}).to_string();
    let answer: Value = serde_json::from_str(&python::run("check_schema.py", &[], &input)).unwrap();
    let found = answer["pairs"].as_array().unwrap().iter();
    let found = found.map(|fault| fault.as_str().map(str::to_owned)).collect();
    (answer["toml"].as_array().unwrap().clone(), found)
}

/// Whether our reader of that kind of file takes the value.
fn taken(name: &str, value: &Value) -> bool {
    let (bytes, file) = (value.to_string().into_bytes(), "x.json");
    match name {
        "order" => read_order(&bytes, file).is_ok(),
        "book" => read_book(&bytes, file).is_ok(),
        "policy" => read_policy(&bytes, file).is_ok(),
        _ => read_shapes(&bytes, file).is_ok(),
    }
}

#[test]
fn toml_means_to_another_reader_what_it_means_to_ours() {
    let order = read_order(ORDER.as_bytes(), "order.toml").unwrap();
    let written = write_order(&order);
    let (values, _) = ask(&[ORDER, &written, BOOK, STARTING_POLICY], &[]);
    let policy = read_policy(values[3].to_string().as_bytes(), "policy.json").unwrap();
    assert_eq!(policy, starting_policy());
    for value in &values[..2] {
        assert_eq!(read_order(value.to_string().as_bytes(), "order.json").unwrap(), order);
    }
    let book = read_book(BOOK.as_bytes(), "book.toml").unwrap();
    assert_eq!(read_book(values[2].to_string().as_bytes(), "book.json").unwrap(), book);
    let json: Value = serde_json::from_str(ORDER_JSON).unwrap();
    let (_, faults) = ask(
        &[],
        &[
            ("order", json),
            ("order", values[0].clone()),
            ("order", values[1].clone()),
            ("book", values[2].clone()),
            ("policy", values[3].clone()),
            ("shapes", serde_json::from_str(SHAPES).unwrap()),
        ],
    );
    assert_eq!(faults, [const { None }; 6]);
}

/// Puts a value at a JSON pointer, or takes away what is there.
fn changed(whole: &Value, pointer: &str, value: Option<Value>) -> Value {
    let mut whole = whole.clone();
    let (parent, key) = pointer.rsplit_once('/').unwrap();
    match (whole.pointer_mut(parent).unwrap(), value) {
        (Value::Object(map), Some(value)) => drop(map.insert(key.to_owned(), value)),
        (Value::Object(map), None) => drop(map.remove(key).unwrap()),
        (Value::Array(items), Some(value)) => items[key.parse::<usize>().unwrap()] = value,
        (other, _) => panic!("{pointer} in {other}"),
    }
    whole
}

#[test]
fn what_a_schema_refuses_the_reader_refuses_too() {
    let (values, _) = ask(&[ORDER, BOOK], &[]);
    let shapes: Value = serde_json::from_str(SHAPES).unwrap();
    let pane = values[0]["pane"][0].clone();
    let long = "x".repeat(81);
    let mut pairs = Vec::new();
    for (pointer, value) in [
        ("/order", None),
        ("/vehicle", None),
        ("/pane", None),
        ("/pane", Some(json!([]))),
        ("/pane", Some(json!(pane))),
        ("/colour", Some(json!("red"))),
        ("/order/ref", None),
        ("/order/ref", Some(json!(""))),
        ("/order/ref", Some(json!(" \t "))),
        ("/order/ref", Some(json!(long))),
        ("/order/ref", Some(json!(142))),
        ("/order/unit", None),
        ("/order/unit", Some(json!("inch"))),
        ("/order/colour", Some(json!("red"))),
        ("/vehicle/class", Some(json!("tram"))),
        ("/vehicle/year", Some(json!("2014"))),
        ("/vehicle/year", Some(json!(2014.5))),
        ("/vehicle/year", Some(json!(14))),
        ("/vehicle/steering", Some(json!("middle"))),
        ("/pane/0/name", None),
        ("/pane/0/family", None),
        ("/pane/0/family", Some(json!("hatch"))),
        ("/pane/0/half", Some(json!("left"))),
        ("/pane/0/flank", Some(json!("driver"))),
        ("/pane/0/glass", Some(json!(true))),
        ("/pane/0/outside", Some(json!([]))),
        ("/pane/0/outside/height", Some(json!("57"))),
        ("/pane/0/outside/height/centre", Some(json!([]))),
        ("/pane/0/outside/height/centre", Some(json!(["57", true]))),
        ("/pane/0/outside/height/centre", Some(json!("tall"))),
        ("/pane/0/outside/height/centre", Some(json!({"read": "57", "in_from_side": "9"}))),
        ("/pane/0/outside/height/left", Some(json!({"in_from_side": "9"}))),
        ("/pane/0/outside/height/left", Some(json!({"read": "57", "up_from_base": "9"}))),
        ("/pane/0/outside/height/middle", Some(json!("57"))),
        ("/pane/0/outside/blocked", Some(json!({"base-left": 3}))),
        ("/pane/0/inside/diagonal", Some(json!({"rising": 3}))),
        ("/pane/0/inside/bend", Some(json!(3))),
        ("/blade/0/park", None),
        ("/blade/0/park", Some(json!("sideways"))),
        ("/blade/0/heel/from_side", None),
        ("/blade/0/heel/from_top", Some(json!(1))),
        ("/hood/0/depth", None),
        ("/hood/0/camera", Some(json!("yes"))),
        ("/cover/hem/middle", Some(json!("2 mm"))),
        ("/cover/inset", Some(json!([4]))),
        ("/hold/gust", Some(json!(100))),
        ("/hold/beaufort", Some(json!(4))),
        ("/hold/ease", Some(json!("1"))),
        ("/hold/friction/middle", Some(json!(0.2))),
        ("/hold/strap/0/to", Some(json!("tree"))),
        ("/hold/most_grips", Some(json!(2.5))),
        ("/pane/0/hold", Some(json!({"strap": []}))),
        ("/magnet/0/outer", None),
        ("/magnet/0/slide", Some(json!("much"))),
        ("/magnet/0/on_hand", Some(json!(-1))),
    ] {
        pairs.push(("order", changed(&values[0], pointer, value)));
    }
    for (pointer, value) in [
        ("/pane/0/make", None),
        ("/pane/0/years", Some(json!([2008]))),
        ("/pane/0/years/0", Some(json!("2008"))),
        ("/pane/0/class", Some(json!("tram"))),
        ("/pane/0/settled", Some(json!(-1))),
        ("/pane/0/corners", Some(json!([[0, 0], [9, 0]]))),
        ("/pane/0/corners/0", Some(json!([0, 0, 0]))),
        ("/pane/0/bows", Some(json!([1]))),
        ("/pane/0/sd", None),
        ("/pane/0/band/middle", Some(json!(3))),
        ("/pane/0/half", Some(json!("left"))),
    ] {
        pairs.push(("book", changed(&values[1], pointer, value)));
    }
    for (pointer, value) in [
        ("/width_mm", Some(json!(0))),
        ("/width_mm", Some(json!("1500"))),
        ("/pieces", None),
        ("/pieces", Some(json!([]))),
        ("/pieces/0/name", None),
        ("/pieces/0/count", Some(json!(0))),
        ("/pieces/0/turns_deg", Some(json!(180))),
        ("/pieces/0/outline_mm", Some(json!([[0, 0], [1, 0]]))),
        ("/pieces/0/outline_mm/0", Some(json!([0]))),
    ] {
        pairs.push(("shapes", changed(&shapes, pointer, value)));
    }
    let (_, faults) = ask(&[], &pairs);
    for ((name, value), fault) in pairs.iter().zip(&faults) {
        assert!(fault.is_some(), "the {name} schema takes {value}");
        assert!(!taken(name, value), "the {name} reader takes {value}: {fault:?}");
    }
}

#[test]
fn answers_obey_their_schemas() {
    let order = read_order(ORDER.as_bytes(), "order.toml").unwrap();
    let book = read_book(BOOK.as_bytes(), "book.toml").unwrap();
    let policy = Policy::starting();
    let judgements: Vec<_> = order
        .panes
        .iter()
        .map(|pane| {
            let entry = book.find(&order.vehicle, pane);
            let graduation = order.graduation.unwrap();
            let voice = Voice::new(order.unit, graduation, &order.vehicle, pane);
            judge(&order.vehicle, pane, entry, &voice, &policy).unwrap()
        })
        .collect();
    let beside = Beside::of(&order, &judgements, &Policy::starting());
    let check = CheckAnswer::of(&order.reference, &judgements, &beside);
    let outline =
        [(0.0, 0.0), (300.0, 0.0), (300.0, 200.0)].map(|(x, y)| Point::<Piece>::from_mm(x, y));
    let shape =
        Shape { name: "a".into(), count: 2, turns: vec![Angle::ZERO], outline: outline.to_vec() };
    let lay_ask = Ask { width: Length::from_mm(500.0), gap: Length::ZERO, shapes: vec![shape] };
    let effort = Effort { seed: 1, rounds: 1, keep_going: &|| true, progress: &|_| () };
    let laid = LayAnswer::of(&lay(&lay_ask, &effort).unwrap());
    let row = PullRow {
        gap_mm: 8.0,
        celsius: 60.0,
        pull_n: 12.5,
        peak_slide_n: 6.0,
        peak_at_mm: 8.5,
        loses_for_good: None,
    };
    let pull = PullAnswer {
        pull_n: 12.5,
        slide_n: -0.5,
        force_n: [0.5, 0.0, -12.5],
        gap_mm: 8.0,
        iron_disc_n: Some(11.0),
        table: vec![row],
        cautions: vec!["Keep clear.".into()],
    };
    let made = PaneAnswer {
        name: "front".into(),
        verdict: check.panes[0].verdict,
        chance_of_fit: 0.9,
        pieces: vec!["front panel".into()],
        n_grips: 24,
        hold: held(),
    };
    let file = FileAnswer { path: "front-panel.dxf".into(), kind: "cut".into(), bytes: 9000 };
    let made = MakeAnswer {
        reference: order.reference.clone(),
        release: None,
        panes: vec![made],
        materials: MaterialsAnswer::of(&Materials::default()),
        files: vec![file],
    };
    let answers = [
        ("check", serde_json::to_value(&check).unwrap()),
        ("pull", serde_json::to_value(pull).unwrap()),
        ("lay", serde_json::to_value(&laid).unwrap()),
        ("make", serde_json::to_value(&made).unwrap()),
    ];
    let mut pairs = answers.to_vec();
    pairs.extend([
        ("check", changed(&answers[0].1, "/panes/0/verdict", Some(json!("maybe")))),
        ("check", changed(&answers[0].1, "/panes/0/band_mm/middle", Some(json!(3)))),
        ("check", changed(&answers[0].1, "/panes/0/chance_of_fit", Some(json!(1.5)))),
        ("pull", changed(&answers[1].1, "/force_n", Some(json!([1, 2])))),
        ("pull", changed(&answers[1].1, "/table/0/gap_mm", None)),
        ("lay", changed(&answers[2].1, "/places/0/turn_deg", None)),
        ("make", changed(&answers[3].1, "/files/0/bytes", Some(json!(-1)))),
        ("make", changed(&answers[3].1, "/panes/0/hold/grips/0/edge", Some(json!("bottom")))),
        ("make", changed(&answers[3].1, "/panes/0/hold/wind/gust/beaufort", Some(json!(13)))),
        ("make", changed(&answers[3].1, "/panes/0/hold/heat/words", None)),
    ]);
    let (_, faults) = ask(&[], &pairs);
    for (i, ((name, value), fault)) in pairs.iter().zip(&faults).enumerate() {
        assert_eq!(fault.is_none(), i < answers.len(), "{name} {value}: {fault:?}");
    }
    // Order, book, policy and shapes are read above; the pieces' file is checked where it is written.
    assert_eq!(SCHEMAS.len(), 5 + answers.len());
}

/// What holds a cover, with everything there can be.
fn held() -> HoldAnswer {
    let gust = || GustAnswer { m_per_s: 7.5, beaufort: Some(2), words: "gusts to 7 m/s".into() };
    let demand = DemandAnswer {
        lift_n: 0.5,
        along_n: 1.25,
        holds_off_n: 4.0,
        holds_along_n: 1.5,
        slid_mm: 0.5,
        used: 0.5,
    };
    let grip = GripAnswer {
        number: 1,
        at_mm: [-900.0, 45.0],
        edge: "base",
        from_corner: "base-left",
        along_mm: 120.0,
        offset_mm: 45.0,
        outer_to_glass: "N".into(),
        inner_to_glass: "S".into(),
        demand: Some(demand),
    };
    let wind = WindAnswer {
        suction_pa: 12.0,
        gust: gust(),
        hold_pa: 18.0,
        margin: 1.5,
        after_loss: Some(AfterLossAnswer { grip: 1, suction_pa: 13.0, gust: gust() }),
        wanted_m_per_s: Some(7.0),
        wanted_pa: None,
        is_met: true,
        cut_short: false,
        sources: vec!["EN 1991-1-4"],
    };
    let barren = BarrenAnswer {
        from_to_mm: [100.0, 250.0],
        near: "base-left",
        band_mm: 34.0,
        blocked_mm: 41.0,
        needed_mm: 27.0,
        reason: "band 34 mm".into(),
    };
    let option = MagnetOptionAnswer {
        magnet: "bar 40".into(),
        n_pairs: 24,
        gust: gust(),
        cost: None,
        mass_kg: 0.9,
        on_hand: Some(60),
    };
    HoldAnswer {
        side: "outside",
        magnet: "bar 40".into(),
        outer: "block:40x12x5:N42H".into(),
        inner: "block:40x12x5:N42H".into(),
        gap_mm: 8.2,
        pull_off_n: Some(9.0),
        slide_n: Some(4.0),
        wind: Some(wind),
        unheld: None,
        grips: vec![grip],
        straps: vec![StrapAnswer {
            corner: "top-left",
            to: "mirror-arm".into(),
            pull_n: Some(11.0),
        }],
        feasible_mm: vec![[300.0, 2000.0]],
        barren: vec![barren],
        alternatives: vec![option],
        raises: vec![RaiseAnswer { by: "a non-slip face".into(), gust: gust() }],
        parcel_ut: Some([20.0, 0.1, 0.01]),
        heat: HeatAnswer {
            bare: Some(0.78),
            covered: Some(0.2),
            words: "less".into(),
            openness: "mesh",
        },
        cautions: vec!["Keep clear.".into()],
    }
}

#[test]
fn units_are_those_of_the_agreement_of_1959() {
    for (words, mm) in [
        ("1 in", 25.4),
        ("1 ft", 304.8),
        ("12 in", 304.8),
        ("10 in", 254.0),
        ("1/2 in", 12.7),
        ("5 ft", 1524.0),
        ("30 ft", 9144.0),
        ("1 m", 1000.0),
        ("1 cm", 10.0),
    ] {
        let found = read_tape(words, Unit::Millimetre).unwrap().length.mm();
        assert!((found - mm).abs() < 1e-9, "{words}: {found}");
    }
}
