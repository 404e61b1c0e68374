//! The pages in a real browser, at the widths of a tablet and of a phone, light and dark.

use super::bench::Hand;
use super::browser::{Browser, Look};
use super::daemon::Daemon;
use super::forms;
use super::scratch::{Scratch, until};
use super::web::Web;
use fantoccini::key::Key;
use fantoccini::{Client, Locator};
use serde_json::json;
use std::fs::DirEntry;
use std::future::Future;
use std::time::Duration;

const TABLET: Look = Look { name: "tablet", width: 1024, height: 768, dark: false, script: true };
const PAGES: &[(&str, &str)] = &[
    ("plan", "/reports/plan"),
    ("trips", "/trips"),
    ("places", "/reports/places"),
    ("wire", "/reports/wire"),
    ("kerb", "/reports/kerb"),
    ("when", "/reports/when-to-go?trip=12"),
    ("load sheet", "/load-sheet?buyer1=Quayside&bins1=1+2&buyer2=Millrace&bins2=7"),
    ("round", "/stock-round"),
    ("bench", "/"),
    ("bins", "/bins"),
    ("report", "/reports/yard-run"),
    ("feeds", "/feeds"),
    ("hour", "/reports/hour"),
    ("density", "/density?dry=250.0g&in_water=220.7g&water=20"),
    ("checks", "/check-weights"),
    ("prices", "/quotes"),
    ("grades", "/grades"),
    ("history", "/reports/prices"),
];

/// A bench with bins, buyers and quotes, and a scale that a test moves.
fn bench() -> (Scratch, Hand, Daemon) {
    let scratch = Scratch::new("division = \"1 g\"");
    let hand = Hand::new(&scratch.scale(), 20);
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    for grade in ["red brass", "bright copper", "aluminium, cast", "stainless"] {
        web.done("POST", "/v1/grades", &json!({ "name": grade }));
    }
    for (buyer, prices) in [("Quayside", ["5.35/kg", "8.10/kg"]), ("Millrace", ["2.61/lb", "3.40/lb"])] {
        web.done("POST", "/v1/buyers", &json!({ "name": buyer }));
        for (grade, price) in ["red brass", "bright copper"].into_iter().zip(prices) {
            web.done("POST", "/v1/quotes", &json!({ "buyer": buyer, "grade": grade, "price": price }));
        }
        let yard = json!({ "distance": "3.5 mi", "minutes": 12, "minutes_there": 15 });
        web.done("PATCH", &format!("/v1/buyers/{buyer}/yard"), &yard);
    }
    web.done("POST", "/v1/bins", &json!({ "number": 1, "grade": "red brass", "name": "tap bodies" }));
    web.done("POST", "/v1/bins", &json!({ "number": 2, "grade": "bright copper", "capacity": { "kg": "20" } }));
    web.done("POST", "/v1/bins", &json!({ "number": 7, "grade": "aluminium, cast", "name": "fan hubs and housings" }));
    web.done("POST", "/v1/bins", &json!({ "number": 12 }));
    web.done("POST", "/v1/feeds", &json!({ "name": "ceiling fans" }));
    for (bin, kg) in [(2, "3.415"), (2, "0.860"), (7, "11.2"), (12, "0.05")] {
        let body =
            json!({ "bin": bin, "mass": { "kg": kg }, "source": { "from": "hanging-scale" }, "reason": "weighed outside" });
        web.done("POST", "/v1/benches/1/drops", &body);
    }
    daemon.scale("present");
    (scratch, hand, daemon)
}

/// Waits for the page to say what it should.
async fn eventually<F: Future<Output = bool>>(what: &str, mut ask: impl FnMut() -> F) {
    for _ in 0..1500 {
        if ask().await {
            return;
        }
        tokio::time::sleep(Duration::from_millis(40)).await;
    }
    panic!("waited in vain: {what}");
}

async fn text(page: &Client, css: &str) -> String {
    match page.find(Locator::Css(css)).await {
        Ok(element) => element.text().await.unwrap_or_default(),
        Err(_) => String::new(),
    }
}

pub async fn shows(page: &Client, css: &str, words: &str) {
    eventually(&format!("{words:?} in {css}"), || async { text(page, css).await.contains(words) }).await;
}

pub async fn press(page: &Client, css: &str) {
    page.wait().for_element(Locator::Css(css)).await.unwrap().click().await.unwrap();
}

#[tokio::test]
async fn the_bench_page_lives_and_obeys() {
    let Some(browser) = Browser::start() else { return };
    let (_scratch, hand, daemon) = bench();
    let web = daemon.web();
    let page = browser.open(&TABLET).await;
    let top = format!("http://{}", web.host());
    page.goto(&top).await.unwrap();
    shows(&page, "#shown", "0.000").await;

    press(&page, "button[name=bin][value='2']").await;
    page.wait().for_element(Locator::Css("button[value='2'][aria-pressed=true]")).await.unwrap();
    assert_eq!(web.json("/v1/benches/1")["bin"]["number"], 2);
    by_keyboard(&page, "button[name=bin][value='1']").await;
    page.wait().for_element(Locator::Css("button[value='1'][aria-pressed=true]")).await.unwrap();
    assert_eq!(web.json("/v1/benches/1")["bin"]["number"], 1);

    press(&page, "button[value=start]").await;
    page.wait().for_element(Locator::Css("button[value=end]")).await.unwrap();
    assert!(web.json("/v1/benches/1")["session"].is_object());

    // From here on nobody touches the page.
    page.execute("window.untouched = true", vec![]).await.unwrap();
    hand.put(850);
    shows(&page, "#shown", "0.850").await;
    until("the bin is set down", || (web.json("/v1/bins/1")["tare"]["grams"] == "850").then_some(()));
    hand.put(120);
    shows(&page, "#shown", "0.970").await;
    shows(&page, "#news", "0.120 kg").await;
    shows(&page, "#drops", "0.120").await;
    shows(&page, "#content", "0.120 kg").await;
    hand.unplug();
    shows(&page, "#state", "scale absent").await;
    hand.plug();
    shows(&page, "#state", "at rest").await;
    shows(&page, "#shown", "0.970").await;
    assert_eq!(page.execute("return window.untouched", vec![]).await.unwrap(), true, "the page was not loaded anew");

    press(&page, "button[value=end]").await;
    page.wait().for_element(Locator::Css("button[value=start]")).await.unwrap();
    assert!(web.json("/v1/benches/1")["session"].is_null());
    page.goto(&format!("{top}/reports/yard-run")).await.unwrap();
    same_as_json(&page, &web).await;
    page.close().await.unwrap();
}

/// Goes to a control by Tab alone and presses Enter there.
async fn by_keyboard(page: &Client, css: &str) {
    let reached = format!("return document.activeElement.matches(\"{css}\")");
    let tab = String::from(char::from(Key::Tab));
    for _ in 0..40 {
        if page.execute(&reached, vec![]).await.unwrap() == true {
            let enter = String::from(char::from(Key::Enter));
            page.active_element().await.unwrap().send_keys(&enter).await.unwrap();
            return;
        }
        page.active_element().await.unwrap().send_keys(&tab).await.unwrap();
    }
    panic!("{css} is not reached by keyboard");
}

/// What a person reads in the report's table is what programs get.
async fn same_as_json(page: &Client, web: &Web) {
    let read = "return Array.from(document.querySelector('table.report').rows).map(
        row => Array.from(row.cells).map(cell => cell.innerText.split('\\n')[0].trim()))";
    let rows: Vec<Vec<String>> = serde_json::from_value(page.execute(read, vec![]).await.unwrap()).unwrap();
    let (view, figures) = forms::from_json(web);
    assert_eq!(rows.len(), view.bins.len() + 2);
    for (row, bin) in rows[1..].iter().zip(&figures.bins) {
        let seen: Vec<String> = row[..6].iter().chain(&row[8..]).map(|cell| cell.replace("no quote", "")).collect();
        let number = seen[0].split(' ').next().unwrap().to_owned();
        assert_eq!((number, &seen[2..]), (bin[0].clone(), &bin[2..]));
    }
    let last = rows.last().unwrap();
    assert_eq!([&last[2..5], &last[8..]].concat(), figures.total);
}

#[tokio::test]
async fn every_page_fits_its_screen_and_the_finger() {
    let Some(browser) = Browser::start() else { return };
    let (_scratch, hand, daemon) = bench();
    let web = daemon.web();
    web.done("PUT", "/v1/benches/1/bin", &json!({ "number": 7 }));
    web.done("POST", "/v1/benches/1/sessions", &json!({ "feed": "ceiling fans" }));
    hand.put(850);
    until("a rest", || (web.json("/v1/benches/1")["live"]["settled"] == true).then_some(()));
    for dark in [false, true] {
        for (name, width, height) in [("tablet", 1024, 768), ("phone", 400, 800)] {
            let look = Look { name, width, height, dark, script: true };
            let page = browser.open(&look).await;
            for (name, path) in PAGES.iter().copied() {
                page.goto(&format!("http://{}{path}", web.host())).await.unwrap();
                if path == "/" {
                    shows(&page, "#shown", "0.850").await;
                }
                browser.keep(&page, &look, name).await;
                fits(&page, &look, name).await;
            }
            page.close().await.unwrap();
        }
    }
}

/// No control is smaller than a finger (44 pixels, WCAG 2.2, 2.5.5), and nothing is pushed off the screen's side.
async fn fits(page: &Client, look: &Look, name: &str) {
    let small = "return Array.from(document.querySelectorAll('button, select, input:not([type=hidden]), nav a, a.key, summary'))
        .filter(control => control.getClientRects().length > 0)
        .map(control => [control.outerHTML.slice(0, 80), control.getBoundingClientRect()])
        .filter(([html, box]) => box.height < 44 || box.width < 44)
        .map(([html, box]) => html + ' ' + box.width + ' x ' + box.height)";
    let small = page.execute(small, vec![]).await.unwrap();
    assert_eq!(small, json!([]), "{name} on a {}", look.name);
    let wide = "return [document.documentElement.scrollWidth, window.innerWidth]";
    let wide: Vec<u32> = serde_json::from_value(page.execute(wide, vec![]).await.unwrap()).unwrap();
    assert_eq!(wide[1], look.width, "the browser is as wide as asked for");
    assert!(wide[0] <= wide[1], "{name} on a {} is {} pixels wide", look.name, wide[0]);
    // Contrast is seen by eye; that the ground follows the person's choice is seen here.
    let ground = page.execute("return getComputedStyle(document.body).backgroundColor", vec![]).await.unwrap();
    let digits = ground.as_str().unwrap().split(['(', ',']).nth(1).unwrap().trim().parse::<u32>().unwrap();
    assert_eq!(digits < 128, look.dark, "{ground}");
}

#[tokio::test]
async fn a_browser_without_script_can_do_the_work() {
    let Some(browser) = Browser::start() else { return };
    let (_scratch, _hand, daemon) = bench();
    let web = daemon.web();
    let page = browser.open(&Look { script: false, ..TABLET }).await;
    page.goto(&format!("http://{}/", web.host())).await.unwrap();
    shows(&page, "noscript", "needs script").await;
    press(&page, "button[name=bin][value='12']").await;
    until("bin 12 is chosen", || (web.json("/v1/benches/1")["bin"]["number"] == 12).then_some(()));
    press(&page, "button[value=start]").await;
    press(&page, "button[value=pause]").await;
    until("a pause", || (web.json("/v1/benches/1")["session"]["paused"] == true).then_some(()));
    press(&page, "button[value=end]").await;
    until("the end", || web.json("/v1/benches/1")["session"].is_null().then_some(()));
    browser.keep(&page, &Look { name: "no script", script: false, ..TABLET }, "bench").await;
    page.close().await.unwrap();
}

/// Without script: the grid is filled in, a wrong price is told at its field, and what was typed is still there.
#[tokio::test]
async fn the_grid_of_prices_works_without_script() {
    let Some(browser) = Browser::start() else { return };
    let (scratch, _hand, daemon) = bench();
    let web = daemon.web();
    let page = browser.open(&Look { script: false, ..TABLET }).await;
    page.goto(&format!("http://{}/quotes", web.host())).await.unwrap();
    // The scale beside it has its own events.
    let quotes = || {
        let files = std::fs::read_dir(scratch.store().join("roll")).unwrap();
        let text = |file: std::io::Result<DirEntry>| std::fs::read_to_string(file.unwrap().path()).unwrap();
        files.map(|file| text(file).matches("\"quote-given\"").count()).sum::<usize>()
    };
    let lines = web.json("/v1/prices");
    let grade = |name: &str| {
        let lines = lines[1]["lines"].as_array().unwrap();
        lines.iter().find(|line| line["grade"] == name).unwrap()["grade_id"].clone()
    };
    let field = |name: &str| format!("section[data-buyer=Quayside] input[name='price-{}-EUR']", grade(name));
    let filled = page.find(Locator::Css(&field("red brass"))).await.unwrap();
    assert_eq!(filled.prop("value").await.unwrap().as_deref(), Some("5.35/kg"));
    let type_over = async |css: &str, text: &str| {
        let field = page.find(Locator::Css(css)).await.unwrap();
        field.clear().await.unwrap();
        field.send_keys(text).await.unwrap();
    };
    let before = quotes();
    type_over(&field("red brass"), "5.40/kg").await;
    type_over(&field("stainless"), "310/ton").await;
    press(&page, "section[data-buyer=Quayside] form.prices button").await;
    shows(&page, ".wrong", "must say which").await;
    let kept = page.find(Locator::Css(&field("red brass"))).await.unwrap();
    assert_eq!(kept.prop("value").await.unwrap().as_deref(), Some("5.40/kg"), "what was typed stays");
    assert_eq!(quotes(), before, "nothing is kept by halves");
    type_over(&field("stainless"), "310/gross ton").await;
    press(&page, "section[data-buyer=Quayside] form.prices button").await;
    until("both are kept", || (quotes() == before + 2).then_some(()));
    let button = page.find(Locator::Css("section[data-buyer=Quayside] form.same button")).await.unwrap();
    let (_, _, _, high) = button.rectangle().await.unwrap();
    assert!(high >= 44.0, "a finger finds it: {high}");
    browser.keep(&page, &TABLET, "prices grid").await;
    // All of them were given today: nothing is left to be kept anew.
    press(&page, "section[data-buyer=Quayside] form.same button").await;
    shows(&page, "h1", "Prices").await;
    assert_eq!(quotes(), before + 2);
}
