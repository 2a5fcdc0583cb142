//! The date and time of the attribute `history`.

use std::time::{SystemTime, UNIX_EPOCH};

/// Date and time in UTC as ISO 8601, to the second: `2000-03-01T00:00:00Z`. A time before 1970 is written as 1970.
pub(crate) fn stamp(time: SystemTime) -> String {
    let seconds = time.duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs());
    let (year, month, day) = civil(seconds / 86_400);
    let of_day = seconds % 86_400;
    format!("{year:04}-{month:02}-{day:02}T{:02}:{:02}:{:02}Z", of_day / 3600, of_day / 60 % 60, of_day % 60)
}

/// The date in UTC: `2000-03-01`.
pub fn today(time: SystemTime) -> String {
    stamp(time).split('T').next().unwrap_or_default().to_string()
}

/// Year, month and day of the Gregorian calendar from days since 1970-01-01.
///
/// Counts years from 1 March, so that the leap day is the last of its year (H. Hinnant, chrono-compatible low-level date
/// algorithms, 2013, `civil_from_days`).
fn civil(days: u64) -> (u64, u64, u64) {
    const BEFORE_1970: u64 = 719_468; // days from 0000-03-01
    let days = days + BEFORE_1970;
    let (era, of_era) = (days / 146_097, days % 146_097);
    let year_of_era = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let march_month = (5 * of_year + 2) / 153;
    let day = of_year - (153 * march_month + 2) / 5 + 1;
    let month = if march_month < 10 { march_month + 3 } else { march_month - 9 };
    (era * 400 + year_of_era + u64::from(month <= 2), month, day)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    /// Second counts from `date --utc --date=@SECONDS` of GNU coreutils.
    #[test]
    fn known_dates() {
        for (seconds, text) in [
            (0, "1970-01-01T00:00:00Z"),
            (951_782_399, "2000-02-28T23:59:59Z"),
            (951_782_400, "2000-02-29T00:00:00Z"),
            (951_868_800, "2000-03-01T00:00:00Z"),
            (4_107_542_399, "2100-02-28T23:59:59Z"),
            (4_107_542_400, "2100-03-01T00:00:00Z"),
            (1_735_689_599, "2024-12-31T23:59:59Z"),
        ] {
            assert_eq!(stamp(UNIX_EPOCH + Duration::from_secs(seconds)), text);
        }
    }
}
