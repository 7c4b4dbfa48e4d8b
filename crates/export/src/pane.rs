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

mod board;
mod glass;
mod grips;
mod notes;
mod rim;
mod taken;
mod wind;

use geometry::{Angle, Bounds, Length, Pane, Point};
use hold::{Caution, GripPlan};
use survey::{Corner, Judgement, PaneReadings, Standing, Voice};

use board::{Board, Wanted};
pub use glass::group_of_glass;
use rim::Rim;
pub use wind::CoverInWind;

use crate::dimension::upright;
use crate::drawing::{Anchor, Caption, Drawing, Scale, Text, TextRole};
use crate::stroke::LineKind;

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
    /// What to beware of with its magnets.
    pub cautions: &'a [Caution],
    /// The cover in its rated gust, shown in place of the readings.
    pub wind: Option<CoverInWind<'a>>,
    /// Title, foot and scale; [`fit_scale`] chooses one.
    pub caption: Caption,
}

/// Reductions of ISO 5455:1979 (from memory) at which a pane's words have room.
const SCALES: [f64; 4] = [5.0, 10.0, 20.0, 50.0];
/// Paper beside the glass for edge lengths.
const BESIDE: Length = Length::from_mm(18.0);
/// Height of words that stand back.
const SMALL: Length = Length::from_mm(2.5);
/// How far the soft border may reach out.
const SOFT_REACH: Length = Length::from_mm(4.0);
/// Factors by which the soft border is enlarged.
const FACTORS: [f64; 7] = [100.0, 50.0, 20.0, 10.0, 5.0, 2.0, 1.0];

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
    let mut grounds = vec![desk.glass(), desk.stretches()];
    let mut wanted = desk.grips();
    match &picture.wind {
        Some(wind) => {
            let (lines, words) = desk.heights(wind);
            grounds.extend([lines, desk.pulls(wind)]);
            wanted.extend(words);
        }
        None => wanted.extend(desk.readings()),
    }
    for ground in &grounds {
        board.rule(&ground.elements);
    }
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

    use super::board::touch;
    use super::*;
    use crate::drawing::Element;
    use crate::stroke::ToneKind;
    use crate::{write_pdf, write_svg};
    use geometry::{Outline, Path};
    use hold::{GripAsk, Magnet, Partner, magnet_cautions, place_grips};
    use proptest::prelude::*;
    use survey::{
        Class, Column, Depth, Doubt, EdgePoint, Family, Level, Policy, Question, Reading,
        ReadingName, Side, SlipKind, Slope, Source, Span, Station, TapeReading, Unit, Vehicle,
        judge,
    };

    const VEHICLE: Vehicle = Vehicle::of_class(Class::Coach);

    fn mm(value: f64) -> Length {
        Length::from_mm(value)
    }

    fn reading(name: ReadingName, length: f64, unit: Unit) -> Reading {
        let words = format!("<b>{length}</b>");
        Reading::once(
            name,
            TapeReading { words, ..TapeReading::showing(mm(length), unit, mm(1.0)) },
        )
    }

    fn readings(readings: Vec<Reading>) -> PaneReadings {
        PaneReadings::new("front", Family::Windscreen, readings)
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
        drawing_of_pane(&PanePicture {
            judgement,
            pane,
            voice: &voice,
            plan: None,
            cautions: &[],
            wind: None,
            caption,
        })
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
            let cautions = magnet_cautions(&disc, &Partner::Magnet(disc)).unwrap();
            let picture = PanePicture {
                judgement,
                pane: &pane,
                voice: &voice,
                plan,
                cautions: &cautions,
                wind: None,
                caption,
            };
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
