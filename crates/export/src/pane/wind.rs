//! The cover in its rated gust: how far it stands off the glass, and how it pulls at its grips.
//!
//! Lines of equal height are cut straight through the mesh's triangles and joined where two of them share
//! a side; on a mesh with triangles of a hand's breadth they err by a few millimetres in place. Step of
//! height and length of arrows are the roundest that leave the picture clear.

use std::collections::BTreeMap;

use geometry::{Angle, Length, Pane, Path, Point};
use hold::{Force, GripPoles, LoadedPlan, Pole};

use super::board::Wanted;
use super::{Desk, QUARTER};
use crate::drawing::{Element, Group, Text, TextRole};
use crate::stroke::LineKind;

/// A cover in its rated gust.
#[derive(Clone, Debug)]
pub struct CoverInWind<'a> {
    /// Its shape and what its grips bear.
    pub loaded: &'a LoadedPlan,
    /// Which poles face the glass at each grip.
    pub poles: &'a [GripPoles],
    /// What wind it is, in plain words.
    pub words: &'a str,
}

/// Most lines of equal height.
const MOST_LINES: f64 = 6.0;
/// Longest arrow on paper, mm.
const LONGEST_ARROW: f64 = 14.0;
/// Shortest arrow that is drawn, mm.
const SHORTEST_ARROW: f64 = 1.5;

/// The smallest 1, 2 or 5 times a power of ten that is at least `least`.
fn round_step(least: f64) -> f64 {
    let power = 10_f64.powf(least.max(1e-6).log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .map(|n| n * power)
        .into_iter()
        .find(|step| *step >= least)
        .unwrap_or(power)
}

impl Desk<'_> {
    /// Lines of equal height, a group for all, and words for each.
    pub(super) fn heights(&self, wind: &CoverInWind<'_>) -> (Group<Pane>, Vec<Wanted>) {
        let step = self.height_step(wind);
        let most = wind.loaded.stand.shape.most_height().mm();
        let n_lines = (most / step).floor() as usize;
        let mut elements = Vec::new();
        let mut wanted = Vec::new();
        for i in 1..=n_lines {
            let height = Length::from_mm(step * i as f64);
            let lines = height_lines(wind.loaded, height);
            let words = lines.iter().flat_map(|line| self.along_line(line, height)).collect();
            elements
                .extend(lines.into_iter().map(|path| Element::Line { kind: LineKind::Band, path }));
            let name = format!("{} off the glass", self.picture.voice.length(height));
            wanted.push(Wanted { name, lines: Vec::new(), words, modest: true });
        }
        let name = "how far the cloth stands off".into();
        (Group { name, label: None, elements }, wanted)
    }

    fn height_step(&self, wind: &CoverInWind<'_>) -> f64 {
        round_step(wind.loaded.stand.shape.most_height().mm() / MOST_LINES)
    }

    /// Places for a height beside its line.
    fn along_line(&self, line: &Path<Pane>, height: Length) -> Vec<Text<Pane>> {
        let text = self.words(&self.written(height), TextRole::Quiet);
        let place = |share: f64| {
            let (at, heading) = line.at_length(line.length() * share);
            let away = heading + QUARTER;
            let out = text.height / 2.0 + self.real(1.0);
            let at = at.toward(away, out).moved(Length::ZERO, text.height * -0.5);
            Text { at, ..text.clone() }
        };
        (0..24).map(|i| place(f64::from(i) / 24.0)).collect()
    }

    /// Newtons that a millimetre of arrow stands for.
    fn per_mm(wind: &CoverInWind<'_>) -> f64 {
        let pulls = wind.loaded.stand.shape.reactions.iter().map(|r| r.pull_along().newtons());
        round_step(pulls.fold(0.0, f64::max) / LONGEST_ARROW)
    }

    /// The cloth's pull along the glass at each grip, and the poles.
    pub(super) fn pulls(&self, wind: &CoverInWind<'_>) -> Group<Pane> {
        let per_mm = Self::per_mm(wind);
        let grips = self.picture.plan.iter().flat_map(|plan| &plan.grips);
        let mut elements = Vec::new();
        for (i, grip) in grips.enumerate() {
            if let Some(reaction) = wind.loaded.stand.shape.reactions.get(i) {
                let [x, y] = reaction.along.map(Force::newtons);
                let long = reaction.pull_along().newtons() / per_mm;
                if long >= SHORTEST_ARROW {
                    let heading = Angle::from_radians(y.atan2(x));
                    let tip = grip.at.toward(heading, self.real(long));
                    let kind = LineKind::Pull;
                    elements.push(Element::Line { kind, path: Path::polyline([grip.at, tip]) });
                    elements.push(Element::Arrow { kind, tip, heading });
                }
            }
            if wind.poles.get(i).is_some_and(|poles| poles.outer == Pole::North) {
                let reach = grip.diameter / 2.0;
                let bar = |heading| {
                    Path::polyline([
                        grip.at.toward(heading, reach),
                        grip.at.toward(heading, -reach),
                    ])
                };
                let kind = LineKind::Fitting;
                let bars = [Angle::ZERO, QUARTER].map(bar);
                elements.extend(bars.into_iter().map(|path| Element::Line { kind, path }));
            }
        }
        Group { name: "pulls along the glass".into(), label: None, elements }
    }

    /// What the lines and arrows mean.
    pub(super) fn wind_legend(&self, wind: &CoverInWind<'_>) -> Vec<String> {
        let step = Length::from_mm(self.height_step(wind));
        vec![
            format!("thin curves: cloth off the glass, each {}", self.picture.voice.length(step)),
            format!("arrows: pull along the glass, {} N for each mm", Self::per_mm(wind)),
            "crossed circles: north of the outer magnet to the glass, others south".into(),
        ]
    }
}

/// A side of a triangle, by its nodes.
type MeshSide = (usize, usize);

/// Where the cloth stands that far off the glass.
fn height_lines(loaded: &LoadedPlan, height: Length) -> Vec<Path<Pane>> {
    let shape = &loaded.stand.shape;
    let over = |node: usize| shape.height(node) >= height;
    // Each crossed side, and the one or two it is joined to.
    let mut joined: BTreeMap<MeshSide, Vec<MeshSide>> = BTreeMap::new();
    for &[a, b, c] in loaded.mesh.triangles() {
        let sides = [(a, b), (b, c), (c, a)].map(|(i, j)| (i.min(j), i.max(j)));
        let crossed: Vec<MeshSide> =
            sides.into_iter().filter(|&(i, j)| over(i) != over(j)).collect();
        if let [one, two] = crossed[..] {
            joined.entry(one).or_default().push(two);
            joined.entry(two).or_default().push(one);
        }
    }
    let place = |(i, j): MeshSide| -> Point<Pane> {
        let (low, high) = (shape.height(i), shape.height(j));
        let t = (height - low) / (high - low);
        let (from, to) = (shape.place(i), shape.place(j));
        from.toward(from.heading_to(to), from.distance(to) * t)
    };
    let mut lines = Vec::new();
    // Open lines first, from one of their ends; what is left then is closed.
    while let Some(start) = joined
        .iter()
        .find(|(_, ends)| ends.len() == 1)
        .or_else(|| joined.iter().next())
        .map(|(side, _)| *side)
    {
        let is_closed = joined[&start].len() > 1;
        let mut points = vec![place(start)];
        let mut at = start;
        while let Some(next) = joined
            .remove(&at)
            .and_then(|ends| ends.into_iter().find(|end| joined.contains_key(end)))
        {
            points.push(place(next));
            at = next;
        }
        if points.len() > 2 {
            lines.push(match is_closed {
                true => Path::polygon(points),
                false => Path::polyline(points),
            });
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_round() {
        for (least, step) in
            [(0.9, 1.0), (1.0, 1.0), (1.2, 2.0), (4.0, 5.0), (7.0, 10.0), (31.0, 50.0)]
        {
            assert!((round_step(least) - step).abs() < 1e-9, "{least}");
        }
    }
}
