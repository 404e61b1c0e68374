//! The end of the daemon, and its second door.

use super::daemon::{Daemon, bismar};
use super::scratch::{PATIENCE, Scratch};
use super::web::Web;
use serde_json::json;
use std::os::unix::fs::PermissionsExt;
use std::time::Duration;

/// Generous for a busy machine, and far below what a supervisor waits before it kills.
const SOON: Duration = Duration::from_secs(8);

#[test]
fn every_stream_ends_when_the_daemon_stops() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let socket = Web::socket(&scratch.socket());
    let streams =
        [daemon.web().live("/v1/benches/1/live"), socket.live("/v1/benches/1/live"), daemon.web().live("/v1/benches/1/live")];
    for stream in &streams {
        assert_eq!(stream.recv_timeout(PATIENCE).unwrap()["live"]["scale"], "absent");
    }
    let (status, took, said) = daemon.stop();
    assert!(status.success(), "{status}");
    assert!(took < SOON, "{took:?}");
    assert!(!said.contains("cut off"), "the streams ended by themselves: {said}");
    for stream in streams {
        while stream.recv_timeout(PATIENCE).is_ok() {}
    }
    assert!(!scratch.socket().exists(), "nobody answers behind it any more");
}

#[test]
fn a_stream_shows_what_changes() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    let stream = web.live("/v1/benches/1/live");
    assert!(stream.recv_timeout(PATIENCE).unwrap()["bin"].is_null());
    web.done("POST", "/v1/bins", &json!({ "number": 3 }));
    web.done("PUT", "/v1/benches/1/bin", &json!({ "number": 3 }));
    while stream.recv_timeout(PATIENCE).expect("the choice is shown")["bin"]["number"] != 3 {}
    assert_eq!(web.get("/v1/benches/7/live").problem(), "unknown-bench");
}

#[test]
fn the_socket_is_for_owner_and_group_and_needs_no_host() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let mode = std::fs::metadata(scratch.socket()).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o660);
    let web = Web::socket(&scratch.socket());
    let answer = web.send("GET", "/v1/bins", &[("Host", "any.thing")], b"").unwrap();
    assert_eq!(answer.status, 200);
    web.done("POST", "/v1/grades", &json!({ "name": "copper" }));
    assert_eq!(daemon.web().json("/v1/grades")[0]["name"], "copper");
    // A killed daemon leaves its socket behind, and the next one takes its place.
    daemon.kill();
    assert!(scratch.socket().exists());
    let _daemon = Daemon::start(&scratch);
    assert_eq!(web.json("/v1/grades")[0]["name"], "copper");
}

#[test]
fn a_second_daemon_on_the_same_books_is_told_who_holds_them() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let second = bismar().arg("serve").arg("--config").arg(scratch.config()).output().unwrap();
    let said = String::from_utf8_lossy(&second.stderr);
    assert_eq!(second.status.code(), Some(1), "{said}");
    assert!(said.contains(&daemon.pid().to_string()) && said.contains("books"), "{said}");
    assert_eq!(Web::socket(&scratch.socket()).get("/healthz").body, "ok\n", "the first one goes on");
}

#[test]
fn a_configuration_with_three_faults_tells_all_three() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bad.toml");
    let text = "currency = \"euro\"\n[http]\nlisten = \"everywhere\"\n[[bench]]\nport = \"/dev/ttyUSB0\"\ndialekt = \"x\"\n";
    std::fs::write(&path, text).unwrap();
    for arguments in [&["check-config"][..], &["serve", "--config"]] {
        let output = bismar().args(arguments).arg(&path).output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned() + &String::from_utf8_lossy(&output.stdout);
        assert_eq!(output.status.code(), Some(78), "{said}");
        for fault in ["line 1: currency", "line 3: http.listen", "line 6: bench[1].dialekt"] {
            assert!(said.contains(fault), "{fault} in {said}");
        }
    }
}
