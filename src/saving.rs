//! Files that are there as a whole or not at all.

use crate::error::{Error, Result};
use std::fs::{self, File, Metadata};
use std::io;
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

const BEFORE: &str = ".flowdoubt-";
const AFTER: &str = ".part";

/// Writes a file by `write` into a temporary one beside it, which takes its place only when all of
/// it is on the disk.
///
/// A file that is overwritten keeps its permissions, and its owner where the system allows it;
/// where `path` is a symbolic link, the file it leads to is overwritten. What a process that was
/// killed while it wrote left in the folder is removed.
///
/// # Errors
/// [`Error::Exists`] where `path` exists, unless `overwrite` is asked for; [`Error::File`] where
/// what is to be overwritten is write-protected or no ordinary file, and where the system refuses.
/// Whatever fails, an old file stays as it was.
pub(crate) fn write_whole(
    path: &Path,
    overwrite: bool,
    write: impl FnOnce(&mut File) -> io::Result<()>,
) -> Result<()> {
    let failed = |error: io::Error| match error.kind() {
        io::ErrorKind::AlreadyExists => Error::Exists {
            file: path.to_owned(),
        },
        _ => Error::file(path, "write", error),
    };
    // looked at first to save the work, and once more by the system when the file takes its place
    let (place, old) = place_of(path, overwrite).map_err(failed)?;
    let folder = match place.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    remove_abandoned(folder);
    let mut temporary = temporary_in(folder).map_err(failed)?;
    write(temporary.as_file_mut()).map_err(failed)?;
    if let Some(old) = old {
        keep_owner_and_permissions(temporary.as_file(), &old).map_err(failed)?;
    }
    temporary.as_file().sync_all().map_err(failed)?;
    let placed = if overwrite {
        temporary.persist(&place)
    } else {
        temporary.persist_noclobber(&place)
    };
    placed.map_err(|error| failed(error.error))?;
    sync_folder(folder).map_err(failed)
}

/// Where the file goes, and what is there already if that may be overwritten.
fn place_of(path: &Path, overwrite: bool) -> io::Result<(PathBuf, Option<Metadata>)> {
    if path.symlink_metadata().is_err() {
        return Ok((path.to_owned(), None));
    }
    if !overwrite {
        return Err(io::ErrorKind::AlreadyExists.into());
    }
    let place = path.canonicalize()?;
    let old = place.metadata()?;
    if !old.is_file() {
        return Err(io::Error::other(
            "it is no ordinary file; allowed: another name",
        ));
    }
    if old.permissions().readonly() {
        return Err(io::Error::other(
            "it is write-protected; allowed: another name, or taking off the protection",
        ));
    }
    Ok((place, Some(old)))
}

/// A temporary file with the permissions of an ordinary one, locked as long as it is open.
fn temporary_in(folder: &Path) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(BEFORE).suffix(AFTER);
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    loop {
        let temporary = builder.tempfile_in(folder)?;
        // a system that knows no locks finds nothing abandoned either
        let _ = temporary.as_file().lock();
        // between the two lines another process may have taken it for abandoned
        if temporary.path().symlink_metadata().is_ok() {
            return Ok(temporary);
        }
    }
}

/// Removes temporary files that no process holds open any more.
fn remove_abandoned(folder: &Path) {
    // not to find them is no reason to write nothing
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let ours = name
            .to_str()
            .is_some_and(|name| name.starts_with(BEFORE) && name.ends_with(AFTER));
        if ours && entry.file_type().is_ok_and(|kind| kind.is_file()) {
            let file = File::options().read(true).write(true).open(entry.path());
            // locked until it is gone, or its owner would take it for its own in between
            if let Ok(file) = file
                && file.try_lock().is_ok()
            {
                let _ = fs::remove_file(entry.path());
            }
        }
    }
}

/// Who may read and write `file` is who could read and write the `old` one.
fn keep_owner_and_permissions(file: &File, old: &Metadata) -> io::Result<()> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::{MetadataExt as _, fchown};
        // only the administrator can give a file away
        let _ = fchown(file, Some(old.uid()), Some(old.gid()));
    }
    file.set_permissions(old.permissions())
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

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write as _;

    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).expect("folder");
        let name = |entry: io::Result<fs::DirEntry>| {
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
        fs::write(&path, "old").expect("old file");
        let error = write_whole(&path, true, |file| {
            file.write_all(b"new, but only ha")?;
            Err(io::Error::other("no space left"))
        });
        let error = error.expect_err("the write fails");
        assert_eq!(error.code(), "file");
        assert!(error.to_string().contains("no space left"), "{error}");
        assert_eq!(fs::read_to_string(&path).expect("file"), "old");
        assert_eq!(names(folder.path()), ["run.json"], "nothing is left behind");
    }

    #[test]
    fn a_file_that_appears_meanwhile_is_kept() {
        let folder = tempfile::tempdir().expect("folder");
        let path = folder.path().join("run.json");
        let error = write_whole(&path, false, |file| {
            fs::write(&path, "another")?;
            file.write_all(b"ours")
        });
        assert_eq!(error.expect_err("kept").code(), "exists");
        assert_eq!(fs::read_to_string(&path).expect("file"), "another");
        assert_eq!(names(folder.path()), ["run.json"]);
    }

    #[test]
    fn what_is_being_written_is_not_taken_for_abandoned() {
        let folder = tempfile::tempdir().expect("folder");
        let path = folder.path().join("slow.json");
        let abandoned = folder.path().join(format!("{BEFORE}x1y2{AFTER}"));
        write_whole(&path, false, |slow| {
            slow.write_all(b"slow")?;
            fs::write(&abandoned, "of a process that was killed")?;
            write_whole(&folder.path().join("quick.json"), false, |quick| {
                quick.write_all(b"quick")
            })
            .expect("a second writer");
            assert!(!abandoned.exists());
            Ok(())
        })
        .expect("the first writer");
        let mut left = names(folder.path());
        left.sort();
        assert_eq!(left, ["quick.json", "slow.json"]);
        assert_eq!(fs::read_to_string(&path).expect("file"), "slow");
    }
}
