//! The documented paths, the forms of a report, the metrics.

use super::daemon::Daemon;
use super::scratch::Scratch;
use super::web::Web;
use serde_json::{Value, json};

fn documented(document: &Value) -> Vec<(String, String)> {
    let paths = document["paths"].as_object().unwrap();
    let methods = |path: &String, item: &Value| {
        let methods =
            item.as_object().unwrap().keys().filter(|key| ["get", "put", "post", "patch", "delete"].contains(&key.as_str()));
        methods.map(|method| (method.to_uppercase(), path.clone())).collect::<Vec<_>>()
    };
    paths.iter().flat_map(|(path, item)| methods(path, item)).collect()
}

/// Renew the golden file with `BISMAR_RENEW=1` after a look at what changed for programs that use the interface.
#[test]
fn the_document_is_the_one_that_was_agreed() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let mut document = daemon.web().json("/openapi.json");
    assert!(document["openapi"].as_str().unwrap().starts_with("3.1"), "{}", document["openapi"]);
    document["info"]["version"] = json!("");
    let text = serde_json::to_string_pretty(&document).unwrap() + "\n";
    let golden = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/fixtures/openapi.json");
    if std::env::var_os("BISMAR_RENEW").is_some() {
        std::fs::write(golden, &text).unwrap();
    }
    let kept = std::fs::read_to_string(golden).unwrap_or_default();
    let differs = text.lines().zip(kept.lines()).position(|(now, kept)| now != kept);
    assert!(text == kept, "openapi.json differs from its golden file, first at line {:?}", differs.map(|at| at + 1));
}

#[test]
fn every_documented_path_is_served_and_every_served_path_is_documented() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    let documented = documented(&web.json("/openapi.json"));
    assert!(documented.len() > 30);
    for (method, path) in &documented {
        if path.ends_with("/live") {
            continue;
        }
        let filled = fill(path);
        // The empty body is refused by whoever wants one; a path that is not there would be a 404 of another type.
        let answer = web.send(method, &filled, &[("Content-Type", "application/json")], b"{").unwrap();
        assert!(answer.status != 405, "{method} {path}");
        assert!(answer.status != 404 || answer.problem() != "no-such-page", "{method} {path}");
        assert!(answer.status < 500, "{method} {path}: {answer:?}");
    }
    let source = include_str!("../../src/http/routes.rs");
    let served: Vec<&str> = source.split(".route(\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    assert!(served.len() > 40);
    let programs = served.iter().filter(|path| path.starts_with("/v1/") || ["/healthz", "/readyz", "/metrics"].contains(path));
    for path in programs {
        assert!(documented.iter().any(|(_, known)| known == path), "{path} is served and not documented");
    }
}

/// The path with something in place of each parameter.
fn fill(path: &str) -> String {
    path.split('/').map(|part| if part.starts_with('{') { "1" } else { part }).collect::<Vec<_>>().join("/")
}

#[test]
fn a_report_comes_in_the_form_that_is_asked_for() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    web.done("POST", "/v1/bins", &json!({ "number": 2, "name": "=SUM(A1)" }));
    weigh(&web, 2);
    let kind = |path: &str, accept: Option<&str>| {
        let headers: Vec<_> = accept.map(|accept| ("Accept", accept)).into_iter().collect();
        let answer = web.send("GET", path, &headers, b"").unwrap();
        assert_eq!(answer.status, 200, "{path}");
        answer.header("content-type").unwrap().split(';').next().unwrap().to_owned()
    };
    let report = "/v1/reports/yard-run";
    assert_eq!(kind(report, None), "application/json");
    assert_eq!(kind(report, Some("text/csv")), "text/csv");
    assert_eq!(kind(report, Some("text/html,application/xhtml+xml;q=0.9,*/*;q=0.8")), "text/html");
    assert_eq!(kind(report, Some("application/json;q=0.9, text/csv;q=0.1")), "application/json");
    for (suffix, expected) in [("json", "application/json"), ("csv", "text/csv"), ("html", "text/html")] {
        // The suffix is plainer than any header.
        assert_eq!(kind(&format!("{report}.{suffix}"), Some("image/png")), expected);
        assert_eq!(kind(&format!("{report}.{suffix}"), Some("text/html")), expected);
    }
    assert_eq!(kind("/v1/drops.csv", None), "text/csv");
    assert!(web.get(&format!("{report}.csv")).body.contains(",'=SUM(A1),"), "a name is no formula");
    assert!(web.get(&format!("{report}.html")).body.contains("=SUM(A1)"));
}

/// Something in the bin, so that it stands in the report.
fn weigh(web: &Web, bin: u32) {
    let body = json!({ "bin": bin, "mass": { "grams": "40" }, "source": { "from": "label" }, "reason": "off the label" });
    web.done("POST", "/v1/benches/1/drops", &body);
}

#[test]
fn names_cannot_break_out_of_a_page() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    let name = "<script>alert(1)</script>\"'&";
    web.done("POST", "/v1/grades", &json!({ "name": name }));
    web.done("POST", "/v1/bins", &json!({ "number": 2, "name": name, "grade": name }));
    web.done("PUT", "/v1/benches/1/bin", &json!({ "number": 2 }));
    weigh(&web, 2);
    for path in ["/", "/bins", "/reports/yard-run", "/?said=%3Cscript%3Ealert(1)%3C/script%3E"] {
        let page = web.get(path).body;
        assert!(page.contains("&lt;script&gt;") && !page.contains("<script>alert"), "{path}");
    }
}

#[test]
fn metrics_are_prometheus_text() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    web.done("POST", "/v1/grades", &json!({ "name": "copper" }));
    let answer = web.get("/metrics");
    assert!(answer.header("content-type").unwrap().starts_with("application/openmetrics-text"));
    assert!(answer.body.ends_with("# EOF\n"));
    assert!(number(&answer.body, "bismar_events_total").is_some_and(|events| events >= 1.0), "{}", answer.body);
    for line in answer.body.lines().filter(|line| !line.starts_with('#')) {
        let (name, value) = line.rsplit_once(' ').unwrap_or_else(|| panic!("{line}"));
        assert!(name.starts_with("bismar_") && value.parse::<f64>().is_ok(), "{line}");
    }
    assert_eq!(web.get("/healthz").body, "ok\n");
    assert_eq!(web.get("/readyz").status, 200);
}

fn number(text: &str, name: &str) -> Option<f64> {
    let line = text.lines().find(|line| line.split([' ', '{']).next() == Some(name))?;
    line.rsplit(' ').next()?.parse().ok()
}

/// A tablet without script, or a person with another browser: the forms do the work alone.
#[test]
fn forms_work_without_script() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    submit(&web, "/bins", "/grades", &[("name", "red brass & co")]);
    submit(&web, "/bins", "/buyers", &[("name", "Quayside")]);
    submit(&web, "/bins", "/bins", &[("number", "5"), ("grade", "red brass & co"), ("tare_kg", "1.25")]);
    submit(&web, "/bins", "/quotes", &[("buyer", "Quayside"), ("grade", "red brass & co"), ("price", "5.40/kg")]);
    submit(&web, "/", "/benches/1/choose", &[("bin", "5")]);
    submit(&web, "/", "/benches/1/session", &[("act", "start")]);
    let bench = web.json("/v1/benches/1");
    assert_eq!((&bench["bin"]["number"], &bench["session"]["paused"]), (&json!(5), &json!(false)));
    submit(&web, "/", "/benches/1/session", &[("act", "pause")]);
    assert_eq!(web.json("/v1/benches/1")["session"]["paused"], true);
    submit(&web, "/", "/benches/1/session", &[("act", "end")]);
    assert!(web.json("/v1/benches/1")["session"].is_null());
    assert_eq!(web.json("/v1/bins/5")["tare"]["kg"], "1.250");
    assert_eq!(web.json("/v1/quotes")[0]["price"], "5.40");

    let body = json!({ "mass": { "grams": "40" }, "source": { "from": "label" }, "reason": "off the label" });
    let drop = web.done("POST", "/v1/benches/1/drops", &body)["id"].as_u64().unwrap();
    submit(&web, "/", &format!("/drops/{drop}"), &[("act", "move"), ("to", "5")]);
    assert_eq!(web.json("/v1/bins/5")["mass"]["grams"], "40");
    let said = submit(&web, "/bins", "/quotes", &[("buyer", "Quayside"), ("grade", "red brass & co"), ("price", "5.40/ton")]);
    assert!(web.get(&said).body.contains("ton"), "the page says why");
}

/// Sends the form of a page with its hidden fields, twice as a trembling finger does; gives where it leads.
pub fn submit(web: &Web, page: &str, action: &str, fields: &[(&str, &str)]) -> String {
    let body = web.get(page).body;
    let hidden =
        |name: &str| body.split(&format!("name=\"{name}\" value=\"")).nth(1).unwrap().split('"').next().unwrap().to_owned();
    let mut form = format!("token={}&key={}", hidden("token"), hidden("key"));
    for (name, value) in fields {
        form += &format!("&{name}={}", value.replace('&', "%26").replace(' ', "+"));
    }
    let send = || web.send("POST", action, &[("Content-Type", "application/x-www-form-urlencoded")], form.as_bytes()).unwrap();
    let answer = send();
    assert_eq!(answer.status, 303, "{action}: {answer:?}");
    let again = send();
    assert_eq!((again.status, again.header("location")), (303, answer.header("location")), "{action}: {again:?}");
    answer.header("location").unwrap().to_owned()
}
