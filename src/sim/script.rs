//! What the person does, and when.

use crate::measure::{Mass, Moment, Span};
use crate::settle::Manner;

/// One thing done at one moment, counted from the script's start.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Deed {
    pub at: Moment,
    pub act: Act,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Act {
    /// Stands a bin, a tray or a loaded vessel on the platform, gently.
    Place(Mass),
    /// Lets a piece fall onto the platform or into what stands there.
    Drop(Mass),
    /// Takes so much off.
    Take(Mass),
    /// Takes everything off.
    Lift,
    /// Stands what was lifted last back, unchanged.
    SetBack,
    /// Rests a hand on the platform.
    Lean {
        push: Mass,
        lasting: Span,
    },
    /// A hand that leans harder and harder, is held and goes again: `rise` until its force is full, `lasting` in all.
    Push {
        push: Mass,
        rise: Span,
        lasting: Span,
    },
    /// Presses on the pan as a sign to the program.
    Press {
        push: Mass,
        lasting: Span,
    },
    /// Knocks the bench.
    Knock(Mass),
    /// Hammers on the bench.
    Hammer {
        push: Mass,
        lasting: Span,
    },
    /// Stands a bin on the platform, whatever the program was told; off the middle it weighs `off` more.
    SetDown {
        bin: u32,
        gross: Mass,
        off: Mass,
    },
    /// Lays something on that is no material, such as a mug.
    Lay(Mass),
    /// Takes that off again.
    Fetch,
    /// Another unit on the display, or the first one again.
    UnitKey,
    /// What is displayed is sent once more, where the scale stands still and prints.
    PrintKey,
    /// The scale falls asleep: no frames.
    Sleep,
    /// It wakes up with its zero at what stands on it, and says nothing of it.
    Wake,
    /// Frames are missing on the line for so long.
    Mute(Span),
    ZeroKey,
    TareKey,
    PowerOff,
    /// The scale wakes up with its zero at what stands on it.
    PowerOn,
    Unplug,
    Plug,
    /// Tells the program which bin comes next.
    Choose(u32),
    /// Any other command to the program: `start`, `pause`, `resume`, `end`.
    Say(String),
}

/// A timeline of deeds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Script {
    /// What kind of work it is, for the truth's `kind`.
    pub name: String,
    pub manner: Manner,
    deeds: Vec<Deed>,
    end: Moment,
}

impl Script {
    /// Time left after the last deed, so that it can come to rest.
    pub const TAIL: Span = Span::seconds(5);

    /// Sorts the deeds by time; deeds of one moment keep their order.
    pub fn new(name: impl Into<String>, manner: Manner, mut deeds: Vec<Deed>) -> Script {
        deeds.sort_by_key(|deed| deed.at);
        let over = |deed: &Deed| match deed.act {
            Act::Lean { lasting, .. }
            | Act::Push { lasting, .. }
            | Act::Press { lasting, .. }
            | Act::Hammer { lasting, .. }
            | Act::Mute(lasting) => deed.at.plus(lasting),
            _ => deed.at,
        };
        let end = deeds.iter().map(over).max().unwrap_or_default().plus(Script::TAIL);
        Script { name: name.into(), manner, deeds, end }
    }

    /// In the order of time.
    pub fn deeds(&self) -> &[Deed] {
        &self.deeds
    }

    /// When it is over.
    pub fn end(&self) -> Moment {
        self.end
    }
}

impl Act {
    /// What a program that listens is told, as on a tape, if it is told anything.
    pub fn words(&self) -> Option<String> {
        match self {
            Act::Choose(bin) => Some(format!("choose {bin}")),
            Act::Say(words) => Some(words.clone()),
            _ => None,
        }
    }
}

/// The true load through a script.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Load {
    pub now: Mass,
    lifted: Mass,
    laid: Mass,
}

impl Load {
    /// Does one deed and returns by how much the load changed, if the deed is of that sort.
    pub fn apply(&mut self, act: &Act) -> Option<Mass> {
        let change = match act {
            Act::Place(mass) | Act::Drop(mass) => *mass,
            Act::Take(mass) => -*mass,
            Act::Lift => {
                self.lifted = self.now;
                -self.now
            }
            Act::SetBack => std::mem::take(&mut self.lifted),
            Act::SetDown { gross, off, .. } => *gross + *off,
            Act::Lay(mass) => {
                self.laid += *mass;
                *mass
            }
            Act::Fetch => -std::mem::take(&mut self.laid),
            _ => return None,
        };
        self.now += change;
        Some(change)
    }
}
