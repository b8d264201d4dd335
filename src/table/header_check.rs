//! A first row that names no column of readings, in words of what it is instead.

use super::Channel;
use super::column_name::resembles_a_column;
use super::options::Delimiter;
use crate::error::{Error, Result, shortened};
use csv::StringRecord;

/// The longest name in bytes of a column.
const LONGEST_NAME: usize = 200;

/// Columns of a table at most; those of loggers have some dozens, and each name is compared with all of
/// ours.
pub(super) const MOST_COLUMNS: usize = 1024;

/// Refuses names that are none.
///
/// # Errors
/// A name that is too long, too many names.
pub(super) fn check_lengths(header: &StringRecord) -> Result<()> {
    if header.len() > MOST_COLUMNS {
        return Err(Error::Length {
            field: "header".to_owned(),
            found: header.len(),
            allowed: format!("{MOST_COLUMNS} columns at most"),
        });
    }
    match header.iter().find(|name| name.len() > LONGEST_NAME) {
        None => Ok(()),
        Some(long) => Err(Error::Conflict {
            field: "header".to_owned(),
            found: format!("a name of {} bytes", long.len()),
            allowed: format!("names of columns of {LONGEST_NAME} bytes at most"),
        }),
    }
}

/// Refuses what is no header. What is no table of readings at all is not quoted: it may be anybody's
/// file.
///
/// # Errors
/// Numbers in place of names, and names of which none is one of readings.
pub(super) fn check_header(
    header: &StringRecord,
    others: &[&str],
    stated: Option<Delimiter>,
) -> Result<()> {
    check_lengths(header)?;
    let first = header.get(0).unwrap_or("");
    let of_a_number = |c: char| c.is_ascii_digit() || " +-.,:/TZeE".contains(c);
    if first.starts_with(|c: char| c.is_ascii_digit()) && first.chars().all(of_a_number) {
        return Err(Error::Missing {
            field: "header".to_owned(),
            needed: format!(
                "a first line with the names of the columns, such as {}; found `{first}`",
                "transit_time_us,time_difference_ns,temperature_degC",
                first = shortened(first),
            ),
        });
    }
    // a file without a first line is told what it needs elsewhere
    let empty = header.iter().all(str::is_empty);
    if empty
        || header
            .iter()
            .any(|name| others.contains(&name) || resembles_a_column(name))
    {
        return Ok(());
    }
    let parted = match stated {
        Some(delimiter) => format!(", parted by {},", delimiter.plural()),
        None => String::new(),
    };
    let examples = Channel::ALL.map(Channel::example).join(", ");
    Err(Error::Conflict {
        field: "header".to_owned(),
        found: format!(
            "none of the {} columns{parted} is one of readings",
            header.len()
        ),
        allowed: format!(
            "a first line with names such as {examples}, time, remark, or a map of columns \
             (`columns`; [readings.columns] of the site file); what parts the columns, `delimiter` \
             says, and what stands before the names, `skip_rows`"
        ),
    })
}
