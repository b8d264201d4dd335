//! Clocks on a wall: times of a place, whose clocks are put forward in spring and back in autumn.

use crate::error::{Error, Result};
use jiff::tz::{AmbiguousOffset, Offset, TimeZone};
use jiff::{SignedDuration, Timestamp};

/// What became of the times of a clock in a time zone.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct Clock {
    /// The name of the zone, such as `Europe/Berlin`.
    pub zone: String,
    /// Rows of an hour that the clock ran through twice, from the first to the last.
    pub twice: Vec<usize>,
    /// Rows of an hour that the clock leaps over: a clock that was put forward cannot show them.
    pub skipped: Vec<usize>,
}

/// Times in nanoseconds since 1970 of a clock in `zone`, as points in universal time.
///
/// In the hour that a clock runs through twice, a time belongs to the first run until times go
/// back, and to the second one from there. Times that the clock leaps over are taken as those of a
/// clock that was not put forward.
///
/// # Errors
/// A name that the IANA time zone database does not have.
pub(super) fn universal(times: &[Option<i64>], zone: &str) -> Result<(Vec<Option<i64>>, Clock)> {
    let found = named(zone)?;
    let mut clock = Clock {
        zone: zone.to_owned(),
        twice: Vec::new(),
        skipped: Vec::new(),
    };
    let mut before = i64::MIN;
    let mut universal = Vec::with_capacity(times.len());
    for (row, time) in times.iter().enumerate() {
        let point = time.and_then(|time| {
            let offset = match offset_at(&found, time)? {
                AmbiguousOffset::Unambiguous { offset } => offset,
                AmbiguousOffset::Gap { before, .. } => {
                    clock.skipped.push(row);
                    before
                }
                AmbiguousOffset::Fold {
                    before: first,
                    after,
                } => {
                    clock.twice.push(row);
                    let in_first_run = shifted(time, first).is_some_and(|point| point > before);
                    if in_first_run { first } else { after }
                }
            };
            shifted(time, offset)
        });
        before = point.unwrap_or(before);
        universal.push(point);
    }
    Ok((universal, clock))
}

/// The zone of a name.
pub(super) fn named(zone: &str) -> Result<TimeZone> {
    TimeZone::get(zone).map_err(|_| Error::UnknownName {
        field: "time_zone".to_owned(),
        found: zone.to_owned(),
        nearest: None,
        allowed: vec![
            "UTC".to_owned(),
            "a name of the IANA time zone database such as Europe/Berlin".to_owned(),
        ],
    })
}

/// Nanoseconds since 1970 as a moment.
pub(super) fn moment(time: i64) -> Option<Timestamp> {
    let since = SignedDuration::from_nanos(time);
    Timestamp::UNIX_EPOCH.checked_add(since).ok()
}

fn shifted(time: i64, offset: Offset) -> Option<i64> {
    time.checked_sub(i64::from(offset.seconds()) * 1_000_000_000)
}

/// The offset of the zone from universal time at a time of its clock.
fn offset_at(zone: &TimeZone, time: i64) -> Option<AmbiguousOffset> {
    let shown = Offset::UTC.to_datetime(moment(time)?);
    Some(zone.to_ambiguous_timestamp(shown).offset())
}
