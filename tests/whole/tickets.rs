//! Tickets: taken as they are printed, reconciled with our scale, what they move and what they are worth; bad input by field.

use super::daemon::Daemon;
use super::routes::submit;
use super::scratch::Scratch;
use super::web::Web;
use serde_json::{Value, json};

/// Bins 1 copper, 2 brass and 3 wire with 10, 5 and 2 kg that the bench's scale showed, which a check weight bounds.
fn bench() -> (Scratch, Daemon) {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    web.done("POST", "/v1/buyers", &json!({ "name": "Quayside" }));
    for (bin, (grade, kg)) in (1..).zip([("copper", "10.000"), ("brass", "5.000"), ("wire", "2.000")]) {
        web.done("POST", "/v1/grades", &json!({ "name": grade }));
        web.done("POST", "/v1/bins", &json!({ "number": bin, "grade": grade }));
        web.done("POST", "/v1/benches/1/drops", &weight(bin, kg));
    }
    let check =
        json!({ "nominal": { "kg": "5" }, "shown": { "kg": "5.000" }, "within": { "grams": "0.1" }, "source": "a class weight" });
    web.done("POST", "/v1/benches/1/check-weights", &check);
    web.done("PUT", "/v1/benches/1/bin", &json!({ "number": 1 }));
    (scratch, daemon)
}

fn weight(bin: u32, kg: &str) -> Value {
    json!({ "bin": bin, "mass": { "kg": kg }, "source": { "from": "bench-scale" }, "reason": "by hand" })
}

fn line(text: &str, grade: &str, net: &str, price: &str, amount: &str, bins: Value) -> Value {
    json!({ "text": text, "grade": grade, "net": { "kg": net }, "price": price, "amount": amount, "bins": bins })
}

fn slip(number: &str, lines: Value) -> Value {
    json!({ "buyer": "quayside", "number": number, "day": "2026-03-02", "division": { "kg": "0.02" }, "lines": lines })
}

fn kg(web: &Web, bin: u32) -> String {
    web.json(&format!("/v1/bins/{bin}"))["mass"]["kg"].as_str().unwrap().to_owned()
}

fn odd(web: &Web) -> Vec<String> {
    let riddles = web.json("/v1/to-settle");
    let about = |riddle: &&Value| ["ticket", "load-left"].contains(&riddle["code"].as_str().unwrap());
    riddles.as_array().unwrap().iter().filter(about).map(|riddle| riddle["text"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn a_ticket_is_reconciled_priced_and_paid() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let quote = json!({ "buyer": "Quayside", "grade": "brass", "price": "4.00/kg", "day": "2026-03-01" });
    web.done("POST", "/v1/quotes", &quote);
    let lines = json!([
        line("#1", "copper", "9.98", "6.00/kg", "59.88", json!([{ "bin": 1 }])),
        line("mixed brass", "wire", "4.80", "3.00/kg", "14.40", json!([{ "bin": 2 }])),
    ]);
    let mut body = slip("77", lines);
    body["total"] = json!("74.28");
    let id = web.done("POST", "/v1/tickets", &body)["id"].as_u64().unwrap();
    let ticket = web.json(&format!("/v1/tickets/{id}"));
    // Readings: 20 g and 1 g, each a difference of two: U = 2·√(400/6 + 1/6) = 16.35 g; 20 g less is beyond that.
    let verdicts: Vec<&str> = ticket["loads"].as_array().unwrap().iter().map(|load| load["verdict"].as_str().unwrap()).collect();
    assert_eq!(verdicts, ["looks-short", "short"], "{ticket:#}");
    let first = &ticket["loads"][0];
    assert_eq!([&first["compared"]["readings_uncertainty_kg"], &first["compared"]["difference"]["grams"]], ["0.0164", "-20"]);
    assert_eq!(first["worth"]["amount"], "-0.12");
    let brass = &ticket["lines"][1];
    // 4.8 kg of brass at 4.00 would have been 19.20, and it was paid as wire.
    assert_eq!([&brass["downgraded_from"], &brass["downgrade_cost"]["amount"]], ["brass", "4.80"]);
    assert_eq!(ticket["flags"], json!([]));
    assert_eq!([kg(&web, 1), kg(&web, 2), kg(&web, 3)], ["0.000", "0.000", "2.000"]);
    let day_quotes = web.json("/v1/quotes");
    let told =
        |grade: &str| day_quotes.as_array().unwrap().iter().any(|quote| quote["grade"] == grade && quote["day"] == "2026-03-02");
    assert!(told("copper") && told("wire") && !told("brass"), "{day_quotes}");

    let paths = format!("/v1/tickets/{id}/payments");
    let pay = |more: Value| {
        let mut body = json!({ "method": "cheque", "day": "2026-03-09", "amount": { "amount": "24.28" } });
        body.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        web.done("POST", &paths, &body)
    };
    pay(json!({ "fee": "0.50" }));
    let cash = pay(json!({ "method": "cash", "amount": { "amount": "30.00" } }))["id"].clone();
    pay(json!({ "amount": { "amount": "20.00" }, "held": true, "day": "2026-04-01" }));
    let money = |key: &str| web.json(&format!("/v1/tickets/{id}"))[key].clone();
    assert_eq!([money("paid"), money("held"), money("unpaid")], ["54.28", "20.00", "20.00"]);
    web.done("POST", &format!("/v1/records/{cash}/void"), &json!({ "reason": "told twice" }));
    assert_eq!(money("unpaid"), "50.00");
    assert_eq!(web.write("POST", &paths, &json!({ "method": "shells", "amount": { "amount": "1" } })).problem(), "bad-body");

    // Taken back: all of it stands in the bins' old fills again, and is asked for.
    web.done("POST", &format!("/v1/tickets/{id}/void"), &json!({ "reason": "another week's" }));
    assert_eq!(odd(&web).len(), 2, "{:?}", odd(&web));
    let told = web.json("/v1/quotes");
    assert!(told.as_array().unwrap().iter().all(|quote| quote["day"] != "2026-03-02" || quote["withdrawn"] == true), "{told}");
    assert_eq!(web.write("POST", &format!("/v1/tickets/{id}/void"), &json!({ "reason": "again" })).problem(), "ticket-gone");
    let again = web.done("POST", "/v1/tickets", &body)["id"].clone();
    assert_eq!(odd(&web), Vec::<String>::new(), "the same bins are found again");
    assert_eq!(web.json(&format!("/v1/tickets/{again}"))["loads"][0]["verdict"], "looks-short");
    let table = web.get("/v1/tickets.csv").body;
    assert!(table.contains("looks-short,10.000,9.980,-0.020,"), "{table}");
}

#[test]
fn a_refused_ticket_leaves_nothing_behind() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let good = slip("1", json!([line("a", "copper", "1.00", "6.00/kg", "6.00", json!([{ "bin": 1, "mass": { "kg": "1" } }]))]));
    web.done("POST", "/v1/tickets", &good);
    let before = web.seq();
    let changed = |key: &str, value: Value, code: &str, field: &str| {
        let mut body = good.clone();
        body["number"] = json!("2");
        let at = key.split('/').fold(&mut body, |at, part| match part.parse::<usize>() {
            Ok(index) => &mut at[index],
            Err(_) => &mut at[part],
        });
        *at = value;
        let answer = web.write("POST", "/v1/tickets", &body);
        let detail = answer.json()["detail"].as_str().unwrap().to_owned();
        assert_eq!(answer.problem(), code, "{key}: {detail}");
        assert!(detail.starts_with(field), "{key}: {detail}");
        assert_eq!(web.seq(), before, "{key}: something was stored");
    };
    changed("number", json!(" 1 "), "same-ticket", "number: ");
    changed("buyer", json!("Nobody"), "unknown-name", "buyer: ");
    changed("day", json!("yesterday"), "bad-body", "day: ");
    changed("run", json!(999), "unknown-run", "run: ");
    changed("lines", json!([]), "no-lines", "lines: ");
    changed("total", json!("6,00"), "bad-price", "total: ");
    changed("division", json!({ "kg": "0" }), "not-positive", "division: ");
    changed("passes", json!([{ "kg": "x" }]), "bad-body", "passes, 1: ");
    for (key, value, code) in [
        ("net", json!({ "kg": "one" }), "bad-body"),
        ("net", json!({ "kg": "-1.00" }), "negative-weight"),
        ("gross", json!({ "kg": "1", "lb": "2" }), "bad-body"),
        ("amount", json!("6.0.0"), "bad-price"),
        ("price", json!("6.00/stone"), "bad-price"),
        ("price", json!("6.00/ton"), "bad-price"),
        ("off_percent", json!("5%"), "bad-price"),
        ("bins", json!([{ "bin": 9 }]), "unknown-bin"),
        ("bins", json!([{ "bin": 1, "mass": { "kg": "0.6" } }, { "bin": 2, "mass": { "kg": "0.41" } }]), "split-too-large"),
        ("bins", json!([{ "bin": 1, "mass": { "kg": "0.6" } }, { "bin": 1 }]), "bin-twice"),
    ] {
        changed(&format!("lines/0/{key}"), value, code, &format!("line 1, {key}: "));
    }
    let unknown = web.write("POST", "/v1/tickets/1/payments", &json!({ "method": "cash", "amount": { "amount": "1" } }));
    assert_eq!((unknown.status, unknown.problem()), (404, "unknown-ticket".into()));
    assert_eq!(
        web.write("POST", "/v1/bins/3/away", &json!({ "mass": { "kg": "2.1" }, "reason": "x" })).problem(),
        "more-than-there"
    );
    assert_eq!(web.seq(), before);
    assert_eq!([kg(&web, 1), kg(&web, 2)], ["9.000", "5.000"]);
}

#[test]
fn what_is_odd_is_kept_as_printed_and_asked() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let run = json!({ "stops": ["Quayside"], "loads": [{ "bin": 1 }], "distance_km": "31.5", "minutes": 80, "cost": { "amount": "9.00" } });
    let run = web.done("POST", "/v1/runs", &run)["id"].clone();
    assert_eq!(kg(&web, 1), "0.000", "the bin that stands there now is empty");
    assert_eq!(odd(&web), ["10.000 kg of bin 1 were on board and are on no ticket"]);
    web.done("POST", "/v1/benches/1/drops", &weight(1, "0.300"));
    // Two grades out of bin 1, some of it refused; bin 2 was not planned; the arithmetic is wrong.
    let mut lines = json!([
        line("#1", "copper", "6.00", "6.00/kg", "36.00", json!([{ "bin": 1, "mass": { "kg": "6.00" } }])),
        line("#2", "copper two", "3.00", "5.00/kg", "15.00", json!([{ "bin": 1 }])),
        line(
            "brass",
            "brass",
            "1.00",
            "4.00/kg",
            "5.00",
            json!([{ "bin": 2, "mass": { "kg": "1.00" }, "weighed": { "kg": "1.004" }, "weighed_here": true }])
        ),
        line("?", "brass", "0.40", "1.00/kg", "0.40", json!([])),
    ]);
    lines[1]["refused"] = json!({ "kg": "0.98" });
    (lines[0]["gross"], lines[0]["tare"]) = (json!({ "kg": "7.00" }), json!({ "kg": "0.90" }));
    let mut body = slip("5", lines);
    (body["run"], body["total"]) = (run.clone(), json!("57.40"));
    let id = web.done("POST", "/v1/tickets", &body)["id"].as_u64().unwrap();
    let ticket = web.json(&format!("/v1/tickets/{id}"));
    let codes: Vec<&str> = ticket["flags"].as_array().unwrap().iter().map(|flag| flag["code"].as_str().unwrap()).collect();
    assert_eq!(codes, ["net", "amount", "total", "no-grade", "not-planned", "no-bin"], "{ticket:#}");
    let loads: Vec<(String, &str)> = ticket["loads"]
        .as_array()
        .unwrap()
        .iter()
        .map(|load| (load["lines"].to_string(), load["verdict"].as_str().unwrap()))
        .collect();
    assert_eq!(
        loads,
        [("[1,2]".to_owned(), "agrees"), ("[3]".into(), "agrees"), ("[4]".into(), "cannot-tell")],
        "one bin on two lines is one load: 20 g less are within 2·√(2·400/6 + 1/6) = 23 g"
    );
    // What was refused lies in bin 1 again, on top of what came in meanwhile; bin 2 went down by what we weighed.
    assert_eq!([kg(&web, 1), kg(&web, 2)], ["1.280", "3.996"]);
    assert_eq!(odd(&web).len(), 6, "{:?}", odd(&web));
    web.done("POST", &format!("/v1/tickets/{id}/lines/4/bins"), &json!({ "bins": [{ "bin": 2, "mass": { "kg": "0.40" } }] }));
    assert_eq!(kg(&web, 2), "3.596");
    assert_eq!(
        web.write("POST", &format!("/v1/tickets/{id}/lines/4/bins"), &json!({ "bins": [{ "bin": 2 }] })).problem(),
        "line-tied"
    );
    web.done("POST", &format!("/v1/tickets/{id}/settle"), &json!({ "reason": "asked them" }));
    assert_eq!(odd(&web), Vec::<String>::new());
    // A second ticket of the run is stored, and says so.
    let mut second =
        slip("6", json!([line("wire", "wire", "0.50", "1.00/kg", "0.50", json!([{ "bin": 3, "mass": { "kg": "0.50" } }]))]));
    second["run"] = run;
    web.done("POST", "/v1/tickets", &second);
    assert_eq!(odd(&web).len(), 2, "{:?}", odd(&web));
    web.done("POST", "/v1/bins/3/away", &json!({ "mass": { "kg": "0.5" }, "given": true, "reason": "to a neighbour" }));
    web.done("POST", "/v1/bins/3/away", &json!({ "reason": "by eye, for a tenner" }));
    assert_eq!(kg(&web, 3), "0.000");
}

const TABLE: &str = "buyer,day,number,unit,text,grade,gross,tare,net,price,amount,bins,total\r\n\
    Quayside,2026-03-02,11,kg,#1,copper,,,9.98,6.00/kg,59.88,1,64.88\r\n\
    Quayside,2026-03-02,11,kg,wire,wire,,,2.00,2.50/kg,5.00,3,\r\n\
    Quayside,2026-03-09,12,lb,brass,brass,12,2,10,1.50/lb,15.00,2=10,15.00\r\n";

fn import(web: &Web, dry: bool, table: &str) -> super::web::Answer {
    let path = if dry { "/v1/tickets/import?dry=true" } else { "/v1/tickets/import" };
    web.send("POST", path, &[("Content-Type", "text/csv")], table.as_bytes()).unwrap()
}

#[test]
fn a_table_of_tickets_is_tried_first() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let before = web.seq();
    let dry = import(&web, true, TABLE);
    assert_eq!((dry.status, dry.json()), (200, json!({ "tickets": 2, "lines": 3, "faults": [] })));
    for (from, to, line, column) in [
        ("9.98", "9.9.8", 2, json!("net")),
        ("2.50/kg", "two", 3, json!("price")),
        ("Quayside,2026-03-09", "Nobody,2026-03-09", 4, json!("buyer")),
        ("2=10", "2=10.1", 4, json!("bins")),
        ("2=10", "8", 4, json!("bins")),
        (",lb,", ",,", 4, json!("gross")),
        ("amount,bins", "amount,place", 1, json!("place")),
        ("buyer,day", "seller,day", 1, json!("seller")),
    ] {
        let answer = import(&web, false, &TABLE.replace(from, to));
        let faults = answer.json()["faults"].clone();
        assert_eq!((answer.status, &faults[0]["line"], &faults[0]["column"]), (422, &json!(line), &column), "{to}: {faults}");
    }
    assert_eq!(import(&web, false, "").status, 422);
    assert_eq!(web.write("POST", "/v1/tickets/import", &json!({})).problem(), "not-csv");
    assert_eq!(web.seq(), before, "all of it or nothing");
    assert_eq!(import(&web, false, TABLE).status, 201);
    let tickets = web.json("/v1/tickets");
    let told: Vec<(&str, usize)> = tickets
        .as_array()
        .unwrap()
        .iter()
        .map(|ticket| (ticket["number"].as_str().unwrap(), ticket["lines"].as_array().unwrap().len()))
        .collect();
    assert_eq!(told, [("12", 1), ("11", 2)]);
    // 10 lb of 5 kg by their scale.
    assert_eq!([kg(&web, 1), kg(&web, 2), kg(&web, 3)], ["0.000", "0.464", "0.000"]);
    let again = import(&web, true, TABLE).json();
    assert_eq!([&again["faults"][0]["line"], &again["faults"][0]["column"]], [&json!(2), &json!("number")]);
}

#[test]
fn the_slip_is_typed_in_without_script() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let fields = [
        ("buyer", "Quayside"),
        ("number", "77"),
        ("unit", "kg"),
        ("division", "0.02"),
        ("text1", "heavy <b>"),
        ("grade1", "copper"),
        ("gross1", "12.00"),
        ("tare1", "2.00"),
        ("net1", "10.00"),
        ("price1", "6.00"),
        ("amount1", "60.00"),
        ("bins1", "1"),
        ("net4", "2.00"),
        ("bins4", "3=1.5"),
        ("total", "60.00"),
    ];
    let place = submit(&web, "/tickets", "/tickets", &fields);
    let page = web.get(&place).body;
    assert!(
        page.contains("heavy &lt;b&gt;") && page.contains("agrees") && page.contains("0.500 kg are tied to no bin"),
        "{page}"
    );
    submit(&web, &place, &format!("{place}/pay"), &[("amount", "60.00"), ("method", "cash"), ("currency", "EUR")]);
    submit(&web, &place, &format!("{place}/settle"), &[]);
    let page = web.get(&place).body;
    assert!(page.contains("unpaid 0.00") && page.contains("Odd, and looked at"), "{page}");
    assert!(web.get("/tickets").body.contains("looked at"));
    submit(&web, "/tickets", "/runs", &[("stops", "quayside"), ("loads", "2"), ("unit", "kg"), ("distance", "12")]);
    assert_eq!(kg(&web, 2), "0.000");

    // What is refused comes back with all that was typed.
    let body = web.get("/tickets").body;
    let token = body.split("name=\"token\" value=\"").nth(1).unwrap().split('"').next().unwrap();
    let form = |more: &str| format!("token={token}&key=k{}&buyer=Quayside&unit=kg&net1=1.00&text1=turnings{more}", more.len());
    let send = |form: String| {
        web.send("POST", "/tickets", &[("Content-Type", "application/x-www-form-urlencoded")], form.as_bytes()).unwrap()
    };
    for (more, status, words) in [
        ("&number=77", 409, "number: this buyer&#39;s ticket"),
        ("&net2=x", 422, "line 2, net: "),
        ("&amount1=six", 422, "line 1, amount: "),
        ("&bins1=nine", 422, "line 1, bins: "),
        ("&buyer=", 404, "buyer: "),
    ] {
        let answer = send(form(more));
        let plain = answer.body.replace("&quot;", "\"").replace('\'', "&#39;");
        assert_eq!(answer.status, status, "{more}");
        assert!(plain.contains(words) && plain.contains("value=\"turnings\""), "{more}: {plain}");
    }
    assert_eq!(send("token=old&buyer=Quayside&unit=kg&net1=1".into()).problem(), "old-page");
}

#[test]
fn the_terminal_shows_and_imports_tickets() {
    use super::daemon::bismar;
    let (scratch, daemon) = bench();
    let web = daemon.web();
    let file = scratch.config().with_file_name("slips.csv");
    let address = web.host();
    let run = |args: &[&str]| {
        let out = bismar().args(["--at", &address]).args(args).output().unwrap();
        (out.status.code(), String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap())
    };
    let path = file.to_str().unwrap();
    std::fs::write(&file, TABLE.replace("2=10", "8")).unwrap();
    let (code, said) = run(&["ticket", "import", path]);
    assert!(code == Some(1) && said.contains(":4, bins: there is no bin 8") && said.contains("nothing was taken"), "{said}");
    std::fs::write(&file, TABLE).unwrap();
    assert_eq!(run(&["ticket", "import", path, "--dry"]), (Some(0), "2 tickets in 3 lines can be taken\n".into()));
    assert_eq!(run(&["ticket", "import", path]), (Some(0), "2 tickets in 3 lines are taken\n".into()));
    let id = web.json("/v1/tickets")[1]["id"].to_string();
    let (_, said) = run(&["ticket", "pay", &id, "60.00", "--method", "cheque", "--fee", "0.30"]);
    assert!(said.contains("is booked"), "{said}");
    let (_, said) = run(&["ticket", "show", &id]);
    assert!(
        said.contains("Line 1: short, beyond") && said.contains("Total 64.88 EUR, paid 60.00, held 0.00, unpaid 4.88"),
        "{said}"
    );
    drop(daemon);
    let out = bismar().args(["ticket", "list", "--store"]).arg(scratch.store()).output().unwrap();
    let said = String::from_utf8(out.stdout).unwrap();
    assert!(said.contains("64.88 EUR") && said.contains("4.88"), "{said}");
}
