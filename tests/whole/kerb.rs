//! The owner's marks and the kerb list: told, shown beside the pay, ordered, and taken along as one file.

use super::daemon::{Daemon, bismar};
use super::routes::submit;
use super::scratch::Scratch;
use super::web::Web;
use serde_json::{Value, json};

/// Three feeds: taps with a known pay of 30.00 an hour over one lot, fans with 2.00, leads with none.
fn bench() -> (Scratch, Daemon) {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    web.done("POST", "/v1/grades", &json!({ "name": "brass" }));
    web.done("POST", "/v1/buyers", &json!({ "name": "Quayside" }));
    web.done("POST", "/v1/quotes", &json!({ "buyer": "Quayside", "grade": "brass", "price": "5.00/kg" }));
    web.done("POST", "/v1/bins", &json!({ "number": 1, "grade": "brass" }));
    for feed in ["taps", "fans", "leads"] {
        web.done("POST", "/v1/feeds", &json!({ "name": feed }));
    }
    let session = web.done("POST", "/v1/benches/1/sessions", &json!({}))["id"].clone();
    web.done("POST", &format!("/v1/sessions/{session}/pause"), &json!({}));
    for (feed, kg) in [("taps", "6"), ("fans", "0.4")] {
        worked(&web, &session, feed, kg);
    }
    (scratch, daemon)
}

/// A lot that took an hour and gave so much brass.
fn worked(web: &Web, session: &Value, feed: &str, kg: &str) {
    web.done("POST", &format!("/v1/sessions/{session}/legs"), &json!({ "feed": feed }));
    let lot = web.done("POST", "/v1/benches/1/lots", &json!({ "feed": feed, "pieces": 9, "reason": "counted" }))["id"].clone();
    let drop = json!({ "bin": 1, "mass": { "kg": kg }, "source": { "from": "hanging-scale" }, "reason": "heavy" });
    web.done("POST", "/v1/benches/1/drops", &drop);
    web.done("POST", &format!("/v1/lots/{lot}/minutes"), &json!({ "minutes": 60, "what": "at the vice" }));
    web.done("POST", &format!("/v1/lots/{lot}/close"), &json!({}));
}

fn listed(web: &Web, question: &str) -> Vec<(String, String, String)> {
    let list = web.json(&format!("/v1/reports/kerb.json{question}"));
    let text = |line: &Value, key: &str| line[key].as_str().unwrap().to_owned();
    let lines = list["lines"].as_array().unwrap().iter();
    lines.map(|line| (text(line, "feed"), text(line, "when"), text(line, "reason"))).collect()
}

fn feeds(web: &Web, question: &str) -> Vec<String> {
    listed(web, question).into_iter().map(|(feed, when, _)| format!("{feed} {when}")).collect()
}

#[test]
fn marks_stand_beside_the_pay_and_may_veto_it() {
    let (scratch, daemon) = bench();
    let web = daemon.web();
    let path = "/v1/feeds/Taps/marks";
    let first = web.done("PATCH", path, &json!({ "strain": "much", "mess": "some" }));
    assert_eq!(web.write("PATCH", path, &json!({ "strain": "much" })).json()["made_now"], false, "it is so already");
    web.done("PATCH", path, &json!({ "space": "some", "veto": "  my wrist \n" }));
    let taps = web.json("/v1/marks")[2].clone();
    assert_eq!(taps["marks"], json!({ "strain": "much", "mess": "some", "space": "some", "veto": "my wrist" }));
    let seen = format!("\"{}\"", first["id"]);
    let headers = [("Content-Type", "application/json"), ("If-Match", seen.as_str())];
    let stale = web.send("PATCH", path, &headers, b"{\"veto\":null}").unwrap();
    assert_eq!((stale.status, stale.problem()), (412, "changed-meanwhile".to_owned()));
    assert_eq!(web.write("PATCH", "/v1/feeds/lamps/marks", &json!({ "mess": "some" })).problem(), "unknown-name");
    assert_eq!(web.write("PATCH", path, &json!({ "mess": "very" })).problem(), "bad-body");
    assert_eq!(web.write("PATCH", path, &json!({ "dust": "some" })).problem(), "bad-body");
    assert_eq!(web.write("PATCH", path, &json!({ "veto": " " })).problem(), "no-reason");

    // Beside the pay, in every form.
    let report = web.json("/v1/reports/hour?left=true");
    let line = report["feeds"].as_array().unwrap().iter().find(|feed| feed["feed"] == "taps").unwrap().clone();
    assert_eq!((&line["adds_per_hour"]["value"], &line["marks"]["veto"]), (&json!("30.00"), &json!("my wrist")));
    let words = "much strain, some mess, some space, not this: my wrist";
    assert!(web.get("/reports/hour?left=true").body.contains(&format!("Your marks: {words}")));
    assert!(web.get("/v1/reports/hour.csv?left=true").body.contains(&format!("\"{words}\"")));
    let said = |words: &[&str]| {
        let out = bismar().arg("--at").arg(scratch.socket()).args(words).output().unwrap();
        (out.status.success(), String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap())
    };
    assert!(said(&["report", "hour", "--left"]).1.contains(&format!("your marks: {words}")));

    // By verb and by form.
    assert_eq!(said(&["feed", "mark", "taps", "--no-veto", "--strain", "none"]), (true, "feed \"taps\" is marked\n".to_owned()));
    assert!(!said(&["feed", "mark", "taps"]).0, "nothing is told");
    assert!(said(&["feed", "marks"]).1.contains("taps   none    some  some"));
    let seen = web.json("/v1/marks")[2]["version"].to_string();
    let fields = [("feed", "taps"), ("seen", &seen), ("strain", "some"), ("mess", "none"), ("space", "none"), ("veto", "")];
    assert_eq!(submit(&web, "/feeds", "/feeds/marks", &fields), "/feeds");
    assert_eq!(web.json("/v1/marks")[2]["marks"], json!({ "strain": "some", "mess": "none", "space": "none", "veto": null }));
    assert!(web.get("/feeds").body.contains("taps: some strain"));
}

#[test]
fn the_list_is_in_the_order_of_what_an_hour_brings() {
    let (scratch, daemon) = bench();
    let web = daemon.web();
    // One lot each says little: nothing is sure, and one that is not known comes last.
    assert_eq!(feeds(&web, ""), ["taps room-left", "fans room-left", "leads room-left"]);
    let why: Vec<String> = listed(&web, "?floor=10").into_iter().map(|(.., reason)| reason).collect();
    let expected = [
        "brings the 10.00 EUR that you ask so far, over 1 lot: too few to be sure",
        "less than the 10.00 EUR that you ask so far, over 1 lot: too little to be sure",
        "nothing is known of it: a trial against the clock would tell",
    ];
    assert_eq!(why, expected);
    // Four lots alike leave no doubt.
    let session = web.json("/v1/sessions")[0]["id"].clone();
    for _ in 0..3 {
        worked(&web, &session, "taps", "6");
        worked(&web, &session, "fans", "0.4");
    }
    assert_eq!(feeds(&web, "?floor=10"), ["taps take-first", "leads room-left", "fans leave-today"]);
    assert_eq!(
        web.json("/v1/reports/kerb?floor=10")["lines"][0]["adds_per_hour"],
        json!({ "value": "30.00", "low": "30.00", "high": "30.00" })
    );

    // What the owner told is the floor where none is asked.
    assert_eq!(web.write("PATCH", "/v1/limits", &json!({ "floor_per_hour": { "amount": "-1" } })).problem(), "bad-price");
    assert_eq!(web.write("PATCH", "/v1/limits", &json!({ "places": 0 })).problem(), "places-out-of-range");
    web.done("PATCH", "/v1/limits", &json!({ "floor_per_hour": { "amount": "31.00" }, "places": 6 }));
    assert_eq!(web.json("/v1/limits")["floor_per_hour"], json!({ "amount": "31.00", "currency": "EUR" }));
    assert_eq!(feeds(&web, ""), ["leads room-left", "taps leave-today", "fans leave-today"]);
    web.done("PATCH", "/v1/limits", &json!({ "floor_per_hour": { "amount": "5", "currency": "USD" } }));
    let list = web.json("/v1/reports/kerb");
    assert!(list["floor_per_hour"].is_null() && list["notes"].to_string().contains("5.00 USD, is in another currency"), "{list}");
    web.done("PATCH", "/v1/limits", &json!({ "floor_per_hour": null }));

    // A veto, and a day on which the hands ache.
    web.done("PATCH", "/v1/feeds/taps/marks", &json!({ "strain": "some" }));
    web.done("PATCH", "/v1/feeds/fans/marks", &json!({ "veto": "greasy" }));
    assert_eq!(feeds(&web, "?strain=none"), ["leads room-left", "taps leave-today", "fans leave-today"]);
    let listed = listed(&web, "?strain=none");
    assert_eq!(listed[1].2, "some strain on the hands, more than today allows");
    assert_eq!(listed[2].2, "not this, you said: greasy");
    for (question, problem) in
        [("?strain=very", "bad-body"), ("?floor=much", "bad-price"), ("?buyer=No", "unknown-name"), ("?x=1", "bad-query")]
    {
        assert_eq!(web.get(&format!("/v1/reports/kerb{question}")).problem(), problem, "{question}");
    }

    let csv = web.get("/v1/reports/kerb.csv").body;
    assert!(csv.contains("taps,,take-first,30.00,30.00,30.00,EUR,4,no,"), "{csv}");
    let page = web.get("/reports/kerb").body;
    assert!(page.contains("Take it first") && page.contains("aria-current=\"page\">At the kerb"), "{page}");
    let said = |more: &[&str]| {
        let out = bismar().args(["report", "kerb"]).args(more).output().unwrap();
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8(out.stdout).unwrap()
    };
    let (socket, store) = (scratch.socket().display().to_string(), scratch.store().display().to_string());
    for from in [["--at", &socket], ["--store", &store]] {
        let text = said(&from);
        assert!(text.contains("Take it first\n  taps: 30.00 (30.00 to 30.00)\n"), "{text}");
    }
    assert!(said(&["--at", &socket, "--strain", "none"]).contains("Leave it today\n  taps"));
    let file = said(&["--at", &socket, "--form", "html"]);
    assert_eq!(file, web.get("/v1/reports/kerb.html").body, "the file is the same");
}

/// Whatever could make a browser reach for something else.
#[test]
fn the_file_asks_for_nothing() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    web.done("POST", "/v1/feeds", &json!({ "name": "<img src=//x.example/y>" }));
    let answer = web.get("/v1/reports/kerb.html");
    assert!(answer.header("content-security-policy").unwrap().starts_with("default-src 'none'; style-src 'unsafe-inline'"));
    let file = answer.body.to_lowercase();
    assert!(file.contains("&lt;img src"), "a name stays a name");
    for reach in
        ["<script", "<img", "<a ", "<form", "<iframe", "src=", "url(", "@import", "http:", "https:", "//", "<object", "<base"]
    {
        let file = file.replace("&lt;img src=//x.example/y&gt;", "");
        assert!(!file.contains(reach), "{reach}");
    }
    let links: Vec<&str> = file.split("<link").skip(1).map(|link| link.split('>').next().unwrap()).collect();
    assert_eq!(links, [" rel=\"icon\" href=\"data:,\""]);
}

#[test]
fn a_trial_is_one_sample() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let session = web.json("/v1/sessions")[0]["id"].clone();
    let trial = web.done("POST", "/v1/benches/1/trials", &json!({ "minutes": 30, "feed": "leads" }))["id"].clone();
    let drop = json!({ "bin": 1, "mass": { "kg": "1" }, "source": { "from": "hanging-scale" }, "reason": "heavy" });
    web.done("POST", "/v1/benches/1/drops", &drop);
    let trials = web.json("/v1/trials");
    let id = trials[0]["id"].clone();
    web.done("POST", &format!("/v1/trials/{id}/end"), &json!({}));
    web.done("POST", &format!("/v1/sessions/{session}/pause"), &json!({}));
    let list = web.json("/v1/reports/kerb");
    let leads = list["lines"].as_array().unwrap().iter().find(|line| line["feed"] == "leads").unwrap().clone();
    assert_eq!((&leads["by_trial"], &leads["when"]), (&json!(true), &json!("room-left")), "{trial} {leads}");
    assert_eq!(leads["reason"], "brought something in one trial against the clock: one sample");
}
