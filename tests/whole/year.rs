//! Buyers over time and the year, in every form.

use super::daemon::{Daemon, bismar};
use super::scratch::Scratch;
use super::web::Web;
use serde_json::{Value, json};

fn bench() -> (Scratch, Daemon) {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    web.done("POST", "/v1/grades", &json!({ "name": "copper" }));
    web.done("POST", "/v1/bins", &json!({ "number": 1, "grade": "copper" }));
    web.done("PUT", "/v1/benches/1/bin", &json!({ "number": 1 }));
    let check =
        json!({ "nominal": { "kg": "5" }, "shown": { "kg": "5.000" }, "within": { "grams": "0.1" }, "source": "a class weight" });
    web.done("POST", "/v1/benches/1/check-weights", &check);
    for buyer in ["Quayside", "Uphill"] {
        web.done("POST", "/v1/buyers", &json!({ "name": buyer }));
        let quote = json!({ "buyer": buyer, "grade": "copper", "price": "10.00/kg", "day": "2026-01-01" });
        web.done("POST", "/v1/quotes", &quote);
    }
    (scratch, daemon)
}

/// Ten kilograms into the bin, and all of it to a buyer who finds so much and pays nine of the ten that they quoted.
fn sold(web: &Web, buyer: &str, day: &str, kg: &str, amount: &str) -> Value {
    let weight = json!({ "bin": 1, "mass": { "kg": "10.000" }, "source": { "from": "bench-scale" }, "reason": "by hand" });
    web.done("POST", "/v1/benches/1/drops", &weight);
    let line = json!({ "text": "#1", "grade": "copper", "net": { "kg": kg }, "price": "9.00/kg", "amount": amount, "bins": [{ "bin": 1 }] });
    let slip = json!({ "buyer": buyer, "day": day, "division": { "kg": "0.01" }, "lines": [line] });
    let id = web.done("POST", "/v1/tickets", &slip)["id"].clone();
    // The quote of the day must not become the next one's: each is asked what it quoted at the start.
    let again = json!({ "buyer": buyer, "grade": "copper", "price": "10.00/kg", "day": day });
    web.done("POST", "/v1/quotes", &again);
    id
}

#[test]
fn a_buyer_is_known_by_three_tickets_and_a_scale_by_two_buyers() {
    let (scratch, daemon) = bench();
    let web = daemon.web();
    let report = || web.json("/v1/reports/buyers");
    for (day, kg, amount) in [("2026-02-01", "9.80", "88.20"), ("2026-02-08", "9.79", "88.11")] {
        sold(&web, "Quayside", day, kg, amount);
    }
    assert!(report()["buyers"][0]["bias"].is_null() && report()["buyers"][0]["prices"][0]["expected"].is_null());
    sold(&web, "Quayside", "2026-02-15", "9.81", "88.29");
    let known = report()["buyers"][0].clone();
    // −2.0, −2.1 and −1.9 per cent: mean −2, s = 0.1, t(2) = 4.303, so ± 4.303 · 0.1/√3 = 0.248.
    let bias = &known["bias"];
    assert_eq!([&bias["percent"], &bias["low"], &bias["high"]], ["-2.000", "-2.248", "-1.752"], "{known}");
    let with_ours: f64 = bias["low_with_ours"].as_str().unwrap().parse().unwrap();
    assert!(with_ours < -2.248, "our own bound stands beside it: {with_ours}");
    let price = &known["prices"][0];
    assert_eq!([&price["quoted"], &price["expected"]], ["10.00/kg", "9.0000/kg"], "{price}");
    assert!(report()["suspect_our_scale"].is_null(), "one buyer alone");
    for (day, kg, amount) in [("2026-03-01", "9.90", "89.10"), ("2026-03-08", "9.89", "89.01"), ("2026-03-15", "9.91", "89.19")] {
        sold(&web, "Uphill", day, kg, amount);
    }
    assert_eq!(report()["suspect_our_scale"], "under");
    let page = web.get("/reports/buyers").body;
    assert!(page.contains("look at our own scale first") && page.contains("a guess from what this buyer paid"), "{page}");
    assert!(web.get("/v1/reports/buyers.csv").body.contains("Their scales and ours,Quayside,3,3,-2.000,-2.248,-1.752,"));
    drop(daemon);
    let out = bismar().args(["report", "buyers", "--store"]).arg(scratch.store()).output().unwrap();
    let said = String::from_utf8(out.stdout).unwrap();
    assert!(said.contains("look at our own scale first") && said.contains("9.0000/kg"), "{said}");
}

#[test]
fn a_year_by_the_ticket_and_by_the_payment() {
    let (scratch, daemon) = bench();
    let web = daemon.web();
    sold(&web, "Quayside", "2025-12-30", "10.00", "90.00");
    let second = sold(&web, "Uphill", "2026-02-08", "10.00", "90.00");
    let first = web.json("/v1/tickets")[1]["id"].clone();
    let pay = |ticket: &Value, more: Value| {
        let mut body = json!({ "method": "cheque", "amount": { "amount": "90.00" } });
        body.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        web.done("POST", &format!("/v1/tickets/{ticket}/payments"), &body);
    };
    pay(&first, json!({ "day": "2026-01-10", "fee": "1.50" }));
    pay(&second, json!({ "day": "2026-03-01", "held": true, "amount": { "amount": "40.00" } }));
    pay(&second, json!({ "day": "2026-02-20", "amount": { "amount": "30.00" } }));
    let run = json!({ "stops": ["Uphill"], "day": "2026-02-08", "loads": [{ "bin": 1 }], "distance_km": "21.4", "minutes": 55 });
    web.done("POST", "/v1/runs", &run);
    web.done(
        "POST",
        "/v1/spendings",
        &json!({ "sort": "tools", "what": "=1+1", "day": "2026-02-02", "cost": { "amount": "12.00" } }),
    );
    let report = |year: u32| web.json(&format!("/v1/reports/year?year={year}"));
    let income = |view: &Value, key: &str| {
        let row = |row: &Value| format!("{} {} {}", row["month"], row["buyer"], row["amount"]["amount"]).replace('"', "");
        view[key].as_array().unwrap().iter().map(row).collect::<Vec<String>>()
    };
    let (old, new) = (report(2025), report(2026));
    assert_eq!((income(&old, "earned"), income(&old, "received")), (vec!["2025-12 Quayside 90.00".into()], vec![]));
    assert_eq!(income(&new, "earned"), ["2026-02 Uphill 90.00"]);
    assert_eq!(income(&new, "received"), ["2026-01 Quayside 90.00", "2026-02 Uphill 30.00"]);
    let amounts = |key: &str| new[key][0]["amount"].clone();
    assert_eq!([amounts("fees"), amounts("unpaid"), amounts("held")], ["1.50", "60.00", "40.00"]);
    assert_eq!([&new["trips"][0]["distance_km"], &new["trips"][0]["to"]], ["21.4", "Uphill"]);
    assert_eq!(new["spent"][0]["amount"]["amount"], "12.00");
    let table = web.get("/v1/reports/year.csv?year=2026").body;
    assert!(table.contains("Income by the day it was paid,2026-01,Quayside,copper,90.00,EUR,"), "{table}");
    assert!(csv::Reader::from_reader(table.as_bytes()).records().all(|row| row.is_ok()), "one width");
    let page = web.get("/reports/year?year=2026").body;
    assert!(page.contains("The year 2026") && page.contains("local codes"), "{page}");
    assert_eq!(web.get("/v1/reports/year?year=12").problem(), "bad-query");
    assert_eq!(web.get("/v1/reports/year?year=soon").problem(), "bad-query");
    drop(daemon);
    let out = bismar().args(["report", "year", "--year", "2026", "--store"]).arg(scratch.store()).output().unwrap();
    let said = String::from_utf8(out.stdout).unwrap();
    assert!(said.contains("2026-02  Uphill") && said.contains("21.4"), "{said}");
}
