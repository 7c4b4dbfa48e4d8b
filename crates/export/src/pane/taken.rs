//! What was read and what is asked, each along its line.

use geometry::{Angle, Length, Pane, Path, Point};
use survey::{Column, Corner, Edge, NamedCorners, ReadingName, Side, Span, Station};

use super::board::{Drawn, Wanted};
use super::{Desk, QUARTER, SMALL, role, width};
use crate::dimension::{Dimension, LETTERING, upright};
use crate::drawing::{Element, Text, join};
use crate::stroke::{LineKind, ToneKind};

/// Width of the hatch beside a line in doubt.
const DOUBT_WIDTH: Length = Length::from_mm(1.6);
/// Height of the numbers of depths.
const TINY: Length = Length::from_mm(1.8);

impl Desk<'_> {
    /// All that was read, then all that is asked and was not.
    pub(super) fn names(&self) -> impl Iterator<Item = ReadingName> + '_ {
        let readings = &self.picture.pane.readings;
        let asked = self.judgement.questions.iter().map(|q| q.reading);
        let unread = asked.filter(|name| readings.iter().all(|r| r.name != *name));
        readings.iter().map(|r| r.name).chain(unread)
    }

    /// What was read, as the reader writes it, without the unit.
    pub(super) fn number(&self, name: ReadingName) -> String {
        let reading = self.picture.pane.readings.iter().find(|r| r.name == name);
        let mut numbers: Vec<String> =
            reading.iter().flat_map(|r| &r.taken).map(|t| self.written(t.length)).collect();
        numbers.dedup();
        numbers.join(", ")
    }

    pub(super) fn written(&self, length: Length) -> String {
        let words = self.picture.voice.length(length);
        words.rsplit_once(' ').map_or(&*words, |(number, _)| number).replace('/', "\u{2044}")
    }

    /// How a reading's line is drawn, and what stands beside its number.
    pub(super) fn stance(&self, name: ReadingName) -> (LineKind, String) {
        let doubt = self.judgement.doubts.iter().find(|d| d.readings.contains(&name));
        let question = self.judgement.questions.iter().find(|q| q.reading == name);
        match (doubt, question) {
            (Some(_), Some(_)) => (LineKind::Doubt, "again?".into()),
            (Some(doubt), None) if doubt.readings.first() == Some(&name) => {
                let meant = doubt.suggested.map(|s| format!("{}?", self.written(s)));
                (LineKind::Doubt, meant.unwrap_or_else(|| "in doubt".into()))
            }
            (Some(_), None) => (LineKind::Doubt, "in doubt".into()),
            (None, Some(q)) => (LineKind::Chosen, if q.again { "again?" } else { "?" }.into()),
            (None, None) => (LineKind::Dimension, String::new()),
        }
    }

    /// Every reading and question: what is doubted or asked finds its place first, then long lines
    /// before short ones. Where grips are shown, border depths without a doubt are not.
    pub(super) fn readings(&self) -> Vec<Wanted> {
        let is_depth = |span| matches!(span, Span::Band(_) | Span::Blocked(_));
        let rank = |name: &ReadingName| match name.span {
            _ if self.stance(*name).0 != LineKind::Dimension => 0,
            Span::Height(_) | Span::Width(_) | Span::Diagonal(_) | Span::Edge(_) => 1,
            Span::Radius(_) | Span::Bow(_) | Span::Bend | Span::BendUp => 2,
            Span::Band(_) | Span::Blocked(_) => 3,
        };
        let mut names: Vec<ReadingName> = self.names().collect();
        names.retain(|n| self.picture.plan.is_none() || !is_depth(n.span) || rank(n) == 0);
        names.sort_by_key(rank);
        names.into_iter().map(|name| self.reading(name)).collect()
    }

    pub(super) fn reading(&self, name: ReadingName) -> Wanted {
        let (kind, beside) = self.stance(name);
        let words = join(&[&self.number(name), &beside]);
        let (lines, words) = match (name.side, name.span) {
            (Side::Inside, Span::Height(_) | Span::Width(_)) => {
                self.inside_length(name, kind, words)
            }
            (_, Span::Height(_) | Span::Width(_) | Span::Diagonal(_)) => {
                self.across(name, kind, words)
            }
            (_, Span::Edge(edge)) => self.edge_length(edge, kind, words),
            (side, Span::Band(station) | Span::Blocked(station)) => {
                self.depth(name.span, side, station, kind, &words)
            }
            (_, Span::Bow(edge)) => (Vec::new(), self.bow(edge, kind, &words)),
            (_, Span::Radius(corner)) => self.radius(corner, kind, &words),
            (_, Span::Bend | Span::BendUp) => Default::default(),
        };
        let is_length = matches!(
            name.span,
            Span::Height(_) | Span::Width(_) | Span::Diagonal(_) | Span::Edge(_)
        ) && name.side == Side::Outside;
        let modest = kind == LineKind::Dimension && !is_length;
        Wanted { name: self.picture.voice.name(name), lines, words, modest }
    }

    /// A height, width or diagonal between the places it was taken.
    pub(super) fn across(&self, name: ReadingName, kind: LineKind, words: String) -> Drawn {
        let Some([from, to]) = self.ends(name) else { return Default::default() };
        let words_at = match name.span {
            Span::Height(Column::Centre) | Span::Width(_) => 0.62,
            Span::Diagonal(_) => 0.7,
            _ => 0.5,
        };
        self.dimension(Dimension { from, to, offset: Length::ZERO, words_at, words, kind })
    }

    pub(super) fn ends(&self, name: ReadingName) -> Option<[Point<Pane>; 2]> {
        let reading = self.picture.pane.readings.iter().find(|r| r.name == name);
        let place = reading.and_then(|r| r.place).map(|l| l.mm());
        let ends = self.standing.as_ref()?.ends(name.span, place)?;
        Some(ends.map(|[x, y]| Point::from_mm(x, y)))
    }

    /// The length of an edge, drawn outside the glass.
    pub(super) fn edge_length(&self, edge: Edge, kind: LineKind, words: String) -> Drawn {
        let name = ReadingName::outside(Span::Edge(edge));
        let Some([from, to]) = self.ends(name) else { return Default::default() };
        let outwards = (from.heading_to(to) - QUARTER).radians();
        let out = |p: Point<Pane>| {
            (p.x_mm() - from.x_mm()) * outwards.cos() + (p.y_mm() - from.y_mm()) * outwards.sin()
        };
        let points = self.rim.path.flatten(self.real(0.1));
        let bulge = points.into_iter().map(out).fold(0.0, f64::max);
        let ring = self.real(if self.has_barren() { 12.0 } else { 9.0 });
        let offset = -(Length::from_mm(bulge) + self.soft + ring);
        self.dimension(Dimension { from, to, offset, words_at: 0.5, words, kind })
    }

    /// What can be reached inside, a little beside the length itself.
    pub(super) fn inside_length(&self, name: ReadingName, kind: LineKind, words: String) -> Drawn {
        let Some([from, to]) = self.ends(name) else { return Default::default() };
        let knots = self.rim.knots(&self.judgement.blocked);
        let blocked = |at| {
            let along = self.rim.path.nearest(at).0.mm();
            Length::from_mm(self.rim.depth(&knots, along))
        };
        let heading = from.heading_to(to);
        let (from, to) = (from.toward(heading, blocked(from)), to.toward(heading, -blocked(to)));
        let beside = match name.span {
            Span::Height(Column::Right) => 6.0,
            _ => -6.0,
        };
        let words = format!("inside {words}");
        let offset = self.real(beside);
        self.dimension(Dimension { from, to, offset, words_at: 0.35, words, kind })
    }

    /// The lines of a dimension, hatched along one side when in doubt, and where its words may
    /// stand: above it, then below it, then the same smaller.
    pub(super) fn dimension(&self, dimension: Dimension<Pane>) -> Drawn {
        let scale = self.scale;
        let is_text = |e: &Element<Pane>| matches!(e, Element::Text(_));
        let mut lines = dimension.draw(scale);
        lines.retain(|e| !is_text(e));
        let along = dimension.from.heading_to(dimension.to);
        let below = upright(along) - QUARTER;
        let doubted = dimension.kind == LineKind::Doubt;
        let hatched = if doubted { scale.real(DOUBT_WIDTH) } else { Length::ZERO };
        if doubted {
            let [from, to] = [dimension.from, dimension.to]
                .map(|end| end.toward(along + QUARTER, dimension.offset));
            let far = [to, from].map(|end| end.toward(below, hatched));
            let outer = Path::polygon([from, to].into_iter().chain(far));
            let kind = ToneKind::Doubt;
            lines.insert(0, Element::Tone { kind, outer, holes: Vec::new() });
        }
        let above: Vec<Text<Pane>> = (0..20)
            .flat_map(|i| [1.0, -1.0].map(|sign| dimension.words_at + sign * 0.04 * f64::from(i)))
            .filter(|at| (0.1..=0.9).contains(at))
            .flat_map(|words_at| Dimension { words_at, ..dimension.clone() }.draw(scale))
            .filter_map(|e| if let Element::Text(text) = e { Some(text) } else { None })
            .collect();
        let smaller = SMALL / LETTERING;
        let sizes = [1.0, smaller].map(|size| {
            let sized = |text: &Text<Pane>| Text { height: text.height * size, ..text.clone() };
            above.iter().map(sized).collect::<Vec<_>>()
        });
        let places = sizes.into_iter().flat_map(|above| {
            let lowered = |text: &Text<Pane>| {
                // As far below the line, or its hatch, as they stood above it.
                let down = text.height + scale.real(Length::from_mm(2.0)) + hatched;
                Text { at: text.at.toward(below, down), ..text.clone() }
            };
            let lower: Vec<_> = above.iter().map(lowered).collect();
            above.into_iter().chain(lower)
        });
        (lines, places.collect())
    }

    /// A line across the band or the blocked zone with its number inside.
    pub(super) fn depth(
        &self,
        span: Span,
        side: Side,
        station: Station,
        kind: LineKind,
        words: &str,
    ) -> Drawn {
        let Some(&(along, _)) = self.rim.stations.iter().find(|s| s.1 == station) else {
            return Default::default();
        };
        let blocked = matches!(span, Span::Blocked(_));
        // Three readings at one station stand side by side, clear of a height that ends there.
        let aside = match (blocked, side) {
            (false, Side::Outside) => 2.5,
            (false, Side::Inside) => 5.0,
            (true, _) => -2.5,
        };
        let along = along + self.real(aside).mm();
        let (edge, inwards) = self.rim.at(along);
        let [band, reach] = [&self.judgement.bands, &self.judgement.blocked].map(|depths| {
            let depth = self.rim.depth(&self.rim.knots(depths), along);
            edge.toward(inwards, Length::from_mm(depth))
        });
        let ends = match (blocked, side) {
            (false, Side::Outside) => [edge, band],
            (false, Side::Inside) => [reach, band],
            (true, _) => [edge, reach],
        };
        let line = Element::Line { kind, path: Path::polyline(ends) };
        // Beside the line where it is long enough, else past the band.
        let text = Text { height: self.scale.real(TINY), ..self.words(words, role(kind)) };
        let (turn, middle) = (upright(inwards), ends[0].midpoint(ends[1]));
        let beside = [self.real(0.7), -(self.real(0.7) + text.height)].map(|up| {
            let at = middle.toward(turn + QUARTER, up);
            Text { at, turn, ..text.clone() }
        });
        let is_long = width(&text) + self.real(1.0) <= ends[0].distance(ends[1]);
        let mut places = if is_long { beside.to_vec() } else { Vec::new() };
        places.extend(self.around(&text, (band, inwards), 1.2, 2));
        (vec![line], places)
    }

    /// The bow of an edge, outside its middle.
    pub(super) fn bow(&self, edge: Edge, kind: LineKind, words: &str) -> Vec<Text<Pane>> {
        let Some([from, to]) = self.ends(ReadingName::outside(Span::Edge(edge))) else {
            return Vec::new();
        };
        let [from, to] = [from, to].map(|end| self.rim.path.nearest(end).0.mm());
        let length = (to - from).rem_euclid(self.rim.length);
        self.outside(&self.words(&format!("bow {words}"), role(kind)), [from, from + length], 1.5)
    }

    /// The radius of a corner, outside it.
    pub(super) fn radius(&self, corner: Corner, kind: LineKind, words: &str) -> Drawn {
        let (at, outwards) = self.corner(corner);
        let tip = at.toward(outwards, self.soft + self.real(3.0));
        let line = Element::Line { kind, path: Path::polyline([at, tip]) };
        (
            vec![line],
            self.around(&self.words(&format!("R {words}"), role(kind)), (tip, outwards), 1.0, 3),
        )
    }

    /// The middle of a rounded corner and the direction outwards.
    pub(super) fn corner(&self, corner: Corner) -> (Point<Pane>, Angle) {
        let outline = &self.judgement.outline;
        let corners: Vec<[f64; 2]> = outline.corners().iter().map(|p| p.mm()).collect();
        let number = NamedCorners::of(&corners).corner(corner);
        let [x, y] = outline.shape().fillets()[number].middle;
        let middle = Point::from_mm(x, y);
        let n = corners.len();
        let [before, after] = [n - 1, 1].map(|step| outline.corners()[(number + step) % n]);
        let sharp = outline.corners()[number];
        let unit = |to| Point::<Pane>::ORIGIN.toward(sharp.heading_to(to), Length::from_mm(1.0));
        let inwards = unit(before).midpoint(unit(after));
        (middle, inwards.heading_to(Point::ORIGIN))
    }
}
