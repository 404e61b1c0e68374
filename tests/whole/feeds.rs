//! Feeds and lots beside the scale: depths, counted lots, bins drawn from, arrivals, money, waiting, trials, the whole job.

use super::daemon::{Daemon, bismar};
use super::routes::submit;
use super::scratch::{Scratch, until};
use super::web::Web;
use serde_json::{Value, json};

fn bench() -> (Scratch, Daemon) {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    for (bin, (grade, price)) in (1..).zip([("copper", "6.00/kg"), ("windings", "2.00/kg")]) {
        web.done("POST", "/v1/grades", &json!({ "name": grade }));
        if bin == 1 {
            web.done("POST", "/v1/buyers", &json!({ "name": "Quayside" }));
        }
        web.done("POST", "/v1/quotes", &json!({ "buyer": "Quayside", "grade": grade, "price": price }));
        web.done("POST", "/v1/bins", &json!({ "number": bin, "grade": grade }));
    }
    for feed in ["motors", "stators"] {
        web.done("POST", "/v1/feeds", &json!({ "name": feed }));
    }
    let session = web.done("POST", "/v1/benches/1/sessions", &json!({ "feed": "motors" }))["id"].clone();
    web.done("POST", &format!("/v1/sessions/{session}/pause"), &json!({}));
    (scratch, daemon)
}

fn weight(kg: &str) -> Value {
    json!({ "mass": { "kg": kg }, "source": { "from": "hanging-scale" }, "reason": "too heavy" })
}

fn enter(web: &Web, bin: u32, kg: &str) {
    let mut body = weight(kg);
    body["bin"] = json!(bin);
    web.done("POST", "/v1/benches/1/drops", &body);
}

fn lot(web: &Web, more: Value) -> u64 {
    web.done("POST", "/v1/benches/1/lots", &more)["id"].as_u64().unwrap()
}

fn minutes(web: &Web, lot: u64, minutes: u32) {
    web.done("POST", &format!("/v1/lots/{lot}/minutes"), &json!({ "minutes": minutes, "what": "at the vice" }));
}

fn leg(web: &Web, feed: &str) {
    let session = web.json("/v1/sessions")[0]["id"].clone();
    web.done("POST", &format!("/v1/sessions/{session}/legs"), &json!({ "feed": feed }));
}

fn says(lines: &Value, words: &str) -> bool {
    lines.as_array().unwrap().iter().any(|line| line.as_str().unwrap().contains(words))
}

#[test]
fn each_depth_has_its_own_pay() {
    let (scratch, daemon) = bench();
    let web = daemon.web();
    // Ten motors, only counted, to the windings: 5 kg of them in an hour.
    let first = lot(&web, json!({ "feed": "motors", "pieces": 10, "depth": "the windings", "reason": "counted" }));
    enter(&web, 2, "5.00");
    minutes(&web, first, 60);
    web.done("POST", &format!("/v1/lots/{first}/close"), &json!({}));
    let nothing = web.write("POST", "/v1/benches/1/lots", &json!({ "feed": "motors", "reason": "x" }));
    assert_eq!(nothing.problem(), "nothing-taken");

    // 4 kg of the windings are drawn from their bin and taken further: 3 kg of copper in half an hour.
    leg(&web, "stators");
    let mut drawn = weight("4.00");
    (drawn["feed"], drawn["from_bin"], drawn["depth"]) = (json!("stators"), json!(2), json!("copper"));
    let second = lot(&web, drawn);
    assert_eq!(web.json("/v1/bins/2")["mass"]["kg"], "1.000", "the fill went down");
    enter(&web, 1, "3.00");
    minutes(&web, second, 30);
    let cost = |sort: &str, amount: &str| json!({ "sort": sort, "what": "gas", "cost": { "amount": amount } });
    let path = format!("/v1/lots/{second}/costs");
    web.done("POST", &path, &cost("consumables", "1.50"));
    web.done("POST", &path, &cost("disposal", "0.50"));
    assert_eq!(web.write("POST", &path, &cost("fuel", "1")).problem(), "not-of-a-lot");
    web.done("POST", &format!("/v1/lots/{second}/close"), &json!({}));

    let report = web.json("/v1/reports/hour?left=true");
    let feed = |name: &str| report["feeds"].as_array().unwrap().iter().find(|feed| feed["feed"] == name).unwrap().clone();
    let motors = feed("motors");
    assert_eq!((&motors["depth"], &motors["counted_lots"], &motors["pieces"]), (&json!("the windings"), &json!(1), &json!(10)));
    // 5 kg at 2.00 in an hour, left else; a tenth of it a piece.
    assert_eq!([&motors["adds_per_hour"]["value"], &motors["value_per_piece"]], ["10.00", "1.00"]);
    assert!(motors["loss"].is_null() && says(&motors["says"], "only counted"), "{motors}");
    // 3 kg at 6.00, less 4 kg at 2.00 that the bin would have brought, less 2.00: 8.00 in half an hour.
    let stators = feed("stators");
    assert_eq!([&stators["adds_per_hour"]["value"], &stators["whole_per_kg"]], ["16.00", "2.00"]);
    assert_eq!([&stators["consumables"], &stators["disposal"], &stators["loss"]["mass"]["kg"]], ["1.50", "0.50", "1.000"]);

    // Told wrongly: the draw is void, the bin has it again and the lot is gone.
    web.done("POST", &format!("/v1/drops/{second}/void"), &json!({ "which": "never-material", "reason": "not drawn" }));
    assert_eq!(web.json("/v1/bins/2")["mass"]["kg"], "5.000");
    let page = web.get("/reports/hour?left=true").body;
    assert!(page.contains("motors, taken apart to the windings") && page.contains("label class=\"tick\""), "{page}");
    assert!(web.get("/v1/reports/hour.csv?left=true").body.contains("the windings,10,0,0.00,0.00,1.00"));
    drop(daemon);
    let out = bismar().args(["report", "hour", "--left", "--store"]).arg(scratch.store()).output().unwrap();
    let said = String::from_utf8(out.stdout).unwrap();
    assert!(said.contains("motors, taken apart to the windings: 10.00 EUR an hour"), "{said}");
}

#[test]
fn the_whole_job_counts_every_hour_and_what_is_taken_back_is_nothing() {
    let (scratch, daemon) = bench();
    let web = daemon.web();
    enter(&web, 1, "10.00");
    let job = || web.json("/v1/reports/hour")["job"].clone();
    let bare = |job: Value| (job["stock"].clone(), job["bought"].clone(), job["spent"].clone());
    assert_eq!(bare(job()), (json!("60.00"), json!("0.00"), json!("0.00")));
    let came = json!({
        "from": "a refit", "what": "motors", "feed": "motors", "mass": { "kg": "40" }, "pieces": 9,
        "paid": { "amount": "5.00" }, "minutes": 30, "distance_km": "12.5"
    });
    let arrival = web.done("POST", "/v1/arrivals", &came)["id"].as_u64().unwrap();
    web.done("POST", "/v1/spendings", &json!({ "sort": "tools", "what": "blades", "cost": { "amount": "7.00" } }));
    let dollars =
        json!({ "sort": "fees", "what": "a fee", "cost": { "amount": "3.00", "currency": "USD" }, "buyer": "quayside" });
    web.done("POST", "/v1/spendings", &dollars);
    web.done("POST", "/v1/minutes", &json!({ "sort": "yard", "minutes": 90, "what": "there and back" }));
    let wrong =
        web.done("POST", "/v1/spendings", &json!({ "sort": "fuel", "what": "x", "cost": { "amount": "99" } }))["id"].clone();
    let before = job();
    // 60 + 0 − 5 − 7 − 99 over two hours and the seconds of the stretch.
    assert_eq!([&before["brings"], &before["spent"]], ["-51.00", "106.00"]);
    web.done("POST", &format!("/v1/records/{wrong}/void"), &json!({ "reason": "another's" }));
    assert_eq!(web.write("POST", &format!("/v1/records/{wrong}/void"), &json!({ "reason": "x" })).problem(), "record-gone");
    assert_eq!(web.write("POST", "/v1/records/1/void", &json!({ "reason": "x" })).problem(), "unknown-record");
    let after = job();
    assert_eq!([&after["brings"], &after["bought"], &after["spent"]], ["48.00", "5.00", "7.00"]);
    assert_eq!((&after["fetching_seconds"], &after["yard_seconds"]), (&json!(1800), &json!(5400)));
    let rate: f64 = after["per_hour"].as_str().unwrap().parse().unwrap();
    assert!(rate <= 24.0 && rate > 20.0, "{rate}: 48 in two hours and what this test took");
    assert!(says(&after["says"], "without a balance of -3.00 USD"), "{after}");

    // By the owner's word a lot came with the arrival.
    let lot = lot(&web, json!({ "feed": "motors", "pieces": 9, "reason": "counted" }));
    let told = web.write("PATCH", &format!("/v1/lots/{lot}"), &json!({ "arrival": 1 }));
    assert_eq!(told.problem(), "unknown-arrival");
    web.done("PATCH", &format!("/v1/lots/{lot}"), &json!({ "arrival": arrival, "depth": "bare" }));
    let line = web.json("/v1/arrivals")[0].clone();
    assert_eq!((&line["lots"], &line["paid"]["amount"], &line["minutes"]), (&json!([lot]), &json!("5.00"), &json!(30)));
    assert!(web.get("/v1/arrivals.csv").body.contains("a refit,motors,motors,40.000"));
    let stale = web.send(
        "PATCH",
        &format!("/v1/lots/{lot}"),
        &[("Content-Type", "application/json"), ("If-Match", "\"1\"")],
        b"{\"depth\":null}",
    );
    assert_eq!(stale.unwrap().status, 412);
    let said = |words: &[&str]| {
        let out = bismar().arg("--at").arg(scratch.socket()).args(words).output().unwrap();
        String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap()
    };
    assert!(said(&["arrival", "list"]).contains("12.5"));
    assert!(said(&["spending", "list"]).contains("taken back"));
    assert!(said(&["minutes", "list"]).contains("yard"));
    assert!(said(&["spending", "book", "2.50", "--sort", "fees", "--what", "weighing"]).contains("is booked"));
    assert!(said(&["intake", "describe", &lot.to_string(), "--pieces", "8", "--no-depth"]).contains("is described"));
    assert!(said(&["intake", "list"]).contains("arrival"));
}

#[test]
fn what_soaks_is_not_hands_on() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let mut body = weight("10");
    body["feed"] = json!("motors");
    let lot = lot(&web, body);
    enter(&web, 1, "1.00");
    minutes(&web, lot, 60);
    let waits = format!("/v1/lots/{lot}/waits");
    web.done("POST", &waits, &json!({ "minutes": 600, "what": "soaking", "clock_ran": true }));
    web.done("POST", &format!("/v1/lots/{lot}/close"), &json!({}));
    let feed = web.json("/v1/reports/hour?left=true")["feeds"][0].clone();
    // The seconds of the stretch are all taken off, and no more than those.
    assert_eq!((&feed["hands_on_seconds"], &feed["waited_seconds"]), (&json!(3600), &json!(36000)));
    assert_eq!(feed["adds_per_hour"]["value"], "6.00");
    assert_eq!(web.write("POST", &waits, &json!({ "minutes": 0, "what": "x" })).problem(), "no-time");
}

#[test]
fn a_trial_is_one_sample() {
    let (scratch, daemon) = bench();
    let web = daemon.web();
    let begin = |body: Value| web.write("POST", "/v1/benches/1/trials", &body);
    assert_eq!(begin(json!({ "minutes": 1, "seconds": 1 })).problem(), "bad-body");
    let trial = web.done("POST", "/v1/benches/1/trials", &json!({ "seconds": 2 }));
    let trial = web.json("/v1/benches/1")["trial"]["id"].as_u64().unwrap_or_else(|| panic!("{trial}"));
    assert_eq!(begin(json!({ "minutes": 1 })).problem(), "trial-runs");
    enter(&web, 1, "0.500");
    let page = web.get("/").body;
    assert!(page.contains("Against the clock: motors") && page.contains("/benches/1/countdown"), "{page}");
    let frame = web.get("/benches/1/countdown");
    assert!(frame.header("content-security-policy").unwrap().contains("frame-ancestors 'self'"));
    until("the time is up", || (web.json("/v1/benches/1")["trial"]["left_seconds"] == 0).then_some(()));
    assert!(web.get("/benches/1/countdown").body.contains("Time is up"));
    // What lands later is no part of it.
    enter(&web, 1, "7");
    submit(&web, "/", "/benches/1/trial", &[("act", "end"), ("trial", &trial.to_string()), ("pieces", "4")]);
    let bench = web.json("/v1/benches/1");
    assert!(bench["trial"].is_null(), "{bench}");
    let unsaid = web.json("/v1/trials")[0].clone();
    assert!(unsaid["adds_per_hour"].is_null() && says(&unsaid["says"], "one sample: too little data"), "{unsaid}");
    let told = web.json("/v1/reports/hour?left=true")["trials"][0].clone();
    // 0.5 kg at 6.00 in two seconds: 3.00 × 1800; a hundred pieces of four are 25 such.
    assert_eq!([&told["brings_per_hour"], &told["adds_per_hour"], &told["hundred_pieces_add"]], ["5400.00", "5400.00", "75.00"]);
    assert_eq!((&told["drops"], &told["worked_seconds"], &told["hundred_pieces_seconds"]), (&json!(1), &json!(2), &json!(50)));
    let out = bismar().arg("--at").arg(scratch.socket()).args(["trial", "list"]).output().unwrap();
    assert!(String::from_utf8(out.stdout).unwrap().contains("one sample"));
    web.done("POST", &format!("/v1/records/{trial}/void"), &json!({ "reason": "a test" }));
    assert_eq!(web.json("/v1/trials"), json!([]));
}

#[test]
fn the_page_tells_and_takes_back_without_script() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    submit(&web, "/feeds", "/arrivals", &[("from", "the kerb"), ("what", "a fan"), ("paid", "0"), ("minutes", "5")]);
    submit(&web, "/feeds", "/spendings", &[("amount", "4.20 USD"), ("sort", "fees"), ("what", "a permit")]);
    submit(&web, "/feeds", "/lots", &[("feed", "motors"), ("pieces", "3"), ("weight", "2.5kg")]);
    let said = submit(&web, "/feeds", "/lots", &[("feed", "motors")]);
    assert!(web.get(&said).body.contains("how many pieces"), "the page says why");
    let lot = web.json("/v1/lots")[0].clone();
    assert_eq!((&lot["pieces"], &lot["mass"]["kg"]), (&json!(3), &json!("2.500")));
    let arrival = web.json("/v1/arrivals")[0]["id"].to_string();
    let (id, seen) = (lot["id"].to_string(), lot["version"].to_string());
    submit(&web, "/feeds", &format!("/lots/{id}/tell"), &[("seen", &seen), ("arrival", &arrival), ("depth", "bare")]);
    let lot = web.json("/v1/lots")[0].clone();
    assert_eq!((&lot["pieces"], &lot["depth"]), (&Value::Null, &json!("bare")));
    submit(&web, "/feeds", &format!("/records/{arrival}"), &[("reason", "another's")]);
    assert_eq!(web.json("/v1/arrivals")[0]["voided"], true);
    assert_eq!(web.json("/v1/lots")[0]["arrival"], Value::Null);
    let page = web.get("/feeds").body;
    assert!(page.contains("taken back") && page.contains("4.20 USD"), "{page}");
}
