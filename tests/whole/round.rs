//! The round through the stock and the tap "full", through every face.

use super::daemon::{Daemon, bismar};
use super::routes::submit;
use super::scratch::Scratch;
use super::web::Web;
use serde_json::{Value, json};

fn bench() -> (Scratch, Daemon) {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    web.done("POST", "/v1/grades", &json!({ "name": "brass" }));
    for number in [1, 2, 3] {
        web.done("POST", "/v1/bins", &json!({ "number": number, "grade": "brass" }));
    }
    enter(&web, 1, "8.000");
    enter(&web, 2, "4");
    (scratch, daemon)
}

fn enter(web: &Web, bin: u32, kg: &str) {
    let drop = json!({ "bin": bin, "mass": { "kg": kg }, "source": { "from": "hanging-scale" }, "reason": "heavy" });
    web.done("POST", "/v1/benches/1/drops", &drop);
}

fn line(web: &Web, bin: u32) -> Value {
    let round = web.json("/v1/stock-round");
    round["bins"].as_array().unwrap().iter().find(|line| line["number"] == bin).unwrap().clone()
}

fn riddles(web: &Web) -> Vec<Value> {
    web.json("/v1/to-settle").as_array().unwrap().iter().filter(|riddle| riddle["code"] == "stock-differs").cloned().collect()
}

fn look(web: &Web, bin: u32, seen: &str) {
    web.done("POST", &format!("/v1/bins/{bin}/look"), &json!({ "seen": seen }));
}

#[test]
fn what_is_seen_waits_and_the_books_follow_by_name() {
    let (scratch, daemon) = bench();
    let web = daemon.web();
    look(&web, 1, "right");
    assert!(riddles(&web).is_empty());
    assert_eq!(web.write("POST", "/v1/bins/1/follow", &json!({})).problem(), "nothing-to-follow");
    look(&web, 1, "quarter");
    assert_eq!(line(&web, 1)["booked"]["kg"], "8.000", "a look changes nothing");
    let riddle = riddles(&web)[0].clone();
    assert_eq!(
        (&riddle["bin"], &riddle["text"]),
        (&json!(1), &json!("bin 1: the books hold 8.000 kg, and on the round it looked about a quarter"))
    );
    // What lands after the look is left in.
    enter(&web, 1, "1.000");
    let followed = web.done("POST", "/v1/bins/1/follow", &json!({}))["id"].as_u64().unwrap();
    assert_eq!(web.write("POST", "/v1/bins/1/follow", &json!({})).problem(), "nothing-to-follow");
    let bin = web.json("/v1/bins/1");
    // Of 8 kg a quarter is 2, and 1 kg came; a rectangle of ±1 kg has twice 1000/√3 g.
    assert_eq!((&bin["mass"]["kg"], &bin["uncertainty_kg"], riddles(&web).len()), (&json!("3.000"), &json!("1.1548"), 0));
    let drops = web.json("/v1/drops?bin=1");
    let entry = drops.as_array().unwrap().iter().find(|drop| drop["id"] == followed).unwrap().clone();
    assert_eq!((&entry["origin"], &entry["mass"]["kg"]), (&json!("round"), &json!("-6.000")), "by its own name");
    web.done("POST", &format!("/v1/drops/{followed}/void"), &json!({ "which": "never-material", "reason": "it stood behind" }));
    assert_eq!(web.json("/v1/bins/1")["mass"]["kg"], "9.000");

    // Found empty: a new fill begins, unless something came since.
    look(&web, 2, "emptied");
    web.done("POST", "/v1/bins/2/follow", &json!({}));
    assert_eq!(web.json("/v1/bins/2")["mass"]["kg"], "0.000");
    enter(&web, 2, "4");
    look(&web, 2, "emptied");
    enter(&web, 2, "0.5");
    web.done("POST", "/v1/bins/2/follow", &json!({}));
    assert_eq!(web.json("/v1/bins/2")["mass"]["kg"], "0.500");

    for (path, body, problem) in [
        ("/v1/bins/9/look", json!({ "seen": "right" }), "unknown-bin"),
        ("/v1/bins/3/look", json!({ "seen": "half" }), "nothing-in-bin"),
        ("/v1/bins/1/look", json!({ "seen": "some" }), "bad-body"),
        ("/v1/bins/9/follow", json!({}), "unknown-bin"),
        ("/v1/bins/9/full", json!({}), "unknown-bin"),
        ("/v1/bins/3/full", json!({}), "nothing-in-bin"),
    ] {
        assert_eq!(web.write("POST", path, &body).problem(), problem, "{path} {body}");
    }
    look(&web, 3, "right");
    look(&web, 1, "half");
    web.done("POST", "/v1/bins/1/empty", &json!({ "reason": "sold" }));
    assert!(riddles(&web).is_empty(), "another fill stands there");

    let csv = web.get("/v1/stock-round.csv").body;
    assert!(csv.starts_with("bin,name,grade,booked_kg,") && csv.contains("\r\n3,,brass,0.000,0.000,right,0.000,"), "{csv}");
    let said = |words: &[&str]| {
        let out = bismar().arg("--at").arg(scratch.socket()).args(words).output().unwrap();
        String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap()
    };
    assert_eq!(said(&["bin", "look", "2", "three-quarters"]), "bin 2: seen\n");
    let round = said(&["bin", "round"]);
    assert!(round.contains("about three quarters") && round.contains("waits for an answer"), "{round}");
    assert_eq!(said(&["bin", "follow", "2"]), "bin 2: the books follow what was seen\n");
    assert!(said(&["bin", "follow", "2"]).contains("look first, and say what you see"));
    drop(daemon);
    let out = bismar().args(["bin", "round", "--store"]).arg(scratch.store()).output().unwrap();
    assert!(String::from_utf8(out.stdout).unwrap().contains("0.375"), "three quarters of half a kilogram");
}

#[test]
fn one_tap_a_bin_without_script() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    assert_eq!(submit(&web, "/stock-round", "/bins/1/look", &[("seen", "half")]), "/stock-round#bin-1");
    assert_eq!(line(&web, 1)["seen"], "half");
    assert!(web.get("/").body.contains("Let the books follow what I saw"));
    assert_eq!(submit(&web, "/stock-round", "/bins/1/follow", &[("back", "round")]), "/stock-round#bin-1");
    assert_eq!(line(&web, 1)["booked"]["kg"], "4.000");
    assert!(submit(&web, "/stock-round", "/bins/3/look", &[("seen", "half")]).contains("said=the%20books%20hold%20nothing"));
}

#[test]
fn full_is_tapped_once_and_can_be_taken_back() {
    let (scratch, daemon) = bench();
    let web = daemon.web();
    let tap = web.done("POST", "/v1/bins/1/full", &json!({}))["id"].clone();
    let again = web.write("POST", "/v1/bins/1/full", &json!({}));
    assert_eq!((again.status, again.json()["id"].clone()), (200, tap.clone()), "it is full already");
    assert_eq!(web.json("/v1/bins/1")["full"], true);
    web.done("POST", &format!("/v1/records/{tap}/void"), &json!({ "reason": "the wrong bin" }));
    assert_eq!(web.json("/v1/bins/1")["full"], false);
    web.done("PUT", "/v1/benches/1/bin", &json!({ "number": 2 }));
    assert_eq!(submit(&web, "/", "/bins/2/full", &[]), "/");
    assert!(web.get("/").body.contains("Bin 2 was tapped full"));
    web.done("POST", "/v1/bins/2/empty", &json!({ "reason": "sold" }));
    assert_eq!(web.json("/v1/bins/2")["full"], false, "another fill stands there");
    let out = bismar().arg("--at").arg(scratch.socket()).args(["bin", "full", "1"]).output().unwrap();
    assert!(String::from_utf8(out.stdout).unwrap().starts_with("bin 1 is full (record "));
}

#[test]
fn an_emptying_and_a_tip_that_never_were_are_taken_back() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    for number in [1, 2] {
        web.done("POST", "/v1/bins", &json!({ "number": number, "tare": { "kg": "0.850" } }));
        let mass = json!({ "kg": format!("{number}.000") });
        let body = json!({ "bin": number, "mass": mass, "source": { "from": "bench-scale" }, "reason": "by hand" });
        web.done("POST", "/v1/benches/1/drops", &body);
    }
    let kg = |bin: u32| web.json(&format!("/v1/bins/{bin}"))["mass"]["kg"].as_str().unwrap().to_owned();
    let path = "/v1/bins/1/take-back";
    let reason = json!({ "reason": "it was bin 4" });
    let refused = web.write("POST", path, &reason);
    assert_eq!((refused.status, refused.problem().as_str()), (409, "never-emptied"));
    web.done("POST", "/v1/bins/1/empty", &json!({ "reason": "swept" }));
    assert_eq!(web.write("POST", path, &json!({ "reason": " " })).problem(), "no-reason");
    web.done("POST", path, &reason);
    assert_eq!((kg(1), kg(2)), ("1.000".into(), "2.000".into()));
    web.done("POST", "/v1/bins/1/tip", &json!({ "to": 2, "reason": "full" }));
    assert_eq!((kg(1), kg(2)), ("0.000".into(), "3.000".into()));
    let tipped =
        web.json("/v1/drops?bin=2").as_array().unwrap().iter().find(|drop| drop["origin"] == "tipped").unwrap()["id"].clone();
    let void = json!({ "which": "never-material", "reason": "it was bin 4" });
    let refused = web.write("POST", &format!("/v1/drops/{tipped}/void"), &void);
    assert_eq!((refused.status, refused.problem().as_str()), (409, "tipped-over"), "the metal would lie nowhere");
    assert!(refused.json()["detail"].as_str().unwrap().contains("tip of bin 1"));
    submit(&web, "/bins", "/bins/take-back", &[("bin", "1"), ("reason", "it was bin 4")]);
    assert_eq!((kg(1), kg(2)), ("1.000".into(), "2.000".into()));
    web.done("POST", "/v1/bins/2/empty", &json!({ "reason": "swept" }));
    let address = web.host();
    let out = bismar().args(["--at", &address, "bin", "take-back", "2", "--reason", "it was bin 4"]).output().unwrap();
    assert!(String::from_utf8(out.stdout).unwrap().contains("lies there again"));
    assert_eq!(kg(2), "2.000");
    assert_eq!(web.write("POST", "/v1/bins/9/take-back", &reason).problem(), "unknown-bin");
}
