//! The core's thread: one ordered queue in, events and answers out.

use super::counts::Counts;
use super::mail::{ToWrite, Work};
use super::pulse::Beat;
use crate::clock::Clock;
use crate::command::{Benches, Core, Effect, Input, LinkNews, Live, Receipt, Refusal, Request, ScaleState, Trouble};
use crate::facts::BenchId;
use crate::measure::Stamp;
use std::collections::{BTreeMap, HashMap, VecDeque};
use std::sync::Arc;
use std::sync::mpsc::Sender;
use tokio::sync::{mpsc, oneshot, watch};

type Answer = oneshot::Sender<Result<Receipt, Refusal>>;

/// What the thread works with.
pub struct Engine {
    pub core: Core,
    pub clock: Clock,
    pub writer: Sender<ToWrite>,
    pub live: watch::Sender<Benches>,
    pub benches: Vec<BenchId>,
    pub counts: Counts,
    pub beat: Beat,
    /// The store was opened in a state in which it takes no events.
    pub closed: bool,
}

impl Engine {
    /// Works until every sender of `queue` is gone.
    pub fn run(self, first: Vec<Effect>, mut queue: mpsc::Receiver<Work>) {
        let states = self.benches.iter().map(|bench| (*bench, ScaleState::Absent)).collect();
        let mut turn = Turn { engine: self, tickets: HashMap::new(), next: 0, waiting: VecDeque::new(), states, failing: false };
        turn.effects(first);
        if turn.engine.closed {
            let now = turn.engine.clock.now();
            let effects = turn.engine.core.step(Input::StoreClosed, now);
            turn.effects(effects);
        }
        turn.show();
        while let Some(work) = queue.blocking_recv() {
            turn.engine.beat.beat(turn.engine.clock.mono());
            turn.work(work);
            turn.show();
        }
    }
}

struct Turn {
    engine: Engine,
    tickets: HashMap<u64, Answer>,
    next: u64,
    /// Receipts that wait until what they tell is durable, in the order of their numbers.
    waiting: VecDeque<(u64, Answer, Receipt)>,
    states: BTreeMap<BenchId, ScaleState>,
    failing: bool,
}

impl Turn {
    fn work(&mut self, work: Work) {
        match work {
            Work::Input(input, at) => {
                if let Input::Reading(bench, _) = &input {
                    self.states.insert(*bench, ScaleState::Present);
                }
                self.step(input, at);
            }
            Work::Link(bench, news, at) => {
                match &news {
                    LinkNews::Up { .. } => _ = self.states.insert(bench, ScaleState::Silent),
                    LinkNews::Down => _ = self.states.insert(bench, ScaleState::Absent),
                    LinkNews::Lost(_) => {}
                }
                self.step(Input::Link(bench, news), at);
            }
            Work::Silent(bench) => _ = self.states.insert(bench, ScaleState::Silent),
            Work::Order(Request { bench, key, order, since, answer }) => {
                self.next += 1;
                self.tickets.insert(self.next, answer);
                let input = Input::Order { bench, key, order: Box::new(order), ticket: self.next };
                let at = since.unwrap_or_else(|| self.engine.clock.now());
                self.step(input, at);
            }
            Work::Durable(seq) => {
                let now = self.engine.clock.now();
                self.step(Input::Durable(seq), now);
                while self.waiting.front().is_some_and(|(waits_for, _, _)| *waits_for <= seq)
                    && let Some((_, answer, receipt)) = self.waiting.pop_front()
                {
                    // Whoever asked may have gone away; what they asked for is done all the same.
                    _ = answer.send(Ok(receipt));
                }
            }
            Work::Writing(well) => self.failing = !well,
        }
    }

    fn step(&mut self, input: Input, at: Stamp) {
        let effects = self.engine.core.step(input, at);
        self.effects(effects);
    }

    fn effects(&mut self, effects: Vec<Effect>) {
        let mut events = Vec::new();
        let mut answers = Vec::new();
        for effect in effects {
            match effect {
                Effect::Append(event) => events.push(event),
                Effect::Answer { ticket, answer } => answers.push((ticket, answer)),
            }
        }
        if !events.is_empty() && !self.engine.closed {
            // The writer is gone only when the daemon ends.
            _ = self.engine.writer.send(ToWrite::Events(events));
        }
        for (ticket, answer) in answers {
            let Some(sender) = self.tickets.remove(&ticket) else { continue };
            match answer {
                Ok(receipt) if receipt.seq > self.engine.core.durable() => self.waiting.push_back((receipt.seq, sender, receipt)),
                answer => _ = sender.send(answer),
            }
        }
    }

    /// Publishes what the benches look like, if that changed.
    fn show(&mut self) {
        let core = &self.engine.core;
        let trouble = match () {
            () if self.engine.closed => Some(Trouble::StoreDegraded),
            () if self.failing || core.holding() => Some(Trouble::DiskBehind),
            () => None,
        };
        let bench = |bench: &BenchId| {
            let scale = self.states.get(bench).copied().unwrap_or_default();
            let glance = core.glance(*bench).filter(|_| scale == ScaleState::Present);
            (*bench, Live { scale, glance, trouble, advice: core.advice(*bench), suggestion: core.suggestion(*bench) })
        };
        let now: BTreeMap<BenchId, Live> = self.engine.benches.iter().map(bench).collect();
        let waiting = core.books().seq.saturating_sub(core.durable());
        self.engine.counts.waiting_events.set(i64::try_from(waiting).unwrap_or(i64::MAX));
        self.engine.live.send_if_modified(|shown| {
            let changed = **shown != now;
            if changed {
                *shown = Arc::new(now);
            }
            changed
        });
    }
}
