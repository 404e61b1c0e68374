//! The search on an open port, and what is shown of it while it goes on.

use super::words;
use crate::clock::Clock;
use crate::dialect::hunt::{Char, Hunter, Judgement, Start, Step};
use crate::dialect::{Dialect, Reading};
use crate::link::Listener;
use crate::measure::{Moment, Span};
use std::sync::atomic::{AtomicBool, Ordering};

/// How a search ends.
pub enum End {
    /// The judgement, and whether the scale had to be asked.
    Found(Judgement, bool),
    Nothing(String),
}

/// Requests that only read at every scale where they are known, in the order in which they are tried.
pub const REQUESTS: [(&[u8], &str); 3] = [(b"\x05", "ENQ"), (b"W\r", "W CR"), (b"SI\r\n", "SI CR LF")];

/// How long a line is silent before a request is tried, and before a person is told.
const SILENT: Span = Span::seconds(2);
const EVERY: Span = Span::seconds(1);
const SHOWN: Span = Span::seconds(2);
/// For fresh readings after a question.
const FRESH: Span = Span::millis(2500);

pub struct Search<'a> {
    port: &'a mut Listener,
    hunter: Hunter,
    clock: Clock,
    end: Moment,
    asking: Option<Asking>,
    shown: Moment,
    told_silence: bool,
}

struct Asking {
    which: usize,
    last: Moment,
    answered: bool,
}

impl<'a> Search<'a> {
    pub fn begin(port: &'a mut Listener, start: Start, clock: Clock, seconds: u64, ask: bool) -> anyhow::Result<Search<'a>> {
        let hunter = Hunter::new(start);
        port.set(hunter.line())?;
        let now = clock.mono();
        eprintln!("listening to {} at {}", port.identity().path.display(), words::line(hunter.line()));
        if ask {
            let list = REQUESTS.map(|(_, name)| name).join(", then ");
            eprintln!("if it stays silent it is asked, once a second: {list}");
        }
        let asking = ask.then_some(Asking { which: 0, last: now, answered: false });
        Ok(Search { port, hunter, clock, end: now.plus(Span::seconds(seconds)), asking, shown: now, told_silence: false })
    }

    pub const fn hunter(&self) -> &Hunter {
        &self.hunter
    }

    pub fn last_of(&self, dialect: Dialect) -> Option<Reading> {
        self.hunter.scorer().candidates().into_iter().find(|candidate| candidate.dialect == dialect)?.last
    }

    pub fn run(&mut self, stop: &AtomicBool) -> anyhow::Result<End> {
        let begun = self.clock.mono();
        while !stop.load(Ordering::Relaxed) {
            let now = self.listen()?;
            match self.hunter.tick(now) {
                Step::Listen => {}
                Step::Change(line, why) => {
                    eprintln!("  {}; now at {}", words::moved(why), words::line(line));
                    self.port.set(line)?;
                }
                Step::Settled(verdict) => {
                    self.show();
                    let asked = self.asking.as_ref().is_some_and(|asking| asking.answered);
                    return Ok(End::Found(verdict, asked));
                }
                Step::Hopeless(picture) => return Ok(End::Nothing(words::hopeless(picture))),
                Step::Exhausted => return Ok(End::Nothing(words::exhausted(self.hunter.scorer()))),
            }
            if now >= self.end {
                self.show();
                return Ok(End::Nothing(words::given_up(self.hunter.scorer(), self.port.modem())));
            }
            let silent = self.hunter.scorer().taken() == 0;
            if silent && !self.told_silence && now.since(begun) >= SHOWN {
                self.told_silence = true;
                words::silence(self.hunter.scorer().picture(), self.port.modem()).iter().for_each(|line| eprintln!("  {line}"));
            }
            if !silent && now.since(self.shown) >= SHOWN {
                self.show();
            }
            self.ask(now, begun)?;
        }
        Ok(End::Nothing("stopped".to_owned()))
    }

    /// Lets go of what came while a person was asked, and hears what the scale says now.
    pub fn refresh(&mut self, stop: &AtomicBool) -> anyhow::Result<()> {
        self.port.set(self.hunter.line())?;
        let begun = self.clock.mono();
        while !stop.load(Ordering::Relaxed) && self.clock.mono().since(begun) < FRESH {
            let now = self.listen()?;
            self.ask(now, begun)?;
        }
        Ok(())
    }

    fn listen(&mut self) -> anyhow::Result<Moment> {
        let mut chars: Vec<Char> = Vec::new();
        self.port.read(&mut chars)?;
        let now = self.clock.mono();
        self.hunter.take(&chars, now);
        Ok(now)
    }

    /// One request a second, and the same again once it was answered.
    fn ask(&mut self, now: Moment, begun: Moment) -> anyhow::Result<()> {
        let understood = self.hunter.scorer().has_frames();
        let heard = self.hunter.scorer().taken() > 0;
        let Some(asking) = &mut self.asking else { return Ok(()) };
        if asking.which > 0 && understood {
            asking.answered = true;
        }
        let due = if asking.answered { EVERY } else { SILENT };
        let (since, over) = if asking.which == 0 { (begun, heard) } else { (asking.last, heard && !asking.answered) };
        if over || now.since(since) < due {
            return Ok(());
        }
        let index = if asking.answered { asking.which - 1 } else { asking.which };
        let Some((bytes, name)) = REQUESTS.get(index) else { return Ok(()) };
        if !asking.answered {
            eprintln!("  asking: {name}");
            asking.which += 1;
        }
        asking.last = now;
        Ok(self.port.ask(bytes)?)
    }

    fn show(&mut self) {
        self.shown = self.clock.mono();
        words::seen(&self.hunter).iter().for_each(|line| eprintln!("  {line}"));
    }
}
