//! How papers look: templates that a workshop may put its own beside.

use std::collections::BTreeMap;

/// The templates in this crate, by file name.
pub const TEMPLATES: [(&str, &str); 10] = [
    ("look.typ", include_str!("../templates/look.typ")),
    ("measuring.typ", include_str!("../templates/measuring.typ")),
    ("questions.typ", include_str!("../templates/questions.typ")),
    ("cutting.typ", include_str!("../templates/cutting.typ")),
    ("sewing.typ", include_str!("../templates/sewing.typ")),
    ("magnets.typ", include_str!("../templates/magnets.typ")),
    ("packing.typ", include_str!("../templates/packing.typ")),
    ("fitting.typ", include_str!("../templates/fitting.typ")),
    ("summary.typ", include_str!("../templates/summary.typ")),
    ("labels.typ", include_str!("../templates/labels.typ")),
];

/// Files that papers are set with: a workshop's own before ours.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Style {
    files: BTreeMap<String, Vec<u8>>,
}

impl Style {
    /// Our templates, save where `files` has one of the same name; whatever else is in it (a picture, a
    /// further template) can be used by them. Names are plain file names.
    #[must_use]
    pub fn with(files: BTreeMap<String, Vec<u8>>) -> Self {
        Self { files }
    }

    /// The file of that name.
    pub(crate) fn file(&self, name: &str) -> Option<&[u8]> {
        let ours =
            || TEMPLATES.iter().find(|(ours, _)| *ours == name).map(|(_, text)| text.as_bytes());
        self.files.get(name).map(Vec::as_slice).or_else(ours)
    }
}
