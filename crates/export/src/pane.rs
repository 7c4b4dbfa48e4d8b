//! The picture of one judged pane: its glass, its readings, its doubts, its grips.
//!
//! Between stations a depth runs along the glass edge as d = a + (b − a)(3t² − 2t³), t from 0 to 1
//! by distance along the edge: smooth, and never beyond what its two stations say. The inner line
//! lies square to the edge at that depth, save where it would lie within the depth of another place,
//! as in a corner less round than the band is wide. The soft border reaches one standard deviation
//! out from the edge, enlarged by a round factor that stands in the legend.
//!
//! Words go where they are free: each has places in order of liking, and takes the first that
//! touches neither words nor lines, else the one that crosses fewest lines. Words never lie on
//! words; what finds no place is named below the picture. Sizes on paper are ours, chosen for
//! [`LETTERING`] of 3.5 mm.

use geometry::{Angle, Bounds, Length, Pane, Path, Point};
use hold::{Barren, CAUTIONS, GripPlan, Hindrance, Stretch};
use survey::{
    Column, Corner, Depth, Edge, Judgement, NamedCorners, PaneReadings, ReadingName, Side, Source,
    Span, Standing, Station, Voice,
};

use crate::dimension::{Dimension, LETTERING, upright};
use crate::drawing::{Anchor, Caption, Drawing, Element, Group, Scale, Text, TextRole, join};
use crate::stroke::{LineKind, ToneKind};

/// What is shown of one pane.
#[derive(Clone, Debug)]
pub struct PanePicture<'a> {
    /// What its readings say.
    pub judgement: &'a Judgement,
    /// The readings themselves.
    pub pane: &'a PaneReadings,
    /// The reader's unit and sides.
    pub voice: &'a Voice,
    /// Where magnets grip, once that is planned.
    pub plan: Option<&'a GripPlan>,
    /// Title, foot and scale; [`fit_scale`] chooses one.
    pub caption: Caption,
}

/// Reductions of ISO 5455:1979 (from memory) at which a pane's words have room.
const SCALES: [f64; 4] = [5.0, 10.0, 20.0, 50.0];
/// Paper beside the glass for edge lengths.
const BESIDE: Length = Length::from_mm(18.0);
/// Height of words that stand back.
const SMALL: Length = Length::from_mm(2.5);
/// Height of the numbers of depths.
const TINY: Length = Length::from_mm(1.8);
/// Least paper between words.
const BETWEEN_WORDS: Length = Length::from_mm(0.7);
/// Paper kept free before and after words.
const BESIDE_WORDS: Length = Length::from_mm(0.8);
/// Paper kept free above and below words: less than between a dimension line and its own words.
const OVER_WORDS: Length = Length::from_mm(0.1);
/// How far the soft border may reach out.
const SOFT_REACH: Length = Length::from_mm(4.0);
/// Factors by which the soft border is enlarged.
const FACTORS: [f64; 7] = [100.0, 50.0, 20.0, 10.0, 5.0, 2.0, 1.0];
/// Dash and pitch of the inner line of a band that was not read: ISO 128-2's 12 and 3 widths.
const DASH: [Length; 2] = [Length::from_mm(3.0), Length::from_mm(3.75)];
/// How far the centre line shows outside the glass: a long dash and a dot.
const CENTRE_PAST: Length = Length::from_mm(7.5);
/// Width of the hatch beside a line in doubt.
const DOUBT_WIDTH: Length = Length::from_mm(1.6);
/// How many stretches without grips carry their reason, longest first.
const MOST_REASONS: usize = 3;
/// How many readings without a place are named below.
const MOST_NAMED: usize = 3;

const QUARTER: Angle = Angle::from_degrees(90.0);

/// The largest standard scale at which glass of this extent and the lengths beside it fit on paper
/// of this width; 1:50 when none does.
#[must_use]
pub fn fit_scale(glass: &Bounds<Pane>, paper: Length) -> Scale {
    let fits = |&n: &f64| glass.width() / n + BESIDE * 2.0 <= paper;
    Scale::one_to(SCALES.into_iter().find(fits).unwrap_or(SCALES[3]))
}

/// The picture of a judged pane.
///
/// Each reading is a group of its own, named as the reader calls it.
#[must_use]
pub fn drawing_of_pane(picture: &PanePicture<'_>) -> Drawing<Pane> {
    let desk = Desk::new(picture);
    let mut board = Board::new(picture.caption.scale);
    let grounds = [desk.glass(), desk.stretches()];
    for ground in &grounds {
        board.rule(&ground.elements);
    }
    let mut wanted = desk.grips();
    wanted.extend(desk.readings());
    wanted.extend(desk.side_names());
    wanted.extend(desk.reasons());
    let (groups, left_out) = board.place(wanted);
    let groups = grounds.into_iter().filter(|g| !g.elements.is_empty()).chain(groups).collect();
    let mut drawing = Drawing { caption: picture.caption.clone(), groups };
    if let Ok(drawn) = drawing.drawn() {
        drawing.groups.push(desk.notes(&drawn, &left_out));
    }
    drawing
}

/// Lines with words that may stand at several places, best first.
struct Wanted {
    name: String,
    lines: Vec<Element<Pane>>,
    words: Vec<Text<Pane>>,
    /// Whether it gives way: drawn only where it touches nothing.
    modest: bool,
}

/// Lines, and the places where their words may stand, best first.
type Drawn = (Vec<Element<Pane>>, Vec<Text<Pane>>);

/// Corners of something convex, or both ends of a line, mm.
type Hull = Vec<[f64; 2]>;

/// What is drawn so far, as far as words must keep clear of it.
struct Board {
    scale: Scale,
    lines: Vec<Hull>,
    words: Vec<Hull>,
}

impl Board {
    const fn new(scale: Scale) -> Self {
        Self { scale, lines: Vec::new(), words: Vec::new() }
    }

    /// Lines of these elements; tones do not count, words may lie on them, save the hatch of a doubt.
    fn lines_of(&self, elements: &[Element<Pane>]) -> Vec<Hull> {
        let drawn = elements
            .iter()
            .filter(|e| !matches!(e, Element::Tone { kind, .. } if *kind != ToneKind::Doubt));
        let chord = self.scale.real(Length::from_mm(0.1));
        let outlines = drawn.flat_map(|e| e.marks(self.scale)).flat_map(|m| m.into_outlines());
        outlines
            .flat_map(|path| {
                let mut points: Hull = path.flatten(chord).iter().map(|p| p.mm()).collect();
                points.extend(path.is_closed().then(|| points[0]));
                points.windows(2).map(<[_]>::to_vec).collect::<Vec<_>>()
            })
            .collect()
    }

    fn rule(&mut self, elements: &[Element<Pane>]) {
        let lines = self.lines_of(elements);
        self.lines.extend(lines);
    }

    /// The box of some words with paper around it.
    fn hull(&self, text: &Text<Pane>) -> Hull {
        let beside = self.scale.real(BESIDE_WORDS);
        let corners = text.outline();
        let at = corners.vertices().iter().map(|v| v.point);
        at.zip([-1.0, 1.0, 1.0, -1.0])
            .map(|(p, way)| p.toward(text.turn, beside * way).mm())
            .collect()
    }

    /// How many lines words in this hull would cross; `None` where they would lie on words.
    fn crossings(&self, hull: &Hull, others: &[Hull]) -> Option<usize> {
        let [between, over] = [BETWEEN_WORDS, OVER_WORDS].map(|gap| self.scale.real(gap).mm());
        let free = !self.words.iter().any(|words| touch(hull, words, between));
        let lines = self.lines.iter().chain(others);
        free.then(|| lines.filter(|line| touch(hull, line, over)).count())
    }

    /// Draws what is wanted, first things first, and names what found no place.
    fn place(mut self, wanted: Vec<Wanted>) -> (Vec<Group<Pane>>, Vec<String>) {
        for firm in wanted.iter().filter(|w| !w.modest) {
            self.rule(&firm.lines);
        }
        let (modest, firm): (Vec<_>, Vec<_>) = wanted.into_iter().partition(|w| w.modest);
        let mut placed = Vec::new();
        let mut left_out = Vec::new();
        for Wanted { name, lines, words, modest } in firm.into_iter().chain(modest) {
            let own = if modest { self.lines_of(&lines) } else { Vec::new() };
            let in_the_way = |line: &Hull| self.words.iter().any(|w| touch(line, w, 0.0));
            let free = match self.best(words, &own) {
                _ if own.iter().any(in_the_way) => None,
                Some((n_crossed, _)) if modest && n_crossed > 0 => None,
                best => best,
            };
            match free {
                Some((n_crossed, text)) => {
                    self.lines.extend(own);
                    self.words.push(self.hull(&text));
                    let elements = lines.into_iter().chain([Element::Text(text)]).collect();
                    placed.push((n_crossed, Group { name, label: None, elements }));
                }
                None if modest || lines.is_empty() => left_out.push(name),
                None => {
                    left_out.push(name.clone());
                    placed.push((0, Group { name, label: None, elements: lines }));
                }
            }
        }
        // Words that cross lines come last: their halo clears what lies below.
        placed.sort_by_key(|(n_crossed, _)| *n_crossed);
        (placed.into_iter().map(|(_, group)| group).collect(), left_out)
    }

    /// The first free place, else the one that crosses fewest lines.
    fn best(&self, places: Vec<Text<Pane>>, own: &[Hull]) -> Option<(usize, Text<Pane>)> {
        let mut best = None;
        for text in places {
            match self.crossings(&self.hull(&text), own) {
                Some(0) => return Some((0, text)),
                Some(n) if best.as_ref().is_none_or(|(fewest, _)| n < *fewest) => {
                    best = Some((n, text));
                }
                _ => {}
            }
        }
        best
    }
}

/// Whether two convex hulls are nearer than `gap` by the separating axis theorem: along every
/// direction square to a side of either.
fn touch(a: &Hull, b: &Hull, gap: f64) -> bool {
    let along = |hull: &Hull, [x, y]: [f64; 2]| {
        hull.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| {
            let d = p[0] * x + p[1] * y;
            (low.min(d), high.max(d))
        })
    };
    [a, b].into_iter().flat_map(|hull| hull.iter().zip(hull.iter().cycle().skip(1))).all(
        |(from, to)| {
            let (x, y) = (to[0] - from[0], to[1] - from[1]);
            let side = x.hypot(y);
            if side == 0.0 {
                return true;
            }
            let normal = [-y / side, x / side];
            let ((a_low, a_high), (b_low, b_high)) = (along(a, normal), along(b, normal));
            a_low - b_high < gap && b_low - a_high < gap
        },
    )
}

/// A depth in from the glass edge at places along it, in order; millimetres.
type Knots = Vec<[f64; 2]>;

/// The glass edge as one runs along it.
struct Rim {
    path: Path<Pane>,
    length: f64,
    /// Deepest that is drawn: two opposite bands must not meet.
    deepest: f64,
    /// Each station and where along the path it lies, in order along it.
    stations: Vec<(f64, Station)>,
}

impl Rim {
    fn of(judgement: &Judgement) -> Self {
        let path = judgement.outline.path();
        let along = |&(station, at): &(Station, Point<Pane>)| (path.nearest(at).0.mm(), station);
        let mut stations: Vec<_> = judgement.stations.iter().map(along).collect();
        stations.sort_by(|a, b| a.0.total_cmp(&b.0));
        let bounds = path.bounds().expect("an outline has corners");
        let deepest = 0.45 * bounds.width().min(bounds.height()).mm();
        Self { length: path.length().mm(), deepest, path, stations }
    }

    fn knots(&self, depths: &[Depth]) -> Knots {
        let knot = |&(along, station): &(f64, Station)| {
            depths.iter().find(|d| d.station == station).map(|d| [along, d.value.mm()])
        };
        self.stations.iter().filter_map(knot).collect()
    }

    /// Depth between knots, all round.
    fn depth(&self, knots: &Knots, along: f64) -> f64 {
        let Some(last) = knots.last() else { return 0.0 };
        let along = along.rem_euclid(self.length);
        let next = knots.iter().position(|k| k[0] > along).unwrap_or(0);
        let (a, b) = (if next == 0 { last } else { &knots[next - 1] }, &knots[next]);
        let round = |l: f64| l.rem_euclid(self.length);
        let t = (round(along - a[0]) / round(b[0] - a[0]).max(1e-9)).min(1.0);
        (a[1] + (b[1] - a[1]) * t * t * (3.0 - 2.0 * t)).min(self.deepest)
    }

    /// A place on the edge and the direction inwards.
    fn at(&self, along: f64) -> (Point<Pane>, Angle) {
        let (at, heading) = self.path.at_length(Length::from_mm(along));
        (at, heading + QUARTER)
    }

    /// Points at a depth all along a part of the edge, no farther than `step` apart on the edge;
    /// without those that lie within the depth of another place, as beyond the middle of a corner.
    fn beside(
        &self,
        [from, to]: [f64; 2],
        step: f64,
        depth: impl Fn(f64) -> f64,
    ) -> Vec<(f64, Point<Pane>)> {
        let places = |from: f64, to: f64| {
            let n = ((to - from) / step).ceil().max(1.0);
            (0..=n as usize).map(move |i| from + (to - from) * i as f64 / n)
        };
        // Where the depth changes along the edge, other places are a little nearer; a straight line
        // bridges what a steep change loses.
        let others: Vec<_> = places(0.0, self.length)
            .map(|along| (self.at(along).0, depth(along) * 0.98 - 0.5))
            .collect();
        places(from, to)
            .map(|along| {
                let (at, inwards) = self.at(along);
                (along, at.toward(inwards, Length::from_mm(depth(along))))
            })
            .filter(|(_, point)| {
                others.iter().all(|(at, least)| at.distance(*point).mm() >= *least)
            })
            .collect()
    }

    /// The line at these depths all round; starts and ends at one point.
    fn inner(&self, knots: &Knots, step: f64) -> Vec<(f64, Point<Pane>)> {
        let mut line = self.beside([0.0, self.length], step, |along| self.depth(knots, along));
        line.extend(line.first().copied());
        line
    }

    fn nearest_station(&self, along: f64) -> Option<Station> {
        let apart = |to: f64| {
            let d = (along - to).rem_euclid(self.length);
            d.min(self.length - d)
        };
        self.stations.iter().min_by(|a, b| apart(a.0).total_cmp(&apart(b.0))).map(|s| s.1)
    }
}

/// One picture in the making.
struct Desk<'a> {
    picture: &'a PanePicture<'a>,
    judgement: &'a Judgement,
    scale: Scale,
    rim: Rim,
    standing: Option<Standing<f64>>,
    /// Factor of the soft border.
    factor: f64,
    /// How far out the soft border reaches.
    soft: Length,
}

impl<'a> Desk<'a> {
    fn new(picture: &'a PanePicture<'a>) -> Self {
        let (judgement, scale) = (picture.judgement, picture.caption.scale);
        let widest = judgement.edge.iter().fold(Length::ZERO, |widest, p| widest.max(p.sd));
        let reaches = |f: &f64| widest * *f <= scale.real(SOFT_REACH);
        let factor = FACTORS.into_iter().find(reaches).unwrap_or(1.0);
        Self {
            picture,
            judgement,
            scale,
            rim: Rim::of(judgement),
            standing: Standing::of(&judgement.outline, judgement.small),
            factor,
            soft: widest * factor,
        }
    }

    /// Real size of so many millimetres on paper.
    fn real(&self, on_paper: f64) -> Length {
        self.scale.real(Length::from_mm(on_paper))
    }

    fn glass(&self) -> Group<Pane> {
        let edge = &self.rim.path;
        let step = self.real(1.0).mm();
        let bands = self.rim.inner(&self.rim.knots(&self.judgement.bands), step);
        let blocked = self.rim.inner(&self.rim.knots(&self.judgement.blocked), step);
        let tone = |kind, outer: &Path<Pane>, hole: Path<Pane>| {
            let holes = if hole.area().mm2() > 0.0 { vec![hole] } else { Vec::new() };
            Element::Tone { kind, outer: outer.clone(), holes }
        };
        let ring = |line: &[(f64, Point<Pane>)]| Path::polygon(line.iter().skip(1).map(|p| p.1));
        let mut elements = vec![
            tone(ToneKind::Uncertain, &self.soft_edge(), edge.clone()),
            tone(ToneKind::Band, edge, ring(&bands)),
        ];
        if self.is_blocked() {
            elements.push(tone(ToneKind::Blocked, edge, ring(&blocked)));
        }
        elements.extend(self.band_lines(&bands));
        elements.extend(self.centre_line());
        elements.push(Element::Line { kind: LineKind::GlassEdge, path: edge.clone() });
        Group { name: self.picture.pane.name.clone(), label: None, elements }
    }

    /// Whether anything worth a hatch is out of reach.
    fn is_blocked(&self) -> bool {
        self.judgement.blocked.iter().any(|d| d.value.mm() >= 1.0)
    }

    /// One standard deviation outside the edge, enlarged.
    fn soft_edge(&self) -> Path<Pane> {
        let edge = &self.judgement.edge;
        let n = edge.len();
        Path::polygon((0..n).map(|i| {
            let outwards = edge[(i + n - 1) % n].at.heading_to(edge[(i + 1) % n].at) - QUARTER;
            edge[i].at.toward(outwards, edge[i].sd * self.factor)
        }))
    }

    /// The inner line of the band, dashed where the band was not read.
    fn band_lines(&self, inner: &[(f64, Point<Pane>)]) -> Vec<Element<Pane>> {
        let read = |along: f64| {
            let station = self.rim.nearest_station(along);
            let depth = self.judgement.bands.iter().find(|d| Some(d.station) == station);
            depth.is_some_and(|d| d.from == Source::Reading)
        };
        let [dash, pitch] = DASH.map(|l| self.scale.real(l));
        let segments: Vec<_> = inner.windows(2).collect();
        let runs = segments.chunk_by(|a, b| read(a[0].0) == read(b[0].0));
        let mut lines = Vec::new();
        for run in runs {
            let ends = run.iter().map(|pair| pair[1].1);
            let path = Path::polyline(std::iter::once(run[0][0].1).chain(ends));
            let length = path.length();
            if read(run[0][0].0) || length <= dash {
                lines.push(path);
                continue;
            }
            let n = ((length - dash) / pitch).round();
            let pitch = (length - dash) / n.max(1.0);
            lines.extend((0..=n as usize).map(|i| {
                let from = pitch * i as f64;
                path.part(from, (from + dash).min(length))
            }));
        }
        lines.into_iter().map(|path| Element::Line { kind: LineKind::Band, path }).collect()
    }

    /// The centre line, or its ends outside the glass where the middle height is drawn on it.
    fn centre_line(&self) -> Vec<Element<Pane>> {
        let Some(standing) = &self.standing else { return Vec::new() };
        let [x, low] = standing.origin();
        let point = |y: f64| Point::from_mm(x, y);
        let (low, high) = (low, low + standing.height());
        let past = self.scale.real(CENTRE_PAST).mm();
        let middle = ReadingName::outside(Span::Height(Column::Centre));
        let parts = if self.names().any(|name| name == middle) {
            vec![[high, high + past], [low, low - past]]
        } else {
            vec![[low - past, high + past]]
        };
        parts
            .into_iter()
            .map(|part| Element::Line {
                kind: LineKind::Centre,
                path: Path::polyline(part.map(point)),
            })
            .collect()
    }

    /// All that was read, then all that is asked and was not.
    fn names(&self) -> impl Iterator<Item = ReadingName> + '_ {
        let readings = &self.picture.pane.readings;
        let asked = self.judgement.questions.iter().map(|q| q.reading);
        let unread = asked.filter(|name| readings.iter().all(|r| r.name != *name));
        readings.iter().map(|r| r.name).chain(unread)
    }

    /// What was read, as the reader writes it, without the unit.
    fn number(&self, name: ReadingName) -> String {
        let reading = self.picture.pane.readings.iter().find(|r| r.name == name);
        let mut numbers: Vec<String> =
            reading.iter().flat_map(|r| &r.taken).map(|t| self.written(t.length)).collect();
        numbers.dedup();
        numbers.join(", ")
    }

    fn written(&self, length: Length) -> String {
        let words = self.picture.voice.length(length);
        words.rsplit_once(' ').map_or(&*words, |(number, _)| number).replace('/', "\u{2044}")
    }

    /// How a reading's line is drawn, and what stands beside its number.
    fn stance(&self, name: ReadingName) -> (LineKind, String) {
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
    fn readings(&self) -> Vec<Wanted> {
        let is_depth = |span| matches!(span, Span::Band(_) | Span::Blocked(_));
        let rank = |name: &ReadingName| match name.span {
            _ if self.stance(*name).0 != LineKind::Dimension => 0,
            Span::Height(_) | Span::Width(_) | Span::Diagonal(_) | Span::Edge(_) => 1,
            Span::Radius(_) | Span::Bow(_) | Span::Bend => 2,
            Span::Band(_) | Span::Blocked(_) => 3,
        };
        let mut names: Vec<ReadingName> = self.names().collect();
        names.retain(|n| self.picture.plan.is_none() || !is_depth(n.span) || rank(n) == 0);
        names.sort_by_key(rank);
        names.into_iter().map(|name| self.reading(name)).collect()
    }

    fn reading(&self, name: ReadingName) -> Wanted {
        let (kind, beside) = self.stance(name);
        let words = join(&[&self.number(name), &beside]);
        let (lines, words) = match (name.side, name.span) {
            (Side::Inside, Span::Height(column)) => self.inside_height(name, column, kind, words),
            (_, Span::Height(_) | Span::Width(_) | Span::Diagonal(_)) => {
                self.across(name, kind, words)
            }
            (_, Span::Edge(edge)) => self.edge_length(edge, kind, words),
            (side, Span::Band(station) | Span::Blocked(station)) => {
                self.depth(name.span, side, station, kind, &words)
            }
            (_, Span::Bow(edge)) => (Vec::new(), self.bow(edge, kind, &words)),
            (_, Span::Radius(corner)) => self.radius(corner, kind, &words),
            (_, Span::Bend) => Default::default(),
        };
        let is_length = matches!(
            name.span,
            Span::Height(_) | Span::Width(_) | Span::Diagonal(_) | Span::Edge(_)
        ) && name.side == Side::Outside;
        let modest = kind == LineKind::Dimension && !is_length;
        Wanted { name: self.picture.voice.name(name), lines, words, modest }
    }

    /// A height, width or diagonal between the places it was taken.
    fn across(&self, name: ReadingName, kind: LineKind, words: String) -> Drawn {
        let Some([from, to]) = self.ends(name) else { return Default::default() };
        let words_at = match name.span {
            Span::Height(Column::Centre) | Span::Width(_) => 0.62,
            Span::Diagonal(_) => 0.7,
            _ => 0.5,
        };
        self.dimension(Dimension { from, to, offset: Length::ZERO, words_at, words, kind })
    }

    fn ends(&self, name: ReadingName) -> Option<[Point<Pane>; 2]> {
        let reading = self.picture.pane.readings.iter().find(|r| r.name == name);
        let place = reading.and_then(|r| r.place).map(|l| l.mm());
        let ends = self.standing.as_ref()?.ends(name.span, place)?;
        Some(ends.map(|[x, y]| Point::from_mm(x, y)))
    }

    /// The length of an edge, drawn outside the glass.
    fn edge_length(&self, edge: Edge, kind: LineKind, words: String) -> Drawn {
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

    /// What can be reached inside, a little beside the height itself.
    fn inside_height(
        &self,
        name: ReadingName,
        column: Column,
        kind: LineKind,
        words: String,
    ) -> Drawn {
        let Some([low, high]) = self.ends(name) else { return Default::default() };
        let knots = self.rim.knots(&self.judgement.blocked);
        let blocked = |at| {
            let along = self.rim.path.nearest(at).0.mm();
            Length::from_mm(self.rim.depth(&knots, along))
        };
        let (from, to) = (low.toward(QUARTER, blocked(low)), high.toward(QUARTER, -blocked(high)));
        let beside = if column == Column::Right { 6.0 } else { -6.0 };
        let words = format!("inside {words}");
        let offset = self.real(beside);
        self.dimension(Dimension { from, to, offset, words_at: 0.35, words, kind })
    }

    /// The lines of a dimension, hatched along one side when in doubt, and where its words may
    /// stand: above it, then below it, then the same smaller.
    fn dimension(&self, dimension: Dimension<Pane>) -> Drawn {
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
    fn depth(
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
    fn bow(&self, edge: Edge, kind: LineKind, words: &str) -> Vec<Text<Pane>> {
        let Some([from, to]) = self.ends(ReadingName::outside(Span::Edge(edge))) else {
            return Vec::new();
        };
        let [from, to] = [from, to].map(|end| self.rim.path.nearest(end).0.mm());
        let length = (to - from).rem_euclid(self.rim.length);
        self.outside(&self.words(&format!("bow {words}"), role(kind)), [from, from + length], 1.5)
    }

    /// The radius of a corner, outside it.
    fn radius(&self, corner: Corner, kind: LineKind, words: &str) -> Drawn {
        let (at, outwards) = self.corner(corner);
        let tip = at.toward(outwards, self.soft + self.real(3.0));
        let line = Element::Line { kind, path: Path::polyline([at, tip]) };
        (
            vec![line],
            self.around(&self.words(&format!("R {words}"), role(kind)), (tip, outwards), 1.0, 3),
        )
    }

    /// The middle of a rounded corner and the direction outwards.
    fn corner(&self, corner: Corner) -> (Point<Pane>, Angle) {
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

    /// Level small words, to be moved to their place.
    fn words(&self, words: &str, role: TextRole) -> Text<Pane> {
        Text {
            at: Point::ORIGIN,
            anchor: Anchor::Middle,
            height: self.scale.real(SMALL),
            turn: Angle::ZERO,
            words: words.to_owned(),
            role,
        }
    }

    /// Level words at a small distance from a point: first towards `heading`, then turned to either
    /// side by up to `most` steps of 25°, then farther off.
    fn around(
        &self,
        text: &Text<Pane>,
        (point, heading): (Point<Pane>, Angle),
        clear: f64,
        most: u32,
    ) -> Vec<Text<Pane>> {
        let (width, height) = (width(text), text.height);
        let place = |clear: f64, turned: f64| {
            let heading = heading + Angle::from_degrees(turned);
            let (sin, cos) = heading.radians().sin_cos();
            let reach = self.real(clear) + width * (cos.abs() / 2.0) + height * (sin.abs() / 2.0);
            let at = point.toward(heading, reach).moved(Length::ZERO, height * -0.5);
            Text { at, ..text.clone() }
        };
        let turns = |more: f64| {
            (0..=most).flat_map(move |i| [25.0, -25.0].map(|step| (more, step * f64::from(i))))
        };
        let places = [0.0, 2.0, 4.0].into_iter().flat_map(turns);
        places.map(|(more, turned)| place(clear + more, turned)).collect()
    }

    /// Words along a part of the edge, outside the soft border and `clear` of it, first at its middle.
    fn outside(&self, text: &Text<Pane>, [from, to]: [f64; 2], clear: f64) -> Vec<Text<Pane>> {
        let place = |share: f64| {
            let (at, inwards) = self.rim.at(from + (to - from) * share);
            let turn = upright(inwards - QUARTER);
            let out = self.soft + self.real(clear) + text.height / 2.0;
            let at = at.toward(inwards, -out).toward(turn + QUARTER, text.height * -0.5);
            Text { at, turn, ..text.clone() }
        };
        (0..12).flat_map(|i| [0.5, -0.5].map(|s| place(0.5 + s * 0.07 * f64::from(i)))).collect()
    }

    /// What the reader calls both sides, above the upper corners.
    fn side_names(&self) -> Vec<Wanted> {
        let corners = [
            (true, Corner::TopLeft, Anchor::End, -1.0),
            (false, Corner::TopRight, Anchor::Start, 1.0),
        ];
        corners
            .map(|(left, corner, anchor, outwards)| {
                let (corner, name) = (self.corner(corner).0, self.picture.voice.side(left));
                let place = |(out, up): (f64, f64)| {
                    let at = corner.moved(self.real(out * outwards), self.soft + self.real(up));
                    Text { anchor, ..self.note(at, name) }
                };
                let ups = [4.5, 8.0, 11.5, 15.0, 18.5, 22.0];
                let words = ups.into_iter().flat_map(|up| [(2.0, up), (6.0, up), (10.0, up)]);
                Wanted {
                    name: format!("{name} side"),
                    lines: Vec::new(),
                    words: words.map(place).collect(),
                    modest: false,
                }
            })
            .into()
    }

    /// Thin lines where grips can go, through them, and where none can, outside the glass.
    fn stretches(&self) -> Group<Pane> {
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
    fn grips(&self) -> Vec<Wanted> {
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
    fn reasons(&self) -> Vec<Wanted> {
        let mut barren: Vec<&Barren> =
            self.picture.plan.iter().flat_map(|plan| &plan.barren).collect();
        let length = |b: &Barren| b.stretch.to - b.stretch.from;
        barren.sort_by(|a, b| length(b).mm().total_cmp(&length(a).mm()));
        let reasons = barren.into_iter().map(|b| {
            let words = match b.hindrance {
                Hindrance::Narrow => {
                    format!("border too narrow, {} needed", self.written(b.needed))
                }
                Hindrance::Blocked => "out of reach inside".into(),
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

    /// The legend, what found no place, and the cautions that go with magnets.
    fn notes(&self, drawn: &Bounds<Pane>, left_out: &[String]) -> Group<Pane> {
        let mut paragraphs = vec![(" · ", self.legend())];
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
            let words = CAUTIONS[..4].iter().flat_map(|caution| caution.split(' '));
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

    fn has_grips(&self) -> bool {
        self.picture.plan.is_some_and(|plan| !plan.grips.is_empty())
    }

    fn has_barren(&self) -> bool {
        self.picture.plan.is_some_and(|plan| !plan.barren.is_empty())
    }

    fn note(&self, at: Point<Pane>, words: &str) -> Text<Pane> {
        Text { at, anchor: Anchor::Start, ..self.words(words, TextRole::Quiet) }
    }

    fn legend(&self) -> Vec<String> {
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
        if !self.judgement.doubts.is_empty() {
            legend.push("hatched line: in doubt".into());
        }
        if !self.judgement.questions.is_empty() {
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
    fn wrapped(&self, parts: &[String], between: &str, room: Length) -> Vec<String> {
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

/// What words at a line of that kind are there for.
const fn role(kind: LineKind) -> TextRole {
    match kind {
        LineKind::Doubt => TextRole::Doubt,
        LineKind::Chosen => TextRole::Chosen,
        _ => TextRole::Dimension,
    }
}

/// Width of words, along their base line.
fn width(text: &Text<Pane>) -> Length {
    let outline = text.outline();
    outline.vertices()[0].point.distance(outline.vertices()[1].point)
}

#[cfg(test)]
mod tests {
    use std::sync::LazyLock;

    use super::*;
    use crate::{write_pdf, write_svg};
    use geometry::Outline;
    use hold::{GripAsk, Magnet, place_grips};
    use proptest::prelude::*;
    use survey::{
        Class, Doubt, EdgePoint, Family, Level, Policy, Question, Reading, SlipKind, Slope,
        TapeReading, Unit, Vehicle, judge,
    };

    const VEHICLE: Vehicle =
        Vehicle { class: Class::Coach, make: None, model: None, year: None, steering: None };

    fn mm(value: f64) -> Length {
        Length::from_mm(value)
    }

    fn reading(name: ReadingName, length: f64, unit: Unit) -> Reading {
        let words = format!("<b>{length}</b>");
        let tape =
            TapeReading { words, length: mm(length), unit, graduation: mm(1.0), rough: false };
        Reading { name, taken: vec![tape], place: None }
    }

    fn readings(readings: Vec<Reading>) -> PaneReadings {
        PaneReadings {
            name: "front".into(),
            family: Family::Windscreen,
            half: None,
            flank: None,
            glass: None,
            readings,
        }
    }

    /// A windscreen judged from three readings: most of it is assumed.
    static JUDGED: LazyLock<(PaneReadings, Judgement)> = LazyLock::new(|| {
        let taken = [
            (Span::Height(Column::Centre), 1457.0),
            (Span::Width(Level::Base), 2318.0),
            (Span::Band(Station::TopCentre), 70.0),
        ];
        let taken = taken
            .map(|(span, length)| reading(ReadingName::outside(span), length, Unit::Millimetre));
        let pane = readings(taken.into());
        let judgement = judge(&VEHICLE, &pane, None, &voice(&pane), &Policy::starting()).unwrap();
        (pane, judgement)
    });

    fn voice(pane: &PaneReadings) -> Voice {
        Voice::new(Unit::Millimetre, mm(1.0), &VEHICLE, pane)
    }

    fn caption(scale: Scale) -> Caption {
        Caption { title: "front".into(), job: String::new(), foot: String::new(), scale }
    }

    fn drawn(pane: &PaneReadings, judgement: &Judgement) -> Drawing<Pane> {
        let (voice, caption) = (voice(pane), caption(Scale::one_to(10.0)));
        drawing_of_pane(&PanePicture { judgement, pane, voice: &voice, plan: None, caption })
    }

    fn elements(drawing: &Drawing<Pane>) -> impl Iterator<Item = &Element<Pane>> {
        drawing.groups.iter().flat_map(|group| &group.elements)
    }

    fn texts(drawing: &Drawing<Pane>) -> Vec<&Text<Pane>> {
        elements(drawing)
            .filter_map(|e| if let Element::Text(text) = e { Some(text) } else { None })
            .collect()
    }

    fn has_words(drawing: &Drawing<Pane>, words: &str) -> bool {
        texts(drawing).iter().any(|text| text.words.contains(words))
    }

    fn lies_on(a: &Text<Pane>, b: &Text<Pane>) -> bool {
        !a.outline().intersection(&b.outline()).outer.is_empty()
    }

    /// Panes from quarter lights to coach windscreens with every reading there is.
    fn full_pane() -> impl Strategy<Value = (PaneReadings, Judgement)> {
        let size = (250.0..2500.0_f64, 220.0..1700.0, -0.15..0.15, -0.1..0.1);
        let round =
            (prop::collection::vec(0.0..0.03_f64, 4), prop::collection::vec(5.0..200.0_f64, 4));
        let depths = prop::collection::vec((5.0..150.0, 0.0..1.0), 10);
        let flags = prop::collection::vec(0..12_u8, 60);
        (size, round, depths, flags, 0.5..15.0).prop_filter_map(
            "no outline",
            |((width, height, lean, skew), (bows, radii), depths, flags, sd)| {
                let [x, in_by, over] = [width / 2.0, width * lean, width * skew];
                let corners =
                    [(-x, 0.0), (x, 0.0), (x - in_by + over, height), (-x + in_by + over, height)];
                let small = width.min(height);
                let outline = Outline::new(
                    corners.map(|(x, y)| Point::from_mm(x, y)).into(),
                    bows.iter().map(|bow| mm(bow * width)).collect(),
                    radii.iter().map(|radius| mm(radius.min(small * 0.2))).collect(),
                )
                .ok()?;
                let is_small = height < 500.0;
                let [dx, dy] = Standing::of(&outline, is_small)?.origin();
                let outline = outline.moved(mm(-dx), mm(-dy));
                Some(judged(outline, is_small, &depths, &flags, sd))
            },
        )
    }

    fn judged(
        outline: Outline,
        small: bool,
        depths: &[(f64, f64)],
        flags: &[u8],
        sd: f64,
    ) -> (PaneReadings, Judgement) {
        let standing = Standing::of(&outline, small).unwrap();
        let depth_of = |station: Station, share: f64| {
            let (from, sd) = (Source::Reading, mm(2.0));
            let value = mm(depths[station as usize].0 * share);
            Depth { station, value, sd, from }
        };
        let bands: Vec<_> = Station::ALL.iter().map(|&s| depth_of(s, 1.0)).collect();
        let blocked: Vec<_> =
            Station::ALL.iter().map(|&s| depth_of(s, depths[s as usize].1)).collect();
        let mut taken = Vec::new();
        for span in Span::all() {
            let length = match span {
                Span::Band(station) => bands[station as usize].value.mm(),
                Span::Blocked(station) => blocked[station as usize].value.mm(),
                span => standing.read(span, None).unwrap_or(20.0),
            };
            for side in [Side::Outside, Side::Inside] {
                if span.can_be_read(side) {
                    taken.push(reading(ReadingName { side, span }, length, Unit::Millimetre));
                }
            }
        }
        let flagged = |flag| {
            let flags = flags.iter().copied().chain(std::iter::repeat(9));
            taken.iter().zip(flags).filter(move |(_, f)| *f == flag).map(|(r, _)| r.name)
        };
        let doubt = |name| Doubt {
            readings: vec![name],
            kind: SlipKind::Inch,
            probability: 0.9,
            suggested: Some(mm(1000.0)),
            corrected: false,
            message: String::new(),
        };
        let question =
            |reading| Question { reading, again: true, gain: 0.1, message: String::new() };
        let path = outline.path();
        let edge = path.flatten(mm(0.05)).into_iter().map(|at| EdgePoint { at, sd: mm(sd) });
        let stations = Station::ALL.iter().map(|&s| {
            let [x, y] = standing.station(s).unwrap().at;
            (s, Point::from_mm(x, y))
        });
        let judgement = Judgement {
            doubts: flagged(0).map(doubt).collect(),
            questions: flagged(1).map(question).collect(),
            edge: edge.collect(),
            stations: stations.collect(),
            outline,
            small,
            bands,
            blocked,
            ..JUDGED.1.clone()
        };
        (readings(taken), judgement)
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

        #[test]
        fn words_never_lie_on_words((pane, judgement) in full_pane(), has_plan: bool) {
            let bounds = judgement.outline.path().bounds().unwrap();
            let (voice, caption) = (voice(&pane), caption(fit_scale(&bounds, mm(273.0))));
            let disc: Magnet = "disc:20x3:N35".parse().unwrap();
            let ask = GripAsk::usual(&judgement, &disc, &disc, mm(8.0), mm(16.0));
            let plan = has_plan.then(|| place_grips(&ask).unwrap());
            let (judgement, plan) = (&judgement, plan.as_ref());
            let picture = PanePicture { judgement, pane: &pane, voice: &voice, plan, caption };
            let drawing = drawing_of_pane(&picture);
            let texts = texts(&drawing);
            for (i, a) in texts.iter().enumerate() {
                for b in &texts[..i] {
                    prop_assert!(!lies_on(a, b), "{} on {}", a.words, b.words);
                }
            }
            // A pane of some size has room for every length.
            if drawing.caption.scale.paper(bounds.width().min(bounds.height())) > mm(70.0) {
                for span in Span::all() {
                    let length = matches!(
                        span,
                        Span::Height(_) | Span::Width(_) | Span::Diagonal(_) | Span::Edge(_)
                    );
                    let name = voice.name(ReadingName::outside(span));
                    let group = drawing.groups.iter().find(|group| group.name == name);
                    let worded = group.is_some_and(|group| {
                        group.elements.iter().any(|e| matches!(e, Element::Text(_)))
                    });
                    prop_assert!(!length || worded, "{name} has no words");
                }
            }
        }
    }

    #[test]
    fn names_and_words_of_the_owner_cannot_become_markup() {
        let (mut pane, judgement) = JUDGED.clone();
        pane.name = "<script>alert(\"front\")</script>&".into();
        let svg = write_svg(&drawn(&pane, &judgement)).unwrap();
        assert!(!svg.contains("<script") && svg.contains("&lt;script&gt;"));
        assert!(!svg.contains("<b>"));
        assert!(write_pdf(&drawn(&pane, &judgement)).is_ok());
    }

    #[test]
    fn the_soft_border_is_the_spread_times_the_factor_in_the_legend() {
        let (pane, mut judgement) = JUDGED.clone();
        for (sd, factor) in [(0.5, 50.0), (3.0, 10.0), (4.5, 5.0), (90.0, 1.0)] {
            judgement.edge.iter_mut().for_each(|p| p.sd = mm(sd));
            let drawing = drawn(&pane, &judgement);
            assert!(has_words(&drawing, &format!("how well we know it, ×{factor}")));
            let soft = elements(&drawing).find_map(|e| match e {
                Element::Tone { kind: ToneKind::Uncertain, outer, .. } => Some(outer),
                _ => None,
            });
            let edge = judgement.outline.path();
            let reach = soft.unwrap().vertices().iter().map(|v| edge.nearest(v.point).1.mm());
            let farthest = reach.fold(0.0, f64::max);
            assert!((farthest / (sd * factor) - 1.0).abs() < 1e-3, "{sd}: {farthest}");
        }
    }

    #[test]
    fn the_band_is_as_wide_at_each_station_as_it_was_judged() {
        let judgement = &JUDGED.1;
        let rim = Rim::of(judgement);
        let knots = rim.knots(&judgement.bands);
        let inner = Path::polygon(rim.inner(&knots, 5.0).into_iter().map(|p| p.1));
        for (depth, (station, at)) in judgement.bands.iter().zip(&judgement.stations) {
            assert_eq!(depth.station, *station);
            let off = inner.nearest(*at).1.mm();
            assert!((off / depth.value.mm() - 1.0).abs() < 0.03, "{station}: {off} {depth:?}");
        }
    }

    #[test]
    fn a_band_that_was_not_read_is_dashed_and_said_to_be_assumed() {
        let (pane, mut judgement) = JUDGED.clone();
        let n_lines = |drawing: &Drawing<Pane>| {
            let is_band =
                |e: &&Element<Pane>| matches!(e, Element::Line { kind: LineKind::Band, .. });
            elements(drawing).filter(is_band).count()
        };
        let assumed = drawn(&pane, &judgement);
        assert!(n_lines(&assumed) > 50 && has_words(&assumed, "dashed where assumed"));
        judgement.bands.iter_mut().for_each(|d| d.from = Source::Reading);
        let read = drawn(&pane, &judgement);
        assert!(n_lines(&read) == 1 && !has_words(&read, "dashed"));
    }

    #[test]
    fn a_doubt_shows_what_was_read_and_what_was_meant_and_a_question_asks() {
        let (pane, mut judgement) = JUDGED.clone();
        let outside = ReadingName::outside;
        judgement.doubts = vec![Doubt {
            readings: vec![outside(Span::Width(Level::Base))],
            kind: SlipKind::Ten,
            probability: 0.9,
            suggested: Some(mm(2218.0)),
            corrected: false,
            message: String::new(),
        }];
        let reading = outside(Span::Diagonal(Slope::Rising));
        judgement.questions =
            vec![Question { reading, again: false, gain: 0.2, message: String::new() }];
        let drawing = drawn(&pane, &judgement);
        let texts = texts(&drawing);
        assert!(texts.iter().any(|t| t.role == TextRole::Doubt && t.words == "2318 · 2218?"));
        assert!(texts.iter().any(|t| t.role == TextRole::Chosen && t.words == "?"));
        assert!(has_words(&drawing, "hatched line: in doubt"));
    }

    #[test]
    fn a_windscreen_is_drawn_one_to_ten_on_wide_office_paper() {
        let glass =
            |width: f64| Bounds { min: Point::<Pane>::ORIGIN, max: Point::from_mm(width, 900.0) };
        // A4 and 12 mm margins leave 273 mm.
        for (width, n) in [(900.0, 5.0), (2318.0, 10.0), (2600.0, 20.0), (99e3, 50.0)] {
            assert_eq!(fit_scale(&glass(width), mm(273.0)), Scale::one_to(n));
        }
    }

    #[test]
    fn hulls_touch_when_nothing_parts_them() {
        let square = vec![[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]];
        let line = |x: f64| vec![[x, 3.0], [3.0, x]];
        assert!(touch(&square, &line(0.5), 0.0));
        assert!(!touch(&square, &line(1.5), 0.0), "passes the corner");
        assert!(touch(&square, &line(1.5), 0.5), "but not by half");
    }
}
