//! When to go: the same figures on the page, as JSON, as CSV and on the terminal, with and without the daemon.

use super::daemon::{Daemon, bismar};
use super::scratch::Scratch;
use serde_json::json;

#[test]
fn when_to_go_is_the_same_in_every_form() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    web.done("POST", "/v1/buyers", &json!({ "name": "Quayside" }));
    web.done("POST", "/v1/grades", &json!({ "name": "copper" }));
    web.done("POST", "/v1/bins", &json!({ "number": 3, "grade": "copper", "capacity": { "kg": "20" } }));
    web.done("POST", "/v1/quotes", &json!({ "buyer": "Quayside", "grade": "copper", "price": "6.00/kg" }));
    let drop = json!({ "bin": 3, "mass": { "kg": "12.500" }, "source": { "from": "bench-scale" }, "reason": "by hand" });
    web.done("POST", "/v1/benches/1/drops", &drop);
    let report = web.json("/v1/reports/when-to-go.json?trip=15&days=3");
    assert_eq!((report["go"].as_str(), report["by_day"].as_array().unwrap().len()), (Some("too-few-weeks"), 4));
    // 15 of 75.00 are 20 %, and with no whole week nothing is said to come.
    let last = &report["by_day"][3];
    assert_eq!((&last["value"]["slow"], &last["trip_percent"]["middle"]), (&json!("75.00"), &json!("20.0")));
    assert_eq!(report["trip"], json!({ "amount": "15.00", "time": "0.00", "from": "asked", "buyer": null, "run": null }));
    let table = web.get("/v1/reports/when-to-go.csv?trip=15&days=3").body;
    assert!(table.contains(&format!("trip,{},,,,20.0,20.0,20.0,per cent", last["day"].as_str().unwrap())), "{table}");
    let page = web.get("/reports/when-to-go?trip=15&days=3").body;
    assert!(page.contains("Too little data") && page.contains("<svg") && page.contains("20.0"), "{page}");
    let said = |args: &[&str]| {
        let out = bismar().args(args).output().unwrap();
        String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap()
    };
    let verb = ["report", "when-to-go", "--trip", "15", "--days", "3"];
    let text = said(&[&["--at", &web.host()], &verb[..]].concat());
    assert!(text.contains("Too little data") && text.contains("20.0") && text.contains("copper"), "{text}");

    for (asked, words) in
        [("trip=x", "trip: "), ("trip=-1", "trip: "), ("days=0", "days: "), ("days=92", "days: "), ("day=1", "unknown field")]
    {
        let answer = web.get(&format!("/v1/reports/when-to-go.json?{asked}"));
        assert!((400..=422).contains(&answer.status), "{asked}: {answer:?}");
        assert!(answer.json()["detail"].as_str().unwrap().contains(words), "{asked}: {answer:?}");
    }
    // Without word of what a trip costs no share is shown; with a yard and what driving costs it is reckoned.
    assert_eq!(web.json("/v1/reports/when-to-go.json")["go"], "no-trip");
    assert!(!web.get("/reports/when-to-go").body.contains("<svg"));
    web.done("PATCH", "/v1/buyers/Quayside/yard", &json!({ "distance": "25 km", "minutes": 30, "minutes_there": 30 }));
    web.done("PATCH", "/v1/vehicle", &json!({ "running": { "cost": { "amount": "0.30" }, "per": "km" } }));
    let trip = web.json("/v1/reports/when-to-go.json")["trip"].clone();
    assert_eq!((&trip["amount"], &trip["buyer"]), (&json!("15.00"), &json!("Quayside")), "50 km at 0.30");
}
