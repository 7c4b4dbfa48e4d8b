//! What is wrong with a file, and where.

use std::fmt;

/// Most faults reported of one file. Chosen by us: nobody reads a longer list before the next try.
const MOST: usize = 20;

/// Most faults looked into, so that a large file of junk is refused quickly. Chosen by us.
pub(crate) const ENOUGH: usize = 200;

/// One thing wrong in a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What was found, what is needed, and the way out; a field stands in backticks.
    pub message: String,
}

/// Why a file cannot be used: every fault found, in the order they stand in it.
///
/// Shown as one line for each, `file:line:column: message`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileFault {
    /// The file's name, as the caller gave it.
    pub file: String,
    /// The faults, at least one.
    pub faults: Vec<Fault>,
    /// How many more were found; of very many, not all are looked for.
    pub n_more: usize,
}

impl fmt::Display for FileFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, Fault { line, column, message }) in self.faults.iter().enumerate() {
            let end = if i == 0 { "" } else { "\n" };
            write!(f, "{end}{}:{line}:{column}: {message}", self.file)?;
        }
        match self.n_more {
            0 => Ok(()),
            n => write!(f, "\n{}: {n} more faults are not shown; mend these first", self.file),
        }
    }
}

impl std::error::Error for FileFault {}

/// Faults being gathered while a file is read.
pub(crate) struct Faults<'s> {
    text: &'s str,
    found: Vec<(usize, String)>,
    n_unheard: usize,
}

impl<'s> Faults<'s> {
    pub(crate) fn of(text: &'s str) -> Self {
        Self { text, found: Vec::new(), n_unheard: 0 }
    }

    /// Notes a fault at that byte of the text.
    pub(crate) fn add(&mut self, at: usize, message: impl Into<String>) {
        if self.are_enough() {
            self.n_unheard += 1;
        } else {
            self.found.push((at, message.into()));
        }
    }

    /// Whether there are so many that looking for more helps nobody.
    pub(crate) fn are_enough(&self) -> bool {
        self.found.len() >= ENOUGH
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.found.is_empty()
    }

    pub(crate) fn into_fault(mut self, file: &str) -> FileFault {
        self.found.sort_by_key(|(at, _)| *at);
        let n_more = self.found.len().saturating_sub(MOST) + self.n_unheard;
        let text = self.text;
        let located = |(at, message): (usize, String)| {
            let before = &text.as_bytes()[..at.min(text.len())];
            let start = before.iter().rposition(|&b| b == b'\n').map_or(0, |i| i + 1);
            // Bytes that continue a character are not counted.
            let characters = before[start..].iter().filter(|&&b| b & 0xc0 != 0x80).count();
            Fault {
                line: before.iter().filter(|&&b| b == b'\n').count() + 1,
                column: characters + 1,
                message,
            }
        };
        let faults = self.found.into_iter().take(MOST).map(located).collect();
        FileFault { file: file.to_owned(), faults, n_more }
    }
}
