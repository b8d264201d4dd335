//! How files are read: regular files alone, and no more of them than their kind can have.

use crate::error::{Error, Result};
use std::fs::{File, Metadata, OpenOptions};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// A kind of file, with the largest size that is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Site,
    Instruments,
    Verification,
    Readings,
    Log,
    Record,
}

impl Kind {
    /// The largest size in bytes: far beyond what anybody needs, far below what fills a memory.
    pub(crate) const fn most_bytes(self) -> u64 {
        match self {
            Kind::Site | Kind::Instruments | Kind::Verification => 4 << 20,
            Kind::Readings => 256 << 20,
            // a year of readings every second has some 2e9 bytes
            Kind::Log => 4 << 30,
            Kind::Record => 64 << 20,
        }
    }
}

/// The text of a file.
///
/// # Errors
/// As [`read_bytes`]; [`Error::File`] for what is no text in UTF-8 ([`Error::Syntax`] for a record).
pub(crate) fn read_text(path: &Path, kind: Kind) -> Result<String> {
    let refused = |reason: String| Error::File {
        file: path.to_owned(),
        action: "read",
        reason,
        source: None,
    };
    let bytes = read_bytes(path, kind)?;
    String::from_utf8(bytes).map_err(|error| match kind {
        Kind::Record => Error::Syntax {
            format: "record",
            reason: format!(
                "not UTF-8 text from byte {} on",
                error.utf8_error().valid_up_to()
            ),
        },
        _ => refused(
            "it is no text in UTF-8: save a workbook, or text in another encoding, as text in UTF-8 \
             (CSV or TOML)"
                .to_owned(),
        ),
    })
}

/// The bytes of a file.
///
/// # Errors
/// [`Error::File`] with the system's answer, for what is no regular file (a pipe would block, a
/// device never end); [`Error::TooLarge`].
pub(crate) fn read_bytes(path: &Path, kind: Kind) -> Result<Vec<u8>> {
    let refused = |reason: String| Error::File {
        file: path.to_owned(),
        action: "read",
        reason,
        source: None,
    };
    let failed = |error: io::Error| Error::file(path, "read", error);
    let regular = |found: Metadata| match found.is_file() {
        true => Ok(found.len()),
        false if found.is_dir() => Err(refused("it is a folder".to_owned())),
        false => Err(refused(
            "it is a pipe, a device or the like, which may never end; allowed: a file on a disk"
                .to_owned(),
        )),
    };
    let most = kind.most_bytes();
    let small = |bytes: u64| match bytes <= most {
        true => Ok(()),
        false => Err(Error::TooLarge {
            file: path.to_owned(),
            bytes,
            most,
        }),
    };
    regular(path.metadata().map_err(failed)?)?;
    let file = open(path).map_err(failed)?;
    // another may have taken its place meanwhile
    let size = regular(file.metadata().map_err(failed)?)?;
    small(size)?;
    let mut bytes = Vec::with_capacity(size as usize);
    // a file may grow
    let mut file = file.take(most + 1);
    file.read_to_end(&mut bytes).map_err(failed)?;
    small(bytes.len() as u64)?;
    Ok(bytes)
}

/// Opens a file to read; what should be a pipe in spite of having been none does not block.
fn open(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.read(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::custom_flags(&mut options, libc::O_NONBLOCK);
    options.open(path)
}

/// The place of a file that another one names, where it is below a folder when all links are
/// followed; `None` where it is not, or where that cannot be told.
///
/// # Errors
/// [`Error::File`] for what is below the folder by its name and is not there.
pub(crate) fn below(folder: &Path, path: &Path) -> Result<Option<PathBuf>> {
    let here = |folder: &Path| match folder.as_os_str().is_empty() {
        true => PathBuf::from("."),
        false => folder.to_owned(),
    };
    let failed = |file: &Path| {
        let file = file.to_owned();
        move |error: io::Error| Error::file(&file, "read", error)
    };
    let folder = here(folder);
    let root = folder.canonicalize().map_err(failed(&folder))?;
    match path.canonicalize() {
        Ok(found) => Ok(found.starts_with(&root).then_some(found)),
        // whether something is there outside is nobody's business
        Err(error) if by_name(path).starts_with(by_name(&folder)) => Err(failed(path)(error)),
        Err(_) => Ok(None),
    }
}

/// A path from the root with `.` and `..` worked out, links left as they are.
fn by_name(path: &Path) -> PathBuf {
    use std::path::Component;
    let mut plain = PathBuf::new();
    for part in std::path::absolute(path).unwrap_or_default().components() {
        match part {
            Component::ParentDir => {
                plain.pop();
            }
            Component::CurDir => {}
            part => plain.push(part),
        }
    }
    plain
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_too_large_is_not_read() {
        let folder = tempfile::tempdir().expect("folder");
        let path = folder.path().join("site.toml");
        std::fs::write(&path, "12345").expect("file");
        assert_eq!(read_text(&path, Kind::Site).expect("small enough"), "12345");
        // holes that take no room on the disk
        for kind in [
            Kind::Site,
            Kind::Instruments,
            Kind::Verification,
            Kind::Readings,
            Kind::Log,
            Kind::Record,
        ] {
            let hole = File::create(&path).expect("file");
            if hole.set_len(kind.most_bytes() + 1).is_ok() {
                let error = read_text(&path, kind).expect_err("too large");
                assert_eq!(error.code(), "too-large", "{kind:?}");
            }
        }
    }

    #[test]
    fn only_files_on_a_disk_are_read() {
        let folder = tempfile::tempdir().expect("folder");
        for path in [
            folder.path(),
            Path::new("/dev/zero"),
            Path::new("/dev/stdin"),
        ] {
            let Ok(found) = path.metadata() else { continue };
            assert!(!found.is_file() || path == Path::new("/dev/stdin"));
            if !found.is_file() {
                let error = read_text(path, Kind::Readings).expect_err("no file");
                assert_eq!(error.code(), "file", "{error}");
            }
        }
    }

    #[test]
    fn a_file_is_below_a_folder_when_links_are_followed() {
        let outer = tempfile::tempdir().expect("folder");
        let inner = outer.path().join("inner");
        std::fs::create_dir_all(inner.join("runs")).expect("folders");
        for name in ["secret.csv", "inner/own.csv", "inner/runs/1.csv"] {
            std::fs::write(outer.path().join(name), "x").expect("file");
        }
        let allowed = |name: &str| below(&inner, &inner.join(name)).map(|found| found.is_some());
        for name in ["own.csv", "runs/1.csv", "./runs/../own.csv"] {
            assert_eq!(allowed(name), Ok(true), "{name}");
        }
        for name in [
            "../secret.csv",
            "../absent.csv",
            "/etc/hostname",
            "runs/../../secret.csv",
        ] {
            assert_eq!(allowed(name), Ok(false), "{name}");
        }
        assert_eq!(
            allowed("absent.csv").expect_err("nothing there").code(),
            "file"
        );
        #[cfg(unix)]
        {
            std::os::unix::fs::symlink("../secret.csv", inner.join("link.csv")).expect("link");
            assert_eq!(allowed("link.csv"), Ok(false));
            std::os::unix::fs::symlink("own.csv", inner.join("other.csv")).expect("link");
            assert_eq!(allowed("other.csv"), Ok(true));
        }
    }
}
