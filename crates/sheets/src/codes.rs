//! Codes that a scanner reads: QR (ISO/IEC 18004) and Code 128 (ISO/IEC 15417), drawn as SVG with the
//! quiet zones those standards ask for: 4 modules round a QR code, 10 beside a Code 128.
//!
//! Modules are whole dots of a label printer of 203 dots to the inch, so that none is blurred: 4 dots for
//! QR, 2 for Code 128 (chosen by us: 0.5 and 0.25 mm are read by any hand scanner).

use std::fmt::Write;

use barcoders::sym::code128::Code128;
use geometry::Length;
use qrcode::{Color, EcLevel, QrCode};

use crate::SheetError;

/// One dot of the usual label printer.
pub(crate) const DOT: Length = Length::from_inches(1.0 / 203.0);
const QR_DOTS: f64 = 4.0;
const BAR_DOTS: f64 = 2.0;
const QR_QUIET: usize = 4;
const BAR_QUIET: usize = 10;

/// A code ready to be set: its picture and how large that is.
pub(crate) struct Code {
    pub(crate) svg: String,
    pub(crate) width: Length,
    pub(crate) height: Length,
}

/// The QR code of plain ASCII words; `module` is the side of one of its squares, or that of labels.
pub(crate) fn qr(words: &str, module: Option<Length>) -> Result<Code, SheetError> {
    let refused = || SheetError::Code { words: words.to_owned(), most: MOST };
    if !words.is_ascii() || words.is_empty() || words.len() > MOST {
        return Err(refused());
    }
    let code =
        QrCode::with_error_correction_level(words.as_bytes(), EcLevel::M).map_err(|_| refused())?;
    let n = code.width();
    let dark: Vec<bool> = code.to_colors().iter().map(|c| *c == Color::Dark).collect();
    let side = n + 2 * QR_QUIET;
    let rows = dark.chunks(n).enumerate();
    let path: String = rows
        .flat_map(|(y, row)| runs(row).into_iter().map(move |run| (y + QR_QUIET, run)))
        .map(|(y, [x, long])| format!("M{} {y}h{long}v1h-{long}z", x + QR_QUIET))
        .collect();
    let size = module.unwrap_or(DOT * QR_DOTS) * side as f64;
    Ok(Code { svg: svg([side, side], &path), width: size, height: size })
}

/// Longest payload. Chosen by us: a link of that length still gives a code that a phone reads from paper.
const MOST: usize = 200;

/// The Code 128 of a release's identity, in code set B; `height` is that of its bars.
pub(crate) fn code_128(identity: &str, height: Length) -> Result<Code, SheetError> {
    let refused = || SheetError::Code { words: identity.to_owned(), most: MOST };
    // Ɓ is how the library spells code set B.
    let code = Code128::new(format!("\u{181}{identity}")).map_err(|_| refused())?;
    let bars: Vec<bool> = code.encode().iter().map(|&bar| bar == 1).collect();
    let wide = bars.len() + 2 * BAR_QUIET;
    let path = runs(&bars).into_iter().fold(String::new(), |mut path, [x, long]| {
        let _ = write!(path, "M{} 0h{long}v1h-{long}z", x + BAR_QUIET);
        path
    });
    Ok(Code { svg: svg([wide, 1], &path), width: DOT * (BAR_DOTS * wide as f64), height })
}

/// Start and length of each run of dark modules.
fn runs(dark: &[bool]) -> Vec<[usize; 2]> {
    let mut runs: Vec<[usize; 2]> = Vec::new();
    let mut before = false;
    for (at, &is_dark) in dark.iter().enumerate() {
        match runs.last_mut() {
            Some([_, long]) if is_dark && before => *long += 1,
            _ if is_dark => runs.push([at, 1]),
            _ => {}
        }
        before = is_dark;
    }
    runs
}

/// Black modules in a box of so many, without any of the paper's own colour.
fn svg([wide, high]: [usize; 2], path: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{wide}\" height=\"{high}\" \
         viewBox=\"0 0 {wide} {high}\" preserveAspectRatio=\"none\"><path fill=\"#000\" d=\"{path}\"/></svg>"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO/IEC 15417: 11 modules for the start, each character and the check, 13 for the stop.
    #[test]
    fn a_code_128_has_the_modules_of_its_characters() {
        let code = code_128("H-0142-7K3Q9X", Length::from_mm(8.0)).unwrap();
        let modules = 11 * (13 + 2) + 13 + 2 * BAR_QUIET;
        assert!((code.width.mm() - (DOT * (2.0 * modules as f64)).mm()).abs() < 1e-9);
    }

    /// ISO/IEC 18004: a version 1 code has 21 modules a side.
    #[test]
    fn an_identity_fits_the_smallest_qr_code() {
        let code = qr("H-0142-7K3Q9X", None).unwrap();
        assert!((code.width.mm() - (DOT * (4.0 * 29.0)).mm()).abs() < 1e-9);
    }

    #[test]
    fn what_no_scanner_spells_alike_is_refused() {
        assert!(qr("außen", None).is_err());
        assert!(qr(&"x".repeat(201), None).is_err());
    }

    #[test]
    fn runs_are_told_apart() {
        assert_eq!(runs(&[true, true, false, true, false, false, true]), [[0, 2], [3, 1], [6, 1]]);
    }
}
