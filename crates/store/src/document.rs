//! An order as it is saved and edited: its order file as JSON, unknown keys and all.

use serde_json::{Map, Value};
use shop::{FileFault, Order, read_order};
use survey::{ReadingName, read_tape};

use crate::StoreError;

/// An order file as JSON. It always reads as an [`Order`]; edits that would spoil it are refused.
#[derive(Clone, Debug, PartialEq)]
pub struct Document(Value);

impl Document {
    /// The order file, TOML or (by its name's ending) JSON.
    ///
    /// # Errors
    /// When it is no order file; every fault is told with where it stands.
    pub fn read(bytes: &[u8], file_name: &str) -> Result<Self, StoreError> {
        read_order(bytes, file_name)?;
        let text = String::from_utf8_lossy(bytes);
        let value = match file_name.to_lowercase().ends_with(".json") {
            true => serde_json::from_str(&text).ok(),
            false => toml::from_str(&text).ok(),
        };
        let document = Self(value.expect("what reads as an order has the syntax of one"));
        document.order()?;
        Ok(document)
    }

    /// A new order with these tables of its order file.
    ///
    /// # Errors
    /// When they make no order.
    pub fn new(tables: Value) -> Result<Self, StoreError> {
        let document = Self(tables);
        document.order()?;
        Ok(document)
    }

    /// As it is saved.
    #[must_use]
    pub fn text(&self) -> String {
        self.0.to_string()
    }

    pub(crate) fn saved(text: &str) -> Result<Self, StoreError> {
        let value = serde_json::from_str(text).map_err(|e| StoreError::Damaged(e.to_string()))?;
        Ok(Self(value))
    }

    /// The order it states.
    ///
    /// # Errors
    /// When it states none.
    pub fn order(&self) -> Result<Order, FileFault> {
        read_order(self.text().as_bytes(), "order.json")
    }

    /// Puts a reading, keeping its other particulars; `None` or empty words take it out.
    ///
    /// # Errors
    /// When there is no such pane, or the words are no length.
    pub fn set_reading(
        &mut self,
        pane: &str,
        name: ReadingName,
        words: Option<&str>,
    ) -> Result<(), StoreError> {
        let order = self.order()?;
        if !order.panes.iter().any(|p| p.name == pane) {
            return Err(StoreError::Missing("pane in this order"));
        }
        let words = words.map(str::trim).filter(|words| !words.is_empty());
        if let Some(words) = words {
            read_tape(words, order.unit).map_err(|e| StoreError::Reading(e.to_string()))?;
        }
        let mut edited = self.clone();
        let spelt = name.to_string();
        let mut keys = spelt.split('.').peekable();
        let Some(mut table) = edited.pane_mut(pane) else {
            return Err(StoreError::Missing("pane in this order"));
        };
        while let Some(key) = keys.next() {
            if keys.peek().is_none() {
                put(table, key, words);
                break;
            }
            let inner = table.entry(key.to_owned()).or_insert_with(|| Value::Object(Map::new()));
            let Some(inner) = inner.as_object_mut() else {
                return Err(StoreError::Missing("table of readings"));
            };
            table = inner;
        }
        edited.order()?;
        *self = edited;
        Ok(())
    }

    fn pane_mut(&mut self, name: &str) -> Option<&mut Map<String, Value>> {
        let panes = self.0.get_mut("pane")?.as_array_mut()?;
        panes
            .iter_mut()
            .filter_map(Value::as_object_mut)
            .find(|pane| pane.get("name").and_then(Value::as_str) == Some(name))
    }
}

fn put(table: &mut Map<String, Value>, key: &str, words: Option<&str>) {
    let Some(words) = words else {
        table.remove(key);
        return;
    };
    let words = Value::String(words.to_owned());
    match table.get_mut(key) {
        Some(Value::Object(particulars)) => {
            particulars.insert("read".to_owned(), words);
        }
        _ => {
            table.insert(key.to_owned(), words);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn library() -> Document {
        let (name, text) = shop::demo::ORDERS[0];
        Document::read(text.as_bytes(), name).expect("the demo's order is one")
    }

    fn words(document: &Document, name: ReadingName) -> Option<String> {
        let order = document.order().expect("stays an order");
        let reading = order.panes[0].readings.iter().find(|r| r.name == name)?;
        Some(reading.taken[0].words.clone())
    }

    #[test]
    fn a_reading_is_put_changed_and_taken_out() {
        let mut document = library();
        let name: ReadingName = "outside.height.right".parse().expect("a name");
        for put in [Some("53 1/8"), Some("1349 mm"), None] {
            document.set_reading("front", name, put).expect("a length");
            assert_eq!(words(&document, name).as_deref(), put);
        }
    }

    #[test]
    fn words_that_are_no_length_change_nothing() {
        let mut document = library();
        let before = document.clone();
        let name: ReadingName = "outside.height.right".parse().expect("a name");
        let error = document.set_reading("front", name, Some("about so")).expect_err("no length");
        assert!(matches!(error, StoreError::Reading(_)), "{error}");
        assert_eq!(document, before);
    }

    #[test]
    fn a_reading_s_other_particulars_stay() {
        let mut document = library();
        let name: ReadingName = "outside.height.left".parse().expect("a name");
        let pane = document.pane_mut("front").expect("the pane");
        pane["outside"]["height"]["left"] =
            serde_json::json!({ "read": "53 5/8", "in_from_side": "10" });
        document.set_reading("front", name, Some("53 1/2")).expect("a length");
        let order = document.order().expect("stays an order");
        let reading = order.panes[0].readings.iter().find(|r| r.name == name).expect("it is there");
        assert_eq!(reading.taken[0].words, "53 1/2");
        assert!(reading.place.is_some());
    }
}
