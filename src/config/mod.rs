//! One TOML file: its keys, their defaults and their faults.

mod bench;
mod keys;
mod parse;
mod port_name;
mod reader;
mod values;

pub use bench::BenchConfig;
pub use keys::{Act, KeysAt, KeysConfig, KeysKind};
pub use parse::parse;
pub use port_name::{Bridge, HidName, PortName};
pub use reader::Fault;

use crate::measure::Currency;
use jiff::tz::TimeZone;
use std::net::SocketAddr;
use std::path::PathBuf;

/// Everything that the daemon is told.
#[derive(Debug, Clone)]
pub struct Config {
    /// Days are local days of this zone.
    pub zone: TimeZone,
    /// The currency of a price that names none.
    pub currency: Currency,
    pub store: PathBuf,
    pub listen: SocketAddr,
    /// Host names under which the pages may be asked for, beside localhost and plain addresses.
    pub names: Vec<String>,
    /// The Unix socket that the command line speaks to.
    pub socket: PathBuf,
    /// Days after which a quote is called stale, unless it says otherwise itself.
    pub stale_after: u16,
    /// How scales are to be checked.
    pub checks: CheckConfig,
    pub benches: Vec<BenchConfig>,
}

/// The `[checks]` table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CheckConfig {
    /// Days from one check weight to the next.
    pub every_days: u16,
    /// The accuracy class that is written on the scales: `I`, `II`, `III`, `IIIL` or `IIII`; none where none is.
    pub class: Option<&'static str>,
    /// Whose tolerances: `r76` or `handbook-44`, those for a scale in use.
    pub table: &'static str,
}

impl Default for CheckConfig {
    fn default() -> CheckConfig {
        CheckConfig { every_days: CHECK_EVERY, class: None, table: CHECK_TABLES[0] }
    }
}

/// Days from one check weight to the next when nothing else is said.
pub const CHECK_EVERY: u16 = 30;
pub const CHECK_CLASSES: [&str; 5] = ["I", "II", "III", "IIIL", "IIII"];
pub const CHECK_TABLES: [&str; 2] = ["r76", "handbook-44"];

/// The address of the daemon when nothing else is said.
pub const LISTEN: &str = "127.0.0.1:8737";
/// Days after which a quote is called stale when nothing else is said.
pub const STALE_AFTER: u16 = 14;

/// The currency of a price that names none, where nothing else is configured.
pub const CURRENCY: &str = "EUR";
/// The name of its Unix socket.
pub const SOCKET_NAME: &str = "bismar.sock";

/// Where the socket lies: the service's runtime directory, else the user's, else the temporary one.
pub fn default_socket(variable: impl Fn(&str) -> Option<String>) -> PathBuf {
    let directory = variable("RUNTIME_DIRECTORY").or_else(|| variable("XDG_RUNTIME_DIR")).map(PathBuf::from);
    directory.unwrap_or_else(std::env::temp_dir).join(SOCKET_NAME)
}

/// Where the books lie: the service's state directory, else the user's.
pub fn default_store(variable: impl Fn(&str) -> Option<String>) -> PathBuf {
    if let Some(directory) = variable("STATE_DIRECTORY") {
        return PathBuf::from(directory).join("books");
    }
    let state = variable("XDG_STATE_HOME").map(PathBuf::from);
    let home = || variable("HOME").map(|home| PathBuf::from(home).join(".local/state"));
    state.or_else(home).unwrap_or_else(|| PathBuf::from(".")).join("bismar/books")
}
