//! Where a result goes: standard output, or a file that is written whole or not at all.

use std::fs::{File, OpenOptions};
use std::io::Write as _;
use std::path::{Path, PathBuf};

use super::{Failure, print};

/// Writes a result to a file, or to standard output for `-`. The old file stays whole until the new one is complete.
pub(super) fn write(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    if path.as_os_str() == "-" {
        return print(bytes);
    }
    write_file(path, bytes).map_err(|why| {
        Failure(format!(
            "The result cannot be written: {why}. Choose another place with -o: {}",
            path.display()
        ))
    })
}

fn write_file(path: &Path, bytes: &[u8]) -> Result<(), String> {
    if path.is_dir() {
        return Err("this is a folder, not a file".to_owned());
    }
    // A link stays a link: what it points to is replaced.
    let target = path.canonicalize().unwrap_or_else(|_| path.to_path_buf());
    let old = target.metadata().ok();
    if old.as_ref().is_some_and(|old| old.permissions().readonly()) {
        return Err("the file is write-protected".to_owned());
    }
    let (beside, file) = create_beside(&target).map_err(|error| error.to_string())?;
    let result = fill(file, bytes).and_then(|()| {
        if let Some(old) = &old {
            std::fs::set_permissions(&beside, old.permissions())?;
        }
        std::fs::rename(&beside, &target)
    });
    result.map_err(|error| {
        // The half-written file helps nobody; if it cannot be removed either, the first error is the one to tell.
        let _ = std::fs::remove_file(&beside);
        error.to_string()
    })
}

/// A new file in the same folder, so that renaming it is one step of the file system.
fn create_beside(target: &Path) -> std::io::Result<(PathBuf, File)> {
    const ATTEMPTS: u32 = 100;
    let name = target.file_name().unwrap_or_default().to_string_lossy();
    let mut last = std::io::Error::from(std::io::ErrorKind::AlreadyExists);
    for attempt in 0..ATTEMPTS {
        let beside = target.with_file_name(format!(".{name}.{}.{attempt}", std::process::id()));
        match OpenOptions::new()
            .write(true)
            .create_new(true)
            .open(&beside)
        {
            Ok(file) => return Ok((beside, file)),
            Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => last = error,
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
        write_file(&path, b"old").unwrap();
        write_file(&path, b"new").unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"new");
        assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 1);
        std::fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn folders_and_protected_files_are_refused_and_stay_as_they_are() {
        let folder = folder("refuse");
        assert!(write_file(&folder, b"new").unwrap_err().contains("folder"));
        assert!(write_file(&folder.join("none/plan.svg"), b"new").is_err());
        let path = folder.join("plan.svg");
        write_file(&path, b"old").unwrap();
        let mut permissions = path.metadata().unwrap().permissions();
        permissions.set_readonly(true);
        std::fs::set_permissions(&path, permissions).unwrap();
        assert!(write_file(&path, b"new").unwrap_err().contains("protected"));
        assert_eq!(std::fs::read(&path).unwrap(), b"old");
        assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 1);
        std::fs::remove_dir_all(folder).unwrap();
    }
}
