//! Drawings that show an owner where to put the tape: the glass, each span with its number.
//!
//! A number stands in a ring in its line, or beside it where the line is short, at the first of a row of
//! places where the ring touches neither another line nor other words. What is seen from inside is drawn
//! mirrored, as it looks from there. Sizes on paper are chosen by us, to be read at arm's length.

use export::{
    Anchor, Caption, Drawing, Element, Group, LineKind, Scale, Text, TextRole, ToneKind,
    group_of_glass,
};
use geometry::{Angle, Bounds, Length, Pane, Path, Placement, Point};
use survey::{
    Column, Corner, Depth, Edge, Judgement, ReadingName, Side, Span, Standing, Station, Voice,
};

/// Reductions a drawing may have on paper: those of ISO 5455 (from memory), and ours between them where
/// those would leave the paper half empty.
const SCALES: [f64; 19] = [
    1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.5, 10.0, 12.5, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0,
    50.0, 100.0,
];
/// Radius of the ring round a number.
const RING: f64 = 2.7;
/// Height of the number in it.
const FIGURE: f64 = 2.5;
/// Height of other words.
const SMALL: f64 = 2.2;
/// Paper kept free round a ring.
const CLEAR: f64 = 0.6;
/// Length of an arrowhead, as `export` draws it on thin lines, less what the line's end hides.
const HEAD: f64 = 1.75;
/// Paper beside the glass for spans outside it and for words.
const BESIDE: [f64; 2] = [15.0, 9.0];

const QUARTER: Angle = Angle::from_degrees(90.0);

/// The largest scale at which something of this size lies within this room.
pub(crate) fn fitting_scale(size: [Length; 2], room: [Length; 2]) -> Scale {
    let fits = |n: &f64| (0..2).all(|i| size[i] / *n <= room[i]);
    Scale::one_to(SCALES.into_iter().find(fits).unwrap_or(SCALES[18]))
}

/// What is drawn on the glass.
pub(crate) struct Guide<'a> {
    pub(crate) judgement: &'a Judgement,
    pub(crate) voice: &'a Voice,
    /// Each span with what stands in its ring.
    pub(crate) spans: Vec<(String, ReadingName)>,
    /// Seen from inside, and what is out of reach there hatched.
    pub(crate) inside: bool,
    /// The spans stand out, as what is asked does.
    pub(crate) chosen: bool,
    /// Numbers for a parked blade: its length, then the heights and distances from the side of its
    /// lower and its other end.
    pub(crate) blade: Option<[String; 5]>,
    /// Paper there is.
    pub(crate) room: [Length; 2],
    pub(crate) title: String,
}

impl Guide<'_> {
    /// The drawing, at the largest scale that fits.
    pub(crate) fn drawing(&self) -> Drawing<Pane> {
        let glass = self.judgement.outline.path().bounds().expect("an outline has corners");
        let beside = BESIDE.map(|side| Length::from_mm(2.0 * side));
        let room = [self.room[0] - beside[0], self.room[1] - beside[1]];
        let scale = fitting_scale([glass.width(), glass.height()], room);
        Hand::new(self, scale).drawing(&glass)
    }
}

/// A guide in the making.
struct Hand<'a> {
    guide: &'a Guide<'a>,
    scale: Scale,
    standing: Option<Standing<f64>>,
    path: Path<Pane>,
    flip: Option<Placement<Pane, Pane>>,
    lines: Vec<Path<Pane>>,
    words: Vec<Path<Pane>>,
    groups: Vec<Group<Pane>>,
}

/// The line of one span, and where its number may stand.
struct Drawn {
    /// The measured line itself.
    ends: [Point<Pane>; 2],
    /// Lines that lead to it.
    beside: Vec<Element<Pane>>,
    /// Whether the number stands in the line; else it stands beyond `ends[1]`.
    within: bool,
    /// Where in the line it stands best, 0 to 1: away from where other lines cross.
    best: f64,
}

/// Where a number's ring may stand.
#[derive(Clone, Copy)]
struct Stand {
    at: Point<Pane>,
    /// Where a line leads to it from; nothing where it stands in the line itself.
    foot: Option<Point<Pane>>,
}

impl<'a> Hand<'a> {
    fn new(guide: &'a Guide<'a>, scale: Scale) -> Self {
        let judgement = guide.judgement;
        let flip = guide.inside.then(|| Placement::mirrored(Angle::ZERO, Point::<Pane>::ORIGIN));
        Self {
            guide,
            scale,
            standing: Standing::of(&judgement.outline, judgement.small),
            path: judgement.outline.path(),
            flip,
            lines: Vec::new(),
            words: Vec::new(),
            groups: Vec::new(),
        }
    }

    fn real(&self, on_paper: f64) -> Length {
        self.scale.real(Length::from_mm(on_paper))
    }

    fn seen(&self, at: Point<Pane>) -> Point<Pane> {
        self.flip.as_ref().map_or(at, |flip| flip.apply(at))
    }

    fn drawing(mut self, glass: &Bounds<Pane>) -> Drawing<Pane> {
        self.ground();
        let kind = if self.guide.chosen { LineKind::Chosen } else { LineKind::Dimension };
        let mut drawn: Vec<(String, Option<Drawn>)> = Vec::new();
        for (number, name) in &self.guide.spans {
            drawn.push((number.clone(), self.span(*name)));
        }
        if let Some(numbers) = self.guide.blade.clone() {
            drawn.extend(numbers.into_iter().zip(self.blade(glass)));
        }
        // All lines are known before the first number looks for its place.
        for (_, span) in &drawn {
            if let Some(span) = span {
                self.lines.push(Path::polyline(span.ends));
                self.lines.extend(self.tail(span).map(Path::polyline));
                let beside = span.beside.iter().filter_map(line_of).cloned();
                self.lines.extend(beside);
            }
        }
        self.side_names(glass);
        // Numbers that stand beyond a line's end have the most places to choose from.
        let drawn = drawn.into_iter().filter_map(|(number, span)| Some((number, span?)));
        let (within, beyond): (Vec<_>, Vec<_>) = drawn.partition(|(_, span)| span.within);
        for (number, span) in within.into_iter().chain(beyond) {
            self.number(&number, span, kind);
        }
        let caption = Caption {
            title: self.guide.title.clone(),
            job: String::new(),
            foot: String::new(),
            scale: self.scale,
        };
        Drawing { caption, groups: self.groups }
    }

    /// The glass, without the centre line where the middle height is drawn on it.
    fn ground(&mut self) {
        let mut ground = group_of_glass(self.guide.judgement, self.scale, self.guide.inside);
        let middle = Span::Height(Column::Centre);
        let on_it = self.guide.spans.iter().any(|(_, name)| name.span == middle);
        ground.elements.retain(|element| {
            !(on_it && matches!(element, Element::Line { kind: LineKind::Centre, .. }))
        });
        if let Some(flip) = &self.flip {
            for element in &mut ground.elements {
                flipped(element, flip);
            }
        }
        let drawn = ground.elements.iter().filter_map(line_of).cloned();
        self.lines.extend(drawn);
        self.groups.push(ground);
    }

    /// What the reader calls both sides, below the lower corners.
    fn side_names(&mut self, glass: &Bounds<Pane>) {
        let mut elements = Vec::new();
        for left in [true, false] {
            // From inside the left side is seen on the right.
            let on_the_left = left != self.guide.inside;
            let (x, anchor) = match (on_the_left, self.flip) {
                (true, None) => (glass.min.x(), Anchor::Start),
                (false, None) => (glass.max.x(), Anchor::End),
                (true, Some(_)) => (-glass.max.x(), Anchor::Start),
                (false, Some(_)) => (-glass.min.x(), Anchor::End),
            };
            let text = |down: f64| Text {
                at: Point::new(x, glass.min.y() - self.real(down)),
                anchor,
                height: self.real(SMALL),
                turn: Angle::ZERO,
                words: format!("{} side", self.guide.voice.side(left)),
                role: TextRole::Quiet,
            };
            let free = [5.0, 7.5, 10.0, 12.5, 15.0, 18.0]
                .into_iter()
                .map(text)
                .find(|text| self.is_free(&text.outline()))
                .unwrap_or_else(|| text(21.0));
            self.words.push(free.outline());
            elements.push(Element::Text(free));
        }
        self.groups.push(Group { name: "sides".into(), label: None, elements });
    }

    fn is_free(&self, room: &Path<Pane>) -> bool {
        self.is_off_lines(room) && self.is_off_words(room)
    }

    fn is_off_lines(&self, room: &Path<Pane>) -> bool {
        !self.lines.iter().any(|line| touches(line, room))
    }

    fn is_off_words(&self, room: &Path<Pane>) -> bool {
        let within = |words: &Path<Pane>| room.vertices().iter().any(|v| words.contains(v.point));
        !self.words.iter().any(|words| touches(words, room) || within(words))
    }

    /// The square round a place that reaches that far on paper.
    fn square(&self, at: Point<Pane>, reach: f64) -> Path<Pane> {
        let half = self.real(reach);
        Path::polygon([
            at.moved(-half, -half),
            at.moved(half, -half),
            at.moved(half, half),
            at.moved(-half, half),
        ])
    }

    /// What leads to the start of a span that is too short for arrows within: it is pointed at from both ends.
    fn tail(&self, span: &Drawn) -> Option<[Point<Pane>; 2]> {
        let [from, to] = span.ends;
        let is_short = !span.within && from.distance(to) <= self.real(9.0);
        is_short.then(|| [from.toward(to.heading_to(from), self.real(5.0)), from])
    }

    /// Places in a line, the best first; then beside it, where in it is none.
    fn places_in_line(&self, span: &Drawn, along: Angle, length: Length) -> Vec<Stand> {
        let share = |i: usize| {
            let off = 0.045 * (i / 2 + i % 2) as f64;
            if i.is_multiple_of(2) { span.best + off } else { span.best - off }
        };
        let feet: Vec<Point<Pane>> = (0..25)
            .map(share)
            .filter(|t| (0.12..=0.88).contains(t))
            .map(|t| span.ends[0].toward(along, length * t))
            .collect();
        let beside =
            [2.0, 3.0, 4.0, 5.5, 7.0, 9.0, 11.0, 14.0, 17.0, 21.0].into_iter().flat_map(|off| {
                let off = self.real(RING + off);
                feet.iter().flat_map(move |&foot| {
                    [QUARTER, -QUARTER]
                        .map(|turn| Stand { at: foot.toward(along + turn, off), foot: Some(foot) })
                })
            });
        let within = feet.iter().map(|&at| Stand { at, foot: None });
        within.chain(beside).collect()
    }

    /// Places beyond the end of a line, or about it, the best first.
    fn places_beyond(&self, end: Point<Pane>, along: Angle) -> Vec<Stand> {
        let turns = [0.0, 35.0, -35.0, 70.0, -70.0, 100.0, -100.0, 140.0, -140.0];
        let far = [RING + 2.2, RING + 4.5, RING + 7.5, RING + 11.0, RING + 15.0, RING + 20.0];
        let place = |off: f64| {
            turns.map(|turn| Stand {
                at: end.toward(along + Angle::from_degrees(turn), self.real(off)),
                foot: Some(end),
            })
        };
        far.into_iter().flat_map(place).collect()
    }

    /// Whether a number's ring there touches no words, nor what leads to it; and no line its middle, up to
    /// that far on paper.
    fn is_clear(&self, stand: &Stand, middle: f64) -> bool {
        let lead = stand.foot.map(|foot| Path::polyline([foot, stand.at]));
        let over_words = lead.is_some_and(|lead| self.words.iter().any(|words| lead.meets(words)));
        !over_words
            && self.is_off_words(&self.square(stand.at, RING + CLEAR))
            && self.is_off_lines(&self.square(stand.at, middle))
    }

    /// A number, its ring and its line.
    fn number(&mut self, number: &str, span: Drawn, kind: LineKind) {
        let [from, to] = span.ends;
        let (along, length) = (from.heading_to(to), from.distance(to));
        // Its own line is broken for the ring.
        let own = Path::polyline(span.ends);
        self.lines.retain(|line| *line != own);
        let tail = self.tail(&span);
        let stands = if span.within {
            self.places_in_line(&span, along, length)
        } else {
            self.places_beyond(to, along)
        };
        // Where there is no room for the ring, other lines may run through it, if not through the figure.
        let free = stands.iter().find(|stand| self.is_clear(stand, RING + CLEAR));
        let tight = || stands.iter().find(|stand| self.is_clear(stand, FIGURE * 0.8));
        let stand = *free.or_else(tight).unwrap_or(&stands[0]);
        let at = stand.at;
        let mut elements = span.beside;
        let ring = self.real(RING);
        let head = self.real(HEAD);
        let line =
            |kind, ends: [Point<Pane>; 2]| Element::Line { kind, path: Path::polyline(ends) };
        let back = along + QUARTER + QUARTER;
        if span.within {
            let (start, end) = (from.toward(along, head), to.toward(along, -head));
            if stand.foot.is_some() {
                elements.push(line(kind, [start, end]));
            } else {
                elements.push(line(kind, [start, at.toward(along, -ring)]));
                elements.push(line(kind, [at.toward(along, ring), end]));
            }
            elements.push(Element::Arrow { kind, tip: from, heading: back });
            elements.push(Element::Arrow { kind, tip: to, heading: along });
        } else {
            elements.push(line(kind, [from, to]));
            if tail.is_none() {
                elements.push(Element::Arrow { kind, tip: from, heading: back });
                elements.push(Element::Arrow { kind, tip: to, heading: along });
            } else {
                elements.extend(tail.map(|ends| line(kind, ends)));
                elements.push(Element::Arrow { kind, tip: from, heading: along });
                elements.push(Element::Arrow { kind, tip: to, heading: back });
            }
        }
        if let Some(foot) = stand.foot {
            elements.push(line(kind, [foot, at.toward(foot.heading_to(at), -ring)]));
        }
        elements.push(Element::Line { kind, path: Path::circle(at, ring) });
        // Two figures are wider than one and have the same ring.
        let height = self.real(if number.len() > 1 { 0.85 * FIGURE } else { FIGURE });
        elements.push(Element::Text(Text {
            at: at.moved(Length::ZERO, height * -0.5),
            anchor: Anchor::Middle,
            height,
            turn: Angle::ZERO,
            words: number.to_owned(),
            role: TextRole::Name,
        }));
        let drawn: Vec<Path<Pane>> = elements.iter().filter_map(line_of).cloned().collect();
        self.lines.extend(drawn);
        self.words.push(self.square(at, RING + CLEAR));
        self.groups.push(Group { name: format!("number {number}"), label: None, elements });
    }

    /// A parked blade as most lie, and what is read of it; two ends' heights stand beyond their lines.
    fn blade(&mut self, glass: &Bounds<Pane>) -> Vec<Option<Drawn>> {
        let at = |x: f64, y: f64| {
            Point::<Pane>::new(
                glass.min.x() + glass.width() * x,
                glass.min.y() + glass.height() * y,
            )
        };
        let (heel, tip) = (at(0.24, 0.16), at(0.62, 0.21));
        let kind = LineKind::Cut;
        let heading = heel.heading_to(tip);
        let side = |off: f64| [heel, tip].map(|end| end.toward(heading + QUARTER, self.real(off)));
        let ([a, b], [d, c]) = (side(0.7), side(-0.7));
        let blade = Path::polygon([a, b, c, d]);
        let element = Element::Line { kind, path: blade.clone() };
        self.lines.push(blade);
        self.groups.push(Group { name: "blade".into(), label: None, elements: vec![element] });
        let edge = |from: Point<Pane>, heading: Angle| {
            let far = from.toward(heading, glass.width());
            let met = self.path.meetings(&Path::polyline([from, far]));
            met.into_iter().min_by(|a, b| from.distance(*a).mm().total_cmp(&from.distance(*b).mm()))
        };
        let (down, left, right) = (-QUARTER, Angle::from_degrees(180.0), Angle::from_degrees(0.0));
        let within = |ends: Option<[Point<Pane>; 2]>| {
            ends.map(|ends| Drawn { ends, beside: Vec::new(), within: true, best: 0.5 })
        };
        let up = |end: Point<Pane>| {
            edge(end, down).map(|foot| Drawn {
                ends: [foot, end],
                beside: Vec::new(),
                within: foot.distance(end) > self.real(4.0 * RING + 4.0),
                best: 0.5,
            })
        };
        let off = self.real(RING + 3.0);
        let ends = [heel, tip].map(|end| end.toward(heading + QUARTER, off));
        vec![
            within(Some(ends)),
            up(heel),
            within(edge(heel, left).map(|side| [side, heel])),
            up(tip),
            within(edge(tip, right).map(|side| [tip, side])),
        ]
    }

    /// Where a span runs; nothing where the pane has none.
    fn span(&self, name: ReadingName) -> Option<Drawn> {
        let standing = self.standing.as_ref()?;
        let point = |[x, y]: [f64; 2]| self.seen(Point::from_mm(x, y));
        let ends = || Some(standing.ends(name.span, None)?.map(|[x, y]| Point::from_mm(x, y)));
        match name.span {
            Span::Height(_) | Span::Width(_) if name.side == Side::Inside => {
                let [low, high] = ends()?;
                let along = low.heading_to(high);
                let [low, high] =
                    [(low, along), (high, along + QUARTER + QUARTER)].map(|(end, inwards)| {
                        self.seen(
                            end.toward(inwards, self.depth_at(&self.guide.judgement.blocked, end)),
                        )
                    });
                Some(Drawn { ends: [low, high], beside: Vec::new(), within: true, best: 0.5 })
            }
            Span::Height(_) | Span::Width(_) | Span::Diagonal(_) => {
                let ends = ends()?.map(|end| self.seen(end));
                let best = match name.span {
                    Span::Height(Column::Centre) => 0.66,
                    Span::Diagonal(_) => 0.74,
                    Span::Width(_) => 0.36,
                    _ => 0.5,
                };
                Some(Drawn { ends, beside: Vec::new(), within: true, best })
            }
            Span::Edge(edge) => Some(self.edge(edge, ends()?)),
            Span::Bow(edge) => self.bow(edge),
            Span::Radius(corner) => {
                let middle = self.corner(corner)?;
                let glass = self.path.bounds()?;
                let centre = glass.min.midpoint(glass.max);
                let inwards = middle.heading_to(centre);
                let ends = [middle.toward(inwards, self.real(7.0)), middle].map(|p| self.seen(p));
                Some(Drawn { ends, beside: Vec::new(), within: false, best: 0.5 })
            }
            Span::BendUp => {
                let ends = standing.ends(Span::Height(Column::Centre), None)?.map(point);
                Some(Drawn { ends, beside: Vec::new(), within: true, best: 0.5 })
            }
            Span::Bend => {
                let ends = standing.ends(Span::Width(survey::Level::Middle), None)?.map(point);
                Some(Drawn { ends, beside: Vec::new(), within: true, best: 0.5 })
            }
            Span::Band(station) | Span::Blocked(station) => self.depth(name, station),
        }
    }

    fn corner(&self, corner: Corner) -> Option<Point<Pane>> {
        let edge = match corner {
            Corner::BaseLeft | Corner::BaseRight => Edge::Base,
            Corner::TopLeft | Corner::TopRight => Edge::Top,
        };
        let [from, to] = self.standing.as_ref()?.ends(Span::Edge(edge), None)?;
        let [x, y] = match corner {
            Corner::BaseLeft | Corner::TopRight => from,
            Corner::BaseRight | Corner::TopLeft => to,
        };
        Some(Point::from_mm(x, y))
    }

    /// The straight of an edge, drawn outside the glass.
    fn edge(&self, _edge: Edge, [from, to]: [Point<Pane>; 2]) -> Drawn {
        let outwards = from.heading_to(to) - QUARTER;
        let out = |p: Point<Pane>| {
            let (sin, cos) = outwards.radians().sin_cos();
            (p.x_mm() - from.x_mm()) * cos + (p.y_mm() - from.y_mm()) * sin
        };
        let bulge = self.path.flatten(self.real(0.2)).into_iter().map(out).fold(0.0, f64::max);
        let off = Length::from_mm(bulge) + self.real(RING + 3.0);
        let ends = [from, to].map(|end| end.toward(outwards, off));
        let kind = LineKind::Dimension;
        let beside = [from, to]
            .map(|end| {
                let near = self.seen(end.toward(outwards, self.real(1.0)));
                let far = self.seen(end.toward(outwards, off + self.real(1.5)));
                Element::Line { kind, path: Path::polyline([near, far]) }
            })
            .into();
        Drawn { ends: ends.map(|end| self.seen(end)), beside, within: true, best: 0.5 }
    }

    /// A string between two corners and how far the edge stands beyond it.
    fn bow(&self, edge: Edge) -> Option<Drawn> {
        let ends = self.standing.as_ref()?.ends(Span::Edge(edge), None)?;
        let [from, to] = ends.map(|[x, y]| Point::<Pane>::from_mm(x, y));
        let outwards = from.heading_to(to) - QUARTER;
        // Beside the middle, where the centre line runs.
        let foot = from.toward(from.heading_to(to), from.distance(to) * 0.4);
        let far = foot.toward(outwards, self.real(60.0));
        let met = self.path.meetings(&Path::polyline([foot, far]));
        let tip = met
            .into_iter()
            .max_by(|a, b| foot.distance(*a).mm().total_cmp(&foot.distance(*b).mm()))?;
        let string = Element::Line {
            kind: LineKind::Blocked,
            path: Path::polyline([self.seen(from), self.seen(to)]),
        };
        Some(Drawn {
            ends: [foot, tip].map(|p| self.seen(p)),
            beside: vec![string],
            within: false,
            best: 0.5,
        })
    }

    /// Across the border at a station, the number beyond it.
    fn depth(&self, name: ReadingName, station: Station) -> Option<Drawn> {
        let judgement = self.guide.judgement;
        let &(_, at) = judgement.stations.iter().find(|(s, _)| *s == station)?;
        let (along, _) = self.path.nearest(at);
        let (at, heading) = self.path.at_length(along);
        let inwards = heading + QUARTER;
        let of = |depths: &[Depth]| {
            depths.iter().find(|d| d.station == station).map_or(Length::ZERO, |d| d.value)
        };
        let (band, blocked) = (of(&judgement.bands), of(&judgement.blocked));
        let [from, to] = match (name.span, name.side) {
            (Span::Blocked(_), _) => [Length::ZERO, blocked],
            (_, Side::Outside) => [Length::ZERO, band],
            (_, Side::Inside) => [blocked.min(band), band],
        };
        // A border that is all out of reach is drawn as the hair that is left of it.
        let to = to.max(from + self.real(0.6));
        let ends = [from, to].map(|depth| self.seen(at.toward(inwards, depth)));
        Some(Drawn { ends, beside: Vec::new(), within: false, best: 0.5 })
    }

    /// A depth at a place of the edge: that of the nearest station.
    fn depth_at(&self, depths: &[Depth], at: Point<Pane>) -> Length {
        let stations = &self.guide.judgement.stations;
        let nearest =
            stations.iter().min_by(|a, b| a.1.distance(at).mm().total_cmp(&b.1.distance(at).mm()));
        let depth = nearest.and_then(|(s, _)| depths.iter().find(|d| d.station == *s));
        depth.map_or(Length::ZERO, |depth| depth.value)
    }
}

/// Whether a line crosses a room or lies in it.
fn touches(line: &Path<Pane>, room: &Path<Pane>) -> bool {
    line.meets(room) || line.vertices().iter().any(|v| room.contains(v.point))
}

/// The path of a line; tones, arrows and words have none.
pub(crate) fn line_of<F: geometry::Frame>(element: &Element<F>) -> Option<&Path<F>> {
    match element {
        Element::Line { path, .. } => Some(path),
        _ => None,
    }
}

/// Turns a drawn thing to its mirror image.
fn flipped(element: &mut Element<Pane>, flip: &Placement<Pane, Pane>) {
    match element {
        Element::Line { path, .. } => *path = path.placed(flip),
        Element::Tone { outer, holes, kind: _ } => {
            *outer = outer.placed(flip);
            holes.iter_mut().for_each(|hole| *hole = hole.placed(flip));
        }
        Element::Arrow { tip, heading, .. } => {
            *tip = flip.apply(*tip);
            *heading = Angle::from_degrees(180.0) - *heading;
        }
        Element::Text(text) => text.at = flip.apply(text.at),
        Element::Notch { at, .. } | Element::Drill { at, .. } => *at = flip.apply(*at),
    }
}

/// The tone of what is not to be measured: rubber and frame.
pub(crate) const RUBBER: ToneKind = ToneKind::Allowance;

/// A magnet pair on the glass.
pub(crate) struct Ring {
    pub(crate) number: u32,
    pub(crate) at: Point<Pane>,
    pub(crate) diameter: Length,
}

/// The glass with its numbered pairs, from outside or from inside.
pub(crate) fn drawing_of_rings(guide: &Guide<'_>, rings: &[Ring]) -> Drawing<Pane> {
    let glass = guide.judgement.outline.path().bounds().expect("an outline has corners");
    let beside = BESIDE.map(Length::from_mm);
    let room = [guide.room[0] - beside[0], guide.room[1] - beside[1]];
    let scale = fitting_scale([glass.width(), glass.height()], room);
    let mut hand = Hand::new(guide, scale);
    hand.ground();
    let circles: Vec<(Path<Pane>, &Ring)> = rings
        .iter()
        .map(|ring| (Path::circle(hand.seen(ring.at), ring.diameter / 2.0), ring))
        .collect();
    hand.lines.extend(circles.iter().map(|(circle, _)| circle.clone()));
    hand.side_names(&glass);
    let middle = hand.seen(glass.min.midpoint(glass.max));
    for (circle, ring) in circles {
        hand.ring_number(circle, ring, middle);
    }
    let caption =
        Caption { title: guide.title.clone(), job: String::new(), foot: String::new(), scale };
    Drawing { caption, groups: hand.groups }
}

impl Hand<'_> {
    /// A pair with its number beside it, first towards the middle of the glass.
    fn ring_number(&mut self, circle: Path<Pane>, ring: &Ring, middle: Point<Pane>) {
        let at = self.seen(ring.at);
        let text = |at: Point<Pane>| Text {
            at,
            anchor: Anchor::Middle,
            height: self.real(FIGURE),
            turn: Angle::ZERO,
            words: ring.number.to_string(),
            role: TextRole::Name,
        };
        let home = at.heading_to(middle);
        let turns = [0.0, 30.0, -30.0, 60.0, -60.0, 90.0, -90.0, 130.0, -130.0, 180.0];
        let place = |more: f64, turn: f64| {
            let off = ring.diameter / 2.0 + self.real(more);
            let to = at.toward(home + Angle::from_degrees(turn), off);
            text(to.moved(Length::ZERO, self.real(FIGURE) * -0.5))
        };
        let places: Vec<Text<Pane>> = [2.4, 3.4, 4.8, 6.5, 9.0, 12.0]
            .into_iter()
            .flat_map(|more| turns.map(|turn| place(more, turn)))
            .collect();
        let free = places.iter().find(|text| self.is_free(&text.outline())).cloned();
        let text = free.unwrap_or_else(|| places[0].clone());
        self.words.push(text.outline());
        self.groups.push(Group {
            name: format!("pair {}", ring.number),
            label: None,
            elements: vec![
                Element::Line { kind: LineKind::Chosen, path: circle },
                Element::Text(text),
            ],
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shop::readings_to_take;
    use survey::{Class, Family, PaneReadings, Policy, Unit, Vehicle, judge};

    /// Every sort of pane of every sort of vehicle, as it is drawn before anything was read.
    fn unread() -> Vec<(Judgement, Voice)> {
        let mut all = Vec::new();
        for &class in Class::ALL {
            for &family in Family::ALL {
                let vehicle = Vehicle::of_class(class);
                let pane = PaneReadings::new("pane", family, Vec::new());
                let voice = Voice::new(Unit::Inch, Length::from_inches(0.125), &vehicle, &pane);
                let judged = judge(&vehicle, &pane, None, &voice, &Policy::starting());
                all.push((judged.unwrap(), voice));
            }
        }
        all
    }

    fn drawings(judgement: &Judgement, voice: &Voice) -> Vec<Drawing<Pane>> {
        let names = (1..).map(|n: usize| n.to_string()).zip(readings_to_take(false));
        let (inside, outside): (Vec<_>, Vec<_>) =
            names.partition(|(_, name)| name.side == Side::Inside);
        let (borders, lengths): (Vec<_>, Vec<_>) =
            outside.into_iter().partition(|(_, name)| matches!(name.span, Span::Band(_)));
        let blade = || Some(["a", "b", "c", "d", "e"].map(str::to_owned));
        let all = [
            (lengths, false, 92.0, None),
            (borders, false, 66.0, None),
            (inside, true, 66.0, None),
            (Vec::new(), false, 66.0, blade()),
        ];
        all.into_iter()
            .map(|(spans, inside, high, blade)| {
                let room = [184.0, high].map(Length::from_mm);
                let title = String::new();
                let chosen = false;
                Guide { judgement, voice, spans, inside, chosen, blade, room, title }.drawing()
            })
            .collect()
    }

    #[test]
    fn no_number_lies_on_a_line_or_on_other_words() {
        for (judgement, voice) in unread() {
            for drawing in drawings(&judgement, &voice) {
                let elements = || drawing.groups.iter().flat_map(|group| &group.elements);
                let lines: Vec<&Path<Pane>> = elements().filter_map(line_of).collect();
                let texts: Vec<&Text<Pane>> = elements()
                    .filter_map(|e| if let Element::Text(text) = e { Some(text) } else { None })
                    .collect();
                let rooms: Vec<Path<Pane>> = texts.iter().map(|text| text.outline()).collect();
                let pane = judgement.outline.corners();
                for (i, room) in rooms.iter().enumerate() {
                    let (words, inside) = (&texts[i].words, |p: Point<Pane>| room.contains(p));
                    for line in &lines {
                        let on_it =
                            line.meets(room) || line.vertices().iter().any(|v| inside(v.point));
                        assert!(!on_it, "`{words}` lies on a line of {pane:?}: {line:?}, {room:?}");
                    }
                    for (other, text) in rooms[..i].iter().zip(&texts) {
                        let apart = room.intersection(other).outer.is_empty();
                        assert!(apart, "`{words}` lies on `{}` of {pane:?}", text.words);
                    }
                }
            }
        }
    }

    #[test]
    fn every_span_is_drawn_within_its_room() {
        for (judgement, voice) in unread() {
            for drawing in drawings(&judgement, &voice) {
                let drawn = drawing.drawn().unwrap();
                let [wide, high] =
                    [drawn.width(), drawn.height()].map(|l| drawing.caption.scale.paper(l).mm());
                assert!(wide <= 186.0 && high <= 104.0, "{wide} × {high}");
            }
        }
    }

    #[test]
    fn from_inside_left_is_right() {
        let (judgement, voice) = &unread()[0];
        let spans = vec![("1".to_owned(), ReadingName::inside(Span::Band(Station::LeftLow)))];
        let ring = |inside| {
            let room = [184.0, 66.0].map(Length::from_mm);
            let (spans, title) = (spans.clone(), String::new());
            let guide =
                Guide { judgement, voice, spans, inside, chosen: false, blade: None, room, title };
            let drawing = guide.drawing();
            let of_number = |group: &&Group<Pane>| group.name == "number 1";
            let group = drawing.groups.iter().find(of_number).unwrap();
            group.bounds(drawing.caption.scale).unwrap().min.x()
        };
        assert!(ring(false) < Length::ZERO && ring(true) > Length::ZERO);
    }
}
