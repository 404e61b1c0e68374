//! The index is only a help: without it, with half of it or with a wrong byte in it the report is the same.

use super::daemon::Daemon;
use super::scratch::Scratch;
use super::web::Web;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

fn report(web: &Web) -> (Value, Value) {
    let mut report = web.json("/v1/reports/yard-run.json");
    // Each start may append events of its own.
    report.as_object_mut().unwrap().remove("seq");
    (report, web.json("/v1/drops?limit=10000"))
}

fn fill(web: &Web) {
    web.done("POST", "/v1/grades", &json!({ "name": "lead-free taps" }));
    web.done("POST", "/v1/buyers", &json!({ "name": "Millrace" }));
    web.done("POST", "/v1/quotes", &json!({ "buyer": "Millrace", "grade": "lead-free taps", "price": "4.10/kg" }));
    for number in 1..=3 {
        web.done("POST", "/v1/bins", &json!({ "number": number, "grade": "lead-free taps" }));
    }
    for count in 0..60 {
        let mass = json!({ "kg": format!("0.{:03}", 17 * (count + 3) % 997) });
        let body =
            json!({ "bin": count % 3 + 1, "mass": mass, "source": { "from": "hanging-scale" }, "reason": "weighed outside" });
        web.done("POST", "/v1/benches/1/drops", &body);
    }
}

fn files(under: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(under).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(files(&path));
        } else {
            found.push(path);
        }
    }
    found.sort();
    found
}

#[test]
fn the_report_is_the_same_after_the_index_was_damaged() {
    let scratch = Scratch::new("");
    let daemon = Daemon::start(&scratch);
    fill(&daemon.web());
    let before = report(&daemon.web());
    assert_eq!(before.0["bins"].as_array().unwrap().len(), 3);
    assert!(daemon.stop().0.success());

    let index = scratch.store().join("index");
    let largest = || files(&index).into_iter().max_by_key(|path| path.metadata().unwrap().len()).unwrap();
    let halve = |path: &Path| {
        let length = path.metadata().unwrap().len();
        std::fs::OpenOptions::new().write(true).open(path).unwrap().set_len(length / 2).unwrap();
    };
    let flip = |path: &Path, share: usize| {
        let mut bytes = std::fs::read(path).unwrap();
        let full = bytes.iter().rposition(|byte| *byte != 0).unwrap_or(0);
        bytes[full * share / 10] ^= 0x10;
        std::fs::write(path, bytes).unwrap();
    };
    let mut damages: Vec<(String, Box<dyn Fn()>)> = vec![
        ("deleted".into(), Box::new(|| std::fs::remove_dir_all(&index).unwrap())),
        ("cut to half".into(), Box::new(|| halve(&largest()))),
        ("every file cut to half".into(), Box::new(|| files(&index).iter().for_each(|path| halve(path)))),
    ];
    for share in [1, 3, 5, 8, 10] {
        damages.push((format!("a byte flipped at {share} tenths"), Box::new(move || flip(&largest(), share))));
    }
    for (damage, harm) in damages {
        harm();
        let daemon = Daemon::start(&scratch);
        let web = daemon.web();
        assert_eq!(report(&web), before, "{damage}: {}", daemon.said());
        assert_eq!(web.get("/readyz").status, 200, "{damage}: {}", daemon.said());
        // What came in after the damage is indexed like the rest.
        assert!(daemon.stop().0.success(), "{damage}");
    }
}
