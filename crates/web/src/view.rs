//! How values become words and pictures on a page.

use export::{Caption, ExportError, PanePicture, drawing_of_pane, fit_scale, write_svg};
use geometry::Length;
use jiff::Timestamp;
use shop::{Order, voice_of};
use store::Moment;
use survey::{Judgement, PaneReadings, in_a_hundred};

/// Width of paper at which a pane is drawn for the screen, so that words come out near the page's own size.
const DRAWN: Length = Length::from_mm(300.0);

/// The first letter as a capital.
pub(crate) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// `25 Nov 2026, 14:05`, in universal time, which the page says once.
pub(crate) fn when(moment: Moment) -> String {
    let Ok(timestamp) = Timestamp::from_millisecond(moment.0) else { return String::new() };
    timestamp.strftime("%-d %b %Y, %H:%M").to_string()
}

/// `12 December`, from `2026-12-12`; as it stands where it is no date.
pub(crate) fn day(date: &str) -> String {
    date.parse::<jiff::civil::Date>()
        .map_or_else(|_| date.to_owned(), |date| date.strftime("%-d %B").to_string())
}

/// The picture of a pane's readings, to stand inside a page.
pub(crate) fn picture(order: &Order, pane: &PaneReadings, judgement: &Judgement) -> String {
    let Some(glass) = judgement.outline.path().bounds() else { return String::new() };
    let drawing = drawing_of_pane(&PanePicture {
        judgement,
        pane,
        voice: &voice_of(order, pane),
        plan: None,
        cautions: &[],
        wind: None,
        caption: Caption {
            title: format!("{}: {}", order.reference, pane.name),
            job: String::new(),
            foot: String::new(),
            scale: fit_scale(&glass, DRAWN),
        },
    });
    inline(write_svg(&drawing))
}

/// A pane's outline alone, small, for a list.
pub(crate) fn glance(judgement: &Judgement) -> String {
    let points: Vec<[f64; 2]> =
        judgement.outline.path().flatten(Length::from_mm(1.0)).iter().map(|p| p.mm()).collect();
    let reach = |axis: usize| {
        let values = || points.iter().map(|p| p[axis]);
        (values().fold(f64::MAX, f64::min), values().fold(f64::MIN, f64::max))
    };
    let ((left, right), (low, high)) = (reach(0), reach(1));
    let scale = (108.0 / (right - left).max(1.0)).min(64.0 / (high - low).max(1.0));
    // y is up in the pane and down on the screen.
    let place = |p: &[f64; 2]| {
        let x = 60.0 + (p[0] - 0.5 * (left + right)) * scale;
        let y = 36.0 - (p[1] - 0.5 * (low + high)) * scale;
        format!("{x:.1},{y:.1}")
    };
    let points: Vec<String> = points.iter().map(place).collect();
    format!(
        "<svg class=\"glance\" viewBox=\"0 0 120 72\" aria-hidden=\"true\"><polygon points=\"{}\"/></svg>",
        points.join(" ")
    )
}

/// A drawing without its own style, which the page's style sheet brings.
pub(crate) fn inline(svg: Result<String, ExportError>) -> String {
    let Ok(svg) = svg else { return String::new() };
    match (svg.find("<style>"), svg.find("</style>")) {
        (Some(from), Some(to)) => format!("{}{}", &svg[..from], &svg[to + "</style>".len()..]),
        _ => svg,
    }
}

/// A chance as a field of a hundred dots, ten in a row; those that would not fit are hollow.
pub(crate) fn dots(chance: f64) -> String {
    let full = usize::from(in_a_hundred(chance));
    let dot = |i: usize| {
        let (x, y) = (5 + 10 * (i % 10), 5 + 10 * (i / 10));
        let class = if i < full { "full" } else { "hollow" };
        format!("<circle class=\"{class}\" cx=\"{x}\" cy=\"{y}\" r=\"3.6\"/>")
    };
    let field: String = (0..100).map(dot).collect();
    format!("<svg class=\"dots\" viewBox=\"0 0 100 100\" aria-hidden=\"true\">{field}</svg>")
}

/// How far a reading stands off what the others say, as a bar; full length at six standard
/// deviations.
pub(crate) fn bar(w: f64) -> String {
    let reach = (w / 6.0).clamp(-1.0, 1.0) * 48.0;
    let (from, width) = if reach < 0.0 { (50.0 + reach, -reach) } else { (50.0, reach) };
    format!(
        "<svg class=\"bar\" viewBox=\"0 0 100 16\" aria-hidden=\"true\"><path class=\"zero\" d=\"M50 \
         0V16\"/><rect x=\"{from:.1}\" y=\"4\" width=\"{width:.1}\" height=\"8\"/></svg>"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_date_is_read_as_people_say_it() {
        assert_eq!(day("2026-12-12"), "12 December");
        assert_eq!(day("soon"), "soon");
    }
}
