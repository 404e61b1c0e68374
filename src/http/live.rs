//! The live stream of a bench (text/event-stream). It ends when the daemon stops.

use super::api::bench::view;
use super::problem::Problem;
use super::site::Site;
use crate::command::Refusal;
use crate::facts::BenchId;
use axum::extract::{Path, State};
use axum::response::Sse;
use axum::response::sse::{Event, KeepAlive};
use futures_util::Stream;
use std::convert::Infallible;
use std::time::Duration;
use tokio::sync::mpsc;

/// A person reads no faster, and eighty frames a second would keep an old tablet busy for nothing.
const LEAST: Duration = Duration::from_millis(100);
/// The running clock goes on although nothing is weighed.
const MOST: Duration = Duration::from_secs(1);

/// What the bench shows, again at each change.
#[utoipa::path(get, path = "/v1/benches/{bench}/live", params(("bench" = u16, Path)), responses((status = 200, content_type = "text/event-stream", body = crate::render::json::BenchView), (status = 404, body = Problem)))]
pub async fn stream(
    State(site): State<Site>,
    Path(bench): Path<u16>,
) -> Result<Sse<impl Stream<Item = Result<Event, Infallible>>>, Problem> {
    let bench = BenchId(bench);
    site.desk.live(bench).ok_or(Refusal::UnknownBench { bench: bench.0 })?;
    let (sender, receiver) = mpsc::channel(1);
    tokio::spawn(feed(site, bench, sender));
    Ok(Sse::new(tokio_stream::wrappers::ReceiverStream::new(receiver)).keep_alive(KeepAlive::default()))
}

/// Sends until the listener is gone or the daemon stops; a slow listener misses states, never holds any up.
async fn feed(site: Site, bench: BenchId, sender: mpsc::Sender<Result<Event, Infallible>>) {
    let mut stop = site.stop.clone();
    let mut glances = site.desk.glances();
    let mut books = site.desk.changes();
    let mut last = String::new();
    loop {
        let now = view(&site, bench).ok().and_then(|view| serde_json::to_string(&view).ok()).unwrap_or_default();
        if now != last {
            let send = sender.send(Ok(Event::default().data(now.clone())));
            tokio::select! {
                sent = send => if sent.is_err() { return },
                _ = stop.wait_for(|stop| *stop) => return,
            }
            last = now;
        }
        tokio::select! {
            _ = stop.wait_for(|stop| *stop) => return,
            () = sender.closed() => return,
            () = tokio::time::sleep(LEAST) => {}
        }
        tokio::select! {
            _ = stop.wait_for(|stop| *stop) => return,
            () = sender.closed() => return,
            changed = glances.changed() => if changed.is_err() { return },
            changed = books.changed() => if changed.is_err() { return },
            () = tokio::time::sleep(MOST) => {}
        }
    }
}
