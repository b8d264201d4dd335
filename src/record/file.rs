//! Files that are there as a whole or not at all.

use crate::error::{Error, Result};
use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

/// Writes a file by `write` into a temporary one beside it, which takes its place only when all of
/// it is on the disk.
pub(crate) fn write_whole(
    path: &Path,
    overwrite: bool,
    write: impl FnOnce(&mut File) -> io::Result<()>,
) -> Result<()> {
    let failed = |error: io::Error| match error.kind() {
        io::ErrorKind::AlreadyExists => Error::Exists {
            file: path.to_owned(),
        },
        _ => Error::File {
            file: path.to_owned(),
            action: "write",
            reason: error.to_string(),
        },
    };
    // looked at first to save the work, and once more by the system when the file takes its place
    if !overwrite && path.symlink_metadata().is_ok() {
        return Err(failed(io::ErrorKind::AlreadyExists.into()));
    }
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let mut temporary = temporary_in(folder).map_err(failed)?;
    write(temporary.as_file_mut()).map_err(failed)?;
    temporary.as_file().sync_all().map_err(failed)?;
    let placed = if overwrite {
        temporary.persist(path)
    } else {
        temporary.persist_noclobber(path)
    };
    placed.map_err(|error| failed(error.error))?;
    sync_folder(folder).map_err(failed)
}

/// A temporary file with the permissions of an ordinary one.
fn temporary_in(folder: &Path) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".").suffix(".part");
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.tempfile_in(folder)
}

/// Makes the new name of a file in `folder` outlast a failure of power.
#[cfg(unix)]
fn sync_folder(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn sync_folder(_: &Path) -> io::Result<()> {
    Ok(())
}

/// The text of a file of `most` bytes or fewer.
pub(super) fn read_bounded(path: &Path, most: u64) -> Result<String> {
    let failed = |error: io::Error| Error::File {
        file: path.to_owned(),
        action: "read",
        reason: error.to_string(),
    };
    let too_large = |bytes: u64| Error::TooLarge {
        file: path.to_owned(),
        bytes,
        most,
    };
    let file = File::open(path).map_err(failed)?;
    let size = file.metadata().map_err(failed)?.len();
    if size > most {
        return Err(too_large(size));
    }
    // a pipe has no size, and a file may grow
    let mut bytes = Vec::new();
    file.take(most + 1)
        .read_to_end(&mut bytes)
        .map_err(failed)?;
    if bytes.len() as u64 > most {
        return Err(too_large(bytes.len() as u64));
    }
    String::from_utf8(bytes).map_err(|error| Error::Syntax {
        format: "record",
        reason: format!(
            "not UTF-8 text from byte {} on",
            error.utf8_error().valid_up_to()
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write as _;

    fn names(folder: &Path) -> Vec<String> {
        let entries = std::fs::read_dir(folder).expect("folder");
        let name = |entry: io::Result<std::fs::DirEntry>| {
            entry
                .expect("entry")
                .file_name()
                .to_string_lossy()
                .into_owned()
        };
        entries.map(name).collect()
    }

    #[test]
    fn an_interrupted_write_leaves_the_old_file_whole() {
        let folder = tempfile::tempdir().expect("folder");
        let path = folder.path().join("run.json");
        std::fs::write(&path, "old").expect("old file");
        let error = write_whole(&path, true, |file| {
            file.write_all(b"new, but only ha")?;
            Err(io::Error::other("no space left"))
        });
        let error = error.expect_err("the write fails");
        assert_eq!(error.code(), "file");
        assert!(error.to_string().contains("no space left"), "{error}");
        assert_eq!(std::fs::read_to_string(&path).expect("file"), "old");
        assert_eq!(names(folder.path()), ["run.json"], "nothing is left behind");
    }

    #[test]
    fn a_file_that_appears_meanwhile_is_kept() {
        let folder = tempfile::tempdir().expect("folder");
        let path = folder.path().join("run.json");
        let error = write_whole(&path, false, |file| {
            std::fs::write(&path, "another")?;
            file.write_all(b"ours")
        });
        assert_eq!(error.expect_err("kept").code(), "exists");
        assert_eq!(std::fs::read_to_string(&path).expect("file"), "another");
        assert_eq!(names(folder.path()), ["run.json"]);
    }

    #[test]
    fn what_is_too_large_is_not_read() {
        let folder = tempfile::tempdir().expect("folder");
        let path = folder.path().join("run.json");
        std::fs::write(&path, "12345").expect("file");
        assert_eq!(read_bounded(&path, 5).expect("small enough"), "12345");
        assert_eq!(
            read_bounded(&path, 4).expect_err("too large").code(),
            "too-large"
        );
        // a terabyte that takes no room on the disk
        let hole = File::create(&path).expect("file");
        if hole.set_len(1 << 40).is_ok() {
            assert_eq!(
                read_bounded(&path, 5).expect_err("too large").code(),
                "too-large"
            );
        }
    }
}
