//! One drawing, many formats: DXF, HP-GL/2, SVG, PDF.
//!
//! ```text
//! pieces ─┐                    ┌─ write_dxf    cutting table, plotter
//! lay    ─┼─ Drawing<Frame> ───┼─ write_hpgl   cutting table, pen plotter
//! pane   ─┘                    ├─ write_svg    screen
//!                              ├─ write_pdf    plotter paper, one page
//!                              └─ write_tiles  office paper, many sheets
//! ```
//!
//! A [`Drawing`] says what is drawn and what each line means; [`LineKind::stroke`] is the one table
//! that says how. Exporters are pure: they return bytes, know no clock, and give the same bytes for
//! the same drawing. All formats agree to 0.01 mm, and keep area and length to 1e-4.

mod chart;
mod dimension;
mod drawing;
mod dxf;
mod error;
mod hatch;
mod hpgl;
mod lettering;
mod pane;
mod pdf;
mod pieces;
#[cfg(test)]
mod samples;
mod sheet;
mod stroke;
mod svg;
mod tiles;
mod view;

pub use chart::{Axis, Chart, Curve, drawing_of_chart};
pub use dimension::{Dimension, LETTERING, upright};
pub use drawing::{Anchor, Caption, Drawing, Element, Group, Label, MARGIN, Scale, Text, TextRole};
pub use dxf::write_dxf;
pub use error::ExportError;
pub use hpgl::{Pens, Plotter, Reach, write_hpgl};
pub use lettering::FONTS;
pub use pane::{CoverInWind, PanePicture, drawing_of_pane, fit_scale, group_of_glass};
pub use pdf::{LONGEST_PAGE, write_pdf};
pub use pieces::{LaidCloth, drawing_of_lay, drawing_of_pieces, group_of_piece, with_test_square};
pub use sheet::{PieceSheet, drawing_of_sheet};
pub use stroke::{Ink, LineKind, Stroke, Tone, ToneKind};
pub use svg::write_svg;
pub use tiles::{OVERLAP, Paper, write_tiles};
