//! Readings as tables: CSV and XLSX, out and in.
//!
//! Going out, a cell that a spreadsheet would take for a formula gets an apostrophe before it. Coming in,
//! every cell is words as somebody typed them; a cell that a spreadsheet has turned into a date is
//! refused, since `5/8` becomes the fifth of August that way and the reading is lost.

use std::io::Cursor;

use calamine::{Data, Reader, Xlsx};
use rust_xlsxwriter::{Format, Workbook, Worksheet, XlsxError};
use shop::Order;

use crate::error::Oops;
use crate::view::capital;

/// Most lines and columns of a table that is taken in. Chosen by us: a bus has 30 panes of 20 readings.
const MOST_LINES: usize = 1000;
const MOST_COLUMNS: usize = 30;
/// Most bytes a table may unfold to: a small file can hold a vast one.
const MOST_CELL: usize = 500;

/// Lines of cells.
pub(crate) type Lines = Vec<Vec<String>>;

/// Headings of the table of readings that goes out.
const HEADINGS: [&str; 7] = ["Order", "Pane", "Side", "Reading", "Name", "As read", "Millimetres"];

/// Every reading of orders, a line each; the headings first.
pub(crate) fn readings(orders: &[Order]) -> Lines {
    let mut lines = vec![HEADINGS.map(str::to_owned).to_vec()];
    for order in orders {
        for pane in &order.panes {
            let voice = shop::voice_of(order, pane);
            for reading in &pane.readings {
                for taken in &reading.taken {
                    lines.push(vec![
                        order.reference.clone(),
                        pane.name.clone(),
                        format!("{:?}", reading.name.side).to_lowercase(),
                        capital(&voice.name(reading.name)),
                        reading.name.to_string(),
                        taken.words.clone(),
                        format!("{:.1}", taken.length.mm()),
                    ]);
                }
            }
        }
    }
    lines
}

/// A cell that no spreadsheet takes for a formula.
fn harmless(cell: &str) -> String {
    match cell.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        true => format!("'{cell}"),
        false => cell.to_owned(),
    }
}

/// Lines as CSV (RFC 4180), UTF-8.
pub(crate) fn write_csv(lines: &[Vec<String>]) -> Result<Vec<u8>, Oops> {
    let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    for line in lines {
        writer.write_record(line.iter().map(|cell| harmless(cell))).map_err(|_| Oops::Broken)?;
    }
    writer.into_inner().map_err(|_| Oops::Broken)
}

/// Lines as an XLSX workbook of one sheet, all cells text so that fractions stay as they were read.
pub(crate) fn write_xlsx(lines: &[Vec<String>]) -> Result<Vec<u8>, Oops> {
    let mut book = Workbook::new();
    // The day it is written would make the same table other bytes each time.
    let day = rust_xlsxwriter::ExcelDateTime::from_ymd(2000, 1, 1).map_err(|_| Oops::Broken)?;
    book.set_properties(&rust_xlsxwriter::DocProperties::new().set_creation_datetime(&day));
    fill(book.add_worksheet(), lines).map_err(|_| Oops::Broken)?;
    book.save_to_buffer().map_err(|_| Oops::Broken)
}

fn fill(sheet: &mut Worksheet, lines: &[Vec<String>]) -> Result<(), XlsxError> {
    let (text, bold) = (Format::new().set_num_format("@"), Format::new().set_bold());
    sheet.set_name("Readings")?.set_freeze_panes(1, 0)?;
    for (row, line) in (0_u32..).zip(lines) {
        for (column, cell) in (0_u16..).zip(line) {
            sheet.write_string_with_format(
                row,
                column,
                cell,
                if row == 0 { &bold } else { &text },
            )?;
        }
    }
    sheet.autofit();
    Ok(())
}

/// The lines of a CSV or XLSX file; which it is, its bytes say.
pub(crate) fn read(bytes: &[u8]) -> Result<Lines, Oops> {
    let lines = if bytes.starts_with(b"PK") { read_xlsx(bytes)? } else { read_csv(bytes)? };
    let lines: Lines = lines.into_iter().filter(|l| l.iter().any(|c| !c.is_empty())).collect();
    let columns = lines.iter().map(Vec::len).max().unwrap_or(0);
    match (lines.len(), columns) {
        (0 | 1, _) | (_, 0 | 1) => Err(Oops::Entered(
            "the table has no lines to take in; it needs headings, and a line for each reading"
                .to_owned(),
        )),
        (1..=MOST_LINES, 1..=MOST_COLUMNS) => Ok(lines),
        _ => Err(Oops::Entered(format!(
            "the table has {} lines and {columns} columns; at most {MOST_LINES} and {MOST_COLUMNS} are \
             taken in at once",
            lines.len()
        ))),
    }
}

fn cell(words: &str) -> String {
    let words = words.trim();
    words.strip_prefix('\'').unwrap_or(words).chars().take(MOST_CELL).collect()
}

fn read_csv(bytes: &[u8]) -> Result<Lines, Oops> {
    let text = std::str::from_utf8(bytes).map_err(|error| {
        Oops::Entered(format!(
            "byte {} of the file is no UTF-8 text; save the table as CSV (UTF-8) or XLSX",
            error.valid_up_to()
        ))
    })?;
    let text = text.trim_start_matches('\u{feff}');
    // Spreadsheets of countries with a decimal comma part cells by semicolons; pasted ones by tabs.
    let first = text.lines().next().unwrap_or_default();
    let parted = |by: char| first.matches(by).count();
    let by = [',', ';', '\t'].into_iter().max_by_key(|&by| parted(by)).unwrap_or(',');
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(u8::try_from(by).unwrap_or(b','))
        .from_reader(text.as_bytes());
    let mut lines = Vec::new();
    for record in reader.records().take(MOST_LINES + 1) {
        let record = record.map_err(|error| {
            Oops::Entered(format!("the table cannot be read ({error}); save it as CSV or XLSX"))
        })?;
        lines.push(record.iter().map(cell).collect());
    }
    Ok(lines)
}

fn read_xlsx(bytes: &[u8]) -> Result<Lines, Oops> {
    let unread = |error: &dyn std::fmt::Display| {
        Oops::Entered(format!("the workbook cannot be read ({error}); save it as XLSX or CSV"))
    };
    let mut book = Xlsx::new(Cursor::new(bytes)).map_err(|error| unread(&error))?;
    let sheet = book.worksheet_range_at(0).ok_or_else(|| unread(&"it has no sheet"))?;
    let sheet = sheet.map_err(|error| unread(&error))?;
    let mut lines = Vec::new();
    for (n, row) in sheet.rows().take(MOST_LINES + 1).enumerate() {
        let mut line = Vec::new();
        for (column, value) in row.iter().take(MOST_COLUMNS + 1).enumerate() {
            line.push(match value {
                Data::Empty => String::new(),
                Data::String(words) => cell(words),
                Data::Float(number) => number.to_string(),
                Data::Int(number) => number.to_string(),
                Data::Bool(_) | Data::DateTime(_) | Data::DateTimeIso(_) | Data::DurationIso(_) => {
                    let column = char::from(b'A' + u8::try_from(column % 26).unwrap_or(0));
                    return Err(Oops::Entered(format!(
                        "cell {column}{} is a date, not a length: the spreadsheet turned a fraction into one. \
                         Set the column to text, type the reading again, and save",
                        n + 1
                    )));
                }
                Data::Error(error) => cell(&error.to_string()),
            });
        }
        lines.push(line);
    }
    Ok(lines)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines() -> Lines {
        let (name, text) = shop::demo::ORDERS[0];
        readings(&[shop::read_order(text.as_bytes(), name).expect("an order")])
    }

    #[test]
    fn what_is_written_is_read_back() {
        let lines = lines();
        assert!(lines.len() > 10 && lines.iter().flatten().any(|cell| cell.contains("1/8")));
        assert_eq!(read(&write_csv(&lines).expect("written")).expect("read"), lines);
        assert_eq!(read(&write_xlsx(&lines).expect("written")).expect("read"), lines);
    }

    #[test]
    fn a_cell_is_never_a_formula() {
        let nasty =
            vec![vec!["=cmd()".to_owned(), "@x".to_owned(), "-1".to_owned(), "a".to_owned()]];
        let text = String::from_utf8(write_csv(&nasty).expect("written")).expect("text");
        assert_eq!(text, "'=cmd(),'@x,'-1,a\n");
    }

    #[test]
    fn tables_parted_by_semicolons_or_tabs_are_read() {
        for by in [";", "\t"] {
            let text = format!("Reading{by}Value\nheight{by}\"145,5\"\n");
            assert_eq!(read(text.as_bytes()).expect("read")[1], ["height", "145,5"]);
        }
    }

    #[test]
    fn a_fraction_turned_into_a_date_is_told() {
        let mut book = Workbook::new();
        let sheet = book.add_worksheet();
        let day = rust_xlsxwriter::ExcelDateTime::from_ymd(2026, 8, 5).expect("a day");
        let format = Format::new().set_num_format("d mmm");
        sheet.write_string(0, 0, "Reading").expect("written");
        sheet.write_string(0, 1, "Value").expect("written");
        sheet.write_string(1, 0, "bow").expect("written");
        sheet.write_datetime_with_format(1, 1, &day, &format).expect("written");
        let error = read(&book.save_to_buffer().expect("written")).expect_err("a date").to_string();
        assert!(error.starts_with("cell B2 is a date"), "{error}");
    }

    #[test]
    fn what_is_no_table_is_refused() {
        for bytes in [&b""[..], b"PK\x03\x04junk", b"\xff\xfe\x00", b"one line"] {
            assert!(matches!(read(bytes), Err(Oops::Entered(_))), "{bytes:?}");
        }
    }
}
