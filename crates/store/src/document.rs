//! An order as it is saved and edited: its order file as JSON, unknown keys and all.

use std::collections::{BTreeMap, BTreeSet};

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

    /// Says something of how one pane's cover is held, as its `hold` table of the order file; `None`
    /// takes it out, so that the order's or the workshop's usual choice holds again.
    ///
    /// # Errors
    /// When there is no such pane, or what is said makes no sense.
    pub fn set_hold(
        &mut self,
        pane: &str,
        key: &str,
        value: Option<Value>,
    ) -> Result<(), StoreError> {
        self.edit(|document| {
            let table = document.pane_mut(pane)?;
            let hold = table.entry("hold").or_insert_with(|| Value::Object(Map::new()));
            let hold = hold.as_object_mut()?;
            match value {
                Some(value) => hold.insert(key.to_owned(), value),
                None => hold.remove(key),
            };
            if hold.is_empty() {
                table.remove("hold");
            }
            Some(())
        })
    }

    /// Says which corners of a pane's cover have straps, and what each is led to.
    ///
    /// # Errors
    /// When there is no such pane or corner, or nothing is called so.
    pub fn set_straps(&mut self, pane: &str, straps: &[(&str, &str)]) -> Result<(), StoreError> {
        self.edit(|document| {
            document.pane_mut(pane)?;
            let order = document.0.as_object_mut()?;
            let hold = order.entry("hold").or_insert_with(|| Value::Object(Map::new()));
            let hold = hold.as_object_mut()?;
            let kept = hold.remove("strap").and_then(|all| all.as_array().cloned());
            let others = |strap: &Value| strap.get("pane").and_then(Value::as_str) != Some(pane);
            let mut all: Vec<Value> = kept.unwrap_or_default().into_iter().filter(others).collect();
            all.extend(straps.iter().map(
                |(corner, to)| serde_json::json!({ "pane": pane, "corner": corner, "to": to }),
            ));
            if !all.is_empty() {
                hold.insert("strap".to_owned(), Value::Array(all));
            }
            if hold.is_empty() {
                order.remove("hold");
            }
            Some(())
        })
    }

    /// Edits a copy and takes it over if it is an order still.
    fn edit(&mut self, edit: impl FnOnce(&mut Self) -> Option<()>) -> Result<(), StoreError> {
        let mut edited = self.clone();
        edit(&mut edited).ok_or(StoreError::Missing("pane in this order"))?;
        edited.order()?;
        *self = edited;
        Ok(())
    }

    /// What differs in a later state of the same order, a line each: where, what it was, what it is.
    #[must_use]
    pub fn differences(&self, later: &Self) -> Vec<String> {
        let (before, after) = (leaves(&self.0), leaves(&later.0));
        let places: BTreeSet<&String> = before.keys().chain(after.keys()).collect();
        let line = |place: &String| match (before.get(place), after.get(place)) {
            (Some(old), Some(new)) if old == new => None,
            (Some(old), Some(new)) => Some(format!("{place}: {old} became {new}")),
            (Some(old), None) => Some(format!("{place}: {old} was taken out")),
            (None, Some(new)) => Some(format!("{place}: {new} is new")),
            (None, None) => None,
        };
        places.into_iter().filter_map(line).collect()
    }

    fn pane_mut(&mut self, name: &str) -> Option<&mut Map<String, Value>> {
        let panes = self.0.get_mut("pane")?.as_array_mut()?;
        panes
            .iter_mut()
            .filter_map(Value::as_object_mut)
            .find(|pane| pane.get("name").and_then(Value::as_str) == Some(name))
    }
}

/// Every value of an order with its place in words; panes, blades and hoods go by their names.
fn leaves(value: &Value) -> BTreeMap<String, String> {
    fn walk(value: &Value, place: &str, found: &mut BTreeMap<String, String>) {
        let inner = |key: &str| match place {
            "" => key.to_owned(),
            _ => format!("{place} {key}"),
        };
        match value {
            Value::Object(table) => {
                table.iter().for_each(|(key, value)| walk(value, &inner(key), found));
            }
            Value::Array(list) if list.iter().any(Value::is_object) => {
                for (n, item) in list.iter().enumerate() {
                    let name = item.get("name").and_then(Value::as_str);
                    let name = name.map_or_else(|| (n + 1).to_string(), |name| format!("`{name}`"));
                    walk(item, &inner(&name), found);
                }
            }
            Value::Array(list) => {
                let words: Vec<String> = list.iter().map(plain).collect();
                found.insert(place.to_owned(), words.join(", "));
            }
            other => {
                found.insert(place.to_owned(), plain(other));
            }
        }
    }
    let mut found = BTreeMap::new();
    walk(value, "", &mut found);
    found
}

fn plain(value: &Value) -> String {
    value.as_str().map_or_else(|| value.to_string(), str::to_owned)
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
    fn what_differs_is_told_with_its_place() {
        let before = library();
        let mut after = before.clone();
        for (name, words) in [("outside.height.right", "53 1/8"), ("outside.bow.top", "1/2")] {
            let name: ReadingName = name.parse().expect("a name");
            after.set_reading("front", name, Some(words)).expect("a length");
        }
        assert!(before.differences(&before).is_empty());
        assert_eq!(
            before.differences(&after),
            [
                "pane `front` outside bow top: 1/2 is new",
                "pane `front` outside height right: 54 1/8 became 53 1/8",
            ]
        );
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
