//! The whole scale, from what the person does to the bytes on the line. It has no clock: it steps its own time.

use super::cell::Cell;
use super::indicator::{Indicator, grams};
use super::platform::{Hand, Platform, SAMPLES};
use super::script::{Act, Load, Script};
use super::setup::{BadSetup, Mode, Setup};
use super::speech;
use crate::dialect::{Flags, News, Reading};
use crate::measure::{Mass, Moment, Span};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use std::collections::VecDeque;

/// From the switch to the first frame.
const WARM_UP: Span = Span::millis(1500);

/// One thing that the line or the program sees.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Frame {
    /// Simulated time since the start; never runs backwards.
    pub at: Moment,
    pub what: What,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum What {
    /// A frame on the line, and what was meant by it.
    Sent {
        bytes: Vec<u8>,
        reading: Reading,
    },
    /// What a scale that speaks only when asked would answer from now on.
    Held {
        bytes: Vec<u8>,
        reading: Reading,
    },
    /// A command of the operator to the program that listens.
    Control(String),
    Unplugged,
    Plugged,
}

/// A scale with a person at it. The same setup, script and seed give the same frames.
pub struct Scale {
    setup: Setup,
    script: Script,
    rng: ChaCha8Rng,
    platform: Platform,
    cell: Cell,
    load: Load,
    indicator: Option<Indicator>,
    /// When the indicator that was switched on last begins to work.
    waking: Option<Moment>,
    /// Until when frames are missing on the line.
    mute: Moment,
    /// The print key was pressed.
    asked: bool,
    /// A scale that wakes from sleep tells nobody.
    quiet: bool,
    plugged: bool,
    printed: Option<i64>,
    /// Not told yet.
    news: Option<News>,
    ticks: u64,
    frames: u64,
    deeds: usize,
    endless: bool,
    queue: VecDeque<Frame>,
}

impl Scale {
    /// Errors name the figure of the setup that cannot be simulated.
    pub fn new(setup: Setup, script: Script, seed: u64) -> Result<Scale, BadSetup> {
        setup.check()?;
        speech::check(&setup)?;
        Ok(Scale {
            platform: Platform::new(&setup),
            cell: Cell::new(&setup, setup.step().map_or(1.0, grams)),
            indicator: Some(Indicator::new(&setup, 0.0)),
            setup,
            script,
            rng: ChaCha8Rng::seed_from_u64(seed),
            load: Load::default(),
            waking: None,
            mute: Moment::default(),
            asked: false,
            quiet: false,
            plugged: true,
            printed: None,
            news: None,
            ticks: 0,
            frames: 0,
            deeds: 0,
            endless: false,
            queue: VecDeque::new(),
        })
    }

    /// Goes on sending after the script's end, for ever.
    pub fn endless(self) -> Scale {
        Scale { endless: true, ..self }
    }

    pub fn setup(&self) -> &Setup {
        &self.setup
    }

    pub fn script(&self) -> &Script {
        &self.script
    }

    /// The next frame; `None` after the script's end.
    pub fn next_frame(&mut self) -> Option<Frame> {
        loop {
            if let Some(frame) = self.queue.pop_front() {
                return Some(frame);
            }
            let now = moment(self.ticks, SAMPLES);
            if now > self.script.end() && !self.endless {
                return None;
            }
            self.tick(now);
            self.ticks += 1;
        }
    }

    /// What falls due up to `now` in the order of time, then one sample.
    fn tick(&mut self, now: Moment) {
        loop {
            let frame = moment(self.frames, u64::from(self.setup.rate));
            let deed = self.script.deeds().get(self.deeds).filter(|deed| deed.at <= now && deed.at <= frame).cloned();
            if let Some(deed) = deed {
                self.deeds += 1;
                self.act(deed.at, &deed.act);
            } else if frame <= now {
                self.frames += 1;
                self.speak(frame);
            } else {
                break;
            }
        }
        let deflection = self.platform.sample(&mut self.rng) + self.cell.sample(grams(self.load.now), &mut self.rng);
        if self.waking.is_some_and(|waking| waking <= now) {
            self.waking = None;
            self.indicator = Some(Indicator::new(&self.setup, deflection));
            self.news = (!self.quiet).then_some(News::PoweredUp);
        }
        if let Some(indicator) = &mut self.indicator {
            indicator.take(deflection, &mut self.rng);
        }
    }

    fn act(&mut self, at: Moment, act: &Act) {
        if self.load.apply(act).is_some() {
            self.platform.carry(grams(self.load.now));
        }
        if let Some(words) = act.words() {
            self.queue.push_back(Frame { at, what: What::Control(words) });
        }
        match act {
            Act::Drop(mass) => self.platform.hit(grams(*mass), &mut self.rng),
            Act::Knock(mass) => self.platform.knock(grams(*mass)),
            Act::Lean { push, lasting } => self.lean(*push, 0.15, Span::ZERO, *lasting),
            Act::Push { push, rise, lasting } => self.lean(*push, 0.002, *rise, *lasting),
            Act::Press { push, lasting } => self.lean(*push, 0.03, Span::millis(200), *lasting),
            Act::Hammer { push, lasting } => self.platform.hammer(grams(*push), samples(*lasting)),
            Act::Mute(lasting) => self.mute = at.plus(*lasting),
            Act::PrintKey => self.asked = true,
            Act::UnitKey => _ = self.indicator.as_mut().map(Indicator::press_unit),
            Act::ZeroKey => self.press(Indicator::press_zero, News::Zeroed),
            Act::TareKey => self.press(Indicator::press_tare, News::Tared),
            Act::PowerOff | Act::Sleep => (self.indicator, self.waking) = (None, None),
            Act::PowerOn | Act::Wake if self.indicator.is_none() => {
                self.quiet = *act == Act::Wake;
                self.waking = Some(at.plus(WARM_UP));
            }
            Act::Unplug | Act::Plug => {
                let plugged = *act == Act::Plug;
                if plugged != self.plugged {
                    self.plugged = plugged;
                    let what = if plugged { What::Plugged } else { What::Unplugged };
                    self.queue.push_back(Frame { at, what });
                }
            }
            _ => {}
        }
    }

    fn lean(&mut self, push: Mass, restless: f64, rise: Span, lasting: Span) {
        let (rise, left) = (samples(rise), samples(lasting));
        self.platform.lean(Hand { grams: grams(push), restless, rise, left, age: 0, tremble: 0.0 });
    }

    fn press(&mut self, key: fn(&mut Indicator) -> bool, news: News) {
        if self.indicator.as_mut().is_some_and(key) {
            self.news = Some(news);
        }
    }

    /// Few families have a frame for such an event; the others keep quiet about it.
    fn tell(&mut self, at: Moment, news: News) {
        let reading = Reading { news: Some(news), ..Reading::without_weight(Flags::default()) };
        if let Some((reading, bytes)) = speech::say(&self.setup, reading)
            && self.plugged
        {
            self.queue.push_back(Frame { at, what: What::Sent { bytes, reading } });
        }
    }

    fn speak(&mut self, at: Moment) {
        let Some(indicator) = &self.indicator else { return };
        let (reading, steady) = (indicator.reading(&mut self.rng), indicator.steady());
        if let Some(news) = self.news.take() {
            self.tell(at, news);
        }
        if self.setup.mode == Mode::OnStable && !self.prints(&reading, steady) {
            return;
        }
        let Some((reading, bytes)) = speech::say(&self.setup, reading) else { return };
        if !self.plugged || at < self.mute {
            return;
        }
        let what = match self.setup.mode {
            Mode::Polled => What::Held { bytes, reading },
            Mode::Stream | Mode::OnStable => What::Sent { bytes, reading },
        };
        self.queue.push_back(Frame { at, what });
    }

    /// Whether a scale that prints each stable load once prints now.
    fn prints(&mut self, reading: &Reading, steady: bool) -> bool {
        let Some(shown) = reading.value else { return false };
        let far = |printed: i64| (shown.count - printed).abs() > 2 * self.setup.division.count;
        if self.printed.is_some_and(far) {
            self.printed = None;
        }
        // Printers have a least load, or the noise of the empty platform would be printed.
        let print = steady && shown.count > 5 * self.setup.division.count && (self.printed.is_none() || self.asked);
        self.asked &= !print;
        if print {
            self.printed = Some(shown.count);
        }
        print
    }
}

impl Iterator for Scale {
    type Item = Frame;

    fn next(&mut self) -> Option<Frame> {
        self.next_frame()
    }
}

fn samples(span: Span) -> u64 {
    span.0 * SAMPLES / 1_000_000_000
}

/// When the `count`-th of so many events a second is due, the first at 0.
fn moment(count: u64, a_second: u64) -> Moment {
    Moment(count / a_second * 1_000_000_000 + count % a_second * 1_000_000_000 / a_second)
}
