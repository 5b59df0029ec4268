//! Files for the command line and the window alike: a plan is read, and bytes are written whole or not at all; what stands
//! in the way is told in plain words.

use std::fs::{File, OpenOptions};
use std::io::{Error, ErrorKind, Write as _};
use std::path::{Path, PathBuf};

use aubergine_core::file;
use aubergine_core::model::Document;
use aubergine_core::text;

/// Reads a plan file.
///
/// # Errors
/// One or two sentences: what is wrong, where, and what can be done. The path stands last.
pub fn read(path: &Path) -> Result<Document, String> {
    let bytes = std::fs::read(path).map_err(|error| {
        let key = match error.kind() {
            ErrorKind::PermissionDenied => "file.unread_permission",
            _ => "file.unread",
        };
        told(key, path, why(&error, path))
    })?;
    file::load(&bytes).map_err(|error| format!("{error} ({})", path.display()))
}

/// Writes bytes to a file. The old file stays whole until the new one is complete.
///
/// # Errors
/// One or two sentences: what is wrong, and what can be done.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), String> {
    let refused = |key: &str| Err(told("file.unwritten", path, text::get(key).to_owned()));
    if path.is_dir() {
        return refused("file.is_folder");
    }
    if path.file_name().is_none() {
        return refused("file.no_name");
    }
    // A link stays a link: what it points to is replaced.
    let target = path.canonicalize().unwrap_or_else(|_| path.to_path_buf());
    let old = target.metadata().ok();
    if old.as_ref().is_some_and(|old| old.permissions().readonly()) {
        return refused("file.protected");
    }
    replace(&target, old.as_ref(), bytes)
        .map_err(|error| told("file.unwritten", path, why(&error, path)))
}

fn told(key: &str, path: &Path, why: String) -> String {
    let path = path.display().to_string();
    text::fill(key, [("why", why), ("path", path)])
}

/// Why a file cannot be read or written, in plain words and without the numbers of the operating system.
#[must_use]
pub fn why(error: &Error, path: &Path) -> String {
    let key = match error.kind() {
        ErrorKind::NotFound => {
            let folder = path
                .parent()
                .filter(|folder| !folder.as_os_str().is_empty());
            if let Some(folder) = folder.filter(|folder| !folder.exists()) {
                let folder = folder.display().to_string();
                return text::fill("file.no_folder", [("folder", folder)]);
            }
            "file.not_found"
        }
        ErrorKind::IsADirectory => "file.is_folder",
        ErrorKind::NotADirectory => "file.through_file",
        ErrorKind::PermissionDenied => "file.no_permission",
        ErrorKind::ReadOnlyFilesystem => "file.fixed_disk",
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => "file.full",
        ErrorKind::InvalidFilename | ErrorKind::InvalidInput => "file.bad_name",
        _ => {
            let said = error.to_string();
            let said = said.split(" (os error").next().unwrap_or_default();
            return text::fill("file.other", [("what", said.to_owned())]);
        }
    };
    text::get(key).to_owned()
}

fn replace(target: &Path, old: Option<&std::fs::Metadata>, bytes: &[u8]) -> std::io::Result<()> {
    let (beside, file) = create_beside(target)?;
    let result = fill(file, bytes).and_then(|()| {
        if let Some(old) = old {
            std::fs::set_permissions(&beside, old.permissions())?;
        }
        std::fs::rename(&beside, target)
    });
    if result.is_err() {
        // The half-written file helps nobody; if it cannot be removed either, the first error is the one to tell.
        let _ = std::fs::remove_file(&beside);
    }
    result
}

/// A new file in the same folder, so that renaming it is one step of the file system.
fn create_beside(target: &Path) -> std::io::Result<(PathBuf, File)> {
    const ATTEMPTS: u32 = 100;
    let name = target.file_name().unwrap_or_default().to_string_lossy();
    let mut last = Error::from(ErrorKind::AlreadyExists);
    for attempt in 0..ATTEMPTS {
        let beside = target.with_file_name(format!(".{name}.{}.{attempt}", std::process::id()));
        match OpenOptions::new()
            .write(true)
            .create_new(true)
            .open(&beside)
        {
            Ok(file) => return Ok((beside, file)),
            Err(error) if error.kind() == ErrorKind::AlreadyExists => last = error,
            Err(error) => return Err(error),
        }
    }
    Err(last)
}

fn fill(mut file: File, bytes: &[u8]) -> std::io::Result<()> {
    file.write_all(bytes)?;
    file.sync_all()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A folder of this test alone.
    fn folder(name: &str) -> PathBuf {
        let folder =
            std::env::temp_dir().join(format!("aubergine-output-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        folder
    }

    #[test]
    fn a_file_is_replaced_whole_and_nothing_stays_beside_it() {
        let folder = folder("replace");
        let path = folder.join("plan.svg");
        write(&path, b"old").unwrap();
        write(&path, b"new").unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"new");
        assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 1);
        std::fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn folders_and_protected_files_are_refused_and_stay_as_they_are() {
        let folder = folder("refuse");
        assert!(write(&folder, b"new").unwrap_err().contains("folder"));
        let away = write(&folder.join("none/plan.svg"), b"new").unwrap_err();
        assert!(away.contains("there is no folder"), "{away}");
        let path = folder.join("plan.svg");
        write(&path, b"old").unwrap();
        let mut permissions = path.metadata().unwrap().permissions();
        permissions.set_readonly(true);
        std::fs::set_permissions(&path, permissions).unwrap();
        assert!(write(&path, b"new").unwrap_err().contains("protected"));
        assert_eq!(std::fs::read(&path).unwrap(), b"old");
        assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 1);
        std::fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn what_stands_in_the_way_is_told_without_the_words_of_the_operating_system() {
        let path = Path::new("/");
        for (kind, words) in [
            (ErrorKind::PermissionDenied, "no permission"),
            (ErrorKind::IsADirectory, "a folder"),
            (ErrorKind::NotFound, "no file of this name"),
            (ErrorKind::StorageFull, "full"),
        ] {
            let told = why(&Error::from(kind), path);
            assert!(told.contains(words), "{told}");
        }
        let told = why(&Error::from_raw_os_error(5), path);
        assert!(!told.contains("os error"), "{told}");

        let folder = folder("read");
        let message = |path: &Path| read(path).unwrap_err();
        assert!(message(&folder).contains("this is a folder"));
        assert!(message(&folder.join("none.json")).contains("no file of this name"));
        let away = message(&folder.join("none/plan.json"));
        assert!(away.contains("there is no folder"), "{away}");
        std::fs::write(folder.join("note"), b"x").unwrap();
        let through = message(&folder.join("note/plan.json"));
        assert!(through.contains("leads through a file"), "{through}");
        std::fs::remove_dir_all(folder).unwrap();
    }
}
