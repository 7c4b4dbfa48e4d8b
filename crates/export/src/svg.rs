//! SVG: one unit is one millimetre of the real thing, arcs stay arcs.
//!
//! Every line carries its own width, dash and colour, so any reader of SVG draws it right. Where a
//! reader knows CSS variables (a browser) the colours follow the page: `--ink`, `--quiet`,
//! `--accent`, `--doubt`, `--band`, `--soft` and `--paper` if the page sets them, else our own for a
//! light or dark board. Words are escaped; nothing in a drawing can become markup.

use std::fmt::Write;

use geometry::{Angle, Frame, Length, Path};

use crate::ExportError;
use crate::drawing::{Anchor, Drawing, Mark, Scale, Text};
use crate::lettering::{CAPITALS, Weight};
use crate::stroke::Ink;
use crate::view::{Step, View, number, steps};

/// Coordinates are written to 0.0001 mm, a hundredth of what the formats must agree to.
const DECIMALS: usize = 4;
/// An arc is written in parts of at most 90°: a radius and two rounded ends fix a flatter arc well, a
/// half circle badly.
const MOST_SWEEP: Angle = Angle::from_degrees(90.0);

/// The drawing as an SVG document, which may also stand inside a page.
///
/// # Errors
/// [`ExportError::NothingDrawn`] when the drawing is empty.
pub fn write_svg<F: Frame>(drawing: &Drawing<F>) -> Result<String, ExportError> {
    let sheet = drawing.sheet()?;
    let scale = drawing.caption.scale;
    let view = View::new(&sheet, 1.0, [0.0, 0.0]);
    let n = |length: Length| number(length.mm(), DECIMALS);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"drawing\" role=\"img\" width=\"{}mm\" \
         height=\"{}mm\" viewBox=\"0 0 {} {}\">\n<title>{}</title>\n{}\n",
        n(scale.paper(sheet.width())),
        n(scale.paper(sheet.height())),
        n(sheet.width()),
        n(sheet.height()),
        escape(&drawing.caption.title),
        theme(),
    );
    for group in &drawing.groups {
        let name = escape(&group.name);
        push(
            &mut svg,
            format_args!("<g data-name=\"{name}\" fill=\"none\">\n<title>{name}</title>\n"),
        );
        for mark in group.marks(scale) {
            write_mark(&mut svg, &mark, &view, scale);
        }
        svg.push_str("</g>\n");
    }
    svg.push_str("</svg>\n");
    Ok(svg)
}

fn write_mark<F: Frame>(svg: &mut String, mark: &Mark<F>, view: &View, scale: Scale) {
    match mark {
        Mark::Lines(stroke, paths) => {
            let d: String = paths.iter().map(|path| path_data(path, view)).collect();
            let width = scale.real(stroke.width);
            let (ink, hex) = (stroke.ink.name(), hex(stroke.ink.light()));
            let (name, width_mm) = (stroke.name, number(width.mm(), DECIMALS));
            push(
                svg,
                format_args!(
                    "<path class=\"{name} s-{ink}\" stroke=\"{hex}\" stroke-width=\"{width_mm}\""
                ),
            );
            if !stroke.dash.is_empty() {
                let dash: Vec<String> =
                    stroke.dash.iter().map(|d| number(d * width.mm(), DECIMALS)).collect();
                push(svg, format_args!(" stroke-dasharray=\"{}\"", dash.join(" ")));
            }
            push(svg, format_args!(" d=\"{d}\"/>\n"));
        }
        Mark::Fill { name, ink, paths } => {
            let d: String = paths.iter().map(|path| path_data(path, view)).collect();
            let (hex, ink) = (hex(ink.light()), ink.name());
            push(
                svg,
                format_args!(
                    "<path class=\"{name} f-{ink}\" fill=\"{hex}\" fill-rule=\"evenodd\" d=\"{d}\"/>\n"
                ),
            );
        }
        Mark::Text(text) => write_text(svg, text, view),
    }
}

fn write_text<F: Frame>(svg: &mut String, text: &Text<F>, view: &View) {
    let [x, y] = view.place(text.at).map(|v| number(v, DECIMALS));
    let size = text.height.mm() / CAPITALS;
    let anchor = match text.anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    let (name, ink) = (text.role.name(), text.role.ink());
    push(
        svg,
        format_args!(
            "<text class=\"{name} f-{}\" x=\"{x}\" y=\"{y}\" fill=\"{}\" font-size=\"{}\" \
         text-anchor=\"{anchor}\" font-family=\"'Atkinson Hyperlegible Next', 'Atkinson \
         Hyperlegible', 'DejaVu Sans', sans-serif\"",
            ink.name(),
            hex(ink.light()),
            number(size, DECIMALS),
        ),
    );
    if text.role.weight() == Weight::Bold {
        svg.push_str(" font-weight=\"700\"");
    }
    if text.turn != Angle::ZERO {
        let turn = number(-text.turn.degrees(), DECIMALS);
        push(svg, format_args!(" transform=\"rotate({turn} {x} {y})\""));
    }
    if text.role.has_halo() {
        push(
            svg,
            format_args!(
                " paint-order=\"stroke\" stroke=\"{}\" stroke-width=\"{}\" stroke-linejoin=\"round\"",
                hex(Ink::Paper.light()),
                number(text.height.mm() * HALO, DECIMALS),
            ),
        );
    }
    push(svg, format_args!(">{}</text>\n", escape(&text.words)));
}

/// Width of the paper-coloured outline of dimension words, in heights of a capital; ours.
pub(crate) const HALO: f64 = 0.4;

fn path_data<F: Frame>(path: &Path<F>, view: &View) -> String {
    let mut d = String::new();
    for step in steps(path, |_| MOST_SWEEP) {
        let xy = |point| view.place(point).map(|v| number(v, DECIMALS)).join(" ");
        match step {
            Step::Start(at) => push(&mut d, format_args!("M{}", xy(at))),
            Step::Line(to) => push(&mut d, format_args!("L{}", xy(to))),
            Step::Arc { to, radius, sweep, .. } => {
                let r = number(view.size(radius), DECIMALS);
                // y turned down: what ran anticlockwise still looks so, which SVG calls sweep 0.
                let flag = u8::from(sweep < Angle::ZERO);
                push(&mut d, format_args!("A{r} {r} 0 0 {flag} {}", xy(to)));
            }
            Step::Close => d.push('Z'),
        }
    }
    d
}

/// The style that lets colours follow the page and the board.
fn theme() -> String {
    let declare = |rgb: fn(Ink) -> [u8; 3]| -> String {
        Ink::ALL
            .iter()
            .map(|&ink| format!("--d-{0}:var(--{0},{1});", ink.name(), hex(rgb(ink))))
            .collect()
    };
    let mut css = format!(
        "@supports (color:var(--x)){{svg.drawing{{{}}}@media (prefers-color-scheme:dark)\
         {{svg.drawing{{{}}}}}svg.drawing:root{{color-scheme:light dark;background:var(--d-paper)}}",
        declare(Ink::light),
        declare(Ink::dark),
    );
    for name in Ink::ALL.map(Ink::name) {
        push(
            &mut css,
            format_args!(
                ".drawing .s-{name}{{stroke:var(--d-{name})}}.drawing .f-{name}{{fill:var(--d-{name})}}"
            ),
        );
    }
    push(&mut css, format_args!(".drawing text[paint-order]{{stroke:var(--d-paper)}}}}"));
    format!("<style>{css}</style>")
}

fn hex([r, g, b]: [u8; 3]) -> String {
    format!("#{r:02X}{g:02X}{b:02X}")
}

fn push(text: &mut String, parts: std::fmt::Arguments<'_>) {
    text.write_fmt(parts).expect("writing to a string cannot fail");
}

/// Words as XML text or attribute value; characters XML 1.0 forbids become U+FFFD.
fn escape(words: &str) -> String {
    let mut safe = String::with_capacity(words.len());
    for c in words.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            '\n' | '\t' | '\r' => safe.push(' '),
            c if c.is_control() || matches!(c, '\u{FFFE}' | '\u{FFFF}') => safe.push('\u{FFFD}'),
            c => safe.push(c),
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{self, rounded};
    use proptest::prelude::*;

    /// Area and length of the first path of a class, read back from its arc commands.
    fn read_back(svg: &str, class: &str) -> (f64, f64) {
        let path =
            svg.split("<path class=\"").find(|p| p.starts_with(&format!("{class} "))).unwrap();
        let d = path.split(" d=\"").nth(1).unwrap().split('"').next().unwrap();
        let (mut area, mut length) = (0.0, 0.0);
        let (mut start, mut at) = ([0.0; 2], [0.0; 2]);
        let commands = d.replace('Z', "Z ");
        let mut add = |from: [f64; 2], to: [f64; 2], arc: Option<(f64, bool)>| {
            area += 0.5 * (from[0] * to[1] - to[0] * from[1]);
            let chord = (to[0] - from[0]).hypot(to[1] - from[1]);
            match arc {
                None => length += chord,
                Some((r, clockwise)) => {
                    let s = 2.0 * (chord / (2.0 * r)).min(1.0).asin();
                    length += r * s;
                    // Clockwise on paper is positive in a frame with y down.
                    let bit = 0.5 * r * r * (s - s.sin());
                    area += if clockwise { bit } else { -bit };
                }
            }
        };
        for command in commands.split_inclusive(['M', 'L', 'A', 'Z']).collect::<Vec<_>>().windows(2)
        {
            let letter = command[0].chars().last().unwrap();
            let v: Vec<f64> = command[1]
                .trim_end_matches(|c: char| c.is_alphabetic())
                .split_whitespace()
                .map(|v| v.parse().unwrap())
                .collect();
            match letter {
                'M' => (start, at) = ([v[0], v[1]], [v[0], v[1]]),
                'L' => {
                    add(at, [v[0], v[1]], None);
                    at = [v[0], v[1]];
                }
                'A' => {
                    add(at, [v[5], v[6]], Some((v[0], v[4] == 1.0)));
                    at = [v[5], v[6]];
                }
                _ => add(at, start, None),
            }
        }
        (area.abs(), length)
    }

    proptest! {
        #[test]
        fn what_is_read_back_has_the_same_area_and_length(outline in rounded()) {
            let svg = write_svg(&samples::cut(outline.clone())).unwrap();
            let (area, length) = read_back(&svg, "cut");
            prop_assert!((area / outline.area().mm2() - 1.0).abs() < 1e-5);
            prop_assert!((length / outline.length().mm() - 1.0).abs() < 1e-5);
        }
    }

    #[test]
    fn one_unit_is_one_millimetre() {
        let svg = write_svg(&samples::cut(samples::rectangle(1396.0, 800.0))).unwrap();
        assert!(
            svg.contains("width=\"1420mm\" height=\"824mm\" viewBox=\"0 0 1420 824\""),
            "{svg}"
        );
    }

    #[test]
    fn words_never_become_markup() {
        let mut drawing = samples::cut(samples::rectangle(100.0, 50.0));
        drawing.caption.title = "</title><script>alert(1)</script>\u{0}".into();
        drawing.groups[0].name = "\"><script>".into();
        let svg = write_svg(&drawing).unwrap();
        assert!(!svg.contains("<script") && !svg.contains('\u{0}'));
    }

    #[test]
    fn an_empty_drawing_is_refused_with_the_way_out() {
        let mut drawing = samples::cut(samples::rectangle(100.0, 50.0));
        drawing.groups.clear();
        let message = write_svg(&drawing).unwrap_err().to_string();
        assert_eq!(
            message,
            "drawing `sample` has nothing in it; add a piece or a line, then export it again"
        );
    }
}
