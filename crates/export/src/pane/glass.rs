//! The glass itself: its edge and how well that is known, its border, what is out of reach inside.

use geometry::{Length, Pane, Path, Point};
use survey::{Column, Judgement, ReadingName, Source, Span, Standing};

use super::rim::Rim;
use super::{Desk, QUARTER};
use crate::drawing::{Element, Group, Scale};
use crate::stroke::{LineKind, ToneKind};

/// Dash and pitch of the inner line of a band that was not read: ISO 128-2's 12 and 3 widths.
const DASH: [Length; 2] = [Length::from_mm(3.0), Length::from_mm(3.75)];
/// How far the centre line shows outside the glass: a long dash and a dot.
const CENTRE_PAST: Length = Length::from_mm(7.5);

/// The glass with its border and centre line, nothing in it told as doubtful: for drawings that put
/// their own marks on it. What is out of reach inside is hatched where `inside` says so.
#[must_use]
pub fn group_of_glass(judgement: &Judgement, scale: Scale, inside: bool) -> Group<Pane> {
    let rim = Rim::of(judgement);
    let step = scale.real(Length::from_mm(1.0)).mm();
    let line = |depths| Path::polyline(rim.inner(&rim.knots(depths), step).iter().map(|p| p.1));
    let tone = |kind, inner: &Path<Pane>| {
        let hole = Path::polygon(inner.vertices().iter().skip(1).map(|v| v.point));
        let holes = if hole.area().mm2() > 0.0 { vec![hole] } else { Vec::new() };
        Element::Tone { kind, outer: rim.path.clone(), holes }
    };
    let band = line(&judgement.bands);
    let mut elements = vec![tone(ToneKind::Band, &band)];
    if inside && judgement.blocked.iter().any(|depth| depth.value.mm() >= LEAST_HATCHED) {
        elements.push(tone(ToneKind::Blocked, &line(&judgement.blocked)));
    }
    elements.push(Element::Line { kind: LineKind::Band, path: band });
    if let Some(standing) = Standing::of(&judgement.outline, judgement.small) {
        let [x, low] = standing.origin();
        let past = scale.real(CENTRE_PAST).mm();
        let ends = [low - past, low + standing.height() + past].map(|y| Point::from_mm(x, y));
        elements.push(Element::Line { kind: LineKind::Centre, path: Path::polyline(ends) });
    }
    elements.push(Element::Line { kind: LineKind::GlassEdge, path: rim.path.clone() });
    Group { name: judgement.name.clone(), label: None, elements }
}

/// A blocked depth less than this is not worth a hatch, mm. Chosen by us: a tape's step.
const LEAST_HATCHED: f64 = 1.0;

impl Desk<'_> {
    pub(super) fn glass(&self) -> Group<Pane> {
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
    pub(super) fn is_blocked(&self) -> bool {
        self.judgement.blocked.iter().any(|d| d.value.mm() >= LEAST_HATCHED)
    }

    /// One standard deviation outside the edge, enlarged.
    pub(super) fn soft_edge(&self) -> Path<Pane> {
        let edge = &self.judgement.edge;
        let n = edge.len();
        Path::polygon((0..n).map(|i| {
            let outwards = edge[(i + n - 1) % n].at.heading_to(edge[(i + 1) % n].at) - QUARTER;
            edge[i].at.toward(outwards, edge[i].sd * self.factor)
        }))
    }

    /// The inner line of the band, dashed where the band was not read.
    pub(super) fn band_lines(&self, inner: &[(f64, Point<Pane>)]) -> Vec<Element<Pane>> {
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
    pub(super) fn centre_line(&self) -> Vec<Element<Pane>> {
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
}
