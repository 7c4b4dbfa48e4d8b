//! Where magnets grip, and where they cannot.

use geometry::{Length, Pane, Path};
use hold::{Barren, Hindrance, Stretch};

use super::Desk;
use super::board::Wanted;
use super::rim::Knots;
use super::width;
use crate::drawing::{Element, Group, TextRole};
use crate::stroke::LineKind;

/// How many stretches without grips carry their reason, longest first.
const MOST_REASONS: usize = 3;

impl Desk<'_> {
    /// Thin lines where grips can go, through them, and where none can, outside the glass.
    pub(super) fn stretches(&self) -> Group<Pane> {
        let grips = self.picture.plan.iter().flat_map(|plan| &plan.grips);
        let depths: Knots = grips.map(|g| [g.along.mm(), g.depth.mm()]).collect();
        let line = |kind, stretch: &Stretch, depth: &dyn Fn(f64) -> f64| {
            let part = [stretch.from, stretch.to].map(Length::mm);
            let points = self.rim.beside(part, self.real(0.5).mm(), depth);
            (points.len() > 1).then(|| Element::Line {
                kind,
                path: Path::polyline(points.into_iter().map(|p| p.1)),
            })
        };
        let out = (self.soft + self.real(1.2)).mm();
        let elements = self.picture.plan.iter().flat_map(|plan| {
            let feasible = plan.feasible.iter().filter_map(|stretch| {
                line(LineKind::Fitting, stretch, &|along| self.rim.depth(&depths, along))
            });
            let barren =
                plan.barren.iter().filter_map(|b| line(LineKind::Band, &b.stretch, &|_| -out));
            feasible.chain(barren).collect::<Vec<_>>()
        });
        Group { name: "where grips can go".into(), label: None, elements: elements.collect() }
    }

    /// Magnet pairs with their numbers.
    pub(super) fn grips(&self) -> Vec<Wanted> {
        let grips = self.picture.plan.iter().flat_map(|plan| &plan.grips);
        let wanted = grips.map(|grip| {
            let inwards = self.rim.at(grip.along.mm()).1;
            let radius = grip.diameter / 2.0;
            let clear = self.scale.paper(radius).mm() + 1.0;
            let number = grip.number.to_string();
            let path = Path::circle(grip.at, radius);
            Wanted {
                name: format!("grip {number}"),
                lines: vec![Element::Line { kind: LineKind::Fitting, path }],
                words: self.around(
                    &self.words(&number, TextRole::Dimension),
                    (grip.at, inwards),
                    clear,
                    3,
                ),
                modest: false,
            }
        });
        wanted.collect()
    }

    /// Why no grip goes on the longest stretches, where the reason fits along one.
    pub(super) fn reasons(&self) -> Vec<Wanted> {
        let mut barren: Vec<&Barren> =
            self.picture.plan.iter().flat_map(|plan| &plan.barren).collect();
        let length = |b: &Barren| b.stretch.to - b.stretch.from;
        barren.sort_by(|a, b| length(b).mm().total_cmp(&length(a).mm()));
        let reasons = barren.into_iter().map(|b| {
            let words = match b.hindrance {
                Hindrance::Narrow => {
                    format!("border {}, {} needed", self.written(b.band), self.written(b.needed))
                }
                Hindrance::Blocked => format!(
                    "border {}, {} out of reach inside",
                    self.written(b.band),
                    self.written(b.blocked)
                ),
                Hindrance::Unsure => "not known well enough".into(),
                Hindrance::Forbidden => "to be kept clear".into(),
            };
            let part = [b.stretch.from, b.stretch.to].map(Length::mm);
            let words = self.outside(&self.words(&words, TextRole::Quiet), part, 2.2);
            let name = format!("no grip {}", self.picture.voice.station(b.near));
            (length(b), Wanted { name, lines: Vec::new(), words, modest: true })
        });
        let fits = |(length, wanted): &(Length, Wanted)| {
            wanted.words.first().is_some_and(|words| width(words) <= *length)
        };
        reasons.filter(fits).take(MOST_REASONS).map(|(_, wanted)| wanted).collect()
    }
}
