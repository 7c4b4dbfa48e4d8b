//! A chart of curves over one axis: forces over the gap of a magnet pair.
//!
//! Drawn in true size on a page: a field of 150 × 90 mm, chosen by us to fit across A4. Ticks are at
//! 1, 2 or 5 times a power of ten. Each curve is named at its right end, never by colour alone, and its
//! value at the marked place is written beside it.

use geometry::{Angle, Length, Page, Path, Point};

use crate::drawing::{Anchor, Caption, Drawing, Element, Group, Scale, Text, TextRole};
use crate::stroke::LineKind;

/// One curve.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// What it is, written at its end.
    pub name: String,
    /// How it is drawn.
    pub kind: LineKind,
    /// Its points, from left to right, in the units of the axes.
    pub points: Vec<[f64; 2]>,
}

/// An axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// What it measures, with its unit: `gap in mm`.
    pub name: String,
    /// Where it starts.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
}

/// Curves over one axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Chart {
    /// What the chart shows.
    pub title: String,
    /// What holds for all curves; lines below the title.
    pub notes: Vec<String>,
    /// The level axis.
    pub x: Axis,
    /// The upright axis starts at nothing; its name.
    pub y_name: String,
    /// Its unit, written at marked values.
    pub y_unit: String,
    /// The place that was asked for: a line through all curves, with their values.
    pub marked: Option<f64>,
    /// The curves.
    pub curves: Vec<Curve>,
}

/// Size of the field, mm.
const FIELD: [f64; 2] = [150.0, 90.0];
/// Height of capitals, mm: title, and all other words.
const TITLE: f64 = 3.6;
const WORDS: f64 = 2.4;
/// Between base lines of words that would else lie over one another, mm.
const LINE: f64 = 4.4;
/// Ticks an axis has at most.
const MOST_TICKS: f64 = 8.0;

/// Draws a chart.
#[must_use]
pub fn drawing_of_chart(chart: &Chart) -> Drawing<Page> {
    let most = chart.curves.iter().flat_map(|curve| &curve.points).map(|p| p[1]);
    let most = most.fold(f64::MIN_POSITIVE, f64::max);
    let field = Field { x: [chart.x.from, chart.x.to], top: ticks_to(most) };
    let frame = Group { name: "axes".into(), label: None, elements: field.axes(chart) };
    let curves = chart.curves.iter().map(|curve| {
        let points = curve.points.iter().map(|&p| field.place(p));
        let line = Element::Line { kind: curve.kind, path: Path::polyline(points) };
        Group { name: curve.name.clone(), label: None, elements: vec![line] }
    });
    let words = Group { name: "words".into(), label: None, elements: field.words(chart) };
    let caption = Caption {
        title: chart.title.clone(),
        job: String::new(),
        foot: String::new(),
        scale: Scale::TRUE,
    };
    Drawing { caption, groups: std::iter::once(frame).chain(curves).chain([words]).collect() }
}

/// From the axes' units to the page.
struct Field {
    x: [f64; 2],
    top: f64,
}

impl Field {
    fn place(&self, [x, y]: [f64; 2]) -> Point<Page> {
        let [from, to] = self.x;
        Point::from_mm(FIELD[0] * (x - from) / (to - from), FIELD[1] * y / self.top)
    }

    fn axes(&self, chart: &Chart) -> Vec<Element<Page>> {
        let mut elements = Vec::new();
        let mut line = |kind, ends: [[f64; 2]; 2]| {
            let path = Path::polyline(ends.map(|[x, y]| Point::from_mm(x, y)));
            elements.push(Element::Line { kind, path });
        };
        for y in ticks(0.0, self.top) {
            let [_, y] = self.place([self.x[0], y]).mm();
            line(LineKind::ScaleLine, [[0.0, y], [FIELD[0], y]]);
        }
        for x in ticks(self.x[0], self.x[1]) {
            let [x, _] = self.place([x, 0.0]).mm();
            line(LineKind::ScaleLine, [[x, 0.0], [x, FIELD[1]]]);
        }
        line(LineKind::Dimension, [[0.0, 0.0], [FIELD[0], 0.0]]);
        line(LineKind::Dimension, [[0.0, 0.0], [0.0, FIELD[1]]]);
        if let Some(x) = chart.marked {
            let [x, _] = self.place([x, 0.0]).mm();
            line(LineKind::Centre, [[x, 0.0], [x, FIELD[1]]]);
        }
        elements
    }

    fn words(&self, chart: &Chart) -> Vec<Element<Page>> {
        let mut words = Words::default();
        for y in ticks(0.0, self.top) {
            let [_, at] = self.place([self.x[0], y]).mm();
            words.say([-2.0, at - 0.5 * WORDS], Anchor::End, TextRole::Plain, &tick(y));
        }
        for x in ticks(self.x[0], self.x[1]) {
            let [at, _] = self.place([x, 0.0]).mm();
            words.say([at, -2.0 - WORDS], Anchor::Middle, TextRole::Plain, &tick(x));
        }
        let middle = [0.5 * FIELD[0], -5.2 - 2.0 * WORDS];
        words.say(middle, Anchor::Middle, TextRole::Plain, &chart.x.name);
        let upright = Text {
            turn: Angle::from_degrees(90.0),
            ..Words::text([-12.0, 0.5 * FIELD[1]], Anchor::Middle, TextRole::Plain, &chart.y_name)
        };
        words.0.push(Element::Text(upright));
        let ends = chart.curves.iter().filter_map(|curve| {
            let [x, y] = self.place(*curve.points.last()?).mm();
            Some(([x + 2.0, y - 0.5 * WORDS], curve.name.clone()))
        });
        for (at, name) in spread(ends.collect()) {
            words.say(at, Anchor::Start, TextRole::Plain, &name);
        }
        if let Some(x) = chart.marked {
            let heights: Vec<[f64; 2]> = chart
                .curves
                .iter()
                .filter_map(|curve| height_at(&curve.points, x).map(|y| [x, y]))
                .collect();
            for &at in &heights {
                let [px, py] = self.place(at).mm();
                let value = format!("{} {}", figures(at[1]), chart.y_unit);
                // Curves fall, so that above and right, and below and left of a point is free; the
                // lower one of two near each other takes the latter.
                let near = |other: &[f64; 2]| {
                    let above = self.place(*other).y_mm() - py;
                    above > 0.0 && above < 2.0 * LINE
                };
                let (place, anchor) = if heights.iter().any(near) {
                    ([px - 2.0, py - 1.2 - WORDS], Anchor::End)
                } else {
                    ([px + 2.0, py + 1.2], Anchor::Start)
                };
                words.say(place, anchor, TextRole::Dimension, &value);
            }
        }
        let mut at = FIELD[1] + 4.0 + LINE * chart.notes.len() as f64;
        let title = Text {
            height: Length::from_mm(TITLE),
            ..Words::text([0.0, at + 1.6], Anchor::Start, TextRole::Name, &chart.title)
        };
        words.0.push(Element::Text(title));
        for note in &chart.notes {
            at -= LINE;
            words.say([0.0, at + 0.6], Anchor::Start, TextRole::Quiet, note);
        }
        words.0
    }
}

/// Words gathered for a drawing.
#[derive(Default)]
struct Words(Vec<Element<Page>>);

impl Words {
    fn text([x, y]: [f64; 2], anchor: Anchor, role: TextRole, words: &str) -> Text<Page> {
        Text {
            at: Point::from_mm(x, y),
            anchor,
            height: Length::from_mm(WORDS),
            turn: Angle::ZERO,
            words: words.to_owned(),
            role,
        }
    }

    fn say(&mut self, at: [f64; 2], anchor: Anchor, role: TextRole, words: &str) {
        self.0.push(Element::Text(Self::text(at, anchor, role, words)));
    }
}

/// Moves words up and down, as little as can be in the square, until each has a line of its own:
/// heights less their turn's lines must not fall, and what falls is levelled to its mean (pooling
/// adjacent violators).
fn spread(mut words: Vec<([f64; 2], String)>) -> Vec<([f64; 2], String)> {
    words.sort_by(|(a, _), (b, _)| a[1].total_cmp(&b[1]));
    let mut pools: Vec<(f64, usize)> = Vec::new();
    let mut lines = 0.0;
    for (at, _) in &words {
        let (mut sum, mut n) = (at[1] - lines, 1);
        lines += LINE;
        while let Some(&(below, m)) = pools.last()
            && below / m as f64 > sum / n as f64
        {
            pools.pop();
            (sum, n) = (sum + below, n + m);
        }
        pools.push((sum, n));
    }
    let levels = pools.iter().flat_map(|&(sum, n)| std::iter::repeat_n(sum / n as f64, n));
    let mut lines = 0.0;
    for ((at, _), level) in words.iter_mut().zip(levels) {
        at[1] = level + lines;
        lines += LINE;
    }
    words
}

/// Height of a curve between its points.
fn height_at(points: &[[f64; 2]], x: f64) -> Option<f64> {
    points.windows(2).find(|pair| pair[0][0] <= x && x <= pair[1][0]).map(|pair| {
        let [[x0, y0], [x1, y1]] = [pair[0], pair[1]];
        y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    })
}

/// The step between ticks of a range: 1, 2 or 5 times a power of ten.
fn step(range: f64) -> f64 {
    let power = 10_f64.powf((range / MOST_TICKS).log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|k| k * power);
    steps.into_iter().find(|s| range / s <= MOST_TICKS + 1e-9).unwrap_or(10.0 * power)
}

/// The first tick at or above a height.
fn ticks_to(most: f64) -> f64 {
    let step = step(most);
    (most / step - 1e-9).ceil() * step
}

fn ticks(from: f64, to: f64) -> Vec<f64> {
    let step = step(to - from);
    let (first, last) = ((from / step - 1e-9).ceil(), (to / step + 1e-9).floor());
    let mut found = Vec::new();
    let mut n = first;
    while n <= last {
        found.push(n * step);
        n += 1.0;
    }
    found
}

/// A tick's number without the dust of its sum.
fn tick(value: f64) -> String {
    // Adding nothing turns a minus nothing into nothing.
    format!("{}", (value * 1e9).round() / 1e9 + 0.0)
}

/// Two or three figures.
fn figures(value: f64) -> String {
    if value < 0.95 { format!("{value:.2}") } else { format!("{value:.1}") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::write_svg;

    fn chart() -> Chart {
        let points =
            |k: f64| (0..=20).map(move |i| [4.0 + 0.6 * f64::from(i), k / (1.0 + f64::from(i))]);
        let curve = |name: &str, k: f64, kind| Curve {
            name: name.into(),
            kind,
            points: points(k).collect(),
        };
        Chart {
            title: "pair".into(),
            notes: vec!["both N35".into()],
            x: Axis { name: "gap in mm".into(), from: 4.0, to: 16.0 },
            y_name: "force in N".into(),
            y_unit: "N".into(),
            marked: Some(8.0),
            curves: vec![
                curve("pull", 11.0, LineKind::Pull),
                curve("sideways", 5.0, LineKind::Sideways),
            ],
        }
    }

    #[test]
    fn ticks_are_round_numbers() {
        assert_eq!(ticks(4.0, 16.0), [4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0]);
        assert_eq!(ticks_to(11.0), 12.0);
        assert_eq!(ticks_to(0.07), 0.07);
        assert_eq!(
            ticks(0.0, 0.3).into_iter().map(tick).collect::<Vec<_>>().join(" "),
            "0 0.05 0.1 0.15 0.2 0.25 0.3"
        );
    }

    #[test]
    fn words_never_lie_over_one_another() {
        let words = [3.0, 3.1, 20.0, 50.0, 50.1, 50.2].map(|y| ([0.0, y], String::new())).to_vec();
        let places: Vec<f64> = spread(words).iter().map(|(at, _)| at[1]).collect();
        for pair in places.windows(2) {
            assert!(pair[1] - pair[0] >= LINE - 1e-9, "{places:?}");
        }
        let mean = |of: &[f64]| of.iter().sum::<f64>() / of.len() as f64;
        assert!((mean(&places[..2]) - 3.05).abs() < 1e-9 && places[2] == 20.0, "{places:?}");
        assert!((mean(&places[3..]) - 50.1).abs() < 1e-9, "{places:?}");
    }

    #[test]
    fn a_chart_names_axes_units_and_curves() {
        let svg = write_svg(&drawing_of_chart(&chart())).unwrap();
        for words in ["gap in mm", "force in N", ">pull<", ">sideways<", "both N35", " N<"] {
            assert!(svg.contains(words), "{words} in {svg}");
        }
    }

    #[test]
    fn a_point_stands_where_the_axes_say() {
        let field = Field { x: [4.0, 16.0], top: 12.0 };
        assert_eq!(field.place([10.0, 6.0]).mm(), [75.0, 45.0]);
        assert_eq!(height_at(&[[4.0, 2.0], [6.0, 4.0]], 5.0), Some(3.0));
        assert_eq!(height_at(&[[4.0, 2.0], [6.0, 4.0]], 7.0), None);
    }
}
