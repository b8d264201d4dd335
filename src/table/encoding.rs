//! From the bytes of a file to its text.

use crate::error::{Error, Result, nearest};
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};
use std::path::Path;

/// Bytes in which the zeros of UTF-16 are looked for.
const LOOKED_AT: usize = 4096;

/// Bytes that have no character in Windows-1252.
const NONE: [u8; 5] = [0x81, 0x8d, 0x8f, 0x90, 0x9d];

/// The text of a file, with the name of its encoding unless that is UTF-8.
///
/// # Errors
/// An unknown encoding, bytes that are none of it, and what is no text.
///
/// # Source
/// The byte-order marks are those of the Unicode Standard, chapter 23.8; labels are those of the
/// WHATWG Encoding Standard.
pub(super) fn decoded(
    bytes: Vec<u8>,
    stated: Option<&str>,
    file: &Path,
) -> Result<(String, Option<String>)> {
    let encoding = match stated {
        Some(label) => of_label(label, &bytes, "encoding")?,
        None => recognised(&bytes),
    };
    let encoding = match encoding {
        Some(encoding) => encoding,
        None => match String::from_utf8(bytes) {
            Ok(text) => return Ok((text, None)),
            Err(error) => {
                let bytes = error.into_bytes();
                if bytes.iter().copied().any(is_no_text) {
                    return Err(no_text(file));
                }
                let (text, _) = WINDOWS_1252.decode_without_bom_handling(&bytes);
                return Ok((text.into_owned(), Some(name_of(WINDOWS_1252))));
            }
        },
    };
    if encoding == UTF_8 {
        return String::from_utf8(bytes)
            .map(|text| (text, None))
            .map_err(|error| none_of(encoding.name(), Some(error.utf8_error().valid_up_to())));
    }
    let body = match Encoding::for_bom(&bytes) {
        Some((found, length)) if found == encoding => &bytes[length..],
        _ => &bytes,
    };
    let text = encoding.decode_without_bom_handling_and_without_replacement(body);
    let text = text.ok_or_else(|| none_of(encoding.name(), None))?;
    if text.contains('\0') {
        return Err(no_text(file));
    }
    Ok((text.into_owned(), Some(name_of(encoding))))
}

/// The name of an encoding, as it is shown.
fn name_of(encoding: &'static Encoding) -> String {
    match encoding == WINDOWS_1252 {
        true => "Windows-1252 (Latin-1)".to_owned(),
        false => encoding.name().to_owned(),
    }
}

/// UTF-16 by its byte-order mark or by the zeros beside plain letters.
fn recognised(bytes: &[u8]) -> Option<&'static Encoding> {
    if let Some((encoding, _)) = Encoding::for_bom(bytes) {
        return Some(encoding).filter(|found| *found != UTF_8);
    }
    let beginning = &bytes[..bytes.len().min(LOOKED_AT)];
    let zeros = |odd: usize| {
        let half = beginning.iter().skip(odd).step_by(2);
        half.filter(|byte| **byte == 0).count()
    };
    let (even, odd, half) = (zeros(0), zeros(1), beginning.len() / 2);
    match (even, odd) {
        (0, odd) if odd > half / 2 => Some(UTF_16LE),
        (even, 0) if even > half / 2 => Some(UTF_16BE),
        _ => None,
    }
}

/// The encoding of a label; of UTF-16 that of its byte-order mark.
///
/// # Errors
/// A label that is not known; the error names `field`.
pub(super) fn of_label(
    label: &str,
    bytes: &[u8],
    field: &str,
) -> Result<Option<&'static Encoding>> {
    let plain = label.trim().to_ascii_lowercase();
    let encoding = match plain.as_str() {
        // which of the two, its mark says
        "utf-16" | "utf16" | "utf_16" => match recognised(bytes) {
            Some(found) => Some(found),
            None => Some(UTF_16LE),
        },
        "latin-1" | "latin_1" => Some(WINDOWS_1252),
        "utf8" | "utf_8" | "utf-8-sig" => Some(UTF_8),
        plain => Encoding::for_label_no_replacement(plain.as_bytes()),
    };
    if encoding.is_some() {
        return Ok(encoding);
    }
    let known = ["utf-8", "utf-16", "latin-1", "windows-1252"];
    Err(Error::UnknownName {
        field: field.to_owned(),
        found: label.to_owned(),
        nearest: nearest(&plain, known),
        allowed: known
            .into_iter()
            .chain(["another label of the WHATWG Encoding Standard"])
            .map(str::to_owned)
            .collect(),
    })
}

/// Whether a byte is none of a text in Windows-1252.
fn is_no_text(byte: u8) -> bool {
    let control = byte < 0x20 && !matches!(byte, b'\t' | b'\n' | b'\r' | 0x0c);
    control || byte == 0x7f || NONE.contains(&byte)
}

fn no_text(file: &Path) -> Error {
    Error::File {
        file: file.to_owned(),
        action: "read",
        reason: "it is no text in UTF-8, UTF-16 or Windows-1252 (Latin-1) and no workbook that is read; \
                 allowed: CSV or the like, a workbook saved as .xlsx, or `encoding`"
            .to_owned(),
        source: None,
    }
}

fn none_of(name: &str, valid: Option<usize>) -> Error {
    Error::Conflict {
        field: "encoding".to_owned(),
        found: match valid {
            Some(byte) => format!("bytes that are no {name}, from byte {byte} on"),
            None => format!("bytes that are no {name}"),
        },
        allowed: "another `encoding`, or none, so that it is recognised".to_owned(),
    }
}
