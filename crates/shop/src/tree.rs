//! Files as one tree of values that know where they stand, whether written in TOML or JSON.

use std::collections::{BTreeSet, HashSet};

use jsonc_parser::ast::{self, ObjectPropName};
use jsonc_parser::{CollectOptions, ParseOptions, parse_to_ast};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::fault::{ENOUGH, Faults, FileFault};
use crate::fields::Fields;

/// Deepest nesting accepted in JSON; the TOML reader keeps its own limit of 80. Chosen by us: the
/// files here need five.
const DEEPEST: usize = 64;

/// A value and the byte it starts at.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    pub(crate) at: usize,
    pub(crate) value: Value,
}

#[derive(Clone, Debug)]
pub(crate) enum Value {
    Text(String),
    Number(f64),
    Truth(bool),
    List(Vec<Node>),
    /// In file order, each key once.
    Table(Vec<Entry>),
    /// A value these files have no use for, and what to call it.
    Other(&'static str),
}

impl Value {
    /// What it is, for messages.
    pub(crate) fn kind(&self) -> &'static str {
        match self {
            Self::Text(_) => "text",
            Self::Number(_) => "a number",
            Self::Truth(_) => "true or false",
            Self::List(_) => "a list",
            Self::Table(_) => "a table",
            Self::Other(kind) => kind,
        }
    }
}

#[derive(Clone, Debug)]
pub(crate) struct Entry {
    pub(crate) key: String,
    pub(crate) at: usize,
    pub(crate) node: Node,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Format {
    Toml,
    Json,
}

/// Reads a file with `read`, which notes what is wrong and gives nothing only if something is.
/// A name that ends in `.json`, or a text that starts with a brace, is JSON, any other is TOML.
pub(crate) fn read_file<T>(
    bytes: &[u8],
    file: &str,
    most_bytes: usize,
    read: impl FnOnce(Fields<'_>, &mut Faults<'_>) -> Option<T>,
) -> Result<T, FileFault> {
    let whole = |message: String| {
        let mut faults = Faults::of("");
        faults.add(0, message);
        faults.into_fault(file)
    };
    if bytes.len() > most_bytes {
        return Err(whole(format!(
            "the file is {} bytes long, more than {most_bytes}; check that it is the right file",
            bytes.len()
        )));
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let (text, broken) = match std::str::from_utf8(bytes) {
        Ok(text) => (text, text.find('\0')),
        Err(error) => {
            let sound = &bytes[..error.valid_up_to()];
            (std::str::from_utf8(sound).unwrap_or_default(), Some(sound.len()))
        }
    };
    let mut faults = Faults::of(text);
    if let Some(at) = broken {
        faults.add(at, "this is not text; save the file as plain text in UTF-8");
        return Err(faults.into_fault(file));
    }
    if text.trim().is_empty() {
        return Err(whole("the file is empty; check that it is the right file".to_owned()));
    }
    let is_json = file.to_lowercase().ends_with(".json") || text.trim_start().starts_with('{');
    let format = if is_json { Format::Json } else { Format::Toml };
    let root = match format {
        Format::Toml => from_toml(text, &mut faults),
        Format::Json => from_json(text, &mut faults),
    };
    let found = root.and_then(|entries| {
        let root = Fields::new(String::new(), 0, &entries, format);
        read(root, &mut faults)
    });
    match found {
        Some(found) if faults.is_empty() => Ok(found),
        _ => {
            assert!(!faults.is_empty(), "a file without faults gives what it holds");
            Err(faults.into_fault(file))
        }
    }
}

fn from_toml(text: &str, faults: &mut Faults<'_>) -> Option<Vec<Entry>> {
    let (table, errors) = DeTable::parse_recoverable(text);
    let mut lines = BTreeSet::new();
    for error in errors.into_iter().take(ENOUGH) {
        let at = error.span().map_or(text.len(), |span| span.start);
        // One slip of the pen upsets the rest of its line.
        let line = text.get(..at).and_then(|before| before.rfind('\n'));
        if lines.insert(line) {
            faults.add(at, toml_fault(error.message()));
        }
    }
    faults.is_empty().then(|| toml_entries(table.into_inner()))
}

fn toml_fault(message: &str) -> String {
    if message.starts_with("duplicate key") {
        return "this name is given twice; keep one".to_owned();
    }
    format!(
        "this is not TOML ({message}); put text and readings in quotes, such as \
         height.centre = \"57 3/8\""
    )
}

fn toml_entries(table: DeTable<'_>) -> Vec<Entry> {
    let mut entries: Vec<Entry> = table
        .into_iter()
        .map(|(key, value)| Entry {
            at: key.span().start,
            key: key.into_inner().into_owned(),
            node: toml_node(value),
        })
        .collect();
    entries.sort_by_key(|entry| entry.at);
    entries
}

fn toml_node(node: Spanned<DeValue<'_>>) -> Node {
    let at = node.span().start;
    let value = match node.into_inner() {
        DeValue::String(text) => Value::Text(text.into_owned()),
        DeValue::Integer(number) => match i64::from_str_radix(number.as_str(), number.radix()) {
            Ok(number) => Value::Number(number as f64),
            Err(_) => Value::Other("a number too large to be meant"),
        },
        DeValue::Float(number) => Value::Number(number.as_str().parse().unwrap_or(f64::NAN)),
        DeValue::Boolean(truth) => Value::Truth(truth),
        DeValue::Datetime(_) => Value::Other("a date or time"),
        DeValue::Array(items) => Value::List(items.into_iter().map(toml_node).collect()),
        DeValue::Table(table) => Value::Table(toml_entries(table)),
    };
    Node { at, value }
}

/// JSON as RFC 8259 has it, without the liberties its readers often allow.
const STRICT: ParseOptions = ParseOptions {
    allow_comments: false,
    allow_loose_object_property_names: false,
    allow_trailing_commas: false,
    allow_missing_commas: false,
    allow_single_quoted_strings: false,
    allow_hexadecimal_numbers: false,
    allow_unary_plus_numbers: false,
    allow_bare_decimal_point_numbers: false,
    allow_non_finite_numbers: false,
    allow_extended_string_escapes: false,
};

fn from_json(text: &str, faults: &mut Faults<'_>) -> Option<Vec<Entry>> {
    if let Some(at) = too_deep(text) {
        faults.add(at, format!("this is nested more than {DEEPEST} deep; check the brackets"));
        return None;
    }
    let parsed = match parse_to_ast(text, &CollectOptions::default(), &STRICT) {
        Ok(parsed) => parsed.value,
        Err(error) => {
            let fault = error.kind().to_string().to_lowercase();
            faults.add(
                error.range().start,
                format!("this is not JSON ({fault}); check quotes, commas and brackets here"),
            );
            return None;
        }
    };
    match parsed.map(|value| json_node(value, faults)) {
        Some(Node { value: Value::Table(entries), .. }) => Some(entries),
        Some(Node { at, value }) => {
            let message =
                format!("the file holds {}, not a table; put it in braces {{ }}", value.kind());
            faults.add(at, message);
            None
        }
        None => {
            faults.add(text.len(), "the file holds no JSON; check that it is the right file");
            None
        }
    }
}

/// Where brackets nest too deep, strings aside.
fn too_deep(text: &str) -> Option<usize> {
    let (mut depth, mut quoted, mut escaped) = (0_usize, false, false);
    text.bytes().position(|b| {
        match b {
            _ if escaped => escaped = false,
            b'\\' if quoted => escaped = true,
            b'"' => quoted = !quoted,
            b'{' | b'[' if !quoted => depth += 1,
            b'}' | b']' if !quoted => depth = depth.saturating_sub(1),
            _ => {}
        }
        depth > DEEPEST
    })
}

fn json_node(value: ast::Value<'_>, faults: &mut Faults<'_>) -> Node {
    let (at, value) = match value {
        ast::Value::StringLit(text) => (text.range.start, Value::Text(text.value.into_owned())),
        ast::Value::NumberLit(number) => {
            (number.range.start, Value::Number(number.value.parse().unwrap_or(f64::NAN)))
        }
        ast::Value::BooleanLit(truth) => (truth.range.start, Value::Truth(truth.value)),
        ast::Value::NullKeyword(null) => (null.range.start, Value::Other("null")),
        ast::Value::Array(list) => {
            let items = list.elements.into_iter().map(|item| json_node(item, faults)).collect();
            (list.range.start, Value::List(items))
        }
        ast::Value::Object(object) => {
            let mut entries = Vec::new();
            let mut seen = HashSet::new();
            for property in object.properties {
                let at = property.range.start;
                let key = match property.name {
                    ObjectPropName::String(name) => name.value.into_owned(),
                    ObjectPropName::Word(name) => name.value.to_owned(),
                };
                let node = json_node(property.value, faults);
                if seen.insert(key.clone()) {
                    entries.push(Entry { key, at, node });
                } else {
                    faults.add(at, format!("`{key}` is given twice; keep one"));
                }
            }
            (object.range.start, Value::Table(entries))
        }
    };
    Node { at, value }
}
