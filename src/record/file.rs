//! Files that are not read where they are too large.

use crate::error::{Error, Result};
use std::fs::File;
use std::io::{self, Read as _};
use std::path::Path;

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
