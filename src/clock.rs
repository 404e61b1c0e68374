//! The one place that reads the system's clocks. Everything else gets its time with the data.

use crate::measure::{BootId, Moment, Span, Stamp};
use rand::TryRngCore;
use std::path::Path;

/// A handle on the clocks of this boot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Clock {
    boot: BootId,
}

impl Clock {
    /// Reads the kernel's boot id, or takes the one that the service's unit hands over, since its sandbox hides the
    /// kernel's. Where there is none, a random one: then every start counts as a boot of its own, which loses
    /// comparability and never invents it.
    pub fn system() -> Clock {
        let kernel = std::fs::read_to_string("/proc/sys/kernel/random/boot_id").ok();
        Clock { boot: boot_of([kernel, std::env::var("BISMAR_BOOT_ID").ok()]).unwrap_or_else(random) }
    }

    pub const fn boot(&self) -> BootId {
        self.boot
    }

    /// All clocks at once. The wall time is trusted when it is a year this program can have lived in and either the
    /// system says that it has been set from the network, or nothing here is known to run without a battery-backed
    /// clock. A board without such a clock restores a stale time at boot, which looks plausible and is wrong.
    pub fn now(&self) -> Stamp {
        let wall = jiff::Timestamp::now();
        let trusted = plausible(wall) && believed(Path::new("/run/systemd/timesync"), Path::new("/sys/class/rtc/rtc0"));
        Stamp { boot: self.boot, mono: self.mono(), wall, trusted }
    }

    /// The monotonic clock alone: it costs no system call on most machines.
    pub fn mono(&self) -> Moment {
        let time = rustix::time::clock_gettime(rustix::time::ClockId::Boottime);
        let seconds = u64::try_from(time.tv_sec).unwrap_or(0);
        let nanos = u64::try_from(time.tv_nsec).unwrap_or(0);
        Moment::default().plus(Span::seconds(seconds)).plus(Span(nanos))
    }
}

fn boot_of(told: [Option<String>; 2]) -> Option<BootId> {
    told.into_iter().flatten().find_map(|text| BootId::parse(text.trim()))
}

fn random() -> BootId {
    let mut bytes = [0; 16];
    if rand::rngs::OsRng.try_fill_bytes(&mut bytes).is_err() {
        bytes = jiff::Timestamp::now().as_nanosecond().to_be_bytes();
    }
    BootId(u128::from_be_bytes(bytes))
}

/// From the first second of 2026 to the last of 2099, UTC.
fn plausible(wall: jiff::Timestamp) -> bool {
    const FIRST: i64 = 1_767_225_600;
    const END: i64 = 4_102_444_800;
    (FIRST..END).contains(&wall.as_second())
}

fn believed(timesync: &Path, battery_clock: &Path) -> bool {
    timesync.join("synchronized").exists() || battery_clock.exists() || !timesync.exists()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hidden_boot_id_is_taken_from_the_unit() {
        let kernel = || Some("0f1e2d3c-4b5a-6978-8796-a5b4c3d2e1f0\n".to_owned());
        // As systemd writes it for %b: without dashes.
        let unit = || Some("000102030405060708090a0b0c0d0e0f".to_owned());
        assert_eq!(boot_of([kernel(), unit()]), BootId::parse("0f1e2d3c4b5a69788796a5b4c3d2e1f0"));
        assert_eq!(boot_of([None, unit()]), BootId::parse("00010203-0405-0607-0809-0a0b0c0d0e0f"));
        assert_eq!(boot_of([None, Some(String::new())]), None);
    }

    #[test]
    fn a_time_before_the_program_existed_is_not_plausible() {
        let at = |text: &str| text.parse::<jiff::Timestamp>().unwrap();
        assert!(!plausible(at("1970-01-01T00:00:09Z")));
        assert!(!plausible(at("2025-12-31T23:59:59Z")));
        assert!(plausible(at("2026-01-01T00:00:00Z")));
        assert!(plausible(at("2099-12-31T23:59:59Z")));
        assert!(!plausible(at("2100-01-01T00:00:00Z")));
    }

    #[test]
    fn a_board_without_a_battery_clock_waits_for_the_network() {
        let folder = tempfile::tempdir().unwrap();
        let (sync, rtc) = (folder.path().join("timesync"), folder.path().join("rtc0"));
        assert!(believed(&sync, &rtc), "nothing is known to set the clock");
        std::fs::create_dir(&sync).unwrap();
        assert!(!believed(&sync, &rtc));
        std::fs::write(sync.join("synchronized"), "").unwrap();
        assert!(believed(&sync, &rtc));
        std::fs::remove_file(sync.join("synchronized")).unwrap();
        std::fs::write(&rtc, "").unwrap();
        assert!(believed(&sync, &rtc));
    }

    #[test]
    fn the_monotonic_clock_does_not_run_backwards() {
        let clock = Clock::system();
        let (first, second) = (clock.now(), clock.now());
        assert!(second.mono >= first.mono);
        assert_eq!(first.boot, second.boot);
        assert_eq!(first.boot, Clock::system().boot(), "the kernel's boot id is read");
    }
}
