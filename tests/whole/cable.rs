//! The cable is pulled and plugged in again under the same stable path.

use super::bench::Hand;
use super::daemon::Daemon;
use super::scratch::{Scratch, until};
use super::web::Web;
use serde_json::{Value, json};

/// Masses in grams of the drops that count, in the order in which they landed.
pub fn landed(web: &Web) -> Vec<String> {
    let list = web.json("/v1/drops?limit=10000");
    let drops = list.as_array().unwrap().iter().rev();
    let counts = |drop: &&Value| drop["origin"] == "drop" && drop["state"] == "confirmed";
    drops.filter(counts).map(|drop| drop["mass"]["grams"].as_str().unwrap().to_owned()).collect()
}

fn wait_for(web: &Web, expected: &[&str]) {
    until(&format!("{expected:?}"), || (landed(web) == expected).then_some(()));
}

#[test]
fn weighing_resumes_and_nothing_is_double() {
    let scratch = Scratch::new("division = \"1 g\"");
    let hand = Hand::new(&scratch.scale(), 20);
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    web.done("POST", "/v1/bins", &json!({ "number": 4, "name": "lid" }));
    web.done("PUT", "/v1/benches/1/bin", &json!({ "number": 4 }));
    daemon.scale("present");
    let settled = |shown: &str| {
        until(shown, || {
            let live = &web.json("/v1/benches/1")["live"];
            (live["shown"] == shown && live["settled"] == true).then_some(())
        });
    };
    settled("0.000");
    hand.put(900);
    until("the bin is set down", || (web.json("/v1/bins/4")["tare"]["grams"] == "900").then_some(()));
    hand.put(120);
    wait_for(&web, &["120"]);
    hand.put(75);
    wait_for(&web, &["120", "75"]);

    for round in 0..3 {
        hand.unplug();
        daemon.scale("absent");
        assert!(web.get("/").body.contains("scale absent"), "the page says it");
        assert_eq!(web.json("/v1/benches/1")["live"]["shown"], Value::Null, "an old weight is not shown on");
        hand.plug();
        daemon.scale("present");
        settled("1.095");
        assert_eq!(landed(&web), ["120", "75"], "round {round}");
        assert_eq!(web.json("/v1/bins/4")["mass"]["grams"], "195", "the bin that stands there keeps its content");
    }

    hand.put(33);
    wait_for(&web, &["120", "75", "33"]);
    hand.lift();
    until("the lifted bin is seen", || (web.json("/v1/bins/4")["last_gross"]["grams"] == "1128").then_some(()));
    assert_eq!(landed(&web), ["120", "75", "33"]);
    assert_eq!(web.json("/v1/bins/4")["mass"]["grams"], "228");
    let report = web.json("/v1/reports/yard-run.json");
    assert_eq!((&report["unassigned"]["drops"], &report["total"]["grams"]), (&json!(0), &json!("228")), "{report}");
}

#[test]
fn a_daemon_that_restarts_under_a_standing_bin_counts_nothing_twice() {
    let scratch = Scratch::new("division = \"1 g\"");
    let hand = Hand::new(&scratch.scale(), 20);
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    web.done("POST", "/v1/bins", &json!({ "number": 4 }));
    web.done("PUT", "/v1/benches/1/bin", &json!({ "number": 4 }));
    let rested = |web: &Web| {
        until("a rest", || (web.json("/v1/benches/1")["live"]["settled"] == true).then_some(()));
    };
    rested(&web);
    hand.put(900);
    until("the bin is set down", || (web.json("/v1/bins/4")["tare"]["grams"] == "900").then_some(()));
    hand.put(120);
    wait_for(&web, &["120"]);
    assert!(daemon.stop().0.success());

    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    rested(&web);
    hand.put(41);
    wait_for(&web, &["120", "41"]);
    assert_eq!(web.json("/v1/bins/4")["mass"]["grams"], "161");
}
