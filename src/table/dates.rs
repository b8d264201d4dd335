//! Dates as day.month.year, which are put as RFC 3339 has them.

/// The point in time of `17.09.2026 10:00:05,250` as `2026-09-17T10:00:05.250`; `None` for what is
/// written otherwise.
pub(super) fn day_first(text: &str) -> Option<String> {
    let mut parts = text.trim().splitn(2, [' ', 'T']);
    let mut date = parts.next()?.split('.');
    let (day, month, year) = (date.next()?, date.next()?, date.next()?);
    let number = |text: &str, most: usize| {
        let digits = !text.is_empty() && text.len() <= most;
        (digits && text.bytes().all(|byte| byte.is_ascii_digit()))
            .then(|| text.parse::<u32>().ok())?
    };
    let (day, month) = (number(day, 2)?, number(month, 2)?);
    if date.next().is_some() || year.len() != 4 {
        return None;
    }
    let year = number(year, 4)?;
    let mut clock = parts.next()?.trim().split(':');
    let (hour, minute) = (number(clock.next()?, 2)?, number(clock.next()?, 2)?);
    let (second, decimals) = match clock.next() {
        None => (0, String::new()),
        Some(second) => match second.split_once([',', '.']) {
            None => (number(second, 2)?, String::new()),
            Some((whole, decimals)) => {
                number(decimals, 9)?;
                (number(whole, 2)?, format!(".{decimals}"))
            }
        },
    };
    if clock.next().is_some() {
        return None;
    }
    Some(format!(
        "{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}:{second:02}{decimals}"
    ))
}

/// A date and a time of day as one text.
pub(super) fn joined(date: &str, time: &str) -> String {
    let clock = |c: char| c == 'T' || c == ' ';
    let time = time.trim();
    // a workbook has a date with every time, and a time with every date
    let time = match time.split_once(clock) {
        Some((day, clock)) if day.contains('-') => clock,
        _ => time,
    };
    let date = date.trim();
    let date = date.split_once(clock).map_or(date, |(date, _)| date);
    format!("{date} {time}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_of_the_continent() {
        for (text, expected) in [
            ("17.09.2026 10:00:05", Some("2026-09-17T10:00:05")),
            ("7.9.2026 9:05", Some("2026-09-07T09:05:00")),
            ("17.09.2026 10:00:05,250", Some("2026-09-17T10:00:05.250")),
            ("2026-09-17 10:00", None),
            ("17.09.26 10:00", None),
            ("17.09.2026", None),
            ("1.2.3.2026 10:00", None),
        ] {
            assert_eq!(day_first(text).as_deref(), expected, "{text}");
        }
    }

    #[test]
    fn date_and_time_of_day() {
        assert_eq!(joined("2026-09-17", "10:00:05"), "2026-09-17 10:00:05");
        assert_eq!(
            joined("2026-09-17T00:00:00", "1899-12-31T10:00:05"),
            "2026-09-17 10:00:05"
        );
    }
}
