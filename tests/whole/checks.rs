//! Check weights: laid on a scale that really sends, kept by every face, and told with what they bound.

use super::bench::Hand;
use super::daemon::{Daemon, bismar};
use super::scratch::{Scratch, until};
use serde_json::{Value, json};

const CLASS_THREE: &str = "division = \"1 g\"\n[checks]\nevery_days = 7\nclass = \"III\"";

/// A 2 kg weight of class M1 is right within 0.1 g (OIML R 111-1:2004, table 1, from memory), and a scale of class III with
/// 2000 divisions of 1 g may err by twice one division in service (OIML R 76-1:2006, 3.5.1 and 3.5.2). Shown 2001 g: error 1 g,
/// and 2·√(1/12 + 0.1²/3) = 0.5888 g of the reading and the weight; 1.5888 g of 2000 g are 794.4 ppm, rounded up.
#[test]
fn a_weight_is_laid_on() {
    let scratch = Scratch::new(CLASS_THREE);
    let hand = Hand::new(&scratch.scale(), 20);
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    let rest = |shown: &str| {
        let at_rest = |live: &Value| live["settled"] == true && live["shown"] == shown;
        until(shown, || at_rest(&web.json("/v1/benches/1")["live"]).then_some(()));
    };
    rest("0.000");
    let bench = web.json("/v1/benches/1");
    assert!(bench["check_reminder"].as_str().unwrap().contains("never been checked"), "{bench}");
    assert!(web.get("/").body.contains("never been checked"));

    let m1 = json!({ "nominal": { "kg": "2" }, "within": { "grams": "0.1" }, "source": "test weight, class M1" });
    let path = "/v1/benches/1/check-weights";
    assert_eq!(web.write("POST", path, &m1).problem(), "not-this-weight", "nothing lies there");
    hand.put(2001);
    rest("2.001");
    assert!(web.get("/check-weights").body.contains("the scale shows 2001 g now, at rest"));
    web.done("POST", path, &m1);

    let scales = web.json("/v1/check-weights");
    let (scale, check) = (&scales[0], &scales[0]["checks"][0]);
    assert_eq!((&scale["bench"], &scale["current"], &scale["due"]), (&json!(1), &json!(true), &json!("not-yet")));
    assert_eq!((&scale["bound_ppm"], &check["bound_ppm"]), (&json!(795), &json!(795)));
    assert_eq!((&check["error"]["grams"], &check["tolerance"]["grams"]), (&json!("1"), &json!("2")));
    assert_eq!(check["uncertainty"]["grams"].as_str().unwrap().get(..6), Some("0.5887"));
    assert_eq!((&check["verdict"], &check["source"]), (&json!("within"), &json!("test weight, class M1")));
    assert!(scale["warming"].as_str().unwrap().contains("0 min ago"), "{scale}");
    assert!(scale["due_text"].as_str().unwrap().contains("7 days"), "{scale}");
    assert_eq!(web.json("/v1/benches/1")["check_reminder"], Value::Null);
    assert!(web.get("/check-weights").body.contains("0.0795 %"));
}

#[test]
fn a_form_and_the_terminal_keep_checks_too() {
    let scratch = Scratch::new("division = \"1 g\"");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    let page = web.get("/check-weights").body;
    let hidden = |name: &str| {
        let from = page.split(&format!("name=\"{name}\" value=\"")).nth(1).unwrap();
        from.split('"').next().unwrap().to_owned()
    };
    let (token, key) = (hidden("token"), hidden("key"));
    let send = |fields: &str, key: &str| {
        let body = format!("token={token}&key={key}&{fields}");
        let headers = [("Content-Type", "application/x-www-form-urlencoded")];
        web.send("POST", "/benches/1/check-weights", &headers, body.as_bytes()).unwrap()
    };
    let answer = send("nominal=500g&source=coins&shown=", &key);
    assert!(answer.status == 303 && answer.header("location").unwrap().contains("no%20weight%20at%20rest"), "{answer:?}");
    let answer = send("nominal=500&source=coins&shown=501g", &key);
    assert!(answer.header("location").unwrap().contains("carries%20its%20unit"), "{answer:?}");
    let answer = send("nominal=500g&source=100+coins+of+5+g&shown=501.0g", &key);
    assert_eq!(answer.header("location"), Some("/check-weights"));

    let said = |words: &[&str]| {
        let said = bismar().arg("--at").arg(scratch.socket()).args(words).output().unwrap();
        (said.status.success(), String::from_utf8(said.stdout).unwrap() + &String::from_utf8(said.stderr).unwrap())
    };
    let lay = ["check-weight", "lay", "1kg", "--source", "test weight", "--within", "50g", "--shown", "1.000kg"];
    assert!(said(&lay).0, "{}", said(&lay).1);
    assert!(said(&["check-weight", "lay", "1kg", "--source", "x"]).1.contains("no weight at rest"));
    assert!(!said(&["check-weight", "lay", "1kg", "--source", " ", "--shown", "1.0kg"]).0);
    let (done, list) = said(&["check-weight", "list"]);
    assert!(done, "{list}");
    for told in ["100 coins of 5 g", "501", "weight-unknown", "test weight", "no-tolerance", "5.7738 %"] {
        assert!(list.contains(told), "{told}: {list}");
    }
    drop(daemon);
    let folded = said(&["check-weight", "list", "--store", scratch.store().to_str().unwrap(), "--form", "json"]).1;
    let folded: Value = serde_json::from_str(&folded).unwrap();
    assert_eq!(folded[0]["checks"].as_array().unwrap().len(), 2, "{folded}");
}
