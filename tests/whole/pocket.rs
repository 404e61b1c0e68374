//! The kerb list as a file on a phone without a network, and the round through the stock by taps, in a real browser.

use super::browser::{Browser, Look};
use super::daemon::Daemon;
use super::page::{press, shows};
use super::scratch::{Scratch, until};
use fantoccini::Locator;
use serde_json::{Value, json};

const PHONE: Look = Look { name: "phone", width: 400, height: 800, dark: false, script: true };

#[tokio::test]
async fn the_kerb_list_is_read_from_a_file() {
    let Some(browser) = Browser::start() else { return };
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    for feed in ["drill motors", "house wire with a very long name that does not fit on one line of a phone", "ceiling fans"] {
        web.done("POST", "/v1/feeds", &json!({ "name": feed }));
    }
    web.done("PATCH", "/v1/feeds/drill%20motors/marks", &json!({ "strain": "much", "veto": "my wrist" }));
    let file = scratch.path().join("kerb.html");
    std::fs::write(&file, web.get("/v1/reports/kerb.html").body).unwrap();
    // With the daemon gone nothing is left that it could reach.
    drop(daemon);
    for dark in [false, true] {
        let look = Look { dark, ..PHONE };
        let page = browser.open(&look).await;
        page.goto(&format!("file://{}", file.display())).await.unwrap();
        shows(&page, "main", "not this, you said: my wrist").await;
        let asked = "return performance.getEntriesByType('resource').map(entry => entry.name).filter(name => name != 'data:,')";
        assert_eq!(page.execute(asked, vec![]).await.unwrap(), json!([]), "it fetched something");
        let measured = "const style = getComputedStyle(document.body); return [document.documentElement.scrollWidth, innerWidth, style.backgroundColor]";
        let measured: (u32, u32, String) = serde_json::from_value(page.execute(measured, vec![]).await.unwrap()).unwrap();
        assert!(measured.0 <= measured.1, "{measured:?}");
        let red: u32 = measured.2.split(['(', ',']).nth(1).unwrap().trim().parse().unwrap();
        assert_eq!(red < 128, dark, "{measured:?}");
        browser.keep(&page, &look, "kerb file").await;
        page.close().await.unwrap();
    }
}

#[tokio::test]
async fn a_round_is_one_tap_a_bin() {
    let Some(browser) = Browser::start() else { return };
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    for number in [1, 2] {
        web.done("POST", "/v1/bins", &json!({ "number": number, "name": "brass" }));
        let drop = json!({ "bin": number, "mass": { "kg": "8.000" }, "source": { "from": "hanging-scale" }, "reason": "heavy" });
        web.done("POST", "/v1/benches/1/drops", &drop);
    }
    let seen = |at: usize| web.json("/v1/stock-round")["bins"][at]["seen"].clone();
    for script in [true, false] {
        let page = browser.open(&Look { script, ..PHONE }).await;
        page.goto(&format!("http://{}/stock-round", web.host())).await.unwrap();
        let first = if script { "half" } else { "quarter" };
        press(&page, &format!("section[data-bin='1'] button[value='{first}']")).await;
        until("the look is kept", || (seen(0) == first).then_some(()));
        press(&page, "section[data-bin='2'] button[value='right']").await;
        until("the look is kept", || (seen(1) == "right").then_some(()));
        page.wait().for_element(Locator::Css("section[data-bin='2'] button[value='right'][aria-pressed=true]")).await.unwrap();
        shows(&page, "section[data-bin='1']", "Let the books follow").await;
        browser.keep(&page, &Look { script, ..PHONE }, if script { "round tapped" } else { "round tapped, no script" }).await;
        page.close().await.unwrap();
    }
    let waits = web.json("/v1/to-settle");
    let waits: Vec<&Value> = waits.as_array().unwrap().iter().filter(|riddle| riddle["code"] == "stock-differs").collect();
    assert_eq!(waits.len(), 1);
}
