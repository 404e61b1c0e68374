//! The word to systemd (sd_notify(3)), heard by a socket of our own.

use super::bench::Hand;
use super::daemon::Daemon;
use super::scratch::{PATIENCE, Scratch, until};
use std::os::unix::net::UnixDatagram;
use std::time::{Duration, Instant};

struct Ear(UnixDatagram);

impl Ear {
    /// The next message with a line that starts like this.
    fn wait_for(&self, line: &str) {
        let start = Instant::now();
        let mut heard = Vec::new();
        while start.elapsed() < PATIENCE {
            let mut buffer = [0; 4096];
            let count = self.0.recv(&mut buffer).unwrap_or_else(|fault| panic!("{line}: {fault} after {heard:?}"));
            let text = String::from_utf8(buffer[..count].to_vec()).unwrap();
            if text.lines().any(|said| said == line) {
                return;
            }
            heard.push(text);
        }
        panic!("{line} was never said: {heard:?}");
    }
}

#[test]
fn the_watchdog_is_fed_by_loops_that_turn_and_not_by_frames() {
    let scratch = Scratch::new("");
    let path = scratch.path().join("notify");
    let ear = Ear(UnixDatagram::bind(&path).unwrap());
    ear.0.set_read_timeout(Some(PATIENCE)).unwrap();
    let hand = Hand::new(&scratch.scale(), 10);
    let daemon = Daemon::start_with(&scratch, |command| {
        // systemd sets WATCHDOG_PID to the process that it started; without one it holds for whoever reads it.
        command.env("NOTIFY_SOCKET", &path).env("WATCHDOG_USEC", "400000").env_remove("WATCHDOG_PID");
    });
    ear.wait_for("READY=1");
    daemon.scale("present");
    ear.wait_for("WATCHDOG=1");

    hand.talk(false);
    daemon.scale("silent");
    let fed = |times: usize| (0..times).for_each(|_| ear.wait_for("WATCHDOG=1"));
    fed(5);
    hand.unplug();
    daemon.scale("absent");
    fed(5);

    let stop = std::thread::spawn(move || daemon.stop());
    ear.wait_for("STOPPING=1");
    assert!(stop.join().unwrap().0.success());
    until("nothing is said after the end", || {
        ear.0.set_read_timeout(Some(Duration::from_millis(200))).unwrap();
        ear.0.recv(&mut [0; 4096]).is_err().then_some(())
    });
}
