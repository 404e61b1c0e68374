//! Readings to rests and steps, epoch by epoch.
//!
//! ```text
//! reading ─► display: is it comparable with the last one? ─► window, history ─► judge: is it settled, and at what?
//!            (else the epoch ends)                                                  │
//!                                    findings ◄─ account: exact books ◄─ epoch: step, crumb, creep, a hand, nothing
//! ```
//!
//! # What "stable" means
//!
//! Two notions of a stable weight are published (both given here from memory):
//!
//! * NIST Handbook 44, §2.20 S.2.5.1: values may be recorded only while the indication keeps within ± 1 division;
//! * OIML R 76-1:2006, 4.4.2 and A.4.12: equilibrium is stable when, over the five seconds after a print-out, no more
//!   than two adjacent values are shown, one of them the printed one.
//!
//! Both say what a value that was already taken must be like; neither says how long to wait for it. Ours lies between:
//! a rest is a stretch in which no more than two adjacent values (one division) are shown, as in R 76, and whose two
//! halves agree, so that a steady ramp is none. It must have lasted as long as the change at stake needs: 0.3 s
//! for eight divisions or more, 0.45 s from two, 0.6 s below, and a third of the time that the load moved. Once this
//! bench has shown how long a step takes here, and how that grows with its size, 0.2 s are enough after that time. One
//! division alone counts as mass only if it came at once and both sides of it stood for two seconds, or until the load
//! was taken away. The times are our own, measured on tapes; there is no standard for them. A step that was taken
//! early and proves to be off by what was left of its movement is cancelled and put anew; where that was no more than a
//! division and a half, it was as good as right, and keeps the moment at which it was recognised.
//!
//! On a bench that never stands still each reading is foretold from the few before it, by what was learned while the
//! load rested (`sway`). What remains is independent from reading to reading, so the mean has a true standard error,
//! and a change is a level that explains the newest readings better than the old one does by more than four standard
//! errors. Such a rest is an average to a tenth of a division, told with its standard uncertainty
//! ([`Finding::Averaged`]); a longer average betters it while the step is provisional. Where a display moves too
//! much for a calm and too little for that, a mean of 1.2 to 2.4 s stands in, which never reaches back to before the
//! rest that it is compared with. An average within two standard errors and within two divisions of what the empty
//! platform showed is the empty platform: what is wrong with the first rest is wrong with every sum after it.
//!
//! The scale's own stable flag is never trusted alone: it may be early, late, stuck or wrong. Where its word was right
//! ten times in a row on this bench it shortens the wait to 0.18 s. A line that comes alone is another matter: the
//! silence after it is the evidence, and only a line marked as moving is none. An equal line again makes no step and is
//! told ([`Finding::Repeated`]). In the manner pan a scale that tells of no empty pan prints loads, not differences;
//! the first line of an epoch may be a bin that stands there and is only a rest.
//!
//! What goes onto the empty platform and comes off again is no resting hand, however soon: so weighing looks with one load
//! at a time. But a load lies still in between, and a hand that presses there does not, but for a moment: where nothing
//! has kept within a division for 0.9 s, and it wavered about its rest before it went, or took longer to come to rest than
//! a step of its size does here, it was a hand and is cancelled. Nor is anything taken off a bare platform: what the
//! display comes down by there, when a load has been lifted, is the load cell that recovers.
//!
//! # What cannot be told apart
//!
//! A piece that is taken out within five seconds (nine, where it was laid on slowly) and weighs within a division what
//! was just dropped looks like a hand that rested, and cancels it. A vibration that runs nearly at a multiple of the rate
//! of the frames shows as a slow wandering of the display, half a turn a second or slower: what stands still on its way
//! looks like a small load that comes and goes. Once it has gone up and down three times and rested little it is known for
//! a swing (`swing`): a change of no more than its reach waits until more has come or until it stops, when the sum is
//! right, and a larger one is told with the width of the swing. One of two divisions is not known in time. A load lifted
//! while a stream is silent for ten seconds, on a scale that then shows exactly zero, looks like a scale that was off: the
//! epoch ends, and is asked about. Frames missed for a shorter time end nothing.
//!
//! # What is conserved
//!
//! Within an epoch, exactly: last rest − first rest = steps + pending + forgiven. A rest is a value that the scale
//! displayed, or the average just described. Pending is under one division. Forgiven drift is at most one division in half
//! an hour and three in an epoch (OIML R 60 lets a class C3 cell creep by 0.735 v in half an hour and by 0.1575 v in its
//! last ten minutes); anything more is mass.

mod account;
mod crumb;
mod danger;
mod display;
mod engine;
mod epoch;
mod finding;
mod history;
mod judge;
mod kind;
mod manner;
mod pace;
mod shake;
mod sway;
mod swing;
mod window;

pub use account::Balance;
pub use engine::{Settle, Setup};
pub use finding::{Act, Advice, EpochCause, Finding, Glance, Manner, Rest, Step};

#[cfg(test)]
mod tests;
