//! Reads a shapes file of the public sets; for the example, the bench and the checks.

use geometry::{Angle, Length, Point};
use lay::{Ask, Shape};
use serde_json::Value;

/// The ask in a shapes file, without a gap; `None` when the text is not one.
pub(crate) fn read(text: &str) -> Option<Ask> {
    let file: Value = serde_json::from_str(text).ok()?;
    let numbers = |v: &Value| v.as_array()?.iter().map(Value::as_f64).collect::<Option<Vec<_>>>();
    let shape = |piece: &Value| {
        let corners = piece["outline_mm"].as_array()?.iter();
        Some(Shape {
            name: piece["name"].as_str()?.to_owned(),
            count: piece["count"].as_u64()? as usize,
            turns: numbers(&piece["turns_deg"])?.into_iter().map(Angle::from_degrees).collect(),
            outline: corners
                .map(|corner| Some(Point::from_mm(corner[0].as_f64()?, corner[1].as_f64()?)))
                .collect::<Option<_>>()?,
        })
    };
    Some(Ask {
        width: Length::from_mm(file["width_mm"].as_f64()?),
        gap: Length::ZERO,
        shapes: file["pieces"].as_array()?.iter().map(shape).collect::<Option<_>>()?,
    })
}
