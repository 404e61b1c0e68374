//! What a drive is planned from, through every face: told, refused by field, and taken back.

use super::daemon::{Daemon, bismar};
use super::routes::submit;
use super::scratch::Scratch;
use super::web::Web;
use serde_json::{Value, json};

fn facts(web: &Web) -> Value {
    web.json("/v1/trip-facts")
}

/// A write that is refused: its problem and the field that it names.
fn refused(web: &Web, method: &str, path: &str, body: &Value) -> (String, Value) {
    let answer = web.write(method, path, body);
    (answer.problem(), answer.json()["field"].clone())
}

fn set_up(web: &Web) {
    for buyer in ["Quayside", "Hill"] {
        web.done("POST", "/v1/buyers", &json!({ "name": buyer }));
    }
    web.done("POST", "/v1/grades", &json!({ "name": "copper" }));
    for number in [1, 2] {
        web.done("POST", "/v1/bins", &json!({ "number": number, "grade": "copper" }));
        let drop = json!({ "bin": number, "mass": { "kg": "9.000" }, "source": { "from": "hanging-scale" }, "reason": "heavy" });
        web.done("POST", "/v1/benches/1/drops", &drop);
    }
}

#[test]
fn where_the_buyers_are() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    set_up(&web);
    let yard = "/v1/buyers/Quayside/yard";
    let told = facts(&web);
    assert_eq!(told["yards"][1]["buyer"], "Quayside");
    assert_eq!((&told["yards"][1]["way"], &told["yards"][1]["version"]), (&Value::Null, &json!(0)));
    for (body, problem, field) in [
        (json!({ "minutes": 20, "minutes_there": 15 }), "distance-missing", "distance"),
        (json!({ "distance": "8 mi", "minutes_there": 15 }), "minutes-missing", "minutes"),
        (json!({ "distance": "8 mi", "minutes": 20 }), "minutes-there-missing", "minutes_there"),
        (json!({ "distance": "8 leagues" }), "bad-body", "distance"),
        (json!({ "distance": "2001 km", "minutes": 20, "minutes_there": 15 }), "too-far", "distance"),
        (json!({ "distance": "8 mi", "minutes": 1441, "minutes_there": 15 }), "too-long", "minutes"),
        (json!({ "distance": "8 mi", "minutes": 20, "minutes_there": 15, "open": [] }), "never-open", "open"),
        (json!({ "open": ["someday"] }), "bad-body", "open"),
        (json!({ "closed": ["soon"] }), "bad-body", "closed"),
    ] {
        assert_eq!(refused(&web, "PATCH", yard, &body), (problem.to_owned(), json!(field)), "{body}");
    }
    assert_eq!(web.write("PATCH", "/v1/buyers/Nobody/yard", &json!({ "minutes": 1 })).problem(), "unknown-name");
    assert_eq!(web.write("POST", &format!("{yard}/forget"), &json!({})).problem(), "nothing-told");
    assert_eq!(facts(&web)["seq"], told["seq"], "nothing was kept of all that");

    let body = json!({ "distance": "8 mi", "minutes": 20, "minutes_there": 15, "open": ["sat", "mon"],
        "closed": ["2026-12-26", "2026-12-24", "2026-12-24"] });
    web.done("PATCH", yard, &body);
    let told = &facts(&web)["yards"][1];
    assert_eq!(told["way"], json!({ "distance": { "amount": "8", "unit": "mi", "km": "12.874752" }, "minutes": 20 }));
    assert_eq!((&told["open"], &told["closed"]), (&json!(["mon", "sat"]), &json!(["2026-12-24", "2026-12-26"])));
    assert_eq!(web.write("PATCH", yard, &body).status, 200, "the same again is no news");
    let version = told["version"].to_string();
    web.done("PATCH", yard, &json!({ "minutes": 25, "open": null, "closed": [] }));
    let told = &facts(&web)["yards"][1];
    assert_eq!(
        (&told["way"]["distance"]["unit"], &told["way"]["minutes"], &told["open"]),
        (&json!("mi"), &json!(25), &Value::Null)
    );
    let late = web.write_with("PATCH", yard, &[("If-Match", &format!("\"{version}\""))], &json!({ "minutes": 30 }));
    assert_eq!(late.problem(), "changed-meanwhile");

    // The road between two, whichever is named first.
    let road = |distance: Value| json!({ "one": "Quayside", "other": "Hill", "distance": distance, "minutes": 7 });
    web.done("POST", "/v1/roads", &road(json!("3.3 km")));
    let back = json!({ "one": "Hill", "other": "quayside", "distance": "3.3 km", "minutes": 7 });
    assert_eq!(web.write("POST", "/v1/roads", &back).status, 200);
    assert_eq!(facts(&web)["roads"][0]["way"]["minutes"], 7);
    let same = json!({ "one": "Hill", "other": "Hill", "distance": "3.3 km", "minutes": 7 });
    assert_eq!(refused(&web, "POST", "/v1/roads", &same), ("same-buyer".to_owned(), json!("other")));
    let half = json!({ "one": "Hill", "other": "Quayside", "distance": "3.3 km" });
    assert_eq!(refused(&web, "POST", "/v1/roads", &half), ("bad-body".to_owned(), json!("minutes")));
    let none = json!({ "one": "Hill", "other": "Quayside", "distance": null });
    web.done("POST", "/v1/roads", &none);
    assert_eq!(facts(&web)["roads"], json!([]));
    assert_eq!(web.write("POST", "/v1/roads", &none).problem(), "nothing-told");

    // By the page: an empty distance takes all of it back.
    let fields =
        [("buyer", "Hill"), ("seen", "0"), ("distance", "4 km"), ("minutes", "9"), ("minutes_there", "5"), ("fri", "yes")];
    assert_eq!(submit(&web, "/trips", "/trips/yard", &fields), "/trips");
    assert_eq!(facts(&web)["yards"][0]["open"], json!(["fri"]));
    let road = [("one", "Hill"), ("other", "Quayside"), ("distance", "2 mi"), ("minutes", "5")];
    assert_eq!(submit(&web, "/trips", "/trips/road", &road), "/trips");
    assert_eq!(facts(&web)["roads"][0]["way"]["distance"]["km"], "3.218688");
    let seen = facts(&web)["yards"][0]["version"].to_string();
    assert_eq!(submit(&web, "/trips", "/trips/yard", &[("buyer", "Hill"), ("seen", &seen), ("distance", "")]), "/trips");
    assert_eq!(facts(&web)["yards"][0]["way"], Value::Null);
}

#[test]
fn the_vehicle_holds_and_pins() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    set_up(&web);
    let body = json!({ "payload": { "kg": "450" }, "litres": 900, "bins": 12, "running": { "cost": { "amount": "0.67" }, "per": "mi" } });
    web.done("PATCH", "/v1/vehicle", &body);
    web.done("PATCH", "/v1/vehicle", &json!({ "litres": null }));
    let vehicle = facts(&web)["vehicle"].clone();
    assert_eq!((&vehicle["payload"]["kg"], &vehicle["litres"], &vehicle["bins"]), (&json!("450.000"), &Value::Null, &json!(12)));
    assert_eq!(vehicle["running"], json!({ "cost": { "amount": "0.67", "currency": "EUR" }, "per": "mi" }));
    for (body, problem, field) in [
        (json!({ "payload": { "kg": "0" } }), "not-positive", "payload"),
        (json!({ "litres": 0 }), "litres-out-of-range", "litres"),
        (json!({ "bins": 0 }), "no-bins", "bins"),
        (json!({ "running": { "cost": { "amount": "x" }, "per": "km" } }), "bad-price", "running"),
        (json!({ "running": { "cost": { "amount": "1" }, "per": "furlong" } }), "bad-body", "running"),
    ] {
        assert_eq!(refused(&web, "PATCH", "/v1/vehicle", &body), (problem.to_owned(), json!(field)), "{body}");
    }
    let seen = facts(&web)["vehicle"]["version"].to_string();
    let fields = [("seen", &*seen), ("payload", "1000 lb"), ("litres", "700"), ("bins", ""), ("running", "0.30"), ("per", "km")];
    assert_eq!(submit(&web, "/trips", "/trips/vehicle", &fields), "/trips");
    let vehicle = facts(&web)["vehicle"].clone();
    assert_eq!((&vehicle["payload"]["grams"], &vehicle["bins"]), (&json!("453592.37"), &Value::Null));
    assert!(web.get("/trips").body.contains("value=\"1000lb\""), "as a person would write it");

    let hold = "/v1/grades/copper/hold";
    for (body, problem, field) in [
        (json!({ "at": "0/kg" }), "hold-at-nothing", "at"),
        (json!({ "at": "0.35 per piece" }), "bad-body", "at"),
        (json!({ "at": "8/ton" }), "bad-price", "at"),
        (json!({ "at": "8/kg", "by": "soon" }), "bad-body", "by"),
        (json!({ "at": "8/kg", "from": { "kg": "0" } }), "not-positive", "from"),
    ] {
        assert_eq!(refused(&web, "PUT", hold, &body), (problem.to_owned(), json!(field)), "{body}");
    }
    assert_eq!(web.write("PUT", hold, &json!({ "at": null })).problem(), "nothing-told");
    web.done("PUT", hold, &json!({ "at": "8.00/kg", "by": "2026-06-30", "from": { "kg": "40" } }));
    let held = facts(&web)["holds"][0].clone();
    assert_eq!(
        (&held["at"], &held["currency"], &held["by"], &held["from"]["kg"]),
        (&json!("8.00/kg"), &json!("EUR"), &json!("2026-06-30"), &json!("40.000"))
    );
    web.done("PUT", hold, &json!({ "at": null }));
    assert_eq!(facts(&web)["holds"][0]["at"], Value::Null);
    let seen = facts(&web)["holds"][0]["version"].to_string();
    assert_eq!(
        submit(&web, "/trips", "/trips/hold", &[("grade", "copper"), ("seen", &seen), ("at", "3.70/lb"), ("from", "90 lb")]),
        "/trips"
    );
    assert_eq!(facts(&web)["holds"][0]["from"]["lb"], "90.000");

    // A pin ends with what it was about.
    let pins = || facts(&web)["bins"].as_array().unwrap().iter().map(|bin| bin["pin"].clone()).collect::<Vec<_>>();
    web.done("PUT", "/v1/bins/1/pin", &json!({ "pin": "go" }));
    web.done("PUT", "/v1/bins/2/pin", &json!({ "pin": "stay" }));
    assert_eq!(web.write("PUT", "/v1/bins/2/pin", &json!({ "pin": "stay" })).status, 200);
    assert_eq!(refused(&web, "PUT", "/v1/bins/2/pin", &json!({ "pin": "fly" })), ("bad-body".to_owned(), json!("pin")));
    assert_eq!(web.write("PUT", "/v1/bins/9/pin", &json!({ "pin": "go" })).problem(), "unknown-bin");
    assert_eq!(pins(), [json!("go"), json!("stay")]);
    web.done("POST", "/v1/bins/1/empty", &json!({ "reason": "sold" }));
    web.done("PUT", "/v1/bins/2/pin", &json!({ "pin": null }));
    assert_eq!(pins(), [Value::Null, Value::Null]);
    assert_eq!(submit(&web, "/trips", "/bins/2/pin", &[("pin", "go")]), "/trips#bin-2");
    web.done("POST", "/v1/runs", &json!({ "stops": ["Hill"], "loads": [{ "bin": 2, "mass": { "kg": "2" } }] }));
    assert_eq!(pins(), [Value::Null, Value::Null], "it is on board");

    assert_eq!(submit(&web, "/trips", "/bins/2/litres", &[("litres", "30")]), "/trips#bin-2");
    assert_eq!(web.json("/v1/bins/2")["litres"], 30);
    assert_eq!(
        refused(&web, "PATCH", "/v1/bins/2", &json!({ "litres": 0 })),
        ("litres-out-of-range".to_owned(), json!("litres"))
    );
    web.done("PATCH", "/v1/bins/2", &json!({ "litres": null }));
    assert_eq!(web.json("/v1/bins/2")["litres"], Value::Null);
}

#[test]
fn from_the_command_line() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    set_up(&daemon.web());
    let (socket, store) = (scratch.socket().display().to_string(), scratch.store().display().to_string());
    let said = |words: &[&str]| {
        let out = bismar().args(words).args(["--at", &socket]).output().unwrap();
        String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap()
    };
    let yard = ["trip", "yard", "Hill", "--distance", "8mi", "--minutes", "20", "--there", "15", "--open", "mon,sat"];
    assert_eq!(said(&yard), "Hill: told\n");
    assert_eq!(said(&["trip", "yard", "Hill", "--closed", "2026-12-24"]), "Hill: told\n");
    assert!(said(&["trip", "yard", "Quayside", "--minutes", "20"]).contains("how far it is from home"));
    assert_eq!(
        said(&["trip", "road", "Hill", "Quayside", "--distance", "3km", "--minutes", "6"]),
        "the road from Hill to Quayside is told\n"
    );
    assert_eq!(said(&["trip", "vehicle", "--payload", "450kg", "--bins", "12", "--per-mile", "0.67"]), "the vehicle is told\n");
    assert_eq!(said(&["trip", "hold", "copper", "--for", "8/kg", "--from", "40kg"]), "copper is held\n");
    assert_eq!(said(&["trip", "pin", "1", "stay"]), "bin 1 stays at home\n");
    assert_eq!(said(&["bin", "change", "1", "--litres", "30"]), "bin 1 changed\n");
    let wanted = [
        "The vehicle bears 450.000 kg; room not told; places for bins: 12; fuel and wear 0.67 EUR a mi",
        "Hill: 8 mi, 20 min one way, 15 min there; open: mon sat; closed on 2026-12-24",
        "Quayside: nobody has told where it is",
        "Quayside to Hill: 3 km, 6 min",
        "copper is held for 8/kg EUR or above; it goes anyway from 40.000 kg on",
        "Bin 1 stays at home",
    ];
    let folded = bismar().args(["trip", "show", "--store", &store]).output().unwrap();
    for text in [said(&["trip", "show"]), String::from_utf8(folded.stdout).unwrap()] {
        for wanted in wanted {
            assert!(text.contains(wanted), "{wanted}: {text}");
        }
    }
    let json: Value = serde_json::from_str(&said(&["trip", "show", "--form", "json"])).unwrap();
    assert_eq!(json["bins"][0]["litres"], 30);
    assert_eq!(said(&["trip", "yard", "Hill", "--forget"]), "Hill: where it is was taken back\n");
    assert_eq!(said(&["trip", "road", "Hill", "Quayside", "--forget"]), "the road from Hill to Quayside is taken back\n");
    assert_eq!(said(&["trip", "hold", "copper", "--forget"]), "copper is held no longer\n");
    assert_eq!(said(&["trip", "pin", "1", "none"]), "bin 1 goes if it pays\n");
    assert_eq!(said(&["trip", "vehicle", "--any-payload", "--any-bins", "--running-untold"]), "the vehicle is told\n");
    let text = said(&["trip", "show"]);
    assert!(!text.contains("held") && !text.contains("Bin 1") && text.contains("bears not told"), "{text}");
}
