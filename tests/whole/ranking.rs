//! Which grades earn a place, through every face.

use super::daemon::{Daemon, bismar};
use super::routes::submit;
use super::scratch::Scratch;
use serde_json::{Value, json};

#[test]
fn each_grade_is_judged_and_says_what_it_lacks() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    for grade in ["red brass", "mixed brass", "tin"] {
        web.done("POST", "/v1/grades", &json!({ "name": grade }));
    }
    web.done("POST", "/v1/buyers", &json!({ "name": "Quayside" }));
    for (grade, price) in [("red brass", "6.00/kg"), ("mixed brass", "4.00/kg")] {
        web.done("POST", "/v1/quotes", &json!({ "buyer": "Quayside", "grade": grade, "price": price }));
    }
    web.done("POST", "/v1/bins", &json!({ "number": 1, "grade": "red brass", "capacity": { "kg": "10" } }));
    let drop = json!({ "bin": 1, "mass": { "kg": "9.000" }, "source": { "from": "hanging-scale" }, "reason": "heavy" });
    web.done("POST", "/v1/benches/1/drops", &drop);
    let coarser = "coarser=Red%20Brass%3Emixed%20brass";
    let grade = |name: &str| {
        let report = web.json(&format!("/v1/reports/places?{coarser}"));
        report["grades"].as_array().unwrap().iter().find(|line| line["grade"] == name).unwrap().clone()
    };
    let red = grade("red brass");
    assert_eq!((&red["verdict"], &red["coarser"], &red["bins"]), (&json!("cannot-tell"), &json!("mixed brass"), &json!([1])));
    assert_eq!(red["reason"], "too little data: 1 days of the 28 that it takes");
    assert_eq!([&red["own_price_per_kg"], &red["coarser_price_per_kg"], &red["buyer"]], ["6.00", "4.00", "Quayside"]);
    assert_eq!((&red["full_bin"]["kg"], &red["full_learned"]), (&json!("10.000"), &json!(false)));
    assert_eq!((&red["full_bin_value"]["amount"], &red["wrong_piece_costs"]["amount"]), (&json!("60.00"), &json!("20.00")));
    web.done("POST", "/v1/bins/1/full", &json!({}));
    let red = grade("red brass");
    assert_eq!((&red["full_bin"]["kg"], &red["days_to_fill"]["median"]), (&json!("9.000"), &json!(0)));
    assert_eq!(grade("mixed brass")["verdict"], "coarse");
    assert_eq!(
        grade("tin")["reason"],
        "nobody has said which coarser grade it can go in with; too little data: none of it was weighed yet; nobody has a quote for it"
    );

    // Sorting is told, and taken back; nothing is not zero.
    let path = "/v1/grades/Red%20Brass/sorting";
    web.done("PUT", path, &json!({ "minutes_a_month": 30 }));
    assert_eq!(grade("red brass")["sorting_minutes_a_month"], 30);
    web.done("PUT", path, &json!({ "minutes_a_month": null }));
    assert!(grade("red brass")["sorting_minutes_a_month"].is_null());
    assert_eq!(web.write("PUT", path, &json!({ "minutes_a_month": 44_641 })).problem(), "longer-than-a-month");
    assert_eq!(web.write("PUT", path, &json!({ "hours": 1 })).problem(), "bad-body");
    assert_eq!(web.write("PUT", "/v1/grades/lead/sorting", &json!({ "minutes_a_month": 1 })).problem(), "unknown-name");
    for (question, problem) in [
        ("?floor=x", "bad-price"),
        ("?places=many", "bad-query"),
        ("?buyer=No", "unknown-name"),
        ("?y=1", "bad-query"),
        ("?coarser=tin", "bad-query"),
        ("?coarser=tin%3Elead", "unknown-name"),
        ("?as_of=soon", "bad-body"),
    ] {
        assert_eq!(web.get(&format!("/v1/reports/places{question}")).problem(), problem, "{question}");
    }

    // By the forms of the page: an empty field takes back.
    assert_eq!(submit(&web, "/reports/places", "/limits", &[("floor", "12.50"), ("places", "6")]), "/reports/places");
    let limits = web.json("/v1/limits");
    assert_eq!((&limits["floor_per_hour"]["amount"], &limits["places"]), (&json!("12.50"), &json!(6)));
    assert_eq!(
        submit(&web, "/reports/places", "/grades/sorting", &[("grade", "red brass"), ("minutes", "20")]),
        "/reports/places"
    );
    assert_eq!(grade("red brass")["sorting_minutes_a_month"], 20);
    submit(&web, "/reports/places", "/limits", &[("floor", ""), ("places", "6")]);
    assert!(web.json("/v1/limits")["floor_per_hour"].is_null());
    assert!(submit(&web, "/reports/places", "/limits", &[("floor", "x"), ("places", "6")]).contains("said="));
    let page = web.get(&format!("/reports/places?{coarser}")).body;
    assert!(page.contains("red brass: Cannot say") && page.contains("mixed brass: Others go in with it"), "{page}");

    let csv = web.get(&format!("/v1/reports/places.csv?{coarser}")).body;
    assert!(
        csv.contains("red brass,mixed brass,1,1,cannot-tell,,,1,9.000,Quayside,6.00,4.00,no,20,,9.000,yes,54.00,0,1,18.00,EUR,"),
        "{csv}"
    );
    let said = |words: &[&str]| {
        let out = bismar().args(words).output().unwrap();
        String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap()
    };
    let (socket, store) = (scratch.socket().display().to_string(), scratch.store().display().to_string());
    assert_eq!(said(&["grade", "sorting", "red brass", "--minutes", "0", "--at", &socket]), "sorting of \"red brass\" is told\n");
    assert_eq!(said(&["limits", "tell", "--floor", "9", "--places", "3", "--at", &socket]), "the limits are told\n");
    assert_eq!(said(&["limits", "show", "--at", &socket]), "An hour must bring: 9 EUR\nPlaces for bins: 3\n");
    for from in [["--at", &socket], ["--store", &store]] {
        let text = said(&["report", "places", from[0], from[1], "--coarser", "red brass>mixed brass"]);
        assert!(text.contains("red brass: Cannot say") && text.contains("a full bin holds 9.000 kg, worth 54.00 EUR"), "{text}");
    }
    let asked = said(&[
        "report",
        "places",
        "--at",
        &socket,
        "--places",
        "9",
        "--floor",
        "1",
        "--coarser",
        "red brass>mixed brass",
        "--form",
        "json",
    ]);
    let asked: Value = serde_json::from_str(&asked).unwrap();
    assert_eq!((&asked["places"], &asked["floor_per_hour"], &asked["reserved"]), (&json!(9), &json!("1.00"), &json!(1)));
    assert!(said(&["report", "places", "--at", &socket, "--form", "html"]).contains("Which bins earn their place"));
}
