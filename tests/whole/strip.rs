//! Wire: samples and the report, through every face, and the figures reckoned again in Python.

#[path = "../support/python.rs"]
mod python;

use super::daemon::{Daemon, bismar};
use super::routes::submit;
use super::scratch::Scratch;
use super::web::Web;
use serde_json::{Value, json};

fn bench() -> (Scratch, Daemon) {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    for grade in ["house wire", "bright wire"] {
        web.done("POST", "/v1/grades", &json!({ "name": grade }));
    }
    for buyer in ["Quayside", "Millrace"] {
        web.done("POST", "/v1/buyers", &json!({ "name": buyer }));
    }
    // Millrace pays more for the metal, and takes no wire.
    for (buyer, grade, price) in
        [("Quayside", "bright wire", "8.00/kg"), ("Millrace", "bright wire", "9.00/kg"), ("Quayside", "house wire", "3.00/kg")]
    {
        web.done("POST", "/v1/quotes", &json!({ "buyer": buyer, "grade": grade, "price": price }));
    }
    web.done("POST", "/v1/feeds", &json!({ "name": "House wire" }));
    (scratch, daemon)
}

fn sample(before: &str, after: &str, seconds: Option<u32>) -> Value {
    let mut body =
        json!({ "feed": "house wire", "metal": "bright wire", "insulated": { "grams": before }, "bare": { "grams": after } });
    if let Some(seconds) = seconds {
        body["seconds"] = seconds.into();
    }
    body
}

fn kind(web: &Web, question: &str) -> Value {
    web.json(&format!("/v1/reports/wire.json{question}"))["kinds"][0].clone()
}

#[test]
fn a_sample_says_whether_stripping_pays() {
    let (scratch, daemon) = bench();
    let web = daemon.web();
    assert!(web.get("/reports/wire").body.contains("Too little data: no wire was sampled"));
    let first = web.done("POST", "/v1/wire-samples", &sample("1000", "650", None))["id"].clone();
    let untimed = kind(&web, "?disposal=0.10");
    // 0.65 × 8.00 − 0.35 × 0.10 − 3.00; twice √(0.408² + (0.65 × 0.408)²) g / 1 kg (JCGM 100:2008, 5.1.3) × 8.10.
    assert_eq!([&untimed["gain_per_kg"], &untimed["gain_per_kg_uncertainty"], &untimed["verdict"]], ["2.17", "0.01", "time-it"]);
    assert_eq!([&untimed["recovery_percent"]["value"], &untimed["recovery_uncertainty_percent"]], ["65.00", "0.10"]);
    assert!(untimed["gain_per_hour"].is_null() && untimed["buyer"] == "Quayside", "both prices are of one buyer: {untimed}");

    web.done("POST", &format!("/v1/records/{first}/void"), &json!({ "reason": "not timed" }));
    assert_eq!(web.json("/v1/reports/wire")["kinds"], json!([]));
    web.done("POST", "/v1/wire-samples", &sample("1000", "650", Some(600)));
    let timed = kind(&web, "?disposal=0.10&floor=12");
    // 6 kg an hour; it pays from (3.00 + 0.10 + 12/6) / 8.10 on.
    assert_eq!([&timed["kg_per_hour"], &timed["gain_per_hour"], &timed["break_even_percent"]], ["6.000", "12.99", "62.96"]);
    assert_eq!(timed["verdict"], "strip", "{timed}");
    assert_eq!(timed["turns"], json!(["with the time that it takes, it pays from 63.0 % of metal on"]));
    for (question, verdict) in [
        ("?disposal=0.10&floor=14", "sell-as-it-is"),
        ("?disposal=0.10&floor=12.97", "cannot-tell"),
        ("?buyer=Millrace", "no-price"),
        ("?buyer=Millrace&left=true", "strip"),
    ] {
        assert_eq!(kind(&web, question)["verdict"], verdict, "{question}");
    }
    // What the owner told is the floor where none is asked.
    web.done("PATCH", "/v1/limits", &json!({ "floor_per_hour": { "amount": "14" } }));
    assert_eq!(kind(&web, "?disposal=0.10")["verdict"], "sell-as-it-is");

    for (body, problem) in [
        (sample("1000", "1001", None), "more-than-went-in"),
        (sample("0", "0", None), "not-positive"),
        (sample("1000", "650", Some(0)), "no-time"),
        (json!({ "feed": "lamps", "metal": "bright wire", "insulated": { "kg": "1" }, "bare": { "kg": "0.5" } }), "unknown-name"),
        (json!({ "feed": "house wire", "metal": "tin", "insulated": { "kg": "1" }, "bare": { "kg": "0.5" } }), "unknown-name"),
        (json!({ "feed": "house wire", "metal": "bright wire", "insulated": { "kg": "1" } }), "bad-body"),
    ] {
        assert_eq!(web.write("POST", "/v1/wire-samples", &body).problem(), problem, "{body}");
    }
    let mut both = sample("1000", "650", Some(60));
    both["minutes"] = json!(1);
    assert_eq!(web.write("POST", "/v1/wire-samples", &both).problem(), "bad-body");
    assert_eq!(web.get("/v1/reports/wire?buyer=Nobody").problem(), "unknown-name");
    assert_eq!(web.get("/v1/reports/wire?disposal=much").problem(), "bad-price");
    assert_eq!(web.get("/v1/reports/wire?depth=1").problem(), "bad-query");

    let fields = [("feed", "house wire"), ("metal", "bright wire"), ("before", "412g"), ("after", "255g"), ("minutes", "4")];
    assert_eq!(submit(&web, "/reports/wire", "/wire-samples", &fields), "/reports/wire");
    assert!(submit(&web, "/reports/wire", "/wire-samples", &[("feed", "x"), ("before", "412")]).contains("said="));
    let page = web.get("/reports/wire").body;
    assert!(page.contains("Never burn insulation off wire") && page.contains("House wire to bright wire"), "{page}");
    let csv = web.get("/v1/reports/wire.csv").body;
    assert!(csv.contains("House wire,bright wire,sample,") && csv.contains("0.412,0.255,240"), "{csv}");
    let socket = scratch.socket().display().to_string();
    let said = |words: &[&str]| {
        let out = bismar().args(words).output().unwrap();
        String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap()
    };
    let told = [
        "wire",
        "sample",
        "house wire",
        "--metal",
        "bright wire",
        "--before",
        "0.5lb",
        "--after",
        "0.3lb",
        "--minutes",
        "2",
        "--at",
        &socket,
    ];
    assert!(said(&told).contains("is booked"));
    assert!(said(&["wire", "list", "--at", &socket]).contains("226.796185"));
    assert!(said(&["report", "wire", "--at", &socket, "--floor", "5"]).contains("House wire to bright wire: Strip it"));
    drop(daemon);
    let store = scratch.store().display().to_string();
    let folded = said(&["report", "wire", "--store", &store, "--form", "json"]);
    assert_eq!(serde_json::from_str::<Value>(&folded).unwrap()["kinds"][0]["samples"], 3);
}

/// From four samples on, each figure against numpy and scipy, from the samples alone.
#[test]
fn the_figures_are_those_that_python_reckons() {
    let Some(python) = python::python() else { return };
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let samples = [("1000", "651", 610), ("412", "255", 250), ("880", "590", 505), ("655", "419", 402), ("1203", "779", 760)];
    for (before, after, seconds) in samples {
        web.done("POST", "/v1/wire-samples", &sample(before, after, Some(seconds)));
    }
    let ours = kind(&web, "?disposal=0.10&floor=12");
    let asked = json!({ "samples": samples, "insulated": 3.0, "bare": 8.0, "disposal": 0.1, "floor": 12.0, "division": 1.0 });
    let said = python::run(&python, "wire.py", &[], &asked.to_string());
    assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    let theirs: Value = serde_json::from_slice(&said.stdout).unwrap();
    for (key, value) in theirs.as_object().unwrap() {
        let known = key.split('.').fold(&ours, |at, part| &at[part]);
        assert_eq!(known, value, "{key}: {ours} {theirs}");
    }
    // The same in kilograms: no answer changes with the unit.
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let kilograms = |grams: &str| grams.parse::<u32>().map(|grams| format!("{}.{:03}", grams / 1000, grams % 1000)).unwrap();
    for (before, after, seconds) in samples {
        let mut body = sample(before, after, Some(seconds));
        (body["insulated"], body["bare"]) = (json!({ "kg": kilograms(before) }), json!({ "kg": kilograms(after) }));
        web.done("POST", "/v1/wire-samples", &body);
    }
    assert_eq!(kind(&web, "?disposal=0.10&floor=12"), ours);
}
