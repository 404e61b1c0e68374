//! A Python of the tests' own, with the packages of `requirements.txt` in exactly those versions: what the program
//! reckons is reckoned there by other means.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

const WANTED: &str = include_str!("requirements.txt");

/// Prints the version of each package named, one a line, and fails at the first that is missing.
const VERSIONS: &str = "import sys\nfrom importlib.metadata import version\nfor name in sys.argv[1:]: print(version(name))";

/// The interpreter that `BISMAR_PYTHON` names, else the one in `target/python`. `None`, said aloud, where there is none
/// with the right packages; a failure where `BISMAR_CI` is set.
pub fn python() -> Option<PathBuf> {
    let named = std::env::var_os("BISMAR_PYTHON").map(PathBuf::from);
    let python = named.unwrap_or_else(|| Path::new(env!("CARGO_MANIFEST_DIR")).join("target/python/bin/python"));
    let Err(why) = fits(&python) else { return Some(python) };
    assert!(std::env::var_os("BISMAR_CI").is_none(), "{why}, and BISMAR_CI is set");
    // Past the test runner, which keeps what a passing test prints.
    _ = writeln!(std::io::stderr(), "skipped: {why} (the README tells how to make it)");
    None
}

/// Runs a script of `tests/support` with these arguments and this text on its standard input.
pub fn run(python: &Path, script: &str, arguments: &[&str], text: &str) -> Output {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/support").join(script);
    let mut command = Command::new(python);
    // The tree stays as it was: no compiled copies beside the script.
    command.arg("-B").arg(script).args(arguments);
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    let mut input = child.stdin.take().unwrap();
    let text = text.to_owned();
    // From a thread of its own: a script that answers before it has read all must not stand still over a full pipe.
    let feeding = std::thread::spawn(move || _ = input.write_all(text.as_bytes()));
    let output = child.wait_with_output().unwrap();
    feeding.join().unwrap();
    output
}

fn fits(python: &Path) -> Result<(), String> {
    let (names, versions): (Vec<&str>, Vec<&str>) = WANTED.lines().filter_map(|line| line.split_once("==")).unzip();
    let said = Command::new(python).args(["-c", VERSIONS]).args(names).output();
    let said = said.map_err(|fault| format!("there is no Python for the tests at {} ({fault})", python.display()))?;
    let found = String::from_utf8_lossy(&said.stdout);
    if said.status.success() && found.lines().eq(versions) {
        return Ok(());
    }
    Err(format!("the Python at {} has not the packages of tests/support/requirements.txt", python.display()))
}
