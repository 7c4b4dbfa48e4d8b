//! Writing a set of files into a folder without harming what is there.
//!
//! Every file is written beside its place and renamed into it, so that no half-written file ever
//! stands under a final name. A small list of what was made, with checksums, stays in the folder: a
//! file that is not on it, or was changed since, is not ours and is left alone; the whole set is
//! then refused before anything is written. Files of an earlier run for the same order that are no
//! longer made are taken away, so that an old cut file cannot be mistaken for a new one.

use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use tempfile::Builder;
use thiserror::Error;

/// A file to be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MadeFile {
    /// Its name within the folder.
    pub name: String,
    /// What it is, in a few words.
    pub kind: &'static str,
    /// What it holds.
    pub bytes: Vec<u8>,
}

/// Why a folder was not written.
#[derive(Debug, Error)]
pub enum FolderError {
    /// Files are in the way that were not made by us, or were changed since.
    #[error(
        "{} already holds {} that Paneloft did not make or that changed since: {}; move \
         {} away or choose another folder",
        .folder.display(),
        if .files.len() == 1 { "a file" } else { "files" },
        .files.join(", "),
        if .files.len() == 1 { "it" } else { "them" }
    )]
    InTheWay {
        /// The folder.
        folder: PathBuf,
        /// The files.
        files: Vec<String>,
    },
    /// The disk would not have it.
    #[error("{}: {fault}; check that the folder can be written and has room", .path.display())]
    Disk {
        /// What was being read or written.
        path: PathBuf,
        /// What the system said.
        fault: io::Error,
    },
}

/// What an earlier run made: every checksum a file may carry and still be ours.
#[derive(Debug, Default, Serialize, Deserialize)]
struct MadeList {
    files: BTreeMap<String, Vec<String>>,
}

/// Writes `files` into `folder` on behalf of `owner` (an order's safe name).
///
/// # Errors
/// When something not ours is in the way (nothing is written then), or the disk refuses.
pub fn write_folder(folder: &Path, owner: &str, files: &[MadeFile]) -> Result<(), FolderError> {
    let disk = |path: &Path| {
        let path = path.to_owned();
        move |fault| FolderError::Disk { path, fault }
    };
    fs::create_dir_all(folder).map_err(disk(folder))?;
    let list_path = folder.join(format!(".made-{owner}.json"));
    let mut list = read_list(&list_path)?;
    let mut in_the_way = Vec::new();
    for file in files {
        let path = folder.join(&file.name);
        let Some(found) = checksum_at(&path)? else { continue };
        let ours = list.files.get(&file.name).is_some_and(|known| known.contains(&found));
        if !ours && found != checksum(&file.bytes) {
            in_the_way.push(file.name.clone());
        }
    }
    if !in_the_way.is_empty() {
        return Err(FolderError::InTheWay { folder: folder.to_owned(), files: in_the_way });
    }
    // Old and new checksums stand in the list while files change, so that a run cut short leaves
    // only files we know as ours.
    let before: Vec<String> = list.files.keys().cloned().collect();
    for file in files {
        list.files.entry(file.name.clone()).or_default().push(checksum(&file.bytes));
    }
    write_list(&list_path, &list)?;
    for file in files {
        write_whole(&folder.join(&file.name), &file.bytes)?;
    }
    for name in before.iter().filter(|name| files.iter().all(|f| f.name != **name)) {
        let path = folder.join(name);
        let known = list.files.remove(name).unwrap_or_default();
        if checksum_at(&path)?.is_some_and(|found| known.contains(&found)) {
            fs::remove_file(&path).map_err(disk(&path))?;
        }
    }
    for file in files {
        list.files.insert(file.name.clone(), vec![checksum(&file.bytes)]);
    }
    write_list(&list_path, &list)
}

fn read_list(path: &Path) -> Result<MadeList, FolderError> {
    match fs::read(path) {
        // A damaged list knows nothing: then every file that differs counts as not ours.
        Ok(bytes) => Ok(serde_json::from_slice(&bytes).unwrap_or_default()),
        Err(fault) if fault.kind() == io::ErrorKind::NotFound => Ok(MadeList::default()),
        Err(fault) => Err(FolderError::Disk { path: path.to_owned(), fault }),
    }
}

fn write_list(path: &Path, list: &MadeList) -> Result<(), FolderError> {
    let bytes = serde_json::to_vec_pretty(list).expect("a map of words is JSON");
    write_whole(path, &bytes)
}

/// Writes beside and renames into place.
fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), FolderError> {
    let disk = |fault| FolderError::Disk { path: path.to_owned(), fault };
    let folder = path.parent().unwrap_or(Path::new("."));
    let mut beside =
        Builder::new().prefix(".paneloft-").suffix(".part").tempfile_in(folder).map_err(disk)?;
    beside.write_all(bytes).map_err(disk)?;
    beside.as_file().sync_all().map_err(disk)?;
    readable_by_all(beside.as_file()).map_err(disk)?;
    beside.persist(path).map(drop).map_err(|refused| disk(refused.error))
}

/// Temporary files start readable by their maker alone.
#[cfg(unix)]
fn readable_by_all(file: &fs::File) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.set_permissions(fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn readable_by_all(_file: &fs::File) -> io::Result<()> {
    Ok(())
}

fn checksum(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Checksum of a file; `None` where there is none. A folder or link in its place counts as a file
/// that is not ours.
fn checksum_at(path: &Path) -> Result<Option<String>, FolderError> {
    match fs::symlink_metadata(path) {
        Err(fault) if fault.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(fault) => Err(FolderError::Disk { path: path.to_owned(), fault }),
        Ok(found) if !found.is_file() => Ok(Some("not a plain file".to_owned())),
        Ok(_) => fs::read(path)
            .map(|bytes| Some(checksum(&bytes)))
            .map_err(|fault| FolderError::Disk { path: path.to_owned(), fault }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(name: &str, words: &str) -> MadeFile {
        MadeFile { name: name.into(), kind: "words", bytes: words.into() }
    }

    fn read(folder: &Path, name: &str) -> String {
        fs::read_to_string(folder.join(name)).unwrap()
    }

    #[test]
    fn files_of_others_are_left_alone_and_nothing_is_written() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("front.dxf"), "theirs").unwrap();
        fs::write(folder.path().join("notes.txt"), "keep").unwrap();
        let refused =
            write_folder(folder.path(), "a", &[file("new.txt", "x"), file("front.dxf", "ours")]);
        assert!(refused.unwrap_err().to_string().contains("front.dxf"));
        assert_eq!(read(folder.path(), "front.dxf"), "theirs");
        assert!(!folder.path().join("new.txt").exists());
        write_folder(folder.path(), "a", &[file("new.txt", "x")]).unwrap();
        assert_eq!(read(folder.path(), "notes.txt"), "keep");
    }

    #[test]
    fn our_own_files_are_renewed_and_old_ones_taken_away() {
        let folder = tempfile::tempdir().unwrap();
        write_folder(folder.path(), "a", &[file("one", "1"), file("two", "2")]).unwrap();
        write_folder(folder.path(), "b", &[file("other", "order")]).unwrap();
        write_folder(folder.path(), "a", &[file("one", "1, again")]).unwrap();
        assert_eq!(read(folder.path(), "one"), "1, again");
        assert!(!folder.path().join("two").exists());
        assert_eq!(read(folder.path(), "other"), "order");
    }

    #[test]
    fn a_file_changed_by_hand_is_not_overwritten_or_taken_away() {
        let folder = tempfile::tempdir().unwrap();
        write_folder(folder.path(), "a", &[file("one", "1"), file("two", "2")]).unwrap();
        fs::write(folder.path().join("one"), "mended by hand").unwrap();
        fs::write(folder.path().join("two"), "mended too").unwrap();
        assert!(write_folder(folder.path(), "a", &[file("one", "new")]).is_err());
        fs::remove_file(folder.path().join("one")).unwrap();
        write_folder(folder.path(), "a", &[file("one", "new")]).unwrap();
        assert_eq!(read(folder.path(), "two"), "mended too");
    }

    #[test]
    fn a_run_cut_short_leaves_no_half_file_and_can_be_run_again() {
        let folder = tempfile::tempdir().unwrap();
        write_folder(folder.path(), "a", &[file("one", "1")]).unwrap();
        // A run that was killed after its list was written and one file renamed.
        let list = folder.path().join(".made-a.json");
        let mut made = read_list(&list).unwrap();
        made.files.get_mut("one").unwrap().push(checksum(b"2"));
        write_list(&list, &made).unwrap();
        write_whole(&folder.path().join("one"), b"2").unwrap();
        fs::write(folder.path().join(".paneloft-x.part"), "ha").unwrap();
        write_folder(folder.path(), "a", &[file("one", "3")]).unwrap();
        assert_eq!(read(folder.path(), "one"), "3");
    }
}
