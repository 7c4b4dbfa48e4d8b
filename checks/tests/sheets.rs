//! Papers and labels against programs that read them.
//!
//! Sources: qpdf (Apache-2.0) for soundness; poppler (GPL, programs of Debian) for fonts, tags, words and
//! where they stand; zbarimg (LGPL, a program of Debian) for codes, from pages drawn at 203 dots to the
//! inch as label printers draw. Numbers are compared with the pieces and the plan the papers are made of,
//! to the step a bench reads (1 mm), by way of the words poppler finds. Plain language: sentences of at
//! most 30 words and 15 on average (common practice for plain English, no source taken), and no trade
//! word that the paper does not explain.

#![allow(clippy::unwrap_used)] // Helpers of tests are tests.

use std::fs;
use std::path::Path;
use std::process::Command;

use checks as _;
use export::Paper;
use geometry::Length;
use jiff::civil::date;
use lay::Effort;
use sheets::{LabelStock, Release, Sheet, SheetChoices, SheetsAsk, order_sheets, set_sheet};
use shop::demo::{GLASS_BOOK, ORDERS};
use shop::{
    GripPlace, HoldSearch, KNIFE_GAP, Made, MadeFile, Order, PiecesAnswer, lay_orders, make_order,
    read_book, read_order,
};
use survey::{GlassBook, Policy};

/// An order carried through.
struct Job {
    order: Order,
    made: Made,
    book: GlassBook,
}

impl Job {
    fn of(words: &str) -> Self {
        let order = read_order(words.as_bytes(), "order").unwrap();
        let book = read_book(GLASS_BOOK.1.as_bytes(), GLASS_BOOK.0).unwrap();
        let made = make_order(&order, &book, &Policy::starting(), &HoldSearch::QUICK).unwrap();
        Self { order, made, book }
    }

    fn with<T>(&self, choices: &SheetChoices, then: impl FnOnce(&SheetsAsk<'_>) -> T) -> T {
        let release = Release::of(&self.order, &self.made, Some(3), Some(date(2026, 11, 30)));
        let made = [(&self.order, self.made.clone())];
        let effort = Effort { seed: 1, rounds: 1, keep_going: &|| true, progress: &|_| () };
        let laid = lay_orders(&made, None, KNIFE_GAP, &effort).unwrap();
        then(&SheetsAsk {
            order: &self.order,
            made: &self.made,
            laid: &laid,
            book: &self.book,
            release: &release,
            decisions: &[],
            choices,
        })
    }

    fn sheets(&self, choices: &SheetChoices) -> Vec<MadeFile> {
        self.with(choices, |ask| order_sheets(ask).unwrap())
    }

    fn set(&self, sheet: Sheet) -> Vec<u8> {
        self.with(&choices(), |ask| set_sheet(ask, sheet, Paper::A4).unwrap())
    }
}

fn choices() -> SheetChoices {
    SheetChoices { link: Some("https://loft.example/w/8f3a".into()), ..SheetChoices::usual() }
}

fn demo() -> impl Iterator<Item = Job> {
    ORDERS.iter().map(|(_, words)| Job::of(words))
}

/// What a program prints about a file.
fn told(program: &str, before: &[&str], file: &Path, after: &[&str]) -> String {
    let output = Command::new(program)
        .args(before)
        .arg(file)
        .args(after)
        .output()
        .unwrap_or_else(|_| panic!("{program} is missing; ./check installs it"));
    assert!(output.status.success(), "{program} {}: {output:?}", file.display());
    String::from_utf8(output.stdout).unwrap()
}

fn saved(folder: &Path, name: &str, bytes: &[u8]) -> std::path::PathBuf {
    let path = folder.join(name);
    fs::write(&path, bytes).unwrap();
    path
}

/// The words of each page, with plain spaces.
fn pages(file: &Path) -> Vec<String> {
    let text = told("pdftotext", &["-layout"], file, &["-"]).replace('\u{a0}', " ");
    let mut pages: Vec<String> = text.split('\u{c}').map(str::to_owned).collect();
    pages.pop();
    pages
}

/// The words in reading order on one line.
fn run_on(file: &Path) -> String {
    told("pdftotext", &["-nopgbrk"], file, &["-"])
        .replace('\u{a0}', " ")
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

#[test]
fn every_paper_is_sound_with_its_fonts_inside_tagged_and_says_what_it_belongs_to() {
    let folder = tempfile::tempdir().unwrap();
    for job in demo() {
        let files = job.sheets(&choices());
        assert!(files.len() >= 8, "{}", files.len());
        for made in files {
            let file = saved(folder.path(), &made.name, &made.bytes);
            let checked = told("qpdf", &["--check"], &file, &[]);
            assert!(checked.contains("No syntax or stream encoding errors"), "{checked}");
            let fonts = told("pdffonts", &[], &file, &[]);
            let lines: Vec<&str> = fonts.lines().skip(2).collect();
            assert!(!lines.is_empty(), "{}: no fonts, so no words", made.name);
            for line in lines {
                // Columns: name, type, encoding, embedded, subset, to Unicode, object.
                assert!(line.contains("AtkinsonHyperlegibleNext"), "{line}");
                let flags: Vec<&str> =
                    line.split_whitespace().filter(|w| matches!(*w, "yes" | "no")).collect();
                assert_eq!(flags, ["yes", "yes", "yes"], "{}: {line}", made.name);
            }
            let info = told("pdfinfo", &[], &file, &[]);
            let tagged = info.lines().find(|line| line.starts_with("Tagged:")).unwrap();
            assert!(tagged.ends_with("yes"), "{}: {tagged}", made.name);
            let title = info.lines().find(|line| line.starts_with("Title:")).unwrap();
            assert!(title.contains(&job.order.reference), "{title}");
            let all = pages(&file);
            for (i, page) in all.iter().enumerate() {
                let about = format!("{}, page {}", made.name, i + 1);
                assert!(page.contains("release 3"), "{about}: no release");
                assert!(page.contains("30 November 2026"), "{about}: no date");
                assert!(page.contains(&job.order.reference), "{about}: no order");
                if !made.kind.contains("label") {
                    let count = format!("page {} of {}", i + 1, all.len());
                    assert!(page.contains(&count), "{about}: `{count}` is missing");
                }
                assert!(!page.contains('\u{fffd}'), "{about}: words cannot be read back");
            }
        }
    }
}

#[test]
fn the_same_order_gives_the_same_bytes() {
    let job = demo().next().unwrap();
    assert_eq!(job.sheets(&choices()), job.sheets(&choices()));
}

/// Everything zbarimg reads in a part of a page drawn at 203 dots to the inch.
fn codes(file: &Path, page: usize, [x, y, wide, high]: [f64; 4]) -> Vec<String> {
    let dots = |mm: f64| ((mm / 25.4 * 203.0).round() as i64).to_string();
    let picture = file.with_extension("label");
    let page = page.to_string();
    let arguments = [
        "-r",
        "203",
        "-gray",
        "-png",
        "-singlefile",
        "-f",
        &page,
        "-l",
        &page,
        "-x",
        &dots(x),
        "-y",
        &dots(y),
        "-W",
        &dots(wide),
        "-H",
        &dots(high),
    ];
    told("pdftoppm", &arguments, file, &[picture.to_str().unwrap()]);
    let read = told("zbarimg", &["-q"], &picture.with_extension("label.png"), &[]);
    read.lines().map(str::to_owned).collect()
}

#[test]
fn both_codes_of_every_label_are_the_identity_of_the_release() {
    let folder = tempfile::tempdir().unwrap();
    let job = demo().next().unwrap();
    let identity = job.with(&choices(), |ask| ask.release.identity());
    assert_eq!(identity, "H-0142-R3");
    for stock in LabelStock::ALL {
        let choices = SheetChoices { piece_stock: stock, parcel_stock: stock, ..choices() };
        for sheet in [Sheet::PieceLabels, Sheet::ParcelLabels] {
            let bytes = job.with(&choices, |ask| set_sheet(ask, sheet, Paper::A4).unwrap());
            let file = saved(folder.path(), &format!("{}-{stock}.pdf", sheet.name()), &bytes);
            let n: usize = match sheet {
                Sheet::PieceLabels => job.made.pieces().count(),
                _ => 1,
            };
            let [across, down] = stock.count;
            for i in 0..n {
                let (page, on_it) = (i / (across * down), i % (across * down));
                let at = |axis: usize, k: usize| {
                    (stock.margin[axis] + stock.pitch[axis] * k as f64).mm()
                };
                let part = [
                    at(0, on_it % across),
                    at(1, on_it / across),
                    stock.label[0].mm(),
                    stock.label[1].mm(),
                ];
                let mut read = codes(&file, page + 1, part);
                read.sort();
                let wanted = [format!("CODE-128:{identity}"), format!("QR-Code:{identity}")];
                assert_eq!(read, wanted, "{} {stock}, label {}", sheet.name(), i + 1);
            }
        }
    }
}

#[test]
fn the_longest_identity_still_fits_every_label() {
    let folder = tempfile::tempdir().unwrap();
    let library = ORDERS[0].1.replace("H-0142", "A reference nobody could put on a label");
    let job = Job::of(&library);
    for stock in LabelStock::ALL {
        let choices = SheetChoices { piece_stock: stock, ..choices() };
        let (bytes, identity) = job.with(&choices, |ask| {
            let release = Release::of(&job.order, &job.made, None, Some(date(2026, 11, 30)));
            let ask = SheetsAsk { release: &release, ..*ask };
            (set_sheet(&ask, Sheet::PieceLabels, Paper::A4).unwrap(), release.identity())
        });
        let file = saved(folder.path(), &format!("long-{stock}.pdf"), &bytes);
        let [x, y] = stock.margin.map(Length::mm);
        let [wide, high] = stock.label.map(Length::mm);
        let mut read = codes(&file, 1, [x, y, wide, high]);
        read.sort();
        let wanted = [format!("CODE-128:{identity}"), format!("QR-Code:{identity}")];
        assert_eq!(read, wanted, "{stock}");
    }
}

#[test]
fn the_link_of_the_measuring_sheet_is_read_from_its_code() {
    let folder = tempfile::tempdir().unwrap();
    let job = demo().next().unwrap();
    let file = saved(folder.path(), "measuring.pdf", &job.set(Sheet::Measuring));
    let read = codes(&file, 1, [0.0, 0.0, 210.0, 297.0]);
    assert_eq!(read, ["QR-Code:https://loft.example/w/8f3a"]);
}

#[test]
fn numbers_on_papers_are_those_of_pieces_and_plan() {
    let folder = tempfile::tempdir().unwrap();
    for job in demo() {
        let reference = &job.order.reference;
        let cutting = saved(folder.path(), "cutting.pdf", &job.set(Sheet::Cutting));
        let sewing = saved(folder.path(), "sewing.pdf", &job.set(Sheet::Sewing));
        let magnets = saved(folder.path(), "magnets.pdf", &job.set(Sheet::Magnets));
        let (cut, sew, held) =
            (pages(&cutting).join("\n"), pages(&sewing).join("\n"), pages(&magnets).join("\n"));
        let answer = PiecesAnswer::of(reference, &job.made);
        let mut n_hardware = 0;
        for piece in &answer.pieces {
            let size = format!("{:.0} mm × {:.0} mm", piece.width_mm, piece.height_mm);
            assert!(cut.contains(&size), "{reference} {}: {size}", piece.name);
            // Saved to a thousandth, so that a half may have been rounded either way.
            let knife = [-0.001, 0.001].map(|off| format!("{:.0} mm", piece.cut_length_mm + off));
            assert!(
                knife.iter().any(|words| cut.contains(words)),
                "{reference} {}: {knife:?}",
                piece.name
            );
            for drill in &piece.drill_points {
                n_hardware += 1;
                let name = drill.name.replacen('g', "G", 1);
                // The row of that grip ends with its place from the lower left corner of the cut.
                let ends = [drill.x_mm, drill.y_mm].map(|mm| format!("{mm:.0}"));
                let row = sew.lines().find(|line| {
                    let words: Vec<&str> = line.split_whitespace().collect();
                    line.trim_start().starts_with(&format!("{name} "))
                        && words.ends_with(&[&*ends[0], &*ends[1]])
                });
                assert!(row.is_some(), "{reference} {}: {drill:?}\n{sew}", piece.name);
            }
        }
        let n_grips: usize = job.made.panes.iter().map(|pane| pane.plan.grips.len()).sum();
        assert!(n_hardware <= n_grips);
        for pane in job.made.panes.iter().filter(|pane| pane.draft.is_some()) {
            for grip in &pane.plan.grips {
                let depth = format!("{:.0}", grip.depth.mm());
                let row = held.lines().find(|line| {
                    let mut words = line.split_whitespace();
                    words.next() == Some(&grip.number.to_string())
                        && words.any(|word| word == depth)
                });
                assert!(row.is_some(), "{reference} pair {}: {depth} in\n{held}", grip.number);
            }
        }
    }
}

/// A word and its box in points from the upper left of its page.
struct Word {
    page: usize,
    at: [f64; 4],
    text: String,
}

/// Every word with its box, and the sizes of the pages.
fn boxes(file: &Path) -> (Vec<Word>, Vec<[f64; 2]>) {
    let html = told("pdftotext", &["-bbox"], file, &["-"]);
    let number = |line: &str, name: &str| -> f64 {
        let (_, rest) = line.split_once(&format!("{name}=\"")).unwrap();
        rest.split('"').next().unwrap().parse().unwrap()
    };
    let (mut words, mut sizes) = (Vec::new(), Vec::new());
    for line in html.lines().map(str::trim) {
        if line.starts_with("<page") {
            sizes.push([number(line, "width"), number(line, "height")]);
        } else if line.starts_with("<word") {
            let at = ["xMin", "yMin", "xMax", "yMax"].map(|name| number(line, name));
            let text = line.split('>').nth(1).unwrap().split('<').next().unwrap().to_owned();
            words.push(Word { page: sizes.len(), at, text });
        }
    }
    (words, sizes)
}

/// Words beyond the margins, and words that lie on one another.
fn overflows(file: &Path, margin_mm: f64) -> Vec<String> {
    let (words, sizes) = boxes(file);
    let margin = margin_mm / 25.4 * 72.0 - 1.0;
    let mut faults = Vec::new();
    for word in &words {
        let [wide, high] = sizes[word.page - 1];
        let [x0, y0, x1, y1] = word.at;
        // A box is as high as the font, whose ink begins a quarter of that farther in.
        let ink = 0.25 * (y1 - y0);
        let (y0, y1) = (y0 + ink, y1 - ink);
        if x0 < margin || y0 < margin || x1 > wide - margin || y1 > high - margin {
            faults.push(format!("page {}: `{}` is off at {:?}", word.page, word.text, word.at));
        }
    }
    for (i, a) in words.iter().enumerate() {
        for b in words[..i].iter().filter(|b| b.page == a.page) {
            let over = |k: usize| a.at[k + 2].min(b.at[k + 2]) - a.at[k].max(b.at[k]);
            let least = |k: usize| (a.at[k + 2] - a.at[k]).min(b.at[k + 2] - b.at[k]);
            // Boxes are as high as the font, so neighbouring lines touch a little.
            if over(0) > 0.3 * least(0) && over(1) > 0.45 * least(1) {
                faults.push(format!("page {}: `{}` lies on `{}`", a.page, a.text, b.text));
            }
        }
    }
    faults
}

/// Every overflow on the papers of an order, by file.
fn overflows_of(what: &str, job: &Job, folder: &Path) -> Vec<String> {
    let mut faults = Vec::new();
    for made in job.sheets(&choices()) {
        let file = saved(folder, &made.name, &made.bytes);
        let margin = if made.kind.contains("label") { 0.5 } else { 11.5 };
        let found = overflows(&file, margin);
        faults.extend(found.iter().map(|fault| format!("{what}{}: {fault}", made.name)));
    }
    faults
}

#[test]
fn nothing_overflows_in_the_demo() {
    let folder = tempfile::tempdir().unwrap();
    let faults = demo().flat_map(|job| overflows_of("", &job, folder.path())).collect::<Vec<_>>();
    assert!(faults.is_empty(), "{faults:#?}");
}

/// Sixty letters.
const LONG: &str = "The Upper Marshwater & Fenside Community Mobile Library No 4";

#[test]
fn nothing_overflows_with_forty_pairs_long_names_and_twelve_panes() {
    assert_eq!(LONG.chars().count(), 60);
    let folder = tempfile::tempdir().unwrap();
    let (head, pane) = ORDERS[2].1.split_once("[[pane]]").unwrap();
    let (pane, tail) = pane.split_once("[cover]").unwrap();
    let panes: String = (1..=12)
        .map(|i| {
            let name = format!("\"{i:02} {}\"", &LONG[..57]);
            format!("[[pane]]{}", pane.replacen("\"galley\"", &name, 1))
        })
        .collect();
    let head = head.replace("Narrowboat Slow Heron", LONG);
    let many = Job::of(&format!("{head}{panes}[cover]{tail}"));
    assert_eq!(many.made.panes.len(), 12);
    let library = ORDERS[0]
        .1
        .replace("Mobile library 4", LONG)
        .replace("name = \"front\"", &format!("name = \"{LONG}\""));
    let mut forty = Job::of(&library);
    more_pairs(&mut forty, 40);
    for (what, job) in [("twelve panes", many), ("forty pairs", forty)] {
        let faults = overflows_of(&format!("{what}, "), &job, folder.path());
        assert!(faults.is_empty(), "{faults:#?}");
    }
}

/// Pairs all round the glass, as many as wanted, each with its mark on the panel.
fn more_pairs(job: &mut Job, n: u32) {
    let pane = &mut job.made.panes[0];
    let path = pane.judgement.outline.path();
    let first = *pane.plan.grips.first().expect("the demo's windscreen has pairs");
    let piece = &mut pane.draft.as_mut().unwrap().pieces[0];
    let mark = piece.drill_points[0].clone();
    let place = pane.hold.grips[0].clone();
    pane.plan.grips.clear();
    pane.hold.grips.clear();
    piece.drill_points.clear();
    for number in 1..=n {
        let along = path.length() * (f64::from(number) - 0.5) / f64::from(n);
        let (edge, heading) = path.at_length(along);
        let at = edge.toward(heading + geometry::Angle::from_degrees(90.0), first.depth);
        pane.plan.grips.push(hold::Grip { number, at, along, ..first });
        pane.hold.grips.push(GripPlace { number, at, ..place.clone() });
        let at = geometry::Point::new(at.x(), at.y());
        piece.drill_points.push(drafting::DrillPoint {
            at,
            name: format!("grip {number}"),
            ..mark.clone()
        });
    }
}

/// Trade words an owner does not know, and what explains one that cannot be done without.
const TRADE: [(&str, Option<&str>); 24] = [
    ("bow of", Some("stretch a string")),
    ("station", None),
    ("frit", None),
    ("sagitta", None),
    ("chord", None),
    ("grip", None),
    ("notch", None),
    ("selvedge", None),
    ("warp", None),
    ("hem", None),
    ("outline", None),
    ("reading of", None),
    ("flux", None),
    ("tesla", None),
    ("µt", None),
    ("pascal", None),
    ("newton", None),
    ("suction", None),
    ("beaufort", None),
    ("polarity", None),
    ("magnetised", None),
    ("standard deviation", None),
    ("probability", None),
    ("allowance", None),
];

#[test]
fn owners_papers_are_in_plain_language() {
    let folder = tempfile::tempdir().unwrap();
    for job in demo() {
        for sheet in [Sheet::Measuring, Sheet::Questions, Sheet::Fitting] {
            if !job.with(&choices(), |ask| ask.has(sheet)) {
                continue;
            }
            let file = saved(folder.path(), "owner.pdf", &job.set(sheet));
            let words = run_on(&file);
            let lower = words.to_lowercase();
            let about = format!("{} {}", job.order.reference, sheet.name());
            for (trade, explained) in TRADE {
                let used = lower
                    .match_indices(trade)
                    .any(|(at, _)| !lower[..at].ends_with(|c: char| c.is_alphabetic()));
                let told = explained.is_some_and(|words| lower.contains(words));
                assert!(!used || told, "{about}: `{trade}` is not explained");
            }
            let text = told("pdftotext", &["-nopgbrk"], &file, &["-"]);
            let counted = |sentence: &str| {
                let words = sentence.split_whitespace();
                words.filter(|word| word.chars().any(char::is_alphabetic)).count()
            };
            // Cells and headings end without a full stop, but stand apart.
            let sentences: Vec<usize> = text
                .split("\n\n")
                .flat_map(|part| part.split_inclusive(['.', '?', ':', '!']))
                .map(counted)
                .filter(|n| *n > 2)
                .collect();
            let longest = sentences.iter().max().unwrap();
            let mean = sentences.iter().sum::<usize>() as f64 / sentences.len() as f64;
            assert!(
                *longest <= 30 && mean <= 15.0,
                "{about}: {longest} at most, {mean:.1} on average"
            );
        }
    }
}
