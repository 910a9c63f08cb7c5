//! Days and times of day as they stand in names and on sheets; of Greenwich, so that they sort.

use std::time::{SystemTime, UNIX_EPOCH};

fn seconds_of(time: SystemTime) -> u64 {
    time.duration_since(UNIX_EPOCH).map_or(0, |d| d.as_secs())
}

/// Today, `2024-02-29`.
#[must_use]
pub fn today() -> String {
    date(seconds_of(SystemTime::now()))
}

/// A time as it stands in names, `2024-02-29-235959`.
pub(crate) fn stamp(time: SystemTime) -> String {
    let seconds = seconds_of(time);
    let of_day = seconds % 86_400;
    format!("{}-{:02}{:02}{:02}", date(seconds), of_day / 3600, of_day / 60 % 60, of_day % 60)
}

/// A time for people, `2024-02-29 23:59 UTC`.
#[must_use]
pub fn when(time: SystemTime) -> String {
    let seconds = seconds_of(time);
    let of_day = seconds % 86_400;
    format!("{} {:02}:{:02} UTC", date(seconds), of_day / 3600, of_day / 60 % 60)
}

/// Seconds since 1970-01-01 as a date of the Gregorian calendar (years begin in March, so that the day
/// that comes and goes is the last).
fn date(seconds: u64) -> String {
    const DAYS_IN_400_YEARS: u64 = 146_097;
    let days = seconds / 86_400 + 719_468;
    let (era, day) = (days / DAYS_IN_400_YEARS, days % DAYS_IN_400_YEARS);
    let year_of_era = (day - day / 1460 + day / 36_524 - day / 146_096) / 365;
    let day_of_year = day - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let march_month = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * march_month + 2) / 5 + 1;
    let month = if march_month < 10 { march_month + 3 } else { march_month - 9 };
    let year = era * 400 + year_of_era + u64::from(month <= 2);
    format!("{year:04}-{month:02}-{day:02}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    #[test]
    fn dates() {
        // `date -u -d @SECONDS +%F` of GNU coreutils.
        for (seconds, text) in [
            (0, "1970-01-01"),
            (951_782_400, "2000-02-29"),
            (1_709_164_800, "2024-02-29"),
            (1_735_689_599, "2024-12-31"),
            (4_107_542_400, "2100-03-01"),
        ] {
            assert_eq!(date(seconds), text);
        }
        let time = UNIX_EPOCH + Duration::from_secs(1_735_689_599);
        assert_eq!(stamp(time), "2024-12-31-235959");
        assert_eq!(when(time), "2024-12-31 23:59 UTC");
    }
}
