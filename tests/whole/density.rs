//! The density check, by the terminal without a daemon, by HTTP, and on its page.

use super::daemon::{Daemon, bismar};
use super::scratch::Scratch;
use serde_json::Value;

fn terminal(words: &str) -> (bool, String, String) {
    let said = bismar().arg("density").args(words.split(' ')).output().unwrap();
    (said.status.success(), String::from_utf8(said.stdout).unwrap(), String::from_utf8(said.stderr).unwrap())
}

/// The figures are worked out by hand beside `query::density`.
#[test]
fn a_piece_of_brass_says_the_same_everywhere() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    let (done, json, _) = terminal("250.0g 220.7g --water 20 --json");
    assert!(done);
    let json: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json, web.json("/v1/density?dry=250.0g&in_water=220.7g&water=20"));
    assert_eq!((&json["kg_per_m3"], &json["uncertainty_kg_per_m3"]), (&"8508".into(), &"22".into()));
    assert_eq!((&json["verdict"], &json["division"]["grams"]), (&"cannot-tell".into(), &"0.1".into()));
    let codes = |key: &str| json[key].as_array().unwrap().iter().map(|metal| metal["code"].clone()).collect::<Vec<_>>();
    assert_eq!(codes("fits"), ["lead-solder", "brass-60-40", "free-cutting-brass", "brass-70-30"]);
    assert!(codes("ruled_out").contains(&"copper".into()) && codes("ruled_out").contains(&"red-brass".into()));

    let (_, text, _) = terminal("250.0g 220.7g --water 20");
    // The form sends the fields that were left empty, too.
    let page = web.get("/density?dry=250.0g&in_water=220.7g&water=20&within=&division=");
    assert_eq!(page.status, 200);
    for told in ["8508 ± 22 kg/m³", "A scale that shows 0.02 g would tell", "No scale can tell lead solder from brass 60/40"] {
        assert!(text.contains(told) && page.body.contains(told), "{told}: {text}");
    }
    assert!(text.contains("plated, filled") && page.body.contains("plated, filled"));
    assert!(page.body.contains("value=\"250.0g\"") && page.body.contains("method=\"get\""));
    assert!(!web.get("/density").body.contains("missing"), "nothing was asked yet");
}

#[test]
fn what_cannot_be_is_said() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    for (dry, wet, code, told) in [
        ("220.7g", "250.0g", "not-lighter-in-water", "impossible pair"),
        ("10g", "-2g", "floats", "trapped air"),
        ("1.00g", "0.95g", "piece-too-small", "cannot be told"),
        ("0g", "0g", "nothing-dry", "dry weight is nothing"),
    ] {
        let query = format!("density?dry={dry}&in_water={wet}&water=20&division=0.1g");
        let answer = web.get(&format!("/v1/{query}"));
        assert_eq!((answer.status, answer.problem().as_str()), (422, code));
        let page = web.get(&format!("/{query}"));
        assert!(page.status == 200 && page.body.contains(told), "{}", page.body);
        let (done, _, said) = terminal(&format!("{dry} {wet} --water 20 --division 0.1g"));
        assert!(!done && said.contains(told), "{said}");
    }
    let (_, said, _) = terminal("1.0g 0.9g --water 20");
    assert!(said.contains("more pairs") && said.len() < 4000, "a list too long to be read: {said}");
    let (done, said, _) = terminal("250.0g 50.0g --water 20");
    assert!(done && said.contains("trapped air") && said.contains("Fits: none."), "{said}");
    for bad in ["dry=250&in_water=220.7g&water=20", "dry=250g&water=20", "dry=2g&in_water=1g&water=warm", "dri=2g"] {
        assert_eq!(web.get(&format!("/v1/density?{bad}")).problem(), "bad-query", "{bad}");
    }
    assert!(web.get("/density?dry=250g").body.contains("in_water is missing"));
}
