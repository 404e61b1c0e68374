//! HTTP: the API under `/v1/`, the pages under `/`, the live stream, and the guard before all of them.

mod api;
mod bodies;
mod check_pages;
mod feed_bodies;
mod feed_pages;
mod guard;
mod health;
mod live;
mod negotiate;
mod openapi;
mod pages;
mod place_bodies;
mod place_pages;
mod price_pages;
mod problem;
mod quote_body;
mod routes;
mod serve;
mod site;
mod ticket_bodies;
mod ticket_csv;
mod ticket_pages;
mod trip_bodies;
mod trip_pages;

pub use openapi::document as openapi;
pub use routes::{Door, router};
pub use serve::{Listeners, serve};
pub use site::{Pulse, Site};
