//! What stands below the picture: the legend, what found no place in it, and cautions.

use geometry::{Bounds, Length, Pane, Point};
use hold::CautionKind;
use survey::{Depth, Source};

use super::{Desk, width};
use crate::drawing::{Anchor, Element, Group, Text, TextRole};

/// How many readings without a place are named below.
const MOST_NAMED: usize = 3;

impl Desk<'_> {
    /// The legend, what found no place, and the cautions that go with magnets.
    pub(super) fn notes(&self, drawn: &Bounds<Pane>, left_out: &[String]) -> Group<Pane> {
        let mut paragraphs = vec![(" · ", self.legend())];
        if let Some(wind) = &self.picture.wind {
            let words = wind.words.split(' ').map(str::to_owned).collect();
            paragraphs.insert(0, (" ", words));
        }
        if !left_out.is_empty() {
            let named = left_out.iter().take(MOST_NAMED).cloned().collect::<Vec<_>>().join("; ");
            let more = match left_out.len().saturating_sub(MOST_NAMED) {
                0 => String::new(),
                n => format!("; and {n} more"),
            };
            let words = format!("not in the picture: {named}{more}");
            paragraphs.push((" ", words.split(' ').map(str::to_owned).collect()));
        }
        if self.has_grips() {
            // Those for people, not for things; all of them go with the sheets.
            let for_people = self.picture.cautions.iter().filter(|caution| {
                use CautionKind::{Children, Fingers, Implants};
                matches!(caution.kind, Implants | Children | Fingers)
            });
            let words = for_people.flat_map(|caution| caution.words.split(' '));
            paragraphs.push((" ", words.map(str::to_owned).collect()));
        }
        let mut at = drawn.min.moved(Length::ZERO, self.real(-8.0));
        let mut elements = Vec::new();
        for (between, parts) in paragraphs {
            for words in self.wrapped(&parts, between, drawn.width()) {
                elements.push(Element::Text(self.note(at, &words)));
                at = at.moved(Length::ZERO, self.real(-4.2));
            }
            at = at.moved(Length::ZERO, self.real(-1.4));
        }
        Group { name: "notes".into(), label: None, elements }
    }

    pub(super) fn has_grips(&self) -> bool {
        self.picture.plan.is_some_and(|plan| !plan.grips.is_empty())
    }

    pub(super) fn has_barren(&self) -> bool {
        self.picture.plan.is_some_and(|plan| !plan.barren.is_empty())
    }

    pub(super) fn note(&self, at: Point<Pane>, words: &str) -> Text<Pane> {
        Text { at, anchor: Anchor::Start, ..self.words(words, TextRole::Quiet) }
    }

    pub(super) fn legend(&self) -> Vec<String> {
        let from = |depths: &[Depth]| {
            let n_read = depths.iter().filter(|d| d.from == Source::Reading).count();
            (n_read == depths.len(), n_read == 0)
        };
        let mut legend = vec!["thick line: glass edge".to_owned()];
        legend.push(match from(&self.judgement.bands) {
            (true, _) => "tone: black border".into(),
            (_, true) => "tone: black border, dashed: assumed".into(),
            _ => "tone: black border, dashed where assumed".into(),
        });
        if self.is_blocked() {
            legend.push(match from(&self.judgement.blocked) {
                (true, _) => "hatch: out of reach inside".into(),
                (_, true) => "hatch: out of reach inside, assumed".into(),
                _ => "hatch: out of reach inside, partly assumed".into(),
            });
        }
        legend.push(format!("soft edge: how well we know it, ×{}", self.factor));
        if let Some(wind) = &self.picture.wind {
            legend.extend(self.wind_legend(wind));
        } else if !self.judgement.doubts.is_empty() {
            legend.push("hatched line: in doubt".into());
        }
        if self.picture.wind.is_none() && !self.judgement.questions.is_empty() {
            legend.push("?: please read".into());
        }
        if self.has_grips() {
            legend.push("circles: magnet pairs".into());
        }
        if self.has_barren() {
            legend.push("thin line outside: no grip there".into());
        }
        let unit = self.picture.voice.length(Length::ZERO);
        let unit = unit.rsplit(' ').next().unwrap_or_default();
        legend.push(format!("lengths in {}", if unit == "in" { "inches" } else { unit }));
        legend
    }

    /// Parts joined to lines no wider than there is room.
    pub(super) fn wrapped(&self, parts: &[String], between: &str, room: Length) -> Vec<String> {
        let fits = |words: &str| width(&self.note(Point::ORIGIN, words)) <= room;
        let mut lines: Vec<String> = Vec::new();
        for part in parts {
            let longer = lines.last().map(|line| format!("{line}{between}{part}"));
            match (lines.last_mut(), longer.filter(|words| fits(words))) {
                (Some(line), Some(longer)) => *line = longer,
                _ => lines.push(part.clone()),
            }
        }
        lines
    }
}
