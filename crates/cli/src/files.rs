//! Reading input files.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use shop::{Order, read_book, read_order, read_policy, starting_policy};
use survey::{GlassBook, Policy};

/// Nothing longer is read: the longest file of use, shapes, is shorter. What is longer is cut there
/// and refused by its reader.
const MOST_BYTES: u64 = 16_000_000;

/// The bytes of a file, or why they cannot be had.
pub(crate) fn bytes_of(path: &Path) -> Result<Vec<u8>, String> {
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|file| file.take(MOST_BYTES).read_to_end(&mut bytes))
        .map_err(|fault| format!("{}: {fault}; check the file's name and place", path.display()))?;
    Ok(bytes)
}

/// The folder a file is to stand in.
pub(crate) fn parent_of(path: &Path) -> &Path {
    path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// The name a file is to have.
pub(crate) fn name_of(path: &Path) -> Result<String, String> {
    let name = path.file_name().and_then(|name| name.to_str()).map(str::to_owned);
    name.ok_or_else(|| format!("{}: is no file name; name a file to write", path.display()))
}

/// An order file.
pub(crate) fn order_of(path: &Path) -> Result<Order, String> {
    read_order(&bytes_of(path)?, &path.display().to_string()).map_err(|fault| fault.to_string())
}

/// The glass book, or an empty one when none is named.
pub(crate) fn book_of(path: Option<&Path>) -> Result<GlassBook, String> {
    let Some(path) = path else { return Ok(GlassBook::default()) };
    read_book(&bytes_of(path)?, &path.display().to_string()).map_err(|fault| fault.to_string())
}

/// The workshop's policy, or what one starts with when none is named.
pub(crate) fn policy_of(path: Option<&Path>) -> Result<Policy, String> {
    let Some(path) = path else { return Ok(starting_policy()) };
    read_policy(&bytes_of(path)?, &path.display().to_string()).map_err(|fault| fault.to_string())
}
