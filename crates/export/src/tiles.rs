//! PDF: the drawing at its scale on many sheets of office paper, to be taped together.
//!
//! First a map of the sheets with a square to measure, then the sheets: rows A, B, … from the top,
//! columns 1, 2, … from the left. Each shares [`OVERLAP`] with the next. A sheet is trimmed along its
//! thin left and upper line and laid on the dashed line of the sheet before it; the crossed rings
//! that both carry on that line are whole again when it lies right. Sheets with nothing on them are
//! left out.

use geometry::{Angle, Bounds, Frame, Length, Page as PageFrame, Path, Point};

use crate::ExportError;
use crate::dimension::Dimension;
use crate::drawing::{Anchor, Drawing, Element, MARGIN, Mark, Scale, Text, TextRole, join};
use crate::lettering::{self, Weight};
use crate::pdf::{FOOT, Page, Press, fitted, foot_words};
use crate::stroke::LineKind;
use crate::view::View;

/// Paper in the workshop's printer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    A4,
    /// 8½ × 11 in (ASME Y14.1 size A).
    Letter,
}

impl Paper {
    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::Letter => "Letter",
        }
    }

    /// Width and height, upright.
    #[must_use]
    pub const fn size(self) -> [Length; 2] {
        match self {
            Self::A4 => [Length::from_mm(210.0), Length::from_mm(297.0)],
            Self::Letter => [Length::from_inches(8.5), Length::from_inches(11.0)],
        }
    }
}

/// How much of the drawing two neighbouring sheets share: room for tape. Common practice, no source.
pub const OVERLAP: Length = Length::from_mm(10.0);
/// Strip at the lower edge of each sheet that is kept for words.
const FOOT_STRIP: Length = Length::from_mm(9.0);
/// Most sheets in one file. Chosen by us: nobody tapes five hundred sheets together.
const MOST_SHEETS: usize = 500;
/// Side of the square that tells whether the printer kept the size.
const CHECK: Length = Length::from_mm(100.0);

/// How the drawing is cut into sheets. Lengths here are millimetres on paper, counted right and down
/// from the first sheet's window.
struct Grid {
    paper: [Length; 2],
    /// Part of a sheet that carries the drawing.
    window: [f64; 2],
    /// From one sheet to the next.
    step: [f64; 2],
    columns: usize,
    rows: usize,
    /// Row and column of the sheets that carry something, in reading order.
    sheets: Vec<[usize; 2]>,
    /// Where the drawing's upper left corner lies.
    corner: [f64; 2],
}

impl Grid {
    /// Sheets of this paper over areas of a drawing of this size.
    fn new(paper: [Length; 2], drawn: [f64; 2], areas: &[[f64; 4]]) -> Self {
        let margins = MARGIN.mm() * 2.0;
        let window = [paper[0].mm() - margins, paper[1].mm() - margins - FOOT_STRIP.mm()];
        let step = window.map(|side| side - OVERLAP.mm());
        let count = |i: usize| (((drawn[i] - OVERLAP.mm()) / step[i]).ceil() as usize).max(1);
        let (columns, rows) = (count(0), count(1));
        let slack = |i: usize, n: usize| (n as f64 * step[i] + OVERLAP.mm() - drawn[i]) / 2.0;
        let corner = [slack(0, columns), slack(1, rows)];
        let carries = |&[row, column]: &[usize; 2]| {
            let at = [column as f64 * step[0] - corner[0], row as f64 * step[1] - corner[1]];
            areas.iter().any(|[left, top, right, bottom]| {
                at[0] < *right
                    && at[0] + window[0] > *left
                    && at[1] < *bottom
                    && at[1] + window[1] > *top
            })
        };
        let all = (0..rows).flat_map(|row| (0..columns).map(move |column| [row, column]));
        let sheets = all.filter(carries).collect();
        Self { paper, window, step, columns, rows, sheets, corner }
    }

    fn has(&self, row: Option<usize>, column: Option<usize>) -> bool {
        row.zip(column).is_some_and(|(row, column)| self.sheets.contains(&[row, column]))
    }
}

/// The drawing as a PDF of sheets to print and tape together.
///
/// # Errors
/// [`ExportError::NothingDrawn`]; [`ExportError::TooManyTiles`] beyond 500 sheets.
pub fn write_tiles<F: Frame>(drawing: &Drawing<F>, paper: Paper) -> Result<Vec<u8>, ExportError> {
    let (caption, scale) = (&drawing.caption, drawing.caption.scale);
    let bounds = drawing.drawn()?;
    let zoom = scale.paper(Length::from_mm(1.0)).mm();
    let drawn = [scale.paper(bounds.width()).mm(), scale.paper(bounds.height()).mm()];
    let flat = View::new(&bounds, zoom, [0.0, 0.0]);
    let areas: Vec<[f64; 4]> = drawing
        .groups
        .iter()
        .filter_map(|group| group.bounds(scale))
        .map(|b| {
            let ([left, bottom], [right, top]) = (flat.place(b.min), flat.place(b.max));
            [left, top, right, bottom]
        })
        .collect();
    let [width, height] = paper.size();
    let grid = [[width, height], [height, width]]
        .map(|size| Grid::new(size, drawn, &areas))
        .into_iter()
        .min_by_key(|grid| grid.sheets.len())
        .expect("there are two ways to turn a sheet");
    if grid.sheets.len() > MOST_SHEETS {
        let (title, found) = (caption.title.clone(), grid.sheets.len());
        return Err(ExportError::TooManyTiles {
            title,
            paper: paper.name(),
            found,
            most: MOST_SHEETS,
        });
    }

    let marks: Vec<(Mark<F>, Bounds<F>)> = drawing
        .groups
        .iter()
        .flat_map(|group| group.marks(scale))
        .filter_map(|mark| mark.bounds().map(|bounds| (mark, bounds)))
        .collect();
    let pages = grid.sheets.len() + 1;
    let mut press = Press::new(&caption.title);
    press.page(paper.size(), |page| {
        draw_map(page, drawing, paper, &grid, drawn, |page, zoom_map, at| {
            let view = View::new(&bounds, zoom * zoom_map, at);
            for (mark, _) in marks.iter().filter(|(mark, _)| matches!(mark, Mark::Lines(..))) {
                page.paint(mark, &view, 0.5);
            }
        });
        let foot = [join(&[&caption.title, &caption.foot]), format!("page 1 of {pages}")];
        page.draw(&foot_words(width, MARGIN, foot));
    });
    for (n, &[row, column]) in grid.sheets.iter().enumerate() {
        let at = |i: usize, n: usize| MARGIN.mm() + grid.corner[i] - n as f64 * grid.step[i];
        let view = View::new(&bounds, zoom, [at(0, column), at(1, row)]);
        press.page(grid.paper, |page| {
            let [w, h] = grid.window;
            page.within([MARGIN.mm(), MARGIN.mm(), w, h], |page| {
                for (mark, bounds) in &marks {
                    let ([left, bottom], [right, top]) =
                        (view.place(bounds.min), view.place(bounds.max));
                    let far = MARGIN.mm() - 1.0;
                    if right > far
                        && left < w + MARGIN.mm() + 1.0
                        && bottom > far
                        && top < h + MARGIN.mm() + 1.0
                    {
                        page.paint(mark, &view, 1.0);
                    }
                }
                page.draw(&joins(&grid, row, column));
            });
            let right = join(&[&scale.to_string(), &format!("page {} of {pages}", n + 2)]);
            let left = join(&[&caption.title, &caption.foot]);
            page.draw(&sheet_foot(&grid, &label(row, column), left, right));
        });
    }
    press.finish()
}

/// Name of a sheet: its row as a letter (A … Z, AA …), its column as a number.
fn label(row: usize, column: usize) -> String {
    let mut letters = String::new();
    let mut left = row + 1;
    while left > 0 {
        letters.insert(0, char::from(b'A' + ((left - 1) % 26) as u8));
        left = (left - 1) / 26;
    }
    format!("{letters}{}", column + 1)
}

fn text(
    at: [f64; 2],
    anchor: Anchor,
    height: f64,
    words: String,
    role: TextRole,
) -> Element<PageFrame> {
    let (at, height) = (Point::from_mm(at[0], at[1]), Length::from_mm(height));
    Element::Text(Text { at, anchor, height, turn: Angle::ZERO, words, role })
}

fn line(kind: LineKind, ends: [[f64; 2]; 2]) -> Element<PageFrame> {
    Element::Line { kind, path: Path::polyline(ends.map(|[x, y]| Point::from_mm(x, y))) }
}

fn rectangle(kind: LineKind, [x, y, w, h]: [f64; 4]) -> Element<PageFrame> {
    let corners = [[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
    Element::Line { kind, path: Path::polygon(corners.map(|[x, y]| Point::from_mm(x, y))) }
}

/// Trim lines, dashed lines, rings and the names of the neighbours of one sheet.
fn joins(grid: &Grid, row: usize, column: usize) -> Vec<Element<PageFrame>> {
    let [w, h] = grid.window;
    let (left, top) = (MARGIN.mm(), grid.paper[1].mm() - MARGIN.mm());
    let (right, foot) = (left + grid.step[0], top - grid.step[1]);
    let mut drawn = Vec::new();
    let mut across = |x: f64, kind| {
        drawn.push(line(kind, [[x, top - h], [x, top]]));
        drawn.extend([0.25, 0.75].iter().flat_map(|part| ring([x, top - part * h])));
    };
    if grid.has(Some(row), column.checked_sub(1)) {
        across(left, LineKind::Trim);
    }
    if grid.has(Some(row), Some(column + 1)) {
        across(right, LineKind::Join);
    }
    let mut along = |y: f64, kind| {
        drawn.push(line(kind, [[left, y], [left + w, y]]));
        drawn.extend([0.25, 0.75].iter().flat_map(|part| ring([left + part * w, y])));
    };
    if grid.has(row.checked_sub(1), Some(column)) {
        along(top, LineKind::Trim);
    }
    if grid.has(Some(row + 1), Some(column)) {
        along(foot, LineKind::Join);
    }
    let half = OVERLAP.mm() / 2.0;
    let neighbour = |at: [f64; 2], row, column| {
        let at = [at[0], at[1] - FOOT.mm() / 2.0];
        grid.has(Some(row), Some(column))
            .then(|| text(at, Anchor::Middle, FOOT.mm(), label(row, column), TextRole::Dimension))
    };
    drawn.extend(neighbour([right + half, top - h / 2.0], row, column + 1));
    drawn.extend(neighbour([left + w / 2.0, foot - half], row + 1, column));
    drawn
}

/// A crossed ring.
fn ring([x, y]: [f64; 2]) -> Vec<Element<PageFrame>> {
    const RADIUS: f64 = 3.0;
    const ARM: f64 = 4.5;
    vec![
        Element::Line {
            kind: LineKind::Trim,
            path: Path::circle(Point::from_mm(x, y), Length::from_mm(RADIUS)),
        },
        line(LineKind::Trim, [[x - ARM, y], [x + ARM, y]]),
        line(LineKind::Trim, [[x, y - ARM], [x, y + ARM]]),
    ]
}

/// The sheet's name, large, then the title; at the right scale and page.
fn sheet_foot(grid: &Grid, name: &str, left: String, right: String) -> Vec<Element<PageFrame>> {
    const NAME: f64 = 4.0;
    let base_line = MARGIN.mm();
    let name_width = lettering::width(name, Weight::Bold, Length::from_mm(NAME)).mm() + NAME;
    let at = [MARGIN.mm(), base_line];
    let mut words = vec![text(at, Anchor::Start, NAME, name.to_owned(), TextRole::Name)];
    let right_width = lettering::width(&right, Weight::Regular, FOOT) + FOOT * 3.0;
    let room = grid.paper[0] - MARGIN * 2.0 - Length::from_mm(name_width) - right_width;
    let (start, end) = (MARGIN.mm() + name_width, grid.paper[0].mm() - MARGIN.mm());
    let left = fitted(&left, FOOT, room);
    words.push(text([start, base_line], Anchor::Start, FOOT.mm(), left, TextRole::Quiet));
    words.push(text([end, base_line], Anchor::End, FOOT.mm(), right, TextRole::Quiet));
    words
}

/// The first page: title, map of the sheets, check square, what to do. `overview` draws the drawing
/// at a zoom with its corner at a place on the page (right and down).
fn draw_map<F: Frame>(
    page: &mut Page<'_, '_>,
    drawing: &Drawing<F>,
    paper: Paper,
    grid: &Grid,
    drawn: [f64; 2],
    overview: impl FnOnce(&mut Page<'_, '_>, f64, [f64; 2]),
) {
    const TITLE: f64 = 5.0;
    const LEADING: f64 = 2.0;
    let [width, height] = paper.size().map(Length::mm);
    let (left, right, top) = (MARGIN.mm(), width - MARGIN.mm(), height - MARGIN.mm());
    let title =
        fitted(&drawing.caption.title, Length::from_mm(TITLE * 1.1), Length::from_mm(right - left));
    let facts = format!(
        "{} sheets of {} · {} · {:.0} × {:.0} mm on paper",
        grid.sheets.len(),
        paper.name(),
        drawing.caption.scale,
        drawn[0],
        drawn[1],
    );
    page.draw(&[
        text([left, top - TITLE], Anchor::Start, TITLE, title, TextRole::Name),
        text([left, top - TITLE - 7.0], Anchor::Start, FOOT.mm(), facts, TextRole::Quiet),
    ]);

    // The map, in what is left between the words and the check square.
    let square_foot = MARGIN.mm() + FOOT_STRIP.mm() + 4.0;
    let map_top = top - TITLE - 14.0;
    let room = [right - left, map_top - (square_foot + CHECK.mm() + 10.0)];
    let whole = [0, 1].map(|i| [grid.columns, grid.rows][i] as f64 * grid.step[i] + OVERLAP.mm());
    let zoom = (room[0] / whole[0]).min(room[1] / whole[1]);
    let map_left = left + (room[0] - whole[0] * zoom) / 2.0;
    let corner = [map_left + grid.corner[0] * zoom, height - map_top + grid.corner[1] * zoom];
    overview(page, zoom, corner);
    let cell = |n: usize, count: usize, i: usize| {
        let last = if n + 1 == count { OVERLAP.mm() } else { 0.0 };
        (n as f64 * grid.step[i] * zoom, (grid.step[i] + last) * zoom)
    };
    for &[row, column] in &grid.sheets {
        let (x, w) = cell(column, grid.columns, 0);
        let (y, h) = cell(row, grid.rows, 1);
        let (x, y) = (map_left + x, map_top - y - h);
        let size = (h.min(w) * 0.2).clamp(1.2, 4.0);
        let name = label(row, column);
        let at = [x + w / 2.0, y + (h - size) / 2.0];
        page.draw(&[
            rectangle(LineKind::Join, [x, y, w, h]),
            text(at, Anchor::Middle, size, name, TextRole::Dimension),
        ]);
    }

    // The check square.
    let side = CHECK.mm();
    let (middle, inset) = (left + side / 2.0, 16.0);
    let measure = |from: [f64; 2], to: [f64; 2]| {
        let [from, to] = [from, to].map(|[x, y]| Point::from_mm(x, y));
        Dimension {
            from,
            to,
            offset: Length::ZERO,
            words_at: 0.5,
            words: "100".to_owned(),
            kind: LineKind::Dimension,
        }
        .draw(Scale::TRUE)
    };
    page.draw(&[rectangle(LineKind::Cut, [left, square_foot, side, side])]);
    page.draw(&measure([left, square_foot + inset], [left + side, square_foot + inset]));
    page.draw(&measure([left + inset, square_foot], [left + inset, square_foot + side]));
    for (line, words) in ["measure this square:", "it must be 100 mm"].into_iter().enumerate() {
        let at = [middle + 4.0, square_foot + side * 0.6 - 7.0 * line as f64];
        page.draw(&[text(at, Anchor::Middle, 3.5, words.to_owned(), TextRole::Name)]);
    }

    // What to do, beside it.
    const STEPS: [&str; 5] = [
        "Print at 100 %, not fitted to the page.",
        "Measure the square. If it is not 100 mm each way, cut nothing: print again.",
        "Trim each sheet along the thin line at its left and at its upper edge.",
        "Lay the trimmed edge on the dashed line of the sheet before it, so that the crossed rings \
         are whole. The sheet that belongs there is named beside the line.",
        "Tape, then measure the whole once more before you cut cloth.",
    ];
    let (x, room) = (left + side + 8.0, Length::from_mm(right - left - side - 14.0));
    let mut y = square_foot + side - FOOT.mm();
    for (n, step) in STEPS.into_iter().enumerate() {
        page.draw(&[text([x, y], Anchor::Start, FOOT.mm(), format!("{}", n + 1), TextRole::Name)]);
        for words in wrapped(step, FOOT, room) {
            page.draw(&[text([x + 6.0, y], Anchor::Start, FOOT.mm(), words, TextRole::Plain)]);
            y -= FOOT.mm() * LEADING;
        }
        y -= FOOT.mm();
    }
}

/// The words in lines that fit the room.
fn wrapped(words: &str, height: Length, room: Length) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        let longer = lines.last().map(|line| format!("{line} {word}"));
        match longer.filter(|line| lettering::width(line, Weight::Regular, height) <= room) {
            Some(longer) => *lines.last_mut().expect("there is a longer line") = longer,
            None => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples;

    #[test]
    fn sheets_are_named_by_row_and_column() {
        assert_eq!(label(0, 0), "A1");
        assert_eq!(label(1, 2), "B3");
        assert_eq!(label(26, 0), "AA1");
    }

    #[test]
    fn the_sheets_cover_the_drawing_and_share_the_overlap() {
        let drawn = [2318.0, 1402.0];
        let grid = Grid::new(Paper::A4.size(), drawn, &[[0.0, 0.0, drawn[0], drawn[1]]]);
        assert_eq!(grid.sheets.len(), grid.columns * grid.rows);
        for (i, n) in [(0, grid.columns), (1, grid.rows)] {
            let covered = n as f64 * grid.step[i] + OVERLAP.mm();
            assert!(covered >= drawn[i] && covered - grid.step[i] < drawn[i]);
            assert!((grid.window[i] - grid.step[i] - OVERLAP.mm()).abs() < 1e-9);
        }
    }

    #[test]
    fn sheets_with_nothing_on_them_are_left_out() {
        let areas = [[0.0, 0.0, 100.0, 100.0], [900.0, 900.0, 1000.0, 1000.0]];
        let grid = Grid::new(Paper::A4.size(), [1000.0, 1000.0], &areas);
        assert!(grid.sheets.len() < grid.columns * grid.rows);
        assert!(
            grid.has(Some(0), Some(0)) && grid.has(Some(grid.rows - 1), Some(grid.columns - 1))
        );
        assert!(!grid.has(Some(0), None));
    }

    #[test]
    fn more_sheets_than_anybody_tapes_are_refused_with_the_way_out() {
        let drawing = samples::cut(samples::rectangle(9000.0, 5000.0));
        let message = write_tiles(&drawing, Paper::Letter).unwrap_err().to_string();
        assert!(message.contains("sheets of Letter, more than 500; export fewer"), "{message}");
    }

    #[test]
    fn the_same_drawing_gives_the_same_sheets() {
        let drawing = samples::cut(samples::rectangle(500.0, 300.0));
        let [a, b] = [(); 2].map(|()| write_tiles(&drawing, Paper::A4).unwrap());
        assert_eq!(a, b);
    }
}
