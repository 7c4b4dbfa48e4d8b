//! What keeps a drawing from becoming a file, and the way out.

use geometry::Length;
use thiserror::Error;

/// Why a drawing could not be written.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum ExportError {
    /// There is no line, tone or word to write.
    #[error("drawing `{title}` has nothing in it; add a piece or a line, then export it again")]
    NothingDrawn {
        /// Title of the drawing.
        title: String,
    },
    /// A side of the page is longer than PDF readers accept without scaling.
    #[error(
        "the page for `{title}` would be {found:.0} long, more than the {most:.0} a PDF page may \
         be; print it as tiles, or draw it at a smaller scale"
    )]
    PageTooLong {
        /// Title of the drawing.
        title: String,
        /// Longer side of the page.
        found: Length,
        /// Longest side allowed.
        most: Length,
    },
    /// More sheets of paper than anybody would tape together.
    #[error(
        "`{title}` needs {found} sheets of {paper}, more than {most}; export fewer pieces at a \
         time, or send the file to a plotter"
    )]
    TooManyTiles {
        /// Title of the drawing.
        title: String,
        /// Name of the paper.
        paper: &'static str,
        /// Sheets it would take.
        found: usize,
        /// Most sheets allowed.
        most: usize,
    },
    /// The PDF library refused the document.
    #[error("the PDF of `{title}` could not be written ({reason}); export SVG or DXF instead")]
    Pdf {
        /// Title of the drawing.
        title: String,
        /// What the library said.
        reason: String,
    },
}
