//! Reading scripts and writing outputs.
//!
//! Invariant: outputs are written under other names first and renamed when all of them are there, so that a
//! full disk or a crash leaves the old files as they were.

use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;
use thiserror::Error;

/// Why a file cannot be read or written.
#[derive(Debug, Error)]
pub enum FileFault {
    /// A script or history cannot be read.
    #[error("cannot read `{}`: {}", path.display(), unreadable_words(reason))]
    Unreadable {
        /// The path as the user gave it.
        path: PathBuf,
        /// What the system says.
        reason: std::io::Error,
    },
    /// An output folder or file cannot be written; nothing was changed.
    #[error("cannot write into `{}`: {reason}; choose another folder with --out", folder.display())]
    Unwritable {
        /// The folder.
        folder: PathBuf,
        /// What the system says.
        reason: std::io::Error,
    },
}

/// What the system says, with advice for the two reasons that have one of their own.
fn unreadable_words(reason: &std::io::Error) -> String {
    if reason.kind() == ErrorKind::NotFound {
        format!("{reason}; check the name and the folder")
    } else if reason.kind() == ErrorKind::InvalidData {
        "it is not UTF-8 text; save it as UTF-8".to_owned()
    } else {
        reason.to_string()
    }
}

impl FileFault {
    /// `files::snake_case`.
    #[must_use]
    pub fn code(&self) -> &'static str {
        match self {
            Self::Unreadable { .. } => "files::unreadable",
            Self::Unwritable { .. } => "files::unwritable",
        }
    }
}

/// The name of a file without its folder.
pub(crate) fn name_of(path: &Path) -> String {
    path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned())
}

/// Reads a text file; a byte order mark in front is dropped.
///
/// # Errors
/// [`FileFault::Unreadable`] if it is missing, not readable or not UTF-8.
pub(crate) fn read(path: &Path) -> Result<String, FileFault> {
    let text = std::fs::read_to_string(path)
        .map_err(|reason| FileFault::Unreadable { path: path.to_owned(), reason })?;
    Ok(text.strip_prefix('\u{feff}').map_or(text.clone(), str::to_owned))
}

/// Most bytes of a neighbour's file: a binary STL file of a million triangles has half as many.
pub(crate) const MOST_BYTES: u64 = 100_000_000;

/// Reads a file of any content.
///
/// # Errors
/// What the system says, or that it is no ordinary file or larger than [`MOST_BYTES`].
pub(crate) fn read_bytes(path: &Path) -> std::io::Result<Vec<u8>> {
    let told = std::fs::metadata(path)?;
    let refused = |why: String| std::io::Error::new(ErrorKind::InvalidInput, why);
    // A pipe or a device may have no end.
    if !told.is_file() {
        return Err(refused("it is no ordinary file".to_owned()));
    }
    if told.len() > MOST_BYTES {
        return Err(refused(format!("it has {} bytes; {MOST_BYTES} are the most", told.len())));
    }
    std::fs::read(path)
}

/// Writes all files into a folder, which is made if it is not there.
///
/// # Errors
/// [`FileFault::Unwritable`]; files of the same names from before are then still whole.
pub(crate) fn write_all(folder: &Path, files: &[(&str, Vec<u8>)]) -> Result<(), FileFault> {
    let unwritable = |reason| FileFault::Unwritable { folder: folder.to_owned(), reason };
    std::fs::create_dir_all(folder).map_err(unwritable)?;
    // Renaming onto a folder fails, and would fail half-way.
    if let Some((name, _)) = files.iter().find(|(name, _)| folder.join(name).is_dir()) {
        let reason = format!("`{name}` is a folder there");
        return Err(unwritable(std::io::Error::new(ErrorKind::IsADirectory, reason)));
    }
    let mut written = Vec::with_capacity(files.len());
    for (name, bytes) in files {
        let mut beside = NamedTempFile::with_prefix_in(".foldwright-", folder).map_err(unwritable)?;
        beside.write_all(bytes).and_then(|()| beside.as_file().sync_all()).map_err(unwritable)?;
        written.push((beside, folder.join(name)));
    }
    for (beside, path) in written {
        readable_by_all(beside.as_file()).map_err(unwritable)?;
        beside.persist(path).map_err(|error| unwritable(error.error))?;
    }
    Ok(())
}

/// Temporary files are private; outputs are ordinary files.
#[cfg(unix)]
fn readable_by_all(file: &std::fs::File) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    file.set_permissions(std::fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn readable_by_all(_: &std::fs::File) -> std::io::Result<()> {
    Ok(())
}
