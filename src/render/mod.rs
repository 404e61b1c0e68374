//! Answers to JSON, CSV, HTML and plain text, from one answer each; and the words of every language.

pub mod check_words;
pub mod csv;
pub mod csv_outlays;
pub mod csv_places;
pub mod csv_prices;
pub mod csv_tickets;
pub mod feed_words;
pub mod figures;
pub mod hour_words;
pub mod job_words;
pub mod json;
pub mod kerb_words;
pub mod metal_words;
pub mod page;
pub mod place_words;
pub mod plot;
pub mod price_words;
pub mod text;
pub mod text_hour;
pub mod text_places;
pub mod text_prices;
pub mod text_week;
pub mod ticket_words;
pub mod wire_forms;
pub mod wire_words;
pub mod words;
