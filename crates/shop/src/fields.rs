//! Taking typed values out of a file's tree, noting what is wrong with each.

use std::fmt::Display;
use std::ops::RangeInclusive;

use geometry::Length;
use survey::{TapeReading, Unit, from_number, nearest, read_tape};

use crate::fault::Faults;
use crate::tree::{Entry, Format, Node, Value};

/// Longest name of anything, in characters: it becomes part of file names and labels.
pub(crate) const LONGEST_NAME: usize = 80;
/// Most items in a list of things to make. Chosen by us: ten times the largest vehicle's glass.
pub(crate) const MOST_ITEMS: usize = 200;

/// A table being read: asking for a key makes it known, and `finish` refuses the unknown ones.
pub(crate) struct Fields<'n> {
    path: String,
    at: usize,
    entries: &'n [Entry],
    known: Vec<&'static str>,
    format: Format,
}

/// A value with its full name.
pub(crate) struct Field<'n> {
    pub(crate) path: String,
    pub(crate) node: &'n Node,
    format: Format,
}

/// The least a length may be.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Least {
    AboveZero,
    Zero,
    Any,
}

impl<'n> Fields<'n> {
    pub(crate) fn new(path: String, at: usize, entries: &'n [Entry], format: Format) -> Self {
        Self { path, at, entries, known: Vec::new(), format }
    }

    /// Every value in the table, known or not, in file order.
    pub(crate) fn all(&self) -> impl Iterator<Item = (&'n Entry, Field<'n>)> {
        self.entries.iter().map(|entry| (entry, self.field(entry)))
    }

    fn field(&self, entry: &'n Entry) -> Field<'n> {
        Field { path: self.path_to(&entry.key), node: &entry.node, format: self.format }
    }

    fn path_to(&self, key: &str) -> String {
        let dot = if self.path.is_empty() { "" } else { "." };
        format!("{}{dot}{key}", self.path)
    }

    /// The value of a key, when given.
    pub(crate) fn get(&mut self, key: &'static str) -> Option<Field<'n>> {
        if !self.known.contains(&key) {
            self.known.push(key);
        }
        self.entries.iter().find(|entry| entry.key == key).map(|entry| self.field(entry))
    }

    /// The value of a key that must be given, such as `example` (without its key).
    pub(crate) fn need(
        &mut self,
        key: &'static str,
        example: &str,
        faults: &mut Faults<'_>,
    ) -> Option<Field<'n>> {
        let found = self.get(key);
        if found.is_none() {
            let line = match (self.format, example) {
                (Format::Toml, "{}") => format!("[{key}]"),
                (Format::Toml, "[{}]") => format!("[[{key}]]"),
                (Format::Toml, _) => format!("{key} = {example}"),
                (Format::Json, "{}") => format!("\"{key}\": {{ … }}"),
                (Format::Json, "[{}]") => format!("\"{key}\": [{{ … }}]"),
                (Format::Json, _) => format!("\"{key}\": {example}"),
            };
            faults.add(self.at, format!("`{}` is missing; add {line}", self.path_to(key)));
        }
        found
    }

    /// The table of a key that must be given.
    pub(crate) fn need_table(
        &mut self,
        key: &'static str,
        faults: &mut Faults<'_>,
    ) -> Option<Fields<'n>> {
        self.need(key, "{}", faults)?.table(faults)
    }

    /// The tables of a list of at most that many, none when it is not given.
    pub(crate) fn tables(
        &mut self,
        key: &'static str,
        most: usize,
        faults: &mut Faults<'_>,
    ) -> Vec<Fields<'n>> {
        let Some(field) = self.get(key) else { return Vec::new() };
        if let (Value::Table(_), Format::Toml) = (&field.node.value, self.format) {
            field.fault(faults, format!("is one table; write its heading as [[{key}]]"));
            return Vec::new();
        }
        let items = field.list(most, faults).unwrap_or_default();
        items.iter().filter_map(|item| item.table(faults)).collect()
    }

    /// Refuses every key that was not asked for.
    pub(crate) fn finish(self, faults: &mut Faults<'_>) {
        for entry in self.entries.iter().filter(|entry| !self.known.contains(&&*entry.key)) {
            if faults.are_enough() {
                break;
            }
            let near = nearest(&entry.key, self.known.iter().map(|&key| key.to_owned()));
            let way_out = match near {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("known here: {}", self.known.join(", ")),
            };
            let path = self.path_to(&shortened(&entry.key));
            faults.add(entry.at, format!("`{path}` is not known; {way_out}"));
        }
    }
}

impl<'n> Field<'n> {
    /// Notes a fault: `message` continues the field's name.
    pub(crate) fn fault(&self, faults: &mut Faults<'_>, message: impl Display) {
        faults.add(self.node.at, format!("`{}` {message}", self.path));
    }

    fn wrong(&self, faults: &mut Faults<'_>, needed: &str) {
        self.fault(faults, format!("is {}; write {needed}", self.node.value.kind()));
    }

    /// Text in quotes, whatever it says.
    pub(crate) fn text(&self, faults: &mut Faults<'_>) -> Option<&'n str> {
        match &self.node.value {
            Value::Text(text) => Some(text),
            _ => {
                self.wrong(faults, "text in quotes");
                None
            }
        }
    }

    /// A short text for people: trimmed, not empty, without control characters.
    pub(crate) fn name(&self, faults: &mut Faults<'_>) -> Option<String> {
        let name = self.text(faults)?.trim();
        let n_characters = name.chars().count();
        let message = if name.is_empty() {
            "is empty; write a name".to_owned()
        } else if n_characters > LONGEST_NAME {
            format!("is {n_characters} characters long, more than {LONGEST_NAME}; shorten it")
        } else if let Some(c) = name.chars().find(|c| c.is_control()) {
            format!("holds the control character U+{:04X}; type it again", u32::from(c))
        } else {
            return Some(name.to_owned());
        };
        self.fault(faults, message);
        None
    }

    /// One of a list of spellings.
    pub(crate) fn one_of<T: Copy + Display>(
        &self,
        all: &[T],
        faults: &mut Faults<'_>,
    ) -> Option<T> {
        let text = self.text(faults)?;
        let found = all.iter().copied().find(|item| item.to_string() == text);
        if found.is_none() {
            let way_out = match nearest(text, all.iter().map(T::to_string)) {
                Some(near) => format!("did you mean `{near}`?"),
                None => {
                    let all: Vec<String> = all.iter().map(|item| format!("`{item}`")).collect();
                    format!("write one of {}", all.join(", "))
                }
            };
            self.fault(faults, format!("is `{}`, which is not known; {way_out}", shortened(text)));
        }
        found
    }

    /// True or false.
    pub(crate) fn truth(&self, faults: &mut Faults<'_>) -> Option<bool> {
        match self.node.value {
            Value::Truth(truth) => Some(truth),
            _ => {
                self.wrong(faults, "true or false, without quotes");
                None
            }
        }
    }

    /// A number within limits.
    pub(crate) fn number(
        &self,
        limits: RangeInclusive<f64>,
        faults: &mut Faults<'_>,
    ) -> Option<f64> {
        let Value::Number(number) = self.node.value else {
            self.wrong(faults, "a number, without quotes");
            return None;
        };
        if limits.contains(&number) {
            return Some(number);
        }
        let (least, most) = limits.into_inner();
        self.fault(faults, format!("is {number}; it must be from {least} to {most}"));
        None
    }

    /// A whole number within limits.
    pub(crate) fn whole(
        &self,
        limits: RangeInclusive<i32>,
        faults: &mut Faults<'_>,
    ) -> Option<i32> {
        let limits = f64::from(*limits.start())..=f64::from(*limits.end());
        let number = self.number(limits, faults)?;
        if number.fract() != 0.0 {
            self.fault(faults, format!("is {number}; write a whole number"));
            return None;
        }
        Some(number as i32)
    }

    /// The items of a list of at most that many.
    pub(crate) fn list(&self, most: usize, faults: &mut Faults<'_>) -> Option<Vec<Field<'n>>> {
        let Value::List(items) = &self.node.value else {
            self.wrong(faults, "a list in square brackets");
            return None;
        };
        if items.len() > most {
            self.fault(faults, format!("has {} items; write at most {most}", items.len()));
            return None;
        }
        let item =
            |(i, node)| Field { path: format!("{}[{i}]", self.path), node, format: self.format };
        Some(items.iter().enumerate().map(item).collect())
    }

    /// The table it is.
    pub(crate) fn table(&self, faults: &mut Faults<'_>) -> Option<Fields<'n>> {
        match &self.node.value {
            Value::Table(entries) => {
                Some(Fields::new(self.path.clone(), self.node.at, entries, self.format))
            }
            _ => {
                self.wrong(faults, "a table of names and values");
                None
            }
        }
    }

    /// A tape reading; a bare number is in `unit`.
    pub(crate) fn reading(
        &self,
        unit: Unit,
        least: Least,
        faults: &mut Faults<'_>,
    ) -> Option<TapeReading> {
        let read = match &self.node.value {
            Value::Text(words) => read_tape(words, unit),
            Value::Number(number) => from_number(*number, unit),
            _ => {
                self.wrong(faults, "what the tape shows, such as \"52 1/4\"");
                return None;
            }
        };
        let reading = match read {
            Ok(reading) => reading,
            Err(error) => {
                self.fault(faults, format!("cannot be used: {error}"));
                return None;
            }
        };
        let (short, needed) = match least {
            Least::AboveZero => (reading.length <= Length::ZERO, "more than zero"),
            Least::Zero => (reading.length < Length::ZERO, "zero or more"),
            Least::Any => (false, ""),
        };
        if short {
            self.fault(
                faults,
                format!("is `{}`; it must be {needed}, read it again", reading.words),
            );
            return None;
        }
        Some(reading)
    }

    /// A length of no more than `most`, as [`Self::reading`] reads it.
    pub(crate) fn length(
        &self,
        unit: Unit,
        least: Least,
        most: Length,
        faults: &mut Faults<'_>,
    ) -> Option<Length> {
        let reading = self.reading(unit, least, faults)?;
        if reading.length > most {
            let message = format!(
                "is `{}`, which is {:.1}, more than {most}; write its unit, such as `7 mm`",
                reading.words, reading.length
            );
            self.fault(faults, message);
            return None;
        }
        Some(reading.length)
    }
}

/// A text short enough for a message, without control characters.
fn shortened(text: &str) -> String {
    let mut short: String = text.chars().take(40).filter(|c| !c.is_control()).collect();
    if text.chars().count() > 40 {
        short.push('…');
    }
    short
}
