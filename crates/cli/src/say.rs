//! Speaking on a terminal: colour only there, and never when `NO_COLOR` is set (`anstream` sees to
//! both).

use std::io::{IsTerminal, Write};

use anstyle::{AnsiColor, Style};
use serde_json::Value;

/// Names and headings.
pub(crate) const STRONG: Style = Style::new().bold();
/// Doubts.
pub(crate) const DOUBT: Style = AnsiColor::Yellow.on_default();
/// What can be done next.
pub(crate) const NEXT: Style = AnsiColor::Cyan.on_default();

/// Writes a line to standard output. A reader that has gone away (`paneloft … | head`) ends the
/// program quietly.
pub(crate) fn line(words: &str) {
    if writeln!(anstream::stdout(), "{words}").is_err() {
        std::process::exit(0);
    }
}

/// Words in a style, for [`line()`].
pub(crate) fn styled(style: Style, words: &str) -> String {
    format!("{style}{words}{style:#}")
}

/// Says on standard error what is wrong.
pub(crate) fn error(message: &str) {
    let head = styled(AnsiColor::Red.on_default().bold(), "error:");
    // Nothing can be done where not even this can be said.
    let _unsaid = writeln!(anstream::stderr(), "{head} {message}");
}

/// One JSON object on one line.
pub(crate) fn json_line(value: &Value) {
    line(&value.to_string());
}

/// One JSON object to be read by people.
pub(crate) fn json_pretty(value: &Value) {
    line(&serde_json::to_string_pretty(value).expect("a value is JSON"));
}

/// A serialisable answer as a value.
pub(crate) fn to_value(answer: &impl serde::Serialize) -> Value {
    serde_json::to_value(answer).expect("an answer is JSON")
}

/// How many shapes a search has found, on one line that is written over; on a terminal alone.
pub(crate) fn progress(pane: &str, n_shapes: usize) {
    if n_shapes.is_multiple_of(5) && std::io::stderr().is_terminal() {
        // Nothing is lost where this cannot be said.
        let _unsaid = write!(anstream::stderr(), "\r{pane}: planning grips, {n_shapes} shapes");
        let _unsaid = anstream::stderr().flush();
    }
}

/// Takes away what [`progress`] wrote.
pub(crate) fn progress_done() {
    if std::io::stderr().is_terminal() {
        let _unsaid = write!(anstream::stderr(), "\r\x1b[2K");
    }
}
