//! The load sheet: the same in every form, one sheet of paper whatever is on board, and a phone's width.

use super::browser::{Browser, Look};
use super::daemon::{Daemon, bismar};
use super::routes::submit;
use super::scratch::Scratch;
use super::web::Web;
use fantoccini::wd::PrintConfiguration;
use serde_json::{Value, json};

/// A bin with so much in it.
fn bin(web: &Web, number: u32, grade: &str, kg: &str) {
    web.done(
        "POST",
        "/v1/bins",
        &json!({ "number": number, "grade": grade, "name": format!("the {grade}"), "tare": { "kg": "0.850" } }),
    );
    let drop = json!({ "bin": number, "mass": { "kg": kg }, "source": { "from": "bench-scale" }, "reason": "by hand" });
    web.done("POST", "/v1/benches/1/drops", &drop);
}

fn quote(web: &Web, buyer: &str, grade: &str, price: &str) {
    web.done("POST", "/v1/quotes", &json!({ "buyer": buyer, "grade": grade, "price": price, "day": "2026-03-01" }));
}

/// Two buyers, one of whom weighs in pounds and has a word of his own.
fn bench() -> (Scratch, Daemon) {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    for buyer in ["Quayside", "Millrace"] {
        web.done("POST", "/v1/buyers", &json!({ "name": buyer }));
    }
    for grade in ["copper", "leaded brass", "wire"] {
        web.done("POST", "/v1/grades", &json!({ "name": grade }));
    }
    for (number, grade, kg) in
        [(1, "copper", "10.000"), (2, "copper", "2.500"), (3, "leaded brass", "4.000"), (4, "wire", "3.000")]
    {
        bin(&web, number, grade, kg);
    }
    web.done("POST", "/v1/bins", &json!({ "number": 5, "grade": "wire" }));
    quote(&web, "Quayside", "copper", "6.00/kg");
    quote(&web, "Millrace", "leaded brass", "1.50/lb");
    web.done("POST", "/v1/words", &json!({ "buyer": "Millrace", "word": "yellow, with lead", "grade": "leaded brass" }));
    (scratch, daemon)
}

/// `Millrace: 3; Quayside: 1 2 4`, as an address has it.
const STOPS: &str = "/v1/reports/load-sheet.json?stops=Millrace%3A%203%3B%20Quayside%3A%201%202%204&day=2026-03-02";

#[test]
fn what_goes_on_board_is_the_same_in_every_form() {
    let (scratch, daemon) = bench();
    let web = daemon.web();
    let sheet = web.json(STOPS);
    let numbers: Vec<u64> = sheet["loading"].as_array().unwrap().iter().map(|bin| bin["number"].as_u64().unwrap()).collect();
    assert_eq!(numbers, [1, 4, 2, 3], "the last stop first, and of it the heaviest first");
    let (brass, copper, wire) = (&sheet["stops"][0]["lines"][0], &sheet["stops"][1]["lines"][0], &sheet["stops"][1]["lines"][1]);
    // 4 kg are 8.818 lb by the exact pound (NIST Handbook 44, Appendix C), and 1.50 a pound makes 13.23 of them.
    assert_eq!([&brass["in_buyers_unit"], &brass["price"], &brass["value"]["amount"]], ["8.818 lb", "1.50 EUR/lb", "13.23"]);
    assert_eq!(brass["bins"][0]["gross_in_buyers_unit"], "10.692 lb");
    assert_eq!(brass["buyers_words"], json!(["yellow, with lead"]));
    assert_eq!(
        [&copper["in_buyers_unit"], &copper["value"]["amount"], &copper["quote_day"]],
        ["12.500 kg", "75.00", "2026-03-01"]
    );
    assert_eq!([&wire["price"], &wire["no_value"]], [&Value::Null, &json!("no quote")]);
    assert_eq!([&sheet["stops"][1]["value"]["amount"], &sheet["stops"][1]["without_kg"]], ["75.00", "3.000"]);
    assert_eq!([&sheet["total"]["kg"], &sheet["gross"]["kg"]], ["19.500", "22.900"]);
    let said: Vec<&str> = sheet["cautions"].as_array().unwrap().iter().map(|caution| caution["text"].as_str().unwrap()).collect();
    assert!(
        said.iter().any(|text| text.starts_with("Lead on board")) && said.iter().any(|text| text.starts_with("Burnt wire")),
        "{said:?}"
    );
    assert!(!said.iter().any(|text| text.starts_with("Mercury")), "{said:?}");

    let table = web.get(&STOPS.replace(".json", ".csv")).body;
    assert!(table.contains("1,Millrace,4,3,the leaded brass,leaded brass,\"yellow, with lead\",4.000,8.818 lb,4.850,10.692 lb,1.50 EUR/lb,2026-03-01,no,13.23,EUR,,"), "{table}");
    let page = web.get(&STOPS.replace(".json", ".html")).body;
    for words in ["yellow, with lead (ours: leaded brass)", "8.818 lb", "75.00 EUR", "Lead on board", "inspected scale settles"] {
        assert!(page.contains(words), "{words}: {page}");
    }
    assert!(!page.contains("<script"), "{page}");
    let said = |args: &[&str]| {
        let out = bismar().args(args).output().unwrap();
        String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap()
    };
    let verb = ["report", "load-sheet", "Millrace: 3; quayside: 1 2 4", "--day", "2026-03-02"];
    let text = said(&[&["--at", &web.host()], &verb[..]].concat());
    assert!(text.contains("bin 3 (the leaded brass): 8.818 lb, with bin 10.692 lb; theirs: ____"), "{text}");
    assert!(text.contains("The stop comes to 75.00 EUR, without 3.000 kg that have no value"), "{text}");
    drop(daemon);
    let store = scratch.store();
    assert_eq!(said(&[&verb[..], &["--store", store.to_str().unwrap()]].concat()), text, "the same without the daemon");
}

#[test]
fn a_load_that_cannot_be_is_refused_by_name() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    for (stops, status, code, words) in [
        ("", 400, "bad-query", "say where it goes"),
        ("Quayside%203", 400, "bad-query", "names no buyer"),
        ("Quayside%3A", 400, "bad-query", "has no bins"),
        ("Quayside%3A%20x", 400, "bad-query", "\"x\" is not the number of a bin"),
        ("Quayside%3A%201%3BMillrace%3A1", 422, "bin-twice", "bin 1 goes to two places"),
        ("Nobody%3A%201", 404, "unknown-name", "there is no buyer \"Nobody\""),
        ("Quayside%3A%2099", 404, "unknown-bin", "there is no bin 99"),
    ] {
        let answer = web.get(&format!("/v1/reports/load-sheet.json?stops={stops}"));
        let detail = answer.json()["detail"].as_str().unwrap().to_owned();
        assert_eq!((answer.status, answer.problem().as_str()), (status, code), "{stops}: {detail}");
        assert!(detail.starts_with("stops: ") && detail.contains(words), "{stops}: {detail}");
    }
    // On the page it comes back with what was typed.
    let answer = web.get("/load-sheet?buyer1=Quayside&bins1=3&buyer2=Millrace&bins2=3+x");
    assert_eq!(answer.status, 400);
    assert!(answer.body.contains("value=\"3 x\"") && answer.body.contains("is not the number of a bin"), "{}", answer.body);
}

#[test]
fn from_the_sheet_one_sets_out() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let page = web.get("/load-sheet?buyer1=Quayside&bins1=1+2").body;
    assert!(page.contains("/v1/reports/load-sheet.html?stops=Quayside%3A%201%202") && page.contains("I set out"), "{page}");
    submit(&web, "/load-sheet?buyer1=Quayside&bins1=1+2", "/runs", &[("stops", "Quayside"), ("loads", "1; 2"), ("day", "")]);
    assert_eq!(web.json("/v1/bins/1")["mass"]["kg"], "0.000");
}

/// Sheets of paper, by the count in the page tree of the document (ISO 32000-1, 7.7.3.2: /Type /Pages with /Count).
fn sheets(pdf: &[u8]) -> u32 {
    let text = String::from_utf8_lossy(pdf);
    let counts = text.split("/Type /Pages").skip(1).chain(text.split("/Type/Pages").skip(1));
    let count = counts.filter_map(|tree| tree.split("/Count ").nth(1)?.split(|c: char| !c.is_ascii_digit()).next()?.parse().ok());
    count.max().expect("a page tree")
}

#[tokio::test]
async fn it_fits_one_sheet_of_paper_and_a_phone() {
    let Some(browser) = Browser::start() else { return };
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    let grades = [
        "bright copper",
        "leaded red brass",
        "insulated house wire",
        "car batteries",
        "old ballasts",
        "fridge compressors",
        "relay contacts",
        "cast aluminium",
    ];
    for grade in grades {
        web.done("POST", "/v1/grades", &json!({ "name": grade }));
    }
    for number in 1..=8 {
        web.done("POST", "/v1/buyers", &json!({ "name": format!("Yard number {number}") }));
        for grade in grades {
            quote(&web, &format!("Yard number {number}"), grade, "3.40/lb");
        }
    }
    // The first twenty all differ from their neighbours; of the others five stand side by side.
    for number in 0..40 {
        let grade = if number < 20 { number } else { number / 5 };
        bin(&web, number as u32 + 1, grades[grade % grades.len()], "12.345");
    }
    // Stop by stop the bins from one number to another.
    let stops = |cuts: &[u32]| {
        let of = |(at, pair): (usize, &[u32])| {
            let bins: Vec<String> = (pair[0] + 1..=pair[1]).map(|number| number.to_string()).collect();
            format!("Yard%20number%20{}%3A%20{}", at + 1, bins.join("%20"))
        };
        cuts.windows(2).enumerate().map(of).collect::<Vec<_>>().join("%3B")
    };
    let phone = Look { name: "phone", width: 360, height: 740, dark: false, script: true };
    let page = browser.open(&phone).await;
    for (name, cuts) in [
        ("small", &[0, 2][..]),
        ("two stops", &[0, 3, 5]),
        ("middling", &[0, 5, 8, 10]),
        ("large", &[0, 8, 12, 16, 20]),
        ("largest", &[10, 20, 30, 40]),
    ] {
        page.goto(&format!("http://{}/v1/reports/load-sheet.html?stops={}", web.host(), stops(cuts))).await.unwrap();
        let wide = "return [document.documentElement.scrollWidth, innerWidth]";
        let wide: (u32, u32) = serde_json::from_value(page.execute(wide, vec![]).await.unwrap()).unwrap();
        assert!(wide.0 <= wide.1, "{name}: {wide:?}");
        let drawn = "return getComputedStyle(document.querySelector('td.theirs')).borderLeftWidth";
        assert_eq!(page.execute(drawn, vec![]).await.unwrap(), "2px", "{name}: the style in the file counts");
        // ISO 216 A4 is 21.0 cm by 29.7 cm, letter 8.5 by 11 inches.
        for (paper, width, height) in [("A4", 21.0, 29.7), ("letter", 21.59, 27.94)] {
            let size = fantoccini::wd::PrintSize { width, height };
            let margins = fantoccini::wd::PrintMargins { top: 1.0, bottom: 1.0, left: 1.0, right: 1.0 };
            let set = PrintConfiguration::builder().size(size).margins(margins).shrink_to_fit(false).build().unwrap();
            let pdf = page.print(set).await.unwrap();
            let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("pages");
            std::fs::create_dir_all(&folder).unwrap();
            std::fs::write(folder.join(format!("load sheet, {name}, {paper}.pdf")), &pdf).unwrap();
            assert_eq!(sheets(&pdf), 1, "{name} on {paper}");
        }
        browser.keep(&page, &phone, &format!("load sheet, {name}")).await;
    }
    page.close().await.unwrap();
}
