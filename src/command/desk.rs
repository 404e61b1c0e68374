//! The handle through which faces reach the running core.

use super::{Advice, Order, Receipt, Refusal, Suggestion};
use crate::facts::{BenchId, Books};
use crate::measure::Stamp;
use crate::settle::Glance;
use std::collections::BTreeMap;
use std::sync::Arc;
use tokio::sync::{mpsc, oneshot, watch};

/// An order on its way, with where its answer goes.
#[derive(Debug)]
pub struct Request {
    pub bench: BenchId,
    /// The idempotency key.
    pub key: Option<String>,
    pub order: Order,
    /// Since when it holds, where that is known better than by its coming: of a key, when it was pressed.
    pub since: Option<Stamp>,
    pub answer: oneshot::Sender<Result<Receipt, Refusal>>,
}

/// Books that are durable, to be read by anybody for as long as they like.
#[derive(Debug, Clone, Default)]
pub struct Published {
    pub books: Arc<Books>,
}

/// What a bench looks like at this moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Live {
    pub scale: ScaleState,
    pub glance: Option<Glance>,
    pub trouble: Option<Trouble>,
    pub advice: Option<Advice>,
    pub suggestion: Option<Suggestion>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ScaleState {
    #[default]
    Absent,
    /// It is there and says nothing.
    Silent,
    Present,
}

/// Why what is weighed now is not recorded yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trouble {
    /// The disk does not take events: steps are merged until it does.
    DiskBehind,
    /// The store was opened damaged and takes no events.
    StoreDegraded,
}

/// The live state of every bench.
pub type Benches = Arc<BTreeMap<BenchId, Live>>;

/// A clerk's desk: orders go in, durable books come out.
#[derive(Debug, Clone)]
pub struct Desk {
    orders: mpsc::Sender<Request>,
    books: watch::Receiver<Published>,
    live: watch::Receiver<Benches>,
}

impl Desk {
    pub fn new(orders: mpsc::Sender<Request>, books: watch::Receiver<Published>, live: watch::Receiver<Benches>) -> Desk {
        Desk { orders, books, live }
    }

    /// The live state of a bench; none when there is no such bench.
    pub fn live(&self, bench: BenchId) -> Option<Live> {
        self.live.borrow().get(&bench).copied()
    }

    /// Tells of every change on any platform.
    pub fn glances(&self) -> watch::Receiver<Benches> {
        self.live.clone()
    }

    /// The durable books of this moment.
    pub fn books(&self) -> Arc<Books> {
        self.books.borrow().books.clone()
    }

    /// Tells of every change of the durable books.
    pub fn changes(&self) -> watch::Receiver<Published> {
        self.books.clone()
    }

    /// Places an order and waits until what it made is on the disk.
    pub async fn place(&self, bench: BenchId, key: Option<String>, order: Order) -> Result<Receipt, Refusal> {
        self.hand_in(bench, key, order, None).await?.await
    }

    /// Puts an order into the queue, to hold since `since`. What is returned waits until what it made is on the disk;
    /// the next order need not.
    pub async fn hand_in(
        &self,
        bench: BenchId,
        key: Option<String>,
        order: Order,
        since: Option<Stamp>,
    ) -> Result<impl Future<Output = Result<Receipt, Refusal>> + Send + 'static, Refusal> {
        let (answer, done) = oneshot::channel();
        let request = Request { bench, key, order, since, answer };
        self.orders.send(request).await.map_err(|_| Refusal::Stopping)?;
        Ok(async { done.await.map_err(|_| Refusal::Stopping)? })
    }
}
