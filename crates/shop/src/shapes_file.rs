//! Files of shapes to lay, for cloth runs that do not come from an order.

use geometry::{Angle, Length, Piece, Point};
use lay::{LARGEST, MOST_PIECES, MOST_POINTS, Shape};

use crate::fault::{Faults, FileFault};
use crate::fields::{Field, Fields, MOST_ITEMS};
use crate::tree::read_file;

/// Most bytes of a shapes file. Chosen by us: two hundred outlines of a thousand points.
const MOST_BYTES: usize = 8_000_000;
/// Most turns a shape may be laid at. Chosen by us: one for each degree.
pub(crate) const MOST_TURNS: usize = 360;

/// What a shapes file states.
#[derive(Clone, Debug, PartialEq)]
pub struct ShapesFile {
    /// Usable width of the cloth, when stated.
    pub width: Option<Length>,
    /// The shapes, at least one, outlines as given; [`lay::lay`] checks that they can be cut.
    pub shapes: Vec<Shape>,
}

/// Reads a shapes file, all numbers in millimetres and degrees; `file_name` is used in messages.
///
/// # Errors
/// When the file is not text, too large, neither JSON nor TOML, or says something that cannot be
/// used; every fault is told with where it stands.
pub fn read_shapes(bytes: &[u8], file_name: &str) -> Result<ShapesFile, FileFault> {
    read_file(bytes, file_name, MOST_BYTES, |mut file, faults| {
        let width = file.get("width_mm").and_then(|f| f.number(1.0..=LARGEST.mm(), faults));
        file.need("pieces", "[{}]", faults);
        let shapes: Vec<_> = file
            .tables("pieces", MOST_ITEMS, faults)
            .into_iter()
            .map(|fields| shape(fields, faults))
            .collect();
        if shapes.is_empty() && faults.is_empty() {
            faults.add(0, "`pieces` is empty; add at least one piece");
        }
        file.finish(faults);
        Some(ShapesFile {
            width: width.map(Length::from_mm),
            shapes: shapes.into_iter().collect::<Option<_>>()?,
        })
    })
}

fn shape(mut fields: Fields<'_>, faults: &mut Faults<'_>) -> Option<Shape> {
    let name = fields.need("name", "\"a\"", faults).and_then(|f| f.name(faults));
    let count = match fields.get("count") {
        Some(field) => field.whole(1..=MOST_PIECES as i32, faults),
        None => Some(1),
    };
    let turns = match fields.get("turns_deg") {
        Some(field) => numbers(&field, MOST_TURNS, 360.0, faults),
        // Cloth may be napped or printed: without leave, a piece is laid as drawn.
        None => Some(vec![0.0]),
    };
    let outline = fields.need("outline_mm", "[[0, 0], [300, 0], [300, 200]]", faults);
    let outline = outline.and_then(|field| outline_of(&field, faults));
    fields.finish(faults);
    Some(Shape {
        name: name?,
        count: count?.unsigned_abs() as usize,
        turns: turns?.into_iter().map(Angle::from_degrees).collect(),
        outline: outline?,
    })
}

fn numbers(
    field: &Field<'_>,
    n_most: usize,
    most: f64,
    faults: &mut Faults<'_>,
) -> Option<Vec<f64>> {
    let items = field.list(n_most, faults)?;
    items.iter().map(|item| item.number(-most..=most, faults)).collect()
}

fn outline_of(field: &Field<'_>, faults: &mut Faults<'_>) -> Option<Vec<Point<Piece>>> {
    let points = field.list(MOST_POINTS, faults)?;
    if points.len() < 3 {
        field.fault(faults, format!("has {} points; an outline has 3 or more", points.len()));
        return None;
    }
    let point = |item: &Field<'_>| match numbers(item, 2, LARGEST.mm(), faults)?[..] {
        [x, y] => Some(Point::from_mm(x, y)),
        _ => {
            item.fault(faults, "needs x and y, such as [300, 200]");
            None
        }
    };
    points.iter().map(point).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const EXAMPLE: &str = r#"{"width_mm":1500,"pieces":[{"name":"a","count":2,
        "turns_deg":[0,180],"outline_mm":[[0,0],[300,0],[300,200]]}]}"#;

    #[test]
    fn the_example_is_read() {
        let file = read_shapes(EXAMPLE.as_bytes(), "shapes.json").unwrap();
        assert_eq!(file.width, Some(Length::from_mm(1500.0)));
        let shape = &file.shapes[0];
        assert_eq!((shape.name.as_str(), shape.count, shape.turns.len()), ("a", 2, 2));
        assert_eq!(shape.outline[2], Point::from_mm(300.0, 200.0));
    }

    #[test]
    fn what_is_wrong_is_told() {
        for (from, to, message) in [
            ("[300,200]", "[300]", "shapes.json:2:57: `pieces[0].outline_mm[2]` needs x and y"),
            ("[300,200]", "[300,1e999]", "`pieces[0].outline_mm[2][1]` is inf; it must be from"),
            ("[300,200]", "[300,\"2\"]", "is text; write a number, without quotes"),
            ("[300,0],[300,200]", "[300,0]", "has 2 points; an outline has 3 or more"),
            ("\"count\":2", "\"count\":0", "is 0; it must be from 1 to 5000"),
            ("\"count\":2", "\"number\":2", "`pieces[0].number` is not known"),
            ("1500", "-1", "`width_mm` is -1; it must be from 1 to 100000"),
            ("\"name\":\"a\",", "", "add \"name\": \"a\""),
        ] {
            let text = EXAMPLE.replacen(from, to, 1);
            let fault = read_shapes(text.as_bytes(), "shapes.json").expect_err(to).to_string();
            assert!(fault.contains(message), "{to}: {fault}");
        }
        let none = read_shapes(b"{\"pieces\": []}", "shapes.json").unwrap_err();
        assert!(none.to_string().contains("`pieces` is empty"));
    }
}
