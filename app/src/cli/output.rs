//! Where a result goes: standard output, or a file, which is told when it is written.

use std::path::Path;

use super::{Failure, print};
use crate::disk;

/// Writes a result to a file and says so on standard error, with its pages where it has any; or to standard output for `-`,
/// where the result is all there is.
pub(super) fn write(path: &Path, bytes: &[u8], pages: Option<usize>) -> Result<(), Failure> {
    if path.as_os_str() == "-" {
        return print(bytes);
    }
    disk::write(path, bytes)?;
    let path = path.display();
    match pages {
        None => eprintln!("Wrote {path}"),
        Some(1) => eprintln!("Wrote {path}: 1 page"),
        Some(pages) => eprintln!("Wrote {path}: {pages} pages"),
    }
    Ok(())
}
