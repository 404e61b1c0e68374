//! The life of a lot and what an hour on it is worth, through HTTP, the pages and the command line.

use super::daemon::{Daemon, bismar};
use super::scratch::Scratch;
use super::web::Web;
use serde_json::{Value, json};

/// Away from the bench, so that the hours do not hang on how fast this test runs: the clock of the bench is paused at once.
const LOTS: [(&str, &str, &str, u32); 4] =
    [("10", "1.50", "8.00", 300), ("20", "2.50", "17.00", 600), ("10", "1.00", "8.50", 300), ("20", "3.00", "16.00", 600)];

fn bench() -> (Scratch, Daemon) {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    for grade in ["copper", "steel"] {
        web.done("POST", "/v1/grades", &json!({ "name": grade }));
    }
    for buyer in ["Quayside", "Hill & Son"] {
        web.done("POST", "/v1/buyers", &json!({ "name": buyer }));
    }
    for (buyer, grade, price) in
        [("Quayside", "copper", "6.00/kg"), ("Quayside", "steel", "0.20/kg"), ("Hill & Son", "copper", "6.50/kg")]
    {
        web.done("POST", "/v1/quotes", &json!({ "buyer": buyer, "grade": grade, "price": price }));
    }
    web.done("POST", "/v1/bins", &json!({ "number": 1, "grade": "copper" }));
    web.done("POST", "/v1/bins", &json!({ "number": 2, "grade": "steel" }));
    web.done("POST", "/v1/feeds", &json!({ "name": "motors" }));
    let session = web.done("POST", "/v1/benches/1/sessions", &json!({ "feed": "motors" }))["id"].clone();
    web.done("POST", &format!("/v1/sessions/{session}/pause"), &json!({}));
    (scratch, daemon)
}

fn weight(kg: &str) -> Value {
    json!({ "mass": { "kg": kg }, "source": { "from": "hanging-scale", "division": { "grams": "10" } }, "reason": "too heavy" })
}

fn enter(web: &Web, bin: u32, kg: &str) -> u64 {
    let mut body = weight(kg);
    body["bin"] = json!(bin);
    web.done("POST", "/v1/benches/1/drops", &body)["id"].as_u64().unwrap()
}

fn lot(web: &Web, kg: &str) -> u64 {
    let mut body = weight(kg);
    body["feed"] = json!("motors");
    web.done("POST", "/v1/benches/1/lots", &body)["id"].as_u64().unwrap()
}

fn hour(web: &Web, question: &str) -> Value {
    web.json(&format!("/v1/reports/hour{question}"))["feeds"][0].clone()
}

fn says(feed: &Value, words: &str) -> bool {
    feed["says"].as_array().unwrap().iter().any(|line| line.as_str().unwrap().contains(words))
}

#[test]
fn four_lots_say_what_an_hour_is_worth() {
    let (scratch, daemon) = bench();
    let web = daemon.web();
    for (at, (intake, copper, steel, minutes)) in LOTS.into_iter().enumerate() {
        let lot = lot(&web, intake);
        enter(&web, 1, copper);
        let thumb = enter(&web, 2, "5");
        web.done("POST", &format!("/v1/drops/{thumb}/void"), &json!({ "which": "never-material", "reason": "a thumb" }));
        enter(&web, 2, steel);
        web.done("POST", &format!("/v1/lots/{lot}/minutes"), &json!({ "minutes": minutes, "what": "at the vice" }));
        assert_eq!(hour(&web, "")["open_lots"], 1);
        web.done("POST", &format!("/v1/lots/{lot}/close"), &json!({}));
        if at == 2 {
            let three = hour(&web, "?left=true");
            assert_eq!(three["adds_per_hour"]["value"], "1.96", "39.20 in 20 hours");
            assert!(three["adds_per_hour"]["low"].is_null() && says(&three, "too little data for an interval: 3 closed lots"));
        }
    }
    // What belongs to no lot: the feed has none open any more, and then a leg on nothing in particular.
    enter(&web, 1, "7");
    let session = web.json("/v1/sessions")[0]["id"].clone();
    web.done("POST", &format!("/v1/sessions/{session}/legs"), &json!({}));
    enter(&web, 1, "7");
    let left_out = web.json("/v1/reports/hour")["left_out"].to_string();
    assert!(left_out.contains("2 drops of 14.000 kg"), "{left_out}");

    let unsaid = hour(&web, "");
    assert!(unsaid["adds_per_hour"].is_null() && says(&unsaid, "whole value not known"), "{unsaid}");

    // Copper 8.0 and steel 49.5 of 60 kg; 8.0 × 6.50 + 49.5 × 0.20 = 52.00 + 9.90 in 30 hours.
    let left = hour(&web, "?left=true&floor=1.00");
    let grade = |at: usize, key: &str| left["grades"][at][key].clone();
    assert_eq!((&left["closed_lots"], &left["open_lots"], &left["intake"]["kg"]), (&json!(4), &json!(0), &json!("60.000")));
    assert_eq!([grade(0, "value"), grade(1, "value"), left["value_per_kg"].clone()], ["52.00", "9.90", "1.03"]);
    assert_eq!([&left["grades"][0]["percent"]["value"], &left["grades"][1]["percent"]["value"]], ["13.33", "82.50"]);
    assert_eq!([&left["loss"]["mass"]["kg"], &left["loss"]["percent"]["value"]], ["2.500", "4.17"]);
    // A drop's u is 10 g/√6 = 4.08 g, of four 8.16 g, the intakes the same: √(8.16² + (0.1333 × 8.16)²) g / 60 kg, twice.
    assert_eq!([grade(0, "weighing_percent"), grade(0, "buyer")], ["0.03", "Hill & Son"]);
    // 61.90 / 30 = 2.063; strays 1.033, −0.983, −2.117, 2.067; √(10.786 / 12) / 7.5 = 0.12641; × t(3) = 3.18245.
    assert_eq!(left["adds_per_hour"], json!({ "value": "2.06", "low": "1.66", "high": "2.47" }));
    // One an hour: copper must bring 30 − 9.90 = 20.10, which is 2.51 a kilogram, or 20.10 / 52.00 × 13.33 % of the intake.
    assert_eq!(grade(0, "break_even_price_per_kg"), json!({ "pays": "at", "value": "2.51" }));
    assert_eq!(grade(0, "break_even_percent"), json!({ "pays": "at", "value": "5.15" }));
    assert_eq!(grade(1, "break_even_price_per_kg")["pays"], "always");
    assert_eq!(left["break_even_hours"], json!({ "pays": "at", "value": "61.90" }));

    // One buyer alone, who takes no steel: 52.00 in 30 hours.
    let one = hour(&web, "?left=true&buyer=hill%20%26%20son");
    assert_eq!(one["adds_per_hour"]["value"], "1.73");
    assert!(one["grades"][1]["value"].is_null() && says(&one, "without 49.500 kg that have no quote"), "{one}");
    assert_eq!(web.get("/v1/reports/hour?buyer=Nobody").problem(), "unknown-name");
    assert_eq!(web.get("/v1/reports/hour?floor=much").problem(), "bad-price");

    // Sold whole at 0.50: 61.90 − 30.00 in 30 hours, whatever the owner says of leaving it.
    web.done("POST", "/v1/grades", &json!({ "name": "Motors" }));
    web.done("POST", "/v1/quotes", &json!({ "buyer": "Quayside", "grade": "Motors", "price": "0.50/kg" }));
    for question in ["", "?left=true"] {
        let whole = hour(&web, question);
        assert_eq!([&whole["adds_per_hour"]["value"], &whole["whole"], &whole["whole_per_kg"]], ["1.06", "quoted", "0.50"]);
    }

    let page = web.get("/reports/hour").body;
    assert!(page.contains("1.06 EUR an hour") && page.contains("aria-current=\"page\">What an hour is worth"), "{page}");
    let csv = web.get("/v1/reports/hour.csv").body;
    assert!(csv.contains("motors,grade,copper,8.000,13.33,") && csv.contains(",1.06,"), "{csv}");
    let said = |more: &[&str]| {
        let out = bismar().args(["report", "hour"]).args(more).output().unwrap();
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8(out.stdout).unwrap()
    };
    let socket = scratch.socket().display().to_string();
    let [from_daemon, from_roll] = [said(&["--at", &socket]), said(&["--store", &scratch.store().display().to_string()])];
    assert!(from_daemon.contains("motors: 1.06 EUR an hour"), "{from_daemon}");
    assert!(from_roll.contains("motors: 1.06 EUR an hour"), "{from_roll}");
    let alone = said(&["--at", &socket, "--buyer", "Hill & Son", "--left", "--form", "json"]);
    assert_eq!(serde_json::from_str::<Value>(&alone).unwrap()["feeds"][0]["adds_per_hour"]["value"], "1.73");
}

#[test]
fn a_lot_is_closed_and_opened_again() {
    let (scratch, daemon) = bench();
    let web = daemon.web();
    let lot = lot(&web, "10");
    let state = || web.json("/v1/lots")[0]["open"].clone();
    let verb = |words: &[&str]| {
        let socket = scratch.socket();
        let out = bismar().arg("intake").args(words).arg("--at").arg(&socket).output().unwrap();
        (out.status.success(), String::from_utf8_lossy(&out.stdout).into_owned() + &String::from_utf8_lossy(&out.stderr))
    };
    let id = lot.to_string();
    assert_eq!(verb(&["close", &id]), (true, format!("lot {lot} is worked off\n")));
    assert_eq!(state(), false);
    let seq = web.seq();
    let again = web.write("POST", &format!("/v1/lots/{lot}/close"), &json!({}));
    assert_eq!((again.status, again.json()["made_now"].clone(), web.seq()), (200, json!(false), seq));
    // Not counted: it came after the closing.
    enter(&web, 1, "3");
    assert_eq!(hour(&web, "")["grades"], json!([]));
    assert_eq!(verb(&["reopen", &id]), (true, format!("lot {lot} is open again\n")));
    enter(&web, 1, "2");
    web.done("POST", &format!("/v1/lots/{lot}/close"), &json!({}));
    assert_eq!(hour(&web, "")["grades"][0]["mass"]["kg"], "2.000");
    let (done, said) = verb(&["close", "999"]);
    assert!(!done && said.contains("there is no lot 999"), "{said}");
    web.done("POST", &format!("/v1/drops/{lot}/void"), &json!({ "which": "never-material", "reason": "wrong scale" }));
    assert_eq!(web.write("POST", &format!("/v1/lots/{lot}/reopen"), &json!({})).problem(), "drop-gone");
    assert!(web.json("/v1/reports/hour")["feeds"].as_array().unwrap().is_empty());
}
