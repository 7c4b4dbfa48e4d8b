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
    /// The drawing reaches farther than the plotter can count.
    #[error(
        "`{title}` is {found:.0} long on the plotter, which counts no farther than {most:.0}; set \
         its range to HP-GL/2 if it reads that, or plot smaller pieces, or print tiles"
    )]
    BeyondReach {
        /// Title of the drawing.
        title: String,
        /// Longer side of what would be plotted.
        found: Length,
        /// Farthest the plotter counts.
        most: Length,
    },
    /// No pen is there for anything that is drawn.
    #[error(
        "the plotter has no pen for anything on `{title}`; give a pen number to cut, draw or notch"
    )]
    NoPen {
        /// Title of the drawing.
        title: String,
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
