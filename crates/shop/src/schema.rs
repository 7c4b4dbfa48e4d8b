//! JSON Schemas (draft 2020-12) of the files read and of what commands answer.
//!
//! Files are described from the same lists they are read by; answers from the structs that are
//! written. A schema cannot say everything a reader knows: it takes any text of a length for a
//! reading, and does not see that two panes share a name. What it refuses, the reader refuses.

use std::fmt::Display;

use drafting::{ClosedEnd, CornerStyle, PocketStyle, Print, SeamType};
use hold::StrapTo;
use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde_json::{Map, Value, json};
use survey::{
    Class, Corner, Course, Edge, Family, Flank, Half, HoodSide, KeepOutKind, Park, Side, Span,
    Station, Steering, Unit,
};

use crate::answer::{CheckAnswer, LayAnswer, MakeAnswer, PullAnswer};
use crate::book_file::{CORNERS, MOST_SETTLED};
use crate::cover::{CoverKind, Finish, FreeEdge};
use crate::cover_file::{MOST_KEEP_OUTS, MOST_LAYERS, MOST_SHRINKAGE};
use crate::fields::{LONGEST_NAME, MOST_ITEMS};
use crate::hold_wishes::{Exposure, Inner, WantedWind, limits};
use crate::order_file::{FLANKED, HALVED, MOST_TAKEN, YEARS, place_key};
use crate::pieces_file::PiecesAnswer;
use crate::policy_file::{Number, Section, sections};
use crate::shapes_file::MOST_TURNS;

/// The schemas there are.
pub const SCHEMAS: &[&str] =
    &["order", "book", "policy", "shapes", "check", "pull", "lay", "make", "pieces"];

/// The schema of that name, one of [`SCHEMAS`].
#[must_use]
pub fn schema(name: &str) -> Option<Value> {
    Some(match name {
        "order" => order(),
        "book" => book(),
        "policy" => policy(),
        "shapes" => shapes(),
        "check" => answer::<CheckAnswer>(),
        "pull" => answer::<PullAnswer>(),
        "lay" => answer::<LayAnswer>(),
        "make" => answer::<MakeAnswer>(),
        "pieces" => answer::<PiecesAnswer>(),
        _ => return None,
    })
}

fn answer<T: JsonSchema>() -> Value {
    let settings = SchemaSettings::draft2020_12().for_serialize();
    settings.into_generator().into_root_schema_for::<T>().to_value()
}

const DIALECT: &str = "https://json-schema.org/draft/2020-12/schema";

/// A table of those properties and no others.
fn table<K: Into<String>>(
    about: &str,
    required: &[&str],
    properties: impl IntoIterator<Item = (K, Value)>,
) -> Value {
    let properties: Map<String, Value> =
        properties.into_iter().map(|(key, value)| (key.into(), value)).collect();
    let mut table = json!({
        "description": about,
        "type": "object",
        "properties": properties,
        "additionalProperties": false,
    });
    if !required.is_empty() {
        table["required"] = json!(required);
    }
    table
}

fn list(item: Value, least: usize, most: usize) -> Value {
    json!({"type": "array", "items": item, "minItems": least, "maxItems": most})
}

fn one_of<T: Display>(about: &str, all: &[T]) -> Value {
    let all: Vec<String> = all.iter().map(T::to_string).collect();
    json!({"description": about, "enum": all})
}

fn defined(name: &str) -> Value {
    json!({"$ref": format!("#/$defs/{name}")})
}

/// `half` and `flank` are refused for families that have none.
fn with_half_and_flank(mut table: Value) -> Value {
    table["properties"]["half"] = one_of("Which half, as seen facing it.", Half::ALL);
    table["properties"]["flank"] = one_of("Which side of the vehicle.", Flank::ALL);
    let only = |families: &[Family]| json!({"properties": {"family": one_of("The families that have it.", families)}});
    table["dependentSchemas"] = json!({"half": only(&HALVED), "flank": only(&FLANKED)});
    table
}

fn definitions() -> Value {
    let either_way = table(
        "A reading, and which way the tape went.",
        &["read"],
        [("read", defined("reading")), ("taken", one_of("Which way.", Course::ALL))],
    );
    json!({
        "name": {
            "description": "A short text.",
            "type": "string",
            "pattern": "\\S",
            "maxLength": LONGEST_NAME,
        },
        "reading": {
            "description": "What the tape shows, such as \"52 1/4\" or 1327; a bare number is in \
                            the order's unit, in books in millimetres.",
            "type": ["string", "number"],
            "pattern": "[0-9¼-¾⅐-⅟↉⁰-₉²³¹]",
        },
        "taken": {
            "description": "A reading, or a list of the same reading taken again.",
            "anyOf": [defined("reading"), list(defined("reading"), 1, MOST_TAKEN)],
        },
        "taken-either-way": {
            "description": "A reading, or a list of the same reading taken again, each along the \
                            glass or straight across.",
            "anyOf": [defined("reading"), list(json!({"anyOf": [defined("reading"), either_way]}), 1, MOST_TAKEN)],
        },
        "year": {"type": "integer", "minimum": YEARS[0], "maximum": YEARS[1]},
    })
}

fn order() -> Value {
    let (name, reading) = (|| defined("name"), || defined("reading"));
    let head = table(
        "The order itself.",
        &["ref", "unit"],
        [
            ("ref", name()),
            ("owner", name()),
            ("unit", one_of("What a bare number means.", Unit::ALL)),
            ("graduation", reading()),
        ],
    );
    let vehicle = table(
        "The vehicle; make, model and year find it in the glass book.",
        &["class"],
        [
            ("class", one_of("What sort of vehicle.", Class::ALL)),
            ("make", name()),
            ("model", name()),
            ("year", defined("year")),
            ("steering", one_of("Which side the driver sits, from inside.", Steering::ALL)),
        ],
    );
    let pane = table(
        "One pane and its readings.",
        &["name", "family"],
        [
            ("name", name()),
            ("family", one_of("What sort of pane.", Family::ALL)),
            ("glass", reading()),
            ("corners", json!({"type": "integer", "minimum": CORNERS[0], "maximum": CORNERS[1]})),
            ("outside", side(Side::Outside)),
            ("inside", side(Side::Inside)),
            ("cover", cover("How this pane's cover differs.")),
            ("hold", hold("How this pane's cover is held differently.", false)),
            ("keep-out", list(keep_out(), 0, MOST_KEEP_OUTS)),
        ],
    );
    let point = || {
        table(
            "A place on the glass.",
            &["from_base", "from_side"],
            [("from_base", reading()), ("from_side", reading())],
        )
    };
    let section = table(
        "Blade and arm cut across where they are thickest: along the glass, and off it.",
        &["width", "height"],
        [("width", reading()), ("height", reading())],
    );
    let blade = table(
        "A wiper blade that gets a sleeve.",
        &["name", "length", "park"],
        [
            ("name", name()),
            ("length", reading()),
            ("park", one_of("How it parks.", Park::ALL)),
            ("heel", point()),
            ("tip", point()),
            ("section", section),
            ("arm", reading()),
            ("closed", one_of("Which end of its sleeve is closed.", ClosedEnd::ALL)),
        ],
    );
    let hood = table(
        "A mirror housing that gets a hood, measured over the housing.",
        &["name", "height", "width", "depth"],
        [
            ("name", name()),
            ("height", reading()),
            ("width", reading()),
            ("depth", reading()),
            ("camera", json!({"type": "boolean"})),
            ("side", one_of("Which mirror, as seen facing the vehicle.", HoodSide::ALL)),
        ],
    );
    let mut gives = percent("Per cent it gathers or stretches without a crease.");
    gives["minimum"] = json!(0.0);
    let cloth = table(
        "A cloth covers are cut from.",
        &["name", "width"],
        [
            ("name", name()),
            ("width", reading()),
            ("thickness", reading()),
            ("nap", json!({"description": "All pieces lie the same way.", "type": "boolean"})),
            ("print", one_of("Which way of the roll is up in its print.", Print::ALL)),
            ("shrinks_along", percent("Per cent it shrinks along the roll; below 0 it stretches.")),
            ("shrinks_across", percent("The same across the roll.")),
            ("gives", gives),
        ],
    );
    let mut order = table(
        "An order for covers: the vehicle, its panes as read, and how covers are made.",
        &["order", "vehicle", "pane"],
        [
            ("order", head),
            ("vehicle", vehicle),
            ("pane", list(with_half_and_flank(pane), 1, MOST_ITEMS)),
            ("blade", list(blade, 0, MOST_ITEMS)),
            ("hood", list(hood, 0, MOST_ITEMS)),
            ("cover", cover("How covers are made; what is left out has its usual value.")),
            ("cloth", list(cloth, 0, MOST_ITEMS)),
            ("hold", hold("How covers are held; what is left out has its usual value.", true)),
            ("magnet", list(magnet(), 0, MOST_ITEMS)),
        ],
    );
    order["$schema"] = json!(DIALECT);
    order["title"] = json!("Order");
    order["$defs"] = definitions();
    order
}

/// One value for all edges, or some edges one by one.
fn by_edge(about: &str, value: &Value) -> Value {
    let edges = table(about, &[], Edge::ALL.iter().map(|e| (e.spelling(), value.clone())));
    json!({"anyOf": [value, edges]})
}

fn percent(about: &str) -> Value {
    json!({
        "description": about, "type": "number",
        "minimum": -MOST_SHRINKAGE, "maximum": MOST_SHRINKAGE,
    })
}

/// Something a cover leaves free.
fn keep_out() -> Value {
    let reading = || defined("reading");
    let mut table = table(
        "Something on the glass that the cover leaves free, measured from the glass edges.",
        &["kind"],
        [
            ("kind", one_of("What it is.", KeepOutKind::ALL)),
            ("from_left", reading()),
            ("from_right", reading()),
            ("from_centre", reading()),
            ("from_base", reading()),
            ("from_top", reading()),
            ("width", reading()),
            ("height", reading()),
            ("diameter", reading()),
            ("clearance", reading()),
            ("finish", one_of("How the edge round it is finished.", FreeEdge::ALL)),
            ("slit", json!({"description": "Whether a slit leads to it.", "type": "boolean"})),
        ],
    );
    let one = |keys: &[&str]| -> Vec<Value> {
        keys.iter().map(|key| json!({"required": [key]})).collect()
    };
    table["allOf"] = json!([
        {"oneOf": one(&["from_left", "from_right", "from_centre"])},
        {"oneOf": one(&["from_base", "from_top"])},
        {"oneOf": [
            {"required": ["width", "height"], "not": {"required": ["diameter"]}},
            {"required": ["diameter"], "not": {"anyOf": one(&["width", "height"])}},
        ]},
    ]);
    table
}

/// What is said of a cover.
fn cover(about: &str) -> Value {
    let (name, reading) = (|| defined("name"), || defined("reading"));
    let hem = || by_edge("Width of the hem, edge by edge.", &reading());
    let finish = || {
        let one = one_of("How an edge is finished.", Finish::ALL);
        by_edge("Finish, edge by edge.", &one)
    };
    let layer = table(
        "One layer; what is left out is as for the cover.",
        &["name"],
        [
            ("name", name()),
            ("cloth", name()),
            ("cloth_width", reading()),
            ("inset", reading()),
            ("hem", hem()),
            ("finish", finish()),
        ],
    );
    table(
        about,
        &[],
        [
            ("kind", one_of("What sort of cover.", CoverKind::ALL)),
            ("cloth", name()),
            ("cloth_width", reading()),
            ("cloth_thickness", reading()),
            ("inset", reading()),
            ("hem", hem()),
            ("finish", finish()),
            ("tuck", reading()),
            ("tape", reading()),
            ("corner", one_of("How corners are made.", CornerStyle::ALL)),
            ("turning", reading()),
            ("seam", reading()),
            ("seam_type", one_of("How parts are joined.", SeamType::ALL)),
            ("magnet", name()),
            ("pocket", one_of("How magnets are held.", PocketStyle::ALL)),
            ("layer", list(layer, 0, MOST_LAYERS)),
        ],
    )
}

fn number(about: &str, [least, most]: [f64; 2]) -> Value {
    json!({"description": about, "type": "number", "minimum": least, "maximum": most})
}

fn whole(about: &str, [least, most]: [i32; 2]) -> Value {
    json!({"description": about, "type": "integer", "minimum": least, "maximum": most})
}

/// What is said of how a cover is held.
fn hold(about: &str, has_straps: bool) -> Value {
    let reading = || defined("reading");
    let friction = |about| number(about, limits::FRICTION);
    let stiffness = |about| number(about, limits::STIFFNESS);
    let friction = table(
        "Friction on the glass.",
        &[],
        [("outside", friction("Of the hem.")), ("inside", friction("Of the inner pocket."))],
    );
    let ways = table(
        "Stiffness of the cloth, kN/m.",
        &[],
        [
            ("across", stiffness("Across the pane.")),
            ("up", stiffness("Up the pane.")),
            ("shear", stiffness("Askew.")),
        ],
    );
    let sun = table(
        "The cloth in the sun, per cent.",
        &["through", "back"],
        [
            ("through", number("Goes through.", limits::THROUGH)),
            ("back", number("Is thrown back.", limits::BACK)),
        ],
    );
    let glass = table(
        "The glass in the sun.",
        &["g", "u"],
        [
            ("g", number("Share of the sun's heat that comes through.", limits::G)),
            ("u", number("Thermal transmittance, W/(m² K).", limits::U)),
        ],
    );
    let beaufort = [1, i32::from(WantedWind::MOST_BEAUFORT)];
    let mut properties = vec![
        ("gust", number("Gusts to withstand, m/s, parked.", limits::GUST)),
        ("beaufort", whole("The same as a force on Beaufort's scale.", beaufort)),
        ("margin", number("Hold over rating with every grip in place.", limits::MARGIN)),
        ("exposure", one_of("Where the pane is in the wind.", Exposure::ALL)),
        (
            "magnets",
            json!({
                "description": "Magnets by name or specification, the one to be used first.",
                "anyOf": [defined("name"), list(defined("name"), 0, limits::MAGNETS)],
            }),
        ),
        ("pad", reading()),
        ("non_slip", json!({"description": "A non-slip face at the magnets.", "type": "boolean"})),
        ("inner", one_of("How the inner magnet is kept.", Inner::ALL)),
        ("friction", friction),
        ("ease", number("Per cent the cover is larger than its span.", limits::EASE)),
        ("stiffness", json!({"anyOf": [stiffness("Alike both ways, kN/m."), ways]})),
        ("openness", number("Per cent of the cloth that is open.", limits::OPENNESS)),
        ("in_sun", number("Magnets in the sun, °C.", limits::CELSIUS)),
        ("hottest", number("Magnets at their hottest ever, °C.", limits::CELSIUS)),
        ("sun", sun),
        ("glass", glass),
        ("most_grips", whole("Most pairs a pane.", limits::GRIPS)),
        ("most_apart", reading()),
        ("confidence", number("That a grip is hidden and in reach.", limits::CONFIDENCE)),
    ];
    if has_straps {
        let strap = table(
            "A strap from a corner of a cover.",
            &["pane", "corner", "to"],
            [
                ("pane", defined("name")),
                ("corner", one_of("Which corner, as seen facing the glass.", Corner::ALL)),
                ("to", one_of("What it is led to.", StrapTo::ALL)),
            ],
        );
        properties.push(("strap", list(strap, 0, limits::STRAPS)));
    }
    let mut hold = table(about, &[], properties);
    hold["not"] = json!({"required": ["gust", "beaufort"]});
    hold
}

/// A magnet pair of the workshop's list.
fn magnet() -> Value {
    let force = |about: &str| json!({"description": about, "type": "string", "pattern": "^\\s*[0-9]+([.,][0-9]+)?\\s*(kg|N)\\s*$"});
    table(
        "A magnet pair the workshop has or can get.",
        &["name", "outer"],
        [
            ("name", defined("name")),
            (
                "outer",
                json!({"description": "The one in the hem, as `pull` takes it.", "type": "string"}),
            ),
            (
                "inner",
                json!({"description": "The one inside, or iron; else alike.", "type": "string"}),
            ),
            ("cost", number("Of one pair.", limits::COST)),
            ("on_hand", whole("Pairs on hand.", limits::ON_HAND)),
            ("pull_off", force("Measured off the glass, cold: \"1.4 kg\" or \"13.7 N\".")),
            ("slide", force("Measured along the glass, cold.")),
        ],
    )
}

/// Everything that can be read on one side, `height.centre` nested or in one word.
fn side(side: Side) -> Value {
    let mut properties = Map::new();
    for span in Span::all().into_iter().filter(|span| span.can_be_read(side)) {
        let taken = if span.is_length() {
            let way = ("taken", one_of("Which way the tape went.", Course::ALL));
            let place = place_key(span).map(|key| (key, defined("reading")));
            let placed = table(
                "A reading taken at another place, or straight across bent glass.",
                &["read"],
                [("read", defined("taken-either-way")), way].into_iter().chain(place),
            );
            json!({"anyOf": [defined("taken-either-way"), placed]})
        } else {
            defined("taken")
        };
        let name = span.to_string();
        if let Some((group, place)) = name.split_once('.') {
            let none: [(&str, Value); 0] = [];
            let group =
                properties.entry(group).or_insert_with(|| table("Readings by place.", &[], none));
            group["properties"][place] = taken.clone();
        }
        properties.insert(name, taken);
    }
    table(&format!("What was read {side}."), &[], properties)
}

fn policy() -> Value {
    let section = |(name, numbers): Section| {
        let keys = numbers.into_iter().map(|(key, number)| {
            let value = match number {
                Number::Length(..) => defined("reading"),
                Number::Plain(limits, _) => json!({
                    "type": "number", "minimum": limits.start(), "maximum": limits.end(),
                }),
            };
            (key, value)
        });
        (name, table("What is left out stays as the workshop starts with.", &[], keys))
    };
    let mut policy = table(
        "What the workshop assumes about tapes, people and costs.",
        &[],
        sections().map(section),
    );
    policy["$schema"] = json!(DIALECT);
    policy["title"] = json!("Policy");
    policy["$defs"] = definitions();
    policy
}

fn book() -> Value {
    let reading = || defined("reading");
    let [least, most] = CORNERS;
    let depths = || table("By place.", &[], Station::ALL.iter().map(|s| (s.spelling(), reading())));
    let entry = table(
        "What is known of one pane of one model.",
        &["make", "model", "years", "class", "family", "settled", "corners", "bows", "radii", "sd"],
        [
            ("make", defined("name")),
            ("model", defined("name")),
            ("years", list(defined("year"), 2, 2)),
            ("class", one_of("What sort of vehicle.", Class::ALL)),
            ("family", one_of("What sort of pane.", Family::ALL)),
            ("settled", json!({"type": "integer", "minimum": 0, "maximum": MOST_SETTLED})),
            ("corners", list(list(reading(), 2, 2), least, most)),
            ("bows", list(reading(), least, most)),
            ("radii", list(reading(), least, most)),
            ("sd", reading()),
            ("band", depths()),
            ("blocked", depths()),
            ("band_sd", reading()),
        ],
    );
    let mut book = table(
        "A glass book: what the workshop knows of panes, in millimetres.",
        &["pane"],
        [("pane", json!({"type": "array", "items": with_half_and_flank(entry)}))],
    );
    book["$schema"] = json!(DIALECT);
    book["title"] = json!("Glass book");
    book["$defs"] = definitions();
    book
}

fn shapes() -> Value {
    let numbers = |least, most| list(json!({"type": "number"}), least, most);
    let piece = table(
        "A piece to be cut.",
        &["name", "outline_mm"],
        [
            ("name", defined("name")),
            ("count", json!({"type": "integer", "minimum": 1, "maximum": lay::MOST_PIECES})),
            ("turns_deg", numbers(0, MOST_TURNS)),
            ("outline_mm", list(numbers(2, 2), 3, lay::MOST_POINTS)),
        ],
    );
    let mut shapes = table(
        "Shapes to lay on cloth.",
        &["pieces"],
        [
            ("width_mm", json!({"type": "number", "minimum": 1, "maximum": lay::LARGEST.mm()})),
            ("pieces", list(piece, 1, MOST_ITEMS)),
        ],
    );
    shapes["$schema"] = json!(DIALECT);
    shapes["title"] = json!("Shapes");
    shapes["$defs"] = definitions();
    shapes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{read_book, read_order, read_shapes};

    #[test]
    fn every_schema_listed_exists() {
        for name in SCHEMAS {
            let schema = schema(name).unwrap();
            assert_eq!(schema["$schema"], DIALECT, "{name}");
        }
        assert_eq!(schema("colour"), None);
    }

    /// The names a reader knows, as it lists them when it meets one it doesn't.
    fn known(fault: &str) -> Vec<String> {
        let line = fault.lines().find(|line| line.contains("zzzzzzzz")).expect(fault);
        let names = line.split_once("known here: ").expect(line).1;
        names.split(", ").map(str::to_owned).collect()
    }

    fn described(table: &Value) -> Vec<String> {
        let mut names: Vec<String> =
            table["properties"].as_object().unwrap().keys().cloned().collect();
        names.sort();
        names
    }

    #[test]
    fn schemas_and_readers_know_the_same_names() {
        let order = schema("order").unwrap();
        let properties = &order["properties"];
        let head = r#"{"order": {"ref": "A", "unit": "mm"}, "#;
        for (text, table) in [
            (format!(r#"{head} "zzzzzzzz": 1}}"#), &order),
            (
                r#"{"order": {"ref": "A", "unit": "mm", "zzzzzzzz": 1}}"#.to_owned(),
                &properties["order"],
            ),
            (format!(r#"{head} "vehicle": {{"zzzzzzzz": 1}}}}"#), &properties["vehicle"]),
            (format!(r#"{head} "pane": [{{"zzzzzzzz": 1}}]}}"#), &properties["pane"]["items"]),
            (format!(r#"{head} "blade": [{{"zzzzzzzz": 1}}]}}"#), &properties["blade"]["items"]),
            (format!(r#"{head} "hood": [{{"zzzzzzzz": 1}}]}}"#), &properties["hood"]["items"]),
            (
                format!(r#"{head} "pane": [{{"keep-out": [{{"zzzzzzzz": 1}}]}}]}}"#),
                &properties["pane"]["items"]["properties"]["keep-out"]["items"],
            ),
            (format!(r#"{head} "cover": {{"zzzzzzzz": 1}}}}"#), &properties["cover"]),
            (format!(r#"{head} "cloth": [{{"zzzzzzzz": 1}}]}}"#), &properties["cloth"]["items"]),
            (format!(r#"{head} "hold": {{"zzzzzzzz": 1}}}}"#), &properties["hold"]),
            (format!(r#"{head} "magnet": [{{"zzzzzzzz": 1}}]}}"#), &properties["magnet"]["items"]),
            (
                format!(r#"{head} "hold": {{"strap": [{{"zzzzzzzz": 1}}]}}}}"#),
                &properties["hold"]["properties"]["strap"]["items"],
            ),
            (
                format!(r#"{head} "pane": [{{"hold": {{"zzzzzzzz": 1}}}}]}}"#),
                &properties["pane"]["items"]["properties"]["hold"],
            ),
            (
                format!(r#"{head} "cover": {{"layer": [{{"zzzzzzzz": 1}}]}}}}"#),
                &properties["cover"]["properties"]["layer"]["items"],
            ),
        ] {
            let mut known = known(&read_order(text.as_bytes(), "x.json").unwrap_err().to_string());
            known.sort();
            assert_eq!(known, described(table), "{text}");
        }
        let text = r#"{"pane": [{"zzzzzzzz": 1}]}"#;
        let mut names = known(&read_book(text.as_bytes(), "x.json").unwrap_err().to_string());
        names.sort();
        assert_eq!(names, described(&schema("book").unwrap()["properties"]["pane"]["items"]));
        let text = r#"{"pieces": [{"zzzzzzzz": 1}]}"#;
        let mut names = known(&read_shapes(text.as_bytes(), "x.json").unwrap_err().to_string());
        names.sort();
        assert_eq!(names, described(&schema("shapes").unwrap()["properties"]["pieces"]["items"]));
    }

    #[test]
    fn every_reading_described_is_read() {
        let order = schema("order").unwrap();
        let pane = &order["properties"]["pane"]["items"];
        for side in Side::ALL {
            let names = described(&pane["properties"][side.spelling()]);
            let dotted: Vec<&String> =
                names.iter().filter(|n| n.contains('.') || n.starts_with("bend")).collect();
            let readings = dotted.iter().map(|name| format!("\"{name}\": 500")).collect::<Vec<_>>();
            let text = format!(
                r#"{{"order": {{"ref": "A", "unit": "mm"}}, "vehicle": {{"class": "van"}},
                   "pane": [{{"name": "a", "family": "side", "{side}": {{{}}}}}]}}"#,
                readings.join(", ")
            );
            let read = read_order(text.as_bytes(), "x.json").unwrap_or_else(|f| panic!("{f}"));
            assert_eq!(read.panes[0].readings.len(), dotted.len());
            let readable = Span::all().into_iter().filter(|span| span.can_be_read(*side)).count();
            assert_eq!(readable, dotted.len());
        }
    }
}
