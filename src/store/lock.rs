//! One server to one data file.
//!
//! The lock is an operating-system lock on a small file beside the data file,
//! not on the data file itself: closing a second handle to that would drop
//! SQLite's own locks. A killed process leaves the small file but not the lock.

use std::fs::{self, File, TryLockError};
use std::io;
use std::path::{Path, PathBuf};

/// Held as long as a store is open.
#[derive(Debug)]
pub(super) struct Lock {
    file: File,
    path: PathBuf,
}

impl Lock {
    /// Takes the lock, or `None` where another process has it.
    pub(super) fn take(data: &Path) -> io::Result<Option<Self>> {
        let path = beside(data, ".lock");
        loop {
            let file = File::options().create(true).append(true).open(&path)?;
            match file.try_lock() {
                Ok(()) => {}
                Err(TryLockError::WouldBlock) => return Ok(None),
                Err(TryLockError::Error(error)) => return Err(error),
            }
            // The one before may have removed the file between our open and our lock.
            if is_still(&file, &path) {
                return Ok(Some(Self { file, path }));
            }
        }
    }

    /// Whether another process has the lock. Looks without taking it for longer
    /// than the look.
    pub(super) fn is_held(data: &Path) -> bool {
        let Ok(file) = File::open(beside(data, ".lock")) else { return false };
        matches!(file.try_lock_shared(), Err(TryLockError::WouldBlock))
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        // Removed while it is held, so that nobody's fresh lock is removed.
        let _ = fs::remove_file(&self.path);
        let _ = self.file.unlock();
    }
}

/// The file's name with something after it: `book.db` and `.lock` give `book.db.lock`.
pub(super) fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    name.into()
}

#[cfg(unix)]
fn is_still(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let (Ok(held), Ok(there)) = (file.metadata(), fs::metadata(path)) else { return false };
    (held.dev(), held.ino()) == (there.dev(), there.ino())
}

#[cfg(not(unix))]
fn is_still(_file: &File, _path: &Path) -> bool {
    // An open file can't be removed here.
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_lock_is_refused_until_the_first_is_dropped() {
        let folder = tempfile::tempdir().unwrap();
        let data = folder.path().join("book.db");
        let first = Lock::take(&data).unwrap();
        assert!(first.is_some());
        assert!(Lock::take(&data).unwrap().is_none());
        assert!(Lock::is_held(&data));
        drop(first);
        assert!(!Lock::is_held(&data));
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 0);
        assert!(Lock::take(&data).unwrap().is_some());
    }
}
