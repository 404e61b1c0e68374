//! A weigh station for one person who takes discarded goods apart for their metal.
//!
//! ```text
//! bytes ─► frames ─► readings ─► rests, steps ─► drops ─► roll ─► books ─► answers ─► page, CSV, JSON, terminal
//!  link     dialect   dialect      settle        attribute  store  facts    query      render
//!                                                             └─► sled index
//! ```
//!
//! One direction. From [`dialect`] to [`query`] everything is pure: no clock, no files, no sockets, no threads. Time comes
//! in with the data, and the whole core stands behind [`command::Core::step`].
//!
//! Each room may import those to its left, and `tests/house.rs` holds it:
//!
//! `measure ← dialect ← settle ← facts ← attribute ← query, command ← render ← http ← daemon`
//!
//! and between facts and query stands [`economy`], which reckons over plain data: `measure, facts ← economy ← query`;
//! beside it [`haul`], for the drive and the ticket: `measure, facts, economy ← haul ← query`.
//!
//! [`cli`] stands beside http and never imports the daemon; `main.rs` joins them. Beside the line stand [`clock`],
//! [`config`], [`link`], [`sim`] and [`store`], which the core does not know.
//!
//! The words, one meaning each: a *reading* is one decoded frame; a *rest* a stretch in which the load is settled; a
//! *step* the change from one rest to the next; a *drop* a step that adds material, booked to a *bin* and a *session*; an
//! *epoch* a stretch in which readings belong together; a *fill* a bin between two emptyings; the *roll* the file in which
//! every event is written first; the *books* the state folded from the events.
pub mod attribute;
pub mod cli;
pub mod clock;
pub mod command;
pub mod config;
pub mod daemon;
pub mod dialect;
pub mod economy;
pub mod facts;
pub mod haul;
pub mod http;
pub mod link;
pub mod measure;
pub mod query;
pub mod render;
pub mod settle;
pub mod sim;
pub mod store;
