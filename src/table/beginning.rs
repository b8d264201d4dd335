//! Where a table begins in a text, and what parts its columns.

use super::columns::{HEADER_ROWS, channels_in, resembling_in};
use super::header_check::MOST_COLUMNS;
use super::options::{Delimiter, TableOptions};
use crate::error::Result;
use csv::StringRecord;
use std::path::Path;

/// Where the rows of a text begin.
pub(super) struct Beginning {
    pub(super) delimiter: Delimiter,
    /// The byte at which reading begins.
    pub(super) offset: usize,
    /// Rows before the names from there.
    pub(super) rows: usize,
    /// Whether a line `sep=` stands first.
    pub(super) separator_line: bool,
}

/// What parts the columns of a text, and where their names stand.
///
/// # Errors
/// A line `sep=` with something else than a delimiter.
pub(super) fn beginning(text: &str, file: &Path, options: &TableOptions) -> Result<Beginning> {
    let body = text.strip_prefix('\u{feff}').unwrap_or(text);
    let first = body.lines().next().unwrap_or("");
    let mut offset = 0;
    let mut said = options.delimiter;
    // a line by which spreadsheets are told what parts the columns
    let separator = first
        .get(..4)
        .filter(|start| start.eq_ignore_ascii_case("sep="));
    if separator.is_some() {
        let sign = first[4..].trim_matches('"');
        let sign = if sign.is_empty() {
            ""
        } else {
            sign.get(..1).unwrap_or(sign)
        };
        let found = Delimiter::from_text(sign, "sep");
        said = Some(match said {
            Some(stated) => stated,
            None => found.map_err(|error| error.in_file(file, 1))?,
        });
        offset = text.len() - body.len() + first.len();
        offset += line_end(&text[offset..]);
    }
    for line in 0..options.skip_rows.unwrap_or(0) {
        if line == 0 && separator.is_some() {
            continue;
        }
        let rest = &text[offset..];
        let length = rest.find('\n').map_or(rest.len(), |end| end + 1);
        offset += length;
    }
    let looked_at = match options.skip_rows {
        Some(_) => 1,
        None => HEADER_ROWS,
    };
    let tried = match said {
        Some(delimiter) => vec![delimiter],
        None => Delimiter::ALL.to_vec(),
    };
    let mut best: Option<((usize, usize, usize), Beginning)> = None;
    for delimiter in tried {
        let mut reader = reader_of(&text[offset..], delimiter);
        let rows: Vec<StringRecord> = reader
            .records()
            .take(looked_at)
            .map_while(std::result::Result::ok)
            .collect();
        let ((named, meant), at) = best_row(rows.iter(), options);
        // of what is no table of readings, the most columns, for the words of its refusal
        let cells = rows.first().map_or(0, StringRecord::len);
        let score = (named, meant, if named + meant == 0 { cells } else { 0 });
        let rows = at;
        if best.as_ref().is_none_or(|(own, _)| score > *own) {
            let begin = Beginning {
                delimiter,
                offset,
                rows,
                separator_line: separator.is_some(),
            };
            best = Some((score, begin));
        }
    }
    let begin = best.map(|(_, begin)| begin);
    Ok(begin.unwrap_or(Beginning {
        delimiter: Delimiter::Comma,
        offset,
        rows: 0,
        separator_line: separator.is_some(),
    }))
}

/// The rows of a text, whatever their lengths.
pub(super) fn reader_of(text: &str, delimiter: Delimiter) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter.sign())
        .from_reader(text.as_bytes())
}

/// How many columns of readings a row names, or means to name, and the row that names most.
pub(super) fn best_row<'r>(
    rows: impl Iterator<Item = &'r StringRecord>,
    options: &TableOptions,
) -> ((usize, usize), usize) {
    let mut best = ((0, 0), 0);
    // a row that is too long names nothing
    let rows = rows
        .enumerate()
        .filter(|(_, row)| row.len() <= MOST_COLUMNS);
    for (place, row) in rows {
        // names that are slips count in the first row alone
        let slips = if place == 0 { resembling_in(row) } else { 0 };
        let score = (channels_in(row, options), slips);
        if score > best.0 {
            best = (score, place);
        }
    }
    best
}

/// The length of the end of a line with which text begins.
fn line_end(text: &str) -> usize {
    match text.as_bytes() {
        [b'\r', b'\n', ..] => 2,
        [b'\r' | b'\n', ..] => 1,
        _ => 0,
    }
}
