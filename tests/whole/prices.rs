//! Prices through HTTP, the pages and the command line: by the piece, charges, tables, the grid, the history.

use super::daemon::{Daemon, bismar};
use super::scratch::Scratch;
use super::web::{Answer, Web};
use serde_json::{Value, json};

const CSV: (&str, &str) = ("Content-Type", "text/csv");
const JSON: (&str, &str) = ("Content-Type", "application/json");
const FORM: (&str, &str) = ("Content-Type", "application/x-www-form-urlencoded");

fn bench() -> (Scratch, Daemon) {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    for grade in ["copper", "brass", "drives"] {
        web.done("POST", "/v1/grades", &json!({ "name": grade }));
    }
    for buyer in ["Quayside", "Hill & Son"] {
        web.done("POST", "/v1/buyers", &json!({ "name": buyer }));
    }
    for (number, grade, kg) in [(1, "copper", "2.515"), (2, "drives", "6.3"), (3, "brass", "4")] {
        web.done("POST", "/v1/bins", &json!({ "number": number, "grade": grade }));
        let source = json!({ "from": "hanging-scale", "division": { "grams": "1" } });
        let body = json!({ "bin": number, "mass": { "kg": kg }, "source": source, "reason": "weighed outside" });
        web.done("POST", "/v1/benches/1/drops", &body);
    }
    (scratch, daemon)
}

fn import(web: &Web, query: &str, table: &str) -> Answer {
    web.send("POST", &format!("/v1/prices/import{query}"), &[CSV], table.as_bytes()).unwrap()
}

fn offer(web: &Web, bin: usize, buyer: usize) -> Value {
    web.json("/v1/reports/yard-run")["bins"][bin]["offers"][buyer].clone()
}

/// What a form of a page sends.
fn form(web: &Web, page: &str, path: &str, fields: &[(&str, &str)]) -> Answer {
    let text = web.get(page).body;
    let token = text.split("name=\"token\" value=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    let encoded = |text: &str| text.bytes().map(|byte| format!("%{byte:02X}")).collect::<String>();
    let mut body = format!("token={}", encoded(&token));
    for (key, value) in fields {
        body += &format!("&{}={}", encoded(key), encoded(value));
    }
    web.send("POST", path, &[FORM], body.as_bytes()).unwrap()
}

#[test]
fn pieces_charges_and_cash_stand_in_the_report() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let quote = |buyer: &str, grade: &str, price: &str| {
        web.done("POST", "/v1/quotes", &json!({ "buyer": buyer, "grade": grade, "price": price }));
    };
    quote("Quayside", "copper", "4.90/kg");
    quote("Quayside", "drives", "0.35 per piece");
    quote("Quayside", "brass", "-0.20/kg");
    // Nobody counted yet: no value, and it is said.
    let uncounted = offer(&web, 1, 0);
    assert_eq!(
        [&uncounted["value"], &uncounted["not_counted"], &uncounted["per"]],
        [&json!(null), &json!(true), &json!("piece")]
    );
    assert!(web.get("/reports/yard-run").body.contains("not counted"));
    web.done("PUT", "/v1/bins/2/pieces", &json!({ "pieces": 9 }));
    assert_eq!([offer(&web, 1, 0)["value"].clone(), offer(&web, 2, 0)["value"].clone()], ["3.15", "-0.80"]);
    // 2.515 × 4.90 = 12.3235, once a line; 12.32 + 3.15 − 0.80 = 14.67, which the published table makes 14.65 in cash
    // (Canada Revenue Agency, "Eliminating the penny": 6 and 7 go down to 5).
    let total = || web.json("/v1/reports/yard-run")["totals"][0].clone();
    assert_eq!([total()["value"].clone(), total()["in_cash"].clone()], [json!("14.67"), json!(null)]);
    web.done("PUT", "/v1/buyers/quayside/payout", &json!({ "payout": "nearest-five" }));
    assert_eq!([total()["value"].clone(), total()["in_cash"].clone()], ["14.67", "14.65"]);
    let page = web.get("/reports/yard-run").body;
    assert!(page.contains("in cash 14.65") && page.contains("the total is rounded, never a line"), "{page}");
    let csv = web.get("/v1/reports/yard-run.csv").body;
    assert!(csv.contains("in cash 14.65") && csv.contains("'-0.20/kg"), "a charge is no formula of a spreadsheet: {csv}");
    // What came since is not counted.
    let body = json!({ "bin": 2, "mass": { "kg": "0.7" }, "source": { "from": "label" }, "reason": "one more" });
    web.done("POST", "/v1/benches/1/drops", &body);
    let bin = web.json("/v1/reports/yard-run")["bins"][1].clone();
    assert_eq!([&bin["pieces"], &bin["pieces_at_kg"]], [&json!(9), &json!("6.300")]);
    assert!(web.get("/reports/yard-run").body.contains("9 pieces were counted when 6.300 kg lay there"));
    // A bin that was emptied has not been counted.
    web.done("POST", "/v1/bins/2/empty", &json!({ "reason": "sold" }));
    web.done("POST", "/v1/benches/1/drops", &body);
    assert_eq!(offer(&web, 1, 0)["not_counted"], true);
}

#[test]
fn every_refusal_names_its_field_and_stores_nothing() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    web.done("POST", "/v1/words", &json!({ "buyer": "Quayside", "word": "Red", "grade": "copper" }));
    web.done("PATCH", "/v1/grades/copper/note", &json!({ "fallback": "brass" }));
    let before = web.seq();
    let refused = |expected: (u16, &str, Option<&str>), method: &str, path: &str, body: Value| {
        let answer = web.send(method, path, &[JSON], body.to_string().as_bytes()).unwrap();
        let found = (answer.status, answer.problem(), answer.json()["field"].as_str().map(str::to_owned));
        assert_eq!(found, (expected.0, expected.1.to_owned(), expected.2.map(str::to_owned)), "{method} {path} {body}");
    };
    let quote = |key: &str, value: Value| {
        let mut body = json!({ "buyer": "Quayside", "grade": "copper", "price": "4/kg" });
        body[key] = value;
        body
    };
    for (key, value, expected) in [
        ("buyer", json!("Nobody"), (404, "unknown-name", Some("buyer"))),
        ("grade", json!("lead"), (404, "unknown-name", Some("grade"))),
        ("price", json!("310/ton"), (422, "bad-price", Some("price"))),
        ("price", json!("4.00"), (422, "bad-price", Some("price"))),
        ("price", json!("--1/kg"), (422, "bad-price", Some("price"))),
        ("currency", json!("euro"), (422, "bad-body", Some("currency"))),
        ("day", json!("2026-02-30"), (422, "bad-body", Some("day"))),
        ("minimum", json!({ "kg": "0" }), (422, "not-positive", Some("minimum"))),
        ("minimum", json!({ "stone": "1" }), (422, "bad-body", None)),
        ("deduction_percent", json!("101"), (422, "deduction-out-of-range", Some("deduction_percent"))),
        ("deduction_percent", json!("-1"), (422, "bad-price", Some("deduction_percent"))),
        ("breaks", json!([{ "from": { "kg": "0" }, "amount": "5" }]), (422, "break-at-nothing", Some("breaks"))),
        ("breaks", json!([{ "from": { "kg": "1" }, "amount": "five" }]), (422, "bad-price", Some("breaks"))),
        (
            "breaks",
            json!([{ "from": { "kg": "9" }, "amount": "5" }, { "from": { "kg": "9" }, "amount": "6" }]),
            (422, "breaks-out-of-order", Some("breaks")),
        ),
    ] {
        refused(expected, "POST", "/v1/quotes", quote(key, value.clone()));
        refused(expected, "POST", "/v1/prices", json!({ "quotes": [quote("price", json!("1/kg")), quote(key, value)] }));
    }
    let both = json!({ "buyer": "Quayside", "grade": "copper", "price": "0.35/piece", "deduction_percent": "2" });
    refused((422, "deduction-on-pieces", Some("deduction_percent")), "POST", "/v1/quotes", both);
    let two = json!({ "buyer": "Quayside", "grade": "copper", "price": "4 USD/kg", "currency": "EUR" });
    refused((422, "bad-body", Some("currency")), "POST", "/v1/quotes", two);
    refused((422, "nothing-to-keep", None), "POST", "/v1/prices", json!({ "quotes": [] }));
    refused((409, "nothing-quoted", None), "POST", "/v1/prices/same-today", json!({ "buyer": "Quayside" }));
    refused((404, "unknown-name", Some("buyer")), "POST", "/v1/prices/same-today", json!({ "buyer": "Nobody" }));
    refused((404, "unknown-bin", None), "PUT", "/v1/bins/9/pieces", json!({ "pieces": 1 }));
    refused((422, "no-pieces", None), "PUT", "/v1/bins/1/pieces", json!({ "pieces": 0 }));
    refused((409, "fallback-circle", Some("fallback")), "PATCH", "/v1/grades/brass/note", json!({ "fallback": "copper" }));
    refused((404, "unknown-name", Some("grade")), "PATCH", "/v1/grades/brass/note", json!({ "fallback": "lead" }));
    refused(
        (422, "blank-specification", Some("specification")),
        "PATCH",
        "/v1/grades/brass/note",
        json!({ "specification": " " }),
    );
    refused((422, "bad-body", Some("payout")), "PUT", "/v1/buyers/Quayside/payout", json!({ "payout": "roughly" }));
    let word = |word: &str, grade: Value| json!({ "buyer": "Quayside", "word": word, "grade": grade });
    refused((409, "word-taken", Some("word")), "POST", "/v1/words", word("RED", json!("brass")));
    refused((422, "blank-word", Some("word")), "POST", "/v1/words", word(" ", json!("brass")));
    refused((404, "unknown-word", Some("word")), "POST", "/v1/words", word("green", json!(null)));
    assert_eq!(import(&web, "?dry=1", "x").problem(), "bad-query");
    assert_eq!(web.send("POST", "/v1/prices/import", &[JSON], b"{}").unwrap().problem(), "not-csv");
    assert_eq!(web.send("POST", "/v1/prices/import", &[CSV], b"buyer,\xff").unwrap().problem(), "bad-body");
    let seen = web.send("PATCH", "/v1/grades/copper/note", &[JSON, ("If-Match", "\"1\"")], b"{\"fallback\":null}").unwrap();
    assert_eq!(seen.problem(), "changed-meanwhile");
    for path in ["as_of=soon", "unit=ton", "grade=lead", "buyer=Nobody"] {
        let answer = web.get(&format!("/v1/reports/prices?{path}"));
        assert_eq!(answer.json()["field"].as_str(), path.split('=').next(), "{answer:?}");
    }
    assert_eq!(web.seq(), before, "a refusal stores nothing");
}

const TABLE: &str = "buyer,grade,price,day,breaks,minimum,deduction_percent,stale_after_days\n\
    Quayside,Red,4.10/lb,2026-03-01,100lb=4.20; 500lb=4.30,,,\n\
    Quayside,drives,0.350/piece,2026-03-01,,,,7\n\
    Hill & Son,brass,-0.20/kg,2026-03-01,,,,\n\
    Hill & Son,copper,9.25/kg,2026-03-01,,5kg,2.5,\n";

#[test]
fn a_table_is_kept_whole_or_not_at_all_and_once() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let before = web.seq();
    let unknown = import(&web, "?dry_run=true", TABLE).json();
    assert_eq!(unknown["faults"].as_array().unwrap().len(), 1, "{unknown}");
    assert_eq!([&unknown["faults"][0]["line"], &unknown["faults"][0]["column"]], [&json!(2), &json!("grade")]);
    let refused = import(&web, "", TABLE);
    assert_eq!((refused.status, refused.problem().as_str()), (422, "bad-table"));
    assert_eq!(refused.json()["faults"], unknown["faults"], "what a dry run says, the import says");
    assert_eq!(web.seq(), before);

    web.done("POST", "/v1/words", &json!({ "buyer": "Quayside", "word": "red", "grade": "copper" }));
    let before = web.seq();
    let dry = import(&web, "?dry_run=true", TABLE).json();
    assert_eq!([&dry["kept"], &dry["already"], &dry["faults"]], [&json!(4), &json!(0), &json!([])]);
    assert_eq!(web.seq(), before, "a dry run keeps nothing");
    let first = import(&web, "", TABLE);
    assert_eq!(first.status, 201, "{first:?}");
    assert_eq!(first.json()["quotes"], dry["quotes"], "what a dry run says, the import does");
    let after = web.seq();
    assert_eq!(after, before + 4);
    let again = import(&web, "", TABLE);
    assert_eq!((again.status, &again.json()["kept"], &again.json()["already"]), (200, &json!(0), &json!(4)));
    assert_eq!(web.seq(), after, "the same table again is nothing new");

    let quotes = web.json("/v1/quotes");
    let given = |grade: &str| quotes.as_array().unwrap().iter().find(|quote| quote["grade"] == grade).unwrap().clone();
    assert_eq!([&given("drives")["price"], &given("drives")["per"]], ["0.350", "piece"]);
    assert_eq!(given("brass")["charge"], true);
    let copper =
        quotes.as_array().unwrap().iter().find(|quote| quote["buyer"] == "Quayside" && quote["grade"] == "copper").unwrap();
    assert_eq!([&copper["breaks"], &copper["price"]], ["100lb=4.20; 500lb=4.30", "4.10"]);
}

#[test]
fn the_grid_keeps_what_was_changed_and_shows_faults_where_they_are() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    web.done("POST", "/v1/quotes", &json!({ "buyer": "Quayside", "grade": "copper", "price": "8.10/kg", "day": "2026-03-01" }));
    let lines = || web.json("/v1/prices")[1]["lines"].clone();
    let line = |grade: &str| lines().as_array().unwrap().iter().find(|line| line["grade"] == grade).unwrap().clone();
    let copper = line("copper");
    let (brass, drives) = (line("brass")["grade_id"].clone(), line("drives")["grade_id"].clone());
    let key = |what: &str, grade: &Value| format!("{what}-{grade}-EUR");
    let (id, quote) = (copper["grade_id"].clone(), copper["quote"]["id"].to_string());
    let page = web.get("/quotes").body;
    assert!(page.contains(&format!("name=\"{}\" value=\"8.10/kg\"", key("price", &id))), "the last price is filled in: {page}");
    assert!(page.contains("<strong>stale</strong>"), "it is old by now");

    let before = web.seq();
    let (price, seen, other, steps) = (key("price", &id), key("seen", &id), key("price", &brass), key("breaks", &drives));
    let typed = [("buyer", "Quayside"), (&price, "8.20/kg"), (&seen, &quote), (&other, "310/ton"), (&steps, "100kg=1")];
    let refused = form(&web, "/quotes", "/quotes/grid", &typed);
    assert_eq!(refused.status, 422);
    assert!(refused.body.contains("value=\"8.20/kg\"") && refused.body.contains("value=\"310/ton\""), "what was typed stays");
    assert!(refused.body.contains("must say which") && refused.body.contains("and the price does not"), "{}", refused.body);
    assert_eq!(refused.body.matches("aria-invalid=\"true\"").count(), 2);
    assert_eq!(web.seq(), before);

    let typed = [("buyer", "Quayside"), (&price, "8.20/kg"), (&seen, &quote), (&other, "5 USD/lb")];
    assert_eq!(form(&web, "/quotes", "/quotes/grid", &typed).status, 303);
    assert_eq!(web.seq(), before + 2);
    assert_eq!([line("copper")["quote"]["amount"].clone(), line("brass")["currency"].clone()], ["8.20", "USD"]);
    // The page of somebody who still sees the old price changes nothing.
    let stale = form(&web, "/quotes", "/quotes/grid", &[("buyer", "Quayside"), (&price, "8.00/kg"), (&seen, &quote)]);
    assert!(stale.header("location").unwrap().contains("changed%20it%20meanwhile"), "{stale:?}");
    let now = line("copper")["quote"]["id"].to_string();
    let same = form(&web, "/quotes", "/quotes/grid", &[("buyer", "Quayside"), (&price, "8.20/kg"), (&seen, &now)]);
    assert!(same.header("location").unwrap().contains("nothing%20was%20changed"), "{same:?}");
    let empty = form(&web, "/quotes", "/quotes/grid", &[("buyer", "Quayside"), (&price, ""), (&seen, &now)]);
    assert!(empty.status == 422 && empty.body.contains("withdraw the quote"));
    assert_eq!(web.seq(), before + 2);

    // All still the same today: only what is older is kept anew.
    web.done(
        "POST",
        "/v1/quotes",
        &json!({ "buyer": "Hill & Son", "grade": "copper", "price": "8/kg", "day": "2026-03-01", "stale_after_days": 9 }),
    );
    let before = web.seq();
    assert_eq!(form(&web, "/quotes", "/quotes/same-today", &[("buyer", "Hill & Son")]).status, 303);
    assert_eq!(web.seq(), before + 1);
    let hill = web.json("/v1/prices")[0]["lines"][1]["quote"].clone();
    assert_eq!(
        [&hill["amount"], &hill["age_days"], &hill["stale"], &hill["stale_after_days"]],
        [&json!("8"), &json!(0), &json!(false), &json!(9)]
    );
    form(&web, "/quotes", "/quotes/same-today", &[("buyer", "Hill & Son")]);
    assert_eq!(web.seq(), before + 1);

    // A pasted table is looked at first.
    let looked =
        form(&web, "/quotes", "/quotes/import", &[("table", "buyer,grade,price\nQuayside,lead,1/ton\n"), ("act", "keep")]);
    assert!(looked.status == 422 && looked.body.contains("2 faults; nothing was kept"), "{}", looked.body);
    assert_eq!(
        form(&web, "/quotes", "/quotes/import", &[("table", "buyer,grade,price\nQuayside,drives,-5/piece\n"), ("act", "keep")])
            .status,
        303
    );
    assert_eq!(line("drives")["quote"]["charge"], true);
}

#[test]
fn grades_and_words_have_their_page() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let note = |fields: &[(&str, &str)]| form(&web, "/grades", "/grades/note", fields);
    assert_eq!(note(&[("grade", "copper"), ("fallback", "brass"), ("specification", "BERRY")]).status, 303);
    let notes = web.json("/v1/grade-notes");
    assert_eq!([&notes[1]["fallback"], &notes[1]["specification"]], ["brass", "BERRY"]);
    let circle = note(&[("grade", "brass"), ("fallback", "copper")]);
    assert!(circle.header("location").unwrap().contains("brass%20into%20copper%20into%20brass"), "{circle:?}");
    assert_eq!(form(&web, "/grades", "/words", &[("buyer", "Quayside"), ("word", "No. 1"), ("grade", "copper")]).status, 303);
    assert!(web.get("/grades").body.contains("“No. 1”"));
    form(&web, "/grades", "/words", &[("buyer", "Quayside"), ("word", "no. 1")]);
    assert!(!web.get("/grades").body.contains("“No. 1”"));
    form(&web, "/bins", "/bins/pieces", &[("bin", "2"), ("pieces", "14")]);
    assert_eq!(web.json("/v1/reports/yard-run")["bins"][1]["pieces"], 14);
    form(&web, "/quotes", "/buyers/payout", &[("buyer", "Quayside"), ("payout", "down-five"), ("seen", "0")]);
    assert_eq!(web.json("/v1/buyer-notes")[1]["payout"], "down-five");
}

#[test]
fn the_history_in_every_form_and_from_the_terminal() {
    let (scratch, daemon) = bench();
    let web = daemon.web();
    let give = |price: &str, day: &str| {
        let body = json!({ "buyer": "Quayside", "grade": "copper", "price": price, "day": day, "stale_after_days": 10 });
        web.done("POST", "/v1/quotes", &body);
    };
    give("9.25/kg", "2026-03-01");
    give("4.30/lb", "2026-03-05");
    give("4.00/lb", "2026-03-20");
    let history = |query: &str| web.json(&format!("/v1/reports/prices.json{query}"));
    let early = history("?as_of=2026-03-19");
    assert_eq!((early["series"].as_array().unwrap().len(), early["day"].as_str()), (1, Some("2026-03-19")));
    let points = early["series"][0]["points"].clone();
    // 9.25 × 0.45359237 = 4.1957294225 (NIST Handbook 44, Appendix C).
    assert_eq!(
        [&points[0]["amount"], &points[0]["exact"], &points[0]["given"]],
        [&json!("4.195729"), &json!(false), &json!("9.25/kg")]
    );
    assert_eq!(
        [&points[0]["until"], &points[1]["until"], &points[1]["stale_from"]],
        [&json!("2026-03-05"), &json!(null), &json!("2026-03-16")]
    );
    let said = early["says"].to_string();
    assert!(
        said.contains("rounded at the sixth decimal") && said.contains("stale") && said.contains("1 quote from a later day"),
        "{said}"
    );
    assert_eq!(history("?as_of=2026-02-01")["series"], json!([]));
    assert_eq!(history("?unit=kg&buyer=quayside")["series"][0]["points"][0]["amount"], "9.25");

    let page = web.get("/reports/prices").body;
    assert!(page.contains("<svg") && page.contains("in force") && page.contains("EUR/lb"), "a plot beside its table: {page}");
    let csv = web.get("/v1/reports/prices.csv").body;
    assert!(csv.starts_with("grade,buyer,currency,per,day,") && csv.lines().count() == 4, "{csv}");

    let socket = scratch.socket().display().to_string();
    let told = |arguments: &[&str]| {
        let out = bismar().args(["--at", &socket]).args(arguments).output().unwrap();
        (out.status.success(), String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap())
    };
    let done = |arguments: &[&str]| {
        let (well, said) = told(arguments);
        assert!(well, "{arguments:?}: {said}");
        said
    };
    assert!(done(&["report", "prices", "--as-of", "2026-03-19"]).contains("≈ 4.195729"));
    assert!(done(&["report", "prices", "--form", "csv"]) == csv);
    done(&["quote", "give", "Quayside", "drives", "-2.50 per piece"]);
    assert!(done(&["quote", "grid"]).contains("-2.50 EUR/piece"));
    assert!(done(&["quote", "same", "Quayside"]).contains("kept under this day"));
    done(&["bin", "pieces", "2", "4"]);
    done(&["buyer", "payout", "Quayside", "nearest-five"]);
    done(&["buyer", "word", "Quayside", "Red", "copper"]);
    done(&["grade", "note", "copper", "--fallback", "brass", "--specification", "BERRY"]);
    let notes = done(&["grade", "notes"]);
    assert!(notes.contains("BERRY") && notes.contains("Red (Quayside)"), "{notes}");
    let file = scratch.path().join("prices.csv");
    std::fs::write(&file, "buyer,grade,price,day\nQuayside,red,4.40/lb,2026-03-21\nQuayside,lead,1/ton,2026-03-21\n").unwrap();
    let file = file.display().to_string();
    let (well, said) = told(&["quote", "import", &file]);
    assert!(
        !well && said.contains("line 3, grade: ") && said.contains("line 3, price: ") && said.contains("nothing was kept"),
        "{said}"
    );
    std::fs::write(&file, "buyer,grade,price,day\nQuayside,red,4.40/lb,2026-03-21\n").unwrap();
    assert!(done(&["quote", "import", &file, "--dry-run"]).contains("1 quote would be kept"));
    assert!(done(&["quote", "import", &file]).contains("1 quote kept"));
    assert!(done(&["quote", "import", &file]).contains("0 quotes kept, 1 in the books already"));
    daemon.stop();
    let store = scratch.store().display().to_string();
    let folded = bismar().args(["report", "prices", "--as-of", "2026-03-19", "--store", &store]).output().unwrap();
    assert!(String::from_utf8(folded.stdout).unwrap().contains("≈ 4.195729"));
}
