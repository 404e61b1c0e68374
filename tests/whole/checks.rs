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
    assert!(web.get("/check-weights").body.contains("The scale shows 2001 g now, at rest"));
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

/// The bound of the check above, 795 ppm, is a rectangle (JCGM 100:2008, 4.3.7): 795/√3 = 459 ppm, rounded up. Of 1500 g that
/// are twice 0.6885 g, common to all that the scale has shown (5.2.2); two readings give 0.8165 g (F.2.2.1), and together
/// √(1.377² + 0.8165²) = 1.6009 g. Shown in tenths of a gram, rounded up.
#[test]
fn the_bound_enters_the_total() {
    let scratch = Scratch::new(CLASS_THREE);
    let hand = Hand::new(&scratch.scale(), 20);
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    let rest = |shown: &str| {
        let at_rest = |live: &Value| live["settled"] == true && live["shown"] == shown;
        until(shown, || at_rest(&web.json("/v1/benches/1")["live"]).then_some(()));
    };
    rest("0.000");
    web.done("POST", "/v1/bins", &json!({ "number": 1 }));
    web.done("PUT", "/v1/benches/1/manner", &json!({ "manner": "pan" }));
    web.done("PUT", "/v1/benches/1/bin", &json!({ "number": 1 }));
    hand.put(1500);
    rest("1.500");
    hand.lift();
    rest("0.000");
    let report = || web.json("/v1/reports/yard-run.json");
    until("the drop", || (report()["total"]["grams"] == "1500").then_some(()));
    let own = report()["own_error"].clone();
    assert_eq!((&own["uncertainty_kg"], &own["unbounded"]["grams"]), (&Value::Null, &json!("1500")));
    assert!(own["text"].as_str().unwrap().contains("0.0009 kg from weighing; the scale has never been checked"), "{own}");
    assert!(web.get("/v1/reports/yard-run.csv").body.contains("not known"));

    let typed = json!({ "nominal": { "kg": "2" }, "within": { "grams": "0.1" }, "shown": { "kg": "2.001" }, "source": "M1" });
    web.done("POST", "/v1/benches/1/check-weights", &typed);
    let own = report()["own_error"].clone();
    assert_eq!((&own["uncertainty_kg"], &own["with_readings_kg"]), (&json!("0.0014"), &json!("0.0017")), "{own}");
    assert_eq!(own["unbounded"]["grams"], "0");
    let day = report()["day"].as_str().unwrap().to_owned();
    assert_eq!(web.json(&format!("/v1/reports/yard-run.json?as_of={day}"))["own_error"], own, "added up entry by entry");
    let told = "± 0.0009 kg from weighing, ± 0.0014 kg from the scale's own error, together ± 0.0017 kg.";
    assert!(web.get("/reports/yard-run").body.replace("&#39;", "'").contains(told), "{own}");
    assert!(own["text"].as_str().unwrap() == told);

    let elsewhere = json!({ "bin": 1, "mass": { "kg": "10.0" }, "source": { "from": "hanging-scale" }, "reason": "too heavy" });
    web.done("POST", "/v1/benches/1/drops", &elsewhere);
    let own = report()["own_error"].clone();
    assert_eq!((&own["uncertainty_kg"], &own["unbounded"]["kg"]), (&json!("0.0014"), &json!("10.000")), "{own}");
    assert!(own["text"].as_str().unwrap().ends_with("no check bounds the scale's own error in 10.000 kg of it."));
}

/// Announced on the page, by the API and in the terminal; taken off again it is kept, and no drop.
#[test]
fn an_announced_weight_is_kept_without_a_hand_on_the_page() {
    let scratch = Scratch::new(CLASS_THREE);
    let hand = Hand::new(&scratch.scale(), 20);
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    let rest = |shown: &str| {
        let at_rest = |live: &Value| live["settled"] == true && live["shown"] == shown;
        until(shown, || at_rest(&web.json("/v1/benches/1")["live"]).then_some(()));
    };
    let said = |words: &str| {
        let said = bismar().arg("--at").arg(scratch.socket()).args(words.split(' ')).output().unwrap();
        (said.status.success(), String::from_utf8(said.stdout).unwrap() + &String::from_utf8(said.stderr).unwrap())
    };
    rest("0.000");
    web.done("POST", "/v1/bins", &json!({ "number": 1 }));
    web.done("PUT", "/v1/benches/1/manner", &json!({ "manner": "pan" }));
    web.done("PUT", "/v1/benches/1/bin", &json!({ "number": 1 }));
    assert!(web.get("/").body.contains("until it is warm"), "told on the bench page");

    // 40 US nickels of 5.000 g (the mint's page of coin specifications).
    let coins = json!({ "asked": true, "weight": { "coins": { "code": "us-nickel", "count": 40 } } });
    let path = "/v1/benches/1/check";
    assert_eq!(web.write("PUT", path, &json!({ "asked": true })).problem(), "bad-body");
    let penny = json!({ "asked": true, "weight": { "coins": { "code": "penny", "count": 1 } } });
    assert_eq!(web.write("PUT", path, &penny).problem(), "bad-body");
    assert_eq!(web.write("PUT", path, &json!({ "asked": false })).problem(), "no-check");
    web.done("PUT", path, &coins);
    let told = web.json("/v1/benches/1")["check"].as_str().unwrap().to_owned();
    assert!(told.contains("about 200 g") && told.contains("40 × US nickel of 5 g"), "{told}");
    assert!(web.get("/").body.contains(&told.replace('"', "&quot;")), "{told}");
    assert!(said("status").1.contains("about 200 g"), "{}", said("status").1);
    let withdrawn = said("check-weight withdraw");
    assert!(withdrawn.0 && web.json("/v1/benches/1")["check"].is_null(), "{withdrawn:?}");
    assert!(!said("check-weight ask --coins 40:penny").0 && !said("check-weight ask --nominal 2kg").0);
    let asked = said("check-weight ask --nominal 2kg --within 0.1g --source M1");
    assert!(asked.0, "{asked:?}");

    hand.put(2001);
    rest("2.001");
    until("what it shows", || web.json("/v1/benches/1")["check"].as_str().filter(|told| told.contains("error +1 g")).map(|_| ()));
    hand.lift();
    rest("0.000");
    until("it is off", || web.json("/v1/benches/1")["check"].is_null().then_some(()));
    let scale = || web.json("/v1/check-weights")[0].clone();
    assert_eq!((&scale()["checks"][0]["shown"]["grams"], &scale()["bound_ppm"]), (&json!("2001"), &json!(795)));
    assert_eq!(web.json("/v1/drops").as_array().map(Vec::len), Some(0));

    // Without a word it makes a drop, which is told afterwards.
    hand.put(500);
    rest("0.500");
    hand.lift();
    rest("0.000");
    let drop = until("a drop", || {
        web.json("/v1/drops")[0].clone().get("id").filter(|_| web.json("/v1/drops")[0]["state"] == "confirmed").cloned()
    });
    let page = web.get("/check-weights").body;
    assert!(page.contains("A drop was a check weight") && page.contains(&format!("<option value=\"{drop}\">")), "{page}");
    assert!(said(&format!("check-weight was {drop} --nominal 500g --within 0.1g --source M1")).0);
    assert_eq!(scale()["checks"][0]["shown"]["grams"], "500");
    assert_eq!(web.json("/v1/reports/yard-run.json")["total"]["grams"], "0");
    let again = json!({ "weight": { "nominal": { "grams": "500" }, "source": "M1" } });
    assert_eq!(web.write("POST", &format!("/v1/drops/{drop}/was-check"), &again).problem(), "drop-gone");

    // Moved: nothing bounds it any more, until it was not moved after all.
    assert_eq!(web.write("POST", "/v1/benches/1/disturbances", &json!({ "how": "kicked", "reason": "x" })).problem(), "bad-body");
    assert!(said("check-weight disturbed moved --reason swept").0);
    assert_eq!(
        (&scale()["bound_ppm"], &scale()["due"], &scale()["disturbances"][0]["how"]),
        (&Value::Null, &json!("disturbed"), &json!("moved"))
    );
    assert!(said("check-weight list").1.contains("moved on"));
    let record = scale()["disturbances"][0]["id"].clone();
    web.done("POST", &format!("/v1/records/{record}/void"), &json!({ "reason": "it stayed where it was" }));
    assert_eq!(scale()["due"], "not-yet");
}
