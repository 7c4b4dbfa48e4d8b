//! HP-GL/2: strokes of three pens for plotters and cutting tables.
//!
//! ```text
//! units = round((place − corner) / scale / 0.025 mm)
//! ```
//!
//! One plotter unit is 0.025 mm; y is up and the lower left corner of what is plotted lies at the
//! device's origin, so every number is positive. The file uses `IN`, `SP`, `PU`, `PD` and `PA`, which
//! HP-GL knows too, and for devices that count as HP-GL/2 also `PS`, `PW` and `PG`. Pens: the draw pen
//! comes first, then notches, then holes, and last the way round the pieces, since cloth that is cut
//! no longer lies still (common practice, no source). Dashes are drawn as strokes and words as the
//! outlines of their letters, in the lettering of every other format, so that neither depends on what
//! a device knows. Tones are left out: a cutting table has no ink.
//!
//! Valid for drawings within [`Reach`]; older devices stop at 32,767 units (819 mm), and what is
//! longer is refused rather than cut short. Sources: unit, commands and ranges of HP-GL/2 from memory,
//! checked by reading the files with two independent programs. Accuracy: chords stand off arcs by at
//! most half a unit on the plot and are set at its farthest points right, left, up and down; a place is
//! off by at most half a unit each way; so sizes are exact to one unit.

use std::f64::consts::{FRAC_PI_2, TAU};
use std::num::NonZeroU8;

use geometry::{Bounds, Frame, Length, Path, Point, Segment};

use crate::ExportError;
use crate::drawing::{Anchor, Drawing, Element, Label, Mark, Scale, Text, notch_path};
use crate::lettering;
use crate::stroke::{LineKind, Stroke};

/// One plotter unit: 1/40 mm.
const UNIT: Length = Length::from_mm(0.025);
/// How far a chord may stand off its arc on the plot. Chosen by us: no more than rounding does.
const CHORD: Length = Length::from_mm(0.025 / 2.0);
/// Places in one command. Chosen by us: a command stays shorter than a line of 1,024 characters, which
/// small buffers hold.
const PLACES: usize = 50;

/// A plotter or cutting table, as far as a file must know it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Plotter {
    /// Which pen does what.
    pub pens: Pens,
    /// How far it counts.
    pub reach: Reach,
}

/// Pen or tool numbers; what has none is left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pens {
    /// The knife, round pieces and their holes.
    pub cut: Option<NonZeroU8>,
    /// The pen, for everything else.
    pub draw: Option<NonZeroU8>,
    /// What makes notches; often the knife again.
    pub notch: Option<NonZeroU8>,
}

/// How far a device counts from its origin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reach {
    /// To 8,388,607 units (209.7 m), as HP-GL/2 does.
    HpGl2,
    /// To 32,767 units (819.175 mm), as older HP-GL devices do.
    HpGl,
}

impl Reach {
    /// Farthest place it can name.
    #[must_use]
    pub fn most(self) -> Length {
        UNIT * match self {
            Self::HpGl2 => 8_388_607.0,
            Self::HpGl => 32_767.0,
        }
    }
}

/// In the order in which they work.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Tool {
    Draw,
    Notch,
    CutOut,
    Cut,
}

impl Tool {
    const ALL: [Self; 4] = [Self::Draw, Self::Notch, Self::CutOut, Self::Cut];

    const fn of(kind: LineKind) -> Self {
        match kind {
            LineKind::Cut => Self::Cut,
            LineKind::CutOut => Self::CutOut,
            LineKind::Notch => Self::Notch,
            _ => Self::Draw,
        }
    }

    /// Its pen, and the width that pen draws.
    const fn pen(self, pens: Pens) -> (Option<NonZeroU8>, Length) {
        let (pen, kind) = match self {
            Self::Draw => (pens.draw, LineKind::Internal),
            Self::Notch => (pens.notch, LineKind::Notch),
            Self::CutOut | Self::Cut => (pens.cut, LineKind::Cut),
        };
        (pen, kind.stroke().width)
    }
}

/// The drawing as a plot file.
///
/// # Errors
/// [`ExportError::NothingDrawn`] when the drawing is empty, [`ExportError::NoPen`] when no pen is there
/// for what it shows, [`ExportError::BeyondReach`] when it is longer than the device counts.
pub fn write_hpgl<F: Frame>(
    drawing: &Drawing<F>,
    plotter: &Plotter,
) -> Result<Vec<u8>, ExportError> {
    drawing.drawn()?;
    let title = || drawing.caption.title.clone();
    let scale = drawing.caption.scale;
    let mut ways = ways(drawing);
    ways.retain(|(tool, _)| tool.pen(plotter.pens).0.is_some());
    let points = ways.iter().flat_map(|(_, way)| way.iter().copied());
    let bounds = Bounds::of_points(points).ok_or_else(|| ExportError::NoPen { title: title() })?;
    let (width, height) = (scale.paper(bounds.width()), scale.paper(bounds.height()));
    let (found, most) = (width.max(height), plotter.reach.most());
    if found > most {
        return Err(ExportError::BeyondReach { title: title(), found, most });
    }

    let units = |real: Length| format!("{:.0}", scale.paper(real) / UNIT);
    let place = |point: Point<F>| {
        format!("{},{}", units(point.x() - bounds.min.x()), units(point.y() - bounds.min.y()))
    };
    let is_new = plotter.reach == Reach::HpGl2;
    let mut file = String::from("IN;");
    if is_new {
        // Length along the paper, then width across it.
        file.push_str(&format!("PS{},{};", units(bounds.width()), units(bounds.height())));
    }
    file.push_str("PA;\n");
    let mut in_hand = None;
    for tool in Tool::ALL {
        let (Some(pen), width) = tool.pen(plotter.pens) else { continue };
        for (_, way) in ways.iter().filter(|(other, _)| *other == tool) {
            if in_hand != Some(pen) {
                file.push_str(&format!("PU;SP{pen};"));
                if is_new {
                    file.push_str(&format!("PW{},{pen};", width.mm()));
                }
                file.push('\n');
                in_hand = Some(pen);
            }
            let mut places: Vec<String> = way.iter().map(|&point| place(point)).collect();
            places.dedup();
            let Some((first, rest)) = places.split_first() else { continue };
            file.push_str(&format!("PU{first};\n"));
            // A line shorter than a unit still leaves its dot.
            let rest = if rest.is_empty() { std::slice::from_ref(first) } else { rest };
            for part in rest.chunks(PLACES) {
                file.push_str(&format!("PD{};\n", part.join(",")));
            }
        }
    }
    file.push_str("PU0,0;SP0;");
    file.push_str(if is_new { "PG;\n" } else { "\n" });
    Ok(file.into_bytes())
}

/// Ways of a pen, each from where it is lowered to where it is lifted.
type Ways<F> = Vec<(Tool, Vec<Point<F>>)>;

fn ways<F: Frame>(drawing: &Drawing<F>) -> Ways<F> {
    let scale = drawing.caption.scale;
    let mut ways = Vec::new();
    for group in &drawing.groups {
        for element in &group.elements {
            match element {
                Element::Line { kind, path } => {
                    let tool = Tool::of(*kind);
                    let stroke = kind.stroke();
                    let parts = if tool == Tool::Draw && !stroke.dash.is_empty() {
                        dashes(path, &stroke, scale)
                    } else {
                        vec![path.clone()]
                    };
                    ways.extend(parts.iter().map(|part| (tool, chords(part, scale))));
                }
                Element::Tone { .. } => {}
                Element::Notch { at, inward, depth, form } => {
                    ways.push((
                        Tool::Notch,
                        chords(&notch_path(*at, *inward, *depth, *form), scale),
                    ));
                }
                Element::Arrow { .. } | Element::Drill { .. } => {
                    for mark in element.marks(scale) {
                        let (Mark::Lines(_, paths) | Mark::Fill { paths, .. }) = mark else {
                            continue;
                        };
                        ways.extend(paths.iter().map(|path| (Tool::Draw, chords(path, scale))));
                    }
                }
                Element::Text(text) => ways.extend(letters(text)),
            }
        }
        ways.extend(group.label.iter().flat_map(Label::texts).flat_map(|text| letters(&text)));
    }
    ways
}

/// Points along a path, back to the first if it is closed; the farthest points of each arc right,
/// left, up and down are among them.
fn chords<F: Frame>(path: &Path<F>, scale: Scale) -> Vec<Point<F>> {
    let mut points = Vec::new();
    for segment in path.segments() {
        let n = segment.chords(scale.real(CHORD));
        let mut stops: Vec<f64> = (0..n).map(|i| i as f64 / n as f64).collect();
        if let Segment::Arc { start, sweep, .. } = segment {
            let swept = sweep.radians().abs();
            let beyond = |quarters: f64| {
                let turned = quarters * FRAC_PI_2 - start.radians();
                (turned * sweep.radians().signum()).rem_euclid(TAU) / swept
            };
            stops.extend([0.0, 1.0, 2.0, 3.0].map(beyond).into_iter().filter(|&stop| stop < 1.0));
            stops.sort_by(f64::total_cmp);
        }
        points.extend(stops.into_iter().map(|stop| segment.at(stop).0));
    }
    let end = if path.is_closed() { path.vertices().first() } else { path.vertices().last() };
    points.extend(end.map(|vertex| vertex.point));
    points
}

/// The parts of a path that a dashed stroke draws.
fn dashes<F: Frame>(path: &Path<F>, stroke: &Stroke, scale: Scale) -> Vec<Path<F>> {
    let all = path.length();
    let mut parts = Vec::new();
    let mut along = Length::ZERO;
    for (i, &element) in stroke.dash.iter().enumerate().cycle() {
        if along >= all {
            break;
        }
        let next = along + scale.real(stroke.width * element);
        if i % 2 == 0 {
            parts.push(path.part(along, next.min(all)));
        }
        along = next;
    }
    parts
}

/// Outlines of the letters of a text.
fn letters<F: Frame>(text: &Text<F>) -> Ways<F> {
    let weight = text.role.weight();
    let back = lettering::width(&text.words, weight, text.height)
        * match text.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => 0.5,
            Anchor::End => 1.0,
        };
    let start = text.at.toward(text.turn, -back);
    let (sin, cos) = text.turn.radians().sin_cos();
    let place = |[x, y]: [f64; 2]| {
        let mm = Length::from_mm;
        start.moved(mm(x * cos - y * sin), mm(x * sin + y * cos))
    };
    lettering::outlines(&text.words, weight, text.height)
        .into_iter()
        .map(|outline| (Tool::Draw, outline.into_iter().map(place).collect()))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{self, rounded};
    use geometry::{Angle, Page};
    use proptest::prelude::*;

    fn plotter(reach: Reach) -> Plotter {
        let pen = NonZeroU8::new;
        Plotter { pens: Pens { cut: pen(3), draw: pen(1), notch: pen(2) }, reach }
    }

    /// Ways read back in plotter units, with their pens.
    fn read_back(bytes: &[u8]) -> Vec<(u8, Vec<[i64; 2]>)> {
        let text = std::str::from_utf8(bytes).unwrap();
        let (mut pen, mut ways) = (0, Vec::<(u8, Vec<[i64; 2]>)>::new());
        for command in text.split(';').map(str::trim) {
            let numbers: Vec<i64> =
                command.get(2..).unwrap_or("").split(',').filter_map(|n| n.parse().ok()).collect();
            let places = numbers.as_chunks::<2>().0;
            match command.get(..2) {
                Some("SP") => pen = u8::try_from(numbers[0]).unwrap(),
                Some("PU") if !places.is_empty() => ways.push((pen, places.to_vec())),
                Some("PD") => ways.last_mut().unwrap().1.extend(places),
                _ => {}
            }
        }
        ways.retain(|(_, way)| way.len() > 1);
        ways
    }

    fn span(ways: &[(u8, Vec<[i64; 2]>)], pen: u8, axis: usize) -> i64 {
        let all = || ways.iter().filter(|w| w.0 == pen).flat_map(|w| &w.1).map(|p| p[axis]);
        all().max().unwrap() - all().min().unwrap()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn sizes_are_exact_to_one_unit(outline in rounded()) {
            let file = write_hpgl(&samples::cut(outline.clone()), &plotter(Reach::HpGl2)).unwrap();
            let ways = read_back(&file);
            let bounds = outline.bounds().unwrap();
            for (axis, size) in [bounds.width(), bounds.height()].into_iter().enumerate() {
                let found = span(&ways, 3, axis) as f64;
                let wanted = size.mm() / 0.025;
                prop_assert!((found - wanted).abs() <= 1.0 + 1e-6, "{found} {size}");
            }
            prop_assert!(ways.iter().flat_map(|w| &w.1).flatten().all(|&v| v >= 0));
        }
    }

    fn drawing_with_everything() -> Drawing<Page> {
        let mut drawing = samples::cut(samples::rectangle(600.0, 400.0));
        let line = |kind, path| Element::Line { kind, path };
        let middle = Point::ORIGIN;
        drawing.groups[0].elements.extend([
            line(LineKind::CutOut, Path::circle(middle, Length::from_mm(30.0))),
            line(LineKind::Sew, samples::rectangle(560.0, 360.0)),
            Element::Notch {
                at: Point::from_mm(0.0, -200.0),
                inward: Angle::from_degrees(90.0),
                depth: Length::from_mm(5.0),
                form: drafting::NotchForm::Vee { width: Length::from_mm(4.0) },
            },
            Element::Drill { at: middle, diameter: Length::from_mm(20.0) },
        ]);
        drawing
    }

    #[test]
    fn the_knife_comes_last_and_holes_come_before_the_way_round() {
        let ways =
            read_back(&write_hpgl(&drawing_with_everything(), &plotter(Reach::HpGl)).unwrap());
        let pens: Vec<u8> = ways.iter().map(|w| w.0).collect();
        assert!(pens.is_sorted(), "{pens:?}");
        assert_eq!(pens.iter().filter(|&&pen| pen == 3).count(), 2);
        assert_eq!(ways.last().unwrap().1.len(), 5, "the rectangle is closed");
    }

    #[test]
    fn dashes_cover_as_much_of_a_sew_line_as_they_should() {
        let line =
            Path::<Page>::polyline([(0.0, 0.0), (300.0, 0.0)].map(|(x, y)| Point::from_mm(x, y)));
        let parts = dashes(&line, &LineKind::Sew.stroke(), Scale::TRUE);
        let drawn: Length = parts.iter().map(Path::length).sum();
        // ISO 128's dashed line: 12 of 15 line widths.
        assert!((drawn.mm() / 300.0 - 0.8).abs() < 0.01, "{drawn}");
    }

    #[test]
    fn a_tool_without_a_pen_is_left_out() {
        let mut plotter = plotter(Reach::HpGl2);
        plotter.pens.draw = None;
        let ways = read_back(&write_hpgl(&drawing_with_everything(), &plotter).unwrap());
        assert_eq!(ways.len(), 3);
        plotter.pens = Pens { cut: None, draw: None, notch: None };
        let refused = write_hpgl(&drawing_with_everything(), &plotter);
        assert!(matches!(refused, Err(ExportError::NoPen { .. })));
    }

    #[test]
    fn an_old_device_is_not_sent_farther_than_it_counts() {
        let of_width = |mm| samples::cut(samples::rectangle(mm, 100.0));
        let plotter = plotter(Reach::HpGl);
        assert!(write_hpgl(&of_width(819.175), &plotter).is_ok());
        let refused = write_hpgl(&of_width(819.2), &plotter).unwrap_err().to_string();
        assert!(refused.contains("819 mm") && refused.contains("print tiles"), "{refused}");
    }
}
