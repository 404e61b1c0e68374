//! What to load and where to drive, through every face of a real daemon: the figures by hand, and the same in each.

use super::daemon::{Daemon, bismar};
use super::scratch::Scratch;
use super::web::Web;
use serde_json::{Value, json};

/// Three bins, two buyers on one way, prices in pounds and kilograms, a step and a least lot.
fn told(web: &Web) {
    for grade in ["copper", "brass", "lead, soft"] {
        web.done("POST", "/v1/grades", &json!({ "name": grade }));
    }
    for buyer in ["Quayside", "Hill & Sons", "Nowhere"] {
        web.done("POST", "/v1/buyers", &json!({ "name": buyer }));
    }
    let yard = |km: &str, minutes: u32| json!({ "distance": km, "minutes": minutes, "minutes_there": 15, "open": ["mon", "tue", "wed", "thu", "fri", "sat", "sun"] });
    web.done("PATCH", "/v1/buyers/Quayside/yard", &yard("10 km", 15));
    web.done("PATCH", "/v1/buyers/Hill%20%26%20Sons/yard", &yard("12 km", 20));
    web.done("POST", "/v1/roads", &json!({ "one": "Quayside", "other": "Hill & Sons", "distance": "4 km", "minutes": 6 }));
    for (buyer, grade, price) in [
        ("Quayside", "copper", "6.00/kg"),
        ("Quayside", "brass", "3.00/kg"),
        ("Hill & Sons", "brass", "2.00/lb"),
        ("Nowhere", "copper", "9.00/kg"),
    ] {
        web.done(
            "POST",
            "/v1/quotes",
            &json!({ "buyer": buyer, "grade": grade, "price": price, "day": "2026-01-01", "stale_after_days": 9000 }),
        );
    }
    web.done("POST", "/v1/words", &json!({ "buyer": "Hill & Sons", "word": "yellow", "grade": "brass" }));
    for (number, grade, kg) in [(1, "copper", "20.000"), (2, "brass", "10.000"), (3, "lead, soft", "5.000")] {
        web.done("POST", "/v1/bins", &json!({ "number": number, "grade": grade, "tare": { "kg": "1" } }));
        let drop = json!({ "bin": number, "mass": { "kg": kg }, "source": { "from": "hanging-scale" }, "reason": "heavy" });
        web.done("POST", "/v1/benches/1/drops", &drop);
    }
    let vehicle = json!({ "payload": { "kg": "450" }, "running": { "cost": { "amount": "0.30" }, "per": "km" } });
    web.done("PATCH", "/v1/vehicle", &vehicle);
    web.done("PATCH", "/v1/limits", &json!({ "floor_per_hour": { "amount": "12.00" } }));
    web.done("PUT", "/v1/grades/lead,%20soft/hold", &json!({ "at": "1.50/kg" }));
}

fn text(json: &Value) -> String {
    json.as_str().unwrap_or_else(|| panic!("{json}")).to_owned()
}

/// Every figure of the report, as JSON has it.
fn figures(plan: &Value) -> Vec<String> {
    let drive = &plan["drive"];
    let mut figures = Vec::new();
    for stop in drive["stops"].as_array().unwrap() {
        for line in stop["lines"].as_array().unwrap() {
            figures.extend([&line["mass"]["kg"], &line["quantity"], &line["price"], &line["value"]].map(text));
        }
    }
    figures.extend(["value", "driving", "hours", "net", "km"].map(|key| text(&drive[key])));
    for other in plan["compared"].as_array().unwrap() {
        figures.extend([&other["net"], &other["more"]].into_iter().filter(|cell| !cell.is_null()).map(text));
    }
    figures.extend(plan["home"].as_array().unwrap().iter().map(|bin| text(&bin["mass"]["kg"])));
    figures
}

#[test]
fn a_drive_in_every_form() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    assert_eq!(web.json("/v1/reports/plan")["verdict"], "nothing-there");
    told(&web);

    // By hand: copper 20 kg at 6.00 is 120.00; brass 10 kg is 22.04622622 lb at 2.00, 44.09, against 30.00 at Quayside. Both
    // stops are 26 km and 41 + 30 minutes: 7.80 and 14.20. With all at Quayside: 150.00 less 6.00 and 9.00.
    let plan = web.json("/v1/reports/plan.json");
    assert_eq!(plan["verdict"], "drive");
    let drive = &plan["drive"];
    let stops: Vec<&str> = drive["stops"].as_array().unwrap().iter().map(|stop| stop["buyer"].as_str().unwrap()).collect();
    assert_eq!(stops.len(), 2);
    let sums = ["value", "driving", "hours", "net", "km"].map(|key| text(&drive[key]));
    assert_eq!(sums, ["164.09", "7.80", "14.20", "142.09", "26.0"]);
    assert_eq!(drive["gross"]["kg"], "32.000");
    let hill = drive["stops"].as_array().unwrap().iter().find(|stop| stop["buyer"] == "Hill & Sons").unwrap();
    let line = &hill["lines"][0];
    assert_eq!((&line["quantity"], &line["unit"], &line["price"]), (&json!("22.046"), &json!("lb"), &json!("2.00/lb")));
    assert_eq!((&line["word"], &line["bins"][0]["number"], &line["value"]), (&json!("yellow"), &json!(2), &json!("44.09")));
    let compared = |with: &str| plan["compared"].as_array().unwrap().iter().find(|other| other["with"] == with).unwrap().clone();
    assert_eq!((&compared("nearest")["net"], &compared("nearest")["more"]), (&json!("135.00"), &json!("7.09")));
    assert_eq!((&compared("second-best")["net"], &compared("second-best")["more"]), (&json!("135.00"), &json!("7.09")));
    assert_eq!((&compared("home")["net"], &compared("home")["more"]), (&json!("0.00"), &json!("142.09")));
    assert!(compared("waiting")["net"].is_null() && text(&compared("waiting")["says"]).contains("too little data"));
    assert_eq!(plan["bound"], Value::Null);
    let sheet = text(&drive["sheet"]).replace(' ', "%20").replace('&', "%26");
    let sheet = web.json(&format!("/v1/reports/load-sheet.json?stops={sheet}&day={}", text(&plan["day"])));
    assert_eq!(sheet["stops"].as_array().map(Vec::len), Some(2), "what is to be loaded can be printed: {sheet}");
    assert_eq!((&plan["home"][0]["number"], &plan["home"][0]["why"]), (&json!(3), &json!("no-quote")));
    assert_eq!((&plan["beyond"][0]["buyer"], &plan["beyond"][0]["why"]), (&json!("Nowhere"), &json!("no-yard")));
    assert_eq!((&plan["held"][0]["grade"], &plan["held"][0]["state"]), (&json!("lead, soft"), &json!("waits")));

    let (socket, store) = (scratch.socket().display().to_string(), scratch.store().display().to_string());
    let said = |words: &[&str]| {
        let out = bismar().args(words).output().unwrap();
        String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap()
    };
    let page = web.get("/reports/plan").body;
    assert_eq!(page, web.get("/v1/reports/plan.html").body);
    let csv = web.get("/v1/reports/plan.csv").body;
    let terminal = said(&["report", "plan", "--at", &socket]);
    let folded = said(&["report", "plan", "--store", &store]);
    assert_eq!(terminal, folded, "with the daemon and without it");
    for figure in figures(&plan) {
        for (form, face) in [("page", &page), ("csv", &csv), ("terminal", &terminal)] {
            let at = face.match_indices(figure.as_str()).any(|(at, _)| {
                let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit() || c == '.');
                let behind = face[at + figure.len()..].chars().next();
                !digit(face[..at].chars().next_back()) && !behind.is_some_and(|c| c.is_ascii_digit())
            });
            assert!(at, "{figure} in the {form}: {face}");
        }
    }
    let form = page.split("action=\"/load-sheet\"").nth(1).unwrap().split("</form>").next().unwrap();
    let hidden = form.split("name=\"").skip(1).map(|field| {
        let (name, value) = field.split_once("\" value=\"").unwrap();
        format!("{name}={}", value.split('"').next().unwrap().replace("&amp;", "%26").replace(' ', "+"))
    });
    let loaded = web.get(&format!("/load-sheet?{}", hidden.collect::<Vec<_>>().join("&"))).body;
    assert!(loaded.contains("yellow") && loaded.contains("22.046"), "the button leads to the sheet: {loaded}");
    // The rows of the table are those of the report, in order and by name.
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let head = reader.headers().unwrap().clone();
    let column = |name: &str| head.iter().position(|known| known == name).unwrap();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let of = |kind: &str| rows.iter().filter(|row| &row[0] == kind).collect::<Vec<_>>();
    let lines: Vec<[String; 4]> =
        of("line").iter().map(|row| ["stop", "grade", "bins", "amount"].map(|name| row[column(name)].to_owned())).collect();
    let wanted: Vec<[String; 4]> = (1..)
        .zip(drive["stops"].as_array().unwrap())
        .flat_map(|(at, stop)| {
            stop["lines"].as_array().unwrap().iter().map(move |line| {
                [at.to_string(), text(&line["grade"]), line["bins"][0]["number"].to_string(), text(&line["value"])]
            })
        })
        .collect();
    assert_eq!(lines, wanted);
    for (kind, amount) in
        [("value", "164.09"), ("net", "142.09"), ("nearest", "135.00"), ("over-nearest", "7.09"), ("over-home", "142.09")]
    {
        assert_eq!(&of(kind)[0][column("amount")], amount, "{kind}");
    }
    assert_eq!(&of("beyond")[0][column("buyer")], "Nowhere");
    let json: Value = serde_json::from_str(&said(&["report", "plan", "--at", &socket, "--form", "json"])).unwrap();
    assert_eq!(json, plan);
    assert!(said(&["report", "plan", "--at", &socket, "--form", "html"]).contains("142.09"));
    assert_eq!(said(&["report", "plan", "--at", &socket, "--form", "csv"]), csv);
}

#[test]
fn what_stands_in_the_way_is_said() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    told(&web);
    for (query, problem, field) in [
        ("?day=soon", "bad-body", json!("day")),
        ("?floor=x", "bad-price", json!("floor")),
        ("?effort=0", "bad-query", json!("effort")),
        ("?effort=65", "bad-query", json!("effort")),
        ("?expected=perhaps", "bad-query", Value::Null),
        ("?as_of=2026-01-01", "bad-query", Value::Null),
    ] {
        let answer = web.get(&format!("/v1/reports/plan{query}"));
        assert_eq!((answer.problem(), &answer.json()["field"]), (problem.to_owned(), &field), "{query}");
    }
    // An hour that must bring more than the load does.
    let stay = web.json("/v1/reports/plan?floor=500");
    assert_eq!((&stay["verdict"], &stay["drive"]), (&json!("stay"), &Value::Null));
    assert!(text(&stay["says"]).contains("Nothing is worth driving for"));
    let second = &stay["compared"][0];
    assert!(text(&second["more"]).parse::<f64>().unwrap() > 0.0, "the best drive there is costs more than it brings: {second}");
    assert!(web.get("/reports/plan?floor=500").body.contains("Nothing is worth driving for"));
    // Nobody quotes lead, and it must go.
    web.done("PUT", "/v1/bins/3/pin", &json!({ "pin": "go" }));
    let impossible = web.json("/v1/reports/plan");
    assert_eq!(impossible["verdict"], "impossible");
    assert!(text(&impossible["rules"][0]).contains("bin 3 must go"), "{impossible}");
    // It is quoted, and held for more.
    web.done(
        "POST",
        "/v1/quotes",
        &json!({ "buyer": "Quayside", "grade": "lead, soft", "price": "1.20/kg", "day": "2026-01-01" }),
    );
    let held = web.json("/v1/reports/plan");
    assert_eq!(held["verdict"], "impossible");
    assert!(text(&held["rules"][0]).contains("held"), "{held}");
    let lead = &held["held"][0];
    assert_eq!((&lead["best"], &lead["tenth_less"]), (&json!("1.20/kg"), &json!("0.60")), "a tenth of 6.00");
    let told = "lead, soft: Held for 1.20/kg or above, and that is reached: Quayside pays most, 1.20/kg.";
    assert!(!web.get("/quotes").body.contains("that is reached"));
    web.done("PUT", "/v1/grades/lead,%20soft/hold", &json!({ "at": "1.20/kg" }));
    assert!(web.get("/quotes").body.contains(told), "where prices are kept it is told");
    web.done("PUT", "/v1/grades/lead,%20soft/hold", &json!({ "at": null }));
    assert_eq!(web.json("/v1/reports/plan")["verdict"], "drive");
    web.done("PATCH", "/v1/vehicle", &json!({ "payload": { "kg": "5" } }));
    let heavy = web.json("/v1/reports/plan");
    assert!(text(&heavy["rules"][0]).contains("heavier"), "{heavy}");
    let page = web.get("/reports/plan").body;
    assert!(page.contains("heavier than what the vehicle bears"), "{page}");
    // A day on which everybody is closed.
    for buyer in ["Quayside", "Hill%20%26%20Sons"] {
        web.done("PATCH", &format!("/v1/buyers/{buyer}/yard"), &json!({ "closed": ["2030-01-01"] }));
    }
    web.done("PUT", "/v1/bins/3/pin", &json!({ "pin": null }));
    let closed = web.json("/v1/reports/plan?day=2030-01-01");
    assert_eq!((&closed["verdict"], &closed["day"]), (&json!("stay"), &json!("2030-01-01")));
    assert!(closed["beyond"].as_array().unwrap().iter().any(|buyer| buyer["why"] == "closed"), "{closed}");
}

/// Three tickets that paid nine tenths of the quote: it is shown beside, and reckoned with only where that is asked for.
#[test]
fn what_they_will_likely_pay_is_marked_and_never_silent() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    told(&web);
    // What a ticket pays is the quote of its day, so the old one is given again before the next.
    let quote = |day: &str| json!({ "buyer": "Quayside", "grade": "copper", "price": "6.00/kg", "day": day });
    for number in 1..=3 {
        web.done("POST", "/v1/quotes", &quote(&format!("2026-0{number}-10")));
        let ticket = json!({
            "buyer": "Quayside", "day": format!("2026-0{number}-15"), "number": number.to_string(),
            "lines": [{ "text": "Cu", "grade": "copper", "net": { "kg": "1.00" }, "price": "5.40/kg", "amount": "5.40" }],
        });
        web.done("POST", "/v1/tickets", &ticket);
    }
    web.done("POST", "/v1/quotes", &json!({ "buyer": "Quayside", "grade": "copper", "price": "6.00/kg" }));
    let line = |path: &str| {
        let plan = web.json(path);
        let stop = plan["drive"]["stops"].as_array().unwrap().iter().find(|stop| stop["buyer"] == "Quayside").unwrap().clone();
        stop["lines"][0].clone()
    };
    let plain = line("/v1/reports/plan");
    assert_eq!((&plain["price"], &plain["value"]), (&json!("6.00/kg"), &json!("120.00")));
    assert_eq!(plain["expected"], json!({ "quoted": "6.00/kg", "expected": "5.40/kg", "lines": 3 }));
    let asked = line("/v1/reports/plan?expected=true");
    assert_eq!((&asked["price"], &asked["value"]), (&json!("5.40/kg"), &json!("108.00")));
    let page = web.get("/reports/plan?expected=true").body;
    assert!(page.contains("You asked for it") && page.contains("from 3 lines of their tickets"), "{page}");
    assert!(!web.get("/reports/plan").body.contains("You asked for it"));
}
