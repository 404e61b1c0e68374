//! The store over disks that fail: nothing that was acknowledged is lost, nothing counts twice or by half.

#[path = "store/crash.rs"]
mod crash;
#[path = "support/events.rs"]
mod events;
#[path = "store/export.rs"]
mod export;
#[path = "store/fixture.rs"]
mod fixture;
#[path = "store/fixture_checks.rs"]
mod fixture_checks;
#[path = "store/fixture_feeds.rs"]
mod fixture_feeds;
#[path = "store/fixture_kinds.rs"]
mod fixture_kinds;
#[path = "store/fixture_places.rs"]
mod fixture_places;
#[path = "store/fixture_prices.rs"]
mod fixture_prices;
#[path = "store/fixture_tickets.rs"]
mod fixture_tickets;
#[path = "store/fixture_trips.rs"]
mod fixture_trips;
#[path = "store/index.rs"]
mod index;
#[path = "store/model.rs"]
mod model;
#[path = "store/real.rs"]
mod real;
#[path = "store/rot.rs"]
mod rot;
#[path = "store/support.rs"]
mod support;
