//! Binding the port and the Unix socket.

use super::Fault;
use std::net::SocketAddr;
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use tokio::net::{TcpListener, UnixListener};

/// Owner and group may speak to the daemon through the socket; nobody else.
const SOCKET_MODE: u32 = 0o660;

pub async fn port(address: SocketAddr) -> Result<TcpListener, Fault> {
    TcpListener::bind(address).await.map_err(|source| Fault::Listen { what: address.to_string(), source })
}

/// A socket file that a killed daemon left behind is taken away: nobody answers behind it. The store's lock has made
/// sure already that no other daemon works on these books.
pub fn socket(path: &Path) -> Result<UnixListener, Fault> {
    let fault = |source| Fault::Listen { what: path.display().to_string(), source };
    if path.exists() && std::os::unix::net::UnixStream::connect(path).is_err() {
        std::fs::remove_file(path).map_err(fault)?;
    }
    if let Some(directory) = path.parent() {
        std::fs::create_dir_all(directory).map_err(fault)?;
    }
    let listener = UnixListener::bind(path).map_err(fault)?;
    std::fs::set_permissions(path, std::fs::Permissions::from_mode(SOCKET_MODE)).map_err(fault)?;
    Ok(listener)
}
