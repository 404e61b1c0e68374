//! Drives with bins: set out, taken back while nothing of them is on a ticket; and a slip that is longer than the form.

use super::daemon::{Daemon, bismar};
use super::routes::submit;
use super::scratch::Scratch;
use super::web::Web;
use serde_json::json;

fn bench() -> (Scratch, Daemon) {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    web.done("POST", "/v1/buyers", &json!({ "name": "Quayside" }));
    for number in [1, 2] {
        web.done("POST", "/v1/bins", &json!({ "number": number, "tare": { "kg": "0.850" } }));
        web.done("POST", "/v1/benches/1/drops", &weight(number, "4.000"));
    }
    (scratch, daemon)
}

fn weight(bin: u32, kg: &str) -> serde_json::Value {
    json!({ "bin": bin, "mass": { "kg": kg }, "source": { "from": "bench-scale" }, "reason": "by hand" })
}

fn kg(web: &Web, bin: u32) -> String {
    web.json(&format!("/v1/bins/{bin}"))["mass"]["kg"].as_str().unwrap().to_owned()
}

fn asked(web: &Web) -> usize {
    let riddles = web.json("/v1/to-settle");
    riddles.as_array().unwrap().iter().filter(|riddle| riddle["code"] == "load-left").count()
}

#[test]
fn a_run_that_never_went_is_taken_back() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let run = web.done(
        "POST",
        "/v1/runs",
        &json!({ "stops": ["Quayside"], "loads": [{ "bin": 1 }, { "bin": 2 }], "distance_km": "30" }),
    );
    let path = format!("/v1/runs/{}/take-back", run["id"]);
    web.done("POST", "/v1/benches/1/drops", &weight(1, "0.250"));
    assert_eq!((kg(&web, 1), kg(&web, 2), asked(&web)), ("0.250".into(), "0.000".into(), 2));
    let refused = web.write("POST", &path, &json!({ "reason": " " }));
    assert_eq!(refused.problem(), "no-reason");
    web.done("POST", &path, &json!({ "reason": "the van would not start" }));
    assert_eq!((kg(&web, 1), kg(&web, 2), asked(&web)), ("4.250".into(), "4.000".into(), 0));
    assert_eq!(web.json("/v1/bins/1")["last_gross"]["kg"], "5.100", "what is expected of it on the scale");
    assert_eq!(web.write("POST", &path, &json!({ "reason": "again" })).problem(), "run-gone");
    assert_eq!(web.write("POST", "/v1/runs/99/take-back", &json!({ "reason": "x" })).problem(), "unknown-run");
    let year = web.json("/v1/reports/year.json");
    assert_eq!(year["trips"], json!([]), "it was no trip");
    let listed = web.json("/v1/runs");
    assert_eq!((&listed[0]["taken_back"], &listed[0]["loads"][0]["bin"]), (&json!(true), &json!(1)));
    // Of a run on a ticket nothing is taken back until the ticket is void.
    let run = web.done("POST", "/v1/runs", &json!({ "stops": ["Quayside"], "loads": [{ "bin": 1 }] }))["id"].clone();
    let line = json!({ "text": "#1", "net": { "kg": "4.25" }, "bins": [{ "bin": 1 }] });
    let ticket = web.done("POST", "/v1/tickets", &json!({ "buyer": "Quayside", "lines": [line] }))["id"].clone();
    let path = format!("/v1/runs/{run}/take-back");
    let refused = web.write("POST", &path, &json!({ "reason": "no" }));
    assert_eq!((refused.status, refused.problem().as_str()), (409, "run-ticketed"));
    assert_eq!(web.json("/v1/runs")[0]["tickets"], json!([ticket]));
    web.done("POST", &format!("/v1/tickets/{ticket}/void"), &json!({ "reason": "another week's" }));
    web.done("POST", "/v1/bins/1/empty", &json!({ "reason": "swept out" }));
    assert_eq!(web.write("POST", &path, &json!({ "reason": "no" })).problem(), "emptied-since");
}

#[test]
fn runs_on_the_page_and_on_the_terminal() {
    let (scratch, daemon) = bench();
    let web = daemon.web();
    let address = web.host();
    let said = |args: &[&str]| {
        let out = bismar().args(["--at", &address]).args(args).output().unwrap();
        String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap()
    };
    let text = said(&["run", "set-out", "Quayside: 1 2", "--distance", "12.5", "--minutes", "40"]);
    assert!(text.contains("the bins are on board"), "{text}");
    let run = web.json("/v1/runs")[0]["id"].to_string();
    assert!(web.get("/tickets").body.contains("It never went"));
    submit(&web, "/tickets", &format!("/runs/{run}/take-back"), &[("reason", "it rained")]);
    assert_eq!(kg(&web, 2), "4.000");
    assert!(web.get("/tickets").body.contains("taken back"));
    said(&["run", "set-out", "Quayside: 2"]);
    let run = web.json("/v1/runs")[0]["id"].to_string();
    assert!(said(&["run", "take-back", &run, "--reason", "it rained"]).contains("stand where they stood"));
    let list = said(&["run", "list"]);
    assert!(list.contains("taken back") && list.contains("1, 2"), "{list}");
    drop(daemon);
    let out = bismar().args(["run", "list", "--store"]).arg(scratch.store()).output().unwrap();
    assert_eq!(String::from_utf8(out.stdout).unwrap(), list);
}

#[test]
fn a_long_slip_gets_more_lines_without_script() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let send = |fields: &str| {
        let body = web.get("/tickets").body;
        let hidden =
            |name: &str| body.split(&format!("name=\"{name}\" value=\"")).nth(1).unwrap().split('"').next().unwrap().to_owned();
        let form = format!("token={}&key={}&{fields}", hidden("token"), hidden("key"));
        web.send("POST", "/tickets", &[("Content-Type", "application/x-www-form-urlencoded")], form.as_bytes()).unwrap()
    };
    assert!(!web.get("/tickets").body.contains("name=\"net9\""));
    let before = web.seq();
    let answer = send("buyer=Quayside&unit=kg&lines=8&net1=1.00&text1=turnings&more=yes");
    assert_eq!((answer.status, web.seq()), (200, before));
    for kept in ["name=\"net16\"", "value=\"turnings\"", "name=\"lines\" value=\"16\"", "value=\"1.00\""] {
        assert!(answer.body.contains(kept), "{kept}: {}", answer.body);
    }
    let most = send("unit=kg&lines=196&more=yes").body;
    assert!(most.contains("name=\"net200\"") && !most.contains("name=\"more\""));
    let lines: String = (1..=17).map(|line| format!("&net{line}=1.00&text{line}=l{line}")).collect();
    let answer = send(&format!("buyer=Quayside&unit=kg&lines=24{lines}"));
    assert_eq!(answer.status, 303, "{}", answer.body);
    assert_eq!(web.json("/v1/tickets")[0]["lines"].as_array().unwrap().len(), 17);
}
