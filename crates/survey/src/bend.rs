//! Glass bent about an upright axis: lengths along it, straight across it, and inside it.
//!
//! The pane's frame is the glass flattened, so a length along the glass needs no correction. With
//! u = h/c the bend over its chord:
//!
//! - arc a = c·(1 + 4u²)·atan(2u)/(2u) ≈ c·(1 + 8u²/3 − 32u⁴/15);
//! - radius R = c²/(8h) + h/2, and the angle the arc spans θ = a/R = 4·atan(2u);
//! - straight across, a length dx along the glass and dy up it is √((2R·sin(dx/2R))² + dy²);
//! - inside, the glass being t thick, an arc is shorter by t·θ ≈ t·8u.
//!
//! Symbols: h how far the middle stands off the chord at half height, c chord, a arc, t thickness
//! (mm); θ radians. Valid for one bend of one radius, u to about 0.3; glass bent from top to bottom
//! too, or more sharply at its sides, is not described. h is read, never inferred from arc and
//! chord: a millimetre in their difference would be ten and more in h. Closed forms, exact but for
//! rounding.

use geometry::Length;
use geometry::shape::Scalar;

use crate::judge::Judgement;
use crate::name::{Family, Level, ReadingName, Span};
use crate::policy::ErrorModel;
use crate::reading::{PaneReadings, Reading};
use crate::standing::Standing;
use crate::tape::TapeReading;
use crate::words::Voice;

/// Bend over chord beyond which one radius seldom describes glass. Chosen by us: the arc is then a
/// fortieth longer than its chord, and panes bent more are mostly bent most at their sides.
const MOST_BEND: f64 = 0.1;
/// How many standard deviations apart two readings contradict each other: Baarda's (1968) limit of one
/// false alarm in a thousand.
const CONTRADICTS: f64 = 3.2905;

/// Length along the glass over a chord with that bend.
///
/// ```
/// use geometry::Length;
/// use survey::bend::arc_over;
/// // A half circle of radius 1 m: u = 1/2.
/// let arc = arc_over(Length::from_mm(2000.0), Length::from_mm(1000.0));
/// assert!((arc.mm() - 1000.0 * std::f64::consts::PI).abs() < 1e-9);
/// ```
#[must_use]
pub fn arc_over(chord: Length, bend: Length) -> Length {
    let u = (bend.mm() / chord.mm()).abs();
    if u < 1e-6 {
        return chord;
    }
    chord * ((1.0 + 4.0 * u * u) * (2.0 * u).atan() / (2.0 * u))
}

/// Radius of the glass over a chord with that bend; `None` when it is flat.
#[must_use]
pub fn radius_over(chord: Length, bend: Length) -> Option<Length> {
    let (c, h) = (chord.mm(), bend.mm().abs());
    (h > 1e-6).then(|| Length::from_mm(c * c / (8.0 * h) + h / 2.0))
}

/// By how much an arc is shorter on the inside of glass of that thickness.
#[must_use]
pub fn shorter_inside(chord: Length, bend: Length, thickness: Length) -> Length {
    thickness * (4.0 * (2.0 * bend.mm().abs() / chord.mm()).atan())
}

/// The angle θ that an arc spans whose middle stands `bend` off its chord: (1 − cos θ/2)/θ = h/a,
/// solved on plain numbers; one more step of Newton's carries the derivatives.
fn angle<D: Scalar>(arc: D, bend: f64) -> D {
    let bend = bend.abs();
    // A half circle has (1 − cos θ/2)/θ = 1/π; beyond it no tape goes.
    let wanted = (bend / arc.re()).min(0.3);
    let (value, slope) = (
        |t: f64| (1.0 - (t / 2.0).cos()) / t,
        |t: f64| ((t / 2.0) * (t / 2.0).sin() - (1.0 - (t / 2.0).cos())) / (t * t),
    );
    let mut angle = 8.0 * wanted;
    for _ in 0..20 {
        angle = (angle - (value(angle) - wanted) / slope(angle)).clamp(1e-9, 3.0);
    }
    (D::from(bend) / arc - value(angle)) / slope(angle) + angle
}

/// A flat distance along bent glass, pulled straight across it instead.
pub(crate) fn straight<D: Scalar>(along: [D; 2], arc: D, bend: f64) -> D {
    let [dx, dy] = along;
    let level = if bend.abs() < 1e-3 {
        dx
    } else {
        let radius = arc / angle(arc, bend);
        let half = dx / (radius * 2.0);
        // The sine to first order about its value: exact in value and derivatives.
        let (sin, cos) = half.re().sin_cos();
        ((half - half.re()) * cos + sin) * radius * 2.0
    };
    (level * level + dy * dy).sqrt()
}

/// Angle that a width along the glass spans: what each millimetre of thickness takes off it inside.
pub(crate) fn thinner<D: Scalar>(width: D, arc: D, bend: f64) -> D {
    if bend.abs() < 1e-3 { width * 0.0 } else { width / arc * angle(arc, bend) }
}

/// What is known of a pane's bend before its outline is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Bending {
    /// How far the middle stands off the chord at half height.
    pub(crate) height: Length,
    sd: Length,
    thickness: Length,
}

impl Bending {
    /// The bend as read, else the family's usual one with its spread.
    pub(crate) fn of(pane: &PaneReadings, errors: &ErrorModel) -> Self {
        let thickness = pane.glass.unwrap_or(Length::ZERO);
        let found = |span| pane.readings.iter().find(|r| r.name == ReadingName::outside(span));
        if let Some(reading) = found(Span::Bend) {
            let n = reading.taken.len() as f64;
            let sum: f64 = reading.taken.iter().map(|t| t.length.mm()).sum();
            let sd = errors.bow / n.sqrt();
            return Self { height: Length::from_mm(sum / n), sd, thickness };
        }
        let widths = pane.readings.iter().filter(|r| matches!(r.name.span, Span::Width(_)));
        let widest =
            widths.flat_map(|r| &r.taken).map(|t| t.length).fold(Length::ZERO, Length::max);
        let (usual, spread) = usual_bend(pane.family);
        Self { height: widest * usual, sd: widest * spread, thickness }
    }

    /// Variance, mm², that the bend's own spread lends to a straight reading. Arc less chord is
    /// 8h²/(3c), so its slope by h is 16h/(3c); a height has none.
    pub(crate) fn variance(&self, span: Span, length: Length) -> f64 {
        match span {
            Span::Height(_) => 0.0,
            _ => (16.0 / 3.0 * (self.height / length) * self.sd.mm()).powi(2),
        }
    }

    pub(crate) fn thickness_and_bend(&self) -> [f64; 2] {
        [self.thickness.mm(), self.height.mm()]
    }
}

/// Bend over width that panes of a family usually have, and its spread. Common practice, no source.
const fn usual_bend(family: Family) -> (f64, f64) {
    match family {
        Family::Windscreen => (0.05, 0.03),
        Family::Rear => (0.03, 0.03),
        Family::HalfScreen => (0.02, 0.02),
        Family::CabSide | Family::Door | Family::Side => (0.005, 0.005),
    }
}

/// The pane as it would be had its bend been read as usual, when a straight reading is in want of it.
pub(crate) fn supposed(pane: &PaneReadings, errors: &ErrorModel) -> Option<PaneReadings> {
    let bend = ReadingName::outside(Span::Bend);
    let bending = Bending::of(pane, errors);
    // A bend that moves no straight reading by a graduation is not worth a day.
    let in_want = |r: &Reading| {
        r.taken.iter().any(|t| {
            t.straight && bending.variance(r.name.span, t.length).sqrt() > t.graduation.mm() / 2.0
        })
    };
    if pane.readings.iter().any(|r| r.name == bend) || !pane.readings.iter().any(in_want) {
        return None;
    }
    let like = pane.readings.iter().flat_map(|r| r.taken.first()).next()?;
    let tape = TapeReading::showing(bending.height, like.unit, like.graduation);
    let mut pane = pane.clone();
    pane.readings.push(Reading::once(bend, tape));
    Some(pane)
}

/// Where one bend of one radius does not describe the pane, in plain sentences.
#[must_use]
pub fn bend_remarks(
    pane: &PaneReadings,
    judgement: &Judgement,
    errors: &ErrorModel,
    voice: &Voice,
) -> Vec<String> {
    let mut remarks = Vec::new();
    let bending = Bending::of(pane, errors);
    let is_read = pane.readings.iter().any(|r| r.name.span == Span::Bend);
    let Some(standing) = Standing::of(&judgement.outline, judgement.small) else { return remarks };
    let Some(arc) = standing.read(Span::Width(Level::Middle), None) else { return remarks };
    let h = bending.height.mm();
    let chord = straight([arc, 0.0], arc, h);
    if is_read && h.abs() / chord > MOST_BEND {
        let [bend, chord] = [bending.height, Length::from_mm(chord)].map(|l| voice.length(l));
        remarks.push(format!(
            "The glass stands {bend} off a chord of {chord}: more than one bend of one radius \
             describes well. Lay the tape along the glass everywhere, and send a photo taken from above."
        ));
    }
    for reading in &pane.readings {
        let mean = |straight: bool| {
            let taken: Vec<&TapeReading> =
                reading.taken.iter().filter(|t| t.straight == straight).collect();
            let sum: f64 = taken.iter().map(|t| t.length.mm()).sum();
            let n = taken.len() as f64;
            (n > 0.0).then(|| (sum / n, n, taken[0].graduation))
        };
        let (Some((along, n_along, g)), Some((across, n_across, _))) = (mean(false), mean(true))
        else {
            continue;
        };
        let span = reading.name.span;
        let upright = matches!(span, Span::Height(_));
        // Without a bend read there is nothing for two widths to contradict.
        if !upright && !is_read {
            continue;
        }
        let Some([a, b]) = standing.ends(span, reading.place.map(|l| l.mm())) else { continue };
        let flat = [b[0] - a[0], b[1] - a[1]];
        let shrinks = straight(flat, arc, h) / flat[0].hypot(flat[1]);
        let sd = errors.sd_mm(reading.name.side, span, Length::from_mm(along), g);
        let spread = sd * sd * (1.0 / n_along + 1.0 / n_across)
            + bending.variance(span, Length::from_mm(across));
        if (along * shrinks - across).abs() < CONTRADICTS * spread.sqrt() {
            continue;
        }
        let name = voice.name(reading.name);
        let [along, across, bend] = [along, across, h].map(|mm| voice.length(Length::from_mm(mm)));
        remarks.push(match upright {
            true => format!(
                "The {name} is {along} along the glass and {across} straight: the glass bends from top \
                 to bottom too, which flattening does not describe. Allow for a trial fit."
            ),
            false => format!(
                "The {name}, {along} along the glass and {across} straight across, does not go with a \
                 bend of {bend}: either is read wrong, or the glass is not bent to one radius."
            ),
        });
    }
    remarks
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Class, Column, Policy, Side, Unit, Vehicle, Verdict, judge};
    use proptest::prelude::*;

    fn mm(value: f64) -> Length {
        Length::from_mm(value)
    }

    #[test]
    fn the_series_holds_for_shallow_bends() {
        // a ≈ c(1 + 8u²/3 − 32u⁴/15), the series of the closed form.
        for u in [0.01_f64, 0.03, 0.06] {
            let series = 1.0 + 8.0 * u * u / 3.0 - 32.0 * u.powi(4) / 15.0;
            let arc = arc_over(mm(2000.0), mm(2000.0 * u)).mm() / 2000.0;
            assert!((arc - series).abs() < 4.0 * u.powi(6), "{u}: {arc} {series}");
        }
    }

    #[test]
    fn a_circle_gives_arc_radius_and_inside_arc() {
        // A third of a circle of radius 3 m: chord 3√3 m, sagitta 1.5 m, arc 2π m.
        let chord = mm(3000.0 * 3.0_f64.sqrt());
        let third = std::f64::consts::TAU / 3.0;
        assert!((arc_over(chord, mm(1500.0)).mm() - 3000.0 * third).abs() < 1e-9);
        assert!((radius_over(chord, mm(1500.0)).unwrap().mm() - 3000.0).abs() < 1e-9);
        // The inner circle's radius is smaller by the thickness.
        let shorter = shorter_inside(chord, mm(1500.0), mm(8.0));
        assert!((shorter.mm() - 8.0 * third).abs() < 1e-9);
        // t·8u is its first term.
        let shallow = shorter_inside(mm(2000.0), mm(60.0), mm(8.0)).mm();
        assert!((shallow / (8.0 * 8.0 * 0.03) - 1.0).abs() < 2e-3, "{shallow}");
    }

    proptest! {
        #[test]
        fn straight_undoes_arc(chord in 300.0..3000.0_f64, u in 0.001..0.3_f64) {
            let arc = arc_over(mm(chord), mm(u * chord)).mm();
            prop_assert!((straight([arc, 0.0], arc, u * chord) - chord).abs() < 1e-6 * chord);
            let taken_off = thinner(arc, arc, u * chord) * 7.0;
            let closed = shorter_inside(mm(chord), mm(u * chord), mm(7.0)).mm();
            prop_assert!((taken_off - closed).abs() < 1e-6);
        }
    }

    /// The readings of a bent windscreen, its widths and diagonals taken straight or along.
    fn bent(bend: Option<f64>, taken_straight: bool, glass: f64) -> PaneReadings {
        let vehicle = Vehicle::of_class(Class::Coach);
        let empty = PaneReadings::new("front", Family::Windscreen, Vec::new());
        let outline = crate::Prior::of(&vehicle, &empty, None).outline().unwrap();
        let standing = Standing::of(&outline, false).unwrap();
        let arc = standing.read(Span::Width(Level::Middle), None).unwrap();
        let h = bend.unwrap_or(120.0);
        let tape = |length: f64| TapeReading::showing(mm(length), Unit::Millimetre, mm(1.0));
        let mut readings = Vec::new();
        for span in Span::all() {
            let outside = ReadingName::outside(span);
            if let (true, Some([a, b])) = (span.is_length(), standing.ends(span, None)) {
                let flat = [b[0] - a[0], b[1] - a[1]];
                readings.push(Reading::once(
                    outside,
                    match taken_straight {
                        true => tape(straight(flat, arc, h)).taken_straight(),
                        false => tape(flat[0].hypot(flat[1])),
                    },
                ));
            } else if let Some(value) = standing.read(span, None) {
                readings.push(Reading::once(outside, tape(value)));
            }
        }
        if let Some(bend) = bend {
            readings.push(Reading::once(ReadingName::outside(Span::Bend), tape(bend)));
        }
        let mut pane = PaneReadings::new("front", Family::Windscreen, readings);
        pane.glass = Some(mm(glass));
        pane
    }

    fn judged(pane: &PaneReadings) -> Judgement {
        let vehicle = Vehicle::of_class(Class::Coach);
        let voice = Voice::new(Unit::Millimetre, mm(1.0), &vehicle, pane);
        judge(&vehicle, pane, None, &voice, &Policy::starting()).unwrap()
    }

    fn width(judgement: &Judgement) -> f64 {
        let standing = Standing::of(&judgement.outline, false).unwrap();
        standing.read(Span::Width(Level::Base), None).unwrap()
    }

    #[test]
    fn widths_read_straight_give_the_same_flat_outline_as_along_the_glass() {
        let [along, across] =
            [false, true].map(|straight| judged(&bent(Some(120.0), straight, 7.0)));
        assert!(
            (width(&along) - width(&across)).abs() < 2.0,
            "{} {}",
            width(&along),
            width(&across)
        );
        assert!(across.doubts.is_empty(), "{:?}", across.doubts);
        // The bend takes 8h²/(3c), more than 15 mm here: without it the cover would not fit.
        let mut taken_as_along = bent(Some(120.0), true, 7.0);
        taken_as_along
            .readings
            .iter_mut()
            .flat_map(|r| &mut r.taken)
            .for_each(|t| t.straight = false);
        assert!(width(&judged(&taken_as_along)) < width(&along) - 10.0);
    }

    #[test]
    fn straight_readings_without_a_bend_ask_for_it() {
        let judgement = judged(&bent(None, true, 7.0));
        let asked: Vec<String> =
            judgement.questions.iter().map(|q| q.reading.to_string()).collect();
        assert!(asked.contains(&"outside.bend".to_owned()), "{asked:?}");
        assert_eq!(judgement.verdict, Verdict::Ask);
        let settled = judged(&bent(Some(120.0), true, 7.0));
        assert!(settled.questions.iter().all(|q| q.reading.span != Span::Bend));
    }

    #[test]
    fn an_inside_width_is_shorter_by_what_is_blocked_and_by_the_thickness() {
        let mut pane = bent(Some(200.0), false, 12.0);
        let outside = pane.readings.iter().find(|r| r.name.span == Span::Width(Level::Middle));
        let outside = outside.unwrap().taken[0].length;
        let inside = ReadingName { side: Side::Inside, span: Span::Width(Level::Middle) };
        let chord = 2300.0;
        let reach = outside - shorter_inside(mm(chord), mm(200.0), mm(12.0)) - mm(2.0 * 25.0);
        pane.readings
            .push(Reading::once(inside, TapeReading::showing(reach, Unit::Millimetre, mm(1.0))));
        let judgement = judged(&pane);
        let stands = judgement.readings.iter().find(|r| r.name == inside).unwrap();
        assert!((stands.expected - reach).mm().abs() < 3.0, "{stands:?}");
        assert!(judgement.doubts.is_empty(), "{:?}", judgement.doubts);
    }

    #[test]
    fn what_one_bend_does_not_describe_is_said() {
        let policy = Policy::starting();
        let voice = |pane: &PaneReadings| {
            Voice::new(Unit::Millimetre, mm(1.0), &Vehicle::of_class(Class::Coach), pane)
        };
        let remarks =
            |pane: &PaneReadings| bend_remarks(pane, &judged(pane), &policy.errors, &voice(pane));
        assert!(remarks(&bent(Some(120.0), true, 7.0)).is_empty());
        assert!(remarks(&bent(Some(290.0), false, 7.0))[0].contains("one radius"));
        // Both ways at once: in accord, then not.
        let both = |off: f64, span: Span| {
            let mut pane = bent(Some(120.0), false, 7.0);
            let across = bent(Some(120.0), true, 7.0);
            for (reading, other) in pane.readings.iter_mut().zip(&across.readings) {
                if reading.name.span == span {
                    let mut tape = other.taken[0].clone();
                    tape.length += mm(off);
                    reading.taken.push(tape);
                }
            }
            remarks(&pane)
        };
        let middle = Span::Width(Level::Middle);
        assert!(both(0.0, middle).is_empty());
        assert!(both(-40.0, middle)[0].contains("does not go with a bend"));
        assert!(both(-40.0, Span::Height(Column::Centre))[0].contains("from top to bottom"));
    }
}
