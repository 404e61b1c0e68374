//! What is refused, how it is told, and that nothing of it is stored.

use super::daemon::Daemon;
use super::scratch::Scratch;
use super::web::{Answer, Web};
use serde_json::{Value, json};

const JSON: (&str, &str) = ("Content-Type", "application/json");

fn bench() -> (Scratch, Daemon) {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    let web = daemon.web();
    web.done("POST", "/v1/grades", &json!({ "name": "copper" }));
    web.done("POST", "/v1/buyers", &json!({ "name": "Quayside" }));
    web.done("POST", "/v1/bins", &json!({ "number": 1, "grade": "copper" }));
    (scratch, daemon)
}

fn problem(web: &Web, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> (u16, String) {
    let answer = web.send(method, path, headers, body.as_bytes()).unwrap();
    (answer.status, answer.problem())
}

#[track_caller]
fn refused(web: &Web, expected: (u16, &str), method: &str, path: &str, headers: &[(&str, &str)], body: &str) {
    let (status, code) = problem(web, method, path, headers, body);
    assert_eq!((status, code.as_str()), expected, "{method} {path} {headers:?} {body}");
}

#[test]
fn bad_requests_are_told_and_store_nothing() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let before = web.seq();
    let post = |expected, path, body: Value| refused(&web, expected, "POST", path, &[JSON], &body.to_string());
    let quote = |price: &str| json!({ "buyer": "Quayside", "grade": "copper", "price": price });

    refused(&web, (404, "unknown-bin"), "PUT", "/v1/benches/1/bin", &[JSON], r#"{"number": 77}"#);
    refused(&web, (404, "unknown-bench"), "PUT", "/v1/benches/9/bin", &[JSON], r#"{"number": 1}"#);
    refused(&web, (404, "unknown-bin"), "GET", "/v1/bins/77", &[], "");
    post((404, "unknown-name"), "/v1/quotes", json!({ "buyer": "Nobody", "grade": "copper", "price": "1/kg" }));
    for price in ["--4.00/kg", "4.00/ton", "4.00", "four/kg", "4.00/stone", "", "1e3/kg", "4,00/kg"] {
        post((422, "bad-price"), "/v1/quotes", quote(price));
    }
    let ton = web.write("POST", "/v1/quotes", &quote("4.00/ton")).json()["detail"].as_str().unwrap().to_owned();
    for kind in ["short ton", "long ton", "tonne"] {
        assert!(ton.replace('-', " ").contains(kind), "it names the kinds of ton: {ton}");
    }

    for body in
        ["not json", "{", "[1]", "{\"number\": \"one\"}", "{\"numbr\": 1}", "{\"number\": -1}", "{\"number\": 1.5}", "null"]
    {
        refused(&web, (422, "bad-body"), "PUT", "/v1/benches/1/bin", &[JSON], body);
    }
    for kg in ["", "x", "1.2.3", "NaN", "1e400"] {
        let body = json!({ "bin": 1, "mass": { "kg": kg }, "source": { "from": "label" }, "reason": "x" });
        post((422, "bad-body"), "/v1/benches/1/drops", body);
    }
    let two = json!({ "bin": 1, "mass": { "kg": "1", "lb": "2" }, "source": { "from": "label" }, "reason": "x" });
    post((422, "bad-body"), "/v1/benches/1/drops", two);

    for path in ["/v1/drops?bim=1", "/v1/drops?bin=one", "/v1/reports/yard-run?asof=2026-01-01", "/v1/reports/yard-run.csv?x=1"] {
        refused(&web, (400, "bad-query"), "GET", path, &[], "");
    }
    refused(&web, (422, "bad-body"), "GET", "/v1/reports/yard-run?as_of=2026-13-01", &[], "");
    refused(&web, (404, "no-such-page"), "GET", "/v1/nothing", &[], "");
    refused(&web, (405, "no-such-method"), "DELETE", "/v1/bins", &[], "");
    refused(&web, (400, "bad-version"), "PATCH", "/v1/bins/1", &[JSON, ("If-Match", "new")], "{}");
    let large = format!("{{\"name\": \"{}\"}}", "x".repeat(70_000));
    refused(&web, (413, "body-unreadable"), "POST", "/v1/grades", &[JSON], &large);
    // What cannot be read out of the path is a problem document as well.
    for (path, body) in [("/v1/drops/x/void", "{}"), ("/v1/sessions/-1/end", "{}"), ("/v1/bins/99999999999/empty", "{}")] {
        let (status, _) = problem(&web, "POST", path, &[JSON], body);
        assert!((400..500).contains(&status), "{path}: {status}");
    }
    assert_eq!(web.seq(), before, "a refusal stores nothing");
}

#[test]
fn strangers_are_kept_out() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let before = web.seq();
    let ours = web.host();
    for host in ["evil.example", "localhost.evil.example", "evil.example:8737", ""] {
        for (method, path) in [("GET", "/"), ("GET", "/v1/bins"), ("POST", "/v1/grades"), ("GET", "/healthz")] {
            refused(&web, (421, "not-our-host"), method, path, &[("Host", host), JSON], "");
        }
    }
    for host in [ours.as_str(), "localhost:8737", "bench.local", "[::1]:8737"] {
        assert_eq!(web.send("GET", "/v1/bins", &[("Host", host)], b"").unwrap().status, 200, "{host}");
    }

    let grade = r#"{"name": "stolen"}"#;
    for kind in ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x"] {
        refused(&web, (415, "not-json"), "POST", "/v1/grades", &[("Content-Type", kind)], grade);
    }
    refused(&web, (415, "not-json"), "POST", "/v1/grades", &[], grade);
    for origin in ["http://evil.example", "null", "http://localhost:1", "https://evil.example:8737"] {
        refused(&web, (403, "foreign-origin"), "POST", "/v1/grades", &[JSON, ("Origin", origin)], grade);
    }
    for site in ["cross-site", "same-site"] {
        let (status, _) = problem(&web, "POST", "/v1/grades", &[JSON, ("Sec-Fetch-Site", site)], grade);
        assert_eq!(status, 403, "{site}");
    }
    // A form without the token of this start.
    for token in ["", "token=", "token=00000000000000000000000000000000"] {
        let form = ("Content-Type", "application/x-www-form-urlencoded");
        refused(&web, (403, "old-page"), "POST", "/grades", &[form], &format!("name=stolen&{token}"));
    }
    assert_eq!(web.seq(), before);
    let own = format!("http://{ours}");
    let kept =
        web.write_with("POST", "/v1/grades", &[("Origin", &own), ("Sec-Fetch-Site", "same-origin")], &json!({ "name": "ours" }));
    assert_eq!(kept.status, 201, "{kept:?}");

    let page = web.get("/");
    let policy = page.header("content-security-policy").unwrap();
    assert!(policy.contains("default-src 'self'") && policy.contains("frame-ancestors 'none'"), "{policy}");
    assert_eq!(page.header("x-content-type-options"), Some("nosniff"));
}

#[test]
fn a_session_ended_twice_says_when_it_ended() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let session = web.done("POST", "/v1/benches/1/sessions", &json!({}))["id"].as_u64().unwrap();
    let end = format!("/v1/sessions/{session}/end");
    web.done("POST", &end, &json!({}));
    let ended = web.json("/v1/sessions")[0]["ended"]["time"].clone();
    let before = web.seq();
    let again = web.write("POST", &end, &json!({}));
    assert_eq!((again.status, again.problem().as_str()), (409, "session-ended"));
    assert_eq!(again.json()["ended_at"], ended);
    assert_eq!(web.seq(), before);
    let two = web.done("POST", "/v1/benches/1/sessions", &json!({}));
    let more = web.write("POST", "/v1/benches/1/sessions", &json!({}));
    assert_eq!((more.status, more.problem().as_str()), (409, "session-open"), "{two}");
}

#[test]
fn the_same_key_gives_the_same_receipt_and_one_event() {
    let (scratch, daemon) = bench();
    let web = daemon.web();
    let body = json!({ "bin": 1, "mass": { "lb": "2.5" }, "source": { "from": "yard-scale" }, "reason": "weighed there" });
    let once = |web: &Web| web.write_with("POST", "/v1/benches/1/drops", &[("Idempotency-Key", "tap-1")], &body);
    let ids = |answer: &Answer| (answer.json()["id"].clone(), answer.json()["seq"].clone());
    let first = once(&web);
    let after = web.seq();
    let second = once(&web);
    assert_eq!((first.status, second.status), (201, 200));
    assert_eq!(ids(&first), ids(&second));
    assert_eq!(web.seq(), after);
    // At the same moment, from two tablets; and after a restart.
    let together: Vec<Answer> = std::thread::scope(|scope| {
        let taps: Vec<_> = (0..8)
            .map(|_| scope.spawn(|| web.write_with("POST", "/v1/bins", &[("Idempotency-Key", "tap-2")], &json!({}))))
            .collect();
        taps.into_iter().map(|tap| tap.join().unwrap()).collect()
    });
    assert_eq!(together.iter().filter(|answer| answer.status == 201).count(), 1);
    assert!(together.iter().all(|answer| ids(answer) == ids(&together[0])));
    assert_eq!(web.json("/v1/bins").as_array().unwrap().len(), 2);
    daemon.kill();
    let daemon = Daemon::start(&scratch);
    assert_eq!(ids(&once(&daemon.web())), ids(&first));
    assert_eq!(daemon.web().json("/v1/bins/1")["mass"]["grams"], "1133.980925", "2.5 lb of 453.59237 g, once");
}

#[test]
fn an_edit_of_what_changed_meanwhile_is_refused() {
    let (_scratch, daemon) = bench();
    let web = daemon.web();
    let seen = web.get("/v1/bins/1").header("etag").unwrap().to_owned();
    let change = |tag: &str, name: &str| web.write_with("PATCH", "/v1/bins/1", &[("If-Match", tag)], &json!({ "name": name }));
    assert_eq!(change(&seen, "blue tub").status, 201);
    let late = change(&seen, "red tub");
    assert_eq!((late.status, late.problem().as_str()), (412, "changed-meanwhile"));
    let now = web.get("/v1/bins/1");
    assert_eq!(now.json()["name"], "blue tub");
    assert_ne!(now.header("etag"), Some(seen.as_str()));
    assert_eq!(change(now.header("etag").unwrap(), "red tub").status, 201);
}
