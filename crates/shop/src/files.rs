//! Everything written for one order: drawings for people, files for the cutting table and the
//! printer, answers for machines, and a summary in plain words.

use std::num::NonZeroU8;

use drafting::{Draft, Piece};
use export::{
    Caption, CoverInWind, Drawing, ExportError, LaidCloth, PanePicture, Paper, Pens, PieceSheet,
    Plotter, Reach, Scale, drawing_of_lay, drawing_of_pane, drawing_of_pieces, drawing_of_sheet,
    fit_scale, with_test_square, write_dxf, write_hpgl, write_pdf, write_svg, write_tiles,
};
use geometry::{Frame, Length, Pane, Placement};
use hold::WIND_SOURCES;
use survey::{
    Doubt, Judgement, PaneReadings, ReadingName, SlipKind, Span, Verdict, Voice, typeset,
};

use crate::answer::{CheckAnswer, LayAnswer};
use crate::chain::{DraftedPane, LaidPieces, Made, graduation, voice_of};
use crate::folder::MadeFile;
use crate::held_words::held_words;
use crate::order::{Order, safe_file_name};
use crate::order_file::write_order;
use crate::pieces_file::PiecesAnswer;

/// Width of paper a pane's picture is drawn for: A4 across, less its margins.
pub(crate) const PICTURE: Length = Length::from_mm(273.0);

/// A form in which drawings are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// For cutting tables and drawing programs.
    Dxf,
    /// HP-GL/2, for plotters and cutting tables.
    Hpgl,
    /// For screens.
    Svg,
    /// One page.
    Pdf,
    /// Sheets of office paper, to be taped together.
    Tiles,
}

impl Format {
    /// Every one.
    pub const ALL: [Self; 5] = [Self::Dxf, Self::Hpgl, Self::Svg, Self::Pdf, Self::Tiles];

    /// Its name on the command line.
    #[must_use]
    pub const fn spelling(self) -> &'static str {
        match self {
            Self::Dxf => "dxf",
            Self::Hpgl => "hpgl",
            Self::Svg => "svg",
            Self::Pdf => "pdf",
            Self::Tiles => "tiles",
        }
    }
}

/// Pens of a cutting table where nobody says otherwise. Chosen by us: numbered as they work.
pub const PENS: Pens =
    Pens { draw: NonZeroU8::new(1), notch: NonZeroU8::new(2), cut: NonZeroU8::new(3) };

/// How an order's drawings are written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Forms {
    /// In which forms.
    pub formats: Vec<Format>,
    /// What HP-GL/2 files are for.
    pub plotter: Plotter,
}

impl Forms {
    /// Every form, for a plotter that reads HP-GL/2 and has [`PENS`].
    #[must_use]
    pub fn all() -> Self {
        let plotter = Plotter { pens: PENS, reach: Reach::HpGl2 };
        Self { formats: Format::ALL.to_vec(), plotter }
    }
}

/// The files of one order.
#[derive(Clone, Debug)]
pub struct OrderFiles {
    /// The files.
    pub files: Vec<MadeFile>,
    /// What a maker wants to know, in plain words.
    pub summary: String,
}

/// Writes all files of an order as bytes. `laid` is its own lay on each cloth, as far as its pieces could be
/// laid.
///
/// # Errors
/// When a drawing cannot be written in any form.
pub fn order_files(
    order: &Order,
    made: &Made,
    laid: &[LaidPieces<'_>],
    forms: &Forms,
) -> Result<OrderFiles, ExportError> {
    let mut desk = Desk {
        stem: safe_file_name(&order.reference),
        forms,
        files: Vec::new(),
        left_out: Vec::new(),
    };
    let drawn = |pane: &DraftedPane| pane.draft.as_ref().is_none_or(|d| !d.pieces.is_empty());
    for (readings, pane) in order.panes.iter().zip(&made.panes).filter(|(_, pane)| drawn(pane)) {
        let glass = picture_of_pane(order, readings, &pane.judgement, Some(pane));
        let in_wind = picture_in_wind(order, readings, pane);
        let pictures = [("glass", Some(glass)), ("in wind", in_wind)];
        for (what, drawing) in pictures.into_iter().filter_map(|(w, d)| Some((w, d?))) {
            let what = format!("{} {what}", readings.name);
            if desk.wants(Format::Svg) {
                desk.add(&what, "svg", "picture", write_svg(&drawing)?);
            }
            if desk.wants(Format::Pdf) {
                desk.add(&what, "pdf", "picture", write_pdf(&drawing)?);
            }
        }
    }
    for piece in made.pieces() {
        let caption = caption(order, &piece.name, Scale::TRUE);
        let drawing = drawing_of_pieces(std::slice::from_ref(piece), caption.clone());
        desk.at_true_size(&piece.name, &drawing)?;
        let what = format!("{} sheet", piece.name);
        let (fine, unit) = (graduation(order), order.unit);
        let drawing = drawing_of_sheet(&PieceSheet {
            piece,
            caption: &caption,
            words: &|length| typeset(length, unit, fine),
        });
        if desk.wants(Format::Svg) {
            desk.add(&what, "svg", "drawing", write_svg(&drawing)?);
        }
        if desk.wants(Format::Pdf) {
            desk.add(&what, "pdf", "drawing", write_pdf(&drawing)?);
        }
    }
    let pieces: Vec<Piece> = made.pieces().cloned().collect();
    if !pieces.is_empty() && desk.wants(Format::Dxf) {
        let drawing = drawing_of_pieces(&pieces, caption(order, "all pieces", Scale::TRUE));
        desk.add("all pieces", "dxf", "cut file", write_dxf(&drawing)?);
    }
    for (k, laid) in laid.iter().enumerate() {
        let what = match k {
            0 => "lay".to_owned(),
            _ => format!("lay {}", laid.cloth.name),
        };
        let drawing = drawing_of_laid(laid, caption(order, &what, Scale::one_to(10.0)));
        if desk.wants(Format::Svg) {
            desk.add(&what, "svg", "lay", write_svg(&drawing)?);
        }
        if desk.wants(Format::Dxf) {
            desk.add(&what, "dxf", "lay", write_dxf(&drawing)?);
        }
        desk.plot(&what, &drawing_of_laid(laid, caption(order, &what, Scale::TRUE)))?;
        desk.add(&what, "json", "lay", json(&LayAnswer::of(&laid.lay)));
    }
    let judgements: Vec<_> = made.panes.iter().map(|p| p.judgement.clone()).collect();
    desk.add(
        "check",
        "json",
        "answer",
        json(&CheckAnswer::of(&order.reference, &judgements, &made.beside)),
    );
    let pieces = PiecesAnswer::of(&order.reference, made);
    desk.add("pieces", "json", "answer", json(&pieces));
    desk.add("order", "toml", "order as read", write_order(order));
    let summary = summary(order, made, laid, &desk.left_out);
    desk.add("summary", "txt", "summary", summary.as_str());
    Ok(OrderFiles { files: desk.files, summary })
}

/// The picture of one judged pane of an order, with its grips once it is made.
#[must_use]
pub fn picture_of_pane(
    order: &Order,
    pane: &PaneReadings,
    judgement: &Judgement,
    made: Option<&DraftedPane>,
) -> Drawing<Pane> {
    drawing_of_pane(&PanePicture {
        judgement,
        pane,
        voice: &voice_of(order, pane),
        plan: made.map(|made| &made.plan),
        cautions: made.map_or(&[], |made| &made.hold.cautions),
        wind: None,
        caption: pane_caption(order, judgement, &format!("{} glass", pane.name)),
    })
}

/// The picture of a pane's cover in its rated gust; nothing where no wind is reckoned.
#[must_use]
pub fn picture_in_wind(
    order: &Order,
    pane: &PaneReadings,
    made: &DraftedPane,
) -> Option<Drawing<Pane>> {
    let hold = &made.hold;
    let (loaded, wind) = (hold.loaded.as_ref()?, hold.wind()?);
    let most = voice_of(order, pane).length(loaded.stand.shape.most_height());
    let words = format!(
        "{}: {} magnet pairs, {}. Rated, {}. So loaded it stands {most} off the glass at most.",
        pane.name,
        hold.grips.len(),
        hold.magnet.name,
        wind.gust
    );
    let poles = hold.polarity.as_ref().map_or(&[][..], |polarity| &polarity.poles);
    Some(drawing_of_pane(&PanePicture {
        judgement: &made.judgement,
        pane,
        voice: &voice_of(order, pane),
        plan: Some(&made.plan),
        cautions: &hold.cautions,
        wind: Some(CoverInWind { loaded, poles, words: &words }),
        caption: pane_caption(order, &made.judgement, &format!("{} in wind", pane.name)),
    }))
}

fn pane_caption(order: &Order, judgement: &Judgement, what: &str) -> Caption {
    let glass = judgement.outline.path().bounds().expect("an outline has corners");
    caption(order, what, fit_scale(&glass, PICTURE))
}

fn caption(order: &Order, what: &str, scale: Scale) -> Caption {
    Caption {
        title: format!("{} {what}", order.reference),
        job: order.reference.clone(),
        foot: "draft, not a release".to_owned(),
        scale,
    }
}

/// A lay as a drawing on the roll.
#[must_use]
pub fn drawing_of_laid(laid: &LaidPieces<'_>, caption: Caption) -> Drawing<geometry::Roll> {
    let placed: Vec<_> = laid
        .lay
        .places
        .iter()
        .filter_map(|place| {
            let (_, piece) = laid.pieces.iter().find(|(name, _)| *name == place.name)?;
            Some((*piece, Placement::new(place.turn, place.at)))
        })
        .collect();
    let cloth = LaidCloth {
        name: laid.cloth.name.clone(),
        width: laid.cloth.usable_width,
        length: laid.lay.length,
    };
    drawing_of_lay(&placed, &cloth, caption)
}

/// Files being gathered.
struct Desk<'a> {
    stem: String,
    forms: &'a Forms,
    files: Vec<MadeFile>,
    left_out: Vec<String>,
}

impl Desk<'_> {
    fn wants(&self, format: Format) -> bool {
        self.forms.formats.contains(&format)
    }

    /// Adds a file; two names that are the same to a disk get a number.
    fn add(&mut self, what: &str, ending: &str, kind: &'static str, bytes: impl Into<Vec<u8>>) {
        let stem = format!("{}-{}", self.stem, safe_file_name(what));
        let taken =
            |name: &String| self.files.iter().any(|f| f.name.to_lowercase() == name.to_lowercase());
        let name = std::iter::once(format!("{stem}.{ending}"))
            .chain((2..).map(|n| format!("{stem}-{n}.{ending}")))
            .find(|name| !taken(name))
            .expect("some number is free");
        self.files.push(MadeFile { name, kind, bytes: bytes.into() });
    }

    /// One piece in every form a cutter may want, all at true size.
    fn at_true_size<F: Frame>(
        &mut self,
        what: &str,
        drawing: &Drawing<F>,
    ) -> Result<(), ExportError> {
        if self.wants(Format::Dxf) {
            self.add(what, "dxf", "cut file", write_dxf(drawing)?);
        }
        self.plot(what, drawing)?;
        // Tables and plotters count in millimetres; paper and screens are measured first.
        let squared = with_test_square(drawing);
        if self.wants(Format::Svg) {
            self.add(what, "svg", "true size", write_svg(&squared)?);
        }
        if self.wants(Format::Pdf) {
            self.add_if_it_fits(what, "pdf", "true size, one page", write_pdf(&squared))?;
        }
        if self.wants(Format::Tiles) {
            for (paper, kind) in
                [(Paper::A4, "true size, A4 sheets"), (Paper::Letter, "true size, Letter sheets")]
            {
                let what = format!("{what} {}", paper.name());
                self.add_if_it_fits(&what, "pdf", kind, write_tiles(drawing, paper))?;
            }
        }
        Ok(())
    }

    /// The plot file of a drawing at true size.
    fn plot<F: Frame>(&mut self, what: &str, drawing: &Drawing<F>) -> Result<(), ExportError> {
        if !self.wants(Format::Hpgl) {
            return Ok(());
        }
        self.add_if_it_fits(what, "plt", "plot file", write_hpgl(drawing, &self.forms.plotter))
    }

    /// Adds a file, or says why it is left out when the drawing is too large for its form.
    fn add_if_it_fits(
        &mut self,
        what: &str,
        ending: &str,
        kind: &'static str,
        written: Result<Vec<u8>, ExportError>,
    ) -> Result<(), ExportError> {
        match written {
            Ok(bytes) => self.add(what, ending, kind, bytes),
            Err(
                fault @ (ExportError::PageTooLong { .. }
                | ExportError::TooManyTiles { .. }
                | ExportError::BeyondReach { .. }),
            ) => self.left_out.push(fault.to_string()),
            Err(fault) => return Err(fault),
        }
        Ok(())
    }
}

fn json(answer: &impl serde::Serialize) -> Vec<u8> {
    let mut bytes = serde_json::to_vec_pretty(answer).expect("an answer is JSON");
    bytes.push(b'\n');
    bytes
}

/// What a maker wants to know, in plain words.
fn summary(order: &Order, made: &Made, laid: &[LaidPieces<'_>], left_out: &[String]) -> String {
    let mut lines = vec![match &order.owner {
        Some(owner) => format!("{} for {owner}", order.reference),
        None => order.reference.clone(),
    }];
    for ((readings, pane), remarks) in order.panes.iter().zip(&made.panes).zip(&made.beside.remarks)
    {
        lines.push(String::new());
        let voice = voice_of(order, readings);
        lines.extend(pane_words(readings.family.spelling(), pane, &voice, remarks));
    }
    for fitting in made.beside.blades.iter().chain(&made.beside.hoods) {
        if !fitting.questions.is_empty() {
            lines.push(String::new());
            lines.push(format!("{}: ask first", fitting.name));
        }
        lines.extend(fitting.doubts.iter().map(|doubt| format!("  ! {}", doubt.message)));
        lines.extend(fitting.questions.iter().map(|asked| format!("  ? {}", asked.message)));
    }
    lines.push(String::new());
    for draft in &made.sleeves {
        lines.extend(draft.pieces.iter().map(|piece| format!("{}: ready to cut", piece.name)));
        lines.extend(draft.remarks.iter().map(|remark| format!("  {remark}")));
    }
    let hoods: Vec<&Draft> = made.hoods.iter().filter(|draft| !draft.pieces.is_empty()).collect();
    for draft in &hoods {
        lines.extend(draft.pieces.iter().map(|piece| format!("{}: ready to cut", piece.name)));
        lines.extend(draft.remarks.iter().map(|remark| format!("  {remark}")));
    }
    if !hoods.is_empty() {
        // A hood hides mirror and camera: nobody may drive with it on.
        lines.push("  Take hoods off before driving: mirrors and cameras are covered.".to_owned());
    }
    lines.extend(laid.iter().map(|LaidPieces { cloth, lay, .. }| {
        format!(
            "Cloth: {:.2} m of {}, {:.0} wide; pieces cover {:.0} % of it",
            lay.length.mm() / 1000.0,
            cloth.name,
            cloth.usable_width,
            100.0 * lay.use_
        )
    }));
    lines.push(String::new());
    lines.push("Material:".to_owned());
    lines.extend(made.materials.words().iter().map(|line| format!("  {line}")));
    if !made.assumed.is_empty() {
        lines.push(String::new());
        lines.push("Assumed, since the order does not say:".to_owned());
        lines.extend(made.assumed.iter().map(|line| format!("  {line}")));
    }
    if !left_out.is_empty() {
        lines.push(String::new());
        lines.push("Left out:".to_owned());
        lines.extend(left_out.iter().map(|line| format!("  {line}")));
    }
    if made.panes.iter().any(|pane| pane.hold.wind().is_some()) {
        lines.push(String::new());
        lines.push("Wind is an estimate for parked vehicles, reckoned from:".to_owned());
        lines.extend(WIND_SOURCES.iter().map(|source| format!("  {source}")));
    }
    if !made.cautions.is_empty() {
        lines.push(String::new());
        lines.push("Take care:".to_owned());
        lines.extend(made.cautions.iter().map(|caution| format!("  {caution}")));
    }
    lines.push(String::new());
    lines.join("\n")
}

/// A doubt, and whether the outline is cut as if it were so.
#[must_use]
pub fn doubt_words(doubt: &Doubt) -> String {
    // Readings that fit no usual slip already say what the outline is drawn from.
    let says_so = doubt.kind == SlipKind::Unexplained && doubt.readings.len() > 1;
    let cut = if doubt.corrected && !says_so { " The outline is cut as if so." } else { "" };
    format!("{}{cut}", doubt.message)
}

/// A pane's doubts, the one that matters most first: what bends the outline before what only moves a
/// border, then by how probable it is.
pub fn by_importance(judgement: &Judgement) -> impl Iterator<Item = &Doubt> {
    let mut doubts: Vec<&Doubt> = judgement.doubts.iter().collect();
    let is_depth = |doubt: &Doubt| {
        let depth = |name: &ReadingName| matches!(name.span, Span::Band(_) | Span::Blocked(_));
        doubt.readings.iter().all(depth)
    };
    doubts.sort_by(|a, b| {
        is_depth(a).cmp(&is_depth(b)).then(b.probability.total_cmp(&a.probability))
    });
    doubts.into_iter()
}

fn pane_words(family: &str, pane: &DraftedPane, voice: &Voice, remarks: &[String]) -> Vec<String> {
    let judgement = &pane.judgement;
    let verdict = match judgement.verdict {
        Verdict::Accept => "trusted",
        Verdict::Ask => "ask first",
        Verdict::Refuse => "cannot be cut from these readings",
    };
    let mut lines = vec![format!(
        "{} ({family}): {verdict}; {} in 100 such covers would fit",
        judgement.name,
        survey::in_a_hundred(judgement.chance_of_fit)
    )];
    lines.extend(by_importance(judgement).map(|doubt| format!("  ! {}", doubt_words(doubt))));
    lines.extend(judgement.questions.iter().map(|question| format!("  ? {}", question.message)));
    lines.extend(remarks.iter().map(|remark| format!("  . {remark}")));
    lines.extend(held_words(pane, voice));
    if let Some(Draft { pieces, remarks, .. }) = &pane.draft {
        let names: Vec<&str> = pieces.iter().map(|piece| piece.name.as_str()).collect();
        if !names.is_empty() {
            lines.push(format!("  pieces: {}", names.join(", ")));
        }
        lines.extend(remarks.iter().map(|remark| format!("  {remark}")));
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo::{GLASS_BOOK, ORDERS};
    use crate::{judge_order, read_book, read_order};
    use survey::{Policy, ReadingName};

    #[test]
    fn what_bends_the_outline_comes_before_what_moves_a_border() {
        let (name, words) = ORDERS[0];
        let order = read_order(words.as_bytes(), name).unwrap();
        let book = read_book(GLASS_BOOK.1.as_bytes(), GLASS_BOOK.0).unwrap();
        let mut judgement = judge_order(&order, &book, &Policy::starting()).unwrap().remove(0);
        let doubt = |name: &str, probability| Doubt {
            readings: vec![ReadingName::outside(name.parse().unwrap())],
            kind: SlipKind::Inch,
            probability,
            suggested: None,
            corrected: false,
            message: name.into(),
        };
        judgement.doubts = vec![
            doubt("band.base-centre", 0.9),
            doubt("height.left", 0.3),
            doubt("width.base", 0.4),
        ];
        let said: Vec<&str> = by_importance(&judgement).map(|d| &*d.message).collect();
        assert_eq!(said, ["width.base", "height.left", "band.base-centre"]);
    }
}
