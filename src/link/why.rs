//! Why there is no link, with what can be done about it.

use std::path::PathBuf;

/// Why a port could not be opened, or went away.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Why {
    #[error("{} is not there: plug the scale's adapter in, or name another port, such as those under /dev/serial/by-id", path.display())]
    Missing { path: PathBuf },
    #[error("{} is in use by another program: close that program, or stop the other bismar", path.display())]
    Busy { path: PathBuf },
    #[error("no permission to open {}: add the user to the group that owns it (often dialout) and log in again", path.display())]
    Denied { path: PathBuf },
    #[error("{} is not a serial port: name a device such as those under /dev/serial/by-id", path.display())]
    NotTty { path: PathBuf },
    #[error("{} is no device with keys: name one under /dev/input/by-id whose name ends in -event-kbd", path.display())]
    NotKeys { path: PathBuf },
    #[error("{} refused the line settings ({detail}): check speed, data bits, parity and stop bits", path.display())]
    Refused { path: PathBuf, detail: String },
    #[error("{} went away ({detail}): check plug and cable; it is looked for again by itself", path.display())]
    Gone { path: PathBuf, detail: String },
    #[error("{address} does not answer ({detail}): check the bridge's power, its network and its port number")]
    NoAnswer { address: String, detail: String },
    #[error(
        "{address} is gone ({detail}): check the bridge, and whether another program has its one connection; it is called again by itself"
    )]
    BridgeGone { address: String, detail: String },
    #[error("no permission to open {}: make the hidraw line of 60-bismar.rules yours and plug the scale in again", path.display())]
    DeniedHid { path: PathBuf },
    #[error("{} is no scale that can be read ({detail}): name another device", path.display())]
    NoScale { path: PathBuf, detail: String },
    #[error("{} is more than one device ({many}): name one of them by its path", path.display())]
    Several { path: PathBuf, many: String },
    #[error("the tape is at its end")]
    TapeEnded,
}

impl Why {
    /// A short fixed name, for logs and metrics.
    pub const fn code(&self) -> &'static str {
        match self {
            Why::Missing { .. } => "missing",
            Why::Busy { .. } => "busy",
            Why::Denied { .. } => "denied",
            Why::NotTty { .. } => "not-tty",
            Why::NotKeys { .. } => "not-keys",
            Why::Refused { .. } => "refused",
            Why::Gone { .. } => "gone",
            Why::NoAnswer { .. } => "no-answer",
            Why::BridgeGone { .. } => "bridge-gone",
            Why::DeniedHid { .. } => "denied",
            Why::NoScale { .. } => "no-scale",
            Why::Several { .. } => "several",
            Why::TapeEnded => "tape-ended",
        }
    }
}
