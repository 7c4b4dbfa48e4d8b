//! Label stock, named by the size of a label in millimetres.
//!
//! Margins and distances of sheets are those of the widespread sizes, from memory and checked against no
//! standard, since there is none: print one on plain paper and hold it against the stock first.

use std::fmt;
use std::str::FromStr;

use geometry::Length;

use crate::SheetError;

/// Labels on a sheet or roll.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LabelStock {
    /// Its name: the size of a label, `70x37`.
    pub name: &'static str,
    /// Width of the sheet or roll.
    pub page: [Length; 2],
    /// Left and upper margin.
    pub margin: [Length; 2],
    /// A label.
    pub label: [Length; 2],
    /// From one label to the next, right and down.
    pub pitch: [Length; 2],
    /// Labels in a row and in a column.
    pub count: [usize; 2],
}

const fn mm(value: f64) -> Length {
    Length::from_mm(value)
}

const A4: [Length; 2] = [mm(210.0), mm(297.0)];
const LETTER: [Length; 2] = [mm(215.9), mm(279.4)];

const fn sheet(
    name: &'static str,
    page: [Length; 2],
    margin: [f64; 2],
    label: [f64; 2],
    pitch: [f64; 2],
    count: [usize; 2],
) -> LabelStock {
    LabelStock {
        name,
        page,
        margin: [mm(margin[0]), mm(margin[1])],
        label: [mm(label[0]), mm(label[1])],
        pitch: [mm(pitch[0]), mm(pitch[1])],
        count,
    }
}

const fn roll(name: &'static str, label: [f64; 2]) -> LabelStock {
    sheet(name, [mm(label[0]), mm(label[1])], [0.0, 0.0], label, label, [1, 1])
}

impl LabelStock {
    /// Every size there is: sheets of A4, sheets of Letter, rolls.
    pub const ALL: [Self; 9] = [
        sheet("70x37", A4, [0.0, 0.5], [70.0, 37.0], [70.0, 37.0], [3, 8]),
        sheet("63.5x38.1", A4, [7.25, 15.15], [63.5, 38.1], [66.0, 38.1], [3, 7]),
        sheet("99.1x38.1", A4, [4.65, 15.15], [99.1, 38.1], [101.6, 38.1], [2, 7]),
        sheet("99.1x67.7", A4, [4.65, 13.1], [99.1, 67.7], [101.6, 67.7], [2, 4]),
        sheet("66.7x25.4", LETTER, [4.75, 12.7], [66.7, 25.4], [69.85, 25.4], [3, 10]),
        sheet("101.6x50.8", LETTER, [3.95, 12.7], [101.6, 50.8], [106.4, 50.8], [2, 5]),
        roll("62x29", [62.0, 29.0]),
        roll("100x50", [100.0, 50.0]),
        roll("100x150", [100.0, 150.0]),
    ];

    /// What pieces are labelled on where nothing is said.
    #[must_use]
    pub const fn usual_for_pieces() -> Self {
        Self::ALL[0]
    }

    /// What parcels are labelled on where nothing is said.
    #[must_use]
    pub const fn usual_for_parcels() -> Self {
        Self::ALL[8]
    }
}

impl fmt::Display for LabelStock {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name)
    }
}

impl FromStr for LabelStock {
    type Err = SheetError;

    fn from_str(name: &str) -> Result<Self, SheetError> {
        let found = || name.to_owned();
        Self::ALL
            .into_iter()
            .find(|stock| stock.name == name)
            .ok_or_else(|| SheetError::Stock { found: found(), known: names() })
    }
}

fn names() -> String {
    LabelStock::ALL.map(|stock| stock.name).join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_labels_of_a_sheet_lie_on_it_beside_each_other() {
        for stock in LabelStock::ALL {
            for axis in 0..2 {
                let last = stock.pitch[axis] * (stock.count[axis] - 1) as f64;
                let end = stock.margin[axis] + last + stock.label[axis];
                assert!(end.mm() <= stock.page[axis].mm() + 0.5, "{stock}");
                assert!(stock.pitch[axis] >= stock.label[axis], "{stock}");
                // The sheet is filled evenly: what is left over is about the same on both sides.
                let over = stock.page[axis] - end;
                assert!((over - stock.margin[axis]).abs().mm() < 1.0, "{stock}: {over:?}");
            }
        }
    }

    #[test]
    fn a_size_that_is_not_known_is_refused_with_those_that_are() {
        let fault = "12x34".parse::<LabelStock>().unwrap_err().to_string();
        assert!(fault.contains("70x37"), "{fault}");
    }
}
