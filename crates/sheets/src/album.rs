//! Pictures of one paper: drawings and codes as SVG, with the words that stand for them.

use std::collections::BTreeMap;

use export::{Drawing, Ink, write_svg};
use geometry::{Frame, Length};
use serde::Serialize;

use crate::SheetError;
use crate::codes::Code;

/// A picture as templates see it.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Picture {
    /// Its file.
    pub(crate) file: String,
    /// What it shows, for who cannot see it.
    alt: String,
    /// Its size on paper.
    width_mm: f64,
    height_mm: f64,
    /// `1:15`; absent of what has no scale.
    #[serde(skip_serializing_if = "Option::is_none")]
    scale: Option<String>,
}

/// The pictures of a paper.
#[derive(Default)]
pub(crate) struct Album {
    pub(crate) files: BTreeMap<String, Vec<u8>>,
}

impl Album {
    /// Adds a drawing at its scale, without the paper round it.
    pub(crate) fn drawing<F: Frame>(
        &mut self,
        drawing: &Drawing<F>,
        alt: &str,
    ) -> Result<Picture, SheetError> {
        let scale = drawing.caption.scale;
        let (drawn, sheet) = (drawing.drawn()?, drawing.sheet()?);
        let svg = write_svg(drawing)?;
        // Half the widest line, so that none is cut off.
        let hair = scale.real(Length::from_mm(0.5));
        let margin = (drawn.min.x() - sheet.min.x() - hair).mm();
        let size = [drawn.width() + hair * 2.0, drawn.height() + hair * 2.0];
        let [wide, high] = size.map(Length::mm);
        let body = svg.split_once('>').map_or("", |(_, body)| body);
        let body = match (body.find("<style>"), body.find("</style>")) {
            (Some(from), Some(to)) => {
                format!("{}{}", &body[..from], &body[to + "</style>".len()..])
            }
            _ => body.to_owned(),
        };
        // Words clear the lines below them in the colour of the board; paper is white.
        let [r, g, b] = Ink::Paper.light();
        let body = body.replace(&format!("#{r:02x}{g:02x}{b:02x}"), "#ffffff");
        let [paper_wide, paper_high] = size.map(|side| scale.paper(side).mm());
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{paper_wide:.4}mm\" \
             height=\"{paper_high:.4}mm\" viewBox=\"{margin:.4} {margin:.4} {wide:.4} {high:.4}\">{body}"
        );
        let picture = self.add(svg, alt, [paper_wide, paper_high]);
        Ok(Picture { scale: Some(scale.to_string()), ..picture })
    }

    /// Adds a code.
    pub(crate) fn code(&mut self, code: Code, alt: &str) -> Picture {
        self.add(code.svg, alt, [code.width.mm(), code.height.mm()])
    }

    fn add(&mut self, svg: String, alt: &str, [width_mm, height_mm]: [f64; 2]) -> Picture {
        // The same picture, such as the code of every label, is kept once.
        let known = self.files.iter().find(|(_, bytes)| **bytes == svg.as_bytes());
        let file = known.map_or_else(
            || format!("picture-{:03}.svg", self.files.len() + 1),
            |(file, _)| file.clone(),
        );
        self.files.insert(file.clone(), svg.into_bytes());
        Picture { file, alt: alt.to_owned(), width_mm, height_mm, scale: None }
    }
}
