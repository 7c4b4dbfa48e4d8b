//! The typesetting engine's view of the world: templates, data, pictures, two fonts, and nothing else.
//!
//! No file, clock or package can be reached from a template, so that the same data give the same bytes.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World, WorldExt};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, pdf};

use crate::{SheetError, Style};

/// What the engine knows whatever is set: its library and the fonts of our drawings.
struct Ground {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
}

static GROUND: LazyLock<Ground> = LazyLock::new(|| {
    let fonts: Vec<Font> =
        export::FONTS.into_iter().flat_map(|font| Font::iter(Bytes::new(font))).collect();
    Ground {
        library: LazyHash::new(Library::default()),
        book: LazyHash::new(FontBook::from_fonts(&fonts)),
        fonts,
    }
});

/// One paper to be set.
struct Desk<'a> {
    main: Source,
    style: &'a Style,
    files: BTreeMap<&'a str, Bytes>,
}

impl Desk<'_> {
    fn bytes(&self, id: FileId) -> FileResult<Bytes> {
        let path = id.vpath().get_without_slash();
        let missing = || FileError::NotFound(path.into());
        match id.root() {
            VirtualRoot::Project => {}
            VirtualRoot::Package(_) => return Err(missing()),
        }
        let own = self.files.get(path).cloned();
        let styled = || self.style.file(path).map(|bytes| Bytes::new(bytes.to_vec()));
        own.or_else(styled).ok_or_else(missing)
    }
}

impl World for Desk<'_> {
    fn library(&self) -> &LazyHash<Library> {
        &GROUND.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &GROUND.book
    }

    fn main(&self) -> FileId {
        self.main.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.main.id() {
            return Ok(self.main.clone());
        }
        let bytes = self.bytes(id)?;
        let text = std::str::from_utf8(&bytes).map_err(|_| FileError::InvalidUtf8)?;
        Ok(Source::new(id, text.to_owned()))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        self.bytes(id)
    }

    fn font(&self, index: usize) -> Option<Font> {
        GROUND.fonts.get(index).cloned()
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        None
    }
}

/// Sets one paper: the template of that name with these data (JSON) and pictures.
pub(crate) fn typeset(
    template: &str,
    style: &Style,
    identity: &str,
    data: &[u8],
    pictures: &BTreeMap<String, Vec<u8>>,
) -> Result<Vec<u8>, SheetError> {
    let name = VirtualPath::new(template).expect("a template's name is a plain file name");
    let id = FileId::new(RootedPath::new(VirtualRoot::Project, name));
    let text = style.file(template).map(String::from_utf8_lossy).unwrap_or_default();
    let mut files: BTreeMap<&str, Bytes> =
        pictures.iter().map(|(name, svg)| (name.as_str(), Bytes::new(svg.clone()))).collect();
    files.insert("data.json", Bytes::new(data.to_vec()));
    let desk = Desk { main: Source::new(id, text.into_owned()), style, files };
    let fault = |faults: &[SourceDiagnostic]| SheetError::Template {
        template: template.to_owned(),
        fault: faults.first().map_or_else(String::new, |fault| told(fault, &desk)),
    };
    let document =
        typst::compile::<PagedDocument>(&desk).output.map_err(|faults| fault(&faults))?;
    // What is set is named by its content, so that the file holds neither a clock nor a chance.
    let options = PdfOptions {
        ident: Smart::Custom(format!("{identity} {template}")),
        creator: Smart::Custom(Some("Paneloft".to_owned())),
        ..PdfOptions::default()
    };
    pdf(&document, &options).map_err(|faults| fault(&faults))
}

/// What is wrong with a template and where.
fn told(fault: &SourceDiagnostic, desk: &Desk<'_>) -> String {
    let place = fault.span.id().and_then(|id| {
        let range = desk.range(fault.span)?;
        let line = desk.source(id).ok()?.lines().byte_to_line(range.start)? + 1;
        Some(format!("{}, line {line}: ", id.vpath().get_without_slash()))
    });
    format!("{}{}", place.unwrap_or_default(), fault.message)
}
