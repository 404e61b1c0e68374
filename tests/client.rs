//! The command line beside a real daemon, each verb as a process of its own: what is said, and how it ends.

#[path = "support/station.rs"]
mod station;

use station::{Said, Station, bismar};
use std::path::Path;
use std::process::{Command, Stdio};

#[test]
fn what_is_entered_is_shown() {
    let at = Station::start();
    assert_eq!(at.done("bin list"), "There is no bin yet; one is made with: bismar bin make\n");
    at.done("grade make copper");
    assert_eq!(at.done("bin make 7 --grade copper --tare 400g --capacity 0.5kg"), "bin 7 made\n");
    assert_eq!(at.done("bin make --name brass"), "bin 8 made\n", "the next number is told");
    assert_eq!(at.done("bin choose 7"), "bench 1: bin 7 is chosen\n");
    assert_eq!(at.done("bin choose 7"), "bench 1: bin 7 is chosen\n", "the same again is said of what is set down next");
    at.done("feed make motors");
    let session = at.number("session start --feed motors");
    let first = at.number("drop enter 40g --bin 7 --source hanging-scale --reason heavy");
    let second = at.number("drop enter 8oz --source label --reason sold");
    at.done("buyer make Yard");
    at.done("quote give Yard copper 4.00/lb --day 2026-01-02 --minimum 10g --break 100kg=4.20 --stale-after 9000");

    let bins = at.done("bin list");
    assert_has(&bins, &["7", "copper", "0.040", "0.088", "0.400", "0.500", "8 brass", "no grade yet"]);
    let drops = at.done("drop list");
    assert_has(&drops, &[&first, &second, "226.796185", "no bin yet", "confirmed, elsewhere", &session]);
    assert_eq!(at.done("drop list --bin 7 --limit 1 --form csv").lines().count(), 2);
    assert!(at.done("drop list --unassigned").contains(&second));
    assert!(!at.done(&format!("drop list --before {second}")).contains("226.796185"));
    assert_has(&at.done("quote list"), &["4.00 USD/lb", "2026-01-02", "0.010", "Yard"]);
    assert_has(&at.done("session list"), &["running", "motors", &session]);
    assert_has(&at.done("status"), &["absent", "7 (copper): 0.040 kg", "running, motors", "sound", "226.796185"]);

    assert_eq!(at.done("intake ask"), "bench 1: the next load is an intake\n");
    assert_has(&at.done("status"), &["Intake", "the next load, of motors"]);
    assert_eq!(at.done("intake withdraw"), "bench 1: the next load is no intake\n");
    assert!(!at.done("status").contains("Intake"));
    at.failed("intake withdraw", &["no load was to be an intake"]);
    at.failed("intake ask --feed fans", &["there is no feed \"fans\""]);
    at.failed("intake tell 99 --feed motors", &["there is no lot 99"]);
    assert_has(&at.done("intake list"), &["bismar intake ask"]);

    let report = at.done("report yard-run");
    assert_has(&report, &["Yard USD", "0.35", "Not in any bin yet: 0.227 kg", "not legal for trade"]);
    let early = at.done("report yard-run --as-of 2026-01-01");
    assert!(early.contains("Before the yard run, 2026-01-01") && !early.contains("0.040"), "{early}");
    let json: serde_json::Value = serde_json::from_str(&at.done("report yard-run --form json")).unwrap();
    assert_eq!(json["bins"][0]["offers"][0]["value"], "0.35");
    assert!(at.done("report yard-run --form csv").starts_with("bin,name,grade,kg,"));
    assert_has(&at.done("report yard-run --form html"), &["<!DOCTYPE html>", "0.35"]);
}

#[test]
fn what_was_wrong_is_put_right() {
    let at = Station::start();
    at.done("bin make 1");
    at.done("bin make 2");
    let [void, shift, adjust] = [1, 2, 3].map(|kg| at.number(&format!("drop enter {kg}kg --source yard-scale --reason r")));
    at.done(&format!("drop void {void} --which never-material --reason thumb"));
    at.done(&format!("drop move {shift} --to 1 --reason placed"));
    at.done(&format!("drop move {adjust} --to 2 --reason placed"));
    at.done(&format!("drop adjust {adjust} 3.5kg --source bench-scale --reason again"));
    at.done("bin stock 1 10kg --source estimate --low 8kg --high 12kg --reason before");
    assert_has(&at.done("bin list"), &["12.000", "3.500"]);
    at.done("bin tip 2 --to 1 --reason full");
    assert_has(&at.done("bin list"), &["15.500", "0.000"]);
    at.done("bin empty 1 --reason sold");
    assert!(!at.done("bin list").contains("15.500"));
    at.failed(&format!("drop void {void} --which taken-out-now --reason twice"), &["voided or taken back already"]);

    at.done("grade make one/two");
    at.done("grade change one/two --to three");
    at.done("buyer make Yard");
    let quote = at.done("quote give Yard three 1/kg");
    let quote = quote.split([' ', ':']).nth(1).unwrap();
    assert!(at.done(&format!("quote withdraw {quote} --reason typo")).contains("withdrawn"));
    assert!(at.done("quote list").contains("withdrawn"));
    at.done("bin change 2 --to 5 --name five --tare 1lb");
    assert_has(&at.done("bin list"), &["5 five", "0.454"]);
    at.done("bin change 5 --no-name --no-tare --retire");
    let bins = at.done("bin list");
    assert!(bins.contains("retired") && !bins.contains("five") && !bins.contains("0.454"), "{bins}");
    at.failed("bin change 1 --name x --seen 1", &["somebody changed it meanwhile", "version 1"]);
}

#[test]
fn a_session_is_ended_once() {
    let at = Station::start();
    at.failed("session end", &["no session runs on bench 1", "bismar session start"]);
    let session = at.number("session start");
    at.failed("session start", &[&format!("session {session} has been running on this bench since 20")]);
    at.done("session pause");
    at.failed("session pause", &["paused already"]);
    at.done("session resume");
    at.done(&format!("session leg --session {session}"));
    assert!(at.done("session end").starts_with(&format!("session {session} ended: hands on 0:")));
    let again = [&format!("session end {session}"), "session end"].map(|verb| at.failed(verb, &["has ended already, at 20"]));
    assert!(again.iter().all(|said| said.contains(&format!("session {session}"))), "{again:?}");
    at.failed("session end 99999", &["there is no session 99999"]);
}

#[test]
fn what_cannot_be_is_refused_with_a_reason() {
    let at = Station::start();
    at.done("bin make 3");
    at.failed("bin choose 9", &["there is no bin 9", "there is bin 3"]);
    at.failed("bin make 3", &["bin 3 exists already"]);
    at.failed("status --bench 4", &["there is no bench 4"]);
    at.failed("bin choose 3 --bench 4", &["there is no bench 4"]);
    at.failed("drop enter -5g --source label --reason r", &["more than nothing", "-5 g"]);
    at.failed("drop enter 5g --source estimate --low 6g --high 7g --reason r", &["low end"]);
    at.failed("bin empty 3 --reason=", &["needs a reason"]);
    at.failed("quote give Nobody copper 1/kg", &["there is no"]);
    // What is typed wrong is wrong usage, and nothing is sent.
    at.misused("quote give Yard copper --4.00/lb", &["--4.00"]);
    at.misused("quote give Yard copper 310/ton", &["tonne (1000 kg)", "short-ton (2000 lb)", "long-ton (2240 lb)"]);
    at.misused("drop enter 5 --source label --reason r", &["g, kg, lb or oz"]);
    at.misused("drop enter 1,5kg --source label --reason r", &["1,5"]);
    at.misused("drop enter 5g --source estimate --reason r", &["--low"]);
    at.misused("drop enter 5g --source label", &["--reason"]);
    at.misused("report yard-run --as-of yesterday", &["2026-03-01"]);
    at.misused("bin change 3", &["--grade"]);
    at.misused("bin list --at ::", &["127.0.0.1:8737"]);
    assert_eq!(at.done("drop list"), "There is no such drop.\n");
}

#[test]
fn without_the_daemon_the_books_give_the_same_figures() {
    let mut at = Station::start();
    at.done("grade make copper");
    at.done("bin make 1 --grade copper");
    at.done("buyer make Yard");
    at.done("feed make motors");
    at.done("quote give Yard copper 8/kg --day 2026-01-02");
    at.number("session start --feed motors");
    at.number("drop enter 1.25kg --bin 1 --source label --reason r");
    at.number("drop enter 12oz --source label --reason r");
    at.done("session end");
    let reads = [
        "bin list",
        "bin list --form json",
        "grade list",
        "buyer list --form json",
        "feed list",
        "quote list",
        "session list --form json",
        "drop list",
        "drop list --unassigned --form csv",
        "drop list --bin 1 --form json",
        "report yard-run",
        "report yard-run --form json",
        "report yard-run --form csv",
        "report yard-run --form html",
        "report yard-run --as-of 2026-01-01",
    ];
    let asked = reads.map(|verb| at.done(verb));
    assert!(asked[0].contains("1.250") && asked[10].contains("10.00"), "{asked:?}");
    at.stop();
    for (verb, asked) in reads.iter().zip(asked) {
        assert_eq!(at.done(&format!("{verb} --store {}", at.books().display())), asked, "{verb}");
    }
    let socket = at.socket().display().to_string();
    at.failed("bin list", &[&socket, "bismar serve", "--at", "--store DIR"]);
    let said = at.failed("bin make 2", &[&socket, "bismar serve"]);
    assert!(!said.contains("--store"), "{said}");
    at.failed(&format!("bin list --store {}", at.folder().display()), &["there are no books here"]);
}

#[test]
fn the_books_are_verified_copied_and_mended() {
    let mut at = Station::start();
    for number in 1..=30 {
        at.done(&format!("bin make {number}"));
    }
    let (books, copy) = (at.books().display().to_string(), at.folder().join("copy").display().to_string());
    assert!(at.done(&format!("verify --store {books}")).contains("sound, events 1 to 31"));
    assert!(at.done(&format!("backup --store {books} --to {copy}")).contains("events 1 to 31"));
    at.failed(&format!("backup --store {books} --to {copy}"), &["empty directory"]);
    at.failed(&format!("mend --store {books}"), &["in use by process", &at.pid().to_string()]);
    at.stop();
    let whole = at.done(&format!("bin list --store {books}"));
    assert_eq!(at.done(&format!("bin list --store {copy}")), whole);
    assert!(at.done(&format!("mend --store {books}")).contains("nothing to mend"));

    let roll = std::fs::read_dir(at.books().join("roll")).unwrap().next().unwrap().unwrap().path();
    let mut bytes = std::fs::read(&roll).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(&roll, bytes).unwrap();
    at.failed(&format!("verify --store {books}"), &["DAMAGED", "bismar mend", "events 1 to "]);
    let partial = at.folder().join("partial").display().to_string();
    at.failed(&format!("backup --store {books} --to {partial}"), &["DAMAGED"]);
    let mended = at.done(&format!("mend --store {books}"));
    assert!(mended.contains("to 31 were written anew") && mended.contains("set aside: "), "{mended}");
    assert!(at.done(&format!("verify --store {books}")).contains("sound, events 1 to 31"));
    assert_eq!(at.done(&format!("bin list --store {books}")), whole);
    at.failed(&format!("verify --store {}", at.folder().join("nothing").display()), &["there are no books here", "--store"]);
}

#[test]
fn a_second_daemon_is_told_who_holds_the_books() {
    let at = Station::start();
    let said = bismar(&["serve", "--config", at.config().to_str().unwrap()]);
    assert_eq!(said.code, Some(1), "{said:?}");
    assert_has(&said.err, &[&format!("in use by process {}", at.pid()), &at.books().display().to_string()]);
    at.done("status");
}

#[test]
fn the_port_answers_like_the_socket() {
    let at = Station::start();
    let address = at.address();
    let said = bismar(&["--at", &address, "bin", "make", "4"]);
    assert_eq!((said.code, said.out.as_str()), (Some(0), "bin 4 made\n"), "{said:?}");
    let by_variable =
        Command::new(env!("CARGO_BIN_EXE_bismar")).args(["bin", "list"]).env("BISMAR_AT", &address).output().unwrap();
    assert!(String::from_utf8_lossy(&by_variable.stdout).contains('4'), "{by_variable:?}");
}

#[test]
fn every_fault_of_a_configuration_is_told_with_its_line() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bismar.toml");
    let text = "currency = \"euro\"\n[http]\nlisten = \"everywhere\"\n[[bench]]\nport = \"/dev/null\"\ndivisoin = \"1 g\"\n";
    std::fs::write(&file, text).unwrap();
    let file = file.to_str().unwrap();
    for said in [bismar(&["check-config", file]), bismar(&["serve", "--config", file])] {
        assert_eq!(said.code, Some(78), "{said:?}");
        let told: Vec<&str> = said.err.lines().filter(|line| line.starts_with(file)).collect();
        assert_eq!(told.len(), 3, "{said:?}");
        assert_has(told[0], &["line 1: currency", "EUR"]);
        assert_has(told[1], &["line 3: http.listen", "127.0.0.1:8737"]);
        assert_has(told[2], &["line 6: bench[1].divisoin", "division"]);
    }
    let said = bismar(&["check-config", folder.path().join("none").to_str().unwrap()]);
    assert_eq!(said.code, Some(78), "{said:?}");
}

#[test]
fn the_manual_names_every_verb() {
    let help = bismar(&["help"]).out;
    let verbs = help.lines().skip_while(|line| *line != "Commands:").skip(1).take_while(|line| !line.is_empty());
    let verbs: Vec<&str> = verbs.filter_map(named).filter(|verb| *verb != "help").collect();
    assert!(verbs.len() > 15 && verbs.contains(&"session"), "{verbs:?}");
    let manual = bismar(&["manual"]).out;
    assert!(manual.contains(".TH bismar 1"), "{manual}");
    let chapter = |verb: &str| manual.lines().any(|line| line.starts_with(&format!(".SH \"BISMAR {}", verb.to_uppercase())));
    for verb in verbs {
        assert!(chapter(verb), "{verb} has no chapter");
    }
    for verb in ["bin choose", "session leg", "drop adjust", "quote withdraw", "report yard-run"] {
        assert!(chapter(verb), "{verb} has no chapter");
    }
}

#[test]
fn books_go_out_and_come_back() {
    let mut at = Station::start();
    at.done("bin make 1");
    at.number("drop enter 1.25kg --bin 1 --source label --reason r");
    let (books, other, file) = (at.books(), at.folder().join("other"), at.folder().join("books.jsonl"));
    let (books, other, file) = (books.display(), other.display(), file.display());
    // While the daemon runs.
    at.done(&format!("export --store {books} --to {file}"));
    at.failed(&format!("export --store {books} --to {file}"), &["cannot be written"]);
    let text = std::fs::read_to_string(file.to_string()).unwrap();
    assert_eq!(at.done(&format!("export --store {books}")), text);
    let lines: Vec<serde_json::Value> = text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let [events @ .., closing] = lines.as_slice() else { panic!("{text}") };
    assert_eq!(closing["closed"], events.len());
    assert!(events.iter().any(|event| event["kind"] == "weight-entered"), "{text}");
    assert!(at.done(&format!("import --from {file} --store {other}")).contains("read back and sound"));
    at.failed(&format!("import --from {file} --store {other}"), &["nothing was imported", "there is a roll already"]);
    at.stop();
    let listed = |books: &dyn std::fmt::Display| at.done(&format!("drop list --form json --store {books}"));
    assert_eq!(listed(&other), listed(&books));
    at.failed(&format!("export --store {}", at.folder().display()), &["there are no books here"]);
    at.failed(&format!("import --from {file}-none --store {other}2"), &["cannot be read"]);
}

#[test]
fn the_doctor_says_what_is_ill() {
    let mut at = Station::start();
    at.done("bin make 1");
    let config = at.config().display().to_string();
    // The scale of this bench is not there.
    let said = at.say(&format!("doctor --config {config}"));
    assert_eq!(said.code, Some(1), "{said:?}");
    assert_has(&said.out, &["well  configuration", "well  daemon", "ILL   bench 1", "absent", "well  books", "sound", "clock"]);
    assert_has(&said.err, &["one thing is ill"]);
    at.stop();
    let said = at.say(&format!("doctor --config {config}"));
    assert_eq!(said.code, Some(1), "{said:?}");
    assert_has(&said.out, &["note  daemon", "no daemon answers", "ILL   bench 1", "is not there: plug the scale's adapter in"]);
    let broken = std::fs::read_to_string(&config).unwrap().replace("unit =", "units =");
    std::fs::write(&config, broken).unwrap();
    let said = at.say(&format!("doctor --config {config}"));
    assert_eq!(said.code, Some(78), "{said:?}");
    assert_has(&said.err, &["units"]);
    let roll = std::fs::read_dir(at.books().join("roll")).unwrap().next().unwrap().unwrap().path();
    let mut bytes = std::fs::read(&roll).unwrap();
    bytes[40] ^= 1;
    std::fs::write(roll, bytes).unwrap();
    std::fs::write(&config, std::fs::read_to_string(&config).unwrap().replace("units =", "unit =")).unwrap();
    assert_has(&at.say(&format!("doctor --config {config}")).out, &["ILL   books", "bismar verify"]);
}

#[test]
fn bash_can_read_the_completions() {
    let said = bismar(&["completions", "bash"]);
    assert!(said.out.contains("yard-run") && said.out.contains("--as-of"), "the verbs are not there");
    assert!(bash_reads(&said.out));
    assert!(!bash_reads(&said.out.replacen("esac", "", 1)), "a broken script was not seen");
}

/// The verb that a line of the help begins with; a line that goes on with the one before has none.
fn named(line: &str) -> Option<&str> {
    line.strip_prefix("  ").filter(|rest| !rest.starts_with(' '))?.split(' ').next()
}

fn bash_reads(script: &str) -> bool {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bismar.bash");
    std::fs::write(&file, script).unwrap();
    Command::new("bash").arg("-n").arg(Path::new(&file)).stderr(Stdio::null()).status().unwrap().success()
}

fn assert_has(text: &str, parts: &[&str]) {
    let missing: Vec<&&str> = parts.iter().filter(|part| !text.contains(**part)).collect();
    assert!(missing.is_empty(), "{missing:?} not in:\n{text}");
}

impl Station {
    /// What a verb that does its work prints.
    fn done(&self, words: &str) -> String {
        let said = self.say(words);
        assert_eq!(said.code, Some(0), "{words}: {said:?}");
        said.out
    }

    /// The number of what a verb made.
    fn number(&self, words: &str) -> String {
        let said = self.done(words);
        let number = said.split_whitespace().find(|word| word.bytes().all(|byte| byte.is_ascii_digit()));
        number.unwrap_or_else(|| panic!("no number in {said}")).to_owned()
    }

    /// What a verb says that fails.
    fn failed(&self, words: &str, parts: &[&str]) -> String {
        self.ends_with(1, words, parts)
    }

    /// What a verb says that was typed wrong.
    fn misused(&self, words: &str, parts: &[&str]) -> String {
        self.ends_with(2, words, parts)
    }

    fn ends_with(&self, code: i32, words: &str, parts: &[&str]) -> String {
        let Said { code: ended, err, .. } = self.say(words);
        assert_eq!(ended, Some(code), "{words}: {err}");
        assert_has(&err, parts);
        err
    }
}
