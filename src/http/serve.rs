//! Listening: the TCP port and the Unix socket, bounded, and ended together.

use super::routes::{Door, router};
use super::site::Site;
use axum::serve::Listener;
use std::io;
use std::sync::Arc;
use std::time::Duration;
use tokio::net::{TcpListener, UnixListener};
use tokio::sync::{OwnedSemaphorePermit, Semaphore, watch};

/// More than a workshop has browsers; beyond it a new connection waits.
const CONNECTIONS_MAX: usize = 128;
/// How long open requests may take to finish once the daemon stops.
const GRACE: Duration = Duration::from_secs(3);

/// What is listened at. The caller binds, so a test can use any free port.
pub struct Listeners {
    pub port: TcpListener,
    pub socket: Option<UnixListener>,
}

/// Serves until `site.stop` becomes true, then lets open requests finish for a short while.
pub async fn serve(site: Site, listeners: Listeners) -> io::Result<()> {
    let mut stop = site.stop.clone();
    let port = axum::serve(Capped::new(listeners.port), router(site.clone(), Door::Port))
        .with_graceful_shutdown(stopped(site.stop.clone()));
    let socket = async {
        match listeners.socket {
            None => Ok(()),
            Some(listener) => {
                let routes = router(site.clone(), Door::Socket);
                axum::serve(Capped::new(listener), routes).with_graceful_shutdown(stopped(site.stop.clone())).await
            }
        }
    };
    let both = async { tokio::try_join!(async { port.await }, socket).map(|_| ()) };
    let overdue = async {
        _ = stop.wait_for(|stop| *stop).await;
        tokio::time::sleep(GRACE).await;
    };
    tokio::select! {
        ended = both => ended,
        () = overdue => {
            tracing::warn!("some requests did not finish in time and were cut off");
            Ok(())
        }
    }
}

async fn stopped(mut stop: watch::Receiver<bool>) {
    // An error means that the daemon is gone, which is as good a reason.
    _ = stop.wait_for(|stop| *stop).await;
}

/// A listener that holds back once too many connections are open: axum's own has no limit.
struct Capped<L> {
    inner: L,
    free: Arc<Semaphore>,
}

impl<L> Capped<L> {
    fn new(inner: L) -> Capped<L> {
        Capped { inner, free: Arc::new(Semaphore::new(CONNECTIONS_MAX)) }
    }
}

impl<L: Listener> Listener for Capped<L> {
    type Io = Held<L::Io>;
    type Addr = L::Addr;

    async fn accept(&mut self) -> (Held<L::Io>, L::Addr) {
        let permit = Arc::clone(&self.free).acquire_owned().await.expect("the semaphore is never closed");
        let (io, address) = self.inner.accept().await;
        (Held { io, _permit: permit }, address)
    }

    fn local_addr(&self) -> io::Result<L::Addr> {
        self.inner.local_addr()
    }
}

/// A connection with its place in the count.
struct Held<Io> {
    io: Io,
    _permit: OwnedSemaphorePermit,
}

impl<Io: tokio::io::AsyncRead + Unpin> tokio::io::AsyncRead for Held<Io> {
    fn poll_read(
        mut self: std::pin::Pin<&mut Self>,
        context: &mut std::task::Context<'_>,
        buffer: &mut tokio::io::ReadBuf<'_>,
    ) -> std::task::Poll<io::Result<()>> {
        std::pin::Pin::new(&mut self.io).poll_read(context, buffer)
    }
}

impl<Io: tokio::io::AsyncWrite + Unpin> tokio::io::AsyncWrite for Held<Io> {
    fn poll_write(
        mut self: std::pin::Pin<&mut Self>,
        context: &mut std::task::Context<'_>,
        bytes: &[u8],
    ) -> std::task::Poll<io::Result<usize>> {
        std::pin::Pin::new(&mut self.io).poll_write(context, bytes)
    }

    fn poll_flush(mut self: std::pin::Pin<&mut Self>, context: &mut std::task::Context<'_>) -> std::task::Poll<io::Result<()>> {
        std::pin::Pin::new(&mut self.io).poll_flush(context)
    }

    fn poll_shutdown(
        mut self: std::pin::Pin<&mut Self>,
        context: &mut std::task::Context<'_>,
    ) -> std::task::Poll<io::Result<()>> {
        std::pin::Pin::new(&mut self.io).poll_shutdown(context)
    }
}
