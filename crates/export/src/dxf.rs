//! DXF: a plain R12 file with ASTM D6673 layer numbers.
//!
//! Written to be read by anything: no handles, ASCII, CRLF, millimetres. Each piece is one BLOCK, in
//! drawing coordinates, and one INSERT at the origin; what is no piece stands in ENTITIES. Lines are
//! POLYLINEs whose bulges keep arcs exact. Turn and curve points, notches, drill points, and texts
//! `Piece Name: …` follow D6673's layers; no conformance is claimed, since that standard (withdrawn
//! 2019) asks for release 13 and for curves as points. A notch is written twice over: as the POINT
//! pattern readers look for (angle in group 50, depth as thickness in group 39; from memory) and as
//! the lines any other machine can cut.
//!
//! Sources: layers from the documentation of ezdxf ("DXF ASTM File Format"); R12 groups and the names
//! of the piece texts from memory, checked by reading the files with two independent programs.

use geometry::{Angle, Bounds, Frame, Length, Path, Point, Segment};

use crate::ExportError;
use crate::drawing::{Anchor, Drawing, Element, Group, Label, Mark, Text, TextRole, notch_path};
use crate::stroke::LineKind;
use crate::view::number;

const CURVE_POINTS: u8 = 3;
const TURN_POINTS: u8 = 2;
const SYSTEM_TEXT: u8 = 1;
const ANNOTATION: u8 = 15;
/// Every D6673 layer we may write, in the layer table.
const LAYERS: [u8; 10] = [1, 2, 3, 4, 7, 8, 11, 13, 14, 15];
/// Coordinates to a millionth of a millimetre: finer than any reader, free of rounding noise.
const DECIMALS: usize = 6;
/// Bulges to 1e-12: on an arc of 10 m that is far below a coordinate's last digit.
const BULGE_DECIMALS: usize = 12;
/// Height of the texts about the whole drawing; ours.
const STYLE_TEXT: Length = Length::from_mm(5.0);
/// R12 texts hold 255 bytes; a little is kept back.
const MOST_TEXT: usize = 240;
/// R12 names hold 31 characters.
const MOST_NAME: usize = 31;
/// Edges that bend less than this at a vertex run on smoothly there. Chosen by us: a twentieth of a
/// degree is no corner to a needle.
const SMOOTH: f64 = 1e-3;

/// The drawing as a DXF file.
///
/// # Errors
/// [`ExportError::NothingDrawn`] when the drawing is empty.
pub fn write_dxf<F: Frame>(drawing: &Drawing<F>) -> Result<Vec<u8>, ExportError> {
    let sheet = drawing.sheet()?;
    let mut file = Writer::default();
    let mut names = Vec::new();
    file.header(&sheet);
    file.tables();

    file.section("BLOCKS");
    for group in &drawing.groups {
        let Some(label) = &group.label else { continue };
        let name = block_name(&group.name, &names);
        file.entity("BLOCK", SYSTEM_TEXT);
        file.text(2, &name);
        file.whole(70, 0);
        file.point(10, Point::<F>::ORIGIN);
        file.text(3, &name);
        file.label(label);
        file.elements(group, drawing);
        file.entity("ENDBLK", SYSTEM_TEXT);
        names.push(name);
    }
    file.text(0, "ENDSEC");

    file.section("ENTITIES");
    for name in &names {
        file.entity("INSERT", SYSTEM_TEXT);
        file.text(2, name);
        file.point(10, Point::<F>::ORIGIN);
    }
    for group in drawing.groups.iter().filter(|group| group.label.is_none()) {
        file.elements(group, drawing);
    }
    let style = [("Style Name", &drawing.caption.title), ("Annotation", &drawing.caption.foot)];
    let style = style.map(|(key, value)| (key, value.clone()));
    let texts = style.into_iter().chain([("Units", "METRIC".into())]);
    file.system_texts(texts, sheet.min, Angle::ZERO, STYLE_TEXT);
    file.text(0, "ENDSEC");
    file.text(0, "EOF");
    Ok(file.bytes.into_bytes())
}

/// Pairs of a group code and a value, each on its line.
#[derive(Default)]
struct Writer {
    bytes: String,
}

impl Writer {
    fn text(&mut self, code: u16, value: &str) {
        self.bytes.push_str(&format!("{code:3}\r\n{value}\r\n"));
    }

    fn real(&mut self, code: u16, value: f64, decimals: usize) {
        let value = number(value, decimals);
        let point = if value.contains('.') { "" } else { ".0" };
        self.text(code, &format!("{value}{point}"));
    }

    fn whole(&mut self, code: u16, value: usize) {
        self.text(code, &format!("{value:6}"));
    }

    /// Groups `code`, `code + 10` and `code + 20`.
    fn point<F: Frame>(&mut self, code: u16, at: Point<F>) {
        let [x, y] = at.mm();
        for (code, value) in [(code, x), (code + 10, y), (code + 20, 0.0)] {
            self.real(code, value, DECIMALS);
        }
    }

    fn section(&mut self, name: &str) {
        self.text(0, "SECTION");
        self.text(2, name);
    }

    fn entity(&mut self, name: &str, layer: u8) {
        self.text(0, name);
        self.text(8, &layer.to_string());
    }

    fn header<F: Frame>(&mut self, sheet: &Bounds<F>) {
        self.section("HEADER");
        self.text(9, "$ACADVER");
        self.text(1, "AC1009");
        for (name, at) in [("$EXTMIN", sheet.min), ("$EXTMAX", sheet.max)] {
            self.text(9, name);
            self.point(10, at);
        }
        self.text(9, "$LUNITS"); // decimal
        self.whole(70, 2);
        self.text(0, "ENDSEC");
    }

    fn tables(&mut self) {
        self.section("TABLES");
        self.table("LTYPE", 1);
        self.text(0, "LTYPE");
        self.text(2, "CONTINUOUS");
        self.whole(70, 0);
        self.text(3, "Solid line");
        self.whole(72, 65); // alignment code, always 65
        self.whole(73, 0);
        self.real(40, 0.0, 1);
        self.text(0, "ENDTAB");
        self.table("LAYER", 1 + LAYERS.len());
        for layer in [0].iter().chain(&LAYERS) {
            self.text(0, "LAYER");
            self.text(2, &layer.to_string());
            self.whole(70, 0);
            self.whole(62, 7);
            self.text(6, "CONTINUOUS");
        }
        self.text(0, "ENDTAB");
        self.table("STYLE", 1);
        self.text(0, "STYLE");
        self.text(2, "STANDARD");
        self.whole(70, 0);
        for (code, value) in [(40, 0.0), (41, 1.0), (50, 0.0)] {
            self.real(code, value, 1);
        }
        self.whole(71, 0);
        self.real(42, 2.5, 1);
        self.text(3, "txt");
        self.text(4, "");
        self.text(0, "ENDTAB");
        self.text(0, "ENDSEC");
    }

    fn table(&mut self, name: &str, rows: usize) {
        self.text(0, "TABLE");
        self.text(2, name);
        self.whole(70, rows);
    }

    /// What the piece is, one text a line, down from the label's place.
    fn label<F: Frame>(&mut self, label: &Label<F>) {
        let texts = [
            ("Piece Name", label.piece.clone()),
            ("Size", "made to measure".into()),
            ("Quantity", label.count.to_string()),
            ("Material", label.cloth.clone()),
            ("Category", label.pane.clone()),
            ("Annotation", label.job.clone()),
        ];
        self.system_texts(texts, label.at, label.turn, label.height);
    }

    fn system_texts<F: Frame>(
        &mut self,
        texts: impl IntoIterator<Item = (&'static str, String)>,
        at: Point<F>,
        turn: Angle,
        height: Length,
    ) {
        let down = turn - Angle::from_degrees(90.0);
        let written = texts.into_iter().filter(|(_, value)| !value.is_empty());
        for (line, (key, value)) in written.enumerate() {
            let text = Text {
                at: at.toward(down, height * (1.5 * line as f64)),
                anchor: Anchor::Start,
                height,
                turn,
                words: format!("{key}: {value}"),
                role: TextRole::Plain,
            };
            self.words(&text, SYSTEM_TEXT);
        }
    }

    fn elements<F: Frame>(&mut self, group: &Group<F>, drawing: &Drawing<F>) {
        for element in &group.elements {
            match element {
                Element::Line { kind, path } => self.line(*kind, path),
                Element::Tone { .. } => {}
                Element::Arrow { .. } => {
                    for mark in element.marks(drawing.caption.scale) {
                        if let Mark::Fill { paths, .. } = mark {
                            paths.iter().for_each(|path| self.polyline(ANNOTATION, path));
                        }
                    }
                }
                Element::Notch { at, inward, depth, form } => {
                    let layer = LineKind::Notch.stroke().layer;
                    self.entity("POINT", layer);
                    self.point(10, *at);
                    self.real(39, depth.mm(), DECIMALS);
                    self.real(50, inward.degrees(), DECIMALS);
                    self.polyline(layer, &notch_path(*at, *inward, *depth, *form));
                }
                Element::Drill { at, diameter } => {
                    self.entity("POINT", LineKind::Drill.stroke().layer);
                    self.point(10, *at);
                    if diameter.mm() > 0.0 {
                        self.entity("CIRCLE", LineKind::Fitting.stroke().layer);
                        self.point(10, *at);
                        self.real(40, diameter.mm() / 2.0, DECIMALS);
                    }
                }
                Element::Text(text) => self.words(text, ANNOTATION),
            }
        }
    }

    fn words<F: Frame>(&mut self, text: &Text<F>, layer: u8) {
        self.entity("TEXT", layer);
        self.point(10, text.at);
        self.real(40, text.height.mm(), DECIMALS);
        self.text(1, &ascii(&text.words));
        self.real(50, text.turn.degrees(), DECIMALS);
        let justified = match text.anchor {
            Anchor::Start => return,
            Anchor::Middle => 1,
            Anchor::End => 2,
        };
        self.whole(72, justified);
        self.point(11, text.at);
    }

    fn line<F: Frame>(&mut self, kind: LineKind, path: &Path<F>) {
        self.polyline(kind.stroke().layer, path);
        // D6673 wants turn and curve points for layers 1, 8, 11 and 14; lines of a picture have none.
        if matches!(
            kind,
            LineKind::Cut | LineKind::CutOut | LineKind::Sew | LineKind::Fold | LineKind::Internal
        ) {
            self.vertex_points(path);
        }
    }

    /// A straight LINE where it is one, else a POLYLINE with bulges.
    fn polyline<F: Frame>(&mut self, layer: u8, path: &Path<F>) {
        if let ([a, b], false) = (path.vertices(), path.is_closed())
            && a.bulge == 0.0
        {
            self.entity("LINE", layer);
            self.point(10, a.point);
            self.point(11, b.point);
            return;
        }
        self.entity("POLYLINE", layer);
        self.whole(66, 1);
        self.point(10, Point::<F>::ORIGIN);
        self.whole(70, usize::from(path.is_closed()));
        for vertex in path.vertices() {
            self.entity("VERTEX", layer);
            self.point(10, vertex.point);
            if vertex.bulge != 0.0 {
                self.real(42, vertex.bulge, BULGE_DECIMALS);
            }
        }
        self.entity("SEQEND", layer);
    }

    /// A POINT at each vertex: turn points at corners and ends, curve points where the line runs on.
    fn vertex_points<F: Frame>(&mut self, path: &Path<F>) {
        let segments: Vec<Segment<F>> = path.segments().collect();
        let n = segments.len();
        for (i, vertex) in path.vertices().iter().enumerate() {
            let into = if i > 0 { segments.get(i - 1) } else { segments.last() };
            let open_end = !path.is_closed() && (i == 0 || i == n);
            let smooth = match (into, segments.get(i)) {
                (Some(into), Some(out)) if !open_end => {
                    let bend = (out.at(0.0).1 - into.at(1.0).1).radians();
                    bend.sin().abs() < SMOOTH && bend.cos() > 0.0
                }
                _ => false,
            };
            self.entity("POINT", if smooth { CURVE_POINTS } else { TURN_POINTS });
            self.point(10, vertex.point);
        }
    }
}

/// A name of R12: capitals, digits, `-`, `_`; not one of those taken.
fn block_name(name: &str, taken: &[String]) -> String {
    let plain: String = name
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() || c == '-' { c.to_ascii_uppercase() } else { '_' })
        .take(MOST_NAME)
        .collect();
    let plain = if plain.is_empty() { "PIECE".to_owned() } else { plain };
    std::iter::once(plain.clone())
        .chain((2..).map(|n| {
            let suffix = format!("_{n}");
            let kept: String = plain.chars().take(MOST_NAME - suffix.len()).collect();
            kept + &suffix
        }))
        .find(|candidate| !taken.contains(candidate))
        .expect("the numbers do not run out")
}

/// Words as an R12 text: other than ASCII as `\U+XXXX`, and nothing that a reader takes for a code
/// of its own (`\U+`, `%%`, `^`). Characters beyond U+FFFF, which R12 cannot write, become `?`.
fn ascii(words: &str) -> String {
    let mut text = String::new();
    let mut last = ' ';
    for c in words.chars() {
        let next = match c {
            '\\' => "\\U+005C".to_owned(),
            '^' => "^ ".to_owned(),
            '%' if last == '%' => " %".to_owned(),
            ' '..='~' => c.to_string(),
            c if c.is_control() => " ".to_owned(),
            c if u32::from(c) <= 0xFFFF => format!("\\U+{:04X}", u32::from(c)),
            _ => "?".to_owned(),
        };
        if text.len() + next.len() > MOST_TEXT {
            text.push_str("...");
            break;
        }
        text.push_str(&next);
        last = c;
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{self, rounded};
    use geometry::{Page, Vertex};
    use proptest::prelude::*;

    /// The pairs of a file.
    fn pairs(bytes: &[u8]) -> Vec<(u16, String)> {
        let text = std::str::from_utf8(bytes).unwrap();
        let lines: Vec<&str> = text.split_terminator("\r\n").collect();
        let (pairs, rest) = lines.as_chunks::<2>();
        assert!(rest.is_empty());
        pairs.iter().map(|[code, value]| (code.trim().parse().unwrap(), (*value).into())).collect()
    }

    /// The first closed POLYLINE on a layer.
    fn read_back(bytes: &[u8], layer: &str) -> Path<Page> {
        let pairs = pairs(bytes);
        let entities: Vec<&[(u16, String)]> = pairs.chunk_by(|_, next| next.0 != 0).collect();
        let value = |entity: &[(u16, String)], code| {
            entity.iter().find(|pair| pair.0 == code).map(|pair| pair.1.clone())
        };
        let start = entities
            .iter()
            .position(|e| e[0].1 == "POLYLINE" && value(e, 8).as_deref() == Some(layer))
            .unwrap();
        let number = |e: &[(u16, String)], code| value(e, code).map_or(0.0, |v| v.parse().unwrap());
        let vertices = entities[start + 1..].iter().take_while(|e| e[0].1 == "VERTEX");
        Path::closed(
            vertices
                .map(|e| Vertex {
                    point: Point::from_mm(number(e, 10), number(e, 20)),
                    bulge: number(e, 42),
                })
                .collect(),
        )
    }

    proptest! {
        #[test]
        fn what_is_read_back_has_the_same_area_and_length(outline in rounded()) {
            let dxf = write_dxf(&samples::cut(outline.clone())).unwrap();
            let read = read_back(&dxf, "1");
            prop_assert!((read.area() / outline.area() - 1.0).abs() < 1e-8);
            prop_assert!((read.length() / outline.length() - 1.0).abs() < 1e-8);
        }
    }

    #[test]
    fn lines_end_in_crlf_and_hold_ascii_only() {
        let mut drawing = samples::cut(samples::rectangle(100.0, 50.0));
        drawing.caption.title = "Bücherbus №4 \\P ^J 100%%".into();
        let dxf = write_dxf(&drawing).unwrap();
        assert!(dxf.is_ascii());
        let text = String::from_utf8(dxf).unwrap();
        assert_eq!(text.matches('\n').count(), text.matches("\r\n").count());
        assert!(
            text.contains("Style Name: B\\U+00FCcherbus \\U+21164 \\U+005CP ^ J 100% %"),
            "{text}"
        );
    }

    #[test]
    fn pieces_of_one_name_become_blocks_of_two_names() {
        let mut drawing = samples::cut(samples::rectangle(100.0, 50.0));
        drawing.groups.push(drawing.groups[0].clone());
        drawing.groups[0].name = "a name that is longer than any R12 name may be, left".into();
        drawing.groups[1].name = drawing.groups[0].name.clone() + ", right";
        let text = String::from_utf8(write_dxf(&drawing).unwrap()).unwrap();
        assert_eq!(text.matches("A_NAME_THAT_IS_LONGER_THAN_ANY_").count(), 3);
        assert_eq!(text.matches("A_NAME_THAT_IS_LONGER_THAN_AN_2").count(), 3);
    }

    #[test]
    fn corners_are_turn_points_and_smooth_joins_are_curve_points() {
        let points = |outline: Path<Page>, layer: u8| {
            let pairs = pairs(&write_dxf(&samples::cut(outline)).unwrap());
            let point = |w: &[(u16, String)]| w[0].1 == "POINT" && w[1].1 == layer.to_string();
            pairs.windows(2).filter(|w| point(w)).count()
        };
        assert_eq!(points(samples::rectangle(90.0, 40.0), TURN_POINTS), 4);
        let circle = Path::circle(Point::ORIGIN, Length::from_mm(30.0));
        assert_eq!(points(circle, CURVE_POINTS), 2);
    }
}
